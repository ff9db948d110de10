"""The margin of the product condenser, where its temperatures allow."""

from typing import Final

from api.alarms.stages import VAPOUR_C
from api.estimates.estimate import Estimate
from api.estimates.estimator import Step
from api.estimates.ground import StillGround
from api.estimates.measured import COVERS_68, COVERS_95
from api.estimates.still import words

QUANTITY: Final = "condenser_margin_percent"
# Water that leaves hotter than this hardly condenses the last of a vapour near 80 °C, and scales.
# Common practice, no source.
HOTTEST_OUT_C: Final = 60.0
LEAST_FLOW_L_MIN: Final = 0.05  # carries 150 W at most, or is a meter's drift
_PROBE_K: Final = 0.35  # of a difference between two probes, one standard error
_WATER_W_MIN_L_K: Final = 4186.0 / 60.0
_LEAST_ROOM_K: Final = 5.0


def condenser_margin(step: Step | None, still: StillGround) -> Estimate:
    """Tell how much of what the water could carry is still to spare."""
    into = None if step is None else step.values.get("coolant_in")
    out = None if step is None else step.values.get("coolant_out")
    if step is not None and (why := _stands(step, still, into, out)):
        return Estimate(QUANTITY, None, None, None, why)
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
        return min(100.0, max(0.0, 100.0 * (1.0 - used + z * error)))

    return Estimate(
        QUANTITY, percent(0.0), percent(-COVERS_95), percent(COVERS_95),
        low_68=percent(-COVERS_68), high_68=percent(COVERS_68),
        rests_on=(words.FROM_WATER.format(limit=HOTTEST_OUT_C),),
    )  # fmt: skip


def _stands(step: Step, still: StillGround, into: float | None, out: float | None) -> str | None:
    """Say why the water seems to stand still: nothing then tells what it could carry."""
    flow, boils = step.coolant_flow_l_min, _has_vapour(step)
    if flow is not None and flow < LEAST_FLOW_L_MIN:
        return words.NO_FLOW if boils else words.NO_FLOW_YET
    if not boils or into is None or out is None:
        return None
    # A reflux condenser may leave this one little to do, and a flow that is measured does run:
    # then the water must surely have grown colder.
    has_little = flow is not None or (still.has_reflux and not still.head_after_reflux)
    error_k = COVERS_95 * _PROBE_K
    return words.NOT_WARMER if out - into < (-error_k if has_little else error_k) else None


def _has_vapour(step: Step) -> bool:
    shown = (step.values.get("head"), step.values.get("column"))
    return any(one is not None and one >= VAPOUR_C for one in shown)
