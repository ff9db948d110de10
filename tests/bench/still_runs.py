"""Plant runs of the still for the figures of its estimates: made once by seed, kept in a folder.

`python tests/bench/still_runs.py FOLDER KIND FIRST LAST` makes those that are not there yet. A run
is kept as ten-second steps of what is true and of what each place's probe feels, without its error
or noise: those are drawn when the run is read, so that one run serves good probes and poor ones.
"""

import json
import sys
from pathlib import Path
from random import Random

import numpy as np

from logger.plant.parameters import STILL_PLACES
from logger.plant.practice import practice
from logger.plant.run import Run
from logger.plant.witness import spout_abv, spout_l_min

STEP_S = 10
LONGEST_S = 36 * 3600
COOL_C = 50.0  # what the estimates take for cool
PLACES = (*STILL_PLACES, "room")
COLUMNS = (
    "t_s", *PLACES, "pressure_hpa", "still_hpa", "pot_l", "pot_abv", "pot_pure_l", "head_abv",
    "spout_abv", "spout_l_min", "collected_l", "collected_pure_l", "heat_w", "power_w",
    "vapour_mol_s", "column_pure_l", "condensing_w", "water_l_min",
)  # fmt: skip


def make(kind: str, seed: int, folder: Path) -> Path:
    """Run one through and keep it; nothing to do where it is kept already."""
    path = folder / f"{kind}-{seed}.npz"
    if path.exists():
        return path
    run = practice(kind, seed)
    dice = Random(f"solids/{seed}")
    pot = run.plant.still.pot
    about = {
        "kind": kind, "seed": seed, "charge_l": pot.volume_l, "charge_abv": pot.abv,
        "charge_pure_l": pot.pure_alcohol_l, "dissolved_g_l": 0.0,
    }  # fmt: skip
    if kind == "strip" and dice.random() < 0.5:
        about["dissolved_g_l"] = dice.uniform(0.0, 60.0)
        run.plant.still.solids_kg = about["dissolved_g_l"] * pot.volume_l / 1000.0
    size = run.plant.size.still
    # A power that switches within seconds must not beat with the steps it is simulated in.
    step_s = 1.0 if size.power_cycle_s > 0.0 else float(STEP_S)
    rows, receivers, began_s = [_row(run)], [(run.t_s, run.plant.receiver)], run.t_s
    pot_c = COLUMNS.index("pot")
    # The crew is done before the pot is cool; nobody needs to stand by for that.
    while run.t_s < began_s + LONGEST_S and not (run.finished and rows[-1][pot_c] < COOL_C - 1.0):
        before_j = run.plant.still.heat_in_j
        run.advance(run.t_s + STEP_S, step_s=step_s)
        rows.append(_row(run))
        rows[-1][COLUMNS.index("heat_w")] = (run.plant.still.heat_in_j - before_j) / STEP_S
        if run.plant.receiver != receivers[-1][1]:
            receivers.append((run.t_s, run.plant.receiver))
    about |= {
        "receivers": receivers, "volume_l": size.volume_l, "stages": size.stages,
        "reflux": size.reflux is not None, "head_probe": size.head_probe,
        "heat_source": size.heat_source, "efficiency": size.efficiency,
        "loss_w_k": size.loss_w_k, "noise_c": run.plant.size.noise_c,
        "element_cover_l": size.element_cover_l,
    }  # fmt: skip
    part = path.with_suffix(f".{seed}.part")
    with part.open("wb") as file:
        np.savez_compressed(file, rows=np.array(rows), about=json.dumps(about))
    part.rename(path)
    return path


def _row(run: Run) -> list[float]:
    plant = run.plant
    still = plant.still
    cell = still.neck
    if cell is None or (still.size.head_probe == "before_reflux" and still.stages):
        cell = still.stages[-1] if still.stages else still.pot
    boiling = still.vapour_mol_s > 0.0 and cell.mol > 0.0
    head = plant.fluid.abv(plant.fluid.boil(cell.fraction, still.hpa).vapour) if boiling else 0.0
    return [
        run.t_s, *(plant.feelers[place].felt_c for place in PLACES), plant.pressure_hpa, still.hpa,
        still.pot.volume_l, still.pot.abv, still.pot.pure_alcohol_l, head, spout_abv(plant),
        spout_l_min(plant), plant.collected_l, plant.collected_kg / 0.78924, still.heat_w,
        plant.power_w, still.vapour_mol_s, sum(c.pure_alcohol_l for c in still.cells[1:]),
        plant.condensing_w, plant.water_l_min["product"],
    ]  # fmt: skip


def read(path: Path) -> tuple[dict[str, np.ndarray], dict[str, object]]:
    """Give a kept run: its columns by name, and what is to be known about it."""
    with np.load(path) as kept:
        rows = kept["rows"]
        return dict(zip(COLUMNS, rows.T, strict=True)), json.loads(str(kept["about"]))


if __name__ == "__main__":
    into, first, last = Path(sys.argv[1]), int(sys.argv[3]), int(sys.argv[4])
    into.mkdir(parents=True, exist_ok=True)
    for seed in range(first, last + 1):
        for each in sys.argv[2].split("+"):
            make(each, seed, into)
