"""How true a ferment's estimates are: bands, rivals, peak, fraction, standstill, cost.

    nice -n 19 python tests/bench/estimate_ferment.py [FERMENTS] [FIRST_SEED]

Ferments are drawn by seeds not used in tuning (10,000 and up) and kept under /tmp. Each is looked
at at two random instants, once with no gravities after pitching and once with two; and watched
through for a standstill, once with none and once with one a day. The rivals of
the interval score are naive on purpose: the warmth alone (the share of the heat so far in what an
ordinary ferment of three days gives), and the record alone (the last gravity, else the middle of
what washes of its kind do), each with the band that its own errors over the same ferments give.
"""

import sys
import time
from collections import defaultdict
from dataclasses import replace
from random import Random

import numpy as np
from ferment_runs import SHORT_SG, kept

from api.alarms.shipped_estimates import BY_ESTIMATES
from api.estimates.ferment.estimator import FermentEstimator

ASKED_EVERY_H = 2.0
CALLED = next(rule.limits.limit for rule in BY_ESTIMATES if rule.name == "ferment_stuck")  # %


def truth(course, at_h):
    """Give what is true at an instant, by quantity; None where there is none."""
    at = lambda of: float(np.interp(at_h, course.time_h, of))  # noqa: E731
    end_h = course.end_h
    found = {
        "heat_rate_w": at(course.heat_w),
        "loss_w_per_k": course.loss_w_k,
        "fermented_percent": at(course.percent),
        "gravity_sg": at(course.sg),
        "abv": at(course.abv),
    }
    ahead = course.peak_h - at_h
    found["hours_to_peak"] = max(ahead, 0.0)
    found["hours_since_peak"] = max(-ahead, 0.0)
    if end_h is not None and not course.stuck:
        found["hours_to_end"] = max(end_h - at_h, 0.0)
    return found


def life_h(course):
    """Give until when it is looked at: half a day beyond its end."""
    return min(course.end_h or course.time_h[-1] - 24, course.time_h[-1] - 14) + 12


def looked(course, at_h, gravities):
    ground = replace(course.ground, gravities=tuple(gravities))
    estimator = FermentEstimator()
    estimator.know(ground, course.probes)
    estimator.see(course.steps(at_h))
    return {one.quantity: one for one in estimator.tell()}


def daily(course, seed):
    """Read a gravity a day, at an hour of its own."""
    dice = Random(f"daily/{seed}")
    hours = np.arange(dice.uniform(0.0, 24.0), course.time_h[-1], 24.0)
    return [course.gravity_at(float(hour), dice.gauss(0, 0.001)) for hour in hours]


def watched(course, gravities=()):
    """Go through a whole ferment, asked every two hours whether it has stopped.

    Gives hours from the start and the probability, and what a step cost.
    """
    estimator = FermentEstimator()
    estimator.know(replace(course.ground, gravities=tuple(gravities)), course.probes)
    last_h = (course.died_h or course.end_h or course.time_h[-1]) + 14
    found, costs, due_h = [], [], 12.0
    for step in course.steps(min(last_h, course.time_h[-1])):
        start = time.perf_counter()
        estimator.see((step,))
        costs.append(time.perf_counter() - start)
        hour = (step.slot - course.ground.from_slot) / 3600.0
        if hour >= due_h:
            due_h += ASKED_EVERY_H
            stuck = {one.quantity: one for one in estimator.tell()}["stuck_percent"]
            found.append((hour, stuck.value))
    return found, costs


def score(low, high, true, alpha=0.05):
    return (high - low) + 2 / alpha * (max(low - true, 0.0) + max(true - high, 0.0))


def naive(course, at_h, gravities):
    """Give two rivals' guesses of the share fermented."""
    last = int(at_h * 60)
    above = course.minute_c[:last] - course.room_minute_c[:last]
    kelvin = course.minute_c[last - 1] - course.minute_c[0] + above.sum() / 60 / 30.0
    warmth = min(100 * max(kelvin, 0.0) / 20.0, 100.0)
    if gravities:
        record = 100 * (1.065 - gravities[-1].sg.value) / (1.065 - 0.993)
    else:
        record = min(100 * at_h / 72.0, 100.0)
    return warmth, record


