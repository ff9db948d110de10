"""The members: some hundred still runs that could be the one at hand, as rows of one matrix.

Each column is one possible run, each row one unknown. What is positive is kept by its logarithm,
what lies between 0 and 1 by its logit, so that learning cannot push it out of its range. The rows
and how wide they start are listed in `Row` and `begin`; standard deviations whose source is not
named are common practice, no source, or were set on simulated runs kept apart from those they are
judged on.
"""

from dataclasses import dataclass, replace
from enum import IntEnum
from math import log
from statistics import NormalDist
from typing import Final

import numpy as np

from api.estimates.ground import Measured, ProbeGround, RunGround, StillGround
from calc.alcoholometry import mole_fraction_from_abv
from calc.pressure import WEATHER_HPA, pressure_at_altitude
from calc.quantities import FloatArray
from calc.run_balance import BoilingTable, ColumnTable, boiling_table, column_table

TABLE_HPA: Final = 5.0  # the tables stand so far apart
_TABLES_SERVE_HPA: Final = 40.0  # as far from their own pressure; more than any weather turns
MEMBERS: Final = 300
SEED: Final = 20_260_101
WASH_RUNS: Final = ("strip", "single")  # of a wash, unless the record says what was charged
REFLUX_RUNS: Final = ("spirit", "single", "botanical", "feints")
# Where nobody said how high the still stands: half of mankind lives below 194 m (Cohen & Small,
# Proc. Natl Acad. Sci. USA 95 (1998) 14009), one in sixteen above 1500 m (Tremblay & Ainslie,
# ibid. 118 (2021) e2102463118), both from memory: altitudes by a normal law of their
# logarithm. The pressure usual at the median, and how that of all scatters about it.
_ALTITUDE_M: Final = Measured(194.0, 1.35)
_HIGHEST_M: Final = 4000.0
UNKNOWN_HPA: Final = Measured(990.0, 65.0)
# How much longer a run takes because its heat is turned down once it boils, ln: a stripping run,
# and one that is cut. Common practice, no source.
TURNED_DOWN: Final = ((0.05, 0.15), (0.45, 0.3))
USUAL_SOLIDS_G_L: Final = Measured(12.0, 1.0)  # of a finished wash; the error is of its logarithm
# A condenser takes more the hotter the vapour is beside its water, by a power of 1; but plates hold
# liquid and warm as the pot grows weak, and answer to less. On simulated runs, seeds 1 to 40,
# columns of as many plates as stand there fit with 0.2 to 0.6.
_HOTTER: Final = (0.45, 0.2)
_LITRES_MOL: Final = 0.045  # of strong spirit, about
_BEGINS_S: Final = 1800  # of a run, in which a mark of its power still says how it began
_USUAL_W_L: Final = 36.0  # of the still: a charge of 60 % boils within some 70 minutes


class Row(IntEnum):
    """What each row holds."""

    LN_ETHANOL = 0  # moles in the pot
    LN_WATER = 1
    ETHANOL_OVER = 2  # moles that have left the pot, of the charge's
    WATER_OVER = 3
    POT_C = 4
    LN_HEAT = 5  # W that reach the charge
    LN_LOSS = 6  # W/K to the room
    LN_METAL = 7  # J/K of pot
    REFLUX = 8  # logit of the share of the vapour that comes back
    PLATES = 9
    COLUMN_OFF = 10  # what the column gives beside its table, logit
    ARM = 11  # spout beside head vapour, logit
    LN_FILL = 12  # moles that stay between pot and receiver
    POT_PROBE_K = 13
    HEAD_PROBE_K = 14
    BAROMETER_HPA = 15
    LN_GAUGE = 16  # hPa the vapour's way out adds
    DILUTE_OFF = 17  # of the published equilibrium, ln x of a dilute liquid
    RICH_OFF = 18  # and of a rich one
    VAPOUR_OFF = 19  # logit of the vapour over a liquid
    LN_SOLIDS = 20  # moles dissolved
    LN_HELD = 21  # of what published heat capacities say
    LN_LATENT = 22  # and of latent heats
    BEGUN_ETHANOL = 23  # moles collected when the jar under the spout was begun: what is learned of
    BEGUN_WATER = 24  # what is collected holds for what was then, too
    LN_MEASURE = 25  # of what every jar's volume is measured with
    HOTTER = 26  # the power by which more comes back the hotter the head is


