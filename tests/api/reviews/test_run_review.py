"""One run reviewed: its numbers are calc's, its moments the true ones, its gaps are said."""

import numpy as np
import pytest

from api.reviews.facts_read import HELD, Site, grounds
from calc.blending import blend
from calc.element import energy_cost


def moments_of(review):
    return {one["key"]: one for one in review["moments"]}


def test_a_runs_numbers_are_calcs(spirit_run, reviewed):
    review = reviewed(f"runs/{spirit_run.about}")
    whole = blend((0.5, 2.0, 9.0, 4.0), (81.0, 78.0, 70.0, 35.0))
    assert review["totals"]["volume_l"] == pytest.approx(15.5)
    assert review["totals"]["pure_alcohol_l"] == pytest.approx(whole.pure_alcohol_l, abs=1e-9)
    recovered = whole.pure_alcohol_l / (84.0 * 0.28)
    assert review["totals"]["share_of_charge"] == pytest.approx(recovered)
    hearts = next(one for one in review["cuts"] if one["cut"] == "hearts")["collected"]
    assert (hearts["volume_l"], hearts["abv"]) == pytest.approx((9.0, 70.0))
    used_kwh = energy_cost(6.0, 10_200 / 3600, 0).energy_kwh
    used_kwh += energy_cost(4.0, 10_800 / 3600, 0).energy_kwh
    assert (review["energy"]["amount"], review["energy"]["basis"]) == (
        pytest.approx(used_kwh), "marked",
    )  # fmt: skip
    assert review["energy_kwh_per_l"] == pytest.approx(used_kwh / whole.pure_alcohol_l)


def test_a_runs_temperatures_are_the_historys_of_its_still(spirit_run, reviewed, shop):
    review = reviewed(f"runs/{spirit_run.about}")
    run, told = review["run"], reviewed(f"runs/{spirit_run.about}/temperatures", buckets=300)
    span = {"from_ms": run["from_ms"], "to_ms": run["to_ms"]}
    history = shop[1].get(
        "/api/history", params={"buckets": 300, "places": review["places"]} | span
    )
    assert told == history.json()
    assert {one["place"] for one in told["traces"]} == {"pot", "head"}


def test_phases_share_out_all_that_came_over_and_all_the_energy(spirit_run, reviewed):
    review = reviewed(f"runs/{spirit_run.about}")
    phases = review["phases"]
    assert [(one["key"], one["minutes"]) for one in phases] == [
        ("heat_up", 50), ("foreshots", 10), ("heads", 50), ("hearts", 180), ("tails", 60),
        ("cooling", 120),
    ]  # fmt: skip
    came = [one["collected"] for one in phases if one["collected"]]
    assert sum(one["volume_l"] for one in came) == pytest.approx(review["totals"]["volume_l"])
    energy = sum(one["energy"]["amount"] for one in phases)
    assert energy == pytest.approx(review["energy"]["amount"])
    assert phases[3]["rate_ml_min"] == pytest.approx(50.0)


def test_moments_that_nobody_marked_are_seen_in_the_temperatures(past, still_course, reviewed):
    past.furnish("pot", "head")
    seconds = np.arange(0, 14_400, 10)
    pot, head = still_course(seconds)
    past.read(seconds, pot=pot, head=head)
    run = past.run(0, 14_400, charge=None)
    review = reviewed(f"runs/{run.about}")
    found = moments_of(review)
    for key, true_s in (("heat_on", 600), ("boil", 3600)):
        told = (np.datetime64(found[key]["at"][:19]) - np.datetime64("1970-01-01")).astype(int)
        assert abs(told - past.start - true_s) <= 90, key
        assert found[key]["basis"] == "seen"
    assert {"charge", "jars", "first_drop", "water"} <= {one["about"] for one in review["gaps"]}


