"""A volume, a mass and a strength that are not of one liquid are doubted, with the likely slips.

A litre of 70 % vol weighs 0.8855 kg at 20 °C in vacuum (OIML R 22), about a gram less in air.
"""

import pytest

from tests.api.record.small import NOON, STRENGTH

AGREED = {"volume_l": 1.0, "volume_error_l": 0.01, "reading_abv": 70.0}


def jar_of(small, minute, **read):
    body = {"at": NOON.format(minute), "ended_at": NOON.format(minute + 3), **STRENGTH}
    return small.ask("POST", f"runs/{small.run_id}/jars", 201, **body | AGREED | read)


@pytest.fixture
def tared(small, charged):
    """The first jar of the run weighs half a kilogram when empty."""
    stands = {one["number"]: one for one in small.ask("GET", "jar-vessels")}
    version = stands.get(1, {"version": 0})["version"]
    small.ask("PUT", "jar-vessels/1", tare_kg=0.5, version=version)


def doubts_of(small, one):
    return small.ask("GET", f"lots/{one}/balance")["doubts"]


def kinds(doubt):
    return [slip["kind"] for slip in doubt["slips"]]


def test_a_jar_that_agrees_is_not_doubted(small, tared):
    made = jar_of(small, 5, mass_kg=1.385)
    assert doubts_of(small, made["id"]) == []
    assert small.balance["doubts"] == []


def test_a_jar_whose_volume_and_mass_disagree_is_doubted_at_itself_its_run_and_batch(small, tared):
    made = jar_of(small, 5, mass_kg=1.2)
    [doubt] = doubts_of(small, made["id"])
    assert "1 L by its volume and 0.79" in doubt["sentence"]
    assert "(0.7 kg at 70.0 % vol)" in doubt["sentence"]
    assert "The mass counts" in doubt["sentence"]
    assert [doubt] == small.balance["doubts"]
    assert doubts_of(small, small.run_id) == [doubt]


HOT = {"mass_kg": 1.385, "volume_l": 1.025, "volume_error_l": 0.004}
SLIPS = {
    "weighed without the jar": ({"mass_kg": 0.885}, "tare"),
    "digits of the volume": ({"mass_kg": 1.385 + 0.177, "volume_l": 2.1}, "digits"),
    "a volume read hot": (HOT, "volume_hot"),
    "a strength in proof": ({"mass_kg": 1.0 + 0.435, "reading_abv": 92.0}, "proof"),
}  # fmt: skip


@pytest.mark.parametrize("case", SLIPS)
def test_the_slip_that_made_it_is_among_the_likely(small, tared, case):
    read, kind = SLIPS[case]
    [doubt] = doubts_of(small, jar_of(small, 5, **read)["id"])
    assert kind in kinds(doubt)


def test_a_jar_never_tared_is_doubted_where_it_weighs_less_than_what_is_in_it(small, charged):
    heavy, light = (
        jar_of(small, 5, mass_kg=1.5, number=77),
        jar_of(small, 9, mass_kg=0.7, number=78),
    )
    assert doubts_of(small, heavy["id"]) == []
    [doubt] = doubts_of(small, light["id"])
    assert "jar and all" in doubt["sentence"]
    assert "The volume counts" in doubt["sentence"]


def test_what_was_measured_of_a_lot_is_judged_and_a_wash_is_not(small):
    read = {"volume_l": 50.0, "volume_error_l": 0.3, "reading_abv": 9.0, **STRENGTH}
    wash, spirit = small.lot("wash", "wash"), small.lot("spirit", "spirit")
    for lot in (wash, spirit):
        small.measure(lot, 1, mass_kg=52.0, **read)  # sugar is heavy
    assert doubts_of(small, wash) == []
    [doubt] = doubts_of(small, spirit)
    assert doubt["sentence"].startswith("spirit as measured: 50 L by its volume and 52.8 L by its")