ROWS: Final = len(Row)


@dataclass(frozen=True, slots=True)
class Frame:
    """What all members share: tables at one pressure, the still, the run."""

    still: StillGround
    run: RunGround
    boiling: BoilingTable
    column: ColumnTable
    sized: bool  # whether litres mean anything
    reflux: bool  # whether this may be a run under reflux
    usual_w: float  # at which the vapour's way out resists by LN_GAUGE


def table_hpa(hpa: float) -> float:
    """Return the pressure whose tables serve for a pressure near it."""
    return round(hpa / TABLE_HPA) * TABLE_HPA


def frame_of(still: StillGround, run: RunGround, hpa: float) -> Frame:
    """Make it, at the pressure at the run's beginning."""
    near = table_hpa(hpa)
    sized = run.charge_volume_l is not None or still.volume_l is not None
    reflux = still.has_reflux and run.purpose in REFLUX_RUNS
    size_l = still.volume_l or litres_of(still, run) / 0.6
    usual = _USUAL_W_L * size_l
    return Frame(still, run, boiling_table(near), column_table(near), sized, reflux, usual)


def at_pressure(frame: Frame, hpa: float) -> Frame:
    """Return it with other tables, where the pressure is no longer near that of its own."""
    if abs(hpa - frame.boiling.hpa) <= _TABLES_SERVE_HPA:
        return frame
    near = table_hpa(hpa)
    return replace(frame, boiling=boiling_table(near), column=column_table(near))


def litres_of(still: StillGround, run: RunGround) -> float:
    """Litres of the charge, as near as anybody knows beforehand."""
    if run.charge_volume_l is not None:
        return run.charge_volume_l.value
    return 60.0 if still.volume_l is None else 0.6 * still.volume_l


@dataclass(frozen=True, slots=True)
class Chance:
    """Draws the members' beginnings and what they meet on the way, the same every time."""

    dice: np.random.Generator

    @classmethod
    def new(cls) -> "Chance":
        """Begin."""
        return cls(np.random.default_rng(SEED))

    def normal(self, middle: float = 0.0, error: float = 1.0) -> FloatArray:
        """Draw once a member: a normal distribution's quantiles, shuffled."""
        return middle + error * self.dice.permutation(_QUANTILES)

    def noise(self, error: float | FloatArray) -> FloatArray:
        """Draw what a step adds."""
        return self.dice.standard_normal(MEMBERS) * error


def _normal_quantiles() -> FloatArray:
    return np.array([NormalDist().inv_cdf((i + 0.5) / MEMBERS) for i in range(MEMBERS)])


_QUANTILES: Final = _normal_quantiles()


