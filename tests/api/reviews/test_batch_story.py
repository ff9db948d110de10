"""A batch from bill to bottle, its balance, what is in store, and the next one begun from it."""

import csv
import io
import json
import re
from html import escape
from pathlib import Path
from typing import get_args
from uuid import UUID

import pytest
from uuid_utils.compat import uuid7

from api.record.balancing import Name
from api.reports.entered import KINDS
from api.reports.maker import made
from api.reports.order import BATCH_TABLES, Order
from api.reports.terms import TERMS
from calc.attenuation import attenuation
from calc.hydrometer import hydrometer
from calc.potential import potential_alcohol
from logger.store import facts
from logger.store.alarm_tables import AlarmLimit

LEARNED = "Cut the tails sooner;\nless heat in the hearts."


@pytest.fixture
def ask(shop):
    def asked(method, path, status, /, **body):
        answer = shop[1].request(method, f"/api/{path}", json=body)
        assert answer.status_code == status, answer.text
        return answer.json()

    return asked


@pytest.fixture
def rye(past, ask):
    """A batch with a bill, a ferment, one spirit run in jars, and a lot of hearts."""
    past.furnish()
    name = f"rye of {past.still.name} " + "with a very long name indeed"
    run = past.run(0, 28_800, "spirit", name)
    for said in (
        {"kind": "grain", "name": "rye", "mass_kg": 40.0, "at": past.at(-600)},
        {"kind": "grain", "name": "rye-malt", "mass_kg": 20.0, "at": past.at(-590)},
        {"kind": "liquor", "volume_l": 200.0, "temperature_c": 70.0, "at": past.at(-580)},
        {"kind": "rest", "name": "saccharification", "low_c": 62.0, "high_c": 66.0,
         "planned_min": 60.0, "at": past.at(-570), "vessel_id": str(past.still.about)},
        {"kind": "gravity", "reading_sg": 1.066, "temperature_c": 20.0, "at": past.at(-500)},
        {"kind": "yeast", "name": "distiller's", "mass_kg": 0.3, "at": past.at(-490)},
        {"kind": "nutrient", "name": "nutrient", "mass_kg": 0.05, "at": past.at(-480)},
        {"kind": "gravity", "reading_sg": 0.998, "temperature_c": 20.0, "at": past.at(-100)},
    ):  # fmt: skip
        ask("POST", "entries", 201, **said | {"batch": name, "at": said["at"].isoformat()})
    past.jars(
        run, (3600, 4200, 0.5, 80.0, "heads"), (4200, 9000, 9.0, 70.0, "hearts"),
        (9000, 12_000, 3.0, 40.0, "tails"),
    )  # fmt: skip
    past.mark(run, "hearts", 4200)
    past.mark(run, "tails", 9000)
    ask("POST", f"runs/{run.about}/checklist", 201, key="vent_open")
    [found] = [one for one in ask("GET", "batches", 200) if one["name"] == name]
    jars = ask("GET", f"runs/{run.about}", 200)["jars"]
    lot = ask("POST", "lots", 201, kind="spirit", name=f"hearts of {past.still.name}", batch=name)
    ask("POST", "transfers", 201, kind="merge", from_lot=jars[1]["id"], to_lot=lot["id"])
    return found | {"run_id": str(run.about), "lot": lot}


def test_a_plan_stands_on_what_was_read_at_the_spout(rye, reviewed, ask, past):
    for at_s, abv in ((4100, 76.0), (4300, 72.0)):
        said = {"reading_abv": abv, "temperature_c": 20.0, "at": past.at(at_s).isoformat()}
        ask("POST", "entries", 201, kind="spout", vessel_id=str(past.still.about), **said)
    [run] = reviewed(f"batches/{rye['id']}/plan")["runs"]
    assert run["hearts_from_abv"] == pytest.approx(74.0)  # at 4200 s, between the two


def figures_of(stage):
    return {one["name"]: one["value"] for one in stage["figures"]}


