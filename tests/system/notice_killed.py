"""A service on a data folder, killed at one step of a notice's way: the folder and step follow."""

import asyncio
import os
import signal
import sys
import time
from pathlib import Path

from api.alarms import events
from api.alarms.evaluate import Evaluation
from api.alarms.notices.outbox import Outbox
from api.alarms.notices.post import Post
from api.house import House
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.settings import Settings
from logger.store import database
from logger.store.scans import ScanWriter

STEPS = (
    "judged",  # the alarm has come up in memory
    "keeping",  # its event and notices are about to be committed
    "kept",
    "begun",  # the notice is marked as under way
    "handed over",
    "answered",  # the target has taken it, the outbox does not know
    "sent",
    "never",
)
POT = SeriesKey("28-0000075a1b2c", "temperature_c", 16)


def die(*_):
    os.kill(os.getpid(), signal.SIGKILL)
    signal.pause()


def before(owner, name, condition=lambda *_, **__: True):
    real = getattr(owner, name)

    def killed(*args, **kwargs):
        if condition(*args, **kwargs):
            die()
        return real(*args, **kwargs)

    setattr(owner, name, killed)


def after(owner, name, condition=lambda _answer: True):
    real = getattr(owner, name)

    def killed(*args, **kwargs):
        answer = real(*args, **kwargs)
        if condition(answer):
            die()
        return answer

    setattr(owner, name, killed)


def tells(*_, owed=(), **__):
    return bool(owed)


def kill_at(step: str) -> None:
    """Let the process die at a step."""
    if step == "judged":
        after(Evaluation, "see", bool)
    elif step == "keeping":
        before(events, "keep", tells)
    elif step == "kept":
        real = events.keep
        events.keep = lambda *args, **more: (real(*args, **more), tells(**more) and die())[0]
    elif step == "begun":
        after(Outbox, "begin")
    elif step == "handed over":
        after(Post, "send")
    elif step == "answered":
        before(Outbox, "finish")
    elif step == "sent":
        after(Outbox, "finish")


def scan(slot: int, grade: Grade) -> Scan:
    """Take a scan of one probe, good or refused."""
    good = grade is Grade.OK
    return Scan(slot, 1, (Reading(POT, grade, 20 * 16 if good else None),))


def refuse(data: Path) -> None:
    """Log what a probe that fails looks like, up to now."""
    engine = database.engine(data)
    writer, now = ScanWriter(engine), int(time.time())
    writer.append_many([scan(slot, Grade.CRC) for slot in range(now - 15, now)])
    writer.close()
    engine.dispose()


async def serve(data: Path) -> None:
    """Watch the folder as the service does, and be told of a failing probe."""
    house = House.open(Settings(data=data))
    async with house.running():
        await asyncio.to_thread(house.alarms.wait_ready)
        await asyncio.to_thread(refuse, data)
        await asyncio.Event().wait()


if __name__ == "__main__":
    kill_at(sys.argv[2])
    asyncio.run(serve(Path(sys.argv[1])))
