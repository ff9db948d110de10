"""The demo's distillery: what its curves must do to be believed. All of it is invented."""

from itertools import pairwise

from logger.bus.inventory import is_likely_copy
from logger.bus.simulated_still import (
    DEMO_OPENS_AT_S,
    DEMO_PROBES,
    RUN_PERIOD_S,
    demo_bus,
    demo_channels,
    demo_probes,
    pressure_hpa_at,
    temperatures_at,
)
from logger.bus.sweep import CompositeBus, IioBus, OneWireBus
from logger.reading import Grade

PLENTY_S = 2.0
MINUTES = [60.0 * minute for minute in range(-600, 1200)]


def test_every_place_has_a_probe_and_a_curve():
    places = [probe.place for probe in DEMO_PROBES]
    assert sorted(places) == sorted(temperatures_at(0.0))
    assert len(set(places)) == len({probe.probe_id for probe in DEMO_PROBES}) == 8
    assert sum(is_likely_copy(probe.probe_id) for probe in DEMO_PROBES) == 1


def test_it_is_a_pure_function_of_time():
    assert temperatures_at(12345.6) == temperatures_at(12345.6)


def test_a_run_repeats_without_a_jump():
    for second in range(-3, 4):
        for run in (0, 1, -1):
            before, after = (temperatures_at(run * RUN_PERIOD_S + second + d) for d in (0, 1))
            assert all(abs(after[place] - before[place]) < 0.5 for place in before)


def test_nothing_is_colder_than_its_water_or_hotter_than_steam():
    for t_s in MINUTES:
        assert all(10.0 < value < 100.5 for value in temperatures_at(t_s).values())


def test_it_opens_in_the_hearts_of_a_run():
    now = temperatures_at(DEMO_OPENS_AT_S)
    assert now["pot"] > now["column"] > now["head"] > 78.2  # no colder than the azeotrope boils
    assert now["head"] < 83
    assert now["coolant_out"] > now["coolant_in"] + 10


def test_while_it_runs_pot_and_head_climb_and_heat_goes_to_the_coolant():
    for t_s in range(3600, 10_800, 60):
        now, later = temperatures_at(t_s), temperatures_at(t_s + 900)
        assert now["pot"] > now["column"] > now["head"]
        assert later["pot"] > now["pot"] - 0.2
        assert now["coolant_out"] > now["coolant_in"] + 10
        assert now["spout"] < 25


def test_the_head_passes_through_85():
    heads = [temperatures_at(float(t_s))["head"] for t_s in range(11_400)]
    assert min(heads) < 85.0 < max(heads)


def test_the_barometer_stays_in_weather():
    assert all(995 < pressure_hpa_at(t_s) < 1020 for t_s in MINUTES)


def test_what_it_writes_is_read_back_near_the_curves(tmp_path):
    folder = tmp_path / "w1"
    simulated = demo_bus(folder)
    bus = CompositeBus([OneWireBus(folder), IioBus(demo_channels(folder))])
    *temperatures, pressure = bus.read_scan(deadline_s=PLENTY_S)
    expected = temperatures_at(DEMO_OPENS_AT_S)
    by_id = {probe.probe_id: probe.place for probe in DEMO_PROBES}
    for reading in temperatures:
        assert reading.grade is Grade.OK
        assert abs(reading.value - expected[by_id[reading.series.probe_id]]) < 0.2
    assert abs(pressure.value - pressure_hpa_at(DEMO_OPENS_AT_S)) <= 1 / 32
    bus.close()
    simulated.close()


def test_noise_leaves_fewer_than_half_of_the_steps_at_zero():
    pot = demo_probes()[0]
    counts = [pot.raw_at(DEMO_OPENS_AT_S + second, 12) for second in range(2000)]
    zero = sum(a == b for a, b in pairwise(counts)) / 2000
    assert 0.3 < zero < 0.6
