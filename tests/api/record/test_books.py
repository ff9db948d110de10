"""A small batch through the service: entries, balance, stock book, locks, proofing, labels.

Numbers are held against calc to the last digit; the batch is invented.
"""

import csv
import re
from dataclasses import dataclass

import numpy as np
import pytest
import zxingcpp
from uuid_utils.compat import uuid7

from calc.ageing import cask_by_weight
from calc.alcoholometer import true_strength
from calc.contents import weight_in_air
from calc.hydrometer import hydrometer, water_density
from calc.potential import potential_alcohol
from calc.proofing import dilution

NOON = "2026-09-21T12:{:02d}:00+00:00"
SHOWN = 1e-9


@dataclass
class Small:
    """A batch of grain in a still of 60 L, with short ways to enter."""

    client: object
    batch: dict
    run_id: str
    vessel_id: str

    def ask(self, method, path, status=200, /, **body):
        answer = self.client.request(method, f"/api/{path}", json=body or None)
        assert answer.status_code == status, answer.text
        return answer.json() if answer.content else None

    def say(self, kind, minute, status=201, /, **body):
        common = {"kind": kind, "at": NOON.format(minute), "batch": self.batch["name"]}
        return self.ask("POST", "entries", status, **(common | body))

    def lot(self, kind, name, **body):
        own = {"kind": kind, "name": name, "batch": self.batch["name"]}
        return self.ask("POST", "lots", 201, **(own | body))["id"]

    def move(self, kind, minute, status=201, /, **body):
        common = {"kind": kind, "at": NOON.format(minute)}
        return self.ask("POST", "transfers", status, **(common | body))

    def measure(self, lot, minute, status=201, /, **body):
        return self.ask(
            "POST", f"lots/{lot}/measures", status, **({"at": NOON.format(minute)} | body)
        )

    @property
    def balance(self):
        return self.ask("GET", f"batches/{self.batch['id']}/balance")


@pytest.fixture
def small(shared_client, entering):
    run = entering.run
    [batch] = [one for one in entering.get("batches") if one["name"] == run["batch"]]
    return Small(shared_client, batch, entering.run_id, entering.vessel_id)


STRENGTH = {"temperature_c": 20.0, "instrument": "density_meter", "reading_error_abv": 0.1}


@pytest.fixture
def charged(small):
    """A wash of 50 L at 9 % vol, all but a litre of it in the still."""
    wash = small.lot("wash", "wash")
    small.measure(wash, 1, volume_l=50.0, volume_error_l=0.3, reading_abv=9.0, **STRENGTH)
    small.move("charge", 2, from_lot=wash, to_lot=small.run_id, volume_l=49.0, volume_error_l=0.3)
    return wash


def jar(small, minute, litres, abv, at_c=20.0, instrument="density_meter"):
    body = {
        "at": NOON.format(minute),
        "volume_l": litres,
        "volume_error_l": 0.01,
        "reading_abv": abv,
        "temperature_c": at_c,
        "instrument": instrument,
        "reading_error_abv": 0.1,
        "ended_at": NOON.format(minute + 3),
    }
    return small.ask("POST", f"runs/{small.run_id}/jars", 201, **body)["id"]


def terms(side):
    return {one["name"]: one["pure_alcohol_l"] for one in side}


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
        ("grain", {"name": "moonbeams", "mass_kg": 1}, "name", "rye"),
        ("water_added", {"lot_id": str(uuid7())}, None, "one of them"),
        ("cask_weight", {"lot_id": str(uuid7()), "mass_kg": 5, "tare_kg": 9}, None, "less"),
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


def test_the_balance_adds_up_and_an_expectation_is_no_part_of_it(small, charged):
    jars = [jar(small, minute, 1.5, abv) for minute, abv in ((5, 80.0), (10, 74.0), (15, 60.0))]
    pool = small.lot("feints", "pool", batch=None)
    spirit = small.lot("spirit", "hearts")
    small.move("discard", 20, from_lot=jars[0])
    small.move("merge", 20, from_lot=jars[2], to_lot=pool)
    small.move("blend", 20, from_lot=jars[1], to_lot=spirit)
    small.move("sample", 22, from_lot=spirit, volume_l=0.1)
    found = small.balance
    assert terms(found["came"])["in_wash"] == pytest.approx(50.0 * 0.09, abs=SHOWN)
    assert terms(found["found"])["discarded"] == pytest.approx(1.5 * 0.80, abs=SHOWN)
    assert terms(found["found"])["kept_as_feints"] == pytest.approx(1.5 * 0.60, abs=SHOWN)
    assert terms(found["found"])["sampled"] == pytest.approx(0.1 * 0.74, abs=SHOWN)
    assert found["collected"]["pure_alcohol_l"] == pytest.approx(1.5 * 2.14, abs=SHOWN)
    came, went = found["came_total"]["pure_alcohol_l"], found["found_total"]["pure_alcohol_l"]
    assert abs(came - went) <= 1e-6
    assert abs(found["unaccounted_l"]) <= 1e-6
    assert found["doubts"] == []
    book = small.ask("GET", f"lots/{spirit}/balance")
    assert [one["way"] for one in book["steps"]] == ["blend", "sample"]


