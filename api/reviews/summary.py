"""A run in plain sentences, each made from facts that are there. Pure."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from api.reviews.alarms_told import count_by_priority
from api.reviews.collecting import Amounts
from api.reviews.figures import Figures
from api.reviews.jumps import what_next
from api.reviews.phases import Phase
from api.reviews.words import PHASES, PURPOSES, place_name
from logger.degrees import Degrees

TIMES: Final = {1: "once", 2: "twice"}
COUNTED: Final = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine")


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence, and what it is about."""

    about: str
    text: str


def summary(figures: Figures) -> list[Sentence]:
    """Tell a run."""
    return list(_Telling(figures).sentences())


@dataclass(frozen=True, slots=True)
class _Telling:
    figures: Figures

    @property
    def degrees(self) -> Degrees:
        return Degrees(self.figures.ground.site.unit)

    def sentences(self) -> Iterator[Sentence]:
        yield from self.run()
        yield from self.charge()
        yield from self.beginning()
        yield from self.cuts()
        yield from self.whole()
        yield from self.alarms()
        yield from self.jumps()
        yield from self.silences()
        yield from self.used()

    def run(self) -> Iterator[Sentence]:
        ground = self.figures.ground
        run, still = ground.run, ground.read.still
        what = PURPOSES.get(run.stage, run.stage).capitalize()
        where = f" on {still.name}" if still else ""
        began = self.clock(run.effective_at, with_day=True)
        if run.ended_at is None:
            time = f"on since {began}, for {_span(run.effective_at, ground.until)} so far"
        else:
            other_day = self.day(run.effective_at) != self.day(run.ended_at)
            ended = self.clock(run.ended_at, with_day=other_day)
            time = f"{began} to {ended}, {_span(run.effective_at, run.ended_at)}"
        yield Sentence("run", f"{what} of {run.batch}{where}: {time}.")
        for one in self.figures.clock_changes:
            minutes = one.by.total_seconds() / 60.0
            way = "forward" if minutes > 0 else "back"
            yield Sentence(
                "run",
                f"The local clock was put {way} by {abs(minutes):.0f} min while it was on; all "
                "durations are true time.",
            )

    def charge(self) -> Iterator[Sentence]:
        charge = self.figures.charge
        if charge is None or charge.volume_l is None:
            return
        text = f"It was charged with {_litres(charge.volume_l)}"
        if charge.strength is not None and charge.pure_alcohol_l is not None:
            text += f" at {charge.strength.abv:.1f} % vol"
            text += f", which holds {_litres(charge.pure_alcohol_l)} of pure alcohol"
        yield Sentence("charge", f"{text}.")

    def beginning(self) -> Iterator[Sentence]:
        on, drop = self.figures.at.get("heat_on"), self.figures.at.get("first_drop")
        if drop is None:
            return
        since = ""
        if on is not None and on.at < drop.at:
            since = f", {_span(on.at, drop.at)} after the heat went on"
        text = f"The first drop fell at {self.clock(drop.at)}{since}"
        lines = self.figures.ground.lines
        read = []
        for place in ("pot", "head"):
            line = lines.of(place)
            value = line.at(drop.at.timestamp()) if line else None
            if value is not None:
                read.append(f"the {place} at {self.degrees.at(value, 1)}")
        yield Sentence("first_drop", text + (f", with {' and '.join(read)}." if read else "."))

    def cuts(self) -> Iterator[Sentence]:
        told = [self.phase(one) for one in self.figures.phases if _is_collecting(one)]
        if told:
            yield Sentence("cuts", f"{_listed(told)}.".replace(told[0][0], told[0][0].upper(), 1))

    def phase(self, one: Phase) -> str:
        text = f"{PHASES[one.key].lower()} from {self.clock(one.from_at)}"
        text += f" for {_span(one.from_at, one.to_at)}"
        return text if one.collected is None else f"{text} gave {_amounts(one.collected)}"

    def whole(self) -> Iterator[Sentence]:
        came, recovered = self.figures.totals, self.figures.recovered
        if self.figures.came_l <= 0.0:
            return
        text = f"In all {_litres(self.figures.came_l)} came over"
        if self.figures.has_alcohol:
            about = "about " if came.is_expected else ""
            text += f", with {about}{_litres(self.figures.pure_alcohol_l)} of pure alcohol"
        if recovered is not None:
            text += f": {100.0 * recovered:.0f} % of what was charged"
        yield Sentence("collected", f"{text}.")

    def alarms(self) -> Iterator[Sentence]:
        found = self.figures.ground.alarms
        if not self.figures.ground.is_watched:
            return  # a gap, and told as one
        if not found:
            yield Sentence("alarms", "No alarm came up.")
            return
        counts = count_by_priority(found)
        parts = [f"{count} {name}" for name, count in counts.items() if count]
        plural = "s" if len(found) > 1 else ""
        yield Sentence("alarms", f"{_count(len(found))} alarm{plural} came up: {_listed(parts)}.")

    def jumps(self) -> Iterator[Sentence]:
        found = [one for one in self.figures.jumps if not self.figures.is_usual(one)]
        if not found:
            return
        most = max(found, key=lambda one: abs(one.size_k))
        way = "rose" if most.size_k > 0 else "fell"
        after = [one for one in what_next(most, self.figures.events) if one.at >= most.from_at]
        then = f" Then: {after[0].says}" if after else " Nothing followed within ten minutes."
        times = TIMES.get(len(found), f"{_count(len(found)).lower()} times")
        yield Sentence(
            "jumps",
            f"Temperatures jumped {times} while it ran; most of all the "
            f"{place_name(most.place)}, which {way} by {self.degrees.apart(abs(most.size_k), 1)} "
            f"from {self.clock(most.from_at)}.{then}",
        )

    def silences(self) -> Iterator[Sentence]:
        for one in self.figures.silences:
            if one.place is None:
                text = f"Nothing was read for {_span(one.from_at, one.to_at)}"
                yield Sentence("silence", f"{text} from {self.clock(one.from_at)}.")

    def used(self) -> Iterator[Sentence]:
        for about, used, unit in (
            ("energy", self.figures.energy, "kWh"),
            ("water", self.figures.water, "L of cooling water"),
        ):
            if used.amount is None:
                continue
            text = f"It used {used.amount:.1f} {unit}"
            each = self.figures.per_litre(used)
            if each is not None:
                text += f", {each:.2f} {unit.split()[0]} for each litre of pure alcohol"
            yield Sentence(about, f"{text}. {used.says}")

    def clock(self, at: datetime, *, with_day: bool = False) -> str:
        local = at.astimezone(self.figures.ground.site.zone)
        hour = f"{local:%H:%M}"
        return f"{local.day} {local:%B %Y}, {hour}" if with_day else hour

    def day(self, at: datetime) -> object:
        return at.astimezone(self.figures.ground.site.zone).date()


def _is_collecting(one: Phase) -> bool:
    return one.key not in {"heat_up", "cooling"}


def _amounts(one: Amounts) -> str:
    about = "about " if one.is_expected else ""
    strength = "" if one.abv is None else f" at {about}{one.abv:.1f} % vol"
    return f"{_litres(one.volume_l)}{strength}"


def _litres(volume_l: float) -> str:
    return f"{volume_l:.2f} L" if volume_l < 10.0 else f"{volume_l:.1f} L"


def _span(from_at: datetime, to_at: datetime) -> str:
    minutes = round((to_at - from_at).total_seconds() / 60.0)
    hours, rest = divmod(minutes, 60)
    if hours == 0:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def _listed(parts: list[str]) -> str:
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} and {parts[-1]}"


def _count(number: int) -> str:
    return COUNTED[number] if number < len(COUNTED) else str(number)
