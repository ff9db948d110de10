"""What the estimates cost: a step of all estimators together, and the replay of a long run.

    python tests/bench/estimate_cost.py [--hours 12] [--seed 20001]

Bars: 20 ms a step with a still, two ferments and a mash at work, 20 s for a replay of 12 h. The
peer of a step, in the same run, is the judging of ten scans by all shipped rules. The trace is a
simulated spirit run, drawn out to the hours asked for at a row a second; a jar is changed every
20 minutes. What a run leaves in the store is printed too: rows and bytes.
"""

import argparse
import csv
import gc
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import process_time
from uuid import uuid4

sys.path.insert(0, str(Path(__file__).parents[2]))

from api.alarms.evaluate import Evaluation
from api.alarms.ground import Charge, Moment
from api.alarms.replay import EstimateLine, ground_of, replay
from api.alarms.shipped import SHIPPED
from api.estimates import warming
from api.estimates.estimator import Step
from api.estimates.ferment.estimator import FermentEstimator
from api.estimates.ground import (
    FermentGround,
    MashGround,
    Measured,
    RestGround,
    RunGround,
    StillGround,
)
from api.estimates.issued import Issue, keep
from api.estimates.mash.estimator import MashEstimator
from api.estimates.restating import KEPT, Restating
from api.estimates.still.estimator import StillEstimator
from logger.plant.trace import write
from logger.store import database

BEGAN = datetime(2026, 3, 1, 8, tzinfo=UTC)
JAR_S, CHARGE = 1200, (38.4, 20.6)
FERMENT_C, MASH_C = 29.5, 65.0
MOST_MS = 20


def drawn_out(folder: Path, seed: int, hours: float) -> tuple[Path, Path]:
    """Write the trace at a row a second for so many hours, and its jars."""
    made, _ = write("spirit", seed, folder, during="", every_s=1)
    with made.open(newline="") as file:
        header, *rows = csv.reader(file)
    number = round(hours * 3600)
    trace, jars = folder / "long.csv", folder / "jars.csv"
    with trace.open("w", newline="") as out:
        writer = csv.writer(out)
        writer.writerow(header)
        for second in range(number):
            at = (BEGAN + timedelta(seconds=second)).isoformat()
            writer.writerow([at, *rows[second * len(rows) // number][1:]])
    with jars.open("w", newline="") as out:
        writer = csv.writer(out)
        writer.writerow(["time", "volume_l", "reading_abv", "temperature_c"])
        for second in range(number // 3, number, JAR_S):
            strength = 78.0 - 40.0 * second / number
            at = (BEGAN + timedelta(seconds=second)).isoformat()
            writer.writerow([at, 0.4, round(strength, 1), 18])
    return trace, jars


def replayed(trace: Path, jars: Path) -> list[EstimateLine]:
    charge, began = Charge(volume_l=CHARGE[0], abv=CHARGE[1]), process_time()
    said = list(replay(trace, "spirit", charge, jars, lambda why: print(why, file=sys.stderr)))
    took = process_time() - began
    estimates = [one for one in said if isinstance(one, EstimateLine)]
    print(f"replay: {took:.1f} s of CPU, {len(estimates)} estimates restated (bar 20 s)")
    return estimates


def steps_of(trace: Path) -> list[Step]:
    """Take the last row of every ten seconds as their mean."""
    with trace.open(newline="") as file:
        rows = list(csv.DictReader(file))[9::10]
    found = []
    for row in rows:
        slot = int(datetime.fromisoformat(row.pop("time")).timestamp())
        hpa = float(row.pop("pressure_hpa"))
        found.append(Step(slot, {key: float(value) for key, value in row.items()}, hpa))
    return found


def stepped(steps: list[Step]) -> None:
    began = process_time()
    warming.warm(steps[0].pressure_hpa)
    print(f"tables, made once before the first step: {(process_time() - began) * 1000.0:.0f} ms")
    begin = steps[0].slot
    still = StillEstimator(StillGround(volume_l=60.0, heat_source="element", power_w=4000.0))
    still.know(
        RunGround(
            "bench", "spirit", begin, Measured(CHARGE[0], 0.4), Measured(CHARGE[1], 0.3),
            end_abv=10.0,
        ),
        {},
    )  # fmt: skip
    ferments = [FermentEstimator(), FermentEstimator()]
    for one in ferments:
        one.know(FermentGround("bench", begin, 250.0, volume_l=200.0, pitched_slot=begin), {})
    mash = MashEstimator()
    rest = RestGround(62.0, 67.0, 60.0, begin)
    mash.know(MashGround("bench", begin, 250.0, grain_kg=50.0, liquor_l=180.0, rests=(rest,)), {})
    took, issued, kept = [], [], Restating(KEPT)
    gc.freeze()  # as the service does with what is loaded
    for step in steps:
        warm = step.values | {"ferment": FERMENT_C, "mash": MASH_C}
        shown = Step(step.slot, warm, step.pressure_hpa)
        began = process_time()
        for one in (still, *ferments, mash):
            one.see([shown])
            one.tell()
        took.append((process_time() - began) * 1000.0)
        # Only what the service would keep: what is held here is gone through for garbage there.
        issued += [(step.slot, one) for one in kept.take(step.slot, still.tell())]
    ranked = sorted(took)
    over = sum(one > MOST_MS for one in took)
    print(
        f"step: {median(took):.2f} ms, 99 of 100 within {ranked[len(ranked) * 99 // 100]:.2f} ms, "
        f"worst {ranked[-1]:.1f} ms of CPU; {over} of {len(took)} over {MOST_MS} ms"
    )
    stored(issued)


def stored(issued: list) -> None:
    """Keep what a service would have kept, and weigh it."""
    with TemporaryDirectory() as folder:
        data = Path(folder)
        database.prepare(data)
        engine, run = database.engine(data), uuid4()
        before = (data / database.FILE_NAME).stat().st_size
        keep(engine, (Issue(run, slot, BEGAN, one) for slot, one in issued))
        with engine.connect() as connection:
            connection.exec_driver_sql("COMMIT")
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
        engine.dispose()
        size = (data / database.FILE_NAME).stat().st_size - before
    print(f"kept: {len(issued)} rows, {size / 1e6:.2f} MB")


def judged(trace: Path, steps: list[Step]) -> None:
    columns = [*steps[0].values, "pressure_hpa"]
    evaluation = Evaluation(ground_of(trace, columns, "spirit"), SHIPPED)
    took = []
    for step in steps:
        began = process_time()
        for second in range(10):
            values = step.values | {"pressure_hpa": step.pressure_hpa}
            evaluation.see(Moment(step.slot - 9 + second, 1, values))
        took.append((process_time() - began) * 1000.0)
    print(f"peer: ten scans judged by all rules in {median(took):.2f} ms")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--hours", type=float, default=12.0)
    parser.add_argument("--seed", type=int, default=20_001)
    options = parser.parse_args()
    with TemporaryDirectory() as folder:
        trace, jars = drawn_out(Path(folder), options.seed, options.hours)
        steps = steps_of(trace)
        stepped(steps)
        judged(trace, steps)
        replayed(trace, jars)


if __name__ == "__main__":
    main()
