"""Estimates held against what was measured: each number from tellings that are known."""

from uuid import UUID

import numpy as np
import pytest

from api.estimates.estimate import MODEL_VERSION, Estimate
from api.estimates.issued import Issue, keep


@pytest.fixture
def told(past):
    """Keep tellings of a run: (seconds, quantity, value, half of the band)."""

    def kept(run, *rows):
        keep(
            past.engine,
            [
                Issue(
                    UUID(str(run.about)), past.start + at_s, past.at(at_s),
                    _estimate(quantity, value, half),
                )
                for at_s, quantity, value, half in rows
            ],
        )  # fmt: skip

    return kept


def _estimate(quantity, value, half):
    if value is None:
        return Estimate(quantity, None, None, None, "Nothing runs yet.")
    if half is None:
        return Estimate(quantity, value, None, None)
    return Estimate(quantity, value, value - half, value + half)


def scores_of(review):
    return {one["quantity"]: one for one in review["estimates"]["scores"]}


def test_what_was_told_of_the_moment_is_held_against_each_measurement(spirit_run, told, reviewed):
    told(
        spirit_run,
        (4100, "collected_l", 0.6, 0.2),  # 0.5 at 4200: 0.1 too high, inside
        (7000, "collected_l", None, 0.0),
        (7100, "collected_l", 2.0, 0.2),  # 2.5 at 7200: 0.5 too low, outside
        (17_000, "collected_l", 11.0, 9.0),  # 1000 s before 18 000: too old
        (12_500, "spout_abv", 71.0, 2.0),  # 70 in the middle of the hearts
        (12_500, "rate_ml_min", 55.0, None),  # 50, and no band
    )
    review = reviewed(f"runs/{spirit_run.about}")
    collected = scores_of(review)["collected_l"]
    assert collected["n"] == 2
    assert collected["bias"] == pytest.approx(-0.2)
    assert collected["mean_absolute_error"] == pytest.approx(0.3)
    assert collected["inside_band"] == 0.5
    spout = scores_of(review)["spout_abv"]
    assert (spout["n"], spout["bias"], spout["unit"]) == (1, pytest.approx(1.0), "% vol")
    assert (collected["decimals"], spout["decimals"]) == (2, 1)  # of ± 0.2 L and ± 2 % vol
    rate = scores_of(review)["rate_ml_min"]
    assert (rate["bias"], rate["inside_band"]) == (pytest.approx(5.0), None)
    assert rate["decimals"] == 1  # no band: by the size of its errors
    assert review["estimates"]["model_versions"] == [MODEL_VERSION]
    assert review["estimates"]["says"].startswith("2 of 3 measurements lay within")
    assert "estimates" not in {one["about"] for one in review["gaps"]}


def test_what_was_told_of_the_end_is_held_against_the_end(spirit_run, told, reviewed):
    tellings = [
        (at_s, "minutes_to_end", (21_600 - at_s) / 60 + 2.0, 5.0)
        for at_s in np.arange(18_000, 21_600, 60).tolist()
    ]
    told(spirit_run, *tellings, (20_300, "end_collected_l", 15.0, 1.0))
    scores = scores_of(reviewed(f"runs/{spirit_run.about}"))
    to_end = scores["minutes_to_end"]
    assert to_end["n"] == 12  # an hour, one every five minutes
    assert (to_end["bias"], to_end["inside_band"]) == (pytest.approx(2.0), 1.0)
    assert to_end["before_end"] == (
        "Twenty minutes before, 22 min (17 to 27) was told; it was 20 min."
    )
    ended = scores["end_collected_l"]
    assert (ended["n"], ended["bias"]) == (1, pytest.approx(-0.5))
    assert ended["before_end"].startswith("Twenty minutes before, 15 L (14 to 16)")


def test_what_a_score_says_is_which_way_it_was_off_and_no_number_of_its_table(
    spirit_run, told, reviewed
):  # fmt: skip
    told(
        spirit_run,
        (4100, "collected_l", 0.4012, 0.2), (7100, "collected_l", 2.4012, 0.2),  # 0.5 and 2.5
        (17_900, "collected_l", 11.4012, 0.2),  # 11.5
        (12_500, "spout_abv", 69.9012, 1.0),  # 70
        (20_300, "end_collected_l", 15.4988, 1.0), (20_600, "end_collected_l", 15.5012, 1.0),
        (17_500, "hearts_l", 9.0988, None), (16_500, "hearts_l", 8.5, None),
        (10_000, "hearts_l", 9.2, None),  # 9
    )  # fmt: skip
    scores = scores_of(reviewed(f"runs/{spirit_run.about}"))
    assert scores["collected_l"]["says"] == "Too low each time; 3 of 3 within the band."
    assert scores["spout_abv"]["says"] == "Too low; 1 of 1 within the band."
    ended = scores["end_collected_l"]
    assert ended["says"] == "As it was measured; 2 of 2 within the band."
    assert ended["before_end"] == (
        "Twenty minutes before, 15.5 L (14.5 to 16.5) was told; it was 15.5 L."
    )
    assert scores["hearts_l"]["says"] == "Sometimes too high, sometimes too low."
