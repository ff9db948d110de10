"""A small batch through the service: its balance, the stock book and its locks.

Numbers are held against calc to the last digit; the batch is invented.
"""

import csv
from datetime import datetime
from uuid import UUID

import pytest

from calc.alcoholometer import true_strength
from logger.store import facts
from logger.store.record_tables import Measure, StageEntry
from tests.api.record.small import NOON, SHOWN, STRENGTH, Small, jar, terms


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


def test_a_run_without_a_charge_that_gave_something_is_pointed_out(small):
    read = {"volume_l": 4.0, "reading_abv": 60.0, "temperature_c": 20.0}
    small.ask("POST", f"runs/{small.run_id}/jars", 201, number=1, **read, at=NOON.format(20))
    small.ask("POST", f"runs/{small.run_id}/jars", 201, number=2, at=NOON.format(40))
    [doubt] = small.balance["doubts"]
    assert "2.40 L of pure alcohol came out of the still, and no charge" in doubt["sentence"]
    assert doubt["excess_l"] == pytest.approx(2.4, abs=0.01)


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


def received(small, lot, minute, litres, abv):
    return small.move("receive", minute, to_lot=lot, volume_l=litres, reading_abv=abv, **STRENGTH)


def shrink(small, came, litres):
    """Correct what had come in: nothing is refused for it, whatever was taken from it since."""
    said = {"kind": "receive", "to_lot": came["to_lot"], "volume_l": litres}
    small.ask("PUT", f"transfers/{came['id']}", 200, version=1, **said)


def more_bottled_than_held(small):
    """When it was bottled it was there; that less had come in was found out afterwards."""
    tub = small.lot("spirit", "tub")
    came = received(small, tub, 1, 13.0, 60.0)
    small.say("bottle_fill", 5, lot_id=tub, name="lot 9", count=24, volume_l=0.5, reading_abv=60.0,
              temperature_c=20.0)  # fmt: skip
    shrink(small, came, 10.0)


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


@pytest.fixture
def pool(small):
    """A feints pool of no batch: 2 L at 40 % vol."""
    pool = small.lot("feints", "feints pool", batch=None)
    small.measure(pool, 1, volume_l=2.0, reading_abv=40.0, **STRENGTH)
    return pool


def doubts_of(small, lot):
    return small.ask("GET", f"lots/{lot}/balance")["doubts"]


def test_a_lot_of_no_batch_that_gives_more_than_it_had_is_doubted_too(small, pool):
    assert doubts_of(small, pool) == []
    came = received(small, pool, 2, 25.0, 40.0)
    small.move("use", 3, from_lot=pool, volume_l=26.5)
    assert doubts_of(small, pool) == []  # what it was when it was made counts with what came
    shrink(small, came, 5.0)
    [doubt] = doubts_of(small, pool)
    assert doubt["subject"] == "feints pool"
    assert doubt["excess_l"] == pytest.approx(0.4 * 19.5)


def test_a_lot_that_gave_more_than_it_had_is_doubted_in_the_stock_book(small):
    lot = small.lot("spirit", "short measure")
    came = received(small, lot, 1, 40.0, 60.0)

    def doubted(path="stock"):
        found = small.ask("GET", path)["doubts"]  # the store is the file's, as the stock book is
        return [one for one in found if one["subject"] == "short measure"]

    small.move("discard", 9, from_lot=lot, volume_l=30.0)
    assert doubted() == []
    shrink(small, came, 10.0)
    assert doubted() == doubts_of(small, lot) != []
    assert doubted("stock?to=" + NOON.format(0).replace("+", "%2B")) == []


def test_a_lot_found_to_be_more_is_doubted_by_its_book_alone(small, pool):
    found = small.measure(pool, 2, volume_l=13.0, reading_abv=40.0, **STRENGTH)
    small.move("use", 3, from_lot=pool, volume_l=9.0)
    small.move("use", 4, from_lot=pool, volume_l=3.0)
    assert doubts_of(small, pool) == []
    small.ask("PUT", f"measures/{found['id']}", 200, version=1, volume_l=10.0)
    [doubt] = doubts_of(small, pool)
    assert "3.00 L went from it when by its book 1.00 L were in it" in doubt["sentence"]
    assert doubt["excess_l"] == pytest.approx(0.8)


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


@pytest.fixture
def sold(small):
    """A tub of 10 L at 60 % vol, and what it received."""
    tub = small.lot("spirit", "tub")
    moved = small.move("receive", 1, to_lot=tub, volume_l=10.0, reading_abv=60.0, **STRENGTH)
    return tub, moved["id"]


