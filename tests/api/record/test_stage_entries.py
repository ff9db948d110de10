"""A batch's stages through the service: entries, refused, corrected, undone, and what they tell."""

import pytest
from uuid_utils.compat import uuid7

from calc.ageing import cask_by_weight
from calc.alcoholometer import true_strength
from calc.hydrometer import hydrometer
from calc.potential import potential_alcohol
from tests.api.record.small import NOON, STRENGTH, terms


def test_entries_are_kept_corrected_and_undone(small):
    entry_id = str(uuid7())
    made = small.say("gravity", 1, id=entry_id, reading_sg=1.062, temperature_c=31.0)
    again = small.say("gravity", 1, id=entry_id, reading_sg=1.062, temperature_c=31.0)
    assert made == again
    assert made["sg"] == hydrometer(1.062, 31.0, 20.0).sg
    said = {"kind": "gravity", "batch": small.batch["name"], "reading_sg": 1.06,
            "temperature_c": 31.0}  # fmt: skip
    changed = small.ask("PUT", f"entries/{entry_id}", version=1, said=said)
    assert changed["reading_sg"] == 1.06
    small.ask("PUT", f"entries/{entry_id}", 409, version=1, said=said | {"reading_sg": 1.05})
    undone = small.ask("POST", f"entries/{entry_id}/undo", version=2)
    assert undone["reading_sg"] == 1.062
    gone = small.ask("DELETE", f"entries/{entry_id}", version=3)
    assert gone["withdrawn"]
    assert small.ask("GET", f"entries?kind=gravity&batch={small.batch['name']}") == []


@pytest.mark.parametrize(
    ("kind", "body", "field", "words"),
    [
        ("gravity", {"reading_sg": 1.3, "temperature_c": 20}, "reading_sg", "1.18"),
        ("gravity", {"reading_sg": 1.05}, "temperature_c", ""),
        ("rest", {"low_c": 66, "high_c": 62}, None, "rises"),
        ("rest", {"low_c": 62, "high_c": 66, "ended_at": NOON.format(0)}, "ended_at", "later end"),
        (
            "rest",
            {"low_c": 62, "high_c": 66, "ended_at": "2099-01-01T00:00:00Z"},
            "ended_at",
            "future",
        ),
        ("ph", {"ph": 5.0, "at": "1900-01-01T00:00:00Z"}, "at", "from 2000-01-01 on"),
        ("grain", {"name": "moonbeams", "mass_kg": 1}, "name", "rye"),
        ("water_added", {"lot_id": str(uuid7())}, None, "one of them"),
        ("cask_weight", {"lot_id": str(uuid7()), "mass_kg": 5, "tare_kg": 9}, "mass_kg", "less"),
        (
            "cask_weight",
            {"lot_id": str(uuid7()), "mass_kg": 9, "tare_kg": 5, "reading_abv": 60},
            "temperature_c",
            "needs the temperature",
        ),
    ],
)
def test_bad_entries_get_one_sentence_at_their_field(small, kind, body, field, words):
    refused = small.say(kind, 1, 422, **body)["error"]
    assert words in refused["sentence"]
    if field is not None:
        assert refused["field"].endswith(field)


def test_an_entry_above_its_vessel_or_of_another_kind_is_refused(small):
    above = small.say("liquor", 1, 422, vessel_id=small.vessel_id, volume_l=61.0)["error"]
    assert (above["field"], "61 L do not fit" in above["sentence"]) == ("volume_l", True)
    made = small.say("smell", 1, smell=["pear"])
    said = {"kind": "ph", "ph": 5.0, "batch": small.batch["name"]}
    other = small.ask("PUT", f"entries/{made['id']}", 422, version=1, said=said)["error"]
    assert (other["field"], "stays one" in other["sentence"]) == ("kind", True)


def test_a_cask_on_the_scale_and_bottles_enter_the_books(small):
    cask = small.lot("cask", "cask 1")
    small.measure(cask, 1, volume_l=10.0, reading_abv=60.0, **STRENGTH)
    weighed = small.say("cask_weight", 5, lot_id=cask, mass_kg=15.0, tare_kg=6.0,
                        reading_abv=62.0, temperature_c=27.0)  # fmt: skip
    abv = true_strength(62.0, 27.0).abv_at_20_c
    held = cask_by_weight(15.0, 6.0, abv)
    assert weighed["abv"] == abv
    [shown] = small.ask("GET", f"batches/{small.batch['id']}/stages")["casks"]
    now = small.ask("GET", f"lots/{cask}")["now"]
    for one in (shown, now):
        assert (one["abv"], one["pure_alcohol_l"]) == (abv, pytest.approx(held.pure_alcohol_l))
    filled = {"lot_id": cask, "volume_l": 0.5, "reading_abv": 60.0, "temperature_c": 20.0}
    made = small.say("bottle_fill", 9, name="lot 7", count=10, **filled)
    [lot] = [one for one in small.ask("GET", "lots?kind=bottles") if one["name"] == "lot 7"]
    assert lot["now"]["volume_l"] == pytest.approx(5.0)
    assert terms(small.balance["found"])["bottled"] == pytest.approx(3.0)
    said = {
        "kind": "bottle_fill",
        "batch": small.batch["name"],
        "name": "lot 7",
        "count": 8,
    } | filled
    small.ask("PUT", f"entries/{made['id']}", version=1, said=said)
    assert terms(small.balance["found"])["bottled"] == pytest.approx(2.4)
    again = small.say(
        "bottle_fill", 9, 422, name="lot 8", count=1, **filled | {"lot_id": lot["id"]}
    )
    assert again["error"]["field"] == "lot_id"
    small.ask("DELETE", f"entries/{made['id']}?version=2")
    assert "bottled" not in terms(small.balance["found"])
    assert abs(small.balance["unaccounted_l"]) <= 1e-6


