"""Ferments drawn by a seed for the bench: the plant's own tank in its own room.

With them comes what a person would have written down. Truth is kept every ten minutes.
"""

import pickle
from dataclasses import dataclass, replace
from math import pi
from pathlib import Path
from random import Random
from tempfile import gettempdir

import numpy as np

from api.estimates.estimator import Step
from api.estimates.ground import FermentGround, GravityReading, Measured
from logger.plant.cell import mixture
from logger.plant.conversion import GRAINS
from logger.plant.fluid import fluid
from logger.plant.tank import ETHANOL_KG_KG_HEXOSE, HEAT_J_KG_HEXOSE, Tank, TankSize
from logger.plant.weather import Room, Weather
from logger.plant.witness import gravity

KEPT = Path(gettempdir()) / "wormtub-ferments"
DT_S, SPELL_S = 60, 600
BEGINS = 1_800_000_000
LONGEST_S = 10 * 86_400
AFTER_END_S = 30 * 3600
SHORT_SG = 0.006  # left above its end, or it has not stopped short


@dataclass(frozen=True)
class Course:
    """What truly was, and what the probes showed; a row each minute, truth each ten minutes."""

    ground: FermentGround  # with everything a person could have said, no gravities
    probes: dict
    minute_c: np.ndarray
    room_minute_c: np.ndarray
    time_h: np.ndarray  # of the truth, from pitching
    sg: np.ndarray
    abv: np.ndarray
    heat_w: np.ndarray
    loss_w_k: float
    complete_sg: float
    died_h: float | None
    cooled: bool

    @property
    def percent(self):
        return 100 * (self.sg[0] - self.sg) / (self.sg[0] - self.complete_sg)

    @property
    def peak_h(self):
        smooth = np.convolve(self.heat_w, np.ones(13) / 13, mode="same")
        return self.time_h[int(np.argmax(smooth))]

    @property
    def end_h(self):
        """From when two gravities a day apart agree within 0.001; None: not in this run."""
        later = np.interp(self.time_h + 24.0, self.time_h, self.sg, right=np.nan)
        going = self.sg - later >= 0.001
        known = ~np.isnan(later)
        if not known.any() or going[known][-1]:
            return None
        last = np.flatnonzero(going & known)
        return self.time_h[last[-1] + 1] if last.size else 0.0

    @property
    def stuck(self):
        return self.sg[-1] - self.complete_sg > SHORT_SG

    @property
    def left_sg(self):
        """Give how much was left to fall when its yeast died."""
        return float(np.interp(self.died_h, self.time_h, self.sg)) - self.complete_sg

    def steps(self, until_h=None):
        last = len(self.minute_c) if until_h is None else int(until_h * 60)
        for i in range(last):
            yield Step(
                BEGINS + (i + 1) * DT_S,
                {"ferment": float(self.minute_c[i]), "room": float(self.room_minute_c[i])},
            )

    def gravity_at(self, time_h, error):
        return GravityReading(
            BEGINS + int(time_h * 3600),
            Measured(float(np.interp(time_h, self.time_h, self.sg)) + error, 0.001),
        )


def _tank(dice, grain):
    volume_l = dice.choice((60.0, 120.0, 350.0, 900.0))
    area = 1.5 * pi * (4 * volume_l / 1000 / pi) ** (2 / 3)
    u = np.exp(dice.uniform(np.log(1.8), np.log(8.0)))
    size = TankSize(volume_l, volume_l * dice.uniform(50.0, 130.0), float(u * area), volume_l * 0.7)
    tank = Tank(fluid(), size, 20.0)
    litres = volume_l * dice.uniform(0.5, 0.8)
    start_c = dice.uniform(18.0, 30.0)
    if grain:
        _add(tank, litres, dice.uniform(68.0, 73.0))
        kg = litres / dice.uniform(3.0, 4.2)
        malt = dice.uniform(0.25, 0.6)
        tank.add_grain(GRAINS["rye"], kg * (1 - malt), 18.0)
        tank.add_grain(GRAINS["rye malt"], kg * malt, 18.0)
        for _ in range(90):
            tank.step(60.0, 18.0, 12.0)
        tank.cool_to_c = start_c
        while tank.temperature_c > start_c + 0.01:
            tank.step(60.0, 18.0, 5.0)
        tank.cool_to_c = None
    else:
        _add(tank, litres, start_c)
        tank.add_sugar(litres * dice.uniform(0.11, 0.2), start_c)
    return tank, float(u)


def _add(tank, litres, temperature_c):
    tank.liquid.take(mixture(tank.fluid, litres, 0.0, temperature_c))
    tank.liquid.settle()


