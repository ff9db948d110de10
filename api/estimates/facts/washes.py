"""What is dissolved in a wash that is charged: from its last gravity and its strength."""

from collections.abc import Sequence
from math import hypot
from typing import Final

from sqlalchemy import Engine
from sqlmodel import col

from api.estimates.ground import Measured
from api.record.entries import sg_of
from calc.attenuation import alcohol_from_gravity
from calc.errors import OutOfRangeError
from calc.extract import real_extract_g_l
from logger.store import facts
from logger.store.record_tables import Lot, StageEntry, Transfer
from logger.store.tables import Occupancy

GRAVITY_G_L: Final = 2.6  # one mark of a usual hydrometer, 0.001
STRENGTH_G_L: Final = 3.5  # for each % vol by which the strength is off
# The two published relations, by strength and by attenuation, differ by two to three.
RELATION_G_L: Final = 3.0


def dissolved_in_wash(engine: Engine, run: Occupancy, abv: Measured | None) -> Measured | None:
    """Return grams in a litre of what was charged; None where it is no single wash with a gravity.

    The strength is that of the charge where it is known, else by the wash's attenuation.
    """
    charges = facts.all_current(engine, Transfer, col(Transfer.to_lot) == run.about)
    sources = {one.from_lot for one in charges}
    lots = facts.all_current(engine, Lot, col(Lot.about).in_([one for one in sources if one]))
    if len(sources) != 1 or [one.kind for one in lots] != ["wash"]:
        return None
    until = max(one.effective_at for one in charges)
    said = facts.all_current(engine, StageEntry, col(StageEntry.batch) == lots[0].batch)
    return _of_gravities([one for one in said if one.effective_at <= until], abv)


def _of_gravities(said: Sequence[StageEntry], abv: Measured | None) -> Measured | None:
    pitched = min((one.effective_at for one in said if one.kind == "yeast"), default=None)
    gravities = (one for one in said if one.kind == "gravity")
    read = sorted((one.effective_at, sg) for one in gravities if (sg := sg_of(one)) is not None)
    if pitched is None or not read or read[-1][0] <= pitched:
        return None
    original = [sg for at, sg in read if at <= pitched]
    try:
        strength = abv or _by_attenuation(original[-1] if original else None, read[-1][1])
        if strength is None:
            return None
        grams = real_extract_g_l(read[-1][1], strength.value)
    except OutOfRangeError:  # a gravity that no wash of this strength has tells nothing
        return None
    error = hypot(GRAVITY_G_L, STRENGTH_G_L * strength.error, RELATION_G_L)
    return Measured(grams, error)


def _by_attenuation(original_sg: float | None, sg: float) -> Measured | None:
    if original_sg is None:
        return None
    return Measured(alcohol_from_gravity(original_sg, sg).abv, 0.5)
