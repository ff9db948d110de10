"""Shared by the system tests: what a logger says of itself to the manager that started it."""

import re
import socket
from pathlib import Path
from threading import Thread

import pytest


class Acknowledged:
    """Listens, as systemd would, and notes the slots that the logger calls stored."""

    def __init__(self, path: Path) -> None:
        self.slots, self.messages, self.path = [], [], path
        self.socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.socket.bind(str(path))
        self.thread = Thread(target=self.listen)
        self.thread.start()

    def listen(self):
        while (message := self.socket.recv(1000).decode()) != "end":
            self.messages.append(message)
            if found := re.search(r"STATUS=Slot (\d+) stored", message):
                self.slots.append(int(found[1]))

    def close(self):
        """Note what has come so far, and listen no more."""
        if not self.thread.is_alive():
            return
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as out:
            out.sendto(b"end", str(self.path))
        self.thread.join()
        self.socket.close()


@pytest.fixture
def acknowledged(tmp_path):
    noted = Acknowledged(tmp_path / "notify")
    yield noted
    noted.close()
