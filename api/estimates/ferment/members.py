"""The ensemble: a few hundred ferments that might be this one, each a column of numbers.

State of a member: how warm wash, probe and room are; how much of each part has fermented; how
ready the yeast is; how far it strays from its course. Beside it what does not change but is not
known: what the vessel loses, what the wash takes up, what each probe is wrong by, the constants
of the course (`calc.ferment_pace`), the gravities it runs between and the heat of that fall.

Noise: the straying wanders (0.3 of the pace, forgotten over two days), the loss by some per cent
in a day, the wash by hundredths of a kelvin in an hour, and a room that nobody measures by
kelvins. All of it comes from one generator with a fixed seed, so that the same readings give the
same estimates.
"""

from dataclasses import dataclass
from enum import IntEnum
from typing import Final

import numpy as np
from numpy.random import Generator

from calc.ferment_balance import heat_of_alcohol, heat_rate
from calc.ferment_pace import Pace, rates, readiness, warmth
from calc.quantities import FloatArray

MEMBERS: Final = 300
STRAY: Final = 0.3
STRAY_H: Final = 48.0
STAYS: Final = -0.6
STOPPED: Final = -0.99  # of the pace: what is as good as nothing left of it
LOSS_PER_SQRT_H: Final = 0.006
WASH_K_PER_SQRT_H: Final = 0.012
ROOM_K: Final = 2.5  # a room that nobody measures goes up and down by so much
ROOM_H: Final = 8.0
LONGEST_STEP_H: Final = 4.0
LATE_RANGE: Final = (0.002, 0.8)  # that shares which come late are kept in
MAIN_OVER: Final = 0.98  # share from which on what is left of the main part is none to speak of
LEAST_DONE: Final = 0.05
MOST_FALL: Final = 1.3
KJ_L_OF_ABV: Final = heat_of_alcohol(1.0)


class Row(IntEnum):
    """The rows of the ensemble."""

    WASH = 0
    PROBE = 1
    ROOM = 2
    MAIN = 3  # share of the main part that has fermented
    LATE = 4
    READY = 5  # logit
    STRAY = 6  # the pace is 1 + this of the course
    LOSS = 7  # ln of W/K
    VOLUME = 8  # ln of litres
    CAPACITY = 9  # kJ/K of a litre, ln
    OFFSET = 10  # what the wash's probe shows too much, K
    ROOM_OFFSET = 11
    FASTEST = 12  # ln of 1/h
    GROWTH = 13  # ln of 1/h
    WANTS = 14  # ln
    SLOWED = 15  # logit
    PER_KELVIN = 16
    LATE_SHARE = 17  # logit
    LATE_PACE = 18  # ln of 1/h
    LAG = 19  # of the probe, ln of hours
    ORIGINAL = 20  # gravity
    FALL = 21  # of gravity, if all that can ferment does
    HEAT = 22  # that is kept, of what goes with the alcohol, ln
    ALCOHOL = 23  # % vol for a fall of 0.001, ln
    ROOM_MEAN = 24  # about which an unmeasured room swings
    TOO_HOT = 25  # for the yeast, C


Members = FloatArray  # rows by members


def pace_of(members: Members) -> Pace:
    """Give the constants of each member's course."""
    return Pace(
        fastest_per_h=np.exp(members[Row.FASTEST]),
        wants=np.exp(members[Row.WANTS]),
        slowed=readiness(members[Row.SLOWED]),
        per_kelvin=members[Row.PER_KELVIN],
        late_share=readiness(members[Row.LATE_SHARE]),
        late_per_h=np.exp(members[Row.LATE_PACE]),
        too_hot_c=members[Row.TOO_HOT],
    )


def done(members: Members) -> FloatArray:
    """Give the share of the expected fall that each has behind it."""
    late = readiness(members[Row.LATE_SHARE])
    return np.asarray((1.0 - late) * members[Row.MAIN] + late * members[Row.LATE])


def gravity(members: Members) -> FloatArray:
    """Give each member's gravity."""
    return np.asarray(members[Row.ORIGINAL] - members[Row.FALL] * done(members))


def put_gravity(members: Members, wanted: FloatArray) -> None:
    """Put every member at a gravity: by what has fermented first, then by its whole fall.

    What small moves along straight lines cannot do, as a gravity is a product of unknowns.
    """
    late = readiness(members[Row.LATE_SHARE])
    part = (members[Row.ORIGINAL] - wanted) / members[Row.FALL]
    main, later = members[Row.MAIN], members[Row.LATE]
    goes_on = main < MAIN_OVER
    moved = np.clip((part - late * later) / (1.0 - late), 0.0, 1.0)
    moved_later = np.clip((part - (1.0 - late) * main) / late, 0.0, 1.0)
    members[Row.MAIN] = np.where(goes_on, moved, main)
    members[Row.LATE] = np.where(goes_on, later, moved_later)
    share, fall = done(members), members[Row.FALL]
    begun = share > LEAST_DONE  # before that a gravity tells what it began at
    members[Row.ORIGINAL] = np.where(begun, members[Row.ORIGINAL], wanted + fall * share)
    by_fall = (members[Row.ORIGINAL] - wanted) / np.maximum(share, LEAST_DONE)
    within = np.clip(by_fall, fall / MOST_FALL, fall * MOST_FALL)
    members[Row.FALL] = np.where(begun, within, fall)


