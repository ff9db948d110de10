"""A ferment's course: the ensemble taken through its spells, gravities and gaps, up to now."""

from collections.abc import Mapping
from copy import copy
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.random import Generator, default_rng

from api.estimates.ferment.cooling import AHEAD, BEHIND, Hand, Hold
from api.estimates.ferment.members import (
    LATE_RANGE,
    MEMBERS,
    STOPPED,
    Members,
    Row,
    capacity_kj_k,
    done,
    gravity,
    heat_w,
    put_gravity,
    step,
)
from api.estimates.ferment.prior import drawn
from api.estimates.ferment.spells import SPELL_H, Spell
from api.estimates.ferment.standstill import Standstill
from api.estimates.ferment.update import Surprise, update
from api.estimates.ground import FermentGround, GravityReading, ProbeGround
from api.estimates.parts import Parts
from calc.quantities import FloatArray

SEED: Final = 8
WASH_ERROR_K: Final = 0.03  # of a spell's mean: steps of the probe, currents in the wash
ROOM_C, ROOM_ERROR_K = 18.0, 5.0  # where nobody measures it
SG_ERROR: Final = 0.0004  # of the model
RISE_ERRORS: Final = 3.0
CONTRADICTS: Final = 3.5
ASTRAY: Final = 1.0  # mean surprise over an hour, in standard errors
ASTRAY_OVER: Final = 6
COLDER: Final = 0.7
SHAKEN: Final = 0.25
SHORTAGE_SHARE: Final = 0.15  # of the loss: what holding it still may leave unexplained
JUMP_H: Final = 14 * 24.0  # a longer gap is the clock's, not the ferment's
NOT_PITCHED: Final = -30.0
TAIL_WIDER: Final = 0.5  # how much is left, and how fast it comes, where a tail begins unforeseen


@dataclass(slots=True)
class History:
    """What the course came by, a row a spell: for peak and chart."""

    index: list[int] = field(default_factory=list)
    wash_c: list[float] = field(default_factory=list)  # NaN: none
    room_c: list[float] = field(default_factory=list)
    free: list[bool] = field(default_factory=list)
    heat_w: list[FloatArray] = field(default_factory=list)


