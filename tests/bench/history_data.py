"""The readings the history benches are made of: pinned by seed, no easier than real ones.

Eight series at 1 Hz, temperature in counts of 1/16 C: slow curves of a working day (heating, a
spirit run, cooling, a fermenter, the room, coolant) plus white noise of 0.035 C before rounding, so
that no more than 45 % of the steps between neighbours are zero. Probes are swapped and recalibrated
at odd seconds. Invented.
"""

import sys
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from logger.reading import SeriesKey
from logger.store import codec, facts
from logger.store.series import SeriesNumbers
from logger.store.tables import Calibration, Place, Placement, Vessel
from logger.store.types import to_datetime

SEED = 20_260
SERIES = 8
DAY_S = 86_400
COUNTS_PER_UNIT = 16
NOISE_C = 0.035
START = 4_909 * 360_000  # early January 2026; a slot at which pages of every step begin
KEYS = [SeriesKey(f"28-{n:012x}", "temperature_c", COUNTS_PER_UNIT) for n in range(SERIES)]
PLACES = ("pot", "head", "column", "coolant_in", "coolant_out", "spout", "ferment", "room")

CURVES = (  # hours of the day, then degrees C at them; in the order of PLACES
    ((0, 7, 8.5, 9, 14, 16, 24), (24, 19, 78, 82, 96, 60, 26)),
    ((0, 8, 8.6, 9, 12, 14, 16, 24), (20, 19, 60, 78.4, 80.5, 92, 45, 21)),
    ((0, 8, 8.6, 9, 12, 14, 16, 24), (20, 19, 55, 78.2, 79.4, 88, 42, 21)),
    ((0, 8, 12, 24), (11, 11.5, 13, 11)),
    ((0, 8.4, 9, 14, 15, 24), (12, 12, 31, 44, 18, 12)),
    ((0, 8.8, 9.2, 14, 15, 24), (19, 19, 22, 27, 21, 19)),
    ((0, 12, 24), (27.5, 30.5, 27.5)),
    ((0, 6, 15, 24), (17, 16, 22, 17)),
)
SWAPS = (  # from this second on, the probes of two places have changed places
    (4 * DAY_S + 31_007, "head", "column"),
    (11 * DAY_S + 52_331, "coolant_in", "coolant_out"),
    (19 * DAY_S + 7_777, "head", "spout"),
    (26 * DAY_S + 80_001, "ferment", "room"),
)
CALIBRATIONS = (  # from this second on, of the probe of this number: slope, offset
    (2 * DAY_S + 40_123, 0, 1.004, -0.21),
    (9 * DAY_S + 3, 1, 0.997, 0.35),
    (16 * DAY_S + 29_999, 1, 1.001, 0.1),
    (22 * DAY_S + 61_234, 6, 1.0, 0.19),
)


def day(number):
    """Make one day's counts, series by slot; each day has weather of its own."""
    rng = np.random.default_rng((SEED, number))
    hours = np.arange(DAY_S) / 3600
    counts = np.empty((SERIES, DAY_S), np.int16)
    for index, (at, celsius) in enumerate(CURVES):
        curve = np.interp(hours, at, celsius) + rng.normal(0, 0.4)
        counts[index] = np.rint((curve + rng.normal(0, NOISE_C, DAY_S)) * COUNTS_PER_UNIT)
    return counts


def zero_steps(counts):
    """Say which share of the steps between neighbours is zero."""
    return float((np.diff(counts) == 0).mean())


def write(engine, first_slot, counts):
    """Put scans among the recent ones, as the logger's rows are, in one commit."""
    rows = np.zeros(counts.shape[::-1], codec.READING)
    rows["series"], rows["count"] = np.arange(1, SERIES + 1), counts.T
    packed = ((first_slot + at, 1, row.tobytes()) for at, row in enumerate(rows))
    with engine.begin() as connection:
        cursor = connection.connection.driver_connection
        cursor.executemany("INSERT INTO recent_scans VALUES (?, ?, ?)", packed)


def number_series(engine):
    """Give the series their numbers, 1 to 8."""
    numbers = SeriesNumbers()
    assert [numbers.number(key, engine) for key in KEYS] == list(range(1, SERIES + 1))


def at(second):
    """Turn a second of the data into a time."""
    return to_datetime((START + second) * 1_000_000)


def record_facts(engine, site, days):
    """Place the probes, swap and recalibrate them."""
    said = {"site": site, "who": "bench"}
    base = said | {"effective_at": datetime(2025, 1, 1, tzinfo=UTC)}
    vessel = Vessel.first(name="still", kind="still", **base)
    places = {name: Place.first(name=name, vessel=vessel.about, **base) for name in PLACES}
    facts.record(engine, vessel, *places.values())
    now = {
        name: Placement.first(place=places[name].about, probe_id=key.probe_id, **base)
        for name, key in zip(PLACES, KEYS, strict=True)
    }
    facts.record(engine, *now.values())
    for second, *pair in SWAPS:
        if second < days * DAY_S:
            ended = {name: now[name].correction(who="bench", ended_at=at(second)) for name in pair}
            facts.record(engine, *ended.values())
            for name, other in zip(pair, pair[::-1], strict=True):
                probe = ended[other].probe_id
                fresh = said | {"effective_at": at(second)}
                now[name] = Placement.first(place=places[name].about, probe_id=probe, **fresh)
            facts.record(engine, *(now[name] for name in pair))
    for second, number, slope, offset in CALIBRATIONS:
        rule = {"probe_id": KEYS[number].probe_id, "slope": slope, "offset": offset}
        facts.record(engine, Calibration.first(effective_at=at(second), **rule, **said))
