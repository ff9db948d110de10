"""Dilution against published tables and examples; corrections and schedules by balance."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from calc.alcoholometry import SIXTY_F, abv_from_abw, abw_from_abv, density
from calc.catalogue import calculate
from calc.errors import OutOfRangeError
from calc.mixture import Mixture
from calc.proofing import dilution, dilution_by_weight, dilution_warm_and_cold
from calc.proofing_steps import addition, overshoot, schedule, schedule_curve

DATA = Path(__file__).parents[1] / "data"

volumes = st.floats(0.1, 10_000)
temperatures = st.floats(0, 40)
falls = st.tuples(st.floats(1, 100), st.floats(1, 100)).map(lambda two: sorted(two, reverse=True))


def _gay_lussac() -> list[tuple[float, float, float]]:
    lines = (DATA / "gay_lussac_dilution_15C_part.csv").read_text(encoding="utf-8").splitlines()
    rows = csv.reader(line for line in lines if line[0] not in "#f")
    return [(float(a), float(b), float(c)) for a, b, c in rows]


def _share_within_bound(found: list[float]) -> float:
    final = [100 + c for _, _, c in _gay_lussac()]
    wanted = [c for _, _, c in _gay_lussac()]
    off = np.abs(np.array(found) - wanted) / final
    return float(np.mean(off <= 0.0004))


def test_gay_lussac_dilution_table():
    # Gay-Lussac's table, strengths and volumes at 15 C.
    found = [dilution(100.0, a, b, 15.0, 15.0).water_volume_l for a, b, _ in _gay_lussac()]
    assert _share_within_bound(found) >= 0.95


def test_gay_lussac_dilution_table_with_strengths_restated_at_20_c():
    def at_20(abv: float) -> float:
        return abv_from_abw(abw_from_abv(abv, 15.0))

    found = [
        calculate(
            "dilution", volume_l=100.0, abv=at_20(a), target_abv=at_20(b), temperature_c=15.0
        )["water_volume_l"]
        for a, b, _ in _gay_lussac()
    ]
    assert _share_within_bound(found) >= 0.95


def test_ten_litres_from_65_to_40():
    # Computed from OIML R 22.
    found = dilution(10.0, 65.0, 40.0, 20.0)
    assert found.water_volume_l == pytest.approx(6.441, abs=5e-4)
    assert found.final_volume_l == pytest.approx(16.25, abs=1e-6)  # alcohol is kept
    assert found.water_mass_kg == pytest.approx(6.441 * 0.99820, abs=5e-4)
    # What one gets by dividing strengths.
    assert addition(10.0, 65.0, 6.25).abv == pytest.approx(40.47, abs=0.005)


def test_absolute_ethanol_and_water_contract():
    # Computed from OIML R 22: 50 + 50 volumes make 96.46 at 20 C.
    found = addition(50.0, 100.0, 50.0)
    assert found.final_volume_l == pytest.approx(96.46, abs=0.005)
    assert found.contraction_l == pytest.approx(3.54, abs=0.005)


def test_usp_diluted_alcohol():
    # USP 29-NF 24, Diluted Alcohol: 500 mL of alcohol (94.9-96 % vol at 60 F) and 500 mL of water
    # at 25 C make about 970 mL.
    strength = abv_from_abw(abw_from_abv(95.0, SIXTY_F))
    found = addition(0.5, strength, 0.5, 0.0, 25.0)
    assert found.final_volume_l == pytest.approx(0.970, abs=0.002)


def test_water_from_191_to_188_proof():
    # 27 CFR 30.66: parts of water 5.59 and 7.36 (from memory); it rounds a quotient to 1.01 and
    # prints 1.84 gallons to a hundred. Exact is 1.884.
    found = dilution(100.0, 95.5, 94.0, SIXTY_F, SIXTY_F)
    assert found.water_volume_l == pytest.approx(1.884, abs=5e-4)
    for proof, printed in ((191, 5.59), (188, 7.36)):
        spirit = Mixture.of_volume(100.0, proof / 2, SIXTY_F, SIXTY_F)
        parts = 1000 * spirit.water_kg / density(0.0, SIXTY_F)
        assert parts == pytest.approx(printed, abs=0.005)


@given(volumes, falls, temperatures)
def test_dilution_keeps_alcohol_and_mass(volume, fall, temperature):
    abv, target = fall
    found = dilution(volume, abv, target, temperature)
    before = Mixture.of_volume(volume, abv, temperature)
    after = Mixture.of_volume(found.final_volume_l, target, temperature)
    assert after.ethanol_kg == pytest.approx(before.ethanol_kg, rel=1e-9)
    assert after.mass_kg == pytest.approx(before.mass_kg + found.water_mass_kg, rel=1e-9)


@given(volumes, falls, temperatures)
def test_adding_the_water_gives_the_strength(volume, fall, temperature):
    abv, target = fall
    water = dilution(volume, abv, target, temperature)
    back = addition(volume, abv, max(water.water_volume_l, 0.0), 0.0, temperature)
    assert back.abv == pytest.approx(target, abs=1e-8)
    assert back.final_volume_l == pytest.approx(water.final_volume_l, rel=1e-9)
    assert back.contraction_l == pytest.approx(water.contraction_l, abs=1e-8 * volume * 100)


def test_equal_strengths_want_no_water():
    found = dilution(10.0, 40.0, 40.0, 20.0)
    assert found.water_volume_l == pytest.approx(0.0, abs=1e-12)
    assert found.final_volume_l == pytest.approx(10.0, abs=1e-12)


@pytest.mark.parametrize("change", [dilution, schedule])
def test_water_cannot_raise_strength(change):
    with pytest.raises(OutOfRangeError, match=r"between 0\.5 and the spirit's own 40 % vol"):
        change(10.0, 40.0, 41.0)


def test_warm_and_cold_is_the_same_mass_as_equally_warm():
    found = dilution_warm_and_cold(10.0, 65.0, 40.0, 28.0, 10.0)
    same = dilution(10.0, 65.0, 40.0, 28.0)
    assert found.water_mass_kg == pytest.approx(same.water_mass_kg, rel=1e-12)
    litres = 1000 * found.water_mass_kg / density(0.0, 10.0)
    assert found.water_volume_l == pytest.approx(litres, rel=1e-12)
    at_20 = dilution_warm_and_cold(10.0, 65.0, 40.0, 20.0, 20.0)
    assert at_20.contraction_at_20_c_l == pytest.approx(
        dilution(10.0, 65.0, 40.0, 20.0).contraction_l, abs=1e-9
    )


def test_by_weight_agrees_with_by_volume():
    found = dilution_by_weight(100.0, 65.0, 40.0)
    litres = dilution(found.final_volume_at_20_c_l - found.water_volume_l, 65.0, 40.0)
    # The volume of spirit is what is missing but for contraction.
    assert found.water_volume_l / found.final_volume_at_20_c_l == pytest.approx(
        litres.water_volume_l / litres.final_volume_l, rel=1e-9
    )
    # Air lifts water a little less than spirit: nearly what the scale says without it.
    p, wanted = abw_from_abv(65.0), abw_from_abv(40.0)
    assert found.water_weight_kg == pytest.approx(100 * (p / wanted - 1), rel=5e-4)


@given(volumes, falls, st.floats(0.5, 100), temperatures)
def test_stronger_spirit_puts_an_overshoot_right(volume, fall, share, temperature):
    target, abv = fall
    stronger = target + (100 - target) * share / 100
    assume(stronger - target >= 0.1)
    found = overshoot(volume, abv, target, stronger, temperature)
    added = found.stronger_volume_l
    assume(added <= 1e6)
    back = addition(volume, abv, added, stronger, temperature)
    assert back.abv == pytest.approx(target, abs=1e-7)
    assert back.final_volume_l == pytest.approx(found.final_volume_l, rel=1e-8)


def test_half_a_percent_of_water_too_much_is_warned_of():
    # 100 L of 40 % vol with 0.6 L and with 0.4 L of water too much.
    for litres, warned in ((0.6, True), (0.4, False)):
        weak = addition(100.0, 40.0, litres)
        found = overshoot(weak.final_volume_l, weak.abv, 40.0, 65.0)
        assert found.excess_water_volume_l == pytest.approx(litres, abs=1e-6)
        assert found.advice.startswith("Warning") is warned


def test_overshoot_refuses_what_cannot_be_put_right():
    with pytest.raises(OutOfRangeError, match="to be put right it must lie"):
        overshoot(10.0, 41.0, 40.0, 65.0)
    with pytest.raises(OutOfRangeError, match="must lie above the strength wanted"):
        overshoot(10.0, 39.0, 40.0, 40.0)


@given(volumes, falls, st.floats(0.5, 10), st.floats(0, 100), temperatures)
def test_schedule_comes_to_the_same_as_one_addition(volume, fall, step, slow, temperature):
    abv, target = fall
    found = schedule(volume, abv, target, step, slow, temperature)
    once = dilution(volume, abv, target, temperature)
    assert found.water_volume_l == pytest.approx(once.water_volume_l, abs=1e-9 * volume * 100)
    assert found.final_volume_l == pytest.approx(once.final_volume_l, rel=1e-9)
    in_all = pytest.approx(found.water_volume_l, rel=1e-9, abs=1e-12 * volume)
    assert sum(found.daily_water_volume_l) == in_all
    assert len(found.daily_abv) == len(found.daily_water_volume_l) == found.duration_days
    falls_a_day = -np.diff([abv, *found.daily_abv])
    at_once = 1 if slow < abv else 0
    assert (falls_a_day[at_once:] <= step + 1e-6).all()


def test_schedule_goes_down_at_once_and_then_slowly():
    # Common practice, no source: 1-2 % vol a day.
    found = schedule(100.0, 63.0, 42.0, 2.0, 50.0)
    assert found.daily_abv == pytest.approx((50.0, 48.0, 46.0, 44.0, 42.0))
    slowly = schedule(100.0, 63.0, 42.0, 2.0)
    assert slowly.duration_days == 11
    assert max(-np.diff([63.0, *slowly.daily_abv])) <= 2.0 + 1e-9
    drawn = schedule_curve(100.0, 63.0, 42.0, 2.0, 50.0)
    assert list(drawn["abv"][1:]) == pytest.approx(found.daily_abv)
    assert drawn["water_volume_l"][-1] == pytest.approx(found.water_volume_l)
    assert schedule(100.0, 42.0, 42.0).daily_abv == ()


def test_nothing_at_all_has_no_strength():
    with pytest.raises(OutOfRangeError, match="come to 0 L"):
        addition(0.0, 40.0, 0.0)