@dataclass(frozen=True, slots=True)
class Constants:
    """What stays of each member while it goes on without chance, worked out once."""

    pace: Pace
    heat_kj: FloatArray  # of the whole fall
    capacity_kj_k: FloatArray
    loss_w_k: FloatArray
    growth_per_h: FloatArray
    lag_h: FloatArray

    @classmethod
    def of(cls, members: Members) -> "Constants":
        """Work them out."""
        return cls(
            pace=pace_of(members),
            heat_kj=fall_heat_kj(members),
            capacity_kj_k=capacity_kj_k(members),
            loss_w_k=np.exp(members[Row.LOSS]),
            growth_per_h=np.exp(members[Row.GROWTH]),
            lag_h=np.exp(members[Row.LAG]),
        )


def _rates(members: Members, pace: Pace, warm: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Give how fast each member's parts go, with its straying, in 1/h."""
    ready = readiness(members[Row.READY])
    main, late = rates(pace, ready, members[Row.MAIN], members[Row.LATE], warm)
    stray = np.maximum(1.0 + members[Row.STRAY], 0.0)
    return main * stray, late * stray


def share_per_h(members: Members) -> FloatArray:
    """Give the share of the expected fall that goes in an hour now."""
    pace = pace_of(members)
    main, late = _rates(members, pace, warmth(pace.per_kelvin, members[Row.WASH], pace.too_hot_c))
    return np.asarray((1.0 - pace.late_share) * main + pace.late_share * late)


def fall_heat_kj(members: Members) -> FloatArray:
    """Give the heat of each member's whole fall."""
    kept_l = np.exp(members[Row.HEAT] + members[Row.VOLUME])
    return np.asarray(kept_l * KJ_L_OF_ABV * full_abv(members))


def full_abv(members: Members) -> FloatArray:
    """Give the strength each comes to if all that can ferment does."""
    return np.asarray(1000.0 * np.exp(members[Row.ALCOHOL]) * members[Row.FALL])


def capacity_kj_k(members: Members) -> FloatArray:
    """Give what each member's wash and vessel take up in a kelvin."""
    return np.asarray(np.exp(members[Row.CAPACITY] + members[Row.VOLUME]))


def heat_w(members: Members) -> FloatArray:
    """Give the heat each member gives now."""
    return fall_heat_kj(members) * share_per_h(members) / 3.6


def heat_seen_w(members: Members, slope_k_h: FloatArray, shown_above_k: FloatArray) -> FloatArray:
    """Give the heat that a slope means, and a difference as the probes show it, to each member."""
    above = shown_above_k - (members[Row.OFFSET] - members[Row.ROOM_OFFSET])
    return heat_rate(slope_k_h, above, capacity_kj_k(members), np.exp(members[Row.LOSS]))


def step(
    members: Members,
    hours: float,
    *,
    room_known: bool,
    chance: Generator | None,
    stopped: bool = False,
    longest_h: float = LONGEST_STEP_H,
    constants: Constants | None = None,
) -> FloatArray:
    """Take every member on, and give the heat it had; without chance, as one foresees it."""
    heat = np.zeros(members.shape[1])
    while hours > 1e-9:
        part = min(hours, longest_h)
        heat = _step(members, part, constants or Constants.of(members))
        if chance is not None:
            straying = 0.0 if stopped else STRAY
            _stray(members, part, chance, straying, room_known=room_known)
        hours -= part
    return heat


def _step(members: Members, hours: float, stays: Constants) -> FloatArray:
    pace = stays.pace
    warm = warmth(pace.per_kelvin, members[Row.WASH], pace.too_hot_c)
    main, late = _rates(members, pace, warm)
    share = (1.0 - pace.late_share) * main + pace.late_share * late
    heat = stays.heat_kj * share / 3.6
    _warm(members, hours, heat, stays)
    members[Row.MAIN] = np.minimum(members[Row.MAIN] + main * hours, 1.0)
    members[Row.LATE] = np.minimum(members[Row.LATE] + late * hours, 1.0)
    grown = members[Row.READY] + stays.growth_per_h * warm * hours
    members[Row.READY] = np.minimum(grown, 8.0)
    return np.asarray(heat)


def _warm(members: Members, hours: float, heat: FloatArray, stays: Constants) -> None:
    """Let wash and probe follow the heat and the room, exactly for a heat that stays."""
    loss = stays.loss_w_k
    rests_at = members[Row.ROOM] + heat / loss
    keep = np.exp(-hours * 3.6 * loss / stays.capacity_kj_k)
    members[Row.WASH] = rests_at + (members[Row.WASH] - rests_at) * keep
    follow = np.exp(-hours / stays.lag_h)
    members[Row.PROBE] = members[Row.WASH] + (members[Row.PROBE] - members[Row.WASH]) * follow


def _stray(
    members: Members, hours: float, chance: Generator, straying: float, *, room_known: bool
) -> None:
    noise = chance.standard_normal((4, members.shape[1]))
    noise -= noise.mean(axis=1, keepdims=True)
    root = np.sqrt(hours)
    stray = members[Row.STRAY]
    stays = stray < STAYS  # what has stopped does not begin again by itself
    keep = np.where(stays, 1.0, np.exp(-hours / STRAY_H))
    members[Row.STRAY] = stray * keep + straying * np.sqrt(2.0 * hours / STRAY_H) * noise[0]
    members[Row.LOSS] += LOSS_PER_SQRT_H * root * noise[1]
    members[Row.WASH] += WASH_K_PER_SQRT_H * root * noise[2]
    if not room_known:
        keep_room = np.exp(-hours / ROOM_H)
        mean = members[Row.ROOM_MEAN]
        wander = ROOM_K * np.sqrt(1.0 - keep_room**2) * noise[3]
        members[Row.ROOM] = mean + (members[Row.ROOM] - mean) * keep_room + wander
