"""What the judging of a scan costs, with all shipped rules on a busy house; bar 0.5 ms.

    python tests/bench/alarm_evaluation.py [--scans 20000]

The house: a still with two condensers at the boil, a mash tun, two fermenters, the room: twelve
probes. The peer, in the same run, is the same scan read and written as JSON once.
"""

import argparse
import json
import sys
from pathlib import Path
from random import Random
from statistics import median
from time import perf_counter_ns, process_time_ns

sys.path.insert(0, str(Path(__file__).parents[2]))

from api.alarms.evaluate import Evaluation
from api.alarms.ground import CondenserGround, Ground, Moment, Spot, VesselGround
from api.alarms.shipped import SHIPPED

STILL = {"pot": 94.0, "column": 86.0, "head": 80.0, "coolant_in": 12.0, "coolant_out": 35.0,
         "reflux_out": 65.0, "spout": 17.0}  # fmt: skip
OTHER = {"mash": 65.0, "f1": 30.0, "f2": 28.0, "room": 20.0, "stock": 18.0}


def ground():
    spots = [Spot(name, name, "still") for name in STILL]
    spots += [Spot("mash", "mash", "tun"), Spot("f1", "ferment", "v1"), Spot("f2", "ferment", "v2")]
    spots += [Spot("room", "room"), Spot("stock", "tank", "tank")]
    vessels = (
        VesselGround("still", "still", "still", "element", 10.0, "spirit"),
        VesselGround("tun", "mash tun", "mash_tun", stage="mash"),
        VesselGround("v1", "fermenter 1", "fermenter", stage="ferment"),
        VesselGround("v2", "fermenter 2", "fermenter", stage="ferment"),
        VesselGround("tank", "tank", "tank"),
    )
    condensers = (
        CondenserGround("p", "product condenser", "still"),
        CondenserGround("r", "reflux condenser", "still", "reflux", "reflux_out"),
    )
    return Ground(tuple(spots), vessels, condensers)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--scans", type=int, default=20_000)
    options = parser.parse_args()
    dice, evaluation = Random(1), Evaluation(ground(), SHIPPED)
    took, cpu, peer = [], [], []
    for slot in range(1, options.scans + 1):
        values = {k: round((v + dice.gauss(0, 0.04)) * 16) / 16 for k, v in (STILL | OTHER).items()}
        moment = Moment(slot, 1, values)
        began, began_cpu = perf_counter_ns(), process_time_ns()
        evaluation.see(moment)
        cpu.append(process_time_ns() - began_cpu)
        took.append(perf_counter_ns() - began)
        began = perf_counter_ns()
        json.loads(json.dumps(values))
        peer.append(perf_counter_ns() - began)
    took.sort()
    print(
        f"{len(SHIPPED)} rules, {len(evaluation.judges)} alarms, 12 probes, {options.scans} scans: "
        f"median {median(took) / 1e6:.3f} ms, p95 {took[int(0.95 * len(took))] / 1e6:.3f} ms, "
        f"CPU mean {sum(cpu) / len(cpu) / 1e6:.3f} ms a scan (bar 0.5); "
        f"the scan to JSON and back {median(peer) / 1e6:.3f} ms"
    )


if __name__ == "__main__":
    main()