@pytest.mark.parametrize(
    ("last", "why"),
    [("2026-09-20T12:00:00Z", None), ("2026-05-20T12:00:00Z", "Less than three months")],
)
def test_a_cask_has_lost_neither_what_was_drawn_nor_gained_what_was_topped_up(small, last, why):
    cask, spirit = small.lot("cask", "cask 3"), small.lot("spirit", "hearts")
    read = {"reading_abv": 60.0, "temperature_c": 20.0}
    early = "2026-03-{:02d}T12:00:00Z"
    small.measure(spirit, 0, at=early.format(1), volume_l=10.0, **read)
    for at, kg in ((early.format(20), 15.0), (last, 14.0)):
        small.say("cask_weight", 1, at=at, lot_id=cask, mass_kg=kg, tare_kg=6.0, **read)
        [shown] = small.ask("GET", f"batches/{small.batch['id']}/stages")["casks"]
        if kg == 15.0:
            assert "weighed once" in shown["loss_why"]
            small.say("top_up", 1, at=early.format(25), lot_id=cask, refers=spirit, volume_l=2.0)
            small.say("sample", 1, at=early.format(26), lot_id=cask, volume_l=0.5)
    first, held = (cask_by_weight(kg, 6.0, 60.0).pure_alcohol_l for kg in (15.0, 14.0))
    had = first + (2.0 - 0.5) * 0.6
    assert shown["lost_pure_alcohol_l"] == pytest.approx(had - held)
    assert small.ask("GET", f"lots/{cask}")["cask"] == shown  # its own page shows the same
    assert small.ask("GET", f"lots/{spirit}")["cask"] is None
    yearly = shown["loss_percent_per_year"]
    if why is None:
        years = 184.0 / 365.25  # from 20 March to 20 September
        assert yearly == pytest.approx(100.0 * (1.0 - (held / had) ** (1.0 / years)))
    else:
        assert yearly is None
        assert why in shown["loss_why"]


def test_what_belongs_to_an_entry_is_not_changed_or_taken_back_without_it(small):
    cask = small.lot("cask", "cask 2")
    weighed = small.say("cask_weight", 5, lot_id=cask, mass_kg=15.0, tare_kg=6.0,
                        reading_abv=62.0, temperature_c=20.0)  # fmt: skip
    [measure] = small.ask("GET", f"lots/{cask}/measures")
    ways = (("DELETE", ""), ("PUT", ""), ("POST", "/undo"))
    for method, way in ways:
        said = {"version": 1} | ({"volume_l": 1.0} if method == "PUT" else {})
        error = small.ask(method, f"measures/{measure['id']}{way}", 409, **said)["error"]
        assert f"weighing of the cask entered for {NOON.format(5)[:10]}" in error["sentence"]
        assert f"entry {weighed['id']}" in error["sentence"]
    small.say("sample", 6, lot_id=cask, volume_l=0.1)
    small.say("bottle_fill", 7, lot_id=cask, name="lot 3", count=2, volume_l=0.5,
              reading_abv=60.0, temperature_c=20.0)  # fmt: skip
    moves = small.ask("GET", f"transfers?lot_id={cask}")
    assert len(moves) == 2
    for move in moves:
        small.ask("DELETE", f"transfers/{move['id']}?version=1", 409)
    small.ask("DELETE", f"entries/{weighed['id']}?version=1")
    assert small.ask("GET", f"lots/{cask}/measures") == []
    small.ask("POST", f"measures/{measure['id']}/undo", 409, version=2)


def test_an_entry_of_an_unknown_batch_is_refused(small):
    refused = small.ask("POST", "entries", 404, kind="ph", ph=5.2, batch="nobody's")
    assert "nobody's" in refused["error"]["sentence"]


def test_stages_tell_what_the_bill_can_give_and_whether_the_ferment_is_done(small):
    small.say("grain", 1, name="rye", mass_kg=38.0)
    small.say("grain", 1, name="rye-malt", mass_kg=27.0)
    small.say("liquor", 1, volume_l=210.0, temperature_c=71.0)
    small.say("volume", 2, volume_l=224.0)
    small.say("yeast", 3, name="dried", mass_kg=0.3)
    small.say("gravity", 4, reading_sg=1.0, temperature_c=25.0)
    stages = small.ask("GET", f"batches/{small.batch['id']}/stages")
    found = potential_alcohol(("rye", "rye-malt"), (38.0, 27.0), 224.0)
    assert stages["bill_kg"] == 65.0
    assert stages["expected"]["pure_alcohol_l"] == found.pure_alcohol_l
    assert stages["expected"]["pure_alcohol_high_l"] == found.pure_alcohol_high_l
    assert stages["expected"]["sg"] > 1.05
    assert not stages["ferment"]["done"]
    assert stages["pitched_at"].startswith("2026-09-21T12:03")
