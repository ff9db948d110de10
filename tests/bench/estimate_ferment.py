"""How true a ferment's estimates are: bands, rivals, peak, fraction, standstill, cost.

    nice -n 19 python tests/bench/estimate_ferment.py [FERMENTS] [FIRST_SEED]

Ferments are drawn by seeds not used in tuning (10,000 and up) and kept under /tmp. Each is looked
at at two random instants, once with no gravities after pitching and once with two. The rivals of
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
from ferment_runs import kept

from api.estimates.ferment.estimator import FermentEstimator

CALLED = 60.0  # per cent, from where a ferment is called stuck


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


def looked(course, at_h, gravities):
    ground = replace(course.ground, gravities=tuple(gravities))
    estimator = FermentEstimator()
    estimator.know(ground, course.probes)
    estimator.see(course.steps(at_h))
    return {one.quantity: one for one in estimator.tell()}


def watched(course):
    """Go through a whole ferment with no gravities, asked every four hours whether it has stopped.

    Gives hours from the start and the probability, and what a step cost.
    """
    estimator = FermentEstimator()
    estimator.know(course.ground, course.probes)
    last_h = (course.died_h or course.end_h or course.time_h[-1]) + 14
    found, costs, due_h = [], [], 12.0
    for step in course.steps(min(last_h, course.time_h[-1])):
        start = time.perf_counter()
        estimator.see((step,))
        costs.append(time.perf_counter() - start)
        hour = (step.slot - course.ground.from_slot) / 3600.0
        if hour >= due_h:
            due_h += 4.0
            stuck = {one.quantity: one for one in estimator.tell()}["stuck_percent"]
            found.append((hour, stuck.value or 0.0))
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


def main(count, first):
    began = time.process_time()
    inside = defaultdict(list)
    scores, rivals = defaultdict(list), defaultdict(list)
    anchored, told, peaks, steps = [], defaultdict(list), [], 0
    stopped, false, clean, costs = [], 0, 0, []
    for seed in range(first, first + count):
        course = kept(seed)
        dice = Random(f"instant/{seed}")
        alarms, cost = watched(course)
        costs.extend(cost)
        called = next((hour for hour, percent in alarms if percent >= CALLED), None)
        if course.stuck and course.died_h:
            stopped.append((None if called is None else called - course.died_h))
        elif not course.stuck:
            clean += 1
            false += called is not None
        life_h = min(course.end_h or course.time_h[-1] - 24, course.time_h[-1] - 14) + 12
        for way in ("none", "two"):
            at_h = dice.uniform(3.0, life_h)
            gravities = []
            if way == "two":
                gravities = [course.gravity_at(at_h * s, dice.gauss(0, 0.001)) for s in (0.5, 0.9)]
            found, true = looked(course, at_h, gravities), truth(course, at_h)
            steps += int(at_h * 60)
            for name, value in true.items():
                one = found[name]
                told[name, way].append(one.value is not None)
                if one.value is None:
                    continue
                inside[name, way].append(
                    (one.low_68 <= value <= one.high_68, one.low <= value <= one.high,
                     value < one.low, one.high - one.low, one.value - value))
                scores[name, way].append(score(one.low, one.high, value))
            if way == "two" and found["fermented_percent"].value is not None:
                anchored.append(found["fermented_percent"].value - true["fermented_percent"])
            for name, guess in zip(("warmth", "record"), naive(course, at_h, gravities), strict=True):
                rivals[name, way].append((guess, true["fermented_percent"]))
            since = found["hours_since_peak"]
            if since.value is not None:
                peaks.append((at_h - since.value - course.peak_h, course.cooled))
    spent = time.process_time() - began
    print(f"{count} ferments, seeds from {first}, two instants each; {steps} minutes of readings")
    print(f"{'quantity':20}{'gravities':10}{'told':>6}{'68 %':>7}{'95 %':>7}{'below':>7}{'width':>9}{'error':>9}{'score':>9}")
    for (name, way), rows in sorted(inside.items()):
        in68, in95, below, width, error = (np.array(one, float) for one in zip(*rows, strict=True))
        print(f"{name:20}{way:10}{100*np.mean(told[name, way]):6.0f}{100*in68.mean():7.1f}{100*in95.mean():7.1f}"
              f"{100*below.mean():7.1f}{np.median(width):9.4g}{np.sqrt(np.mean(error**2)):9.4g}{np.mean(scores[name, way]):9.4g}")
    for (name, way), rows in rivals.items():
        guess, true = np.array(rows).T
        low, high = np.quantile(true - guess, (0.025, 0.975))
        print(f"rival {name}, {way}: interval score of the share "
              f"{np.mean([score(g + low, g + high, t) for g, t in rows]):.3g}")
    anchored = np.abs(anchored)
    print(f"share within 5 % when anchored by two gravities: {100*np.mean(anchored < 5):.0f} % of {len(anchored)}")
    for cooled in (False, True):
        off = np.abs([p for p, c in peaks if c == cooled])
        if off.size:
            print(f"peak, once announced, within 1 h: {100*np.mean(off <= 1):.0f} % of {off.size} "
                  f"({'cooled' if cooled else 'not cooled'}; median {np.median(off):.2f} h, 90 % within {np.quantile(off, .9):.2f} h)")
    early = sum(one is not None and one < 0 for one in stopped)
    found = sum(one is not None and 0 <= one <= 12 for one in stopped)
    print(f"stopped short: {found} of {len(stopped)} called within 12 h, {early} before they stopped; "
          f"{false} of {clean} clean ferments called falsely")
    print(f"a minute's step: mean {1000*np.mean(costs):.2f} ms, 99.9 % within {1000*np.quantile(costs, .999):.1f} ms; {spent:.0f} s of CPU")


if __name__ == "__main__":
    main(*(int(one) for one in (sys.argv[1:] + ["300", "10000"])[:2] if one) if len(sys.argv) > 2 else (int((sys.argv[1:] or ["300"])[0]), 10000))
