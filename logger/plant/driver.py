"""Drives the ordinary simulated bus with a plant: what its probes feel becomes kernel files."""

import csv
from collections.abc import Sequence
from contextlib import suppress
from functools import partial
from pathlib import Path
from threading import Event
from time import monotonic
from typing import TextIO

import orjson

from logger.bus.simulated import (
    SimulatedBarometer,
    SimulatedBus,
    SimulatedProbe,
    SimulatedScale,
)
from logger.plant import orders
from logger.plant.distillery import CELL_KG_MV, DEMO_PROBES, DemoProbe, on_the_scale_kg
from logger.plant.run import Run
from logger.plant.troubles import Trouble
from logger.plant.truth import Truth

_PATIENCE_S = 0.02  # how soon readers and orders are answered
_STEP_S = 1.0


class PlantDriver:
    """Keeps a bus's folder in time with a run; bus faults work as on any simulated bus."""

    def __init__(
        self,
        folder: Path,
        run: Run,
        *,
        probes: Sequence[DemoProbe] = DEMO_PROBES,
        seed: int = 1,
        truth_file: Path | None = None,
    ) -> None:
        self.run = run
        self._felt = run.plant.readings()
        self._ordered = frozenset[Trouble]()
        self.bus = SimulatedBus(
            folder,
            [self._probe(one, seed) for one in probes],
            barometer=SimulatedBarometer(lambda _: run.plant.pressure_hpa),
            scale=SimulatedScale(lambda _: on_the_scale_kg(run.plant) / CELL_KG_MV),
            bulk=[1],
            t_s=run.t_s,
        )
        self._truth = None if truth_file is None else TruthTable(truth_file)
        self._say(run.truth())

    def step(self, to_s: float) -> None:
        """Take the plant to a second of the scenario, and the bus with it."""
        self.run.advance(to_s, step_s=_STEP_S)
        self._felt = self.run.plant.readings()
        self.bus.step(self.run.t_s)
        self._say(self.run.truth())

    def obey(self) -> float:
        """Take over what the control folder orders; gives the seconds jumped ahead."""
        self.bus.obey()
        plant = self.run.plant
        standing = orders.standing(self.bus.control, plant.size.places)
        for case in standing.values():
            if plant.cases.get(case.trouble) != case:
                plant.befall(case)
        for trouble in self._ordered - standing.keys():
            plant.mend(trouble)
        self._ordered = frozenset(standing)
        return orders.take_jump(self.bus.control)

    def serve(self, stop: Event, *, speed: float = 1.0) -> None:
        """Go on at the scenario's pace, times `speed`, until told to stop."""
        from_s, began_s, stepped_s = self.run.t_s, monotonic(), float("-inf")
        while not stop.is_set():
            now_s = monotonic()
            from_s += self.obey()
            if now_s - stepped_s >= _STEP_S:
                stepped_s = now_s
                self.step(from_s + (now_s - began_s) * speed)
            self.bus.answer()
            stop.wait(_PATIENCE_S)

    def close(self) -> None:
        """Take everything off the bus."""
        self.bus.close()
        with suppress(FileNotFoundError):
            orders.state_file(self.bus.folder).unlink()
        if self._truth is not None:
            self._truth.close()

    def _probe(self, probe: DemoProbe, seed: int) -> SimulatedProbe:
        return SimulatedProbe(
            probe.probe_id,
            partial(self._feels, probe.feels),
            genuine=probe.genuine,
            noise_c=self.run.plant.size.noise_c,
            seed=seed,
        )

    def _feels(self, place: str, _t_s: float) -> float:
        return self._felt[place]

    def _say(self, truth: Truth) -> None:
        """Tell other processes how the plant stands, and keep the truth where asked to."""
        path = orders.state_file(self.bus.folder)
        fresh = path.with_name(f".{path.name}.new")
        fresh.write_bytes(orjson.dumps({"finished": self.run.finished, "truth": truth}))
        fresh.replace(path)
        if self._truth is not None:
            self._truth.write(truth, self._felt)


class TruthTable:
    """A CSV file of what is true beside what the probes feel, a line a step."""

    def __init__(self, path: Path) -> None:
        self._file: TextIO = path.open("w", newline="", encoding="utf-8")
        self._writer: csv.DictWriter[str] | None = None

    def write(self, truth: Truth, felt: dict[str, float]) -> None:
        """Add a line."""
        row = {"t_s": f"{truth.t_s:.3f}"}
        row |= {place: f"{value:.4f}" for place, value in felt.items()}
        row |= truth.row()
        if self._writer is None:
            self._writer = csv.DictWriter(self._file, list(row))
            self._writer.writeheader()
        self._writer.writerow(row)
        self._file.flush()

    def close(self) -> None:
        """Finish the file."""
        self._file.close()
