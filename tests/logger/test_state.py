"""The logger's own account of itself: whole, or none."""

from dataclasses import replace

import pytest

from logger.state import FILE_NAME, LoggerState

STATE = LoggerState(
    process=123,
    started_at_ms=1_790_000_000_000,
    written_at_ms=1_790_000_060_000,
    last_slot=1_790_000_059,
    waiting_scans=0,
    dropped_scans=0,
    missed_slots=2,
    free_bytes=5_000_000_000,
)


def test_what_is_written_is_read_and_replaces_what_was(tmp_path):
    replace(STATE, missed_slots=1).write(tmp_path)
    STATE.write(tmp_path)
    assert LoggerState.read(tmp_path) == STATE
    assert [path.name for path in tmp_path.iterdir()] == [FILE_NAME]


def test_no_logger_has_been_here(tmp_path):
    assert LoggerState.read(tmp_path) is None


@pytest.mark.parametrize("text", ["", '{"process": 1', '{"process": 1, "new": 2}', "[1]"])
def test_what_cannot_be_understood_is_no_state(tmp_path, text):
    (tmp_path / FILE_NAME).write_text(text)
    assert LoggerState.read(tmp_path) is None