def put_right(small, lot, corrects, status=201, /, **body):
    body = {"volume_l": 9.0, "reading_abv": 60.0, **STRENGTH} | body
    body |= {"lot_id": lot, "corrects": corrects, "why": "Misread.", "at": NOON.format(40)}
    return small.ask("POST", "stock/corrections", status, **body)


def held_l(small, lot):
    return small.ask("GET", f"lots/{lot}/balance")["held"]["volume_l"]


def test_a_correction_measures_something_of_the_lot_that_was_wrong(small, pool, sold):
    tub, received = sold
    nothing = dict.fromkeys(("volume_l", "reading_abv", *STRENGTH))
    error = put_right(small, tub, received, 422, **nothing)["error"]
    assert (error["field"], "Nothing was measured" in error["sentence"]) == ("volume_l", True)
    error = put_right(small, pool, received, 422)["error"]
    assert (error["field"], "not of feints pool" in error["sentence"]) == ("corrects", True)
    poured = jar(small, 5, 1.0, 60.0)
    assert put_right(small, tub, poured, 422)["error"]["field"] == "corrects"
    small.move("merge", 20, from_lot=poured, to_lot=tub)
    put_right(small, tub, poured, volume_l=10.5)
    assert held_l(small, tub) == pytest.approx(10.5)


def test_a_lock_or_a_correction_in_the_future_is_told_at_its_field(small, sold):
    error = small.ask("POST", "stock/locks", 422, until="2099-01-01T00:00:00Z")["error"]
    assert (error["field"], "future" in error["sentence"]) == ("until", True)
    right = {"lot_id": sold[0], "corrects": sold[1], "why": "Misread.", "volume_l": 9.0}
    late = small.ask("POST", "stock/corrections", 422, at="2099-01-01T00:00:00Z", **right)["error"]
    assert (late["field"], "future" in late["sentence"]) == ("at", True)


def test_a_correction_goes_and_comes_back_with_what_was_found(small, sold):
    tub, received = sold
    made = put_right(small, tub, received)
    assert held_l(small, tub) == pytest.approx(9.0)
    small.ask("DELETE", f"entries/{made['id']}?version=1")
    assert held_l(small, tub) == pytest.approx(10.0)
    small.ask("POST", f"entries/{made['id']}/undo", version=2)
    assert held_l(small, tub) == pytest.approx(9.0)


@pytest.fixture
def of_before(small, sold):
    """A correction as earlier versions stored it: its measure has an id of its own making."""
    tub, received = sold
    # somebody had gauged the same tub at the same moment
    small.measure(tub, 40, volume_l=8.5, reading_abv=60.0, **STRENGTH)
    house = small.client.app.house
    common = {"site": house.identity.site, "who": "somebody",
              "effective_at": datetime.fromisoformat(NOON.format(40))}  # fmt: skip
    entry = StageEntry.first(
        kind="correction", lot=UUID(tub), refers=UUID(received), text="Misread.", **common
    )
    found = Measure.first(lot=UUID(tub), volume_l=9.0, reading_abv=60.0, **STRENGTH, **common)
    facts.record(house.engine, entry, found)
    own = [str(one.about) for one in (entry, found)]
    return tub, *own


def standing(small, tub):
    return {one["id"]: one["volume_l"] for one in small.ask("GET", f"lots/{tub}/measures")}


def test_a_correction_of_an_earlier_version_goes_and_comes_back_with_its_own_measure(
    small, of_before
):
    tub, entry, found = of_before
    both = standing(small, tub)
    assert sorted(both.values()) == [8.5, 9.0]
    for version in (1, 3):  # gone and back, twice: the chain of records grows, the pair stays one
        small.ask("DELETE", f"entries/{entry}?version={version}")
        assert standing(small, tub).keys() == both.keys() - {found}
        small.ask("POST", f"entries/{entry}/undo", version=version + 1)
        assert standing(small, tub) == both


def test_the_measure_of_a_correction_of_an_earlier_version_stays_with_it(small, of_before):
    tub, entry, found = of_before
    for method, path, said in (
        ("DELETE", f"measures/{found}?version=1", {}),
        ("PUT", f"measures/{found}", {"version": 1, "volume_l": 1.0}),
        ("PUT", f"measures/{found}", {"version": 1, "at": NOON.format(41)}),
    ):
        error = small.ask(method, path, 409, **said)["error"]
        assert (
            f"belongs to the correction entered for 2026-09-21 12:40+00:00 (entry {entry})"
            in (error["sentence"])
        )
    [own] = standing(small, tub).keys() - {found}  # what was measured beside it is its own thing
    small.ask("PUT", f"measures/{own}", version=1, volume_l=8.4)
    small.ask("DELETE", f"measures/{own}?version=2")
    assert standing(small, tub) == {found: 9.0}
