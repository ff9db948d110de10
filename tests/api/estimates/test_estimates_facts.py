"""What estimates stand on, from the record: all it has, and what it can where it is empty."""

from api.estimates.facts.ends import KEY, RunEnd, RunEnds
from api.estimates.ground import (
    FermentGround,
    JarGround,
    MashGround,
    Measured,
    RunGround,
    StillGround,
)
from api.estimates.measured import measured_share
from api.estimates.quantities import QUANTITIES
from api.estimates.seat import maker
from logger.store import facts
from logger.store.record_tables import Batch, Jar, JarVessel, Lot, Mark, StageEntry, Transfer
from logger.store.tables import Condenser, Occupancy, Setting, Vessel

START = 1_790_000_000
READ = {"temperature_c": 20.0, "instrument": "alcoholometer_20c"}


def ground(bench):
    bench.log(200, pot=60.0)
    bench.desk().work()
    return bench.made[-1].known[-1]


def held(bench):
    bench.log(200, pot=60.0)
    desk = bench.desk()
    desk.work()
    [told] = desk.told.values()
    return told.held


def test_an_empty_record_gives_what_it_can(bench):
    run = bench.begin("strip")
    found = held(bench)
    assert found.ground == RunGround(str(run.about), "strip", START, end_abv=10.0)
    assert found.still == StillGround(volume_l=100.0)
    for one in maker(found, str).tell():
        assert one.value is None
        assert one.why


def test_a_run_has_its_charge_jars_marks_powers_and_readings(bench):
    run = bench.begin("spirit")
    wines = bench.enter(Lot, kind="low_wines", name="low wines")
    bench.enter(
        Transfer, from_lot=wines.about, to_lot=run.about, kind="charge", volume_l=40.0,
        reading_abv=25.0, volume_error_l=0.2, **READ,
    )  # fmt: skip
    bench.enter(JarVessel, number=3, volume_l=1.5)
    for number, begin, abv in ((1, 50, 80.0), (2, 90, None), (3, 130, None)):
        read = {} if abv is None else {"reading_abv": abv, **READ}
        volume_l = None if number == 3 else 1.0
        bench.enter(Jar, begin, run=run.about, number=number, volume_l=volume_l, **read)
    bench.enter(Mark, 5, run=run.about, kind="power", power_kw=3.0)
    bench.enter(Mark, 40, run=run.about, kind="first_drop")
    bench.enter(
        StageEntry, 60, kind="spout", batch="rye 1", vessel=bench.still.about, reading_abv=79.0,
        temperature_c=20.0,
    )  # fmt: skip
    bench.enter(
        Setting, key=KEY, value=RunEnds(cut=RunEnd(spout_abv=None, left_percent=4.0)).written()
    )
    found = ground(bench)
    charge = found.charge_volume_l
    assert (round(charge.value, 6), charge.error) == (40.0, 0.2)
    assert (round(found.charge_abv.value, 6), found.charge_abv.error) == (25.0, 0.3)
    assert found.dissolved_g_l == Measured(0.0, 1.0)
    assert [(one.from_slot - START, one.to_slot and one.to_slot - START) for one in found.jars] == [
        (50, 90), (90, 130), (130, None),
    ]  # fmt: skip
    assert [one.abv and round(one.abv.value, 6) for one in found.jars] == [80.0, None, None]
    assert [one.volume_l and one.volume_l.value for one in found.jars] == [1.0, 1.0, None]
    assert found.jars[2].holds_l == 1.5
    assert (found.powers_w, found.first_drop_slot) == (((START + 5, 3000.0),), START + 40)
    [reading] = found.spout
    assert (reading.slot, round(reading.abv.value, 6)) == (START + 60, 79.0)
    assert (found.end_abv, found.end_left_share) == (None, 0.04)


def test_a_wash_has_what_its_last_gravity_says_is_dissolved(bench):
    run = bench.begin("strip", 50)
    wash = bench.enter(Lot, kind="wash", name="wash 1", batch="rye 7")
    about = {"batch": "rye 7", "temperature_c": 20.0}
    bench.enter(StageEntry, 0, kind="gravity", reading_sg=1.0484, **about)
    bench.enter(StageEntry, 1, kind="yeast", name="ale yeast", mass_kg=0.1, **about)
    bench.enter(StageEntry, 40, kind="gravity", reading_sg=1.0078, **about)
    charge = {"from_lot": wash.about, "to_lot": run.about, "kind": "charge", "volume_l": 70.0}
    bench.enter(Transfer, 50, **charge)
    # Balling's relation for these gravities: 3.81 °P, 38 g/L; Tabarié's a little more.
    assert 38.0 < ground(bench).dissolved_g_l.value < 42.0
    other = bench.enter(Lot, kind="feints", name="feints 1")
    bench.enter(Transfer, 51, **(charge | {"from_lot": other.about, "volume_l": 2.0}))
    assert ground(bench).dissolved_g_l is None


