"""Strength from head temperature: the fast table beside a general library's dew-point inverse.

    python tests/bench/vapour_strength.py

The library (`thermo`, NRTL with ChemSep's parameters) is asked the same question: which vapour
condenses at this temperature and pressure. It has no direct answer, so its dew point is inverted by
Brent's method, as a user of it would do. Wanted: 10,000 times faster many at once, 100 times for
one value.
"""

import sys
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import brentq

sys.path.insert(0, str(Path(__file__).parents[2]))

from calc.strength_table import strength_table, vapour_abv
from calc.vapour_strength import vapour_strength

HPA = 1013.25
MANY = 1_000_000


def library_flash() -> Any:
    """Return the library's flash of ethanol and water."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from thermo import ChemicalConstantsPackage, FlashVL, GibbsExcessLiquid, IdealGas  # noqa: PLC0415
        from thermo.interaction_parameters import IPDB  # noqa: PLC0415
        from thermo.nrtl import NRTL  # noqa: PLC0415

        constants, parts = ChemicalConstantsPackage.from_IDs(["ethanol", "water"])
        taus, alphas = (
            IPDB.get_ip_asymmetric_matrix("ChemSep NRTL", constants.CASs, name)
            for name in ("bij", "alphaij")
        )
        half = {"T": 350.0, "P": 101325.0, "zs": [0.5, 0.5]}
        liquid = GibbsExcessLiquid(
            VaporPressures=parts.VaporPressures,
            VolumeLiquids=parts.VolumeLiquids,
            HeatCapacityGases=parts.HeatCapacityGases,
            GibbsExcessModel=NRTL(T=350.0, xs=[0.5, 0.5], tau_bs=taus, alpha_cs=alphas),
            **half,
        )
        gas = IdealGas(HeatCapacityGases=parts.HeatCapacityGases, **half)
        return FlashVL(constants, parts, liquid=liquid, gas=gas)


def seconds_each(function: Callable[[], object], calls: int) -> float:
    """Return the shortest of five timings of so many calls, for one of them."""
    best = np.inf
    for _ in range(5):
        start = time.perf_counter()
        for _ in range(calls):
            function()
        best = min(best, time.perf_counter() - start)
    return best / calls


def main() -> None:
    """Time and print."""
    start = time.perf_counter()
    strength_table()
    print(f"table built once: {1e3 * (time.perf_counter() - start):.0f} ms")

    flash = library_flash()

    def library(kelvin: float) -> float:
        def miss(y: float) -> float:
            return float(flash.flash(P=HPA * 100, VF=1.0, zs=[y, 1 - y]).T) - kelvin

        return brentq(miss, 0.01, 0.85, xtol=1e-6)

    kelvin = np.random.default_rng(3).uniform(352.0, 372.0, MANY)
    one = float(kelvin[0])
    say = "{:44} {:12.3f} us a value   {:10,.0f} times the library's speed"
    peer = seconds_each(lambda: library(one), 10)
    print(f"{'library: dew point inverted, one value':44} {1e6 * peer:12.3f} us a value")
    many = seconds_each(lambda: vapour_abv(kelvin, HPA), 1) / MANY
    print(say.format(f"table: {MANY:,} at once", 1e6 * many, peer / many))
    single = seconds_each(lambda: vapour_abv(one, HPA), 1000)
    print(say.format("table: one value", 1e6 * single, peer / single))
    banded = seconds_each(lambda: vapour_strength(one - 273.15, HPA, 0.2, 1.0), 300)
    print(say.format("one value checked, with band and reason", 1e6 * banded, peer / banded))
    for name, ratio, wanted in (("many", peer / many, 10_000), ("one", peer / single, 100)):
        verdict = "kept" if ratio >= wanted else "MISSED"
        print(f"{name}: {ratio:,.0f} times, {wanted:,} wanted: {verdict}")


if __name__ == "__main__":
    main()
