"""A run: a plant, and a crew that works on a script, taken on through time together."""

from collections.abc import Iterator
from math import ceil, floor

from logger.plant import script as scripts
from logger.plant.crew import Crew
from logger.plant.parameters import PlantSize
from logger.plant.plant import Plant
from logger.plant.truth import Truth
from logger.plant.witness import truth


class Run:
    """Where a run stands."""

    def __init__(self, text: str, size: PlantSize | None = None, *, start_s: float = 0.0) -> None:
        made = size or PlantSize()
        script = scripts.read(text, made)
        self.plant = Plant(made, start_s)
        self.crew = Crew(self.plant, script)
        self.crew.act()

    @property
    def t_s(self) -> float:
        """Seconds of the scenario."""
        return self.plant.t_s

    @property
    def finished(self) -> bool:
        """Whether the script has been done."""
        return self.crew.finished

    def advance(self, to_s: float, *, step_s: float = 10.0) -> None:
        """Go on to the last whole second before a time; the crew looks after every step.

        Whole seconds only, so that a run is the same however often it is looked at.
        """
        plant, crew = self.plant, self.crew
        end_s = floor(to_s + 1e-6)
        while plant.t_s < end_s:
            until_s = min(end_s, plant.t_s + step_s)
            due_s = crew.next_at_s
            if due_s is not None and plant.t_s < due_s < until_s:
                until_s = ceil(due_s)
            plant.step(until_s - plant.t_s)
            crew.act()

    def truth(self) -> Truth:
        """Say what is true now."""
        return truth(self.plant)

    def until_done(self, *, step_s: float = 10.0, most_s: float = 60 * 86_400.0) -> Iterator[Truth]:
        """Go on until the script is done, saying the truth at every step."""
        end_s = self.t_s + most_s
        while not self.finished and self.t_s < end_s:
            self.advance(self.t_s + step_s, step_s=step_s)
            yield self.truth()
