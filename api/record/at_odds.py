"""Entries whose volume, mass and strength cannot be of one liquid.

A litre of a known strength has one weight. Where both were measured and differ by more than the
errors of all three allow, one of them is wrong; the mass counts in the books, and the entry is
doubted, with the slips that would explain it. What holds sugar or grain weighs more than spirit and
water of its strength: wash and backset are not judged so.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import hypot
from typing import Final
from uuid import UUID

from api.record.amounts import COVERAGE, ROUNDING_L
from api.record.books_read import BooksRead
from api.record.claims import Doubt, Slip
from api.record.collected import Collected
from api.record.ledger import SAME_L
from api.record.slip_trials import (
    COST_DIGITS,
    COST_PROOF,
    exchanged,
    fitting_c,
    strangeness,
)
from calc.alcoholometer import true_strength
from calc.contents import contents_by_volume, contents_by_weight
from logger.store.gauging import (
    INSTRUMENTS,
    MASS_ERROR_FRACTION,
    USUAL,
    VOLUME_ERROR_FRACTION,
    Content,
    Strength,
    temperature_of_volume_c,
)
from logger.store.record_tables import Gauged

CLEAR: Final = ("low_wines", "feints", "spirit", "blend", "cask", "bottles", "water")
COST_TARE: Final = 1.0  # common practice, no source


@dataclass(frozen=True, slots=True)
class Both:
    """A liquid measured by volume and by mass."""

    volume_l: float
    at_c: float  # of the volume
    mass_kg: float  # without what held it
    strength: Strength
    volume_error_l: float

    @property
    def by_volume_l(self) -> float:
        """Litres at 20 °C, as the measure showed."""
        return contents_by_volume(self.volume_l, self.strength.abv, self.at_c).volume_at_20_c_l

    @property
    def by_mass_l(self) -> float:
        """Litres at 20 °C, as the scale showed."""
        return contents_by_weight(self.mass_kg, self.strength.abv).volume_at_20_c_l

    @property
    def sure_l(self) -> float:
        """What the errors of volume, mass and strength allow between the two."""
        abv, error_abv = self.strength.abv, self.strength.error_abv
        other = contents_by_weight(self.mass_kg, max(abv - error_abv, 0.0)).volume_at_20_c_l
        by_strength_l = self.by_mass_l - other
        by_mass_l = MASS_ERROR_FRACTION * self.by_mass_l
        return COVERAGE * hypot(self.volume_error_l, by_mass_l, by_strength_l) + SAME_L

    @property
    def gap_l(self) -> float:
        """By mass less by volume."""
        return self.by_mass_l - self.by_volume_l

    @property
    def fits(self) -> bool:
        """Whether the two agree within their errors."""
        return abs(self.gap_l) <= self.sure_l


def at_odds(read: BooksRead, node: UUID) -> Iterator[Doubt]:
    """Point out the entries of a lot or of a jar that cannot be of one liquid."""
    if node in read.lots:
        for name, one in _of_lot(read, node):
            content = read.contents[one.id]
            yield from _doubted(name, one, content, 0.0)
        return
    for run, jars in read.jars.items():
        for each in jars:
            if each.jar.about == node and each.enters_the_books:
                name = f"jar {each.jar.number} of {read.name_of(run)}"
                yield from _doubted(name, each.jar, each.content, _tare_kg(each))


def _of_lot(read: BooksRead, lot: UUID) -> Iterator[tuple[str, Gauged]]:
    """Give what was measured of a clear lot, taken from it, or put into it from outside."""
    name = read.lots[lot].name
    if read.lots[lot].kind not in CLEAR:
        return
    yield from ((f"{name} as measured", one) for one in read.measures if one.lot == lot)
    for one in read.transfers:
        from_still = one.from_lot in read.runs
        if one.from_lot == lot:
            yield f"what went from {name}", one
        elif one.to_lot == lot and (one.from_lot is None or from_still):
            yield f"what came into {name}", one


def _tare_kg(one: Collected) -> float | None:
    """Say what the empty jar weighs by what its content came to; None where nobody knows."""
    jar, content = one.jar, one.content
    if content is None or content.volume_l is None or content.strength is None:
        return None
    if jar.mass_kg is None or jar.volume_l is None:
        return None
    abv = content.strength.abv
    at_20 = contents_by_volume(jar.volume_l, abv, temperature_of_volume_c(jar)).volume_at_20_c_l
    if abs(at_20 - content.volume_l) < ROUNDING_L:  # counted by its volume: it was never tared
        return None
    return jar.mass_kg - content.volume_l / contents_by_weight(1.0, abv).volume_at_20_c_l


def _doubted(
    name: str, one: Gauged, content: Content | None, tare_kg: float | None
) -> Iterator[Doubt]:
    both = _both(one, content, tare_kg)
    if both is None or both.fits or (tare_kg is None and both.gap_l > 0.0):
        return
    counts, gross = ("The mass", "") if tare_kg is not None else ("The volume", ", jar and all,")
    sentence = (
        f"{name}: {both.by_volume_l:.3g} L by its volume and {both.by_mass_l:.3g} L by its mass "
        f"({both.mass_kg:.3g} kg{gross} at {both.strength.abv:.1f} % vol); the measurements let "
        f"them differ by {both.sure_l:.2g} L. {counts} counts; see which is wrong, and correct it."
    )
    slips = sorted(_slips(name, one, both, tare_kg or 0.0), key=lambda slip: slip.cost)
    yield Doubt(name, sentence, None, None, tuple(slips))


def _both(one: Gauged, content: Content | None, tare_kg: float | None) -> Both | None:
    if content is None or content.strength is None or not one.volume_l or not one.mass_kg:
        return None
    stated = one.volume_error_l
    return Both(
        one.volume_l,
        temperature_of_volume_c(one),
        one.mass_kg - (tare_kg or 0.0),
        content.strength,
        VOLUME_ERROR_FRACTION * one.volume_l if stated is None else stated,
    )


def _slips(name: str, one: Gauged, both: Both, tare_kg: float) -> Iterator[Slip]:
    """Try each measurement: a slip counts where putting it right lets them agree."""
    if tare_kg and replace(both, mass_kg=both.mass_kg + tare_kg).fits:
        said = f"The mass may have been entered without its jar, which weighs {tare_kg:.3g} kg."
        yield Slip("tare", name, said, COST_TARE)
    if one.volume_temperature_c in {None, 20.0} and both.at_c == 20.0:
        at_c = fitting_c(lambda t: replace(both, at_c=t).gap_l, both.sure_l)
        if at_c is not None:
            how = "hot" if at_c > 20.0 else "cold"
            said = f"The volume may have been read {how}: at {at_c:.0f} °C it would fit."
            yield Slip("volume_hot", name, said, strangeness(at_c))
    yield from _of_strength(name, one, both)
    for what, turned, value, unit in (
        *((replace(both, volume_l=x), x, both.volume_l, "L") for x in exchanged(both.volume_l)),
        *((replace(both, mass_kg=x - tare_kg), x, one.mass_kg, "kg")
          for x in exchanged(one.mass_kg or 0.0) if x > tare_kg),
    ):  # fmt: skip
        if what.fits:
            said = f"The digits may stand the wrong way round: {turned:g} {unit} for {value:g}."
            yield Slip("digits", name, said, COST_DIGITS)


def _of_strength(name: str, one: Gauged, both: Both) -> Iterator[Slip]:
    abv = both.strength.abv
    glass = INSTRUMENTS[one.instrument or USUAL].reference_c is not None
    if one.reading_abv is None:
        return
    if glass and one.temperature_c in {None, 20.0}:
        now = _read_at(both, 20.0)
        at_c = fitting_c(lambda t: _read_at(both, t).gap_l, now.sure_l)
        if at_c is not None:
            said = f"The strength may not have been corrected: read at {at_c:.0f} °C it would fit."
            yield Slip("not_corrected", name, said, strangeness(at_c))
    if _with_abv(both, abv / 2.0).fits:
        said = f"The strength may have been entered as proof: {abv:g} proof is {abv / 2:g} % vol."
        yield Slip("proof", name, said, COST_PROOF)


def _read_at(both: Both, at_c: float) -> Both:
    return _with_abv(both, true_strength(both.strength.abv, at_c).abv_at_20_c)


def _with_abv(both: Both, abv: float) -> Both:
    return replace(both, strength=replace(both.strength, abv=abv))
