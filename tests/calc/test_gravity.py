"""Gravity, attenuation and the alcohol of a wash, each against the source named beside it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS95

from calc.alcoholometry import abw_from_abv, density
from calc.attenuation import alcohol_from_gravity, attenuation
from calc.catalogue import calculate, find
from calc.errors import OutOfRangeError, QuantityError
from calc.gravity import extract_of, plato_from_sg, sg_from_extract, sg_from_plato
from calc.hydrometer import hydrometer, water_density
from calc.potential import expected_alcohol, potential_alcohol, spirit_yield
from calc.sample import pulp_by_distilling, wash_by_distilling
from calc.sugar_wash import alcohol_by_mass, sugar_for_strength, sugar_wash
from calc.sugars import (
    CO2_PER_SUCROSE,
    ETHANOL_PER_HEXOSE,
    ETHANOL_PER_STARCH,
    ETHANOL_PER_SUCROSE,
    LITRES_PER_SUCROSE,
)


# ASBC Methods of Analysis: the polynomial gives 9.994 and 14.975; the table prints 14.96.
@pytest.mark.parametrize(("sg", "plato", "within"), [(1.040, 9.99, 0.005), (1.061, 14.96, 0.02)])
def test_plato_of_the_brewing_chemists(sg, plato, within):
    assert plato_from_sg(sg) == pytest.approx(plato, abs=within)


# Plato's table, as every brewing handbook prints it (from memory).
@pytest.mark.parametrize(("plato", "sg"), [(12.0, 1.0484), (16.0, 1.0654), (20.0, 1.0830)])
def test_specific_gravity_of_platos_table(plato, sg):
    assert sg_from_plato(plato) == pytest.approx(sg, abs=0.0001)


# Brix of sucrose by the fit to NBS Circular 440 (1942), from memory; valid to 40 %.
def test_plato_stays_with_the_sucrose_tables_up_to_40():
    for sg in np.linspace(1.0, 1.178, 90):
        brix = 182.4601 * sg**3 - 775.6821 * sg**2 + 1262.7794 * sg - 669.5622
        assert plato_from_sg(float(sg)) == pytest.approx(brix, abs=0.15)


@given(st.floats(0.975, 1.18))
def test_gravity_there_and_back(sg):
    plato = plato_from_sg(sg)
    assert sg_from_plato(plato) == pytest.approx(sg, abs=1e-12)


@given(st.floats(-6.6, 40.1))  # a little inside, so that the gravity lies within its own range
def test_plato_there_and_back(plato):
    assert plato_from_sg(sg_from_plato(plato)) == pytest.approx(plato, abs=1e-9)


def test_arrays_go_through_as_single_values_do():
    sgs = np.array([1.0, 1.04, 1.1])
    assert plato_from_sg(sgs).tolist() == [plato_from_sg(float(sg)) for sg in sgs]
    assert sg_from_plato(plato_from_sg(sgs)) == pytest.approx(sgs, abs=1e-12)


# Computed from the ASBC polynomial: a kilogram of sucrose in 10 L of wort is SG 1.0386.
def test_a_kilogram_of_sucrose_in_ten_litres():
    assert sg_from_extract(1.0, 10.0) == pytest.approx(1.0386, abs=0.00005)


@given(st.floats(0.0, 4.0), st.floats(10.0, 100.0))
def test_extract_and_gravity_agree(extract_kg, volume_l):
    sg = sg_from_extract(extract_kg, volume_l)
    assert extract_of(sg).extract_g_l * volume_l / 1000 == pytest.approx(extract_kg, abs=1e-9)


def test_water_against_iapws_95():
    for t in range(0, 100, 3):
        expected = IAPWS95(T=t + 273.15, P=0.101325).rho
        assert water_density(float(t)) == pytest.approx(expected, abs=0.015)


# Printed corrections for a hydrometer made for 15 °C (retrieved table).
@pytest.mark.parametrize(
    ("temperature_c", "added"),
    [(15, 0.0), (20, 0.0009), (25, 0.0021), (30, 0.0035), (35, 0.0051), (40, 0.0069)],
)
def test_hydrometer_made_for_15(temperature_c, added):
    found = hydrometer(1.0, float(temperature_c), 15.0)
    assert found.correction_sg == pytest.approx(added, abs=0.0001)


def test_hydrometer_reads_true_at_its_own_temperature_and_low_above_it():
    assert hydrometer(1.05, 20.0).sg == 1.05
    assert hydrometer(1.05, 20.0).correction_sg == 0.0
    assert hydrometer(1.05, 30.0).sg > 1.05 > hydrometer(1.05, 10.0).sg


# Balling's example (from memory): OE 12, AE 2 leaves RE 3.81 and 4.23 % mass.
def test_balling_example():
    original, final = sg_from_plato(12.0), sg_from_plato(2.0)
    real = attenuation(original, final)
    assert real.real_plato == pytest.approx(3.81, abs=0.005)
    assert real.apparent_attenuation_percent == pytest.approx(100 * 10 / 12, abs=0.01)
    assert real.real_attenuation_percent == pytest.approx(100 * (12 - 3.81) / 12, abs=0.05)
    assert alcohol_from_gravity(original, final).abw_fraction == pytest.approx(0.0423, abs=5e-5)


def test_balling_by_volume_is_the_same_alcohol_as_by_mass():
    found = alcohol_from_gravity(1.056, 1.002)
    grams_per_litre = found.abw_fraction * 1.002 * density(0.0, 20.0)
    assert grams_per_litre == pytest.approx(found.abv / 100 * density(1.0, 20.0), rel=1e-5)


# Stoichiometry: Gay-Lussac's equation with IUPAC atomic weights; what goes in comes out.
def test_theoretical_yields():
    assert pytest.approx(0.5383, abs=5e-5) == ETHANOL_PER_SUCROSE
    assert pytest.approx(0.5114, abs=5e-5) == ETHANOL_PER_HEXOSE
    assert pytest.approx(0.568, abs=5e-4) == ETHANOL_PER_STARCH
    assert pytest.approx(0.682, abs=5e-4) == LITRES_PER_SUCROSE
    water = 18.01528 / 342.2965
    assert pytest.approx(1 + water, abs=1e-5) == ETHANOL_PER_SUCROSE + CO2_PER_SUCROSE


# Worked example: 15 kg of sucrose at 95 % is 9.72 L, 12.1 % vol in 80 L.
def test_sugar_wash_example():
    found = sugar_wash(15.0, 80.0, 95.0)
    assert found.pure_alcohol_l == pytest.approx(9.72, abs=0.005)
    assert found.abv == pytest.approx(12.1, abs=0.06)
    assert found.original_sg == pytest.approx(1.072, abs=0.0005)


@given(st.floats(1.0, 18.0), st.floats(60.0, 100.0))
def test_sugar_for_a_strength_gives_that_strength(abv, yield_percent):
    bill = sugar_for_strength(abv, 80.0, yield_percent)
    assert sugar_wash(bill.sugar_mass_kg, 80.0, yield_percent).abv == pytest.approx(abv, abs=1e-9)
    assert bill.water_volume_l + bill.sugar_mass_kg > 80.0


@pytest.mark.parametrize("original_sg", [1.005, 1.0625, 1.1, 1.18])
def test_mass_balance_answers_at_both_of_its_ends(original_sg):
    start = alcohol_by_mass(original_sg, original_sg)
    assert (start.abv, start.fermented_percent) == pytest.approx((0.0, 0.0), abs=1e-9)
    if start.complete_sg >= 0.975:
        end = alcohol_by_mass(original_sg, start.complete_sg)
        assert end.fermented_percent == pytest.approx(100.0, abs=1e-6)
        assert end.residual_sugar_g_l == pytest.approx(0.0, abs=1e-6)


@given(st.floats(1.02, 1.12), st.floats(0.0, 1.0))
def test_mass_balance_accounts_for_every_gram(original_sg, share):
    """Weigh a litre of the answer: ethanol, sugar left, by-products and water, less gas gone."""
    lowest = alcohol_by_mass(original_sg, original_sg).complete_sg
    final_sg = original_sg - share * (original_sg - lowest)
    found = alcohol_by_mass(original_sg, final_sg)
    ethanol = found.abv / 100 * density(1.0, 20.0)
    sugar_before = plato_from_sg(original_sg) / 100
    converted = 0.95 * found.fermented_percent / 100 * sugar_before
    left = 1 - converted * CO2_PER_SUCROSE
    litre = final_sg * 998.20
    assert ethanol / litre * left == pytest.approx(converted * ETHANOL_PER_SUCROSE, rel=1e-4)
    # Tabarié's relation (OIV-MA-AS2-03B) with what the answer itself says is dissolved.
    byproducts = 0.05 * found.fermented_percent / 100 * sugar_before / left * litre
    dissolved = (found.residual_sugar_g_l + byproducts) / 1000
    spirit = density(abw_from_abv(found.abv), 20.0) / density(0.0, 20.0)
    assert spirit + sg_from_extract(dissolved, 1.0) - 1 == pytest.approx(final_sg, abs=1e-4)


def test_mass_balance_agrees_with_the_sugar_wash_it_ferments_out():
    wash = sugar_wash(15.0, 80.0, 95.0)
    measured = alcohol_by_mass(wash.original_sg, alcohol_by_mass(1.0720, 1.0).complete_sg)
    assert measured.abv == pytest.approx(wash.abv, abs=0.12)  # it has shrunk by 0.7 %


# Must needs 16.83 g/L of hexose for 1 % vol (European wine rules, from memory): 92 % of theory.
def test_mass_balance_is_of_the_size_of_the_wine_rules():
    sugar_g_l = extract_of(1.090).extract_g_l * 1.0526
    found = alcohol_by_mass(1.090, alcohol_by_mass(1.090, 1.0).complete_sg)
    assert sugar_g_l / found.abv == pytest.approx(16.83, rel=0.05)


# Balling's relation was made for beer; by how much it reads a sugar wash low is computed.
def test_balling_reads_a_sugar_wash_low():
    balling = alcohol_from_gravity(1.072, 0.990).abv
    by_mass = alcohol_by_mass(1.072, 0.990).abv
    assert 0.05 < (by_mass - balling) / by_mass < 0.10


def test_a_distillate_made_up_to_the_sample_reads_the_wash():
    for abv in (0.0, 4.0, 9.0, 14.0):
        assert wash_by_distilling(500.0, 500.0, abv).abv == pytest.approx(abv, abs=1e-9)


@given(st.floats(3.0, 60.0), st.floats(5.0, 35.0), st.floats(100.0, 1000.0))
def test_a_distilled_sample_loses_no_alcohol(reading_abv, temperature_c, volume_ml):
    found = wash_by_distilling(2000.0, volume_ml, reading_abv, temperature_c)
    p = abw_from_abv(found.distillate_abv)
    grams = volume_ml / 1000 * density(p, temperature_c) * p
    assert found.abv / 100 * 2.0 * density(1.0, 20.0) == pytest.approx(grams, rel=1e-6)
    pulp = pulp_by_distilling(2000.0, volume_ml, reading_abv, temperature_c)
    assert pulp.abw_fraction * 2000.0 == pytest.approx(grams, rel=1e-6)


# Bringhurst et al. (1996), J. Inst. Brew. 102, 433: spirit yield = 6.06 x fermentable extract.
def test_spirit_yield_of_bringhurst():
    found = spirit_yield(80.0, 87.5)
    assert found.fermentable_extract_percent == pytest.approx(70.0)
    assert found.spirit_yield_l_t == pytest.approx(424.2)


# German spirits ordinance (1998), ss. 121-122: yields nobody should stay below, litres of pure
# alcohol for 100 kg of milled grain and for 100 L of fruit mash.
@pytest.mark.parametrize(
    ("ingredient", "least_l"),
    [
        *((grain, 26.0) for grain in ("rye", "wheat", "barley", "maize", "pale-malt")),
        ("plums", 3.9),
        ("cherries", 5.0),
        ("apples", 3.6),
        ("pears", 3.6),
    ],
)
def test_low_end_of_the_band_is_above_the_statutory_yield(ingredient, least_l):
    assert potential_alcohol((ingredient,), (100.0,), 1000.0).pure_alcohol_low_l >= least_l


# Bringhurst's relation for pale malt of 77.5 % extract, 87 % fermentable: inside the band.
def test_malt_band_holds_the_published_yield():
    found = potential_alcohol(("pale-malt",), (1000.0,), 5000.0)
    published = spirit_yield(77.5, 87.0).spirit_yield_l_t
    assert found.pure_alcohol_low_l < published < found.pure_alcohol_high_l


def test_sugar_in_a_bill_is_the_sugar_wash():
    bill = potential_alcohol(("sucrose",), (15.0,), 80.0)
    assert bill.pure_alcohol_low_l == pytest.approx(sugar_wash(15.0, 80.0, 85.0).pure_alcohol_l)
    assert bill.pure_alcohol_high_l == pytest.approx(sugar_wash(15.0, 80.0, 92.0).pure_alcohol_l)


@given(st.lists(st.floats(0.0, 50.0), min_size=3, max_size=3))
def test_a_bill_is_the_sum_of_its_rows(masses):
    names = ("rye", "molasses", "apples")
    whole = potential_alcohol(names, tuple(masses), 1000.0)
    parts = [
        potential_alcohol((name,), (mass,), 1000.0)
        for name, mass in zip(names, masses, strict=True)
    ]
    assert whole.pure_alcohol_l == pytest.approx(sum(part.pure_alcohol_l for part in parts))
    assert whole.pure_alcohol_low_l <= whole.pure_alcohol_l <= whole.pure_alcohol_high_l


def test_expected_alcohol_is_what_the_final_gravities_give():
    malt = expected_alcohol(1.056, "malt")
    assert malt.abv_low == alcohol_from_gravity(1.056, 1.004).abv
    assert malt.abv_high == alcohol_from_gravity(1.056, 0.997).abv
    sugar = expected_alcohol(1.072, "sugar")
    assert sugar.abv_low == alcohol_by_mass(1.072, 0.996).abv
    # A thin wash cannot fall to 0.990: the answer stops where its sugar does.
    thin = expected_alcohol(1.020, "sugar")
    assert thin.abv_high == pytest.approx(thin.abv_low)


def test_every_ingredient_named_can_be_worked_out():
    takes = {f.name: f for f in find("potential-alcohol").takes}
    assert len(takes["ingredients"].choices) > 30
    for name in takes["ingredients"].choices:
        assert potential_alcohol((name,), (10.0,), 100.0).pure_alcohol_low_l > 0


@pytest.mark.parametrize(
    ("name", "quantities", "field", "part"),
    [
        ("attenuation", {"original_sg": 1.040, "final_sg": 1.050}, "final_sg", "exchanged"),
        ("attenuation", {"original_sg": 1.040, "final_sg": 0.980}, "final_sg", "mass balance"),
        ("alcohol-by-mass", {"original_sg": 1.02, "final_sg": 0.98}, "final_sg", "cannot end"),
        ("alcohol-by-mass", {"original_sg": 1.02, "final_sg": 1.03}, "final_sg", "exchanged"),
        ("sugar-wash", {"sugar_mass_kg": 30, "volume_l": 80}, "sugar_mass_kg", "no yeast"),
        ("sugar-wash", {"sugar_mass_kg": 80, "volume_l": 80}, "sugar_mass_kg", "more water"),
        ("extract-gravity", {"extract_kg": 1, "volume_l": 0}, "extract_kg", "more water"),
        ("hydrometer", {"reading_sg": 1.18, "temperature_c": 60}, "reading_sg", "between"),
        (
            "potential-alcohol",
            {"ingredients": ("sucrose",), "masses_kg": (50.0,), "volume_l": 100},
            "masses_kg",
            "more water",
        ),
        (
            "sample-distillation",
            {"sample_volume_ml": 10, "distillate_volume_ml": 20_000, "reading_abv": 50},
            "distillate_volume_ml",
            "wash that follows",
        ),
        (
            "pulp-distillation",
            {"sample_mass_g": 10, "distillate_volume_ml": 20_000, "reading_abv": 50},
            "distillate_volume_ml",
            "pulp that follows",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(name, quantities, field, part):
    with pytest.raises(OutOfRangeError, match=part) as caught:
        calculate(name, **quantities)
    assert caught.value.quantity == field
    assert str(caught.value).endswith((".", "?"))


def test_rows_must_match_and_be_known():
    with pytest.raises(QuantityError, match="ingredients has 2, masses_kg has 1"):
        potential_alcohol(("rye", "oats"), (1.0,), 100.0)
    with pytest.raises(QuantityError, match="at least one row"):
        potential_alcohol((), (), 100.0)
    with pytest.raises(QuantityError, match="choose among"):
        potential_alcohol(("sawdust",), (1.0,), 100.0)
