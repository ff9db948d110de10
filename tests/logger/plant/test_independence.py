"""Estimates are held against the plant, so the plant may know nothing of what they are made of."""

import subprocess
import sys

OF_THE_ESTIMATES = {
    "calc.equilibrium", "calc.activity", "calc.pressure", "calc.vapour_strength", "calc.boiling",
    "calc.heat", "calc.simple_distillation", "calc.rayleigh", "calc.column", "calc.fermentation",
    "calc.ferment_heat",
}  # fmt: skip
LIST = (
    "import sys, logger.plant.driver, logger.plant.practice, logger.plant.history;"
    "print(*(name for name in sys.modules if name.startswith('calc')))"
)


def test_the_plant_loads_none_of_the_models_that_estimates_are_made_with():
    ran = subprocess.run([sys.executable, "-c", LIST], capture_output=True, text=True, check=True)
    loaded = set(ran.stdout.split())
    assert "calc.alcoholometry" in loaded  # density and strength are definitions, not estimates
    assert not loaded & OF_THE_ESTIMATES
