"""Yeast: what warmth it stands, and how much of it a wash takes."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from calc.quantities import Quantity, checked
from calc.sugar_wash import WashVolumeL

# What a yeast stands, °C (common practice, no source).
Yeast = Literal["ordinary", "spirit", "heat-tolerant"]
YEAST_MAXIMUM_C: Mapping[Yeast, float] = {"ordinary": 35.0, "spirit": 38.0, "heat-tolerant": 42.0}
# Dry yeast, grams in a litre of wash, low and high (common practice, no source).
Pitch = Literal["ordinary", "fast"]
DRY_YEAST_G_L: Mapping[Pitch, tuple[float, float]] = {"ordinary": (0.3, 0.5), "fast": (1.0, 2.5)}
PRESSED_PER_DRY = 3.0  # by dry matter, 92 % against 30 % (from memory)

YEAST_MASS = Quantity("yeast_g", "Yeast", "g", 0, 1e9, 0)


@dataclass(frozen=True, slots=True)
class YeastAmount:
    """The yeast a wash takes."""

    dry_yeast_low_g: Annotated[float, YEAST_MASS.called("Dry yeast, at least")]
    dry_yeast_high_g: Annotated[float, YEAST_MASS.called("Dry yeast, at most")]
    pressed_yeast_low_g: Annotated[float, YEAST_MASS.called("Or pressed yeast, at least")]
    pressed_yeast_high_g: Annotated[float, YEAST_MASS.called("Or pressed yeast, at most")]


@checked
def yeast_amount(volume_l: WashVolumeL, pitch: Pitch = "ordinary") -> YeastAmount:
    """Return how much yeast a wash takes.

    Parameters
    ----------
    volume_l : float
        Of the wash.
    pitch : {"ordinary", "fast"}
        0.3 to 0.5, or 1 to 2.5 grams of dry yeast in a litre.

    Returns
    -------
    YeastAmount
        Grams of dry yeast, or of pressed yeast, at least and at most.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    Grams in a litre times the volume; pressed yeast three times dry. The upper end suits washes
    of sugar and original gravities above 1.080.

    References
    ----------
    common practice, no source

    Examples
    --------
    >>> round(yeast_amount(80.0).dry_yeast_high_g)
    40
    """
    low, high = (grams * volume_l for grams in DRY_YEAST_G_L[pitch])
    return YeastAmount(
        dry_yeast_low_g=low,
        dry_yeast_high_g=high,
        pressed_yeast_low_g=low * PRESSED_PER_DRY,
        pressed_yeast_high_g=high * PRESSED_PER_DRY,
    )
