"""The one demonstration of a run of the tests, and what else several tests go on with."""

import os
import re
import signal
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.ports import find_port

ROOT = Path(__file__).parents[1]


@dataclass
class Shared:
    """A `wormtub` process that tests go on with, from when one asks for it.

    It ends after the last of them: at work at real pace, it would take from all that comes after.
    """

    word: str
    says: re.Pattern[str]  # with its address
    process: subprocess.Popen[str] | None = None
    folder: Path = Path()
    address: str = ""
    said: str = ""

    @property
    def data(self):
        return self.folder / "data"

    def options(self):
        return ["--data", str(self.data)]

    def environment(self):
        return dict(os.environ)

    def up(self, make_folder):
        """Start it where it does not run; return it once it has said where it is."""
        if self.process is None:
            self.folder, self.said = make_folder(self.word), ""
            words = [self.word, *self.options(), "--port", str(find_port())]
            self.process = subprocess.Popen(
                [sys.executable, "-m", "api.cli", *words],
                cwd=ROOT,
                env=self.environment(),
                stdout=subprocess.PIPE,
                text=True,
            )
            self.listen()
        return self

    def listen(self):
        try:
            while found := self.process.stdout.readline():
                self.said += found
                if address := self.says.search(found):
                    self.address = address[1]
                    return
            pytest.fail(f"wormtub {self.word} gave no address: {self.said}")
        except BaseException:
            self.process.kill()
            self.process.communicate()
            self.process = None
            raise

    def end(self, number=signal.SIGTERM):
        if self.process is None:
            return
        process, self.process = self.process, None
        process.send_signal(number)
        self.said += process.communicate(timeout=40)[0]
        assert process.returncode == 0, self.said


class Demonstration(Shared):
    """`wormtub demo` as people start it: it keeps its data where all is gone afterwards."""

    def options(self):
        return []

    def environment(self):
        return os.environ | {"TMPDIR": str(self.folder)}

    @property
    def data(self):
        from logger.store import database  # noqa: PLC0415 - few tests need it

        [store] = self.folder.rglob(database.FILE_NAME)
        return store.parent


DEMO = Demonstration("demo", re.compile(r"Open (\S+)"))
