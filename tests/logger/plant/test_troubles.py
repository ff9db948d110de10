"""What goes wrong changes what it should, as reference rules for alarms expect it to."""

from dataclasses import replace

import pytest

from logger.errors import PlantError
from logger.plant.distillery import demo_size
from logger.plant.parameters import PlantSize
from logger.plant.run import Run
from logger.plant.troubles import Case, Trouble

BOILING = """
    pour 190 L of 22 % vol at 84 C into still
    water on 4 L/min
    heat still with 9 kW
"""
PLACES = PlantSize().places


@pytest.fixture
def boil():
    """Give a still that has boiled for 25 minutes, on a size."""

    def made(**changes):
        run = Run(BOILING, replace(demo_size(), **changes))
        run.advance(1500.0)
        return run

    return made


def befall(run, words):
    run.plant.befall(Case.read(words, run.plant.size.places))


def course(run, place, seconds):
    """Give a place's reading each second from now on."""
    shown = [run.plant.readings()[place]]
    for _ in range(seconds):
        run.advance(run.t_s + 1.0)
        shown.append(run.plant.readings()[place])
    return shown


def test_water_stopped_cools_an_outlet_probe_on_the_hose_and_warms_the_spout(boil):
    run = boil(outlet_on_hose=True)
    befall(run, "coolant-stopped")
    began, room = run.plant.readings(), run.plant.room.temperature_c
    outlet, spout = [], []
    for _ in range(900):
        run.advance(run.t_s + 1.0)
        outlet.append(run.plant.readings()["coolant_out"])
        spout.append(run.plant.readings()["spout"])
    assert outlet[-1] < began["coolant_out"] - 15  # towards the room, while it boils
    assert abs(outlet[-1] - room) < 6
    assert max(b - a for a, b in zip(spout, spout[30:], strict=False)) > 3  # +3 K in 30 s
    assert max(spout) > 70
    assert run.truth().vented_pure_l > 0.1  # vapour stands in the room


def test_water_stopped_warms_an_outlet_probe_on_the_condenser(boil):
    run = boil(outlet_on_hose=False)
    befall(run, "coolant-stopped")
    outlet = course(run, "coolant_out", 300)
    assert outlet[-1] > 70
    assert max(b - a for a, b in zip(outlet, outlet[10:], strict=False)) / 10 > 0.1


def test_a_hose_that_comes_off_is_worse_than_water_that_stops(boil):
    vented = {}
    for words in ("coolant-stopped", "hose-off"):
        run = boil()
        befall(run, words)
        run.advance(run.t_s + 120.0)
        vented[words] = run.truth().vented_pure_l
    assert vented["hose-off"] > vented["coolant-stopped"] + 0.05


def test_weak_water_warms_the_outlet(boil):
    run = boil()
    befall(run, "coolant-weak by 50")
    outlet = course(run, "coolant_out", 400)
    assert outlet[-1] - 12 == pytest.approx(2 * (outlet[0] - 12), rel=0.1)


def test_warm_water_warms_inlet_outlet_and_spout(boil):
    run = boil()
    before = run.plant.readings()
    befall(run, "coolant-warm by 25")
    run.advance(run.t_s + 1500.0)
    now = run.plant.readings()
    assert now["coolant_in"] == pytest.approx(before["coolant_in"] + 25, abs=0.5)
    assert now["coolant_out"] > before["coolant_out"] + 20
    assert now["spout"] > before["spout"] + 20


def test_a_tank_that_water_runs_back_into_warms_by_its_heat(boil):
    """8.6 K/h for 2 kW in 200 L, as the reference for alarms has it: C of water 4.186."""
    run = boil(recirculated_l=1000.0)
    before_c, before_w = run.plant.supply.inlet_c, run.truth().condensing_w
    run.advance(run.t_s + 1800.0)
    expected = before_w * 1800.0 / (1000.0 * 4186.0)
    assert run.plant.supply.inlet_c - before_c == pytest.approx(expected, rel=0.08)


def test_foam_reaches_the_head_ahead_of_vapour_and_fouls_the_spout():
    arrived, clean = {}, {}
    for fault in ("", "fault boil-over"):
        run = Run(
            f"""
            {fault}
            pour 215 L of 8 % vol at 84 C into still
            water on 8 L/min
            heat still with 18 kW
            """,
            demo_size(),
        )
        while run.plant.readings()["head"] < 60 and run.t_s < 4000:
            run.advance(run.t_s + 1.0)
        arrived[fault] = run.t_s
        clean[fault] = run.plant.still.vapour_mol_s == 0.0
        run.advance(run.t_s + 240.0)
        clean[fault, "abv"] = run.truth().spout_abv
    assert arrived["fault boil-over"] < arrived[""] - 20
    assert clean["fault boil-over"]  # the head was hot before the pot boiled
    assert not clean[""]
    assert clean["fault boil-over", "abv"] < clean["", "abv"] - 10  # wash has come over


@pytest.mark.parametrize("words", ["heat-lost", "power-cut"])
def test_without_heat_the_run_stops_while_water_goes_on(boil, words):
    run = boil()
    befall(run, words)
    run.advance(run.t_s + 900.0)
    assert run.truth().spout_l_min == 0.0
    assert run.plant.readings()["coolant_out"] < 20
    assert run.plant.readings()["head"] < 85
    run.plant.mend(Trouble(words))
    run.advance(run.t_s + 1200.0)
    assert run.truth().spout_l_min > 0.05


