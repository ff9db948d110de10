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

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

sys.path.insert(0, str(Path(__file__).parents[2]))

from api.alarms.detectors import LAG_READINGS, NEIGHBOURS, TICKS, Slope
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
    """Count, over one probe-day, what each rule raises, and what a bare difference would.

    The slopes of a whole day at once, by the sums the rules' own detector keeps; `disagreement`
    holds the one against the other.
    """
    seed, steps = work
    values = day_of(seed, steps)
    found, bare = {}, {}
    for rule in RULES:
        window, limit = SHIPPED[rule].window_s, limit_of(rule)
        back = limit - SHIPPED[rule].limits.deadband * RULES[rule][0]
        found[rule] = times_over(slopes_of(values, window), limit, back)
        bare[rule] = times_over((values[window:] - values[:-window]) / window, limit, back)
    return steps, found, bare


def day_of(seed, steps):
    """Give a day of quantised readings: a resting temperature, noise, and a slow wander."""
    dice = np.random.default_rng([seed, steps])
    falls = (1.0 - 1e-5) ** np.arange(DAY_S)
    wander = falls * np.cumsum(dice.normal(0.0, WANDER_C, DAY_S) / falls)
    return np.round((30.0 + wander + dice.normal(0.0, NOISE_C, DAY_S)) * steps) / steps


def slopes_of(values, window):
    """Give least-squares slopes of medians of five over a window, K/s, once it is full."""
    medians = np.median(sliding_window_view(values, NEIGHBOURS), axis=1)
    ticks = np.concatenate(([0], np.cumsum(np.round(medians * TICKS).astype(np.int64))))
    at = np.arange(len(medians), dtype=np.int64)
    weighted = np.concatenate(([0], np.cumsum(at * np.diff(ticks))))
    n = window - LAG_READINGS + 1  # the newest median stands for a while ago
    first, last = at[: len(at) - n + 1], at[n - 1 :] + 1
    sv, stv = ticks[last] - ticks[first], weighted[last] - weighted[first]
    stv = stv - first * sv  # counted from the window's first
    st, stt = n * (n - 1) // 2, (n - 1) * n * (2 * n - 1) // 6
    return (n * stv - st * sv) / (n * stt - st * st) / TICKS


def times_over(slopes, limit, back):
    """Count how often a slope comes over a limit, until it has fallen back each time."""
    over, fallen = np.flatnonzero(slopes > limit), np.flatnonzero(slopes <= back)
    number, clear = 0, -1
    for place in over:
        if place > clear:
            number += 1
            after = np.searchsorted(fallen, place)
            clear = fallen[after] if after < len(fallen) else len(slopes)
    return number


def disagreement(steps):
    """Give the most by which the slopes of a day differ from those of the rules' own detector."""
    values, most = day_of(0, steps), 0.0
    for rule in RULES:
        window = SHIPPED[rule].window_s
        slope = Slope(window)
        own = [slope.see(t, 1, value) for t, value in enumerate(values[:20_000])]
        full = window + LAG_READINGS
        ours = slopes_of(values[:20_000], window)[-(len(own) - full) :]
        most = max(most, np.abs(ours - np.array(own[full:], dtype=float)).max())
    return most


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
            apart = disagreement(steps)
            print(f"1/{steps} °C: within {apart:.1e} K/s of the rules' own detector", flush=True)
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
