"""Runs the real `wormtub`, and kills it at the nth write of its sealing: the words follow n."""

import os
import signal
import sys

from sqlalchemy import Engine, event

from api.cli import main

SEALING = ("INSERT INTO blocks", "INSERT INTO chunks", "INSERT INTO pages", "DELETE FROM recent")
left = int(sys.argv.pop(1))


@event.listens_for(Engine, "before_cursor_execute")
def count(_connection, _cursor, statement, *_):
    global left  # noqa: PLW0603 - the process has one purpose
    if statement.startswith(SEALING):
        left -= 1
        if left == 0:
            os.kill(os.getpid(), signal.SIGKILL)


main()
