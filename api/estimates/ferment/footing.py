"""What a ferment's estimates rest on, and what a person could do to narrow them."""

from collections.abc import Iterator, Mapping
from itertools import pairwise

from api.estimates.ferment import words
from api.estimates.ferment.course import Course
from api.estimates.ferment.spells import SPELL_H
from api.estimates.ferment.telling import Footing
from api.estimates.ground import FermentGround, ProbeGround


def footing(course: Course, probes: Mapping[str, ProbeGround]) -> Footing:
    """Say what there is to stand on."""
    ground = course.ground
    return Footing(
        rests_on=tuple(_rests_on(course)),
        narrows=tuple(_narrows(course, probes)),
        contradictions=tuple(_contradictions(course)),
        no_volume=not ground.volume_l and not ground.vessel_volume_l,
        no_gravity=ground.original_sg is None and not ground.gravities,
        is_read=bool(ground.gravities),
    )


def _contradictions(course: Course) -> Iterator[str]:
    if course.heat_before:
        yield words.HEAT_BEFORE
    yield from _of_gravities(course)


def _of_gravities(course: Course) -> Iterator[str]:
    ground = course.ground
    for before, after in _rises(ground):
        yield words.ROSE.format(before=before, after=after)
    for reading in ground.gravities:
        if found := course.contradictions.get(reading.slot):
            expected = words.LOWER if found.off < 0 else words.HIGHER
            yield words.CONTRADICTS.format(sg=reading.sg.value, expected=expected)


def _rises(ground: FermentGround) -> Iterator[tuple[float, float]]:
    first = () if ground.original_sg is None else (ground.original_sg,)
    read = (*first, *(one.sg for one in ground.gravities))
    for before, after in pairwise(read):
        if after.value - before.value > 3.0 * (before.error**2 + after.error**2) ** 0.5:
            yield before.value, after.value


def _rests_on(course: Course) -> Iterator[str]:
    ground = course.ground
    yield words.FROM_WARMTH
    if not course.room_known:
        yield words.NO_ROOM
    yield words.LOSS_DECLARED if ground.loss_w_per_k else words.LOSS_GUESSED
    if ground.original_sg is None:
        yield words.ORIGINAL_GUESSED
    if count := len(ground.gravities):
        yield words.ONE_GRAVITY if count == 1 else words.GRAVITIES.format(count=count)
    if not ground.volume_l:
        yield words.VOLUME_GUESSED
    yield from _yeast(course)
    if ground.on_grain:
        yield words.SOLIDS
    if course.heat_counts:
        yield words.HEAT_COUNTS
    if course.held_h > 0.0:
        yield words.HELD
    if course.jumped_h is not None:
        yield words.JUMPED.format(days=course.jumped_h / 24.0)
    if (age_h := course.reading_age_h) > 2.0 * SPELL_H:
        yield words.AGED.format(hours=age_h)


def _yeast(course: Course) -> Iterator[str]:
    ground = course.ground
    if ground.pitched_slot is None and not course.heat_counts:
        yield words.PITCH_UNKNOWN
    if ground.yeast and ground.yeast_max_c:
        yield words.YEAST.format(yeast=ground.yeast, most_c=ground.yeast_max_c)


def _narrows(course: Course, probes: Mapping[str, ProbeGround]) -> Iterator[str]:
    ground = course.ground
    if any(True for _ in _of_gravities(course)):
        yield words.READ_AGAIN
    else:
        yield words.READ_GRAVITY
    if ground.original_sg is None:
        yield words.ENTER_ORIGINAL
    if not ground.volume_l:
        yield words.ENTER_VOLUME
    if course.heat_before:
        yield words.CORRECT_PITCH
    elif ground.pitched_slot is None:
        yield words.ENTER_PITCH
    if not course.room_known:
        yield words.HANG_ROOM_PROBE
    elif not all(probes.get(place, ProbeGround()).calibrated for place in ("ferment", "room")):
        yield words.CALIBRATE
    if ground.loss_w_per_k is None:
        yield words.DECLARE_LOSS