def test_where_no_first_drop_is_known_it_heated_up_until_it_boiled(past, reviewed):
    past.furnish("pot")
    seconds = np.arange(0, 18_000, 10)
    past.read(seconds, pot=np.minimum(20 + seconds * 0.02, 85 + seconds * 0.0004))
    review = reviewed(f"runs/{past.run(0, 18_000).about}")
    at = {one["key"]: one["at"] for one in review["moments"]}
    assert "first_drop" not in at
    [heat_up] = review["phases"]
    assert (heat_up["key"], heat_up["to_at"], heat_up["is_open"]) == ("heat_up", at["boil"], False)
    assert heat_up["minutes"] == pytest.approx(3300 / 60, abs=8)


def test_a_run_with_nothing_at_all_is_shown_with_its_gaps(past, reviewed):
    past.furnish(power_kw=None)
    run = past.run(0, None, charge=None)
    review = reviewed(f"runs/{run.about}")
    assert review["run"]["is_on"] is True
    assert {"temperatures", "end", "charge", "jars", "energy", "water", "estimates"} <= {
        one["about"] for one in review["gaps"]
    }
    assert all(one["why"].endswith(".") for one in review["gaps"])
    assert review["jars"] == review["phases"][1:] == review["jumps"] == []
    [row] = reviewed("runs", vessel_id=str(past.still.about))["runs"]
    assert row["numbers"]["recovered"] is None


def test_runs_are_found_by_words_filters_and_order(past, reviewed):
    past.furnish()
    first = past.run(0, 3600, "strip", "rye one")
    second = past.run(7200, 10_800, "spirit", "rye two")
    past.mark(second, "note", 8000, text="smelled of PEAR")
    past.jars(second, (7300, 7400, 1.0, 80.0, "hearts"))

    def ids(**asked):
        asked["vessel_id"] = str(past.still.about)
        return [one["id"] for one in reviewed("runs", **asked)["runs"]]

    both = [str(second.about), str(first.about)]
    assert ids() == both
    assert ids(order="rising") == both[::-1]
    assert ids(text="pear rye") == ids(purpose="spirit") == ids(batch="rye two") == both[:1]
    assert ids(text="plum") == []
    assert ids(sort="recovered", order="rising") == ids(sort="recovered") == both  # unknown last
    page = reviewed("runs", limit=1, offset=1, vessel_id=str(past.still.about))
    assert (page["total"], [one["id"] for one in page["runs"]]) == (2, both[1:])
    assert (
        reviewed("runs/01a221c6-956d-741b-a8b6-1bfb49ba72ad", 404)["error"]["kind"] == "not_found"
    )


def test_meters_go_before_what_was_marked_and_their_gaps_count_for_nothing(past, reviewed):
    past.furnish("meter", "flow")
    seconds = np.concatenate((np.arange(0, 3600, 10), np.arange(5400, 7210, 10)))
    past.read(seconds, meter=100.0 + seconds / 600.0, flow=np.full(seconds.size, 4.0))
    run = past.run(0, 7200)
    past.mark(run, "power", 0, power_kw=99.0)
    past.jars(run, (3600, 7000, 10.0, 50.0, "hearts"))
    review = reviewed(f"runs/{run.about}")
    assert (review["energy"]["amount"], review["energy"]["basis"]) == (
        pytest.approx(12.0, abs=0.1), "measured",
    )  # fmt: skip
    assert review["water"]["amount"] == pytest.approx(4.0 * 90.0, rel=0.01)
    assert "30 min without a reading are left out" in review["water"]["says"]
    assert review["water_l_per_l"] == pytest.approx(review["water"]["amount"] / 5.0)
    [row] = reviewed("runs", vessel_id=str(past.still.about))["runs"]
    assert row["numbers"]["energy_kwh"] == review["energy"]["amount"]


