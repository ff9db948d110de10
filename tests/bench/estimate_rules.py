"""The rules that stand on estimates, back-tested: how many are false, how late each one is.

    nice -n 19 python tests/bench/estimate_rules.py FOLDER [--runs 20] [--from 10000]
        [--kinds spirit,strip,ferment]

Still runs are those of still_runs.py, made and kept in FOLDER; ferments those of ferment_runs.py,
kept under /tmp; seeds not used in tuning. What is known of a run (probes, barometer, power) is
drawn, the charge is entered, and the record is told as it comes: a jar is measured three minutes
after it was changed, and in half of the runs only every third jar's strength is read. Every run is
gone through as it was, and once more with something wrong, drawn by its seed: a part of the spirit
escapes, the charge is entered a quarter too strong, or one jar's volume tenfold.
Judged by the shipped limits and delays, a scan every ten seconds.
"""

import argparse
import sys
from collections import defaultdict
from dataclasses import dataclass, replace
from pathlib import Path
from random import Random
from statistics import quantiles

from ferment_runs import BEGINS, kept
from still_cases import JARS, Knows, case, tails_at
from still_runs import make, read

sys.path.insert(0, str(Path(__file__).parents[2]))

from api.alarms.estimated import Estimated
from api.alarms.evaluate import NOTED, Evaluation
from api.alarms.ground import Ground, Moment, Spot, VesselGround
from api.alarms.shipped_estimates import BY_ESTIMATES
from api.estimates.estimator import Step
from api.estimates.ferment.estimator import FermentEstimator
from api.estimates.ground import Measured
from api.estimates.seat import beside
from api.estimates.still.estimator import StillEstimator

RULES = {rule.name: rule for rule in BY_ESTIMATES}
TOLD_EVERY = 6  # steps: a minute
WRITTEN_S = 180  # after a jar was changed, what it holds is written down
ESCAPES = {  # a share of the spirit, from a part of the jars on
    "15 % escapes": (0.15, 0.0),
    "30 % escapes": (0.3, 0.0),
    "30 % escapes from half-way": (0.3, 0.5),
}
WRONG = (*ESCAPES, "charge 25 % too strong", "a jar tenfold")
TOO_EARLY_MIN = 30.0
TOO_EARLY_JARS = 3.0


@dataclass(frozen=True)
class Way:
    """One way a run is written down, and from which slot on something is wrong with it."""

    name: str
    run: object
    since: int = 0


class Watch:
    """The rules by estimates, and when each first called."""

    def __init__(self, key: str, kind: str, stage: str, begin: int) -> None:
        self.key, names = key, ("pot", "head") if kind == "still" else ("ferment",)
        vessel = VesselGround(key, key, kind, stage=stage, run_id="b", since_slot=begin)
        spots = tuple(Spot(name, name, key) for name in names)
        self.evaluation = Evaluation(Ground(spots, (vessel,)), RULES)
        self.called: dict[str, list[int]] = defaultdict(list)

    def see(self, step, estimated, period_s=10):
        self.evaluation.estimate({self.key: estimated})
        for change in self.evaluation.see(Moment(step.slot, period_s, step.values)):
            if change.what in {"raise", NOTED}:
                self.called[change.key.rule].append(step.slot)


def written(run, slot):
    """Give a run's record as it was by a slot."""
    jars = []
    for jar in run.jars:
        if jar.from_slot > slot:
            continue
        over = jar.to_slot is not None and jar.to_slot <= slot
        known = over and jar.to_slot + WRITTEN_S <= slot
        jars.append(
            replace(
                jar,
                to_slot=jar.to_slot if over else None,
                volume_l=jar.volume_l if known else None,
                abv=jar.abv if known else None,
            )
        )
    off = run.heat_off_slot
    return replace(run, jars=tuple(jars), heat_off_slot=off if off and off <= slot else None)