def test_more_out_of_the_still_than_went_in_is_doubted(small, charged):
    for minute in (5, 10, 15, 20):
        jar(small, minute, 2.0, 68.0, instrument="alcoholometer_20c")
    [doubt] = small.balance["doubts"]
    assert "all that came out" in doubt["sentence"]
    assert doubt["excess_l"] > 2 * doubt["error_l"]
    assert doubt["slips"]


def test_a_strength_no_pot_can_give_of_its_charge_is_doubted(small, charged):
    jar(small, 5, 0.5, 88.0)  # two stages over 9 % vol give about 81
    [doubt] = small.balance["doubts"]
    assert "without reflux" in doubt["sentence"]
    assert doubt["excess_l"] is None


def poured_and_measured(small, abv):
    """A jar of 1 L at 70 % vol poured into a lot, which is measured within the hour."""
    tub = small.lot("spirit", "tub")
    small.move("merge", 20, from_lot=jar(small, 5, 1.0, 70.0), to_lot=tub)
    small.measure(tub, 25, volume_l=1.0, volume_error_l=0.01, reading_abv=abv, **STRENGTH)


def more_bottled_than_held(small):
    tub = small.lot("spirit", "tub")
    small.move("receive", 1, to_lot=tub, volume_l=10.0, reading_abv=60.0, **STRENGTH)
    small.say("bottle_fill", 5, lot_id=tub, name="lot 9", count=24, volume_l=0.5, reading_abv=60.0,
              temperature_c=20.0)  # fmt: skip


def more_in_the_wash_than_the_bill_gives(small):
    small.say("grain", 1, name="rye", mass_kg=5.0)
    small.say("liquor", 1, volume_l=50.0)
    wash = small.lot("wash", "wash")
    small.measure(wash, 2, volume_l=50.0, reading_abv=9.0, **STRENGTH)


INCONSISTENT = {
    "a receiver holds less than its jars": (lambda one: poured_and_measured(one, 55.0), "tub"),
    "a lot is stronger than its parts": (lambda one: poured_and_measured(one, 78.0), "tub"),
    "more is bottled than was held": (more_bottled_than_held, "tub"),
    "a wash holds more than its bill": (more_in_the_wash_than_the_bill_gives, "wash"),
}


@pytest.mark.parametrize("case", INCONSISTENT)
def test_each_record_that_cannot_be_true_is_doubted_where_it_is_kept(small, case):
    spoil, subject = INCONSISTENT[case]
    spoil(small)
    found = small.balance
    assert subject in {one["subject"] for one in found["doubts"]}
    assert abs(found["unaccounted_l"]) <= 1e-6  # the sums close all the same


def test_strengths_are_corrected_by_calc_to_the_last_digit(small, charged):
    jar(small, 5, 1.0, 70.0, at_c=27.0, instrument="alcoholometer_20c")
    strength = true_strength(70.0, 27.0).abv_at_20_c
    found = small.ask("GET", f"runs/{small.run_id}")["jars"][0]
    assert found["abv"] == strength


def test_what_is_only_expected_stays_out_of_the_books(small, charged):
    jar(small, 5, 1.0, 70.0)
    body = {"at": NOON.format(10), "ended_at": NOON.format(14), "volume_l": 1.0}
    small.ask("POST", f"runs/{small.run_id}/jars", 201, **body)  # no strength was read after it
    found = small.balance
    assert found["collected"]["pure_alcohol_l"] == pytest.approx(0.7, abs=SHOWN)
    assert found["left_out"] == 1


