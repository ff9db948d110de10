"""A recorded trace judged by the evaluation that judges live readings."""

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from statistics import median_low
from typing import Final

from api.alarms.evaluate import NOTED, PRESSURE, Change, Evaluation, Judge
from api.alarms.ground import Charge, CondenserGround, Ground, Moment, Spot, VesselGround
from api.alarms.shipped import SHIPPED
from api.alarms.sights import SpotSight
from api.alarms.traces import Tell, TraceError, TraceRow, header_of, rows
from api.estimates.estimate import Estimate
from api.estimates.retelling import Retelling, Retold
from api.estimates.trace_jars import read_jars

STILL_PLACES: Final = frozenset(
    {"pot", "column", "head", "coolant_in", "coolant_out", "reflux_out", "spout"}
)
KIND_OF: Final = {"mash": "mash_tun", "ferment": "fermenter"}
NEEDED: Final = {  # at least one of these, by stage
    "mash": ("mash", "pot"),
    "ferment": ("ferment",),
    "strip": ("pot", "head"),
    "spirit": ("pot", "head"),
}
CADENCE_OF: Final = 5  # rows whose distances say how fast they come
LONGEST_PERIOD_S: Final = 600
HOUSE: Final = "room"


@dataclass(frozen=True, slots=True)
class AlarmLine:
    """One change of an alarm's state."""

    rule: str
    place: str
    state: str
    priority: str
    at: datetime
    value: float | None
    limit: float | None


@dataclass(frozen=True, slots=True)
class EstimateLine:
    """One estimate, restated."""

    at: datetime
    estimate: Estimate
    vessel: str | None = None  # where the trace has several of which something is estimated


Said = AlarmLine | EstimateLine


def replay(
    file: Path, stage: str, charge: Charge | None, jars: Path | None, tell: Tell
) -> Iterator[Said]:
    """Judge a trace row by row; `tell` is given a sentence for every row that cannot be read."""
    columns = header_of(file)
    ground = ground_of(file, columns, stage)
    evaluation = Evaluation(ground, SHIPPED)
    known = read_jars(jars, tell) if jars else []
    retelling = Retelling(ground, charge, known)
    collected = deque(known)
    still = next((one.key for one in ground.vessels if one.kind == "still"), None)
    cadence, before = _Cadence(), None
    for row in rows(file, tell):
        slot = int(row.at.timestamp())
        if (period_s := cadence.see(slot)) is None:
            continue  # within the second before
        while collected and collected[0].slot <= slot and charge is not None:
            charge = _less(charge, collected.popleft().volume_l.value)
        if still is not None and charge is not None:
            evaluation.know(still, charge)
        values = _values(ground, row)
        yield from _retold(retelling, retelling.see(slot, values), before)
        evaluation.estimate(retelling.estimated)
        for change in evaluation.see(Moment(slot, period_s, values)):
            if change.what == NOTED or not change.after.covered:
                yield _line(evaluation.judges[change.key], change, row.at)
        before = row.at
    yield from _retold(retelling, retelling.end(), before)


def ground_of(file: Path, columns: Sequence[str], stage: str) -> Ground:
    """Make the ground that a trace's columns speak of."""
    spots, vessels = [], dict[str, VesselGround]()
    for column in columns:
        prefix, _, place = column.rpartition(".")
        kind = "still" if place in STILL_PLACES else KIND_OF.get(place)
        if column == PRESSURE:
            continue
        if kind is None:
            if place == HOUSE:
                spots.append(Spot(column, HOUSE))
            continue
        key = prefix or kind
        if key not in vessels or kind == "still":
            vessels[key] = VesselGround(key, prefix or kind, kind, stage=stage)
        spots.append(Spot(column, place, key))
    if not any(spot.name in NEEDED[stage] for spot in spots):
        wanted = " or ".join(NEEDED[stage])
        raise TraceError(
            f"{file.name} has no column {wanted}, which a {stage} is judged by; name the columns "
            "by place, or vessel.place where there are several vessels."
        )
    held = tuple(_staged(one, spots, stage) for one in vessels.values())
    return Ground(tuple(spots), held, tuple(_condensers(held, spots)))


def _staged(vessel: VesselGround, spots: Sequence[Spot], stage: str) -> VesselGround:
    """Give the stage to the vessels that can be in it."""
    mine = {spot.name for spot in spots if spot.vessel == vessel.key}
    elsewhere = stage == "mash" and vessel.kind == "still" and any(s.name == "mash" for s in spots)
    if mine & set(NEEDED[stage]) and not (elsewhere and "mash" not in mine):
        return vessel
    return VesselGround(vessel.key, vessel.name, vessel.kind)


def _condensers(
    vessels: Sequence[VesselGround], spots: Sequence[Spot]
) -> Iterator[CondenserGround]:
    for vessel in vessels:
        if vessel.kind != "still":
            continue
        names = {spot.name for spot in spots if spot.vessel == vessel.key}
        yield CondenserGround(f"{vessel.key}/condenser", "condenser", vessel.key)
        if "reflux_out" in names:
            key = f"{vessel.key}/reflux"
            yield CondenserGround(key, "reflux condenser", vessel.key, "reflux", "reflux_out")


class _Cadence:
    """How far apart the rows are, whatever gaps there are between some."""

    def __init__(self) -> None:
        self._last: int | None = None
        self._apart: deque[int] = deque(maxlen=CADENCE_OF)

    def see(self, slot: int) -> int | None:
        """Take a row's second; None where it is the one before once more."""
        if self._last is not None:
            if slot <= self._last:
                return None
            self._apart.append(slot - self._last)
        self._last = slot
        return min(median_low(self._apart), LONGEST_PERIOD_S) if self._apart else 1


def _values(ground: Ground, row: TraceRow) -> dict[str, float | None]:
    found = {spot.key: row.values[spot.key] for spot in ground.spots}
    if row.values.get(PRESSURE) is not None:
        found[PRESSURE] = row.values[PRESSURE]
    return found


def _retold(
    retelling: Retelling, found: Iterable[Retold], at: datetime | None
) -> Iterator[EstimateLine]:
    """Write what is restated, as of the row that its step ended with."""
    for one in found:
        if at is not None:
            yield EstimateLine(at, one.estimate, one.vessel if retelling.has_several else None)


def _line(judge: Judge, change: Change, at: datetime) -> AlarmLine:
    rule = judge.rule
    return AlarmLine(
        rule=rule.name,
        place=_place(judge),
        state=NOTED if change.what == NOTED else change.after.process.value,
        priority=rule.priority.value if rule.priority else "event",
        at=at,
        value=None if change.value is None else round(change.value, 4),
        limit=change.limit,
    )


def _place(judge: Judge) -> str:
    """Name the place an alarm is about, as the trace does."""
    sight = judge.sight
    if isinstance(sight, SpotSight):
        return sight.spot.key
    prefix = judge.key.subject.partition("/")[0]
    bare = prefix in {"still", *KIND_OF.values()}
    return judge.rule.place if bare else f"{prefix}.{judge.rule.place}"


def _less(charge: Charge, litres: float) -> Charge:
    return replace(charge, collected_l=(charge.collected_l or 0.0) + litres)
