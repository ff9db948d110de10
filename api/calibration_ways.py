"""How points of a calibration are measured, with cautions, sources, and the limits they keep to."""

from typing import Final, Literal

from pydantic import BaseModel

from logger import calibration

Kind = Literal["ice", "steam", "bath"]


class Way(BaseModel):
    """How a point is measured, and on whose word it is at that temperature."""

    kind: Kind
    title: str
    how: list[str]
    cautions: list[str]
    source: str


WAYS: Final = (
    Way(
        kind="ice",
        title="Ice point",
        how=[
            "Fill a vacuum flask with crushed ice and just enough distilled water for a slush.",
            "Push the probe into the middle, 10 cm deep, off walls and bottom.",
            "Stir now and then, and wait until the readings hold still.",
        ],
        cautions=["Tap water and dirty ice are colder: use distilled water and clean ice."],
        source="0.00 °C within 0.05 °C in slush of crushed ice and distilled water: NIST SP 1088.",
    ),
    Way(
        kind="steam",
        title="Steam point",
        how=[
            "Boil plain water in a vessel open to the air; the spirit stays out of it.",
            "Hang the probe in the steam above the water, not in the water.",
            "Measure the air pressure there, by a barometer; not the figure reduced to sea level.",
            "Wait until the readings hold still.",
        ],
        cautions=[
            "Steam scalds: use tongs and gloves, and leave the vessel open.",
            "Keep alcohol and its vapour away from the flame or element.",
        ],
        source="Water's boiling point at the pressure: IAPWS R7-97(2012), equation 31.",
    ),
    Way(
        kind="bath",
        title="Water bath",
        how=[
            "Bundle the probes with a thermometer or probe you trust, in stirred water.",
            "Wait until all hold still, and enter what the thermometer says.",
        ],
        cautions=["A bath is as good as its thermometer."],
        source="Comparison with a reference in a stirred bath: common practice, no source.",
    ),
)


class Limits(BaseModel):
    """What a point must keep to, and what a calibration must."""

    window_s: int = calibration.WINDOW_S
    fewest_readings: int = calibration.FEWEST_READINGS
    spread_c: float = calibration.SPREAD_LIMIT_C
    slope_c_per_min: float = calibration.DRIFT_LIMIT_C_PER_MIN
    off_c: float = calibration.FAR_LIMIT_C
    points_apart_c: float = calibration.APART_LIMIT_C
    line_slope_low: float = calibration.SLOPE_LOW
    line_slope_high: float = calibration.SLOPE_HIGH
