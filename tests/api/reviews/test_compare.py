"""Runs laid over each other: to the second where the true shift is known."""

from datetime import datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from logger.store.tables import TEMPERATURE

SHIFT_S = 137  # no multiple of any bucket


@pytest.fixture(scope="module")
def twins(shop, still_course):
    """The same run twice, the second a day and 137 s later; nothing of it is marked."""
    past = shop[0]
    past.furnish("pot", "head", "spout")
    seconds = np.arange(0, 5400)
    pot, head = still_course(seconds, drop_s=2400.0)
    spout = np.where(seconds < 2400, 18.0, 14.0)
    starts = (0, 86_400 + SHIFT_S)
    for start in starts:
        past.read(seconds + start, pot=pot, head=head, spout=spout)
    runs = [past.run(start, start + 5400) for start in starts]
    for run, start in zip(runs, starts, strict=True):
        rows = ((2400, 3000, 1.0, 80.0), (3000, 4000, 3.0, 70.0), (4000, 5000, 2.0, 40.0))
        past.jars(run, *((start + a, start + b, v, abv, None) for a, b, v, abv in rows))
    return runs


def compared(reviewed, runs, align, **asked):
    ids = [str(one.about) for one in runs]
    return reviewed("compare", run=ids, align=align, **asked)


def seconds_of(text):
    return (
        np.datetime64(text.removesuffix("Z").split("+")[0]).astype("datetime64[ms]").astype(float)
    )


@pytest.mark.parametrize("align", ["heat_on", "first_drop"])
def test_what_is_seen_is_aligned_to_the_second(twins, reviewed, align):
    first, second = compared(reviewed, twins, align)["runs"]
    zeros = [datetime.fromisoformat(one["zero_at"]).timestamp() for one in (first, second)]
    assert abs(zeros[1] - zeros[0] - 86_400 - SHIFT_S) <= 1.0


def test_by_the_clock_runs_lie_as_far_apart_as_they_began(twins, reviewed):
    first, second = compared(reviewed, twins, "clock")["runs"]
    begun = [one["marks"][0]["x"] for one in (first, second)]
    assert begun[1] - begun[0] == pytest.approx(SHIFT_S)


@pytest.mark.parametrize("change", ["2025-03-30", "2025-10-26"])
def test_runs_begun_at_the_same_hour_lie_together_across_a_change_of_the_clock(
    past, reviewed, shop, change
):  # fmt: skip
    zone = ZoneInfo("Europe/Berlin")
    version = shop[1].get("/api/site").json()["version"]
    moved = {"time_zone": str(zone), "version": version}
    assert shop[1].put("/api/site", json=moved).status_code == 200
    past.furnish()
    began = datetime.fromisoformat(f"{change}T08:00:00").replace(tzinfo=zone)
    begun_s = [
        (began + timedelta(days=days)).timestamp() - past.start for days in (-1, 0, 1)
    ]  # as clocks count days: on one of them 23 or 25 hours
    runs = [past.run(at_s, at_s + 3600) for at_s in begun_s]
    told = compared(reviewed, runs, "clock")["runs"]
    assert [one["marks"][0]["x"] for one in told] == [8 * 3600.0] * 3


def apart_s(reviewed, twins, align):
    """How far apart both were at each place of the axis, less the true shift; and the places."""
    both = compared(reviewed, twins, align)["runs"]
    first, second = (one["reached"] for one in both)
    assert (first["x0"], first["dx"]) == (second["x0"], second["dx"])
    zeros = [datetime.fromisoformat(one["zero_at"]).timestamp() for one in both]
    rows = zip(first["seconds"], second["seconds"], strict=False)
    found = [
        (first["x0"] + place * first["dx"], b + zeros[1] - a - zeros[0] - 86_400 - SHIFT_S)
        for place, (a, b) in enumerate(rows)
        if a is not None and b is not None
    ]
    assert len(found) > 100
    return np.array(found).T


def test_by_alcohol_both_are_there_at_the_same_time(twins, reviewed):
    assert np.abs(apart_s(reviewed, twins, "alcohol")[1]).max() <= 0.1


def test_by_pot_temperature_both_are_there_at_the_same_time(twins, reviewed):
    places, apart = apart_s(reviewed, twins, "pot_temperature")
    warming = (places > 21.0) & (places < 82.0)
    assert np.abs(apart[warming]).max() <= 1.0
    assert np.abs(apart).max() <= 10.0  # a step of 1/16 °C takes the pot three minutes