def begin(
    frame: Frame,
    chance: Chance,
    pot_c: float,
    probes: tuple[ProbeGround, ProbeGround],
    barometer_hpa: float | None,
) -> FloatArray:
    """Draw the members as the run begins; probes of pot and head, and the barometer's error.

    None: nothing is known of the air's pressure, not even an altitude.
    """
    still, run = frame.still, frame.run
    s = np.empty((ROWS, MEMBERS))
    litres, abv = _charge(still, run, chance)
    x = np.asarray(mole_fraction_from_abv(np.clip(abv, 0.3, 95.0)))
    moles = litres / frame.boiling.litres_mol(x)
    s[Row.LN_ETHANOL], s[Row.LN_WATER] = np.log(moles * x), np.log(moles * (1.0 - x))
    s[Row.ETHANOL_OVER] = s[Row.WATER_OVER] = 0.0
    s[Row.BEGUN_ETHANOL] = s[Row.BEGUN_WATER] = 0.0
    s[Row.POT_PROBE_K] = chance.normal(0.0, probes[0].error_c)
    s[Row.HEAD_PROBE_K] = chance.normal(0.0, probes[1].error_c)
    s[Row.POT_C] = pot_c - s[Row.POT_PROBE_K]
    size_l = still.volume_l or float(np.mean(litres)) / 0.6
    s[Row.LN_HEAT] = _heat(still, run, chance, float(np.mean(litres)))
    loss = still.loss_w_per_k
    # A bare pot of 300 L loses some 18 W/K; surface grows as volume to two thirds.
    loss_w_k = loss or 0.4 * size_l ** (2.0 / 3.0)
    s[Row.LN_LOSS] = chance.normal(log(max(loss_w_k, 0.01)), 0.3 if loss else 0.4)
    s[Row.LN_METAL] = chance.normal(log(55.0 * size_l), 0.35)  # 14 kg of copper for 100 L
    _column(s, frame, chance, size_l)
    s[Row.BAROMETER_HPA] = _air(chance, barometer_hpa)
    s[Row.LN_GAUGE] = chance.normal(log(4.0), 0.5)  # 1.5 to 11 hPa; common practice
    # Published models differ in what boils at a temperature by some 4 % of the ethanol in it.
    both = chance.normal(0.0, 0.04)
    s[Row.DILUTE_OFF] = both + chance.normal(0.0, 0.025)
    s[Row.RICH_OFF] = both + chance.normal(0.0, 0.025)
    s[Row.VAPOUR_OFF] = chance.normal(0.0, 0.025)  # and in the vapour, by 2 to 3 %
    s[Row.LN_MEASURE] = chance.normal(0.0, 0.005)  # a cylinder's tolerance; common practice
    held, held_error = _held(abv)
    s[Row.LN_HELD] = held + chance.normal() * held_error
    s[Row.LN_LATENT] = chance.normal(0.0, 0.03)
    s[Row.LN_SOLIDS] = _solids(run, chance, litres)
    s[Row.HOTTER] = chance.normal(*_HOTTER)
    return s


def _air(chance: Chance, error_hpa: float | None) -> FloatArray:
    """Draw how far the air's pressure is off what is told: wherever people live, if nothing is."""
    if error_hpa is not None:
        return chance.normal(0.0, error_hpa)
    altitude_m = np.exp(chance.normal(log(_ALTITUDE_M.value), _ALTITUDE_M.error))
    usual_hpa = np.asarray(pressure_at_altitude(np.minimum(altitude_m, _HIGHEST_M)))
    return usual_hpa + chance.normal(0.0, WEATHER_HPA) - UNKNOWN_HPA.value


def _charge(still: StillGround, run: RunGround, chance: Chance) -> tuple[FloatArray, FloatArray]:
    """Draw volume and strength: by the record, or by what such stills are filled with."""
    volume, abv = run.charge_volume_l, run.charge_abv
    if volume is not None:
        litres = chance.normal(log(volume.value), max(volume.error / volume.value, 0.003))
    elif still.volume_l is not None:
        litres = chance.normal(log(0.6 * still.volume_l), 0.2)
    else:
        litres = chance.normal(log(60.0), 1.0)
    if abv is not None:
        strength = chance.normal(abv.value, max(abv.error, 0.05))
    elif run.purpose == "strip":
        strength = np.exp(chance.normal(log(8.5), 0.35))
    else:
        strength = np.exp(chance.normal(log(25.0), 0.5))
    return np.exp(litres), np.maximum(strength, 0.3)