@pytest.mark.parametrize(
    ("marks", "kwh", "basis"),
    [
        ([("power", 9000, 4.0), ("first_drop", 3600, None)], 6.0 * 8400 / 3600 + 6.0, "marked"),
        ([("first_drop", 3600, None)], 6.0 * 13_800 / 3600, "plate"),
        ([], 6.0 * 13_800 / 3600, "plate"),
    ],
    ids=["power marked late", "by the plate", "the drop is seen as well"],
)
def test_lists_and_batches_show_the_pages_numbers(
    past, still_course, reviewed, marks, kwh, basis
):  # fmt: skip
    past.furnish("pot", "head", "spout")
    seconds = np.arange(0, 14_400, 10)
    pot, head = still_course(seconds)
    past.read(seconds, pot=pot, head=head, spout=np.where(seconds < 3600, 18.0, 14.0))
    run = past.run(0, 14_400)
    for kind, at_s, power_kw in marks:
        past.mark(run, kind, at_s, power_kw=power_kw)
    page = reviewed(f"runs/{run.about}")
    assert (page["energy"]["amount"], page["energy"]["basis"]) == (
        pytest.approx(kwh, rel=0.01), basis,
    )  # fmt: skip
    began = {key: np.datetime64(one["at"][:19]) for key, one in moments_of(page).items()}
    [row] = reviewed("runs", vessel_id=str(past.still.about))["runs"]
    heated = (began["first_drop"] - began["heat_on"]).astype(int) / 60.0
    assert row["numbers"]["heat_up_min"] == pytest.approx(heated, abs=0.1)
    assert row["numbers"]["energy_kwh"] == page["energy"]["amount"]
    assert row["energy_basis"] == basis
    [point] = reviewed("trends", vessel_id=str(past.still.about))["runs"]
    story = reviewed(f"batches/{row['batch_id']}")
    assert [point["run"], *story["runs"]] == [row, row]
    assert story["batch"]["numbers"]["energy_kwh"] == page["energy"]["amount"]
    [alone] = reviewed("compare", run=[str(run.about)])["runs"]
    assert alone["run"] == row


def test_a_list_holds_the_lines_of_few_runs(past, shop):
    house = shop[1].app.house
    past.furnish("pot")
    seconds = np.arange(0, (HELD + 1) * 600, 10)
    past.read(seconds, pot=np.full(seconds.size, 20.0))
    runs = [past.run(at_s, at_s + 600) for at_s in range(0, (HELD + 1) * 600, 600)]
    first, *others = grounds(house, runs, Site.read(house.reader.engine))
    read = first.lines
    assert read.of("pot").times_s.size == 60
    assert first.lines is read
    assert all(one.lines.of("pot") for one in others)
    assert first.lines is not read


def test_a_stripping_run_is_told_by_what_was_collected_without_jars(past, reviewed, shop):
    past.furnish(power_kw=None)
    past.condenser(flow_l_min=5.0)
    run = past.run(0, 7200, "strip", charge=(100.0, 8.0))
    past.mark(run, "first_drop", 1800)
    past.mark(run, "end", 5400)
    lot = shop[1].post("/api/lots", json={"kind": "low_wines", "name": past.still.name}).json()
    moved = {
        "from_lot": str(run.about), "to_lot": lot["id"], "kind": "collect", "volume_l": 25.0,
        "reading_abv": 30.0, "temperature_c": 20.0, "instrument": "density_meter",
    }  # fmt: skip
    assert shop[1].post("/api/transfers", json=moved).status_code == 201
    review = reviewed(f"runs/{run.about}")
    assert review["totals"]["share_of_charge"] == pytest.approx(7.5 / 8.0)
    phases = {one["key"]: one["collected"] for one in review["phases"]}
    assert phases["collecting"]["abv"] == pytest.approx(30.0)
    assert (review["water"]["amount"], review["water"]["basis"]) == (300.0, "declared")
    assert {"temperatures", "energy"} <= {one["about"] for one in review["gaps"]}
    [row] = reviewed("runs", vessel_id=str(past.still.about))["runs"]
    assert row["numbers"]["recovered"] == review["totals"]["share_of_charge"]


def test_a_cleaning_run_shows_no_strength(past, reviewed):
    past.furnish()
    run = past.run(0, 3600, "cleaning", charge=(40.0, 5.0))
    past.jars(run, (1000, 2000, 3.0, 20.0, None))
    review = reviewed(f"runs/{run.about}")
    assert review["run"]["shows_strength"] is False
    assert review["run"]["charge"]["abv"] is None
    assert review["totals"]["pure_alcohol_l"] is review["totals"]["share_of_charge"] is None
    assert review["series"]["strengths"] == []
    assert all(one["abv"] is None for one in review["jars"])
