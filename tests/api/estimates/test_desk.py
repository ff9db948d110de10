"""The estimates at work: stepped with what is stored, built again, told once, and never fatal."""

import logging

from sqlmodel import Session, select

from api.estimates import issued
from api.estimates.estimate import MODEL_VERSION
from api.estimates.seat import FAILED
from logger.store import facts
from logger.store.estimate_tables import IssuedEstimate
from logger.store.record_tables import Jar, Lot, Mark, Transfer
from logger.store.tables import Calibration, Setting

START = 1_790_000_000


def kept(bench, quantity="pot_abv"):
    with Session(bench.engine) as session:
        chosen = select(IssuedEstimate).where(IssuedEstimate.quantity == quantity)
        return session.exec(chosen).all()


def told(desk):
    [one] = desk.told.values()
    return one


def test_ten_seconds_of_readings_are_one_step(bench):
    bench.begin()
    bench.log(8, pot=90.0, head=80.0, barometer=990.0)  # with the one before: a whole step
    bench.log(6, pot=91.0, head=None)
    desk = bench.desk()
    desk.work()
    [counting] = bench.made
    [step] = counting.steps
    assert step.slot == START + 9
    assert step.values == {"pot": 90.0, "head": 80.0}  # the others have never read
    assert (step.pressure_hpa, step.pressure_by) == (990.0, "barometer")
    bench.log(5, pot=91.0, head=None)
    desk.seen(bench.slot)
    desk.work()
    [_, step] = counting.steps
    assert step.slot == START + 19
    assert (step.values["pot"], step.values["head"]) == (91.0, None)


def test_without_a_barometer_the_air_is_what_was_entered_else_the_sites(bench):
    bench.begin()
    bench.enter(Setting, 15, key="pressure_hpa", value="975.5")
    bench.log(40, pot=90.0)
    desk = bench.desk()
    desk.work()
    seen = [(one.pressure_hpa, one.pressure_by) for one in bench.made[0].steps]
    assert seen[0] == (None, "altitude")  # nobody has said how high the house stands
    assert seen[-1] == (975.5, "entered")


def test_a_restart_builds_what_was_there_before(bench):
    run = bench.begin()
    running = bench.desk()
    for warmth in (30.0, 45.5, 60.0, 88.25):
        bench.log(170, pot=warmth, head=warmth / 2, barometer=1001.0)
        running.seen(bench.slot)
        running.work()
    bench.log(30, 10, pot=50.0)  # slower, and with a gap before it
    running.seen(bench.slot)
    running.work()
    before = issued.of_run(bench.engine, run.about, "pot_abv", 0, bench.slot + 1)
    again = bench.desk()
    again.work()
    first, second = bench.made
    assert first.steps == second.steps
    assert len(first.steps) > 80
    assert told(running).estimates == told(again).estimates
    assert told(running).slot == told(again).slot
    drawn = issued.of_run(bench.engine, run.about, "pot_abv", 0, bench.slot + 1)
    assert before  # what was told before it is still there to be drawn, and goes on
    assert drawn[: len(before)] == before
    assert len(drawn) > len(before)


def test_a_record_that_changes_is_told_to_the_estimator_that_stands(bench):
    run = bench.begin()
    bench.log(60, pot=90.0)
    desk = bench.desk()
    desk.work()
    bench.enter(Mark, 30, run=run.about, kind="power", power_kw=3.5)
    desk.changed([run.about])
    desk.work()
    [counting] = bench.made
    assert [one.powers_w for one in counting.known] == [(), ((START + 30, 3500.0),)]
    desk.changed([run.about])  # nothing that matters: not told twice
    desk.work()
    assert len(counting.known) == 2
    assert len(counting.steps) == 6


def test_probes_that_were_swapped_begin_it_anew_from_the_beginning(bench):
    bench.begin()
    bench.log(60, pot=90.0, head=80.0)
    desk = bench.desk()
    desk.work()
    pot, head = (
        next(one for one in facts.placements(bench.engine) if one.probe_id == name)
        for name in ("pot", "head")
    )
    facts.record(
        bench.engine,
        pot.correction(who="Anna", probe_id="head"),
        head.correction(who="Anna", probe_id="pot"),
    )
    desk.changed()
    desk.work()
    first, second = bench.made
    assert first.steps[-1].values["pot"] == 90.0
    assert [one.values["pot"] for one in second.steps] == [80.0] * 6
    assert told(desk).estimates[0].value == 80.0


def test_a_calibration_counts_from_when_it_holds_and_says_the_probe_is_compared(bench):
    bench.begin()
    bench.log(60, pot=90.0)
    bench.enter(Calibration, 30, probe_id="pot", slope=1.0, offset=-0.5, residual_c=0.2)
    desk = bench.desk()
    desk.work()
    [counting] = bench.made
    assert [one.values["pot"] for one in counting.steps] == [90.0] * 3 + [89.5] * 3
    probes = counting.probes[-1]
    assert (probes["pot"].calibrated, probes["pot"].error_c) == (True, 0.2)
    assert (probes["head"].calibrated, probes["head"].error_c) == (False, 0.25)