class Tally:
    """What came out, over all ferments."""

    def __init__(self) -> None:
        self.rows, self.told = defaultdict(list), defaultdict(list)
        self.rivals = defaultdict(list)
        self.anchored, self.peaks, self.costs, self.minutes = [], [], [], 0
        self.stopped, self.false = defaultdict(list), defaultdict(list)
        self.clean, self.untold, self.between = (defaultdict(int) for _ in range(3))

    def watch(self, seed, course):
        """Judge how a standstill is called where yeast died with much left, and where none did."""
        for way, gravities in (("none", ()), ("one a day", daily(course, seed))):
            alarms, cost = watched(course, gravities)
            self.costs.extend(cost)
            told = [(hour, percent) for hour, percent in alarms if percent is not None]
            called = next((hour for hour, percent in told if percent >= CALLED), None)
            key = course.ground.kind_of_wash, way
            if not told:
                self.untold[key] += 1
            elif course.died_h is None:
                self.clean[key] += 1
                if called is not None:
                    self.false[key].append(seed)
            elif course.left_sg > SHORT_SG:
                self.stopped[key].append(None if called is None else called - course.died_h)

    def look(self, course, at_h, way, gravities):
        found, true = looked(course, at_h, gravities), truth(course, at_h)
        self.minutes += int(at_h * 60)
        for name, value in true.items():
            one = found[name]
            self.told[name, way].append(one.value is not None)
            if one.value is not None:
                self.rows[name, way].append(judged(one, value))
        share = found["fermented_percent"].value
        if way == "two" and share is not None:
            self.anchored.append(abs(share - true["fermented_percent"]))
        for name, guess in zip(("warmth", "record"), naive(course, at_h, gravities), strict=True):
            self.rivals[name, way].append((guess, true["fermented_percent"]))
        since = found["hours_since_peak"].value
        if since is None and found["hours_since_peak"].low is not None:
            self.between[course.cooled] += 1
        elif since is not None:
            self.peaks.append((abs(at_h - since - course.peak_h), course.cooled))

    def show(self):
        print(f"{'quantity':20}{'gravities':10}{'n':>5}{'told':>6}{'68 %':>7}{'95 %':>7}"
              f"{'width':>9}{'bias':>9}{'error':>9}{'score':>9}")  # fmt: skip
        for key, rows in sorted(self.rows.items()):
            in68, in95, width, error, points = np.array(rows, float).T
            print(f"{key[0]:20}{key[1]:10}{len(rows):5}{100 * np.mean(self.told[key]):6.0f}"
                  f"{100 * in68.mean():7.1f}{100 * in95.mean():7.1f}{np.median(width):9.3g}"
                  f"{error.mean():9.3g}{(error @ error / error.size) ** 0.5:9.3g}"
                  f"{points.mean():9.3g}")  # fmt: skip
        for (name, way), rows in self.rivals.items():
            guess, true = np.array(rows).T
            low, high = np.quantile(true - guess, (0.025, 0.975))
            points = [score(g + low, g + high, t) for g, t in rows]
            print(f"rival {name}, gravities {way}: interval score of share {np.mean(points):.3g}")
        near = 100 * np.mean(np.array(self.anchored) < 5)
        print(f"share within 5 %, anchored by two: {near:.0f} % of {len(self.anchored)}")
        for cooled, words in ((False, "nobody cools"), (True, "with a coil")):
            off = np.array([one for one, was in self.peaks if was == cooled])
            alone = self.between[cooled]
            print(f"peak, once announced, {words}: {100 * np.mean(off <= 1):.0f} % of {off.size} "
                  f"within 1 h; median {np.median(off):.2f} h, 90 % within "
                  f"{np.quantile(off, 0.9):.2f} h; {alone} by a band alone")  # fmt: skip
        for key in sorted(self.clean.keys() | self.stopped.keys()):
            lags = self.stopped[key]
            early = sum(one is not None and one < 0 for one in lags)
            within = sum(one is not None and 0 <= one <= 12 for one in lags)
            false = self.false[key]
            print(f"{key[0]}, gravities {key[1]}: {within} of {len(lags)} that stopped called "
                  f"within 12 h, {early} too early; {len(false)} of {self.clean[key]} others "
                  f"called falsely {false}; of {self.untold[key]} it cannot be told")  # fmt: skip
        print(f"a minute's step: mean {1000 * np.mean(self.costs):.2f} ms, 99.9 % within "
              f"{1000 * np.quantile(self.costs, 0.999):.1f} ms by the wall clock")  # fmt: skip


def judged(one, value):
    """Say whether the bands hold the truth, how wide they are, and the error."""
    return (one.low_68 <= value <= one.high_68, one.low <= value <= one.high,
            one.high - one.low, one.value - value, score(one.low, one.high, value))  # fmt: skip


def main(count=300, first=10_000):
    began, tally = time.process_time(), Tally()
    for ran, seed in enumerate(range(first, first + count), start=1):
        course = kept(seed)
        dice = Random(f"instant/{seed}")
        tally.watch(seed, course)
        tally.look(course, dice.uniform(3.0, life_h(course)), "none", [])
        at_h = dice.uniform(3.0, life_h(course))
        read = [course.gravity_at(at_h * part, dice.gauss(0, 0.001)) for part in (0.5, 0.9)]
        tally.look(course, at_h, "two", read)
        if ran % 20 == 0 or ran == count:
            print(f"\n{ran} ferments, seeds from {first}, two instants each; {tally.minutes} "
                  f"minutes read; {time.process_time() - began:.0f} s of CPU")  # fmt: skip
            tally.show()
            sys.stdout.flush()


if __name__ == "__main__":
    main(*(int(one) for one in sys.argv[1:3]))
