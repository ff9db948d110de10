"""What vessels are made of, and how much heat each material holds: one table for still and mash."""

from typing import Literal

Material = Literal["stainless-steel", "copper", "aluminium", "plastic", "wood"]

# Specific heat near room temperature, kJ/(kg K).
# Stainless steel 1.4301: EN 10088-1:2014, annex E. Copper and aluminium: CRC Handbook of Chemistry
# and Physics, 95th ed. (2014), section 4. High-density polyethylene: common practice, no source.
# Air-dry wood: ISO 10456:2007, table 3, has 1.6; vat staves are never dry. All from memory.
MATERIAL_KJ_KG_K: dict[Material, float] = {
    "stainless-steel": 0.50,
    "copper": 0.385,
    "aluminium": 0.90,
    "plastic": 1.9,
    "wood": 1.7,
}


def vessel_kj_k(mass_kg: float, material: Material) -> float:
    """Return the heat that a vessel takes up in a kelvin.

    Parameters
    ----------
    mass_kg : float
        The mass that warms, 0 or more.
    material : {"stainless-steel", "copper", "aluminium", "plastic", "wood"}
        What it is made of; wood holds more when soaked.

    Returns
    -------
    float
        kJ/K.

    Notes
    -----
    Mass times specific heat.

    References
    ----------
    Named beside the table above; all from memory.

    Examples
    --------
    >>> vessel_kj_k(10.0, "stainless-steel")
    5.0
    """
    return mass_kg * MATERIAL_KJ_KG_K[material]