def test_what_an_estimator_raises_is_logged_and_told_and_it_begins_anew(bench, caplog):
    caplog.set_level(logging.ERROR)
    bench.begin()
    bench.log(60, pot=90.0)
    desk = bench.desk([ZeroDivisionError("of a test")])
    desk.work()
    assert {one.why for one in told(desk).estimates} == {FAILED}
    assert {one.value for one in told(desk).estimates} == {None}
    assert "still (strip) failed" in caplog.text
    bench.log(590, pot=90.0)
    desk.seen(bench.slot)
    desk.work()
    assert len(bench.made) == 1
    bench.log(40, pot=90.0)
    desk.seen(bench.slot)
    desk.work()
    assert len(bench.made[-1].steps) == 69
    assert told(desk).estimates[0].value == 90.0


def test_estimates_are_kept_as_they_were_told_when_they_move_and_from_time_to_time(bench):
    run = bench.begin()
    desk = bench.desk()
    for _ in range(60):  # ten minutes of nothing new
        bench.log(10, pot=90.0)
        desk.seen(bench.slot)
        desk.work()
    rows = kept(bench)
    assert [row.slot - rows[0].slot for row in rows] == [0, 300]
    assert {row.run for row in rows} == {run.about}
    assert (rows[0].quantity, rows[0].value, rows[0].low, rows[0].high_68) == (
        "pot_abv", 90.0, 89.0, 90.5,
    )  # fmt: skip
    assert (rows[0].at, rows[0].model_version) == (
        bench.at(rows[0].slot - START), MODEL_VERSION,
    )  # fmt: skip
    for _ in range(30):
        bench.log(10, pot=150.0)
        desk.seen(bench.slot)
        desk.work()
    assert len(kept(bench)) > 5
    assert len(bench.heard) > len(kept(bench))  # pages hear of it more often


def test_a_ferment_is_kept_less_often_and_nothing_of_a_run_that_is_over(bench):
    run = bench.begin("ferment")
    bench.log(20, pot=25.0)
    desk = bench.desk()
    for _ in range(50):
        bench.log(1, 10, pot=25.0)
        desk.seen(bench.slot)
        desk.work()
    assert len(kept(bench)) == 1
    facts.record(bench.engine, run.correction(who="Anna", ended_at=bench.now))
    desk.changed([run.about])
    desk.work()
    assert not desk.told
    assert bench.heard[-1] == {}


def test_a_run_that_is_planned_begins_by_itself(bench):
    bench.begin(seconds=100)
    desk = bench.desk()
    desk.work()
    assert not bench.made
    bench.log(130, pot=30.0)
    desk.seen(bench.slot)
    desk.work()
    assert [one.slot for one in bench.made[0].steps] == [START + 109, START + 119, START + 129]


def test_an_earlier_run_teaches_the_next(bench):
    run = bench.begin("spirit", 0, ended_at=bench.at(900))
    lot = bench.enter(Lot, kind="low_wines", name="low wines")
    bench.enter(
        Transfer, from_lot=lot.about, to_lot=run.about, kind="charge", volume_l=40.0,
        reading_abv=25.0, temperature_c=20.0, instrument="alcoholometer_20c",
    )  # fmt: skip
    for number, (begin, abv, cut) in enumerate(
        ((100, 80.0, "heads"), (200, 70.0, "hearts"), (500, 60.0, "hearts"), (700, 40.0, "tails")),
        1,
    ):
        bench.enter(
            Jar, begin, run=run.about, number=number, volume_l=2.0, reading_abv=abv,
            temperature_c=20.0, instrument="alcoholometer_20c", cut=cut,
        )  # fmt: skip
    bench.enter(Mark, 650, run=run.about, kind="tails")
    bench.begin("spirit", 1000)
    bench.log(1100, pot=60.0)
    bench.desk().work()
    [past] = bench.made[-1].known[-1].past
    assert past.run_id == str(run.about)
    assert round(past.hearts_from_share, 3) == round(1.6 / 10.0, 3)
    assert round(past.hearts_share, 3) == round(2.6 / 10.0, 3)
    assert round(past.tails_from_share, 3) == round(4.2 / 10.0, 3)
    assert round(past.tails_from_abv, 6) == 50.0


def test_a_place_that_lost_its_probe_is_missing_from_there_on(bench):
    bench.begin()
    bench.log(40, pot=90.0, spout=20.0)
    [spout] = [one for one in facts.placements(bench.engine) if one.probe_id == "spout"]
    facts.record(bench.engine, spout.correction(who="Anna", ended_at=bench.at(20)))
    bench.desk().work()
    seen = [one.values.get("spout") for one in bench.made[0].steps]
    assert seen == [20.0, 20.0, None, None]
