"""From moments to changes: the one evaluation behind live alarms, back-tests and replays.

Pure apart from its own state: no clock, no store. Whoever calls keeps the changes it gives.
"""

import logging
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from api.alarms.estimated import Estimated
from api.alarms.events import Key
from api.alarms.ground import TEMPERATURE, Charge, Ground, Moment
from api.alarms.model import Process, State, Trigger, after
from api.alarms.rules import Limits, Rule, Scope, Side
from api.alarms.sights import (
    OPEN_MASH,
    CondenserSight,
    Measure,
    SpotSight,
    SystemSight,
    VesselSight,
)

log = logging.getLogger(__name__)

SYSTEM: Final = "system"
FEWEST_OVER: Final = 3  # readings in a row over a limit with a delay, whatever the cadence
NOTED: Final = "noted"
PRESSURE: Final = "pressure_hpa"  # the key of the barometer, wherever it hangs

Sight = VesselSight | CondenserSight | SpotSight | SystemSight


@dataclass(frozen=True, slots=True)
class Change:
    """One change of an alarm, or a note where its rule is an event."""

    key: Key
    slot: int
    what: str  # a Trigger, or "noted"
    before: State
    after: State
    value: float | None
    limit: float | None


class Condition:
    """Whether a value is over its limit: with a deadband, and for long enough."""

    __slots__ = ("_number", "holds", "limits", "side", "since")

    def __init__(self, limits: Limits, side: Side) -> None:
        self.limits = limits
        self.side = 1.0 if side is Side.ABOVE else -1.0
        self.holds = False
        self.since: int | None = None  # how long it has been about to change
        self._number = 0

    def see(self, slot: int, value: float, limit: float) -> bool:
        """Take a value, IDLE included; says whether `holds` has changed."""
        over = (value - limit) * self.side
        # IDLE compares false with anything: never over, and always back
        turning = not over > -self.limits.deadband if self.holds else over > 0.0
        if not turning:
            self.since = None
            return False
        if self.since is None:
            self.since, self._number = slot, 0
        self._number += 1
        delay_s = self.limits.off_delay_s if self.holds else self.limits.on_delay_s
        if slot - self.since < delay_s or (delay_s and self._number < FEWEST_OVER):
            return False
        self.holds, self.since = not self.holds, None
        return True


class Judge:
    """One alarm: a rule and what it is about."""

    __slots__ = (
        "condition", "key", "known", "limit", "measure", "moves", "rule", "sight", "stages",
        "state", "value", "works",
    )  # fmt: skip

    def __init__(self, key: Key, rule: Rule, limits: Limits, sight: Sight, state: State) -> None:
        self.key, self.rule, self.sight, self.state = key, rule, sight, state
        self.stages = rule.stages
        self.measure: Measure[Any] = rule.measure()
        self.moves = type(self.measure).limit is not Measure.limit  # its limit, by circumstances
        self.condition = Condition(limits, rule.side)
        self.condition.holds = state.holds
        self.works = True  # until its measure has failed
        self.known = False  # whether the last moment told what it needs to know
        self.value: float | None = None
        self.limit: float = limits.limit

    def see(self, slot: int, changes: list[Change]) -> None:
        """Judge the moment its sight shows."""
        valid = self.stages is None or self.sight.stage in self.stages
        if valid is self.state.suppressed:
            self._suppress(slot, changes, valid=valid)
        value = self.measure.see(self.sight)
        self.known = value is not None
        if value is None:
            return  # not known: nothing is concluded from it
        self.value = None if value != value else value  # noqa: PLR0124 - NaN
        condition = self.condition
        limit = condition.limits.limit
        self.limit = limit = self.measure.limit(limit) if self.moves else limit
        if not (condition.holds or (value - limit) * condition.side > 0.0):
            condition.since = None  # at rest, as nearly always: no need to ask it
            return
        if not condition.see(slot, value, limit):
            return
        holds = condition.holds
        if self.rule.priority is None:
            if holds and not self.state.covered:
                changes.append(self._change(slot, NOTED, self.state))
            return
        self.turn(slot, Trigger.RAISE if holds else Trigger.CLEAR, changes)

    def turn(self, slot: int, trigger: Trigger, changes: list[Change]) -> None:
        """Let something happen to the alarm; what changes nothing is no change."""
        now = after(self.state, trigger, latching=self.rule.latching)
        if now != self.state:
            changes.append(self._change(slot, trigger, now))
            self.state = now

    def _change(self, slot: int, what: str, now: State) -> Change:
        return Change(self.key, slot, what, self.state, now, self.value, self.limit)

    def _suppress(self, slot: int, changes: list[Change], *, valid: bool) -> None:
        trigger = Trigger.UNSUPPRESS if valid else Trigger.SUPPRESS
        if self.state.process is Process.NORMAL:  # of no interest to anybody: not kept
            self.state = replace(self.state, suppressed=not valid)
        else:
            self.turn(slot, trigger, changes)


