"""That no alarm came up is told only of runs that the alarms watched."""

import numpy as np
import pytest
from sqlmodel import Session

from logger.store.alarm_tables import JUDGED_AFTER, AlarmProgress
from tests.api.reviews.shed import COURSE_S, a_trace

UNWATCHED = "The alarms did not watch this run."


def shown(reviewed, run_id, vessel_id):
    """Give the number of alarms in the list, the differences and the trends, and all sentences."""
    review = reviewed(f"runs/{run_id}")
    [row] = reviewed("runs", vessel_id=vessel_id)["runs"]
    compared = reviewed("compare", run=[run_id], align="clock")
    trends = reviewed("trends", vessel_id=vessel_id)
    story = reviewed(f"batches/{row['batch_id']}")
    rows = {one["name"]: one["values"] for one in compared["table"]}
    counts = [
        row["numbers"]["alarms"], row["numbers"]["alarms_high"], *rows.get("alarms", [None]),
        trends["runs"][0]["run"]["numbers"]["alarms"], story["batch"]["numbers"]["alarms"],
    ]  # fmt: skip
    said = [one["text"] for one in review["summary"]]
    gaps = [[one["why"] for one in body["gaps"]] for body in (review, compared, trends)]
    return counts, said, gaps


@pytest.fixture
def imported(past, shop, still_course):
    """Import a trace as a run of a time before the still had its probes."""
    past.furnish("pot", "head")
    body = {
        "vessel_id": str(past.still.about), "purpose": "spirit",
        "batch": f"of {past.still.name}", "trace": a_trace(COURSE_S, *still_course(COURSE_S)),
    }  # fmt: skip
    answer = shop[1].post("/api/reviews/imports", json=body)
    assert answer.status_code == 201, answer.text
    return answer.json()["run_id"]


def test_an_imported_run_was_not_watched(imported, past, reviewed):
    counts, said, gaps = shown(reviewed, imported, str(past.still.about))
    assert counts == [None] * 5
    assert not any("alarm" in one for one in said)
    assert [one.count(UNWATCHED) for one in gaps] == [1, 1, 1]


def test_a_run_on_paper_was_not_watched_whatever_another_still_said(past, reviewed):
    past.furnish("pot")
    seconds = np.arange(0, 3600, 10)
    past.read(seconds, pot=np.full(seconds.size, 20.0))
    past.start -= 172_800
    past.furnish()  # beside the first, at the same time
    run = past.run(0, 3600)
    counts, said, gaps = shown(reviewed, str(run.about), str(past.still.about))
    assert counts == [None] * 5
    assert not any("alarm" in one for one in said)
    assert [one.count(UNWATCHED) for one in gaps] == [1, 1, 1]


@pytest.mark.parametrize("place", ["pot", "column"])
def test_of_a_run_that_was_watched_it_is_told_that_none_came(past, reviewed, place):
    past.furnish(place)
    seconds = np.arange(0, 3600, 10)
    past.read(seconds, **{place: np.full(seconds.size, 20.0)})
    run = past.run(0, 3600)
    counts, said, gaps = shown(reviewed, str(run.about), str(past.still.about))
    assert counts == [0] * 5
    assert "No alarm came up." in said
    assert not any("alarms" in why for one in gaps for why in one)


@pytest.fixture
def begun_at(past):
    """Say after which scan the alarms were first judged, until the end of the test."""

    def say(slot):
        with Session(past.engine) as session:
            session.merge(AlarmProgress(id=JUDGED_AFTER, slot=slot))
            session.commit()

    yield say
    with Session(past.engine) as session:
        session.delete(session.get_one(AlarmProgress, JUDGED_AFTER))
        session.commit()


def test_a_run_of_a_time_before_the_alarms_was_not_watched(past, reviewed, begun_at):
    past.furnish("pot")
    seconds = np.arange(0, 3600, 10)
    past.read(seconds, pot=np.full(seconds.size, 20.0))
    run = past.run(0, 3600)
    begun_at(past.start + 3600)
    counts, said, gaps = shown(reviewed, str(run.about), str(past.still.about))
    assert counts == [None] * 5
    assert "No alarm came up." not in said
    assert [one.count(UNWATCHED) for one in gaps] == [1, 1, 1]
    begun_at(past.start + 1800)
    assert shown(reviewed, str(run.about), str(past.still.about))[0] == [0] * 5