def test_in_a_power_cut_fire_goes_on_and_pumped_water_does_not(boil):
    still = replace(demo_size().still, heat_source="flame")
    run = boil(still=still, pumped=True)
    befall(run, "power-cut")
    run.advance(run.t_s + 600.0)
    assert run.truth().heat_w > 5000
    assert run.truth().vented_pure_l > 0.1


def test_a_blocked_way_out_raises_pressure_and_with_it_every_boiling_point(boil):
    run = boil()
    before = run.plant.readings()
    befall(run, "vent-blocked by 60")
    run.advance(run.t_s + 900.0)
    assert run.truth().still_hpa - run.truth().pressure_hpa > 55
    for place in ("pot", "head"):  # 0.027 K/hPa of water, 0.025 of ethanol
        rise = run.plant.readings()[place] - before[place]
        assert rise == pytest.approx(60 * 0.027, abs=0.6)


def test_a_storm_lowers_barometer_and_boiling(boil):
    run, calm = boil(), boil()
    befall(run, "storm by 30")
    for one in (run, calm):
        one.advance(one.t_s + 4000.0)
    assert run.plant.pressure_hpa == pytest.approx(calm.plant.pressure_hpa - 30)
    fall = calm.plant.readings()["head"] - run.plant.readings()["head"]
    assert fall == pytest.approx(0.75, abs=0.25)  # 30 hPa of weather move the head by 0.75 K


def test_an_open_door_cools_the_room(boil):
    run, shut = boil(), boil()
    befall(run, "door-open")
    for one in (run, shut):
        one.advance(one.t_s + 7200.0)
    assert run.plant.readings()["room"] < shut.plant.readings()["room"] - 1


def fermenting(fault):
    run = Run(
        f"""
        pour 200 L at 28 C into fermenter 1
        add 30 kg sugar to fermenter 1
        pitch 300 g yeast into fermenter 1
        cool fermenter 1 to 33 C
        wait 14 h
        {fault}
        wait 30 h
        """,
        demo_size(),
    )
    for _ in range(44):
        run.advance(run.t_s + 3600.0)
    return run.truth().vessels["fermenter 1"], run


def test_dead_yeast_leaves_a_stuck_ferment():
    good, _ = fermenting("")
    stuck, run = fermenting("fault yeast-dies")
    assert good.fraction_done > 0.95
    assert stuck.fraction_done < 0.5
    assert stuck.temperature_c < good.temperature_c
    assert run.truth().troubles == ("yeast-dies",)


def test_a_wrapped_fermenter_runs_hot():
    hottest = {}
    for fault in ("", "fault ferment-wrapped"):
        run = Run(
            f"""
            {fault}
            pour 250 L at 30 C into fermenter 1
            add 45 kg sugar to fermenter 1
            pitch 500 g yeast into fermenter 1
            cool fermenter 1 to 33 C
            wait 40 h
            """,
            demo_size(),
        )
        seen = []
        for _ in range(160):
            run.advance(run.t_s + 900.0)
            seen.append(run.plant.readings()["fermenter 1.ferment"])
        hottest[fault] = max(seen)
    assert hottest[""] < 33.5
    assert hottest["fault ferment-wrapped"] > 38


def test_a_slipped_probe_reads_towards_the_room(boil):
    run = boil()
    true = run.plant.true_c()["pot"]
    befall(run, "probe-slipped at pot by 50")
    run.advance(run.t_s + 300.0)
    room = run.plant.room.temperature_c
    assert run.plant.readings()["pot"] == pytest.approx((true + room) / 2, abs=1.0)
    run.plant.mend(Trouble.PROBE_SLIPPED)
    run.advance(run.t_s + 300.0)
    assert run.plant.readings()["pot"] == pytest.approx(run.plant.true_c()["pot"], abs=0.2)


def test_a_buried_probe_lags_behind(boil):
    run = boil()
    befall(run, "probe-buried at head")
    run.plant.power_w = 0.0
    run.advance(run.t_s + 900.0)
    assert run.plant.readings()["head"] > run.plant.true_c()["head"] + 5


def test_swapped_probes_read_each_other_s_place(boil):
    run = boil()
    before = run.plant.readings()
    befall(run, "probes-swapped at pot and coolant_in")
    now = run.plant.readings()
    assert (now["pot"], now["coolant_in"]) == (before["coolant_in"], before["pot"])


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("coolent-stopped", '"coolent-stopped" is no fault of the plant; there are coolant-stop'),
        ("coolant-warm by much", '"much" is no number for coolant-warm; write "by 20".'),
        ("coolant-warm quickly", '"quickly" does not belong to coolant-warm'),
        ("probe-slipped", 'probe-slipped is at one place, as in "at head"; 0 are given.'),
        ("probe-slipped at nose", 'There is no place "nose"; there are pot, column'),
        ("probes-swapped at pot", "probes-swapped is at two places"),
        ("storm at pot", "storm is at no place; 1 are given."),
    ],
)
def test_words_that_are_no_trouble_are_one_sentence(words, says):
    with pytest.raises(PlantError) as refused:
        Case.read(words, PLACES)
    assert str(refused.value).startswith(says)
