"""What follows from a run's ground, worked out once and used by every view of it. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property

from api.record.collected import Totals, totals
from api.record.run_bodies import share
from api.reviews.collecting import (
    Amounts,
    RatePoint,
    StrengthPoint,
    SumPoint,
    poured_together,
    rates,
    running,
    strengths,
    together,
)
from api.reviews.facts_read import Ground
from api.reviews.jumps import Event, Jump, Next, is_usual, jumps
from api.reviews.moments import Moment, by_key, moments
from api.reviews.phases import Phase, phases
from api.reviews.silences import ClockChange, Silence, clock_changes, silences
from api.reviews.usage import ENERGY, FLOW, POWER_KW, Heating, Power, Used, water_used
from api.reviews.words import MomentKey, PhaseKey
from logger.store.gauging import Content
from logger.store.record_rules import SHOWS_NO_STRENGTH

CUT_ORDER = ("foreshots", "heads", "hearts", "tails", "feints", None)


@dataclass(frozen=True)
class Figures:
    """A run's figures; each is worked out when it is first asked for."""

    ground: Ground

    @cached_property
    def moments(self) -> Sequence[Moment]:
        """The moments of the run, in order."""
        read = self.ground.read
        return moments(read.run, read.marks, read.jars, self.ground.lines)

    @cached_property
    def at(self) -> dict[MomentKey, Moment]:
        """The moments by what they are."""
        return by_key(self.moments)

    def when(self, key: MomentKey) -> datetime | None:
        """Return when something happened, where that is known."""
        found = self.at.get(key)
        return found.at if found else None

    @cached_property
    def phases(self) -> Sequence[Phase]:
        """The phases of the run."""
        found = phases(self.moments, self.ground.read.jars, self.ground.until)
        if self.drawn is None or self.ground.read.jars:
            return found
        whole = self.drawn  # without jars, what came over belongs to the one phase of collecting
        return [replace(one, collected=whole) if one.key == "collecting" else one for one in found]

    @cached_property
    def cuts(self) -> Sequence[tuple[str | None, Amounts]]:
        """The jars of each class together."""
        jars = self.ground.read.jars
        found = []
        for cut in CUT_ORDER:
            amounts = together((one, 1.0) for one in jars if one.jar.cut == cut)
            if amounts is not None:
                found.append((cut, amounts))
        return found

    def cut(self, name: str) -> Amounts | None:
        """Return the jars of one class together."""
        return next((amounts for cut, amounts in self.cuts if cut == name), None)

    @cached_property
    def totals(self) -> Totals:
        """What came over in jars."""
        return totals(self.ground.read.jars)

    @cached_property
    def strengths(self) -> Sequence[StrengthPoint]:
        """The strengths that were read, of jars and at the spout, in order."""
        if not self.shows_strength:
            return ()
        found = [*strengths(self.ground.read.jars), *self.ground.spout]
        return sorted(found, key=lambda one: one.at)

    @cached_property
    def rates(self) -> Sequence[RatePoint]:
        """How fast each jar filled."""
        return rates(self.ground.read.jars)

    @cached_property
    def running(self) -> Sequence[SumPoint]:
        """What had come over by when."""
        return running(self.ground.read.jars)

    @cached_property
    def drawn(self) -> Amounts | None:
        """What was collected without jars, straight into a lot."""
        return poured_together(self.ground.drawn)

    @property
    def came_l(self) -> float:
        """What came over in all, in jars or without."""
        return self.totals.volume_l + (self.drawn.volume_l if self.drawn else 0.0)

    @property
    def pure_alcohol_l(self) -> float:
        """The pure alcohol of it, of what is known."""
        drawn_l = self.drawn.pure_alcohol_l if self.drawn else None
        return self.totals.pure_alcohol_l + (drawn_l or 0.0)

    @property
    def has_alcohol(self) -> bool:
        """Say whether any pure alcohol was collected that is known."""
        return self.shows_strength and self.pure_alcohol_l > 0.0

    @property
    def shows_strength(self) -> bool:
        """Say whether this is a run whose spirit has a strength."""
        return self.ground.run.stage not in SHOWS_NO_STRENGTH

    @property
    def charge(self) -> Content | None:
        """What was charged; without its strength in a run that shows none."""
        charge = self.ground.read.charge
        return charge if charge is None or self.shows_strength else replace(charge, strength=None)

    @property
    def share_base_l(self) -> float | None:
        """The pure alcohol of the charge, where it is known and there is some."""
        charge = self.charge
        return (charge.pure_alcohol_l or None) if charge else None

    @property
    def recovered(self) -> float | None:
        """What came over of the charge's alcohol."""
        if not self.has_alcohol:
            return None
        return share(self.pure_alcohol_l, self.share_base_l)

    @cached_property
    def powers(self) -> Sequence[Power]:
        """The power as marked."""
        marks = self.ground.read.marks
        return [
            Power(one.effective_at, one.power_kw, one.text)
            for one in marks
            if one.kind == "power" and one.power_kw is not None
        ]

    @cached_property
    def heating(self) -> Heating:
        """Everything that can tell the energy of the run."""
        ground, still = self.ground, self.ground.read.still
        return Heating(
            counter=ground.lines.measuring(ENERGY),
            power=ground.lines.measuring(POWER_KW),
            marked=self.powers,
            plate_kw=still.power_kw if still else None,
            on_at=self.when("heat_on"),
            off_at=self.when("heat_off") or self.when("end"),
        )

    @cached_property
    def energy(self) -> Used:
        """The energy of the run."""
        return self.heating.used(self.ground.run.effective_at, self.ground.until)

    @cached_property
    def water(self) -> Used:
        """The cooling water of the run."""
        condenser = self.ground.product_condenser
        return water_used(
            self.ground.lines.measuring(FLOW),
            condenser.flow_l_min if condenser else None,
            self.when("first_drop"),
            self.when("end") or self.ground.until,
        )

    def per_litre(self, used: Used) -> float | None:
        """Return what was used for each litre of pure alcohol."""
        if used.amount is None or not self.has_alcohol:
            return None
        return used.amount / self.pure_alcohol_l

    @cached_property
    def jumps(self) -> Sequence[Jump]:
        """Where temperatures jumped."""
        return jumps(self.ground.lines.temperatures)

    def is_usual(self, jump: Jump) -> bool:
        """Say whether a jump is one that every run has, at its beginning or its end."""
        stops = [at for at in (self.when("heat_off"), self.when("end")) if at is not None]
        return is_usual(jump, self.when("first_drop"), min(stops, default=None))

    def phase_at(self, at: datetime) -> PhaseKey | None:
        """Return the phase a moment lies in."""
        return next((one.key for one in self.phases if one.from_at <= at < one.to_at), None)

    @cached_property
    def silences(self) -> Sequence[Silence]:
        """Where nothing was read."""
        ground = self.ground
        return silences(ground.lines.temperatures, ground.run.effective_at, ground.until)

    @cached_property
    def clock_changes(self) -> Sequence[ClockChange]:
        """Where the local clock changed."""
        ground = self.ground
        return clock_changes(ground.run.effective_at, ground.until, ground.site.zone)

    @cached_property
    def events(self) -> Sequence[Event]:
        """What happened in the run besides temperatures, for what followed a jump."""
        read = self.ground.read
        found = [Event("alarm", one.came_at, f"Alarm: {one.name} at {one.where}.")
                 for one in self.ground.alarms]  # fmt: skip
        for one in read.marks:
            says = _mark_says(one.kind, one.power_kw, one.text)
            found.append(Event(_kind(one.kind), one.effective_at, says))
        found += [
            Event("jar", one.jar.effective_at, f"Jar {one.jar.number} was begun.")
            for one in read.jars
        ]
        return sorted(found, key=lambda one: one.at)


def _kind(mark: str) -> Next:
    return "power" if mark == "power" else "mark"


def _mark_says(kind: str, power_kw: float | None, text: str) -> str:
    after = f": {text}" if text else "."
    if kind == "power":
        set_to = f"Power set to {power_kw:g} kW" if power_kw is not None else "Power changed"
        return set_to + after
    return f"Marked: {kind.replace('_', ' ')}{after}"
