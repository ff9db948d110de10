"""A recorded trace told by the estimators that tell live readings."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Final

from api.alarms.estimated import Estimated
from api.alarms.ground import Charge, Ground, Spot, VesselGround
from api.estimates.choosing import estimator_of
from api.estimates.estimate import Estimate
from api.estimates.estimator import MEASURED_HPA, STEP_S, Estimator, Step
from api.estimates.facts.ends import RunEnds
from api.estimates.facts.held import MASH, POT, TOLD_RUNS, Kind
from api.estimates.facts.held import Ground as Known
from api.estimates.ground import (
    FermentGround,
    JarGround,
    MashGround,
    Measured,
    ProbeGround,
    RunGround,
    StillGround,
)
from api.estimates.restating import LIVE, Restating
from api.estimates.seat import beside
from api.estimates.steps import BAROMETER_S, PRESSURE, ROOM, Air, AirPressure
from api.estimates.trace_jars import STRENGTH_ERROR_ABV, VOLUME_ERROR, TraceJar

RUN: Final = "replay"
RETOLD_S: Final = 60


@dataclass(frozen=True, slots=True)
class Retold:
    """One estimate of one vessel, restated."""

    vessel: str
    estimate: Estimate


@dataclass(slots=True)
class _Told:
    """A vessel's estimator, and what it is told with."""

    kind: Kind
    stage: str
    estimator: Estimator[Known]
    restating: Restating
    keys: Mapping[str, str]  # places by the trace's columns
    values: dict[str, list[float]] = field(default_factory=dict)
    known: Known | None = None  # what is written down by now


class Retelling:
    """Takes a trace's rows in turn; gives what is restated whenever a minute is over.

    The estimators see ten seconds' means, as they do live; looking ahead with every one of them
    would take the longest of all, and nobody waits for it here.
    """

    def __init__(self, ground: Ground, charge: Charge | None, jars: Sequence[TraceJar]) -> None:
        self._charge, self._jars = charge, jars
        self._from_slot: int | None = None
        self._slot = 0  # of the newest row of the step that is on
        self._came = -1  # jars known when the estimators were told of them last
        self._air, self._barometer = Air(), list[float]()
        self._measured: tuple[int, float] | None = None
        self._told = {
            one.key: told for one in ground.vessels if (told := _of(one, ground.spots)) is not None
        }
        self.estimated: dict[str, Estimated] = {}

    @property
    def has_several(self) -> bool:
        """Say whether several vessels are told of."""
        return len(self._told) > 1

    def see(self, slot: int, values: Mapping[str, float | None]) -> list[Retold]:
        """Take a row; gives what is restated as of the row before, where that ended a step."""
        found = []
        if self._from_slot is None:
            self._from_slot = slot
        elif slot // STEP_S != self._slot // STEP_S:
            found = self._end_step(tell=slot // RETOLD_S != self._slot // RETOLD_S)
        self._slot = slot
        hpa = values.get(PRESSURE)
        if hpa is not None:
            self._barometer.append(hpa)
        for told in self._told.values():
            for key, place in told.keys.items():
                value = values.get(key)
                there = told.values.setdefault(place, [])
                if value is not None:
                    there.append(value)
        return found

    def end(self) -> list[Retold]:
        """Tell the step that is on, which is over."""
        return [] if self._from_slot is None else self._end_step(tell=True)

    def _end_step(self, *, tell: bool) -> list[Retold]:
        """Let the estimators see the step that is over; tell where a minute is, or a jar came."""
        found: list[Retold] = []
        news = self._learn()
        air = self._pressure()
        for key, told in self._told.items():
            means = {place: _mean(own) for place, own in told.values.items()}
            told.values = {}
            told.estimator.see([Step(self._slot, means, air.hpa, air.by, air.error_hpa)])
            if not (tell or news):
                continue
            estimates = told.estimator.tell()
            if told.known is not None:
                estimates = (*estimates, *beside(told.known, estimates, self._slot))
            self.estimated[key] = Estimated(self._slot, {one.quantity: one for one in estimates})
            found += [Retold(key, one) for one in told.restating.take(self._slot, estimates)]
        return found

    def _pressure(self) -> AirPressure:
        if self._barometer:
            self._measured = self._slot, sum(self._barometer) / len(self._barometer)
            self._barometer = []
        if self._measured is not None and self._slot - self._measured[0] <= BAROMETER_S:
            return AirPressure(self._measured[1], "barometer", MEASURED_HPA)
        return self._air.at(self._slot)

    def _learn(self) -> bool:
        """Let the estimators know what is written down by now; says whether that is news."""
        came = sum(one.slot <= self._slot for one in self._jars)
        if came == self._came:
            return False
        self._came = came
        for told in self._told.values():
            probes = {place: ProbeGround() for place in told.keys.values()}
            told.known = self._known(told)
            told.estimator.know(told.known, probes)
        return True

    def _known(self, told: _Told) -> Known:
        begin = self._from_slot or 0
        if told.kind == "mash":
            return MashGround(RUN, begin)
        if told.kind == "ferment":
            return FermentGround(RUN, begin)
        charge, end = self._charge or Charge(), RunEnds().of(told.stage)
        return RunGround(
            run_id=RUN,
            purpose=told.stage,
            from_slot=begin,
            charge_volume_l=_measured(charge.volume_l, VOLUME_ERROR * (charge.volume_l or 0.0)),
            charge_abv=_measured(charge.abv, STRENGTH_ERROR_ABV),
            jars=tuple(self._jars_since(begin)),
            end_abv=end.spout_abv,
            end_left_share=end.left_share,
        )

    def _jars_since(self, begin: int) -> Iterator[JarGround]:
        """Give what was collected so far, each from where the one before was full."""
        for jar in self._jars[: self._came]:
            yield JarGround(begin, jar.slot, jar.volume_l, jar.abv)
            begin = jar.slot
        if self._came < len(self._jars):  # it stands there: nobody goes back once it is full
            yield JarGround(begin, None)


def _of(vessel: VesselGround, spots: Iterable[Spot]) -> _Told | None:
    kind = _kind(vessel)
    if kind is None or vessel.stage is None:
        return None
    keys = {
        spot.key: spot.name
        for spot in spots
        if spot.vessel == vessel.key or (spot.vessel is None and spot.name == ROOM)
    }
    if kind == "mash" and MASH not in keys.values():
        keys = {key: MASH if place == POT else place for key, place in keys.items()}
    still = StillGround(has_reflux="reflux_out" in keys.values()) if kind == "still" else None
    made = estimator_of(kind, still, _hour)
    return _Told(kind, vessel.stage, made, Restating(LIVE), keys)


def _kind(vessel: VesselGround) -> Kind | None:
    if vessel.stage in {"mash", "ferment"}:
        return "mash" if vessel.stage == "mash" else "ferment"
    return "still" if vessel.kind == "still" and vessel.stage in TOLD_RUNS else None


def _measured(value: float | None, error: float) -> Measured | None:
    return None if value is None else Measured(value, error)


def _mean(values: Sequence[float]) -> float | None:
    return sum(values) / len(values) if values else None


def _hour(slot: int) -> str:
    return datetime.fromtimestamp(slot, UTC).strftime("%H:%M")