class Evaluation:
    """All alarms of a ground, told of moments in their order."""

    def __init__(
        self,
        ground: Ground,
        rules: Mapping[str, Rule],
        limits: Mapping[str, Limits] | None = None,
        states: Mapping[Key, State] | None = None,
        own: Mapping[Key, Limits] | None = None,
    ) -> None:
        self.rules = rules
        self.limits = {name: rule.limits for name, rule in rules.items()} | dict(limits or {})
        self.own = dict(own or {})  # of single alarms, where they have their own
        self._states = dict(states or {})
        self.system = SystemSight()
        self.judges: dict[Key, Judge] = {}
        self._of_house: tuple[Judge, ...] = ()
        self._of_scans: tuple[Judge, ...] = ()
        self.vessels: dict[str, VesselSight] = {}
        self._condensers: dict[str, CondenserSight] = {}
        self._spots: dict[str, SpotSight] = {}
        self.ground = Ground()
        self.lay(ground)

    def lay(self, ground: Ground) -> None:
        """Watch another ground; what is on both goes on as it was."""
        before, self.ground = self.ground, ground
        self._states |= {key: judge.state for key, judge in self.judges.items()}
        same = before.spots == ground.spots and before.condensers == ground.condensers
        kinds = {one.key: one.kind for one in before.vessels}
        self._mind(ground.control_cycle_s)
        if same and kinds == {one.key: one.kind for one in ground.vessels}:
            for vessel in ground.vessels:
                self.vessels[vessel.key].ground = vessel
            return
        self._look_anew(ground)
        old, self.judges = self.judges, {}
        for rule in self.rules.values():
            for subject, sight in self._subjects(rule.scope):
                self._place(Key(rule.name, subject), rule, sight, old)
        every = self.judges.values()
        self._of_house = tuple(one for one in every if one.rule.scope is Scope.SYSTEM)
        self._of_scans = tuple(one for one in every if one.rule.scope is not Scope.SYSTEM)
        self._mind(ground.control_cycle_s)

    def restore(self, states: Mapping[Key, State]) -> None:
        """Let every alarm stand as it stood, whatever its detectors have just been shown."""
        self._states = dict(states)
        for key, judge in self.judges.items():
            judge.state = states.get(key, State())
            if judge.rule.priority is not None:
                judge.condition.holds = judge.state.holds

    def set_limits(self, rule: str, limits: Limits) -> None:
        """Hold a rule against other limits from now on."""
        self.limits[rule] = limits
        self._hold()

    def set_own_limits(self, own: Mapping[Key, Limits]) -> None:
        """Hold single alarms against their own limits, and all others against their rules'."""
        self.own = dict(own)
        self._hold()

    def see(self, moment: Moment) -> list[Change]:
        """Judge one moment."""
        self._show(moment)
        return self._judge(self._of_scans, moment.slot)

    def see_system(self, slot: int) -> list[Change]:
        """Judge what the house knows of itself, with or without a scan."""
        return self._judge(self._of_house, slot)

    def turn(self, key: Key, trigger: Trigger, slot: int) -> list[Change]:
        """Let a person's act, or the end of a shelf, happen to an alarm."""
        changes: list[Change] = []
        self.judges[key].turn(slot, trigger, changes)
        return changes

    def know(self, vessel: str, charge: Charge | None) -> None:
        """Take what the record says of a vessel's run."""
        self.vessels[vessel].charge = charge

    def estimate(self, estimated: Mapping[str, Estimated]) -> None:
        """Take what is estimated of the vessels now, by their keys."""
        for key, vessel in self.vessels.items():
            vessel.estimated = estimated.get(key)

    @staticmethod
    def _judge(judges: Iterable[Judge], slot: int) -> list[Change]:
        """Let alarms judge; where one fails, the good ones go on and it counts as not known."""
        changes: list[Change] = []
        for judge in judges:
            try:
                judge.see(slot, changes)
            except Exception:
                if judge.works:
                    log.exception("The alarm %s failed; the others go on.", judge.key)
                judge.works = judge.known = False
        return changes

    def _hold(self) -> None:
        for key, judge in self.judges.items():
            judge.condition.limits = self._limits_of(key)
        self._mind(self.ground.control_cycle_s)

    def _limits_of(self, key: Key) -> Limits:
        return self.own.get(key) or self.limits[key.rule]

    def _mind(self, control_cycle_s: float) -> None:
        """Let everything know what it stands on beside its own limit."""
        for judge in self.judges.values():
            judge.measure.mind_cycle(control_cycle_s)
            judge.measure.mind_limits(self.limits)
        open_mash = self.limits.get(OPEN_MASH)
        for vessel in self.vessels.values():
            if open_mash is not None:
                vessel.open_mash_s = open_mash.limit * 60.0
            if vessel.still is not None:
                vessel.still.mind_cycle(control_cycle_s)

    def _place(self, key: Key, rule: Rule, sight: Sight, old: Mapping[Key, Judge]) -> None:
        kept = old.get(key)
        if kept is not None:
            kept.sight = sight
            self.judges[key] = kept
            return
        state = self._states.get(key, State())
        self.judges[key] = Judge(key, rule, self._limits_of(key), sight, state)

    def _look_anew(self, ground: Ground) -> None:
        """Make the sights that are new; a vessel or condenser that stays keeps what it knows."""
        vessels = {}
        for one in ground.vessels:
            kept = self.vessels.get(one.key)
            if kept is None or kept.ground.kind != one.kind:
                kept = VesselSight(one, ground.control_cycle_s)
            kept.ground, kept.waters, kept.values = one, [], {}
            vessels[one.key] = kept
        condensers = {}
        for made in ground.condensers:
            if made.vessel in vessels and vessels[made.vessel].still is not None:
                sight = CondenserSight(made, vessels[made.vessel])
                if (before := self._condensers.get(made.key)) is not None:
                    sight.water = before.water
                    sight.vessel.waters[-1] = before.water
                condensers[made.key] = sight
        self.vessels, self._condensers = vessels, condensers
        self._spots = {
            spot.key: SpotSight(spot, vessels.get(spot.vessel or "")) for spot in ground.spots
        }

    def _subjects(self, scope: Scope) -> Iterable[tuple[str, Sight]]:
        if scope is Scope.SYSTEM:
            return ((SYSTEM, self.system),)
        if scope is Scope.SPOT:
            return self._spots.items()
        if scope in {Scope.PRODUCT, Scope.PRODUCT_TUBE, Scope.REFLUX}:
            return (item for item in self._condensers.items() if _in_scope(item[1], scope))
        return (item for item in self.vessels.items() if self._has(item[1], scope))

    def _has(self, vessel: VesselSight, scope: Scope) -> bool:
        """Say whether a vessel has what a scope is about."""
        names = {
            spot.name
            for spot in self.ground.spots
            if spot.vessel == vessel.ground.key and spot.quantity == TEMPERATURE
        }
        if scope is Scope.STILL:
            return vessel.still is not None
        if scope is Scope.FERMENT:
            return "ferment" in names
        return "mash" in names or (vessel.still is not None and "pot" in names)

    def _show(self, moment: Moment) -> None:
        """Put the moment's values where the measures look."""
        values = moment.values
        room, pressure = None, values.get(PRESSURE)
        for key, sight in self._spots.items():
            sight.slot = moment.slot
            sight.present = key in values
            sight.value = value = values.get(key)
            if not sight.is_told:
                continue
            if sight.vessel is not None:
                sight.vessel.values[sight.name] = value
            elif sight.name == "room":
                room = value
        for vessel in self.vessels.values():
            vessel.room, vessel.pressure_hpa = room, pressure
            vessel.look(moment)
        for condenser in self._condensers.values():
            condenser.look()


def _in_scope(sight: CondenserSight, scope: Scope) -> bool:
    if scope is Scope.REFLUX:
        return not sight.ground.gives_product
    tube = scope is Scope.PRODUCT_TUBE
    return sight.ground.gives_product and not (tube and sight.ground.kind == "worm_tub")
