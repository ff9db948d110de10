"""How true a mash's estimates are: bands over randomised mashes, each looked at twice.

    nice -n 19 python tests/bench/estimate_mash.py [MASHES] [FIRST_SEED]

The plant's own tun, drawn by seeds not used in tuning (10,000 and up): another size, loss, bill,
room and probe each time; some are kept warm by their own heater. Where nothing is in doubt (a rest
that was in its range throughout, a mash that lacks nothing) the truth is an end of the band, and
always held: the second line of a quantity leaves such instants out. The rival takes the reading
as it is and the difference of the last two minutes as the rate, with the band that its own errors
give.
"""

import sys
import time
from collections import defaultdict
from math import pi
from random import Random

import numpy as np

from api.estimates.estimator import Step
from api.estimates.ground import MashGround, ProbeGround, RestGround
from api.estimates.mash.estimator import MashEstimator
from logger.plant.cell import mixture
from logger.plant.conversion import GRAINS
from logger.plant.fluid import fluid
from logger.plant.tank import Tank, TankSize

BEGINS = 1_800_000_000
WATER_J_KG_K, BOILS_C = 4190.0, 100.0
IN_DOUBT = {"rest_minutes": 1.0, "heat_to_add_kj": 0.0, "water_to_add_l": 0.0}  # wider bands


def drawn(dice):
    """Draw a tun with a mash in it."""
    volume_l = dice.choice((50.0, 150.0, 400.0, 1000.0))
    area = 1.5 * pi * (4 * volume_l / 1000 / pi) ** (2 / 3)
    metal = volume_l * dice.uniform(50.0, 140.0)
    size = TankSize(volume_l, metal, dice.uniform(1.8, 8.0) * area)
    tank = Tank(fluid(), size, dice.uniform(20.0, 60.0))
    litres = volume_l * dice.uniform(0.4, 0.65)
    tank.liquid.take(mixture(tank.fluid, litres, 0.0, dice.uniform(68.0, 74.0)))
    tank.liquid.settle()
    grain_kg = litres / dice.uniform(2.8, 4.0)
    malt = dice.uniform(0.25, 0.5)
    tank.add_grain(GRAINS["rye"], grain_kg * (1 - malt), 18.0)
    tank.add_grain(GRAINS["rye malt"], grain_kg * malt, 18.0)
    return tank, litres, grain_kg


def mash(seed):
    """Run a mash; gives what was said of it, its readings and what was true."""
    dice = Random(f"bench mash/{seed}")
    noise = np.random.default_rng(seed)
    tank, litres, grain_kg = drawn(dice)
    room_c = dice.uniform(12.0, 26.0)
    begins_c = tank.temperature_c
    low_c = begins_c - dice.uniform(0.6, 5.0)
    high_c = low_c + dice.uniform(3.0, 6.0)
    if dice.random() < 0.2:
        tank.warm_to_c, tank.heat_w = dice.uniform(low_c, begins_c + 0.5), litres * 20.0
    calibrated = dice.random() < 0.5
    error_c = 0.05 if calibrated else 0.25
    offset_c, felt_c = dice.gauss(0.0, error_c), begins_c
    true_c, shown_c = [], []
    for _ in range(6 * 60 * 8):
        tank.step(10.0, room_c, 12.0)
        felt_c += (tank.temperature_c - felt_c) * 0.2
        true_c.append(tank.temperature_c)
        shown_c.append(round((felt_c + offset_c + 0.035 * noise.standard_normal()) * 16) / 16)
    ground = MashGround(
        run_id="bench", from_slot=BEGINS, vessel_volume_l=tank.size.volume_l,
        grain_kg=grain_kg * (1 + dice.gauss(0, 0.01)), liquor_l=litres * (1 + dice.gauss(0, 0.02)),
        rests=(RestGround(low_c, high_c, 60.0, BEGINS),),
    )  # fmt: skip
    probes = {"mash": ProbeGround(calibrated, error_c)}
    return ground, probes, room_c, np.array(true_c), shown_c, tank.liquid.capacity_j_k / 1000.0


