"""A still's run, told from its temperatures and its record.

**State.** 300 members, each a run that could be this one (`members.Row` lists the unknowns: what is
in the pot and what has left it, heat, loss and metal, plates, reflux and how it answers to a hotter
head, what the column and the arm give beside their table, what stays between pot and receiver, the
errors of both probes, of the barometer and of the published equilibrium, the resistance of the
vapour's way, what is dissolved).

**Motion.** Half-minute blocks: energy warms the pot until it boils, then boils off vapour; the
differential balance takes ethanol and water from the pot; the vapour at the top is what a column
of so many plates gives at so much reflux (`calc.run_balance`).

**Learning.** The pot's and head's temperatures each block, spout readings, first drop, and the
volume and strength of each jar as it is changed, by an ensemble Kalman filter (`learning`), which
leaves alone what goes with a number no more than by chance. What was collected when a jar was begun
is a row like the others, so that what is learned meanwhile holds for it too.

**Noise and tuning.** In the square root of a minute, heat drifts by 0.4 % (1.5 where nobody marks
it), the reflux's logit by 0.02 (0.05 under reflux), the equilibrium's errors by 0.0015 in ln x and
in the vapour's logit; what the column gives beside its table wanders by 0.02 (0.1) in logit and is
forgotten in 40 minutes, and looking ahead it is not known again by the time the pot is weak
(`ahead`). A pressure that nobody measures drifts by 0.8 hPa in the square root of an hour, one that
was entered ages as the weather goes (`calc.pressure`); where not even the height of the house is
known, it may be that of any place people live at. Where another tells it from now on, what the
members took for true stays (`weather`).

A charge is held once against where the pot is seen to boil: where the two are further apart than
their errors allow, that is said, and the members begin again as if nobody had said how strong it is
(`charged`). A head that steps down while the pot goes on lets the reflux go either way. Where the
pot has no probe, the head tells the vapour by itself (`head_alone`).

Blocks half a minute apart share their errors, so each counts for less than its probe's noise: 0.2 K
of the pot, 0.25 K of the head. What they show is older than their end, by half a block and the
probe's lag; a head that moves fast is not at its column's balance yet, and counts for less. A
column's first runnings are stronger than its balance. Where heat goes off unmarked, what was
learned since is unlearned; what cools tells its loss from five minutes after, and the loss wanders
by 0.5 % in the square root of a minute then; after a gap heat and reflux widen. The widths the
members begin with stand beside them in `members`. They were set on simulated runs with seeds below
10 000 and are judged on others (tests/bench/estimate_still.py).

**What is told.** Where the members stand 20 s after the block, in the middle of the time until the
next: medians, and quantiles made as much wider or narrower as the tuning runs' truth asks
(`widening`, `widths`). `tails_near` is a probability in per cent, `hearts_l` a
volume of hearts at their own strength (`cuts`); where they have ended, that is known as well as the
spout was known then, over what the run went in the meantime (`trail`).
"""

from collections import deque
from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime
from math import inf
from typing import Final

from api.estimates.estimate import Estimate
from api.estimates.estimator import Step
from api.estimates.ground import ProbeGround, RunGround, StillGround
from api.estimates.still import untold, words
from api.estimates.still.blocks import Blocks
from api.estimates.still.changed import changed_since
from api.estimates.still.condensing import condenser_margin
from api.estimates.still.following import Follower
from api.estimates.still.head_alone import HeadAlone
from api.estimates.still.signs import Block
from api.estimates.still.telling import OF_MEMBERS, tell_all

_NO_PROBE: Final = ProbeGround()
_KEPT_EVERY: Final = 20  # blocks: ten minutes
_KEPT: Final = 6  # about a megabyte each


def hour_utc(slot: int) -> str:
    """Say when a slot was, where nobody said how."""
    return datetime.fromtimestamp(slot, UTC).strftime("%H:%M")


class StillEstimator:
    """Tells what one run's temperatures mean; `hour` says in words when a slot was."""

    def __init__(self, still: StillGround, hour: Callable[[int], str] = hour_utc) -> None:
        self._still = still
        self._hour = hour
        self._ground: tuple[RunGround, tuple[ProbeGround, ProbeGround]] | None = None
        self._follower: Follower | None = None
        self._stood: deque[tuple[int, Follower]] = deque(maxlen=_KEPT)  # after so many blocks
        self._alone: HeadAlone | None = None  # until the pot is read
        self._blocks = Blocks()
        self._newest: Step | None = None
        self._told: tuple[int, tuple[Estimate, ...]] | None = None

    def know(self, run: RunGround, probes: Mapping[str, ProbeGround]) -> None:
        """Take what the record says now; where that changes the past, the run is gone through."""
        of_still = probes.get("pot", _NO_PROBE), probes.get("head", _NO_PROBE)
        if self._ground == (run, of_still):
            return
        before, self._ground = self._ground, (run, of_still)
        self._told = None
        same = before is not None and before[1] == of_still
        self._go_back(run, changed_since(before[0], run) if before and same else -inf)

    def see(self, steps: Iterable[Step]) -> None:
        """Take steps, newest last."""
        for step in steps:
            self._newest = step
            for block in self._blocks.take(step):
                self._step(block)
                self._keep(len(self._blocks.kept))

    def _go_back(self, run: RunGround, since: float) -> None:
        """Go through the run again from the last place that what has changed does not touch."""
        if self._follower is not None and self._follower.slot < since:
            self._follower = self._follower.resumed(run)
            return
        while self._stood and self._stood[-1][1].slot >= since:
            self._stood.pop()
        done, stood = self._stood[-1] if self._stood else (0, None)
        self._follower, self._alone = stood and stood.resumed(run), None
        for number, block in enumerate(self._blocks.kept[done:], done + 1):
            self._step(block)
            self._keep(number)

    def _keep(self, blocks: int) -> None:
        """Keep where the run stands, now and then: jars are told of minutes after they are full."""
        if self._follower is not None and blocks % _KEPT_EVERY == 0:
            self._stood.append((blocks, self._follower.resumed(self._follower.run)))

    def _step(self, block: Block) -> None:
        if self._ground is None or block.slot < self._ground[0].from_slot:
            return
        run, probes = self._ground
        if self._follower is not None:
            self._follower.step(block)
        elif block.pot_c is not None:
            self._follower = Follower(self._still, run, probes, self._hour, block)
        else:
            self._alone = self._alone or HeadAlone(probes)
            self._alone.see(block)

    def tell(self) -> tuple[Estimate, ...]:
        """Return every quantity as of the newest step."""
        follower = self._follower
        if follower is None:
            told = tuple(self._without_pot(name) for name in OF_MEMBERS)
        elif self._told is not None and self._told[0] == follower.slot:
            told = self._told[1]
        else:
            told = tell_all(follower)
            self._told = follower.slot, told
        return (*told, condenser_margin(self._newest, self._still))

    def _without_pot(self, name: str) -> Estimate:
        if self._alone is None or self._ground is None or name != "vapour_abv":
            return Estimate(name, None, None, None, words.NOTHING_YET)
        run = self._ground[0]
        if (why := untold.of_run(run)) is not None:
            return Estimate(name, None, None, None, why)
        return self._alone.tell(run.seal_hpa or 0.0)