def test_the_story_is_the_records_and_calcs(rye, reviewed, ask):
    story = reviewed(f"batches/{rye['id']}")
    stages = {one["key"]: figures_of(one) for one in story["stages"]}
    assert list(stages) == ["mash", "ferment", "distil"]
    assert (stages["mash"]["bill_kg"], stages["mash"]["liquor_l"]) == (60.0, 200.0)
    fell = attenuation(1.066, 0.998).apparent_attenuation_percent
    assert stages["ferment"]["attenuation_percent"] == pytest.approx(fell, abs=0.1)
    bill = potential_alcohol(("rye", "rye-malt"), (40.0, 20.0), 200.0)
    numbers = story["batch"]["numbers"]
    spirit_l = 0.4 + 6.3 + 1.2
    assert numbers["expected_pure_alcohol_l"] == bill.pure_alcohol_l
    assert numbers["spirit_pure_alcohol_l"] == pytest.approx(spirit_l)
    assert numbers["efficiency"] == pytest.approx(spirit_l / bill.pure_alcohol_l)
    assert numbers["yield_l_per_100_kg"] == pytest.approx(spirit_l / 0.6)
    assert story["balance"] == ask("GET", f"batches/{rye['id']}/balance", 200)
    assert [one["id"] for one in story["runs"]] == [rye["run_id"]]
    [lot] = story["lots"]
    assert (lot["abv"], lot["pure_alcohol_l"]) == pytest.approx((70.0, 6.3), abs=0.01)
    assert lot["came_from"] == [f"{rye['name']}, spirit run"]
    assert [one["about"] for one in story["gaps"]] == ["bottles"]


def test_the_cellar_says_what_is_in_store_how_strong_and_from_where(rye, reviewed):
    cellar = reviewed("cellar", text=rye["lot"]["name"].upper())
    [lot] = cellar["lots"]
    assert (cellar["total"], lot["id"]) == (1, rye["lot"]["id"])
    assert cellar["pure_alcohol_l"] == lot["pure_alcohol_l"]
    assert reviewed("cellar", batch=rye["name"], kind="feints")["lots"] == []
    assert reviewed("cellar", text="no such thing")["total"] == 0
    listed = reviewed("batches", text="LONG NAME " + rye["name"].split()[3])
    assert rye["id"] in [one["id"] for one in listed["batches"]]
    [row] = [one for one in listed["batches"] if one["id"] == rye["id"]]
    fits = {"kind_of_wash": row["kind_of_wash"], "holds": "now" if row["stage"] else "none"}
    misses = {"kind_of_wash": "molasses"}, {"holds": "none" if row["stage"] else "now"}
    assert row in reviewed("batches", text=rye["name"], **fits)["batches"]
    assert [reviewed("batches", text=rye["name"], **one)["total"] for one in misses] == [0, 0]


def test_the_next_batch_is_begun_from_this_ones_plan(rye, reviewed, ask, past):
    plan = reviewed(f"batches/{rye['id']}/plan")
    made_of = [(one["kind"], one["name"], one["mass_kg"]) for one in plan["ingredients"]]
    assert ("grain", "rye", 40.0) in made_of
    assert ("nutrient", "nutrient", 0.05) in made_of
    [rest] = plan["rests"]
    assert (rest["name"], rest["planned_min"]) == ("saccharification", 60.0)
    [run] = plan["runs"]
    assert (run["purpose"], run["checklist"]) == ("spirit", ["vent_open"])
    assert run["tails_from_share"] == pytest.approx(6.7 / (84.0 * 0.28))
    assert 40.0 < run["tails_from_abv"] < 70.0
    body = {"id": str(uuid7()), "name": f"next of {past.still.name}", "learned": LEARNED}
    begun = ask("POST", f"reviews/batches/{rye['id']}/next", 201, **body)
    again = ask("POST", f"reviews/batches/{rye['id']}/next", 201, **body)
    assert begun == again
    assert (begun["plan"], begun["follows"]["learned"]) == (plan, LEARNED)
    assert reviewed(f"batches/{begun['batch_id']}/follows") == begun
    assert reviewed(f"batches/{begun['batch_id']}")["follows"]["name"] == rye["name"]
    [link] = reviewed(f"batches/{rye['id']}")["followed_by"]
    assert (link["batch_id"], link["learned"]) == (body["id"], LEARNED)
    listed = reviewed("batches", text=f"{past.still.name} SOONER less")["batches"]
    assert {one["id"] for one in listed} == {rye["id"], body["id"]}  # learned of one, for the other
    taken = ask("POST", f"reviews/batches/{rye['id']}/next", 409, name=rye["name"])["error"]
    assert (taken["field"], "already" in taken["sentence"]) == ("name", True)
    assert reviewed(f"batches/{rye['id']}/follows")["why"].endswith("another's plan.")


