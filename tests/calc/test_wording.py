"""What is said where there is no number to say."""

import pytest

from calc.catalogue import calculate, find
from calc.catalogue.wording import words
from calc.quantities import CANNOT_TELL


@pytest.mark.parametrize(
    ("name", "given", "absent"),
    [
        (
            "vapour-escape",
            {"power_kw": 2.0, "abv": 60.0, "room_m3": 10.0, "ventilation_m3_h": 1000.0},
            {"duration_min": "not reached", "limit_duration_min": "not reached"},
        ),
        (
            "co2-in-room",
            {"co2_l_h": 20.0, "room_m3": 40.0, "air_changes_per_h": 2.0},
            {"duration_h": "not reached"},
        ),
        (
            "tank-warming",
            {"tank_volume_l": 200.0, "duty_kw": 0.1, "heat_loss_w_k": 20.0},
            {"duration_h": "never"},
        ),
        ("tank-warming", {"tank_volume_l": 200.0, "duty_kw": 2.0}, {"settles_at_c": "boil"}),
        (
            "grist",
            {"grains": ("pale-malt",), "masses_kg": (10.0,)},
            {"cook_temperature_c": "nothing to cook"},
        ),
        (
            "simple-distillation",
            {"volume_l": 25.0, "abv": 9.0, "pressure_hpa": 1013.25, "end_spout_abv": 10.0},
            {"heat_up_min": "give a power", "boiling_h": "give a power"},
        ),
        (
            "vapour-strength",
            {"head_temperature_c": 20.0, "pressure_hpa": 1013.25},
            {"abv": CANNOT_TELL, "abv_low": CANNOT_TELL},
        ),
    ],
)
def test_a_number_that_is_absent_says_why_it_is(name, given, absent):
    found = calculate(name, **given)
    for item in find(name).gives:
        if item.name in absent:
            assert found[item.name] is None
            assert absent[item.name] in words(item, None)


def test_a_list_of_none_is_nothing():
    (daily,) = (g for g in find("proofing-schedule").gives if g.name == "daily_abv")
    assert words(daily, []) == "nothing"
    assert words(daily, [50.0, 48.0]) == "50.00 % vol, 48.00 % vol"
