"""A hand at the demonstration's still: changes and weighs a jar that fills where no visitor does.

It goes by the plant's own truth and asks the service as any client does. Cuts it leaves to whoever
is trying the pages; when the plant's run is over it says so, empties the still, and begins the
next one with its charge.
"""

import json
import logging
from datetime import datetime
from pathlib import Path
from time import monotonic
from typing import Any, Final, NamedTuple

from api.commands.demo_jars import FULL_L, is_read
from calc.contents import contents_by_volume
from logger.plant import orders
from logger.plant.distillery import CHARGE_ABV, CHARGE_C, CHARGE_L
from logger.plant.parameters import STILL
from logger.store.types import now
from logger.telling import Service

LOOKS_EVERY_S: Final = 10.0
MOST_L: Final = 2.9  # more stood in no jar: time was made to pass
FIRST_L: Final = 0.05  # so much has come over before a jar is missed
RUNNING: Final = "spirit"
CHARGE: Final = {"volume_l": CHARGE_L, "reading_abv": CHARGE_ABV, "temperature_c": CHARGE_C}
KEPT: Final = "Low wines of batches before this record."

log = logging.getLogger(__name__)


class _Began(NamedTuple):
    """What had come over when a jar was begun."""

    collected_l: float
    pure_l: float


class _Seen(NamedTuple):
    """How the plant's still stood at a look."""

    is_running: bool
    collected_l: float
    pot: dict[str, float]


class Hand:
    """Looks after the run that goes on, and begins the next."""

    def __init__(self, service: Service, bus: Path) -> None:
        self._service, self._state = service, orders.state_file(bus)
        self._began: dict[str, _Began] = {}
        self._jars_of: set[str] = set()  # runs that had a first jar
        self._last: _Seen | None = None
        self._has_begun = False  # a run of the plant, which the record does not know of
        self._due_s = 0.0

    def look(self) -> bool:
        """Look, when it is time to; gives False, so that the demonstration goes on."""
        if monotonic() >= self._due_s:
            self._due_s = monotonic() + LOOKS_EVERY_S
            try:
                self._see(json.loads(self._state.read_text())["truth"])
            except (OSError, ValueError, KeyError):
                log.info("The demonstration's hand could not look; it looks again.", exc_info=True)
        return False

    def _see(self, truth: dict[str, Any]) -> None:
        last, self._last = self._last, _seen(truth)
        turned = last is not None and _is_another(last, self._last)
        status, found = self._service.ask("GET", "/api/record/now")
        runs = found["runs"] if status == 200 else []
        on = next((one for one in runs if one["vessel"] == STILL), None)
        self._has_begun = self._last.is_running and (self._has_begun or turned)
        if on is None:
            if status == 200 and self._has_begun:
                self._begin()
        elif on["purpose"] == RUNNING:
            if turned or not self._last.is_running:
                self._end(on, None if turned else last)
            else:
                self._see_run(on, truth)

    def _see_run(self, run: dict[str, Any], truth: dict[str, Any]) -> None:
        if run["open_jar"] is not None:
            self._jars_of.add(run["id"])
            self._see_jar(run, truth)
        elif run["id"] not in self._jars_of and not run["jars"] and truth["collected_l"] > FIRST_L:
            self._jars_of.add(run["id"])
            self._send("POST", f"runs/{run['id']}/jars", number=run["next_number"])

    def _see_jar(self, run: dict[str, Any], truth: dict[str, Any]) -> None:
        jar = run["open_jar"]
        came = self._began.setdefault(jar["id"], _began(jar, truth))
        litres = truth["collected_l"] - came.collected_l
        if litres >= FULL_L:
            self._send("POST", f"runs/{run['id']}/jars", number=run["next_number"])
            if litres <= MOST_L:
                self._weigh(jar, litres, truth["collected_pure_l"] - came.pure_l)

    def _end(self, run: dict[str, Any], last: _Seen | None) -> None:
        """Say that a run is over, and what was let out of the pot where that was seen."""
        if all(one["kind"] != "end" for one in run["marks"]):
            self._send("POST", f"runs/{run['id']}/marks", kind="end", source="tap")
        if last is not None and last.is_running and run["charge"] is not None:
            left = {"volume_l": round(last.pot["volume_l"]), "temperature_c": 20.0}
            left["reading_abv"] = round(last.pot["abv"], 1)
            self._send(
                "POST", "transfers", kind="discard", from_lot=run["id"], text="Left in the pot.",
                **left,
            )  # fmt: skip
        kept = {name: run[name] for name in ("vessel_id", "batch", "started_at", "version")}
        path = f"occupancies/{run['id']}"
        self._send("PUT", path, stage=run["purpose"], ended_at=now().isoformat(), **kept)

    def _begin(self) -> None:
        """Say that the next run is on, and what it was charged with."""
        self._has_begun = False
        status, vessels = self._service.ask("GET", "/api/vessels")
        stills = [one for one in vessels if one["name"] == STILL] if status == 200 else []
        if not stills:
            return
        at = now()
        batch = f"rye 0, {at:%d.%m. %H:%M}"
        run = self._send(
            "POST", "occupancies", vessel_id=stills[0]["id"], batch=batch, stage=RUNNING,
            started_at=at.isoformat(),
        )  # fmt: skip
        lot = self._send(
            "POST", "lots", kind="low_wines", name=f"low wines kept, {at:%d.%m. %H:%M}",
            batch=batch, origin=KEPT,
        )  # fmt: skip
        if run is not None and lot is not None:
            self._send("POST", "transfers", kind="receive", to_lot=lot["id"], **CHARGE)
            self._send("POST", "transfers", kind="charge", from_lot=lot["id"], to_lot=run["id"])

    def _weigh(self, jar: dict[str, Any], litres: float, pure_l: float) -> None:
        """Weigh a full jar, and read every third."""
        abv = min(max(100.0 * pure_l / litres, 0.0), 97.0)
        vessel = self._service.ask("GET", f"/api/jar-vessels/{jar['number']}")
        if vessel.status != 200:
            return
        full_kg = contents_by_volume(litres, abv).weight_in_air_kg
        said: dict[str, Any] = {"mass_kg": round(vessel.body["tare_kg"] + full_kg, 3)}
        if is_read(jar["number"]):
            said |= {"reading_abv": round(abv, 1), "temperature_c": 20.0}
        self._send("PUT", f"jars/{jar['id']}", version=jar["version"], **said)

    def _send(self, method: str, path: str, **body: Any) -> dict[str, Any] | None:
        answer = self._service.ask(method, f"/api/{path}", json.dumps(body))
        if answer.status >= 400:
            log.info("The demonstration's hand was refused: %s", answer.sentence)
            return None
        return dict(answer.body)


def _seen(truth: dict[str, Any]) -> _Seen:
    is_running = truth["stages"].get(STILL) == RUNNING
    return _Seen(is_running, truth["collected_l"], truth["vessels"][STILL])


def _is_another(last: _Seen, seen: _Seen) -> bool:
    """Whether another run has begun since: it runs again, or less has come over than had."""
    return seen.is_running and (not last.is_running or seen.collected_l < last.collected_l)


def _began(jar: dict[str, Any], truth: dict[str, Any]) -> _Began:
    """Reckon back from what runs now: a jar is seen a few seconds after its begin."""
    minutes = (now() - datetime.fromisoformat(jar["began_at"])).total_seconds() / 60.0
    came_l = min(truth["spout_l_min"] * max(minutes, 0.0), truth["collected_l"])
    pure_l = came_l * truth["spout_abv"] / 100.0
    return _Began(truth["collected_l"] - came_l, truth["collected_pure_l"] - pure_l)
