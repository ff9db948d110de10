"""The list before the heat goes on; its limits are common practice, no source."""

import pytest

from api.record.checking import Charged, checklist


def line(key, **known):
    [found] = [one for one in checklist(Charged(**known)) if one.key == key]
    return found


KNOWN = {"volume_l": 70.0, "abv": 8.0, "pot_l": 100.0, "kind": "wash"}


@pytest.mark.parametrize(
    ("volume_l", "more", "state"),
    [
        (70.0, {}, "ok"),
        (73.0, {}, "near"),
        (75.0, {}, "near"),
        (75.1, {}, "not ok"),
        (55.0, {"on_grain": True}, "ok"),
        (60.0, {"on_grain": True}, "near"),
        (61.0, {"on_grain": True}, "not ok"),
        (85.0, {"kind": "spirit"}, "near"),
        (86.0, {"kind": "spirit"}, "not ok"),
        (None, {}, "not known"),
    ],
)
def test_how_full_a_pot_may_be(volume_l, more, state):
    found = line("fill_in_limits", **(KNOWN | {"volume_l": volume_l} | more))
    assert found.state == state


@pytest.mark.parametrize(("abv", "state"), [(40.0, "ok"), (40.1, "not ok"), (None, "not known")])
def test_how_strong_a_charge_may_be(abv, state):
    assert line("strength_in_limits", **(KNOWN | {"abv": abv})).state == state


def test_a_bare_element_is_told():
    element = {"has_element": True, "cover_l": 80.0}
    found = line("element_covered", **(KNOWN | element))
    assert found.state == "not ok"
    assert "burns" in found.sentence
    assert line("element_covered", **KNOWN).state == "ok"
    assert line("element_covered", **(KNOWN | element | {"cover_l": None})).state == "not known"


def test_what_no_record_knows_is_to_be_ticked():
    ticks = {one.key for one in checklist(Charged(**KNOWN)) if one.state == "to tick"}
    assert ticks == {"vent_open", "outlet_clear", "water_proven", "receiver_placed"}


def test_a_cleaning_run_hears_of_too_strong_a_charge_without_its_strength():
    found = line("strength_in_limits", **(KNOWN | {"abv": 55.0, "shows_strength": False}))
    assert found.state == "not ok"
    assert "55" not in found.sentence
