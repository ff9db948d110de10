"""Where temperatures jumped: found by slopes over time, and what happened next."""

import numpy as np
import pytest

from api.reviews.jumps import jumps
from api.reviews.lines import Line
from logger.store.timeline import begin_epoch, correct_epoch

START = 1_790_000_000.0


def line(place, seconds, values, breaks=()):
    times = START + np.asarray(seconds, dtype=float)
    values = np.round(np.asarray(values) * 16) / 16
    return Line(
        None, place, "temperature_c", 10.0, times, values, values, np.array(breaks, int), 16
    )


def noisy(seconds, level=79.0):
    return level + np.random.default_rng(1).normal(0.0, 0.04, len(seconds))


@pytest.mark.parametrize("step_s", [1, 10, 30])
@pytest.mark.parametrize("size_k", [3.0, -2.0])
def test_a_jump_has_its_place_its_time_and_its_size_at_any_cadence(step_s, size_k):
    seconds = np.arange(0, 7200, step_s)
    ramp = np.clip((seconds - 3600) / 60.0, 0.0, 1.0) * size_k
    [jump] = jumps([line("head", seconds, noisy(seconds) + ramp)])
    assert jump.size_k == pytest.approx(size_k, abs=0.3)
    assert abs(jump.from_at.timestamp() - START - 3600) <= 15 + step_s
    assert abs(jump.to_at.timestamp() - START - 3660) <= 15 + step_s


def test_slow_rises_single_readings_and_gaps_are_no_jumps():
    seconds = np.arange(0, 14_400, 10)
    slow = noisy(seconds) + seconds / 600.0  # 0.1 K/min
    slow[500] += 12.0
    assert jumps([line("head", seconds, slow)]) == []
    kept = (seconds < 3600) | (seconds >= 3600 + 7200)
    apart = np.where(seconds < 3600, 79.0, 88.0)
    gap_at = int(np.count_nonzero(seconds < 3600))
    assert jumps([line("head", seconds[kept], apart[kept], [gap_at])]) == []


def test_a_pots_heating_is_no_jump_and_what_is_poured_in_is():
    seconds = np.arange(0, 3600, 10)
    warming = 20.0 + seconds / 60.0 * 1.5
    assert jumps([line("pot", seconds, warming)]) == []
    poured = np.where(seconds < 1800, warming, warming - 12.0)
    [jump] = jumps([line("pot", seconds, poured)])
    assert jump.size_k == pytest.approx(-12.0, abs=1.5)


def test_what_happened_within_ten_minutes_is_told(past, reviewed):
    past.furnish("head")
    seconds = np.arange(0, 14_400, 10)
    bumps = 3.0 * ((seconds > 6000) & (seconds < 6600)) + 3.0 * (seconds > 10_000)
    past.read(seconds, head=noisy(seconds) + bumps)
    run = past.run(0, 14_400)
    past.mark(run, "first_drop", 3000)
    past.mark(run, "power", 6120, power_kw=4.0, text="calmer")
    past.mark(run, "note", 13_000, text="later than ten minutes")
    review = reviewed(f"runs/{run.about}")
    first, second, third = review["jumps"]
    [followed] = first["followed"]
    assert (followed["kind"], followed["says"]) == ("power", "Power set to 4 kW: calmer")
    assert 60 <= followed["after_s"] <= 180
    assert (first["is_usual"], first["phase"]) == (False, "collecting")
    assert second["size_k"] < 0 < third["size_k"]
    assert (third["followed"], "Nothing followed" in third["says"]) == ([], True)
    [told] = [one["text"] for one in review["summary"] if one["about"] == "jumps"]
    assert told.startswith("Temperatures jumped three times while it ran")


def test_a_gap_of_three_hours_is_told_as_one(past, reviewed):
    past.furnish("pot", "head")
    seconds = np.concatenate((np.arange(0, 7200, 10), np.arange(18_000, 25_200, 10)))
    past.read(seconds, pot=noisy(seconds), head=noisy(seconds))
    run = past.run(0, 25_200)
    review = reviewed(f"runs/{run.about}")
    [gap] = review["silences"]
    assert (gap["place"], gap["minutes"]) == (None, pytest.approx(180.0, abs=0.5))
    assert review["jumps"] == []
    assert any("Nothing was read for 3 h" in one["text"] for one in review["summary"])


def test_a_run_across_a_change_of_the_clock_is_told_in_true_time(past, reviewed, shop):
    zone = {"time_zone": "Europe/Vienna", "version": 0}
    assert shop[1].put("/api/site", json=zone).status_code == 200
    past.furnish()
    begin_s = 1_774_738_800 - past.start  # 2026-03-28T23:00Z: at 01:00Z next day summer time comes
    run = past.run(begin_s, begin_s + 4 * 3600)
    review = reviewed(f"runs/{run.about}")
    [change] = review["run"]["clock_changes"]
    assert (change["at"], change["by_min"]) == ("2026-03-29T01:00:00Z", 60)
    assert review["run"]["duration_min"] == 240.0
    told = [one["text"] for one in review["summary"] if one["about"] == "run"]
    assert "29 March 2026, 00:00 to 05:00, 4 h" in told[0]
    assert "put forward by 60 min" in told[1]


def test_a_clock_that_was_put_back_is_told_once(past, reviewed):
    past.furnish("head")
    seconds = np.arange(0, 7200, 10)
    past.read(seconds, head=noisy(seconds))
    half = past.start + 3600
    epoch = begin_epoch(
        past.engine, from_slot=half, offset_us=-1_800_000_000, boot_id="again", boottime_us=0,
        synchronised=True,
    )  # fmt: skip
    run = past.run(0, 7200)
    review = reviewed(f"runs/{run.about}")
    assert review["jumps"] == []
    assert review["silences"][-1]["minutes"] == pytest.approx(30.0, abs=0.5)
    correct_epoch(past.engine, epoch, offset_us=0, synchronised=True)
    assert reviewed(f"runs/{run.about}")["silences"] == []
