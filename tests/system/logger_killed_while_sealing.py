"""Runs the real `wormtub`, and kills it at the nth write of its sealing: the words follow n."""

import os
import signal
import sys

from sqlalchemy import Engine, event

from api.cli import main

SEALING = ("INSERT INTO blocks", "INSERT INTO chunks", "INSERT INTO pages", "DELETE FROM recent")


def kill_at(nth: int) -> None:
    left = nth

    @event.listens_for(Engine, "before_cursor_execute")
    def count(_connection, _cursor, statement, *_):
        nonlocal left
        if statement.startswith(SEALING):
            left -= 1
            if left == 0:
                os.kill(os.getpid(), signal.SIGKILL)


if __name__ == "__main__":
    kill_at(int(sys.argv.pop(1)))
    main()
