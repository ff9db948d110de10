"""A hand at the demonstration's still: changes and weighs a jar that fills where no visitor does.

It goes by the plant's own truth and asks the service as any client does. Cuts it leaves to whoever
is trying the pages; when the plant's run is over it says so.
"""

import json
import logging
from datetime import datetime
from pathlib import Path
from time import monotonic
from typing import Any, Final, NamedTuple

from api.commands.demo_jars import EVERY, FULL_L
from calc.contents import contents_by_volume
from logger.plant import orders
from logger.plant.parameters import STILL
from logger.store.types import now
from logger.telling import Service

LOOKS_EVERY_S: Final = 10.0
MOST_L: Final = 2.9  # more stood in no jar: time was made to pass
RUNNING: Final = "spirit"

log = logging.getLogger(__name__)


class _Began(NamedTuple):
    """What had come over when a jar was begun."""

    collected_l: float
    pure_l: float


class Hand:
    """Looks after the run that goes on."""

    def __init__(self, service: Service, bus: Path) -> None:
        self._service, self._state = service, orders.state_file(bus)
        self._began: dict[str, _Began] = {}
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
        status, found = self._service.ask("GET", "/api/record/now")
        runs = found["runs"] if status == 200 else []
        on = next((one for one in runs if one["vessel"] == STILL), None)
        is_running = truth["stages"].get(STILL) == RUNNING
        if on is not None and on["purpose"] == RUNNING and on["open_jar"] is not None:
            self._see_jar(on, truth, is_running=is_running)

    def _see_jar(self, run: dict[str, Any], truth: dict[str, Any], *, is_running: bool) -> None:
        jar = run["open_jar"]
        came = self._began.setdefault(jar["id"], _began(jar, truth))
        litres = truth["collected_l"] - came.collected_l
        if not is_running:
            self._send("POST", f"runs/{run['id']}/marks", kind="end", source="tap")
        elif litres >= FULL_L:
            self._send("POST", f"runs/{run['id']}/jars", number=run["next_number"])
            if litres <= MOST_L:
                self._weigh(jar, litres, truth["collected_pure_l"] - came.pure_l)

    def _weigh(self, jar: dict[str, Any], litres: float, pure_l: float) -> None:
        """Weigh a full jar, and read every third."""
        abv = min(max(100.0 * pure_l / litres, 0.0), 97.0)
        vessel = self._service.ask("GET", f"/api/jar-vessels/{jar['number']}")
        if vessel.status != 200:
            return
        full_kg = contents_by_volume(litres, abv).weight_in_air_kg
        said: dict[str, Any] = {"mass_kg": round(vessel.body["tare_kg"] + full_kg, 3)}
        if jar["number"] % EVERY == 0:
            said |= {"reading_abv": round(abv, 1), "temperature_c": 20.0}
        self._send("PUT", f"jars/{jar['id']}", version=jar["version"], **said)

    def _send(self, method: str, path: str, **body: Any) -> None:
        answer = self._service.ask(method, f"/api/{path}", json.dumps(body))
        if answer.status >= 400:
            log.info("The demonstration's hand was refused: %s", answer.sentence)


def _began(jar: dict[str, Any], truth: dict[str, Any]) -> _Began:
    """Reckon back from what runs now: a jar is seen a few seconds after its begin."""
    minutes = (now() - datetime.fromisoformat(jar["began_at"])).total_seconds() / 60.0
    came_l = min(truth["spout_l_min"] * max(minutes, 0.0), truth["collected_l"])
    pure_l = came_l * truth["spout_abv"] / 100.0
    return _Began(truth["collected_l"] - came_l, truth["collected_pure_l"] - pure_l)
