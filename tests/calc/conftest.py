"""Shared by the tests of calc: properties are tried without a clock, as nothing here is timed.

General libraries of properties, as peers to compare with, are imported where they are used: they
take a second to, leave files open and read their tables in deprecated ways.
"""
# ruff: noqa: PLC0415

import warnings
from typing import Any

import pytest


@pytest.fixture(scope="session")
def flash() -> Any:
    """Return the `thermo` library's flash of ethanol and water, with its own parameters."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from thermo import ChemicalConstantsPackage, FlashVL, GibbsExcessLiquid, IdealGas
        from thermo.interaction_parameters import IPDB
        from thermo.nrtl import NRTL

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


@pytest.fixture(scope="session")
def poling_ethanol() -> dict[str, float]:
    """Return Wagner's constants of ethanol as the `chemicals` library tabulates them."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from chemicals.vapor_pressure import Psat_data_WagnerPoling

        row: dict[str, float] = Psat_data_WagnerPoling.loc["64-17-5"].to_dict()
        return row
