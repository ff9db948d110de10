"""What a jar may not hold, and what may not be poured from it.

A jar is judged twice in the transaction that stores: by its own reading alone, and by the volume
the books give it, whose strength may lie between its neighbours' (see `api.record.room`).
"""

from collections.abc import Sequence
from typing import Final

from sqlmodel import Session, col

from calc.gravity import WATER_20C_KG_L
from logger.errors import ConflictError, RangeError
from logger.store.gauging import ROUNDING_L, Content, check_drawn
from logger.store.record_tables import Gauged, Jar, JarVessel, Transfer
from logger.store.standing import current
from logger.store.tables import Occupancy, Vessel

MOST_KG_PER_L: Final = WATER_20C_KG_L  # spirit is lighter than water: a kilogram takes no less
# An empty jar that was never weighed weighs no more; common practice, no source.
EMPTY_KG: Final = 1.0
EMPTY_KG_PER_L: Final = 1.0
FOUR_DIGITS: Final = 1000.0


def empty_jar(session: Session, number: int) -> JarVessel | None:
    """Read what is known of the empty jar of a number."""
    known = current(session, JarVessel, col(JarVessel.number) == number)
    return known[-1] if known else None


def check_jar(session: Session, jar: Jar, held: Content | None) -> None:
    """See that a jar holds no more than it can, and that no more was poured from it."""
    empty, still = empty_jar(session, jar.number), _still(session, jar)
    volume_l = _volume_l(jar, held, empty)
    if volume_l is not None:
        _check_size(jar, empty, volume_l, _field(jar))
        check_came_from(still, jar.number, volume_l, _field(jar))
    elif jar.mass_kg is not None:
        _check_untared(jar, jar.mass_kg, empty, still)
    # The mass counts, but both must be able to be.
    if jar.volume_l is not None and jar.mass_kg is not None:
        _check_size(jar, empty, jar.volume_l, "volume_l")
        check_came_from(still, jar.number, jar.volume_l)
    drawn = current(session, Transfer, col(Transfer.from_lot) == jar.about)
    if held is not None and held.volume_l is not None:
        check_drawn(f"jar {jar.number}", held, drawn)
    elif drawn:
        _check_drawn_unmeasured(jar, drawn, _most_l(empty, still))


def check_came_from(
    still: Vessel | None, number: int, volume_l: float, field: str = "volume_l"
) -> None:
    """See that a jar, whose own size nobody need have said, holds no more than its still does."""
    if still is not None and still.volume_l is not None and volume_l > still.volume_l:
        raise RangeError(
            f"{_shown(volume_l)} L in jar {number} are more than {still.name} holds, "
            f"{still.volume_l:g} L; correct the {_named(field)}.",
            field=field,
        )


def _volume_l(jar: Jar, held: Content | None, empty: JarVessel | None) -> float | None:
    """Say what is in a jar; of a mass of unknown strength, the least it can be."""
    if held is not None and held.volume_l is not None:
        return held.volume_l
    if jar.mass_kg is None or empty is None or empty.tare_kg is None:
        return None
    return round((jar.mass_kg - empty.tare_kg) / MOST_KG_PER_L, 3)


def _check_size(jar: Jar, empty: JarVessel | None, volume_l: float, field: str) -> None:
    if empty is not None and empty.volume_l and volume_l > empty.volume_l:
        raise RangeError(
            f"{_shown(volume_l)} L do not fit in jar {jar.number}, which holds "
            f"{empty.volume_l:g} L; correct the {_named(field)}, or what the jar holds.",
            field=field,
        )


def _check_untared(jar: Jar, mass_kg: float, empty: JarVessel | None, still: Vessel | None) -> None:
    """See that a jar weighed with its unknown tare is not heavier than it can be when full."""
    most_l = _most_l(empty, still)
    if most_l is None:
        return
    most_kg = EMPTY_KG + (EMPTY_KG_PER_L + MOST_KG_PER_L) * most_l
    if mass_kg > most_kg:
        raise RangeError(
            f"{mass_kg:g} kg are more than jar {jar.number} can weigh with {most_l:g} L in it, "
            f"about {most_kg:.1f} kg; correct the mass, or what the jar holds.",
            field="mass_kg",
        )


def _check_drawn_unmeasured(jar: Jar, drawn: Sequence[Gauged], most_l: float | None) -> None:
    """See that nothing follows once all was poured, and that no more came than fits in a jar."""
    poured_l, is_empty = 0.0, False
    for one in drawn:
        if is_empty:
            raise ConflictError(
                f"Nothing is left in jar {jar.number}: all there was in it was poured already; "
                "give that pouring its volume, or take it back.",
                field="from_lot",
            )
        is_empty = one.volume_l is None and one.mass_kg is None
        weighed_l = (one.mass_kg or 0.0) / MOST_KG_PER_L
        poured_l += weighed_l if one.volume_l is None else one.volume_l
        if most_l is not None and poured_l > most_l + ROUNDING_L:
            raise ConflictError(
                f"Jar {jar.number} was never measured and can have held {most_l:g} L at most, and "
                f"what was taken from it comes to {poured_l:.4g} L; correct one of the volumes.",
                field="volume_l" if one.mass_kg is None else "mass_kg",
            )


def _most_l(empty: JarVessel | None, still: Vessel | None) -> float | None:
    sizes = [one.volume_l for one in (empty, still) if one is not None and one.volume_l]
    return min(sizes, default=None)


def _still(session: Session, jar: Jar) -> Vessel | None:
    runs = current(session, Occupancy, col(Occupancy.about) == jar.run)
    stills = current(session, Vessel, col(Vessel.about) == runs[0].vessel) if runs else ()
    return stills[0] if stills else None


def _field(jar: Jar) -> str:
    """Say which of its fields a jar's content was told by."""
    return "mass_kg" if jar.mass_kg is not None and jar.volume_l is None else "volume_l"


def _shown(litres: float) -> str:
    return f"{litres:.4g}" if litres < FOUR_DIGITS else f"{litres:.0f}"


def _named(field: str) -> str:
    return "mass" if field == "mass_kg" else "volume"