def test_the_stock_book_adds_up_and_is_written_as_csv(small, charged):
    spirit = small.lot("spirit", "bought", origin="A neighbour's.")
    small.move("receive", 3, to_lot=spirit, volume_l=10.0, reading_abv=60.0, **STRENGTH)
    small.move("loss", 6, from_lot=spirit, volume_l=1.0)
    rows = small.ask("GET", "stock")["rows"]
    assert [one["name"] for one in rows[-2:]] == ["in no vessel", "the site"]
    for row in rows:
        pure = {
            name: cell["pure_alcohol_l"] for name, cell in row.items() if isinstance(cell, dict)
        }
        closing = pure.pop("closing")
        out = sum(pure.pop(name) for name in ("used", "lost", "destroyed", "sampled"))
        assert closing == pytest.approx(sum(pure.values()) - out, abs=1e-6)
    text = small.client.get("/api/stock.csv").text
    table = list(csv.DictReader(text.splitlines()))
    assert float(table[-1]["lost_pure_alcohol_l"]) == round(rows[-1]["lost"]["pure_alcohol_l"], 3)
    refused = small.ask("GET", "stock?from=2026-09-22T00:00:00Z&to=2026-09-21T00:00:00Z", 422)
    assert "later end" in refused["error"]["sentence"]


def test_proofing_is_worked_out_anew_after_each_addition(small):
    spirit = small.lot("spirit", "strong")
    small.measure(spirit, 1, volume_l=10.0, reading_abv=65.0, **STRENGTH)
    plan = small.ask("POST", "proofings", 201, lot_id=spirit, target_abv=40.0, daily_fall_abv=5.0)
    whole = dilution(10.0, 65.0, 40.0)
    assert plan["water_volume_l"] == whole.water_volume_l
    assert [round(one["abv"], 6) for one in plan["steps"]] == [60.0, 55.0, 50.0, 45.0, 40.0]
    small.say("water_added", 5, lot_id=spirit, mass_kg=2.0)
    after = small.ask("GET", f"proofings/{spirit}")
    added_kg = 2.0 / weight_in_air(1.0, water_density(20.0))  # the air carried part of it
    assert after["water_mass_kg"] == pytest.approx(whole.water_mass_kg - added_kg, abs=1e-6)
    assert len(after["additions"]) == 1
    small.say("water_added", 7, lot_id=spirit, mass_kg=6.0)
    over = small.ask("GET", f"proofings/{spirit}")
    assert over["abv"] < 40.0
    assert over["water_volume_l"] is None
    remedy = over["remedy"]
    if remedy["stronger_abv"] is not None:
        assert remedy["stronger_volume_l"] > 0.0


def test_water_taken_back_leaves_the_books_too(small):
    spirit = small.lot("spirit", "strong")
    small.measure(spirit, 1, volume_l=10.0, reading_abv=65.0, **STRENGTH)
    added = small.say("water_added", 5, lot_id=spirit, mass_kg=2.0)
    small.ask("DELETE", f"entries/{added['id']}", version=1)
    assert small.ask("GET", f"lots/{spirit}")["now"]["volume_l"] == pytest.approx(10.0)
    small.ask("POST", f"entries/{added['id']}/undo", version=2)
    assert small.ask("GET", f"lots/{spirit}")["now"]["volume_l"] > 11.9


def test_the_checklist_is_computed_and_ticked(small, charged):
    found = small.ask("GET", f"runs/{small.run_id}/checklist")
    states = {one["key"]: one["state"] for one in found["checks"]}
    assert states["fill_in_limits"] == "not ok"  # 49 of 60 L of wash
    assert states["strength_in_limits"] == "ok"
    assert not found["ready"]
    fill = next(one for one in found["checks"] if one["key"] == "fill_in_limits")
    assert "70 to 75 %" in fill["sentence"]  # nobody said what the wash is of
    body = {"name": small.batch["name"], "kind_of_wash": "grain"}
    for version, on_grain, limits in ((1, None, "55 to 60"), (2, False, "70 to 75")):
        small.ask("PUT", f"batches/{small.batch['id']}", version=version, on_grain=on_grain, **body)
        again = small.ask("GET", f"runs/{small.run_id}/checklist")["checks"]
        assert any(limits in one["sentence"] for one in again)
    ticked = small.ask("POST", f"runs/{small.run_id}/checklist", 201, key="vent_open")
    [vent] = [one for one in ticked["checks"] if one["ticked"]]
    assert vent["key"] == "vent_open"
    assert small.ask("GET", f"entries?batch={small.batch['name']}") == []  # no line of the story
    small.ask("DELETE", f"entries/{vent['entry_id']}?version={vent['version']}")
    again = small.ask("GET", f"runs/{small.run_id}/checklist")
    assert not any(one["ticked"] for one in again["checks"])


def test_without_readings_nothing_is_proposed(small):
    assert small.ask("GET", f"runs/{small.run_id}/proposals") == []