def test_limits_that_held_are_carried_over_and_it_is_said_where_they_changed(rye, reviewed, past):
    at = {"effective_at": past.at(-1000), "recorded_at": past.at(-1000)}
    said = {"limit": 58.0, "deadband": 2.0, "on_delay_s": 20, "off_delay_s": 30}
    set_to = AlarmLimit.first(
        rule="coolant_out_warm", reason="A small condenser.", **said, **at, **past.base
    )
    facts.record(past.engine, set_to)
    [limit] = reviewed(f"batches/{rye['id']}/plan")["limits"]
    assert (limit["limit"], limit["unit"], limit["holds"]) == (58.0, "°C", True)
    facts.record(past.engine, set_to.correction(who="Mara", limit=62.0))
    [limit] = reviewed(f"batches/{rye['id']}/plan")["limits"]
    assert (limit["limit"], limit["limit_now"], limit["holds"]) == (58.0, 62.0, False)


def test_limits_set_while_a_batch_goes_on_are_carried_over(rye, reviewed, past):
    past.furnish()  # the batch went on in another vessel, and is there still
    past.run(0, None, "strip", rye["name"])
    at = {"effective_at": past.at(600), "recorded_at": past.at(600)}
    said = {"limit": 95.0, "deadband": 1.0, "on_delay_s": 10, "off_delay_s": 30}
    set_to = AlarmLimit.first(rule="head_high", reason="Of now.", **said, **at, **past.base)
    facts.record(past.engine, set_to)
    carried = {one["rule"]: one["limit"] for one in reviewed(f"batches/{rye['id']}/plan")["limits"]}
    assert carried["head_high"] == 95.0


def test_a_batch_of_which_nothing_is_known_says_so(ask, reviewed):
    made = ask("POST", "batches", 201, name=f"empty {uuid7()}")
    story = reviewed(f"batches/{made['id']}")
    assert (story["stages"], story["runs"], story["lots"]) == ([], [], [])
    assert {"bill", "gravity", "runs"} <= {one["about"] for one in story["gaps"]}
    assert {one["about"] for one in reviewed(f"batches/{made['id']}/plan")["gaps"]} == {
        "bill", "liquor", "rests", "yeast", "runs",
    }  # fmt: skip
    assert reviewed(f"batches/{uuid7()}", 404)["error"]["kind"] == "not_found"


@pytest.fixture
def taken_away(past):
    """Make what the service's child would of a batch, in this process, which costs less."""

    def made_of(batch, what):
        data = Path(past.engine.url.database).parent
        order = Order(data, "batch", UUID(batch["id"]), what, past.at(500 * 86_400))
        return b"".join(made(order)).decode()

    return made_of


def rows_of(table):
    return [dict(zip(table["columns"], row, strict=True)) for row in table["rows"]]


def test_all_data_of_a_batch_hold_what_was_entered_of_its_stages(
    rye, reviewed, ask, past, taken_away
):
    for second, said in enumerate((
        {"kind": "iodine", "starch_left": False},
        {"kind": "ph", "ph": 5.3},
        {"kind": "smell", "smell": ["bread", "green apple"], "text": "calm"},
        {"kind": "gravity", "reading_sg": 1.040, "temperature_c": 25.0},
    )):  # fmt: skip
        at = past.at(second - 300).isoformat()
        ask("POST", "entries", 201, **said, batch=rye["name"], at=at)
    all_data = json.loads(taken_away(rye, "json"))
    tables = all_data["tables"]
    assert tuple(tables) == BATCH_TABLES
    entries = rows_of(tables["entries"])
    stages = ask("GET", f"batches/{rye['id']}/stages", 200)
    assert [one["kind"] for one in entries] == [one["kind"] for one in stages["entries"]]
    by_kind = {one["kind"]: one for one in entries}  # of two alike the later
    assert by_kind["iodine"]["starch_left"] is False
    assert by_kind["ph"]["ph"] == 5.3
    assert (by_kind["smell"]["smell"], by_kind["smell"]["text"]) == ("bread; green apple", "calm")
    assert (by_kind["nutrient"]["name"], by_kind["nutrient"]["mass_kg"]) == ("nutrient", 0.05)
    assert by_kind["rest"]["vessel"] == past.still.name
    # nobody ended the rest, and no probe was read: all of it is unknown, until the report is made
    assert by_kind["rest"]["unknown_min"] == pytest.approx(500 * 1440 + 9.5)
    [warm] = [one for one in entries if one["temperature_c"] == 25.0]
    assert warm["sg_at_20_c"] == hydrometer(1.040, 25.0, 20.0).sg
    story = reviewed(f"batches/{rye['id']}")
    sides = rows_of(tables["balance"])
    for side in ("came", "found"):
        told = [one["pure_alcohol_l"] for one in sides if one["side"] == side]
        assert told[:-1] == [one["pure_alcohol_l"] for one in story["balance"][side]]
        assert told[-1] == pytest.approx(sum(told[:-1]))
    [lot] = rows_of(tables["lots"])
    assert (lot["name"], lot["pure_alcohol_l"]) == (
        rye["lot"]["name"], story["lots"][0]["pure_alcohol_l"]
    )  # fmt: skip
    for name in BATCH_TABLES:
        table = list(csv.reader(io.StringIO(taken_away(rye, name))))
        assert table[0] == tables[name]["columns"]
        assert len(table) == 1 + len(tables[name]["rows"])


