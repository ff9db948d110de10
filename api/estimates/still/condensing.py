"""The margin of the product condenser, where its temperatures allow."""

from typing import Final

from api.estimates.estimate import Estimate
from api.estimates.estimator import Step
from api.estimates.ground import StillGround
from api.estimates.still import words

QUANTITY: Final = "condenser_margin_percent"
# Water that leaves hotter than this hardly condenses the last of a vapour near 80 °C, and scales.
# Common practice, no source.
HOTTEST_OUT_C: Final = 60.0
_PROBE_K: Final = 0.35  # of a difference between two probes, one standard error
_WATER_W_MIN_L_K: Final = 4186.0 / 60.0
_LEAST_ROOM_K: Final = 5.0


def condenser_margin(step: Step | None, still: StillGround) -> Estimate:
    """Tell how much of what the water could carry is still to spare."""
    into = None if step is None else step.values.get("coolant_in")
    out = None if step is None else step.values.get("coolant_out")
    if into is None or out is None:
        return Estimate(QUANTITY, None, None, None, words.NO_WATER)
    room_k = HOTTEST_OUT_C - into
    flow = None if step is None else step.coolant_flow_l_min
    if still.condenser_duty_w and flow:
        room_k = min(room_k, still.condenser_duty_w / (_WATER_W_MIN_L_K * flow))
    if room_k < _LEAST_ROOM_K:
        return Estimate(QUANTITY, None, None, None, words.WARM_WATER)
    used, error = (out - into) / room_k, _PROBE_K / room_k

    def percent(z: float) -> float:
        return min(100.0, 100.0 * (1.0 - used + z * error))

    return Estimate(
        QUANTITY, percent(0.0), percent(-1.96), percent(1.96),
        low_68=percent(-1.0), high_68=percent(1.0),
        rests_on=(words.FROM_WATER.format(limit=HOTTEST_OUT_C),),
    )  # fmt: skip