class Course:
    """Where the ensemble stands: its front an hour behind the newest spell, its edge at it."""

    def __init__(self, ground: FermentGround, probes: Mapping[str, ProbeGround]) -> None:
        self.ground = ground
        self.chance: Generator = default_rng(SEED)
        self.members: Members = drawn(ground, probes, self.chance)
        self.history = History()
        self.contradictions: dict[int, Surprise] = {}  # by a gravity's slot
        self.jumped_h: float | None = None
        self.held_h = 0.0
        self.waiting: list[Spell] = []
        self._past: list[float] = []
        self.hold = Hold()
        self._surprises: list[float] = []
        self._colder = False
        self._began = False
        self._room_known = False
        self._last_index: int | None = None
        self._read_index: int | None = None
        self.first_read_slot: int | None = None
        self._next_gravity = 0
        self._heat_w = np.zeros(MEMBERS)
        self._ready = self.members[Row.READY].copy()
        self._pitched = ground.pitched_slot is None
        self.heat_before = False  # it made heat before the yeast was written down
        self.heat_counts = False  # and that is taken as its own
        self.stopped = False
        self.evidence = 0.0
        self.standstill = Standstill()

    @property
    def newest(self) -> Spell | None:
        """Give the newest spell there was."""
        return self.waiting[-1] if self.waiting else None

    @property
    def pitched(self) -> bool:
        """Tell whether the yeast was in, as of the newest spell that was judged."""
        return self._pitched

    @property
    def since_pitched_h(self) -> float:
        """Give for how long it has been in, as of the newest spell that was judged."""
        pitched = self.ground.pitched_slot
        if pitched is None or self._last_index is None:
            return 0.0
        return (self._last_index + 1) * SPELL_H - pitched / 3600.0

    @property
    def room_known(self) -> bool:
        """Tell whether the room is measured, as of the newest spell that was judged."""
        return self._room_known

    @property
    def began(self) -> bool:
        """Tell whether the wash has been measured at all."""
        return self._began or any(one.wash_c is not None for one in self.waiting)

    @property
    def reading_age_h(self) -> float:
        """Give how old the newest good reading of the wash is."""
        newest = self.newest
        if newest is None or self._read_index is None:
            return 0.0
        return (newest.index - self._read_index) * SPELL_H

    def take(self, spell: Spell) -> None:
        """Take a spell; the one an hour before it is judged and used."""
        if self.waiting and spell.index <= self.waiting[-1].index:
            return
        self.waiting.append(spell)
        if spell.wash_c is not None:
            self._read_index = spell.index
            if self.first_read_slot is None:
                self.first_read_slot = spell.end_slot
        while len(self.waiting) > AHEAD:
            self._use(self.waiting.pop(0))

    def taking_to_edge(self) -> Parts[Members]:
        """Take the ensemble to the newest spell: from the front on, without its last hour.

        Of its members as many go another way as it is likely that the ferment does.
        """
        yield from self.standstill.parting()
        parts, left = [], MEMBERS
        for share, other in self.standstill.shares(self):
            some = min(round(share * MEMBERS), left)
            left -= some
            if some:
                parts.append(other.carried_on(self)[:, :some])
                yield
        going = self.carried_on(self)
        return np.concatenate((*parts, going[:, MEMBERS - left :]), axis=1)

    def carried_on(self, whole: "Course") -> Members:
        """Give its ensemble taken on through what the whole course has not judged yet."""
        other = self.copy(SEED + 1)
        for spell in whole.waiting:
            other.go_to(spell)
        self.contradictions = other.contradictions
        return other.members

    def copy(self, seed: int) -> "Course":
        """Give another that stands where this one does, with chance of its own."""
        other = copy(self)
        other.members = self.members.copy()
        other.contradictions = dict(self.contradictions)
        other.history = History()
        other.waiting, other.hold = [], Hold()
        other.chance = default_rng(seed)
        return other

    def stop(self) -> None:
        """Let every member stand still from here on."""
        self.stopped = True
        self.members[Row.STRAY] = STOPPED

    def tail_off(self) -> None:
        """Let the sugar that was there be used up; what is left comes as enzymes set it free."""
        members, noise = self.members, self.chance.standard_normal((2, MEMBERS))
        still = np.maximum(1.0 - members[Row.LATE], LATE_RANGE[0])
        left = np.clip((1.0 - done(members)) / still, *LATE_RANGE)
        members[Row.MAIN] = 1.0
        members[Row.LATE_SHARE] = np.log(left / (1.0 - left)) + TAIL_WIDER * noise[0]
        members[Row.LATE_PACE] += TAIL_WIDER * noise[1]

    def follow(self, spell: Spell, hand: Hand) -> None:
        """Take a spell that has been judged."""
        self.go_to(spell)
        if spell.wash_c is not None:
            self._measure(spell.wash_c, hand)

    def _use(self, spell: Spell) -> None:
        self.standstill.keep(self)
        hand = Hand.NONE
        if spell.wash_c is not None:
            hand = self._judge(spell.wash_c)
            self._past = [*self._past[-BEHIND:], spell.wash_c]
        else:
            self._past = []
        self.follow(spell, hand)
        self.standstill.follow(self, spell, hand, colder=self._colder)
        self._keep(spell, hand)

    def _judge(self, wash_c: float) -> Hand:
        after = [one.wash_c for one in self.waiting if one.wash_c is not None]
        return self.hold.judge(self._past, wash_c, after, self._natural_k_h)

    def _natural_k_h(self) -> float:
        """Give how fast the wash falls at most with no heat in it, with a margin."""
        above = self.members[Row.WASH] - self.members[Row.ROOM]
        per_h = np.exp(self.members[Row.LOSS]) * 3.6 / capacity_kj_k(self.members)
        return -float(np.quantile(per_h * above, 0.95)) * 1.3

    def go_to(self, spell: Spell) -> None:
        """Take the ensemble to a spell's end, past the gravities that lie before it."""
        self._room(spell)
        if self._last_index is None:
            self._first(spell)
        hours = SPELL_H if self._last_index is None else (spell.index - self._last_index) * SPELL_H
        if hours > JUMP_H:
            self.jumped_h, hours = hours, SPELL_H
        self._last_index = spell.index
        self._pitch(spell.end_slot)
        self._heat_w = step(
            self.members,
            hours,
            room_known=self._room_known,
            chance=self.chance,
            stopped=self.stopped,
        )
        gravities = self.ground.gravities
        while self._next_gravity < len(gravities):
            reading = gravities[self._next_gravity]
            if reading.slot > spell.end_slot:
                break
            self._weigh(reading)
            self._next_gravity += 1

    def _first(self, spell: Spell) -> None:
        members = self.members
        if not self._pitched:
            members[Row.READY] = NOT_PITCHED
        if not self._room_known:
            spread = np.linspace(-2.0, 2.0, MEMBERS)
            members[Row.ROOM_MEAN] = ROOM_C + ROOM_ERROR_K * self.chance.permutation(spread)
            members[Row.ROOM] = members[Row.ROOM_MEAN]
        wash_c = spell.wash_c if spell.wash_c is not None else 25.0
        members[Row.PROBE] = wash_c - members[Row.OFFSET]
        members[Row.WASH] = members[Row.PROBE]

    def _room(self, spell: Spell) -> None:
        if spell.room_c is None:
            if self._room_known:  # it goes on from where it was
                self.members[Row.ROOM_MEAN] = self.members[Row.ROOM]
            self._room_known = False
            return
        self._room_known = True
        self.members[Row.ROOM] = spell.room_c - self.members[Row.ROOM_OFFSET]

    def _pitch(self, slot: int) -> None:
        pitched = self.ground.pitched_slot
        if not self._pitched and pitched is not None and slot >= pitched:
            self._pitched = True
            self.members[Row.READY] = self._ready

    def _measure(self, wash_c: float, hand: Hand) -> None:
        members = self.members
        if not self._began or hand is not Hand.NONE:
            members[Row.PROBE] = wash_c - members[Row.OFFSET]
            members[Row.WASH] = members[Row.PROBE]
            self._began = True
            if hand is Hand.HELD:
                self._held(members)
            return
        found = update(members, members[Row.PROBE] + members[Row.OFFSET], wash_c, WASH_ERROR_K)
        self.evidence += found.fit
        self._surprises = [*self._surprises[1 - ASTRAY_OVER :], found.off]
        mean = float(np.mean(self._surprises))
        self._colder = len(self._surprises) == ASTRAY_OVER and mean < -COLDER
        if not self.stopped and len(self._surprises) == ASTRAY_OVER and abs(mean) > ASTRAY:
            noise = self.chance.standard_normal(MEMBERS)
            members[Row.STRAY] += SHAKEN * (noise - noise.mean())
            self._surprises = []

    def _held(self, members: Members) -> None:
        """Learn that there is at least the heat that the room takes from what stands still."""
        self.held_h += SPELL_H
        loss = np.exp(members[Row.LOSS]) * (members[Row.WASH] - members[Row.ROOM])
        short = np.minimum(heat_w(members) - loss, 0.0)
        error = max(SHORTAGE_SHARE * abs(float(loss.mean())), 1e-6)
        self.evidence += update(members, short, 0.0, error).fit

    def _weigh(self, reading: GravityReading) -> None:
        error = float(np.hypot(reading.sg.error, SG_ERROR))
        found = update(self.members, gravity(self.members), reading.sg.value, error)
        put_gravity(self.members, found.wanted)
        self.evidence += found.evidence
        if abs(found.off) > CONTRADICTS:
            self.contradictions[reading.slot] = found

    def _keep(self, spell: Spell, hand: Hand) -> None:
        history = self.history
        history.index.append(spell.index)
        history.wash_c.append(np.nan if spell.wash_c is None else spell.wash_c)
        history.room_c.append(np.nan if spell.room_c is None else spell.room_c)
        history.free.append(hand is Hand.NONE and spell.wash_c is not None)
        history.heat_w.append(self._heat_w)