def gone_through(made, way):
    """Go through a run; gives when each rule first called."""
    estimator, told, known = StillEstimator(made.still), None, None
    watch = Watch("still", "still", made.run.purpose, made.steps[0].slot)
    for number, step in enumerate(made.steps):
        now = written(way.run, step.slot)
        if now != known:
            estimator.know(now, made.probes)
            known = now
        estimator.see((step,))
        if number % TOLD_EVERY == 0:
            found = estimator.tell()
            found = (*found, *beside(now, found, step.slot))
            told = Estimated(step.slot, {one.quantity: one for one in found})
        if told is not None:
            watch.see(step, told)
    return watch.called


def ways(made, seed):
    """Give a run as it was written down, and once with something wrong."""
    dice = Random(f"rules/{seed}")
    jars, slot_off = made.run.jars, made.steps[made.off].slot
    if dice.random() < 0.5:  # as it is often done
        jars = tuple(
            replace(jar, abv=jar.abv if n % 3 == 0 else None) for n, jar in enumerate(jars)
        )
    clean = replace(made.run, jars=jars, heat_off_slot=slot_off)
    yield Way("clean", clean)
    name, half = WRONG[seed % len(WRONG)], jars[len(jars) // 2]
    if name in ESCAPES:
        share, part = ESCAPES[name]
        first = int(part * len(jars))
        less = tuple(
            replace(jar, volume_l=_times(jar.volume_l, 1.0 - share)) if n >= first else jar
            for n, jar in enumerate(jars)
        )
        yield Way(name, replace(clean, jars=less), jars[first].from_slot)
    elif name.startswith("charge"):
        abv = _times(clean.charge_abv, 1.25)
        yield Way(name, replace(clean, charge_abv=abv), jars[0].from_slot)
    else:
        wrong = tuple(
            replace(jar, volume_l=_times(jar.volume_l, 10.0)) if jar is half else jar
            for jar in jars
        )
        yield Way(name, replace(clean, jars=wrong), half.to_slot + WRITTEN_S)


def _times(measured, times):
    return Measured(measured.value * times, measured.error * times)


class Tally:
    """What came of it."""

    def __init__(self) -> None:
        self.lead = defaultdict(list)  # by rule and what is told, None: it never called
        self.false = defaultdict(list)
        self.runs = defaultdict(int)

    def still(self, kind, seed, columns, made, way, called):
        self.runs[kind, way.name] += 1
        for rule in ("balance_implausible", "alcohol_missing"):
            times = called.get(rule, [])
            if way.name == "clean":
                if times:
                    self.false[rule, kind].append(seed)
            elif rule == _tells(way.name):
                after = [slot for slot in times if slot >= way.since]
                first = (after[0] - way.since) / 60.0 if after else None
                self.lead[rule, f"{kind}, {way.name}, min after it began"].append(first)
            elif times:
                self.false[rule, f"{kind}, {way.name}"].append(seed)
        if way.name == "clean":
            self._before(kind, seed, made, called)
            if kind == "spirit":
                self._tails(seed, columns, made, called)

    def _before(self, kind, seed, made, called):
        for rule, at in (("boil_imminent", made.boil), ("run_ends_soon", made.off)):
            times = called.get(rule, [])
            ahead = [(made.steps[at].slot - slot) / 60.0 for slot in times]
            early = [one for one in ahead if one > TOO_EARLY_MIN]
            if early:
                self.false[rule, kind].append((seed, round(max(early))))
            due = [one for one in ahead if 0.0 < one <= TOO_EARLY_MIN]
            self.lead[rule, f"{kind}, min ahead"].append(max(due, default=None))

    def _tails(self, seed, columns, made, called):
        tails, litres = tails_at(columns, made.off), columns["collected_l"]
        jar_l, begin = float(litres[made.off]) / JARS, made.steps[0].slot
        at = [min((slot - begin) // 10, len(litres) - 1) for slot in called.get("tails_near", [])]
        if not tails:
            if at:
                self.false["tails_near", "spirit"].append(seed)
            return
        ahead = [float(litres[tails] - litres[one]) / jar_l for one in at]
        if any(one > TOO_EARLY_JARS for one in ahead):
            self.false["tails_near", "spirit"].append((seed, round(max(ahead), 1)))
        due = [one for one in ahead if 0.0 < one <= TOO_EARLY_JARS]
        self.lead["tails_near", "spirit, small jars ahead"].append(max(due, default=None))

    def ferment(self, seed, course, called):
        kind = "stopped" if course.stuck and course.died_h else "clean"
        self.runs["ferment", kind] += 1
        hours = {
            rule: [(slot - BEGINS) / 3600.0 for slot in slots] for rule, slots in called.items()
        }
        stuck = hours.get("ferment_stuck", [])
        if kind == "stopped":
            after = [one - course.died_h for one in stuck if one >= course.died_h]
            words = "ferment that died, h after"
            self.lead["ferment_stuck", words].append(min(after, default=None))
        elif stuck and not course.stuck:
            self.false["ferment_stuck", "ferment"].append(seed)
        peak = hours.get("ferment_peak_passed", [])
        late = [one - course.peak_h for one in peak]
        if late and late[0] < 0.0:
            self.false["ferment_peak_passed", "ferment"].append((seed, round(late[0], 1)))
        words = f"ferment, {'with a coil' if course.cooled else 'nobody cools'}, h after the peak"
        self.lead["ferment_peak_passed", words].append(late[0] if late else None)

    def show(self):
        print("\nruns:", ", ".join(f"{' '.join(key)} {n}" for key, n in self.runs.items()))
        for (rule, words), found in sorted(self.lead.items()):
            known = sorted(one for one in found if one is not None)
            print(f"{rule}: {words}: {len(known)} of {len(found)} called{_spread(known)}")
        for (rule, kind), seeds in sorted(self.false.items()):
            print(f"{rule}: false or far too early on {kind}: {len(seeds)} {seeds}")
        for rule in RULES.keys() - {rule for rule, _ in self.false}:
            print(f"{rule}: none false")
        sys.stdout.flush()


def _tells(wrong):
    return "balance_implausible" if wrong == "a jar tenfold" else "alcohol_missing"


def _spread(known):
    if len(known) < 2:
        return f"; {known}"
    tenths = quantiles(known, n=10, method="inclusive")
    return f"; p10 {tenths[0]:.1f}, p50 {tenths[4]:.1f}, p90 {tenths[8]:.1f}, most {known[-1]:.1f}"


def ferment_called(course):
    """Go through a ferment with no gravities, a scan a minute."""
    estimator, told = FermentEstimator(), None
    estimator.know(course.ground, course.probes)
    watch = Watch("tank", "fermenter", "ferment", BEGINS)
    last_h = (course.died_h or course.end_h or course.time_h[-1]) + 24.0
    for number, step in enumerate(course.steps(min(last_h, course.time_h[-1]))):
        shown = Step(step.slot, step.values)
        estimator.see((shown,))
        if number % 10 == 1:
            told = {one.quantity: one for one in estimator.tell()}
        if told is not None:
            watch.see(shown, Estimated(step.slot, told), 60)
    return watch.called


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("folder", type=Path)
    ask.add_argument("--runs", type=int, default=20)
    ask.add_argument("--from", dest="first", type=int, default=10_000)
    ask.add_argument("--kinds", default="spirit,strip,ferment")
    asked = ask.parse_args()
    tally = Tally()
    for seed in range(asked.first, asked.first + asked.runs):
        for kind in asked.kinds.split(","):
            if kind == "ferment":
                course = kept(seed)
                tally.ferment(seed, course, ferment_called(course))
                continue
            columns, about = read(make(kind, seed, asked.folder))
            made = case(columns, about, Knows(charge=True, jars=True, readings=0))
            for way in ways(made, seed):
                tally.still(kind, seed, columns, made, way, gone_through(made, way))
        if (seed + 1 - asked.first) % 5 == 0 or seed + 1 == asked.first + asked.runs:
            tally.show()


if __name__ == "__main__":
    main()
