"""What sugars and fruit bring to a fermentation, and the chemistry that turns sugar to alcohol.

(M) from memory. Fruit: total sugars, raw and without stones, after USDA FoodData Central, SR
Legacy (2018), from memory; ripeness moves them by a third either way, so weigh that in or
measure the juice.
"""

from collections.abc import Mapping
from typing import Annotated, Literal

from calc.alcoholometry import ETHANOL_G_MOL, density
from calc.quantities import BULK_MASS

# Molar masses, g/mol: IUPAC standard atomic weights (2021), doi 10.1515/pac-2019-0603.
CO2_G_MOL = 44.0095
SUCROSE_G_MOL = 342.2965
HEXOSE_G_MOL = 180.1559
STARCH_UNIT_G_MOL = 162.1406

# Gay-Lussac's equation: a hexose gives two ethanol and two carbon dioxide; sucrose and maltose
# take up a water first and give four; so does a starch unit, and gives two.
ETHANOL_PER_SUCROSE = 4 * ETHANOL_G_MOL / SUCROSE_G_MOL  # kg/kg
ETHANOL_PER_HEXOSE = 2 * ETHANOL_G_MOL / HEXOSE_G_MOL
ETHANOL_PER_STARCH = 2 * ETHANOL_G_MOL / STARCH_UNIT_G_MOL
CO2_PER_SUCROSE = 4 * CO2_G_MOL / SUCROSE_G_MOL
HEXOSE_PER_SUCROSE = 2 * HEXOSE_G_MOL / SUCROSE_G_MOL
ETHANOL_KG_L = density(1.0, 20.0) / 1000.0
LITRES_PER_SUCROSE = ETHANOL_PER_SUCROSE / ETHANOL_KG_L  # 0.682 L/kg
LITRES_PER_HEXOSE = ETHANOL_PER_HEXOSE / ETHANOL_KG_L

SUGAR_FERMENTED = BULK_MASS.within(0, 1_000_000).called("Fermentable sugar (as sucrose or maltose)")
SugarFermentedKg = Annotated[float, SUGAR_FERMENTED]

Sugar = Literal["sucrose", "dextrose", "invert-syrup", "honey", "molasses"]
Fruit = Literal[
    "apples",
    "apricots",
    "bananas",
    "blackberries",
    "cherries",
    "grapes",
    "peaches",
    "pears",
    "plums",
    "raspberries",
    "sour-cherries",
]

# Kilograms of fermentable sugar, counted as hexose, in a kilogram as it is sold.
SUGARS: Mapping[str, float] = {
    "sucrose": HEXOSE_PER_SUCROSE,
    "dextrose": 0.909,  # glucose monohydrate: 180.16 / 198.17
    "invert-syrup": 0.75,  # M
    "honey": 0.80,  # M
    "molasses": 0.52,  # M, final (blackstrap); 0.45-0.60
}
FRUITS: Mapping[str, float] = {
    "apples": 0.104,
    "apricots": 0.092,
    "bananas": 0.122,
    "blackberries": 0.049,
    "cherries": 0.128,
    "grapes": 0.155,
    "peaches": 0.084,
    "pears": 0.098,
    "plums": 0.099,
    "raspberries": 0.044,
    "sour-cherries": 0.085,
}
