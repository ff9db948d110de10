"""Messages to the manager that started the process, as sd_notify(3) has them."""

import socket

import pytest

from logger.notify import notify


@pytest.fixture
def manager(monkeypatch, tmp_path):
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as listening:
        listening.settimeout(5)

        def listen(address):
            listening.bind(address)
            monkeypatch.setenv("NOTIFY_SOCKET", address.replace("\0", "@"))
            return listening

        yield listen


def test_a_message_reaches_a_socket_in_the_file_system(manager, tmp_path):
    listening = manager(str(tmp_path / "notify"))
    assert notify("READY=1")
    assert listening.recv(100) == b"READY=1"


def test_a_message_reaches_an_abstract_socket(manager, tmp_path):
    listening = manager(f"\0{tmp_path}")
    assert notify("WATCHDOG=1\nSTATUS=x")
    assert listening.recv(100) == b"WATCHDOG=1\nSTATUS=x"


def test_nobody_listens(monkeypatch):
    monkeypatch.delenv("NOTIFY_SOCKET", raising=False)
    assert not notify("READY=1")


def test_the_manager_went_away(monkeypatch, tmp_path):
    monkeypatch.setenv("NOTIFY_SOCKET", str(tmp_path / "gone"))
    assert not notify("READY=1")
