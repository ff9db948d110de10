"""What brings a mash back to the middle of its rest's range: heat, or boiling water."""

from typing import Final

import numpy as np

from api.estimates.estimate import Estimate
from api.estimates.ground import MashGround, RestGround
from api.estimates.mash import words
from api.estimates.mash.sample import Sample, band, cannot
from calc.arrays import median
from calc.errors import OutOfRangeError
from calc.mash_keeping import VESSEL_KJ_K_L, hot_water_l, mash_kj_k
from calc.pressure import STANDARD_HPA, water_boiling_point
from calc.quantities import FloatArray

NARROWS: Final = (words.CALIBRATE, words.STIR)
GRAIN_L_KG: Final = 0.65  # room that wet grain takes (from memory)
COOLED_K: Final = 1.0  # boiling water on its way to the mash (common practice, no source)


def heat_kj(
    ground: MashGround,
    rest: RestGround,
    sample: Sample,
    now_c: FloatArray,
    unseen: tuple[str, ...] = (),
) -> Estimate:
    """Tell the heat that takes it to mid-range; none where it is there or above."""
    name = "heat_to_add_kj"
    if why := _missing(ground, rest, now_c):
        return cannot(name, *why)
    return band(name, _lacks(ground, rest, sample, now_c), (_bill(ground), *unseen), NARROWS)


def water_l(
    ground: MashGround,
    rest: RestGround,
    sample: Sample,
    now_c: FloatArray,
    pressure_hpa: float | None,
    unseen: tuple[str, ...] = (),
) -> Estimate:
    """Tell the boiling water that does the same, measured cold."""
    name = "water_to_add_l"
    if why := _missing(ground, rest, now_c):
        return cannot(name, *why)
    rests_on = [_bill(ground), *unseen]
    if pressure_hpa is None:
        rests_on.append(words.NO_PRESSURE)
    boiling_c = _boiling_c(pressure_hpa)
    middle = (rest.low_c + rest.high_c) / 2.0
    if boiling_c - COOLED_K * 2.0 <= middle:
        return cannot(name, words.TOO_HOT_FOR_WATER, rests_on, NARROWS)
    water_c = boiling_c - COOLED_K * sample.vessel * 2.0
    litres = hot_water_l(
        _lacks(ground, rest, sample, now_c), water_c, np.full(water_c.size, middle)
    )
    if too_full := _too_full(ground, float(median(litres))):
        rests_on.insert(0, too_full)
    return band(name, litres, rests_on, NARROWS)


def _boiling_c(pressure_hpa: float | None) -> float:
    try:
        return water_boiling_point(STANDARD_HPA if pressure_hpa is None else pressure_hpa)
    except OutOfRangeError:  # a barometer that shows what no air has
        return water_boiling_point(STANDARD_HPA)


def _missing(
    ground: MashGround, rest: RestGround, now_c: FloatArray
) -> tuple[str, tuple[str, ...], tuple[str, ...]] | None:
    """Say what stands against an answer, and what would help."""
    if ground.grain_kg is None:
        return words.NO_GRAIN, (), (words.ENTER_GRAIN,)
    if ground.liquor_l is None:
        return words.NO_LIQUOR, (), (words.ENTER_LIQUOR,)
    if float(median(now_c)) > rest.high_c:
        return words.TOO_WARM, (), NARROWS
    return None


def _lacks(ground: MashGround, rest: RestGround, sample: Sample, now_c: FloatArray) -> FloatArray:
    """Give the heat in kJ that each member lacks to mid-range, 0 or more."""
    own = mash_kj_k(ground.liquor_l or 0.0, ground.grain_kg or 0.0) * sample.share
    light, heavy = VESSEL_KJ_K_L
    takes_l = ground.vessel_volume_l or 1.4 * ((ground.liquor_l or 0.0) + (ground.grain_kg or 0.0))
    vessel = takes_l * (light + (heavy - light) * sample.vessel)
    lacks_k = (rest.low_c + rest.high_c) / 2.0 - now_c
    return np.asarray((own + vessel) * np.maximum(lacks_k, 0.0))


def _bill(ground: MashGround) -> str:
    return words.FROM_BILL.format(grain_kg=ground.grain_kg or 0.0, liquor_l=ground.liquor_l or 0.0)


def _too_full(ground: MashGround, litres: float) -> str | None:
    total_l = (ground.liquor_l or 0.0) + GRAIN_L_KG * (ground.grain_kg or 0.0) + litres
    if ground.vessel_volume_l is None or total_l <= ground.vessel_volume_l:
        return None
    return words.OVERFLOWS.format(total_l=total_l, vessel_l=ground.vessel_volume_l)
