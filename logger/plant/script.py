"""Scripts: what the plant's crew is to do, one instruction a line, read before anything is done.

    # a strip run
    pour 240 L of 8.5 % vol at 20 C into still
    water on 6 L/min
    heat still with 14 kW
    collect into low wines
    wait until spout below 10 % vol at most 8 h
    heat off
    at 0d 01:30 fault coolant-stopped for 3 min

Lines follow one another; `wait` holds those below it back. A line that begins with `at DAYd HH:MM`
is done at that time after the start, whatever the others do. `again` goes back to the line after
`from here`, or to the first. `#` begins a remark.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from logger.errors import PlantError
from logger.plant.conversion import GRAINS
from logger.plant.parameters import PlantSize
from logger.plant.troubles import Case, Trouble

Value = float | str | Case | Trouble
Read = Callable[[str], Value]

COLDEST_C: Final = -20.0  # in a stillhouse, and of what is boiled in the open
HOTTEST_C: Final = 110.0
_SECONDS: Final = {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86_400.0}
_AT: Final = re.compile(r"at (?:(\d+)d )?(\d{1,2}):(\d\d)(?::(\d\d))? +(.*)")
_NUMBER: Final = r"\d+(?:\.\d+)?"
# What may stand for each <word> of a form: a pattern, to be judged by `_READ`.
_PATTERNS: Final = {
    "n": _NUMBER,
    "t": r"-?\d+(?:\.\d+)?",
    "duration": rf"{_NUMBER} (?:s|min|h|d)",
    "grain": r"[a-z ]+?",
    "tank": r".+?",
    "lot": r"[a-z0-9 ]+?",
    "place": r"[a-z0-9_. ]+?",
    "case": r".+?",
    "trouble": r"\S+",
    "stage": r"[a-z]+",
}
STAGES: Final = (
    "mash", "ferment", "strip", "spirit", "single", "botanical", "feints", "cleaning",
    "sacrificial", "proof", "age", "empty",
)  # fmt: skip

# Every instruction there is: the name the crew knows it by, and the form it is written in.
FORMS: Final = (
    ("pour_water", "pour <n> L at <t> C into <tank>"),
    ("pour_mixture", "pour <n> L of <n> % vol at <t> C into <tank>"),
    ("add_sugar", "add <n> kg sugar to <tank>"),
    ("add_grain", "add <n> kg <grain> to <tank>"),
    ("pitch", "pitch <n> g yeast into <tank>"),
    ("warm", "warm <tank> to <t> C with <n> kW"),
    ("stop_warming", "stop warming <tank>"),
    ("cool", "cool <tank> to <t> C"),
    ("stop_cooling", "stop cooling <tank>"),
    ("charge_lot", "charge still from lot <lot>"),
    ("charge_clear", "charge still from <tank> without grain"),
    ("charge_litres", "charge still from <tank> with <n> L"),
    ("charge_all", "charge still from <tank>"),
    ("move", "move <tank> to <tank>"),
    ("empty", "empty <tank>"),
    ("heat", "heat still with <n> kW"),
    ("heat_off", "heat off"),
    ("water_on", "water on <n> L/min"),
    ("water_off", "water off"),
    ("reflux_water", "reflux water <n> L/min"),
    ("collect", "collect into <lot>"),
    ("dilute", "water down <lot> to <n> % vol"),
    ("bottle", "bottle <lot>"),
    ("stage", "stage <tank> <stage>"),
    ("batch", "batch <lot>"),
    ("wait_hour", "wait until hour <n>"),
    ("wait_done", "wait until <tank> is done at most <duration>"),
    ("wait_spout", "wait until spout below <n> % vol at most <duration>"),
    ("wait_collected", "wait until collected above <n> L at most <duration>"),
    ("wait_above", "wait until <place> above <t> C at most <duration>"),
    ("wait_below", "wait until <place> below <t> C at most <duration>"),
    ("wait", "wait <duration>"),
    ("fault_for", "fault <case> for <duration>"),
    ("fault", "fault <case>"),
    ("mend", "mend <trouble>"),
    ("from_here", "from here"),
    ("again", "again"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Instruction:
    """One line, understood."""

    line: int
    name: str
    values: tuple[Value, ...] = ()
    at_s: float | None = None  # after the start; None: in its turn


@dataclass(frozen=True, slots=True)
class Script:
    """What is to be done in turn, and what at its time."""

    in_turn: tuple[Instruction, ...]
    timed: tuple[Instruction, ...]  # in order of time


def read(text: str, size: PlantSize | None = None) -> Script:
    """Read a script for a plant; PlantError names the line that cannot be done."""
    reader = _Reader(size or PlantSize())
    found = [
        reader.instruction(number, words)
        for number, line in enumerate(text.splitlines(), start=1)
        if (words := " ".join(line.partition("#")[0].split()))
    ]
    timed = sorted((one for one in found if one.at_s is not None), key=_time)
    return Script(tuple(one for one in found if one.at_s is None), tuple(timed))


def _time(instruction: Instruction) -> float:
    return instruction.at_s or 0.0


class _Reader:
    def __init__(self, size: PlantSize) -> None:
        self._places = size.places
        self._tanks = tuple(size.tanks)
        self._read: dict[str, Read] = {
            "n": float,
            "t": _temperature,
            "duration": seconds,
            "grain": self._grain,
            "tank": self._tank,
            "lot": str,
            "place": self._place,
            "case": lambda words: Case.read(words, self._places),
            "trouble": Trouble.named,
            "stage": self._stage,
        }

    def instruction(self, line: int, words: str) -> Instruction:
        """Read one line that is not empty."""
        try:
            return self._instruction(line, words)
        except PlantError as error:
            raise PlantError(f"Line {line}: {error}") from None

    def _instruction(self, line: int, words: str) -> Instruction:
        at_s = None
        if timed := _AT.fullmatch(words):
            days, hours, minutes, secs = (int(part or 0) for part in timed.groups()[:4])
            at_s = ((days * 24 + hours) * 60 + minutes) * 60.0 + secs
            words = timed[5]
        for name, form in FORMS:
            if match := _pattern(form).fullmatch(words):
                kinds = re.findall(r"<(\w+)>", form)
                values = tuple(
                    self._read[kind](part) for kind, part in zip(kinds, match.groups(), strict=True)
                )
                if at_s is not None and name.startswith(("wait", "again", "from")):
                    raise PlantError(f'"{words}" has no time of its own: write it without "at".')
                return Instruction(line, name, values, at_s)
        raise _not_understood(words)

    def _grain(self, name: str) -> str:
        if name not in GRAINS:
            raise PlantError(
                f'there is no "{name}" in store; there are {", ".join(GRAINS)}, sugar.'
            )
        return name

    def _tank(self, name: str) -> str:
        if name not in (*self._tanks, "still"):
            known = ", ".join((*self._tanks, "still"))
            raise PlantError(f'there is no vessel "{name}"; there are {known}.')
        return name

    def _place(self, name: str) -> str:
        if name not in self._places:
            raise PlantError(f'there is no place "{name}"; there are {", ".join(self._places)}.')
        return name

    def _stage(self, name: str) -> str:
        if name not in STAGES:
            raise PlantError(f'"{name}" is no stage; there are {", ".join(STAGES)}.')
        return name


def _temperature(words: str) -> float:
    if not COLDEST_C <= float(words) <= HOTTEST_C:
        raise PlantError(f"{words} C cannot be; give from {COLDEST_C:g} to {HOTTEST_C:g} C.")
    return float(words)


def seconds(words: str) -> float:
    """Read a duration: "20 min", "3 d"."""
    number, unit = words.split()
    return float(number) * _SECONDS[unit]


_MADE: Final[dict[str, re.Pattern[str]]] = {}


def _pattern(form: str) -> re.Pattern[str]:
    if form not in _MADE:
        parts = re.split(r"<(\w+)>", form)
        parts[::2] = [re.escape(part) for part in parts[::2]]
        parts[1::2] = [f"({_PATTERNS[part]})" for part in parts[1::2]]
        _MADE[form] = re.compile("".join(parts))
    return _MADE[form]


def _not_understood(words: str) -> PlantError:
    first = words.split(maxsplit=1)[0]
    near = [form for _, form in FORMS if form.split(maxsplit=1)[0] == first]
    if near:
        return PlantError(f'"{words}" is not understood; write {" or ".join(near)}.')
    known = dict.fromkeys(form.split(maxsplit=1)[0] for _, form in FORMS)
    return PlantError(
        f'"{first}" is no instruction; a line begins with at or one of {", ".join(known)}.'
    )
