"""The rival that has the charge alone: members boiled down by the balance, with nothing read.

It knows the charge as it was recorded, the vessel, and what heat was switched on when, always, even
where the estimator is not told; it never sees a temperature, a strength or a jar.
"""

from dataclasses import replace

import numpy as np
from still_cases import Case

from api.estimates.ground import ProbeGround
from api.estimates.still.members import UNKNOWN_HPA, Chance, Frame, Row, begin, frame_of
from api.estimates.still.motion import Air, collected, go_on, look, spout_share

EVERY = 6  # steps: a minute
PURE_L_MOL = 0.05837
BAND = (0.025, 0.975)


def charge_alone(made: Case, powers_w: np.ndarray, instants: list[int]) -> dict:
    """Give bands by instant and quantity."""
    switched = tuple(
        (made.steps[i].slot, float(powers_w[i]))
        for i in (0, *(np.flatnonzero(np.diff(powers_w)) + 1))
    )
    heated = [one for one in switched if one[1] > 0.0]
    run = replace(made.run, powers_w=tuple(heated), spout=(), jars=(), first_drop_slot=None)
    hpa = made.steps[0].pressure_hpa or UNKNOWN_HPA.value
    frame, chance = frame_of(made.still, run, hpa), Chance.new()
    probes = ProbeGround(), ProbeGround()
    s = begin(frame, chance, made.steps[0].values["pot"], probes, UNKNOWN_HPA.error)
    found, before_w, at, wanted = {}, 0.0, 0, set(instants)
    for i in range(1, max(instants) + 1):
        if i % EVERY and i not in wanted and powers_w[i] == powers_w[i - 1]:
            continue
        on = powers_w[i - 1] > 0.0
        if on and before_w and powers_w[i - 1] != before_w:
            s[Row.LN_HEAT] += np.log(powers_w[i - 1] / before_w)
        before_w = powers_w[i - 1] or before_w
        seconds = made.steps[i].slot - made.steps[at].slot
        air = Air(hpa, made.steps[i].values["room"], heat_on=bool(on))
        go_on(s, frame, chance, air, seconds)
        at = i
        if i in wanted:
            found[i] = _bands(s, frame, air)
    return found


def _bands(s: np.ndarray, frame: Frame, air: Air) -> dict[str, tuple[float, float]]:
    now = look(s, frame, air)
    ethanol, water = collected(s, frame, now)
    moles = np.maximum(ethanol + water, 1e-9)
    left = np.exp(s[Row.LN_ETHANOL])
    litres_mol = frame.boiling.litres_mol(ethanol / moles)
    strength = frame.boiling.strength_abv
    values = {
        "pot_abv": strength(now.x),
        "vapour_abv": strength(now.y),
        "spout_abv": strength(spout_share(s, now)),
        "alcohol_left_l": left * PURE_L_MOL,
        "alcohol_recovered_l": ethanol * PURE_L_MOL,
        "recovered_percent": 100.0 * ethanol / (left + s[Row.ETHANOL_OVER]),
        "collected_l": moles * litres_mol,
        "collected_abv": strength(ethanol / moles),
        "heat_w": np.exp(s[Row.LN_HEAT]),
    }
    return {name: tuple(np.quantile(of, BAND)) for name, of in values.items()}
