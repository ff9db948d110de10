"""Jars and marks as they were noted at the time: what each line says, checked by itself."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from itertools import count
from typing import Any, Final, get_args

from api.imports.sheets import TIME, ImportFileError, Line, moment, read_sheet
from api.record.entering import TEXT_LENGTH
from api.record.words import MOST_NUMBER, Cut, InstrumentName, MarkKind
from calc.errors import WormtubError
from calc.quantities import ABV, POWER, SPIRIT_TEMPERATURE, VOLUME
from logger.store.gauging import INSTRUMENTS, USUAL, check_distilled, strength_of
from logger.store.jar_rules import check_came_from
from logger.store.record_tables import Jar
from logger.store.tables import Vessel

JARS: Final = "The jars"
MARKS: Final = "The marks"
JAR_COLUMNS: Final = (TIME, "volume_l")
MARK_COLUMNS: Final = (TIME, "mark")
MOST: Final = 1000
FROM: Final = "from_time"
SMELLS: Final = ";"  # between words of a smell
LONGEST_WORD: Final = 60
MOST_WORDS: Final = 20


@dataclass(frozen=True, slots=True)
class JarNote:
    """A jar: when it was full, when it began where that was noted, and its columns."""

    where: str
    number: int
    began_at: datetime
    ended_at: datetime
    columns: dict[str, Any]


@dataclass(frozen=True, slots=True)
class MarkNote:
    """A mark and its columns."""

    where: str
    kind: str
    at: datetime
    columns: dict[str, Any]


def read_marks(text: str, local: tzinfo) -> Sequence[MarkNote]:
    """Read marks: time, mark, and where there are power_kw, text and smell."""
    sheet = read_sheet(MARKS, text, MARK_COLUMNS, local, most_lines=MOST)
    _check_columns(sheet.columns, (*MARK_COLUMNS, "power_kw", "text", "smell"), MARKS)
    made: list[MarkNote] = []
    for line in sheet.lines:
        one = _mark(line)
        if any((one.kind, one.at, one.columns) == (b.kind, b.at, b.columns) for b in made):
            raise ImportFileError(f"{line.where}: the same mark stands above; take one out.")
        made.append(one)
    return made


def _mark(line: Line) -> MarkNote:
    kind = line.one_of("mark", get_args(MarkKind))
    if kind is None:
        raise ImportFileError(
            f"{line.where}: the cell mark is empty; say what it was, such as first_drop or note."
        )
    power_kw = line.number_in("power_kw", 0.0, POWER.high)
    if kind == "power" and power_kw is None:
        raise ImportFileError(f"{line.where}: a mark of power needs power_kw; give the heat in kW.")
    if kind != "power" and power_kw is not None:
        raise ImportFileError(
            f"{line.where}: {kind} takes no power_kw; leave the cell empty, or make it a mark of "
            "power."
        )
    return MarkNote(line.where, kind, line.at, {"power_kw": power_kw, **_texts(line)})


def read_jars(
    text: str,
    local: tzinfo,
    first_drop_at: datetime | None,
    empties: Mapping[int, float | None],
    still: Vessel,
    *,
    shows_strength: bool,
) -> Sequence[JarNote]:
    """Read jars: when each was full, and what was in it.

    A jar begins where the one before was full, the first at the first drop, unless from_time says
    when. One without a number gets the next that none of the house's own jars has today
    (`empties`: what each of those holds). None holds more than the still that filled it.
    """
    sheet = read_sheet(JARS, text, JAR_COLUMNS, local, most_lines=MOST)
    known = ("reading_abv", "temperature_c", "instrument", "number", "cut", "text", "smell", FROM)
    _check_columns(sheet.columns, (*JAR_COLUMNS, *known), JARS)
    made: list[JarNote] = []
    before_at = first_drop_at
    for line in sheet.lines:
        taken = {*empties, *(other.number for other in made)}
        free = next(number for number in count(1) if number not in taken)
        one = _jar(line, free, before_at, local)
        _check_holds(line, one, empties.get(one.number))
        _check_from(line, one, still)
        if not shows_strength and one.columns["reading_abv"] is not None:
            raise ImportFileError(
                f"{line.where}: of a cleaning run no strength is kept; leave reading_abv empty."
            )
        if made and one.began_at < made[-1].ended_at:
            raise ImportFileError(
                f"{line.where}: the jar begins before the one above was full; give them in order."
            )
        if any(one.number == other.number for other in made):
            raise ImportFileError(
                f"{line.where}: two jars have the number {one.number}; give each its own."
            )
        made.append(one)
        before_at = one.ended_at
    return made


def _check_holds(line: Line, one: JarNote, holds_l: float | None) -> None:
    if holds_l is not None and one.columns["volume_l"] > holds_l:
        raise ImportFileError(
            f"{line.where}: {one.columns['volume_l']:g} L do not fit in jar {one.number}, which "
            f"holds {holds_l:g} L; correct the volume, or leave the number out."
        )


def _check_from(line: Line, one: JarNote, still: Vessel) -> None:
    try:
        check_came_from(still, one.number, one.columns["volume_l"])
    except WormtubError as error:
        raise ImportFileError(f"{line.where}: {error}") from None


def _jar(line: Line, free: int, before_at: datetime | None, local: tzinfo) -> JarNote:
    began_at = _began(line, before_at, local)
    if line.at <= began_at:
        raise ImportFileError(
            f"{line.where}: the jar would be full at {line.at:%H:%M:%S} UTC, not after it began; "
            "the time is when it was full."
        )
    number = line.number_in("number", 1, MOST_NUMBER)
    if number is not None and number != int(number):
        raise ImportFileError(f"{line.where}: number is {number:g}; give a whole number.")
    return JarNote(
        line.where,
        free if number is None else int(number),
        began_at,
        line.at,
        {"cut": line.one_of("cut", get_args(Cut)), **_gauged(line), **_texts(line)},
    )


def _began(line: Line, before_at: datetime | None, local: tzinfo) -> datetime:
    if written := line.text(FROM):
        return moment(line.where, written, local)
    if before_at is None:
        raise ImportFileError(
            f"{line.where}: when the first jar began is not known; give a mark first_drop, or a "
            f"column {FROM}."
        )
    return before_at


def _gauged(line: Line) -> dict[str, Any]:
    """Read what was in a jar, and see that an instrument can have said so."""
    said: dict[str, Any] = {
        "volume_l": line.number_in("volume_l", 0.0, VOLUME.high),
        "reading_abv": line.number_in("reading_abv", ABV.low, ABV.high),
        "temperature_c": line.number_in(
            "temperature_c", SPIRIT_TEMPERATURE.low, SPIRIT_TEMPERATURE.high
        ),
    }
    if said["volume_l"] is None or said["volume_l"] <= 0.0:
        raise ImportFileError(f"{line.where}: the jar has no volume_l; give what was in it, in L.")
    instrument = line.one_of("instrument", get_args(InstrumentName))
    read = said["reading_abv"] is not None
    said |= {"instrument": (instrument or USUAL) if read else None}
    assert USUAL in INSTRUMENTS  # noqa: S101 - said in one place, meant in another
    try:
        check_distilled(strength_of(Jar(**said)))
    except WormtubError as error:
        raise ImportFileError(f"{line.where}: {error}") from None
    return said


def _texts(line: Line) -> dict[str, Any]:
    text, smells = line.text("text"), line.text("smell")
    words = [one.strip() for one in smells.split(SMELLS) if one.strip()]
    if len(text) > TEXT_LENGTH or any(ord(one) < 32 and one not in "\t\n\r" for one in text):
        raise ImportFileError(
            f"{line.where}: the text is longer than {TEXT_LENGTH} characters, or has signs in it "
            "that do not print; shorten it."
        )
    if len(words) > MOST_WORDS or any(
        len(one) > LONGEST_WORD or any(ord(sign) < 32 for sign in one) for one in words
    ):
        raise ImportFileError(
            f"{line.where}: a smell is up to {MOST_WORDS} words of up to {LONGEST_WORD} "
            f'characters, "{SMELLS}" between them.'
        )
    return {"text": text, "smell": json.dumps(words)}


def _check_columns(written: Sequence[str], known: Sequence[str], name: str) -> None:
    strange = next((one for one in written if one not in known), None)
    if strange is not None:
        raise ImportFileError(
            f'{name}, line 1: "{strange[:40]}" is no column here; there are {", ".join(known)}.'
        )