def truth(ground, true_c, at, capacity_kj_k):
    rest = ground.rests[0]
    inside = (true_c >= rest.low_c) & (true_c <= rest.high_c)
    found = {"rest_minutes": inside[: at + 1].sum() / 6.0}
    later = np.flatnonzero(~inside[at:])
    if later.size:  # none where it is out of its range already
        found["minutes_to_fall_out"] = later[0] / 6.0
    lacks = max((rest.low_c + rest.high_c) / 2.0 - true_c[at], 0.0) * capacity_kj_k
    found["heat_to_add_kj"] = lacks
    middle = (rest.low_c + rest.high_c) / 2.0
    found["water_to_add_l"] = lacks * 1000.0 / (WATER_J_KG_K * (BOILS_C - middle))
    return found


def naive(ground, shown_c, at):
    """Give the rival's minutes to the low end."""
    rate = (shown_c[at] - shown_c[at - 12]) / 2.0
    gap = shown_c[at] - ground.rests[0].low_c
    return min(gap / -rate, 360.0) if rate < 0 else 360.0


def score(low, high, true, alpha=0.05):
    return (high - low) + 2 / alpha * (max(low - true, 0.0) + max(true - high, 0.0))


def main(count=500, first=10_000):
    began = time.process_time()
    rows, told, costs, rival = defaultdict(list), defaultdict(list), [], []
    for seed in range(first, first + count):
        ground, probes, room_c, true_c, shown_c, capacity = mash(seed)
        dice = Random(f"instant/{seed}")
        estimator = MashEstimator()
        estimator.know(ground, probes)
        done = 0
        for at in sorted(int(dice.uniform(40, 900)) for _ in range(2)):
            values = [{"mash": shown_c[i], "room": room_c} for i in range(done, at + 1)]
            estimator.see(Step(BEGINS + 10 * (done + i + 1), one) for i, one in enumerate(values))
            done = at + 1
            start = time.perf_counter()
            found = {one.quantity: one for one in estimator.tell()}
            costs.append(time.perf_counter() - start)
            for name, value in truth(ground, true_c, at, capacity).items():
                one = found[name]
                if value > 0.0 or name != "minutes_to_fall_out":  # out of its range it need not be
                    told[name].append(one.value is not None)
                if one.value is not None:
                    row = (
                        one.low_68 <= value <= one.high_68,
                        one.low <= value <= one.high,
                        one.high - one.low,
                        one.value - value,
                        score(one.low, one.high, value),
                    )
                    rows[name].append(row)
                    if one.high - one.low > IN_DOUBT.get(name, np.inf):
                        rows[f"  {name}"].append(row)
                    if name == "minutes_to_fall_out":
                        rival.append((naive(ground, shown_c, at), value))
    print(f"{count} mashes, seeds from {first}, two instants each")
    print(f"{'quantity':22}{'n':>6}{'told':>6}{'68 %':>7}{'95 %':>7}"
          f"{'width':>9}{'error':>9}{'score':>9}")  # fmt: skip
    for name, found in rows.items():
        in68, in95, width, error, points = np.array(found, float).T
        share = 100 * np.mean(told[name.strip()])
        print(f"{name:22}{len(found):6}{share:6.0f}{100 * in68.mean():7.1f}"
              f"{100 * in95.mean():7.1f}{np.median(width):9.3g}"
              f"{(error @ error / error.size) ** 0.5:9.3g}{points.mean():9.3g}")  # fmt: skip
    guess, true = np.array(rival).T
    low, high = np.quantile(true - guess, (0.025, 0.975))
    points = [score(g + low, g + high, t) for g, t in rival]
    print(f"rival, minutes to fall out: interval score {np.mean(points):.4g}")
    print(f"telling: median {1000 * np.median(costs):.1f} ms by the wall clock; "
          f"{time.process_time() - began:.0f} s of CPU")  # fmt: skip


if __name__ == "__main__":
    main(*(int(one) for one in sys.argv[1:3]))
