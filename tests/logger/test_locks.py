"""One process of a kind to a data folder; the lock ends with its holder."""

import os

import pytest

from logger.errors import InUseError, StoreError
from logger.locks import hold


def test_a_second_holder_is_told_who_holds_it_and_where(tmp_path):
    with hold(tmp_path, "logger"):
        with pytest.raises(InUseError) as refused, hold(tmp_path, "logger"):
            pass
        said = str(refused.value)
    assert f"process {os.getpid()}" in said
    assert str(tmp_path) in said
    assert "--data" in said


def test_other_kinds_and_other_folders_are_free(tmp_path):
    with hold(tmp_path, "logger"), hold(tmp_path, "service"), hold(tmp_path / "other", "logger"):
        pass


def test_the_lock_is_free_again_afterwards_even_after_an_error(tmp_path):
    with pytest.raises(RuntimeError), hold(tmp_path, "logger"):
        raise RuntimeError
    with hold(tmp_path, "logger"):
        pass


def test_the_lock_of_a_killed_process_is_free(tmp_path):
    child = os.fork()
    if child == 0:
        with hold(tmp_path, "logger"):
            os._exit(9)
    assert os.waitpid(child, 0)[1] >> 8 == 9
    with hold(tmp_path, "logger"):
        pass


def test_a_folder_is_made(tmp_path):
    with hold(tmp_path / "new" / "folder", "logger"):
        assert (tmp_path / "new" / "folder" / "logger.lock").exists()


def test_a_folder_that_cannot_be_made_is_one_sentence(tmp_path):
    (tmp_path / "file").touch()
    with pytest.raises(StoreError, match="cannot be written") as refused:
        hold(tmp_path / "file", "logger").__enter__()
    assert str(tmp_path / "file") in str(refused.value)
