"""How honest and how good the still's estimates are, on plant runs kept by still_runs.py.

`python tests/bench/estimate_still.py FOLDER FIRST LAST [PART...] [--crews N]` goes through the runs
whose seeds lie between; parts are bands, strip, spirit, boil and cost. The plant's equilibrium is
another than calc's; probes, pressure, charge, power, readings and jars are drawn, for each of so
many crews anew. Prints, per quantity and stage, how often the bands held the truth at one random
instant of each stage of each run, and the interval score with its ratio to two rivals': the
temperature alone, and the charge alone; how near stripping and spirit runs came. The bands are
printed again after every so many runs.
"""

import argparse
import sys
import time
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from itertools import zip_longest
from math import comb
from pathlib import Path

import numpy as np
from still_cases import WEIGHED, Case, Knows, case, tails_at
from still_rival import charge_alone
from still_runs import read

from api.estimates.still.estimator import StillEstimator
from calc.vapour_strength import pot_strength, vapour_strength

SHOWN_EVERY = 100
PARTS = ["bands", "strip", "spirit", "boil", "cost"]
_KNOWN = Knows(
    calibrated=True, pressure="measured", charge=True, power=True, readings=0, jars=False
)
_STRIPS = {
    "calibrated, no reading": _KNOWN,
    "calibrated, three readings": replace(_KNOWN, readings=3),
    "calibrated, three readings, charge weighed": replace(_KNOWN, readings=3, charge_error=WEIGHED),
    "uncalibrated, no barometer, no reading": replace(_KNOWN, calibrated=False, pressure="none"),
}