def test_the_report_of_a_batch_says_what_its_page_says(rye, reviewed, ask, past, taken_away, shop):
    begun = ask(
        "POST", f"reviews/batches/{rye['id']}/next", 201, name=f"after {rye['name']}",
        learned=LEARNED,
    )  # fmt: skip
    tenfold = past.run(30_000, 40_000, "spirit", rye["name"], charge=(20.0, 28.0))
    past.jars(tenfold, (31_000, 32_000, 90.0, 70.0, "hearts"), (32_000, 33_000, 0.5, 40.0, "tails"))
    story = reviewed(f"batches/{rye['id']}")
    page = taken_away(rye, "html")
    batch, _, _ = page.partition('<div class="apart"><h1>')
    assert f"<b>{100 * story['batch']['numbers']['efficiency']:.1f} <small>%</small></b>" in batch
    balance = story["balance"]
    for term in (*balance["came"], *balance["found"]):
        row = f"<td>{TERMS[term['name']]}</td>" + '<td class="number">'
        assert row + f"{term['pure_alcohol_l']:.3f}</td>".replace("-", "−") in batch
    assert not re.search(r"<td>[a-z]+_[a-z_]+</td>", batch)
    expected = balance["expected"]
    assert f"The bill can give {expected['pure_alcohol_l']:.2f} L" in batch
    slips = [slip["sentence"] for one in balance["doubts"] for slip in one["slips"]]
    assert slips
    for sentence in (*slips, *(one["sentence"] for one in balance["doubts"])):
        assert escape(sentence) in batch
    assert escape(f"The next from this plan is after {rye['name']}: {LEARNED}") in batch
    entries = shop[1].get("/api/entries", params={"batch": rye["name"]}).json()
    held = [one for one in entries if one["kind"] in KINDS]
    assert len(held) > 5
    for one in held:
        assert re.search(rf"<td>{KINDS[one['kind']]}(: [^<]+)?</td>", batch)
    assert batch.count(f"<td>{held[0]['who']}</td>") == len(held)
    for says in ("Read 1.066 at 20 °C, corrected to 20 °C.", "At 70 °C.", "62 to 66 °C"):
        assert says in batch
    assert re.search(r"Held in range \d+ min of \d+ planned", batch)
    after = taken_away({"id": begun["batch_id"]}, "html")
    assert escape(f"Begun from the plan of {rye['name']}: {LEARNED}") in after
    assert "Nothing can be balanced yet" in after
    assert '<p class="under">A wash, begun ' in after


def test_the_terms_of_a_balance_are_the_pages():
    texts = (Path(__file__).parents[3] / "web" / "batches" / "texts.js").read_text()
    said = dict(re.findall(r'"balance\.term\.(\w+)": "([^"]+)"', texts))
    assert set(get_args(Name)) == set(TERMS)
    assert said == {term: words for term, words in TERMS.items() if term != "collected"}


def test_what_was_entered_is_called_on_paper_what_it_is_on_the_page():
    texts = (Path(__file__).parents[3] / "web" / "batches" / "texts.js").read_text()
    assert dict(re.findall(r'"entry\.kind\.(\w+)": "([^"]+)"', texts)) == KINDS


def test_a_table_of_a_batch_is_its_routes(rye, shop):
    answer = shop[1].get(f"/api/reviews/batches/{rye['id']}/lots.csv")
    assert answer.status_code == 200
    assert rye["lot"]["name"] in answer.text
    assert "lots.csv" in answer.headers["content-disposition"]
    assert shop[1].get(f"/api/reviews/batches/{rye['id']}/jars.csv").status_code == 422