def test_a_still_has_its_condensers_and_where_its_head_sits(bench):
    bench.begin("strip")
    plate = {"heat_source": "element", "power_kw": 3.5, "heat_loss_w_per_k": 6.0}
    facts.record(bench.engine, bench.still.correction(who="Anna", **plate))
    about = {"vessel": bench.still.about}
    bench.enter(Condenser, kind="product", name="tube", flow_l_min=4.0, duty_kw=5.0, **about)
    bench.enter(Condenser, kind="reflux", name="dephlegmator", **about)
    [head] = [one for one in facts.places(bench.engine) if one.name == "head"]
    facts.record(bench.engine, head.correction(who="Anna", head_probe="after_reflux"))
    assert held(bench).still == StillGround(
        volume_l=100.0, heat_source="element", power_w=3500.0, loss_w_per_k=6.0, has_reflux=True,
        head_after_reflux=True, condenser_flow_l_min=4.0, condenser_duty_w=5000.0,
    )  # fmt: skip


def test_a_ferment_has_its_wash_its_yeast_and_its_gravities(bench):
    tun = bench.enter(Vessel, name="mash tun", kind="mash_tun", volume_l=300.0)
    other = bench.enter(Vessel, name="fermenter 9", kind="fermenter", volume_l=300.0)
    bench.enter(Batch, name="rye 1", kind_of_wash="grain", on_grain=True)
    bench.enter(
        Occupancy, 0, vessel=other.about, batch="rye 1", stage="ferment", ended_at=bench.at(5)
    )
    run = bench.begin("ferment", 10)
    about = {"batch": "rye 1", "temperature_c": 20.0}
    said = (
        (0, {"kind": "liquor", "vessel": tun.about, "volume_l": 200.0}),
        (0, {"kind": "gravity", "vessel": tun.about, "reading_sg": 1.060}),
        (10, {"kind": "yeast", "name": "ale yeast", "mass_kg": 0.1}),
        (11_000, {"kind": "gravity", "vessel": bench.still.about, "reading_sg": 1.030}),
        (11_100, {"kind": "gravity", "vessel": other.about, "reading_sg": 1.020}),
    )
    entries = [bench.enter(StageEntry, at, **(about | columns)) for at, columns in said]
    yeast = entries[2]
    found = ground(bench)
    assert isinstance(found, FermentGround)
    assert (found.run_id, found.from_slot, found.pitched_slot) == (
        str(run.about), START + 10, START + 10,
    )  # fmt: skip
    assert (found.volume_l, found.vessel_volume_l) == (200.0, 100.0)
    assert round(found.original_sg.value, 4) == 1.06
    assert [(one.slot - START, round(one.sg.value, 3)) for one in found.gravities] == [
        (11_000, 1.03)
    ]
    assert (found.yeast, found.kind_of_wash, found.on_grain) == ("ale yeast", "grain", True)
    assert found.yeast_max_c == 35.0
    facts.record(bench.engine, yeast.correction(who="Anna", name="distiller's yeast"))
    assert ground(bench).yeast_max_c == 38.0


def test_a_mash_in_the_pot_has_its_grain_its_rests_and_the_pots_probe(bench):
    bench.begin("mash")
    about = {"batch": "rye 1", "vessel": bench.still.about}
    bench.enter(StageEntry, kind="grain", name="rye", mass_kg=50.0, **about)
    bench.enter(StageEntry, 20, kind="liquor", volume_l=70.0, **about)
    rest = {"kind": "rest", "low_c": 62.0, "high_c": 67.0, "planned_min": 60.0}
    bench.enter(StageEntry, 30, name="rest", **rest, **about)
    found = ground(bench)
    assert isinstance(found, MashGround)
    assert (found.grain_kg, found.liquor_l) == (50.0, 70.0)
    [one] = found.rests
    assert (one.low_c, one.high_c, one.minutes, one.from_slot) == (62.0, 67.0, 60.0, START + 30)
    [counting] = bench.made
    assert {step.values["mash"] for step in counting.steps} == {60.0}


def test_more_measured_than_charged_is_told_with_its_band():
    charge = {"charge_volume_l": Measured(10.0, 0.1), "charge_abv": Measured(20.0, 0.3)}
    jars = (JarGround(0, 1, Measured(4.0, 0.04), Measured(70.0, 0.3)),)
    found = measured_share(RunGround("r", "strip", 0, **charge, jars=jars))
    # by hand: 2.8 L of 2.0 L; u = 140 x hypot(0.0180, 0.0109) = 2.95
    assert round(found.value) == 140
    assert 133.5 < found.low < 134.8
    assert measured_share(RunGround("r", "strip", 0, jars=jars)).why
    assert measured_share(RunGround("r", "strip", 0, **charge)).why


def test_every_estimator_tells_what_is_declared_and_nothing_else(bench):
    for stage, kind in (("strip", "still"), ("ferment", "ferment"), ("mash", "mash")):
        run = bench.begin(stage, bench.slot - START)
        one = held(bench)
        estimator = maker(one, str)
        estimator.know(one.ground, one.probes)
        estimator.see(bench.made[-1].steps)
        assert {each.quantity for each in estimator.tell()} <= set(QUANTITIES[kind]), kind
        facts.record(bench.engine, run.correction(who="Anna", ended_at=bench.now))
