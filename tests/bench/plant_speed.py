"""How fast the plant is: a three-day ferment and a ten-hour still day, simulated and stored.

Run by hand: `python tests/bench/plant_speed.py`. The bar is 30 s for both together, every scan
stored at the logger's own cadence, and again with a scan every second throughout ("full rate").
The peer, measured in the same run, is a general integrator on the ferment's equations alone.
"""

import tempfile
from pathlib import Path
from time import perf_counter, process_time

import numpy as np
from scipy.integrate import solve_ivp

from logger.cadence import Cadence
from logger.plant import history
from logger.plant.distillery import demo_channels, demo_size, finish, live_run, mash_and_ferment
from logger.plant.kinetics import rates
from logger.plant.run import Run
from logger.settings import Settings
from logger.store import database

FERMENT_H, STILL_H = 72, 10
TEXT = f"""
    {mash_and_ferment("fermenter 1", "bench")}
    wait until hour {FERMENT_H}
    {finish("fermenter 1", "bench")}
    wait until hour {FERMENT_H + STILL_H}
"""
FIRST = 1_700_000_000


class EverySecond(Cadence):
    """A cadence that never rests."""

    def period_s(self, slot):  # noqa: ARG002 - whatever the slot
        return 1


def measured(says, work):
    wall, cpu = perf_counter(), process_time()
    found = work()
    print(f"{says:62} {perf_counter() - wall:7.2f} s  ({process_time() - cpu:.2f} s of CPU)")
    return found


def stored(kind):
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder)
        database.prepare(data)
        engine = database.engine(data)
        barometer, scale = demo_channels(data / "w1")
        run = Run(TEXT, demo_size(), start_s=28_800.0)
        past = history.Past(run, kind(Settings(data=data)), barometer=barometer, scale=scale)
        to_slot = FIRST + (FERMENT_H + STILL_H) * 3600
        number = history.store(engine, past.scans(FIRST, to_slot), to_slot)
        engine.dispose()
        assert run.finished
        return number, run.plant.balance()


def simulated():
    run = Run(TEXT, demo_size(), start_s=28_800.0)
    run.advance(28_800.0 + (FERMENT_H + STILL_H) * 3600.0)
    return run


def peer():
    def slope(_, state):
        rate = rates(*np.maximum(state, 0.0), 30.0)
        return rate.cells, rate.ethanol, -rate.sugar

    return solve_ivp(slope, (0, FERMENT_H), (1.5, 0.0, 120.0), method="LSODA", rtol=1e-6)


def main():
    measured("tables made (once in a process)", demo_size and live_run)
    measured(f"simulated only, {FERMENT_H} h ferment + {STILL_H} h still day", simulated)
    for says, kind in (("at the logger's cadence", Cadence), ("a scan every second", EverySecond)):
        number, balance = measured(f"simulated and stored, {says}", lambda kind=kind: stored(kind))
        print(f"    {number} scans; alcohol {balance.alcohol_error:.1e}, ", end="")
        print(f"energy {balance.energy_error:.1e}")
    measured("peer: scipy LSODA on the ferment's kinetics alone", peer)


if __name__ == "__main__":
    main()
