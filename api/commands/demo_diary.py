"""What the demonstration's crew could have seen of its plant, noted while the past is worked out.

Only numbers a crew could read off: volumes, strengths, gravities, temperatures; as they truly were.
The errors of reading are added where the record is written.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Final

from logger.plant.fluid import ETHANOL_KG_L
from logger.plant.parameters import STILL
from logger.plant.run import Run
from logger.plant.witness import gravity
from logger.reading import Scan

STILL_EVERY_S: Final = 10.0
TANKS_EVERY_S: Final = 600.0


@dataclass(frozen=True, slots=True)
class StillSeen:
    """The still at one second: what has come over since the charge, and what is in the pot."""

    t_s: float
    batch: str
    stage: str
    receiver: str
    power_kw: float
    collected_l: float
    collected_pure_l: float
    spout_c: float
    pot_l: float
    pot_abv: float
    pot_c: float


@dataclass(frozen=True, slots=True)
class TankSeen:
    """A tank at one second; volume and strength at 20 °C."""

    t_s: float
    batch: str
    vessel: str
    stage: str
    volume_l: float
    abv: float
    sg: float
    temperature_c: float


@dataclass(slots=True)
class Diary:
    """Everything noted of one run of the plant."""

    run: Run
    still: list[StillSeen] = field(default_factory=list)
    tanks: list[TankSeen] = field(default_factory=list)
    _still_s: float = float("-inf")
    _tanks_s: float = float("-inf")

    def beside(self, scans: Iterable[Scan]) -> Iterator[Scan]:
        """Note what can be seen beside each scan that is taken."""
        for scan in scans:
            self._look()
            yield scan

    def _look(self) -> None:
        t_s, stages = self.run.t_s, self.run.plant.stages
        if t_s - self._still_s >= STILL_EVERY_S and stages.get(STILL, "empty") != "empty":
            self._still_s = t_s
            self.still.append(self._of_still())
        if t_s - self._tanks_s >= TANKS_EVERY_S:
            self._tanks_s = t_s
            self.tanks.extend(self._of_tanks())

    def _of_still(self) -> StillSeen:
        plant = self.run.plant
        pot = plant.still.pot
        return StillSeen(
            t_s=self.run.t_s,
            batch=self._batch_in(STILL),
            stage=plant.stages[STILL],
            receiver=plant.receiver,
            power_kw=plant.power_w / 1000.0,
            collected_l=plant.collected_l,
            collected_pure_l=plant.collected_kg / ETHANOL_KG_L,
            spout_c=plant.still.spout.temperature_c,
            pot_l=pot.volume_l,
            pot_abv=pot.abv if pot.mol > 0.0 else 0.0,
            pot_c=pot.temperature_c,
        )

    def _of_tanks(self) -> Iterator[TankSeen]:
        for name, tank in self.run.plant.tanks.items():
            liquid = tank.liquid
            if liquid.mol <= 0.0 or self.run.plant.stages.get(name, "empty") == "empty":
                continue
            volume_l = tank.volume_l
            yield TankSeen(
                t_s=self.run.t_s,
                batch=self._batch_in(name),
                vessel=name,
                stage=self.run.plant.stages[name],
                volume_l=volume_l,
                abv=100.0 * liquid.pure_alcohol_l / volume_l,
                sg=gravity(tank),
                temperature_c=tank.temperature_c,
            )

    def _batch_in(self, vessel: str) -> str:
        marks = self.run.crew.marks
        return next(mark.batch for mark in reversed(marks) if mark.vessel == vessel)
