"""The calculations over HTTP: list, declaration, answer, curve, and every refusal."""

import pytest

from calc.catalogue import CATALOGUE, calculate, curve
from calc.quantities import US_UNITS

WITH_CURVE = [entry.name for entry in CATALOGUE.values() if entry.curve]
GRIST = {"grains": ["maize", "distillers-malt"], "masses_kg": [80, 20]}


def ask(client, name, **body):
    return client.post(f"/api/calculations/{name}", json=body)


def plain(example):
    return {k: list(v) if isinstance(v, tuple) else v for k, v in example.items()}


def test_the_list_is_the_catalogue(client):
    listed = client.get("/api/calculations").json()
    assert [one["name"] for one in listed] == list(CATALOGUE)
    assert all(one["question"].endswith("?") and one["subject"] for one in listed)


def test_a_declaration_is_what_the_form_needs(client):
    said = client.get("/api/calculations/grist").json()
    takes = {one["name"]: one for one in said["takes"]}
    assert takes["grains"]["many"]
    assert "maize" in takes["grains"]["choices"]
    assert takes["grains"]["unit"] is None
    assert takes["masses_kg"]["unit"] == "kg"
    assert takes["rest_temperature_c"] | {} == {
        "name": "rest_temperature_c",
        "label": "Temperature of the rest",
        "unit": "°C",
        "low": 20,
        "high": 99,
        "decimals": 1,
        "choices": [],
        "many": False,
        "required": False,
        "default": 64,
        "example": 64,
    }
    assert said["gives"][0]["name"] == "diastatic_power_lintner"
    assert said["us_units"]["°C"] == {"unit": "°F", "factor": 1.8, "offset": 32}
    assert said["source"]
    assert said["cautions"]
    assert said["curve"] is None


def test_every_declaration_is_served_with_all_of_its_units(client):
    for name, entry in CATALOGUE.items():
        said = client.get(f"/api/calculations/{name}").json()
        assert [one["name"] for one in said["takes"]] == [f.name for f in entry.takes]
        assert said["source"] == entry.source
        units = {one["unit"] for one in said["takes"] + said["gives"]}
        assert set(said["us_units"]) >= units & set(US_UNITS)


def test_every_example_answers_as_the_function_does(client):
    for name, entry in CATALOGUE.items():
        answer = ask(client, name, quantities=plain(entry.example))
        assert answer.status_code == 200, answer.text
        said = answer.json()
        assert said["values"] == calculate(name, **entry.example)
        assert said["cautions"] == list(entry.cautions)
        assert said["sentence"]
        assert set(said["words"]) == set(said["values"])


def test_the_sentence_speaks_us_units_where_asked_and_values_stay_metric(client):
    given = {
        "target_temperature_c": 66,
        "grain_mass_kg": 100,
        "liquor_volume_l": 268,
        "grain_temperature_c": 27,
        "moisture_percent": 2,
    }
    said = ask(client, "liquor-temperature", quantities=given, units="us").json()
    assert said["sentence"].startswith("Liquor at 156.3 °F brings the mash to 150.8 °F")
    assert said["words"]["liquor_temperature_c"] == "156.3 °F"
    assert said["values"]["liquor_temperature_c"] == pytest.approx(69.0, abs=0.1)


def test_null_stands_for_left_out(client):
    given = GRIST | {"rest_temperature_c": None}
    assert ask(client, "grist", quantities=given).json()["values"]["cook_temperature_c"] == 75


@pytest.mark.parametrize("name", WITH_CURVE)
def test_every_curve_is_served(client, name):
    example = CATALOGUE[name].example
    path = f"/api/calculations/{name}/curve"
    answer = client.post(path, json={"quantities": plain(example)})
    assert answer.status_code == 200, answer.text
    assert answer.json()["columns"] == curve(name, **example)
    declared = client.get(f"/api/calculations/{name}").json()["curve"]
    assert {one["name"] for one in declared["columns"]} == set(answer.json()["columns"])


@pytest.mark.parametrize(
    ("quantities", "field", "kind"),
    [
        ({"sg": 1.5}, "sg", "out_of_range"),
        ({"sg": "thick"}, "sg", "quantity"),
        ({"sg": True}, "sg", "quantity"),
        ({"sg": [1.04]}, "sg", "quantity"),
        ({"sg": {"of": 1.04}}, "sg", "quantity"),
        ({"sg": 10**400}, "sg", "quantity"),
        ({}, "sg", "quantity"),
        ({"sg": 1.04, "depth": 1}, "depth", "quantity"),
    ],
)
def test_what_it_cannot_take_is_refused_by_name(client, quantities, field, kind):
    answer = ask(client, "plato", quantities=quantities)
    assert answer.status_code == 422
    problem = answer.json()["error"]
    assert (problem["field"], problem["kind"]) == (field, kind)
    assert problem["sentence"].endswith((".", "?"))


def test_rows_that_do_not_match_or_are_too_many_are_refused(client):
    short = ask(client, "grist", quantities=GRIST | {"masses_kg": [80]})
    assert short.status_code == 422
    assert "grains has 2, masses_kg has 1" in short.json()["error"]["sentence"]
    many = ask(client, "grist", quantities={"grains": ["rye"] * 201, "masses_kg": [1.0] * 201})
    assert many.json()["error"]["sentence"] == "grains has 201 values; give at most 200."


def test_an_unknown_calculation_is_not_found(client):
    for answer in (
        client.get("/api/calculations/platoo"),
        ask(client, "platoo", quantities={}),
        client.post("/api/calculations/platoo/curve", json={"quantities": {}}),
        client.post("/api/calculations/plato/curve", json={"quantities": {"sg": 1.04}}),
    ):
        assert answer.status_code == 404
        assert answer.json()["error"]["kind"] == "unknown_calculation"


def test_from_elsewhere_it_may_be_asked_by_whoever_may_watch(signed_in):
    assert signed_in("watch").get("/api/calculations").status_code == 200