def test_buckets_hold_the_true_extremes(past, reviewed, still_course):
    past.furnish("pot")
    seconds = np.arange(0, 7200)
    pot, _ = still_course(seconds)
    pot[4321] += 9.0  # one reading
    past.read(seconds, pot=pot)
    run = past.run(0, 7200)
    past.mark(run, "first_drop", 3600)
    [one] = compared(reviewed, [run], "first_drop", buckets=40)["runs"]
    [line] = one["lines"]
    [part] = line["segments"]
    scale = part["counts_per_unit"]
    assert (line["key"], line["quantity"]) == ("pot", TEMPERATURE)
    assert len(part["lo"]) <= 41
    assert max(part["hi"]) / scale == pytest.approx(pot.max(), abs=1 / 32)
    assert min(part["lo"]) / scale == pytest.approx(pot.min(), abs=1 / 32)
    place = int((721 - part["x0"]) // part["dx"])
    assert part["hi"][place] == max(part["hi"])


def test_differences_are_against_the_first(past, reviewed):
    past.furnish()
    runs = [past.run(0, 3600), past.run(7200, 12_600), past.run(20_000, 21_800, charge=None)]
    found = compared(reviewed, runs, "clock")
    rows = {one["name"]: one for one in found["table"]}
    assert rows["duration_min"]["values"] == [60, 90, 30]
    assert rows["duration_min"]["differences"] == [0, 30, -30]
    assert rows["charge_volume_l"]["differences"] == [0, 0, None]
    assert "hearts_volume_l" not in rows  # no run has any
    assert {one["about"] for one in found["gaps"] if one["run_id"] == str(runs[2].about)} > {
        "charge", "jars",
    }  # fmt: skip
    first_drop = compared(reviewed, runs, "first_drop")["runs"]
    assert all(one["why"] and not one["lines"] for one in first_drop)


def test_a_run_is_pinned_drawn_behind_another_and_unpinned(past, reviewed, shop, still_course):
    client = shop[1]
    past.furnish("pot", "head")
    seconds = np.arange(0, 7200, 10)
    pot, head = still_course(seconds)
    for start in (0, 20_000):
        past.read(seconds + start, pot=pot, head=head)
    runs = [past.run(start, start + 7200) for start in (0, 20_000)]
    other = past.run(40_000, 41_000, "strip")
    for run, start in zip(runs, (0, 20_000), strict=True):
        past.mark(run, "first_drop", start + 3600 + (start and 60))
    live = f"references/for/{runs[1].about}"
    assert "No spirit run is pinned" in reviewed(live)["why"]
    pinned = client.put("/api/reviews/references", json={"run_id": str(runs[0].about)})
    assert pinned.status_code == 200, pinned.text
    again = client.put("/api/reviews/references", json={"run_id": str(runs[0].about)})
    assert again.json() == pinned.json()
    drawn = reviewed(live)
    assert (drawn["aligned_by"], drawn["shift_ms"]) == ("first_drop", 20_060_000)
    drop = next(one for one in drawn["marks"] if one["key"] == "first_drop")
    assert drop["x"] == pytest.approx(past.at(23_660).timestamp() * 1000)
    steps = [one["segments"][0]["dx"] for one in drawn["lines"]]
    assert len(steps) == 2
    assert all(a == b for a, b in pairwise(steps))
    assert reviewed(f"references/for/{other.about}")["reference"] is None
    assert reviewed(f"references/for/{runs[0].about}")["why"] == "This run is the reference itself."
    assert compared(reviewed, runs, "clock")["runs"][0]["is_reference"] is True
    body = pinned.json()
    gone = client.delete(f"/api/reviews/references/{body['id']}", params={"version": 1})
    assert gone.status_code == 200
    assert reviewed(live)["reference"] is None


def test_no_more_than_four_and_none_twice(past, reviewed):
    past.furnish()
    run = past.run(0, 3600)
    error = compared_twice(reviewed, run)
    assert error["sentence"] == "A run is named twice; name each once."
    assert reviewed("compare", 422, run=[str(run.about)] * 5)["error"]["kind"] == "invalid"


def compared_twice(reviewed, run):
    return reviewed("compare", 422, run=[str(run.about)] * 2)["error"]
