"""The demo's small rye distillery: its probes, and the temperatures of a spirit run that repeats.

Invented, and shaped by hand to what a pot still with a short column does: every number here is
made up for the demo. All curves are pure functions of seconds, so a past can be made as well as
a present; they go on for ever in both directions.
"""

from dataclasses import dataclass
from functools import partial
from math import pi, sin, tau
from pathlib import Path

from logger.bus.curves import Curve
from logger.bus.iio import Channel
from logger.bus.simulated import SimulatedBarometer, SimulatedBus, SimulatedProbe

RUN_PERIOD_S = 5 * 3600.0  # from one charge to the next
DEMO_OPENS_AT_S = 4800.0  # well into the hearts of a run

_FERMENT_PERIOD_S = 72 * 3600.0
_DAY_S = 86400.0
_MINUTE = 60.0


@dataclass(frozen=True, slots=True)
class DemoProbe:
    """A probe of the demo and where it hangs."""

    probe_id: str
    vessel: str | None  # None: in the room
    place: str
    genuine: bool = True


DEMO_PROBES = (
    DemoProbe("28-0000075a1b2c", "still", "pot"),
    DemoProbe("28-0000075a3c41", "still", "head"),
    DemoProbe("28-0000075b0e77", "still", "column"),
    DemoProbe("28-00000762a915", "still", "coolant_in"),
    DemoProbe("28-0000076313d0", "still", "coolant_out"),
    DemoProbe("28-00000763c8fe", "still", "spout"),
    DemoProbe("28-0000078e5512", "fermenter 1", "ferment"),
    DemoProbe("28-3ce104572b9a", None, "room", genuine=False),  # a copy: the demo says so
)


def _minutes(*knots: tuple[float, float]) -> Curve:
    return Curve.through(*((minute * _MINUTE, value) for minute, value in knots))


# Low wines of some 25 % vol: heat-up for 45 minutes, foreshots and heads to minute 65, hearts to
# minute 150, tails to minute 195, heat off, cooling; emptied and charged anew at minute 285.
_RUN = {
    "pot": _minutes(
        (0, 17.5), (3, 18.6), (20, 55.0), (38, 87.5), (45, 90.6), (65, 91.3), (110, 93.2),
        (150, 95.3), (195, 98.3), (197, 98.2), (215, 84.0), (245, 66.0), (283, 52.0), (287, 24.0),
        (292, 17.5), (300, 17.5),
    ),
    "column": _minutes(
        (0, 18.0), (30, 21.0), (39, 30.0), (42, 76.5), (46, 79.4), (65, 80.6), (110, 83.1),
        (135, 85.6), (150, 88.2), (195, 96.2), (197, 95.0), (204, 62.0), (225, 36.0), (260, 24.0),
        (300, 18.0),
    ),
    "head": _minutes(
        (0, 18.0), (34, 20.5), (41, 31.0), (44, 74.0), (47, 77.9), (65, 78.9), (90, 80.0),
        (120, 82.1), (150, 85.6), (170, 90.0), (195, 95.1), (197, 93.0), (204, 56.0), (225, 33.0),
        (260, 22.5), (300, 18.0),
    ),
    "coolant_out": _minutes(
        (0, 13.5), (41, 13.8), (45, 24.0), (50, 33.5), (65, 35.5), (110, 37.5), (150, 38.5),
        (195, 41.0), (197, 40.0), (203, 19.0), (215, 13.8), (300, 13.5),
    ),
    "spout": _minutes(
        (0, 18.5), (44, 18.6), (48, 16.8), (65, 17.6), (110, 18.9), (150, 19.8), (195, 22.0),
        (200, 21.2), (225, 19.2), (300, 18.5),
    ),
}  # fmt: skip
_FERMENT = Curve.through(
    *((hour * 3600.0, value) for hour, value in (
        (0, 28.0), (4, 28.6), (12, 31.4), (20, 33.6), (28, 33.2), (40, 29.8), (56, 25.6),
        (71, 23.8), (71.3, 24.4), (72, 28.0),
    ))
)  # fmt: skip
_BOIL = Curve.through((40 * _MINUTE, 0.0), (47 * _MINUTE, 1.0), (195 * _MINUTE, 1.0),
                      (200 * _MINUTE, 0.0))  # fmt: skip


def temperatures_at(t_s: float) -> dict[str, float]:
    """Give each place's temperature in °C, without noise, at a second of the scenario."""
    run_s = t_s % RUN_PERIOD_S
    swing = _boiling_swing(t_s) * _BOIL.at(run_s)
    still = {place: curve.at(run_s) for place, curve in _RUN.items()}
    still["head"] += swing
    still["column"] += 0.6 * swing
    still["coolant_out"] += 2.5 * swing
    still["coolant_in"] = 12.2 + 0.5 * sin(tau * t_s / _DAY_S + 1.0)
    ferment = _FERMENT.at((t_s + 16 * 3600.0) % _FERMENT_PERIOD_S)
    return {**still, "ferment": ferment, "room": _room_c(t_s, _BOIL.at(run_s))}


def _boiling_swing(t_s: float) -> float:
    """Waver a little, as a boiling pot does: three slow beats that never quite meet."""
    return sum(0.05 * sin(tau * t_s / period_s) for period_s in (47.0, 73.0 * pi / 3, 181.0))


def _room_c(t_s: float, boiling: float) -> float:
    return 18.2 + 1.6 * sin(tau * t_s / _DAY_S) + 1.1 * boiling


def pressure_hpa_at(t_s: float) -> float:
    """Give the barometer in hPa: weather over days, and the tide of the air twice a day."""
    weather = 5.5 * sin(tau * t_s / (5.3 * _DAY_S)) + 1.8 * sin(tau * t_s / (1.37 * _DAY_S) + 0.7)
    return 1009.0 + weather + 0.6 * sin(2 * tau * t_s / _DAY_S)


def demo_probes() -> tuple[SimulatedProbe, ...]:
    """Give the demo's probes as the simulated bus takes them."""
    return tuple(
        SimulatedProbe(
            probe.probe_id,
            partial(_temperature_at, probe.place),
            genuine=probe.genuine,
        )
        for probe in DEMO_PROBES
    )


def _temperature_at(place: str, t_s: float) -> float:
    return temperatures_at(t_s)[place]


def demo_barometer() -> SimulatedBarometer:
    """Give the demo's barometer as the simulated bus takes it."""
    return SimulatedBarometer(pressure_hpa_at)


def demo_bus(folder: Path, t_s: float = DEMO_OPENS_AT_S) -> SimulatedBus:
    """Lay the demo's bus out in a folder, at a second of the scenario."""
    return SimulatedBus(folder, demo_probes(), barometer=demo_barometer(), bulk=[1], t_s=t_s)


def demo_channels(bus: Path) -> tuple[Channel, ...]:
    """Give the settings that read the barometer beside a simulated bus folder."""
    return (Channel(device="bmp280", channel="pressure", folder=bus.parent / "iio"),)
