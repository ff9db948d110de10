"""How much of a charge's alcohol has been measured in jars: nothing estimated, only added up."""

from collections.abc import Iterable
from math import hypot
from typing import Final

from api.estimates.estimate import Estimate
from api.estimates.ground import JarGround, Measured, RunGround

QUANTITY: Final = "measured_percent"
NO_CHARGE: Final = "The charge's volume and strength have not both been entered."
NO_JAR: Final = "No jar has both its volume and its strength measured yet."
MEASURE_OTHERS: Final = "Measure the volume and strength of the other jars."
COVERS_95: Final = 1.96
COVERS_68: Final = 1.0


def measured_share(run: RunGround) -> Estimate:
    """Say which part of the charge's alcohol the measured jars hold, in percent.

    Errors are taken as independent: u² = (abv u_V)² + (V u_abv)² of each, after JCGM 100:2008,
    5.1.2; those of strengths read with one alcoholometer would add up, so that this is the least.
    """
    charge = alcohol_in(run.charge_volume_l, run.charge_abv)
    jars = [one for jar in run.jars if (one := _of_jar(jar)) is not None]
    if charge is None or charge.value <= 0.0:
        return Estimate(QUANTITY, None, None, None, NO_CHARGE)
    if not jars:
        return Estimate(QUANTITY, None, None, None, NO_JAR)
    return percent_of(
        QUANTITY,
        summed(jars),
        charge,
        rests_on=(
            f"Measured in {len(jars)} of {len(run.jars)} jars, and the charge as it was entered.",
        ),
        narrows=(MEASURE_OTHERS,) if len(jars) < len(run.jars) else (),
    )


def percent_of(
    quantity: str,
    over: Measured,
    charge: Measured,
    rests_on: tuple[str, ...],
    narrows: tuple[str, ...],
) -> Estimate:
    """Tell which part of the charge's alcohol something is, with the errors of both."""
    percent = 100.0 * over.value / charge.value
    error = percent * hypot(charge.error / charge.value, over.error / max(over.value, 1e-9))
    return Estimate(
        quantity,
        percent,
        max(0.0, percent - COVERS_95 * error),
        percent + COVERS_95 * error,
        None,
        max(0.0, percent - COVERS_68 * error),
        percent + COVERS_68 * error,
        rests_on,
        narrows,
    )


def _of_jar(jar: JarGround) -> Measured | None:
    return alcohol_in(jar.volume_l, jar.abv)


def alcohol_in(volume_l: Measured | None, abv: Measured | None) -> Measured | None:
    """Give the pure alcohol of a volume, in litres; None where either is not known."""
    if volume_l is None or abv is None:
        return None
    error = hypot(abv.value * volume_l.error, volume_l.value * abv.error) / 100.0
    return Measured(volume_l.value * abv.value / 100.0, error)


def summed(parts: Iterable[Measured]) -> Measured:
    """Add up numbers whose errors are independent."""
    known = list(parts)
    return Measured(sum(one.value for one in known), hypot(*(one.error for one in known)))
