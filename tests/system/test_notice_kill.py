"""kill -9 of the service at every step from scan to sent: told at least once, marked if twice."""

import asyncio
import signal
import time
from collections import defaultdict
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from uuid import uuid4

import orjson
import pytest
from sqlmodel import Session, select

from api.house import House
from logger.reading import Grade
from logger.settings import Settings
from logger.store import database, facts
from logger.store.alarm_tables import AlarmEvent, Notice, NoticeTarget
from logger.store.scans import ScanWriter
from logger.store.tables import Place, Placement, Vessel
from tests.system.notice_killed import POT, STEPS, scan

pytestmark = pytest.mark.system

PROGRAM = str(Path(__file__).with_name("notice_killed.py"))
MARK = "(may be a repeat)"
UNTOLD = {"judged", "keeping", "kept", "begun"}  # nothing has left yet when it dies here
UNDER_WAY = {"begun", "handed over", "answered"}


@pytest.fixture
def bells():
    """Targets on the loopback, each with a path of its own; gives what each has heard."""
    heard = defaultdict(list)

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self):
            said = orjson.loads(self.rfile.read(int(self.headers["content-length"])))
            heard[self.path.strip("/")].append(said["title"])
            self.send_response(200)
            self.end_headers()

        def log_message(self, *words):
            pass

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        thread = Thread(target=server.serve_forever, args=(0.02,))
        thread.start()
        yield f"json://127.0.0.1:{server.server_port}", heard
        server.shutdown()
        thread.join()


def furnished(data, address):
    """Make a folder with a still, its probe, a target, and some minutes of good readings."""
    database.prepare(data)
    engine = database.engine(data)
    common = {"site": uuid4(), "who": "me", "effective_at": datetime(2026, 1, 1, tzinfo=UTC)}
    still = Vessel.first(name="Still", kind="still", volume_l=60.0, **common)
    pot = Place.first(name="pot", vessel=still.about, **common)
    probe = Placement.first(place=pot.about, probe_id=POT.probe_id, **common)
    target = NoticeTarget.first(name="phone", address=address, **common)
    for fact in (still, pot, probe, target):
        facts.record(engine, fact)
    writer, now = ScanWriter(engine), int(time.time())
    writer.append_many([scan(slot, Grade.OK) for slot in range(now - 120, now - 60)])
    writer.close()
    engine.dispose()
    return database.engine(data, read_only=True)


async def all_until_sent(folder, engines, heard, until):
    """Run every service again until nothing waits."""

    async def until_sent(step):
        house = House.open(Settings(data=folder / step))
        async with house.running():
            said = heard[f"{STEPS.index(step)}"]
            await asyncio.to_thread(
                until, lambda: said and sent(engines[step]), within_s=90, says=step
            )

    await asyncio.gather(*(until_sent(step) for step in engines))


def notices(engine):
    """Read the notices of the probe; the house has more to say where the machine is slow."""
    about = select(AlarmEvent.id).where(AlarmEvent.rule == "probe_refused")
    with Session(engine) as session:
        return session.exec(select(Notice).where(Notice.event_id.in_(about))).all()


def sent(engine):
    found = notices(engine)
    return bool(found) and all(one.sent_at for one in found)


def test_it_is_never_lost_and_says_where_it_may_be_a_repeat(start, bells, tmp_path, until):
    address, heard = bells
    engines = {}
    for number, step in enumerate(STEPS):
        engines[step] = furnished(tmp_path / step, f"{address}/{number}")
    killed = {step: start(tmp_path / step, step, script=PROGRAM) for step in STEPS}
    for step in STEPS[:-1]:
        assert killed[step].ends(within_s=90) == -signal.SIGKILL, killed[step].text
    untouched = f"{STEPS.index('never')}"
    until(
        lambda: heard[untouched] and sent(engines["never"]),
        within_s=60,
        says="a notice that nobody stops",
    )
    killed["never"].kill()
    assert not any(heard[f"{STEPS.index(step)}"] for step in UNTOLD)
    asyncio.run(all_until_sent(tmp_path, engines, heard, until))
    for number, step in enumerate(STEPS):
        engine = engines[step]
        titles = [one for one in heard[f"{number}"] if "Still, pot" in one]
        assert len(notices(engine)) == 1, step
        more = titles[1:]
        assert all(MARK in title for title in more), step  # what came twice says so
        assert (MARK in titles[-1]) == (step in UNDER_WAY), step
        assert len(more) == (step == "answered" or (step == "handed over" and len(titles) == 2))
        engine.dispose()