def _held(abv: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Say how far off the published table the heat is that a charge holds, and its error, ln.

    What a mixture holds beyond its parts, up to an eighth at 28 % vol, was measured to 40 °C only.
    How the equilibrium changes with temperature (`calc.activity`: twice differentiated, the excess
    energy is heat held) says seven tenths of it at 60 °C: it is taken between the two, and may be
    as far off as either. The part beside it, and that error, common practice, no source.
    """
    beyond = 0.125 * np.minimum(abv / 28.0, 1.0)
    return -0.15 * beyond, np.asarray(np.hypot(0.02, 0.4 * beyond))


def _heat(still: StillGround, run: RunGround, chance: Chance, litres: float) -> FloatArray:
    """Draw the heat that reaches the charge: as marked, by the plate, or by the charge's size."""
    first = begins_with_w(run)
    if first is not None:
        return marked_heat(still, chance, first)
    if still.power_w:
        share, _ = _reaches(still)
        return chance.normal(log(still.power_w * share * 0.8), 0.35)
    return chance.normal(log(max(litres, 0.1) * 65.0), 0.6)  # boils in about an hour


def begins_with_w(run: RunGround) -> float | None:
    """Return the power that was marked as the run began; a later mark says nothing of before."""
    slot, power_w = next(iter(run.powers_w), (run.from_slot, 0.0))
    return power_w if power_w > 0.0 and slot <= run.from_slot + _BEGINS_S else None


def marked_heat(still: StillGround, chance: Chance, power_w: float) -> FloatArray:
    """Draw the heat that reaches the charge, ln W, of a power that is marked."""
    share, error = _reaches(still)
    return chance.normal(log(power_w * share), error)


def _reaches(still: StillGround) -> tuple[float, float]:
    """Say what share of a power reaches the charge, and its error, ln."""
    return {"element": (0.93, 0.08), "flame": (0.6, 0.35)}.get(still.heat_source, (0.85, 0.15))


def _column(s: FloatArray, frame: Frame, chance: Chance, size_l: float) -> None:
    """Draw what stands above the pot: plates, what comes back, what stays there."""
    has = frame.still.has_reflux
    s[Row.REFLUX] = chance.normal(-3.3, 0.7)
    if frame.reflux:  # some run it open, some under reflux
        under = chance.dice.random(MEMBERS) < 0.8
        s[Row.REFLUX] = np.where(under, chance.normal(0.3, 0.9), s[Row.REFLUX])
    s[Row.PLATES] = np.clip(chance.normal(3.5 if has else 0.8, 1.8 if has else 0.5), 0.0, 8.0)
    s[Row.COLUMN_OFF] = 0.0
    s[Row.ARM] = chance.normal(*_arm(frame))
    share = 0.0035 if has else 0.0012  # of the still's volume; on simulated runs, seeds 1 to 16
    s[Row.LN_FILL] = chance.normal(log(share * size_l / _LITRES_MOL), 0.5)


def _arm(frame: Frame) -> tuple[float, float]:
    """Say what the spout may be richer by than the vapour at the head's probe, logit.

    An arm enriches a little. A reflux condenser above the probe is a fraction of one plate more,
    run or not: what stands there loses heat to the room, and what that condenses runs back.
    Common practice, no source; on simulated runs, seeds 1 to 16, some 0.06.
    """
    after = frame.still.head_after_reflux
    if not frame.still.has_reflux or after:
        return 0.0, 0.04
    return (0.03, 0.05) if after is None else (0.06, 0.05)


def _solids(run: RunGround, chance: Chance, litres: FloatArray) -> FloatArray:
    """Draw what is dissolved, in moles: a wash holds some, low wines none."""
    known = run.dissolved_g_l
    if known is not None:
        g_l = np.maximum(chance.normal(known.value, max(known.error, 0.5)), 0.01)
    elif run.purpose in WASH_RUNS:
        g_l = np.exp(chance.normal(log(USUAL_SOLIDS_G_L.value), USUAL_SOLIDS_G_L.error))
    else:
        g_l = np.full(MEMBERS, 0.01)
    # Dextrins and glycerol of a finished wash weigh some 250 g a mole. Common practice, no source.
    return np.asarray(np.log(g_l * litres / 250.0))
