"""Moments for tests: a still that is heated, boils, and has things happen to it."""

from random import Random

from api.alarms.evaluate import Evaluation
from api.alarms.ground import CondenserGround, Ground, Moment, Spot, VesselGround
from api.alarms.shipped import SHIPPED

STEP = 1 / 16
PLACES = ("pot", "head", "coolant_in", "coolant_out", "spout")


def ground_of(stage="strip", kind="product", **vessel):
    spots = [Spot(name, name, "still") for name in PLACES] + [Spot("room", "room")]
    still = VesselGround("still", "still", "still", stage=stage, **vessel)
    return Ground(tuple(spots), (still,), (CondenserGround("c", "condenser", "still", kind),))


class Course:
    """Readings that go where they are sent, with noise, a second at a time."""

    def __init__(self, evaluation=None, *, seed=1, noise=0.04, period=1, **kept) -> None:
        self.evaluation = evaluation or Evaluation(ground_of(**kept), SHIPPED)
        self.dice, self.noise, self.period = Random(seed), noise, period
        self.slot = 1000
        self.values = {"pot": 20.0, "head": 20.0, "coolant_in": 12.0, "coolant_out": 12.0,
                       "spout": 19.0, "room": 20.0}  # fmt: skip
        self.changes = []

    def read(self, value):
        if value is None:
            return None
        return round((value + self.dice.gauss(0, self.noise)) / STEP) * STEP

    def step(self, **odd):
        """Judge one moment; `odd` readings are of this moment only."""
        shown = {**self.values, **odd}
        moment = Moment(self.slot, self.period, {k: self.read(v) for k, v in shown.items()})
        found = self.evaluation.see(moment)
        self.changes += found
        self.slot += self.period
        return found

    def go(self, seconds, **per_minute):
        """Go on for so long, places moving by so much a minute."""
        found = []
        for _ in range(0, seconds, self.period):
            for place, k_min in per_minute.items():
                self.values[place] += k_min * self.period / 60.0
            found += self.step()
        return found

    def boil(self):
        """Heat the still, run its water, and let it boil until it has settled."""
        self.values |= {"pot": 60.0, "head": 22.0}
        self.go(400, pot=2.0)
        self.values |= {"pot": 92.0, "head": 91.0}
        self.go(60, coolant_out=20.0)
        self.go(1300, pot=0.05, head=0.05)
        return self

    def raised(self, rule=None):
        return [
            (one.key.rule, one.slot) for one in self.changes
            if one.after.sounds and not one.before.sounds and rule in {None, one.key.rule}
        ]  # fmt: skip