def stage_instants(made: Case, dice) -> dict[str, int]:
    """Draw one instant of each stage; heating from where the charge is mixed."""
    boil, off = made.boil, made.off
    middle = (made.drop + off) // 2
    ends = {
        "heating": (boil // 4 + 30, boil - 3),
        "first half": (made.drop + 30, middle),
        "second half": (middle, off - 3),
        "cooling": (off + 30, min(off + 200, len(made.steps) - 3)),
    }
    return {name: int(dice.integers(a, b)) for name, (a, b) in ends.items() if b > a + 1}


def follow(made: Case, instants: list[int]):
    """Go through a case; gives (instant, estimates by name) where asked."""
    estimator = StillEstimator(made.still)
    estimator.know(made.run, made.probes)
    wanted, done = sorted(instants), 0
    for i in wanted:
        estimator.see(made.steps[done : i + 1])
        done = i + 1
        yield i, {one.quantity: one for one in estimator.tell()}


def score(low: float, high: float, true: float, alpha: float = 0.05) -> float:
    """Give the interval score (Gneiting & Raftery 2007, doi 10.1198/016214506000001437)."""
    return high - low + 2.0 / alpha * (max(low - true, 0.0) + max(true - high, 0.0))


def one_run(path: Path, salt: int = 0) -> list[tuple]:
    """Give rows: kind, stage, quantity, five of the band, true, why, two rivals' bands, doubts."""
    columns, about = read(path)
    made = case(columns, about, Knows(), salt)
    dice = np.random.default_rng([about["seed"], 99, salt])
    instants = {i: name for name, i in stage_instants(made, dice).items()}
    rows, alone = [], charge_alone(made, columns["power_w"], list(instants))
    for i, told in follow(made, list(instants)):
        for quantity, values in made.truth.items():
            found, true = told.get(quantity), float(values[i])
            if found is None or not np.isfinite(true):
                continue
            rows.append(
                (
                    about["kind"], instants[i], quantity, found.low, found.low_68, found.value,
                    found.high_68, found.high, true, found.why, _rival(quantity, made, i),
                    alone[i].get(quantity), bool(found.contradictions),
                )
            )  # fmt: skip
    return rows


def _rival(quantity: str, made: Case, i: int):
    """Give what the temperature alone says at once."""
    if quantity not in ("pot_abv", "vapour_abv", "spout_abv"):
        return None
    step = made.steps[i]
    place = "pot" if quantity == "pot_abv" else "head"
    tell = pot_strength if quantity == "pot_abv" else vapour_strength
    hpa, error = (step.pressure_hpa, 2.0) if step.pressure_hpa else (1000.0, 36.0)
    found = tell(step.values[place], hpa, 1.96 * made.probes[place].error_c, error)
    return None if found.abv_low is None else (found.abv_low, found.abv_high)


def print_bands(rows: list[tuple]) -> None:
    """Print how often bands held, per kind, quantity and stage."""
    groups = defaultdict(list)
    for row in rows:
        groups[row[0], row[2], row[1]].append(row)
    print(
        f"{'kind':7}{'quantity':27}{'stage':12} n   told%  68%   95%  bias/sd score, rivals' "
        "(ours to theirs)"
    )
    cells = []
    for (kind, quantity, stage), found in sorted(groups.items()):
        told = [row for row in found if row[5] is not None]
        nothing_yet = not any(row[8] for row in told)  # before anything is over
        if nothing_yet or (quantity == "minutes_to_boil" and stage != "heating"):
            continue
        n = len(told)
        in_68 = sum(row[4] <= row[8] <= row[6] for row in told) / n
        in_95 = sum(row[3] <= row[8] <= row[7] for row in told) / n
        cells.append((n, in_68, in_95))
        z = np.median([(row[5] - row[8]) / max((row[6] - row[4]) / 2, 1e-9) for row in told])
        width = np.mean([score(row[3], row[7], row[8]) for row in told])
        print(
            f"{kind:7}{quantity:27}{stage:12}{len(found):4} {100 * n / len(found):5.0f} "
            f"{100 * in_68:5.0f} {100 * in_95:5.0f} {z:6.2f}  {width:.3g}  "
            f"{_beside(told, 10, 'temperature')}  {_beside(told, 11, 'charge')}"
        )
    _print_cells(cells)
    late = [row[12] for row in rows if row[1:3] == ("second half", "collected_l")]
    print(f"something is said not to fit in {100 * np.mean(late):.1f} % of second halves")
    why = defaultdict(int)
    for row in rows:
        if row[5] is None and row[1] in ("first half", "second half"):
            why[row[2], row[9]] += 1
    print("why not, while it boils:")
    for (quantity, reason), n in sorted(why.items(), key=lambda one: -one[1])[:25]:
        print(f"  {n:4} {quantity}: {reason}")


def _print_cells(cells: list[tuple[int, float, float]]) -> None:
    """Print how many lie within the bars, beside how many true bands would by chance."""
    for name, place, true, low, high in (("68", 1, 0.68, 0.60, 0.76), ("95", 2, 0.95, 0.92, 0.98)):
        within = sum(low <= cell[place] <= high for cell in cells)
        chance = sum(_within(cell[0], true, low, high) for cell in cells)
        print(
            f"{name} % bands hold the truth in {100 * low:.0f} to {100 * high:.0f} % in {within} "
            f"of {len(cells)} cells; true bands would, with so few runs, in {chance:.0f}"
        )


def _within(number: int, share: float, low: float, high: float) -> float:
    """Give how likely a share of so many draws lies between two limits: binomial."""
    counts = [k for k in range(number + 1) if low <= k / number <= high]
    return sum(comb(number, k) * share**k * (1.0 - share) ** (number - k) for k in counts)


def _beside(told: list[tuple], place: int, name: str) -> str:
    """Say a rival's score over the runs where both tell, and our score's share of it."""
    both = [row for row in told if row[place] is not None]
    if not both:
        return ""
    ours = np.mean([score(row[3], row[7], row[8]) for row in both])
    theirs = np.mean([score(*row[place], row[8]) for row in both])
    return f"{name} {theirs:.3g} ({ours / max(theirs, 1e-9):.2f})"


def paths(folder: Path, kind: str, first: int, last: int) -> list[Path]:
    """Find the kept runs of a kind."""
    found = [folder / f"{kind}-{seed}.npz" for seed in range(first, last + 1)]
    return [path for path in found if path.exists()]


def strip_bars(path: Path) -> list[tuple]:
    """Give what the bars for stripping ask, with no spout reading and with three."""
    columns, about = read(path)
    rows = []
    for said, knows in _STRIPS.items():
        made = case(columns, about, knows)
        weak = np.flatnonzero(columns["pot_abv"][made.drop : made.off] < 10.0) + made.drop
        some = [int(i) for i in weak[30 :: max(len(weak) // 6, 1)]] or [made.off - 10]
        twenty = max(made.off - 120, made.drop + 30)
        for i, told in follow(made, sorted({*some, twenty, made.off - 1})):
            pot = told["pot_abv"]
            if i in some and pot.value is not None:
                error = pot.value - columns["pot_abv"][i]
                rows.append((said, "pot % vol", error, pot.high - pot.low))
            if i == twenty and told["minutes_to_end"].value is not None:
                end = told["minutes_to_end"]
                error = end.value - made.truth["minutes_to_end"][i]
                rows.append((said, "end min", error, end.high - end.low))
            if i == made.off - 1:
                litres, abv = told["collected_l"], told["collected_abv"]
                true = columns["collected_l"][i]
                rows.append((said, "volume %", 100 * (litres.value / true - 1),
                             100 * (litres.high - litres.low) / true))  # fmt: skip
                error = abv.value - made.truth["collected_abv"][i]
                rows.append((said, "strength % vol", error, abv.high - abv.low))
    return rows


def spirit_bars(path: Path) -> list[tuple]:
    """Give the recovery given jars, and where the hint of tails came."""
    columns, about = read(path)
    made = case(columns, about, replace(_KNOWN, jars=True))
    rows = []
    tails = tails_at(columns, made.off)
    jar_l = made.run.jars[0].volume_l.value if made.run.jars else 1.0
    hinted = None
    for i, told in follow(made, [*range(made.drop + 60, made.off - 1, 30), made.off - 1]):
        near = told["tails_near"]
        if hinted is None and near.value is not None and near.value >= 50.0:
            hinted = i
        if i == made.off - 1:
            found, true = told["recovered_percent"].value, made.truth["recovered_percent"][i]
            rows.append((about["reflux"], "recovered %", found - true, 0.0))
    if tails:
        litres = columns["collected_l"]
        ahead = -1.0 if hinted is None else float(litres[tails] - litres[hinted]) / jar_l
        rows.append((about["reflux"], "tails, jars ahead", ahead, 0.0))
    return rows


def boil_bar(path: Path) -> list[tuple]:
    """Give the error of the time to boil from half-way of heating on, as a share."""
    columns, about = read(path)
    made = case(columns, about, replace(_KNOWN, power=None))
    begin = int(np.argmax(columns["power_w"] > 0.0))
    some = [begin + int((made.boil - begin) * part) for part in (0.5, 0.6, 0.7, 0.8)]
    rows = []
    for i, told in follow(made, some):
        found, true = told["minutes_to_boil"].value, made.truth["minutes_to_boil"][i]
        whole = (made.boil - begin) / 6.0
        rows.append(
            (found is not None, (found or 0.0) / true - 1.0, ((found or 0.0) - true) / whole)
        )
    return rows


def cost(path: Path) -> None:
    """Print what a step and a replay cost."""
    columns, about = read(path)
    made = case(columns, about, replace(_KNOWN, readings=3, jars=True))
    estimator = StillEstimator(made.still)
    estimator.know(made.run, made.probes)
    longest, began = 0.0, time.process_time()
    for step in made.steps:
        before = time.process_time()
        estimator.see([step])
        estimator.tell()
        longest = max(longest, time.process_time() - before)
    mean = (time.process_time() - began) / len(made.steps)
    before = time.process_time()
    other = StillEstimator(made.still)
    other.see(made.steps)
    other.know(made.run, made.probes)
    other.tell()
    again, hours = time.process_time() - before, len(made.steps) / 360.0
    print(
        f"cost: {1000 * mean:.2f} ms a step with all told, {1000 * longest:.1f} ms at most; gone "
        f"through again {again:.2f} s for {hours:.1f} h, {12 * again / hours:.2f} s for 12 h"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("first", type=int)
    parser.add_argument("last", type=int)
    parser.add_argument("parts", nargs="*", default=PARTS, help=f"of {', '.join(PARTS)}")
    parser.add_argument("--crews", type=int, default=1, help="each run is judged so many times")
    asked = parser.parse_args()
    what, first, last = asked.parts, asked.first, asked.last
    strips, spirits = (paths(asked.folder, kind, first, last) for kind in ("strip", "spirit"))
    print(f"{len(strips)} stripping and {len(spirits)} spirit runs, seeds {first} to {last}")
    with ProcessPoolExecutor(2) as pool:
        if "bands" in what:
            rows = []
            mixed = [one for pair in zip_longest(strips, spirits) for one in pair if one]
            each, crews = mixed * asked.crews, np.repeat(range(asked.crews), len(mixed)).tolist()
            for done, found in enumerate(pool.map(one_run, each, crews), start=1):
                rows += found
                if done % SHOWN_EVERY == 0 or done == len(each):
                    print(f"\nbands over {done} runs, {asked.crews} crews")
                    print_bands(rows)
                    sys.stdout.flush()
        if "strip" in what:
            _print_strip([row for rows in pool.map(strip_bars, strips) for row in rows])
        if "spirit" in what:
            _print_spirit([row for rows in pool.map(spirit_bars, spirits) for row in rows])
        if "boil" in what:
            rows = [row for rows in pool.map(boil_bar, strips + spirits) for row in rows]
            told = [row for row in rows if row[0]]
            of_rest, of_whole = (np.abs([row[k] for row in told]) for k in (1, 2))
            print(
                f"time to boil from half-way: told {100 * len(told) / len(rows):.0f} %; within "
                f"10 % of what is left {100 * np.mean(of_rest < 0.1):.0f} %, of the whole "
                f"heating {100 * np.mean(of_whole < 0.1):.0f} %; median "
                f"{100 * np.median(of_rest):.1f} %"
            )
    if "cost" in what:
        cost(spirits[0])


def _print_strip(rows) -> None:
    limits = {
        "pot % vol": 0.5,
        "end min": 4.0,
        "volume %": (5.0, 2.0),
        "strength % vol": (1.0, 0.5),
    }
    groups = defaultdict(list)
    for said, name, error, width in rows:
        groups[said, name].append((abs(error), width))
    for (said, name), found in sorted(groups.items()):
        errors, widths = np.array(found).T
        limit = limits[name]
        limit = limit[_STRIPS[said].readings == 3] if isinstance(limit, tuple) else limit
        print(
            f"strip, {said}, {name}: within {limit} in {100 * np.mean(errors < limit):.0f} % of "
            f"{len(errors)}; median {np.median(errors):.2f}, 95 % {np.quantile(errors, 0.95):.2f}; "
            f"band's width {np.median(widths):.2f}"
        )


def _print_spirit(rows) -> None:
    for reflux in (True, False):
        errors = [abs(row[2]) for row in rows if row[0] == reflux and row[1] == "recovered %"]
        ahead = np.array([row[2] for row in rows if row[0] == reflux and row[1] != "recovered %"])
        if not errors or not len(ahead):
            continue
        print(
            f"spirit, {'reflux' if reflux else 'pot still'}: recovered within 3 % in "
            f"{100 * np.mean(np.array(errors) < 3.0):.0f} % of {len(errors)}, 95 % "
            f"{np.quantile(errors, 0.95):.2f}; tails hinted a jar or more ahead in "
            f"{100 * np.mean(ahead >= 1.0):.0f} % of {len(ahead)}, median {np.median(ahead):.2f} "
            f"jars, more than three jars too soon in {100 * np.mean(ahead > 3.0):.0f} %"
        )


if __name__ == "__main__":
    main()