def painted(svg):
    """Paint the squares of a label's code, as a printer would: black on white."""
    path, scale = re.search(r'<path d="([^"]+)".*scale\(([\d.]+)\)', svg).groups()
    found = [tuple(map(int, one)) for one in re.findall(r"M(\d+) (\d+)h(\d+)v1", path)]
    per_square = float(scale) * 20.0  # dots; 20 to a millimetre
    size = round(32 * 20.0)
    picture = np.full((size, size), 255, dtype=np.uint8)
    for x, y, length in found:
        top, bottom = round(y * per_square), round((y + 1) * per_square)
        picture[top:bottom, round(x * per_square) : round((x + length) * per_square)] = 0
    return picture


def test_a_jars_label_leads_to_its_page(small, charged):
    made = jar(small, 5, 1.0, 70.0)
    svg = small.client.get(f"/api/labels/jars/{made}?at=https://still.lan").text
    [code] = zxingcpp.read_barcodes(painted(svg))
    assert code.text == f"https://still.lan/jar.html?id={made}"
    assert "style" not in svg
    sheet = small.client.get(f"/api/labels/runs/{small.run_id}")
    assert sheet.headers["content-type"].startswith("image/svg+xml")
    assert sheet.text.count("<path") == 1
    refused = small.ask("GET", f"labels/jars/{made}?at=javascript:alert(1)", 422)
    assert refused["error"]["field"] == "at"


def test_a_locked_period_is_corrected_after_it_only(client, take):
    """A service of its own: a lock holds for the whole site, and for good."""
    vessel = client.post("/api/vessels", json={"name": "s", "kind": "still", "volume_l": 60}).json()
    run = take(client, vessel["id"])
    batch = next(one for one in client.get("/api/batches").json() if one["name"] == run["batch"])
    own = Small(client, batch, run["id"], vessel["id"])
    tub = own.lot("spirit", "tub")
    moved = own.move("receive", 1, to_lot=tub, volume_l=10.0, reading_abv=60.0, **STRENGTH)
    full = jar(own, 5, 1.0, 70.0)
    own.ask("PUT", "jar-vessels/2", tare_kg=0.5)
    weighed = {"number": 2, "mass_kg": 0.6, "ended_at": NOON.format(12)}
    own.ask("POST", f"runs/{run['id']}/jars", 201, at=NOON.format(9), **weighed)
    locked = f"stock?to={NOON.format(30).replace('+', '%2B')}"
    before = own.ask("GET", locked)
    own.ask("POST", "stock/locks", 201, until=NOON.format(30), note="September")
    refused = own.move("sample", 20, 409, from_lot=tub, volume_l=0.1)
    assert "locked" in refused["error"]["sentence"]
    said = {"kind": "receive", "to_lot": tub, "volume_l": 9.0}
    own.ask("PUT", f"transfers/{moved['id']}", 409, version=1, **said)
    own.ask("DELETE", f"transfers/{moved['id']}?version=1", 409)
    own.ask("PUT", f"jars/{full}", 409, version=1, volume_l=1.2)
    own.ask("PUT", f"jars/{full}", 409, version=1, ended_at=NOON.format(7))
    own.ask("PUT", "jar-vessels/2", 409, tare_kg=0.4, version=1)  # it weighed what is locked
    own.ask("POST", f"runs/{run['id']}/marks", 409, kind="end", at=NOON.format(11))
    stands = {"vessel_id": vessel["id"], "batch": run["batch"], "started_at": run["started_at"]}
    own.ask("PUT", f"occupancies/{run['id']}", 409, stage="cleaning", version=1, **stands)
    own.ask("PUT", f"jars/{full}", version=1, cut="hearts")  # tasted next day
    later = jar(own, 35, 1.0, 50.0)  # a reading beyond what is locked lies behind jar 2 now
    assert own.ask("GET", locked)["rows"] == before["rows"]
    bases = [one["abv_basis"] for one in own.ask("GET", f"runs/{run['id']}")["jars"]]
    assert bases == ["read", "expected", "read"]
    own.ask("DELETE", f"jars/{later}?version=1")
    right = {"lot_id": tub, "corrects": moved["id"], "volume_l": 9.0, "reading_abv": 60.0}
    early = own.ask("POST", "stock/corrections", 422, why="Misread.", at=NOON.format(10), **right,
                    **STRENGTH)  # fmt: skip
    assert early["error"]["field"] == "at"
    made = own.ask("POST", "stock/corrections", 201, why="Misread.", at=NOON.format(40), **right,
                   **STRENGTH)  # fmt: skip
    assert made["refers"] == moved["id"]
    row = own.ask("GET", "stock")["rows"][-1]
    assert row["difference"]["volume_l"] == pytest.approx(-1.0)
    assert row["closing"]["volume_l"] == pytest.approx(10.0)  # and the jar
    own.move("sample", 50, from_lot=tub, volume_l=0.1)
