"""The demonstration's older cask: brought to strength, filled, sampled, weighed and topped up."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any, Final

from api.commands.demo_reading import CELLAR_C, FIRST_TASTED, SAMPLE_L, Reading, Told
from calc.contents import contents_by_volume
from calc.proofing import dilution_by_weight
from logger.store.record_tables import Lot, Measure, Transfer
from logger.store.tables import Fact, Vessel

NAME: Final = "cask 2"
FILLED_ABV: Final = 62.0
CASK_L: Final = 20.0
CASK_HOLDS_L: Final = 20.5
TARE_KG: Final = 11.8
# What a new small cask drinks and breathes away: most in its first days (invented).
LOST_KG: Final = (0.21, 0.16, 0.09)  # before each weighing
TOP_UP_L: Final = 0.4


def filled(told: Told, hearts: Lot, at: datetime, volume_l: float, abv: float) -> Iterator[Fact]:
    """Write down what became of the older hearts, from water to the cask's last weighing."""
    weight_kg = contents_by_volume(volume_l, abv).weight_in_air_kg
    water_kg = round(dilution_by_weight(weight_kg, abv, FILLED_ABV).water_weight_kg, 2)
    batch = hearts.batch
    yield from told.entry(at, kind="water_added", batch=batch, lot=hearts.about, mass_kg=water_kg)
    at += timedelta(hours=2)
    held_l = volume_l * abv / FILLED_ABV
    found = told.spirit(held_l, FILLED_ABV, CELLAR_C, 0.002)
    yield told.first(Measure, at, lot=hearts.about, **found.columns)
    wood = told.first(Vessel, at, name=NAME, kind="cask", volume_l=CASK_HOLDS_L, material="oak")
    cask = told.first(Lot, at, kind="cask", name=NAME, batch=batch, vessel=wood.about)
    yield from (wood, cask)
    at += timedelta(minutes=10)
    moved = Reading(volume_l=CASK_L, volume_temperature_c=20.0, volume_error_l=0.02)
    yield told.first(
        Transfer, at, from_lot=hearts.about, to_lot=cask.about, kind="move", **moved.columns
    )
    yield from _aged(told, hearts, cask, at)


def _aged(told: Told, hearts: Lot, cask: Lot, at: datetime) -> Iterator[Fact]:
    """Weigh the cask some times, with a sample before the first and a top-up after the second."""
    first, second, third = (at + timedelta(days=days) for days in (1.0, 3.0, 5.0))
    about: dict[str, Any] = {"batch": cask.batch, "lot": cask.about, "temperature_c": CELLAR_C}
    net_kg = contents_by_volume(CASK_L, FILLED_ABV).weight_in_air_kg
    yield from _weighed(told, at, net_kg, about, text="Filled.")
    yield from told.entry(first, kind="sample", volume_l=SAMPLE_L, text=FIRST_TASTED, **about)
    net_kg -= LOST_KG[0] + contents_by_volume(SAMPLE_L, FILLED_ABV).weight_in_air_kg
    yield from _weighed(told, first + timedelta(minutes=5), net_kg, about)
    net_kg -= LOST_KG[1]
    yield from _weighed(told, second, net_kg, about)
    topped = second + timedelta(hours=1)
    yield from told.entry(topped, kind="top_up", refers=hearts.about, volume_l=TOP_UP_L, **about)
    net_kg += contents_by_volume(TOP_UP_L, FILLED_ABV).weight_in_air_kg - LOST_KG[2]
    yield from _weighed(told, third, net_kg, about)


def _weighed(
    told: Told, at: datetime, net_kg: float, about: dict[str, Any], text: str = ""
) -> Iterator[Fact]:
    yield from told.entry(
        at, kind="cask_weight", tare_kg=TARE_KG, mass_kg=round(TARE_KG + net_kg, 2), text=text,
        reading_abv=told.shown(FILLED_ABV, CELLAR_C), **about,
    )  # fmt: skip
