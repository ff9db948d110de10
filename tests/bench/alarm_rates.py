"""False alarms and delays of the rate rules, on simulated probes at 1/16 and 1/8 °C.

    python tests/bench/alarm_rates.py [--days 360] [--ramps 300] [--jobs 2]

Noise is white, 0.05 °C, with a slow wander; a reading a second. A false alarm is a slope over its
rule's limit on a probe whose temperature goes nowhere. A delay counts from the beginning of the
ramp to the scan that raises; the probe's own lag is added to it (a sheathed probe in moving water
about 10 s, in still liquid 25 to 60 s; common practice, no source). The peer, in the same run, is
a bare difference over the same window, which such rules are often made of.
"""

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[2]))

from api.alarms.detectors import Slope
from api.alarms.shipped import SHIPPED

DAY_S = 86_400
NOISE_C = 0.05
WANDER_C = 0.002
RULES = {  # rule: to units a second, the ramp to catch (K/s), the bar (s)
    "coolant_surge": (1.0, 0.5, 4),
    "coolant_jump": (1 / 60, 2 / 60, 15),
    "head_jump": (1 / 60, 0.3 / 60, 80),
}


def limit_of(rule):
    return SHIPPED[rule].limits.limit * RULES[rule][0]


def readings(dice, steps, ramp=lambda _t: 0.0):
    """Give quantised readings without end: a resting temperature, noise, and a slow wander."""
    wander, t = 0.0, 0
    while True:
        wander += dice.gauss(0.0, WANDER_C) - wander * 1e-5
        yield t, round((30.0 + wander + dice.gauss(0.0, NOISE_C) + ramp(t)) * steps) / steps
        t += 1


def false_alarms(work):
    """Count, over one probe-day, what each rule raises, and what a bare difference would."""
    seed, steps = work
    slopes = {rule: Slope(SHIPPED[rule].window_s) for rule in RULES}
    up, found, bare, bare_up = {}, dict.fromkeys(RULES, 0), dict.fromkeys(RULES, 0), {}
    limits = {rule: (limit_of(rule), limit_of(rule) - _deadband(rule)) for rule in RULES}
    past = []
    for t, value in readings(Random(seed * 100 + steps), steps):
        if t >= DAY_S:
            return steps, found, bare
        past.append(value)
        for rule, slope in slopes.items():
            limit, back = limits[rule]
            k_s = slope.see(t, 1, value)
            found[rule] += _edge(up, rule, k_s, limit, back)
            window = SHIPPED[rule].window_s
            if t >= window:
                bare[rule] += _edge(
                    bare_up, rule, (value - past[-1 - window]) / window, limit, back
                )
    return None


def _deadband(rule):
    return SHIPPED[rule].limits.deadband * RULES[rule][0]


def _edge(up, rule, k_s, limit, back):
    if k_s is None:
        return 0
    if up.get(rule):
        up[rule] = k_s > back
        return 0
    up[rule] = k_s > limit
    return int(up[rule])


def delay(work):
    """Give how long a rule takes to see its ramp."""
    seed, steps, rule = work
    _, ramp_k_s, _ = RULES[rule]
    window = SHIPPED[rule].window_s
    slope, began = Slope(window), 3 * window + Random(seed).randrange(60)
    limit = limit_of(rule)
    moving = readings(Random(seed), steps, lambda t: ramp_k_s * max(0, t - began))
    for t, value in moving:
        k_s = slope.see(t, 1, value)
        if t > began and k_s is not None and k_s > limit:
            return steps, rule, t - began
    return None


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--days", type=int, default=24)
    parser.add_argument("--ramps", type=int, default=300)
    parser.add_argument("--jobs", type=int, default=1)
    options = parser.parse_args()
    with ProcessPoolExecutor(options.jobs) as pool:
        for steps in (16, 8):
            days = [(seed, steps) for seed in range(options.days)]
            counted = list(pool.map(false_alarms, days))
            for rule, (_, _, bar) in RULES.items():
                false = sum(found[rule] for _, found, _ in counted)
                bare = sum(bare[rule] for _, _, bare in counted)
                works = [(seed, steps, rule) for seed in range(options.ramps)]
                took = sorted(seconds for _, _, seconds in pool.map(delay, works, chunksize=20))
                p50, p95 = took[len(took) // 2], took[int(0.95 * len(took))]
                print(
                    f"1/{steps} °C {rule:14} {false} false in {options.days} probe-days (bar 1 in "
                    f"360; a bare difference {bare}); delay p50 {p50} s, p95 {p95} s (bar {bar} s, "
                    f"of {len(took)}), plus the probe's lag",
                    flush=True,
                )


if __name__ == "__main__":
    main()
