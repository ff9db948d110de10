"""The fault x rule table on many unseen plant runs, and what clean runs raise.

Each fault must raise one of its alarms within its time; misses and false alarms are counted. Faults
that no rule is for count as missed where nothing at all comes up. A clean batch, which is a run of
every kind, may raise at most one alarm above low. `--runs N` of each kind, `--from SEED`.
"""

import argparse
import sys
from collections import Counter, defaultdict
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.api.alarms.fault_runs import FAULTS, OTHERS, befall, boiling, clean
from tests.api.alarms.fault_scenes import SCENES


def main() -> None:
    """Run the table."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--runs", type=int, default=20)
    ask.add_argument("--from", dest="first", type=int, default=50_000)
    ask.add_argument("--kinds", default="mash,ferment,strip,spirit")
    asked = ask.parse_args()
    seeds = range(asked.first, asked.first + asked.runs)
    outcomes, batches = defaultdict(list), Counter()
    for kind in asked.kinds.split(","):
        for seed in seeds:
            for one in of_run(kind, seed):
                outcomes[one.fault].append(one)
        loud = {seed: found for seed in seeds if (found := clean(kind, seed))}
        most = max(map(len, loud.values()), default=0)
        batches.update({seed: len(found) for seed, found in loud.items()})
        print(f"clean {kind}: {asked.runs} runs, {len(loud)} with an alarm above low, most {most}")
        for seed, found in loud.items():
            print(f"    seed {seed}: {found}")
    over = sum(number > 1 for number in batches.values())
    print(f"clean batches: {asked.runs}, {over} with more than one alarm above low")
    for fault, found in outcomes.items():
        print(line(fault, found))
        for one in found:
            if one.missed or one.false:
                print(f"    {one.kind} {one.seed}: {one.raised} {one.false}")


def of_run(kind, seed):
    """Give what the faults of a kind did on one run; those that do not matter there left out."""
    found = [scene(kind, seed) for scene in SCENES.get(kind, ())]
    at_boil = boiling(kind, seed) if kind in {"strip", "spirit"} else None
    if at_boil is not None:
        found += [befall(at_boil, fault, kind) for fault in (*FAULTS, *OTHERS)]
    return [one for one in found if one is not None]


def line(fault, found):
    """Sum up one fault."""
    after = sorted(one.after_s for one in found if one.after_s is not None)
    first = Counter(min(one.raised, key=one.raised.get) for one in found if one.raised)
    times = f"p50 {median(after):.0f} s, most {after[-1]} s" if after else ""
    misses, false = sum(one.missed for one in found), sum(bool(one.false) for one in found)
    by = ", ".join(f"{rule} {number}" for rule, number in first.most_common(4))
    return f"{fault}: {len(found)} runs, {misses} missed, {false} false; {times}; first: {by}"


if __name__ == "__main__":
    main()
