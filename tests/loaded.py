"""Starts `wormtub` without loading it anew each time: a process with all of it loaded, that forks.

What a test starts is a process of its own, with its own arguments, environment, files and end;
only the two or three seconds in which Python and the libraries are read are spent once. What a
cold start is like is tested where that is the point: `start(..., program=COLD)`.
"""

import json
import os
import runpy
import select
import signal
import socket
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from pathlib import Path

ROOT = Path(__file__).parents[1]
COLD = ("-m", "api.cli")
MOST_BYTES, MOST_FILES = 1 << 20, 1024


class Forked:
    """A forked process, to be waited for and ended as a `subprocess.Popen` is."""

    def __init__(self, pid: int, ended: int) -> None:
        self.pid, self.returncode, self._ended = pid, None, ended

    def poll(self):
        with suppress(subprocess.TimeoutExpired):
            self.wait(0)
        return self.returncode

    def wait(self, timeout=None):
        if self.returncode is None:
            if not select.select([self._ended], [], [], timeout)[0]:
                raise subprocess.TimeoutExpired("wormtub", timeout)
            self.returncode = int(os.read(self._ended, 100) or b"-9")
            os.close(self._ended)
        return self.returncode

    def send_signal(self, number):
        if self.poll() is None:
            os.kill(self.pid, number)

    def terminate(self):
        self.send_signal(signal.SIGTERM)

    def kill(self):
        self.send_signal(signal.SIGKILL)


class Loaded:
    """The loaded process, from when one is first wanted; it ends with this one."""

    def __init__(self) -> None:
        self._asking = self._process = None

    def start(self, words, *, environment, out, script="") -> Forked:
        """Fork `wormtub WORDS`, or a script that runs it, with its words going to a file."""
        if self._asking is None:
            self._load()
        asked = {"words": words, "environment": environment, "script": script}
        told, tell = os.pipe()
        socket.send_fds(self._asking, [json.dumps(asked).encode()], [out.fileno(), tell])
        os.close(tell)
        return Forked(int(self._asking.recv(100)), told)

    def _load(self):
        self._asking, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        with theirs:
            self._process = subprocess.Popen(
                [sys.executable, "-P", __file__, str(theirs.fileno())],
                pass_fds=[theirs.fileno()],
                env=os.environ | {"PYTHONPATH": str(ROOT)},
            )

    def end(self):
        if self._asking is not None:
            self._asking.close()
            self._process.wait(20)
            self._asking = self._process = None


def load():
    """Load what the words load when they run, as far as no process starts and no file is opened."""
    import gc  # noqa: PLC0415 - only the loaded process needs these

    import api.app  # noqa: PLC0415
    import api.cli  # noqa: PLC0415
    import api.commands.demo_run  # noqa: PLC0415
    import api.server  # noqa: PLC0415
    import logger.plant.driver  # noqa: PLC0415
    import logger.service  # noqa: F401, PLC0415

    api.app.areas()
    gc.collect()
    gc.freeze()


def serve(asking):
    """Fork for whoever asks; in the child, return what it is to be."""
    under_way = {}  # by what tells of its end: its number, and where to say how it ended
    while True:
        for ready in select.select([asking, *under_way], [], [])[0]:
            if ready is not asking:
                tell_end(ready, *under_way.pop(ready))
                continue
            said, files, _, _ = socket.recv_fds(asking, MOST_BYTES, 2)
            if not said:
                sys.exit()
            out, tell = files
            if (pid := os.fork()) == 0:
                asking.detach()
                return json.loads(said), out
            os.close(out)
            under_way[os.pidfd_open(pid)] = (pid, tell)
            asking.send(str(pid).encode())


def tell_end(ended, pid, tell):
    status = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
    with suppress(BrokenPipeError):  # nobody waits for it any more
        os.write(tell, str(status).encode())
    os.close(tell)
    os.close(ended)


def become(asked, out):
    """Be the process that was asked for, with nothing of the loaded one's but what it loaded."""
    os.dup2(out, 1)
    os.dup2(out, 2)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    os.closerange(3, MOST_FILES)
    os.environ.clear()
    os.environ.update(asked["environment"])
    time.tzset()
    tempfile.tempdir = None  # as the new environment says
    sys.argv = [asked["script"] or "wormtub", *asked["words"]]


if __name__ == "__main__":
    load()
    asked, out = serve(socket.socket(fileno=int(sys.argv[1])))
    become(asked, out)
    if asked["script"]:
        runpy.run_path(asked["script"], run_name="__main__")
    else:
        from api.cli import main

        main()