def drawn(seed, *, grain=None, dies=None, cooled=None):
    """Draw a ferment and run it."""
    dice = Random(f"bench ferment/{seed}")
    grain = dice.random() < 0.4 if grain is None else grain
    tank, u = _tank(dice, grain)
    cooled = dice.random() < 0.5 if cooled is None else cooled
    dies = dice.random() < 0.15 if dies is None else dies
    tank.pitch(tank.volume_l * dice.uniform(0.5, 2.0) / 1000.0)
    vigour = dice.uniform(0.3, 0.7)
    if cooled:
        tank.cool_to_c = max(dice.uniform(26.0, 32.0), tank.temperature_c + 0.5)
    room = Room(dice.uniform(13.0, 25.0))
    room.kept_c = room.temperature_c - 0.5
    weather = Weather.drawn(seed)
    start_s = dice.randrange(86_400)
    die_at = dice.uniform(0.3, 0.75) if dies else None
    wash_l = tank.volume_l
    offsets = dice.gauss(0.0, 0.15), dice.gauss(0.0, 0.15)
    noise = np.random.default_rng(seed)
    minute, room_minute, sg, abv, heat, time_h = [], [], [gravity(tank)], [0.0], [0.0], [0.0]
    died_h, felt, made, spell_made, still = None, tank.temperature_c, 0.0, 0.0, 0.0
    t = 0
    while t < LONGEST_S and still < AFTER_END_S:
        tank.vigour = vigour * (0.02 if died_h is not None else 1.0)
        tank.step(float(DT_S), room.temperature_c, 12.0)
        given = tank.size.loss_w_k * (tank.temperature_c - room.temperature_c)
        room.step(float(DT_S), weather.outside_c(start_s + t), given)
        t += DT_S
        felt += (tank.temperature_c - felt) * 0.6
        minute.append(_shown(felt + offsets[0], noise))
        room_minute.append(_shown(room.temperature_c + offsets[1], noise))
        if t % SPELL_S == 0:
            time_h.append(t / 3600.0)
            sg.append(gravity(tank))
            abv.append(100.0 * tank.liquid.pure_alcohol_l / tank.volume_l)
            made, spell_made = tank.made_kg, tank.made_kg - made
            heat.append(spell_made * HEAT_J_KG_HEXOSE / ETHANOL_KG_KG_HEXOSE / SPELL_S)
            fraction = tank.used_kg / (tank.used_kg + tank.fermentable_kg)
            if die_at is not None and died_h is None and fraction > die_at:
                died_h = t / 3600.0
            far = len(sg) > 145 and sg[-145] - sg[-1] < 0.0008 and t > 40 * 3600
            still = still + SPELL_S if far else 0.0
    complete = sg[0] - (sg[0] - sg[-1]) / max(fraction, 0.05)
    ground = _ground(dice, tank, wash_l, sg[0], complete, u, grain)
    return Course(
        ground, {}, np.array(minute), np.array(room_minute), np.array(time_h), np.array(sg),
        np.array(abv), np.array(heat), tank.size.loss_w_k, complete, died_h, cooled,
    )  # fmt: skip


def _shown(true_c, noise):
    """Show the mean of six readings with noise, in steps of a sixteenth."""
    return float(np.mean(np.round((true_c + 0.035 * noise.standard_normal(6)) * 16) / 16))


def _ground(dice, tank, wash_l, original, complete, u, grain):
    said = dice.random() < 0.85
    insulation = ("20 mm of felt" if u < 3.0 else "none") if dice.random() < 0.5 else None
    if 3.0 <= u <= 5.5:
        insulation = None
    attenuation = None
    if grain and dice.random() < 0.6:
        attenuation = (original - complete) / (original - 1.0) + dice.gauss(0.0, 0.015)
    return FermentGround(
        run_id="bench",
        from_slot=BEGINS,
        vessel_volume_l=tank.size.volume_l,
        material="stainless-steel",
        insulation=insulation,
        loss_w_per_k=tank.size.loss_w_k * np.exp(dice.gauss(0, 0.1))
        if dice.random() < 0.25
        else None,
        volume_l=wash_l * (1.0 + dice.gauss(0.0, 0.02)),
        pitched_slot=BEGINS,
        original_sg=Measured(original + dice.gauss(0.0, 0.001), 0.001) if said else None,
        attenuation=attenuation,
        kind_of_wash="grain" if grain else "sugar",
        on_grain=grain,
    )


def kept(seed, folder=KEPT, **how):
    """Draw a ferment, or take it as it was drawn before."""
    folder.mkdir(exist_ok=True)
    name = "-".join([str(seed), *(f"{k}{int(v)}" for k, v in how.items())])
    file = folder / f"{name}.pickle"
    if file.exists():
        return pickle.loads(file.read_bytes())  # noqa: S301 - written by this file
    made = drawn(seed, **how)
    file.write_bytes(pickle.dumps(made))
    return made


def without_room(course):
    return replace(course, room_minute_c=np.full_like(course.room_minute_c, np.nan))
