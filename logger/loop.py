"""The loop: read, grade, append, nothing else, on deadlines that no wall clock moves."""

from collections.abc import Callable
from threading import Event

from logger.bus.sweep import Bus
from logger.cadence import Cadence, deadline_s
from logger.clock import MICRO, Clock
from logger.reading import Scan
from logger.slots import Axis, on_grid


class Loop:
    """Takes a scan at each slot of the grid and hands it on; counts the slots it missed."""

    def __init__(
        self,
        bus: Bus,
        clock: Clock,
        axis: Axis,
        cadence: Cadence,
        before: Callable[[int], None],
        put: Callable[[Scan], None],
    ) -> None:
        self._bus, self._clock, self._axis, self._cadence = bus, clock, axis, cadence
        self._before, self._put = before, put
        self.missed_slots = 0

    def run(self, stop: Event) -> None:
        """Scan until told to stop; a scan under way is finished and handed on."""
        slot = self._axis.first_slot
        while not self._clock.wait(stop, slot * MICRO - self._position_us()):
            second = self._position_us() // MICRO
            if second <= slot:
                self._scan(slot)
                slot = on_grid(slot + 1, self._cadence.period_s(slot + 1))
            else:  # the slot's second is over: the grid's next one is taken
                slot = self._missed(slot, second)

    def _scan(self, slot: int) -> None:
        self._before(slot)
        period_s = self._cadence.period_s(slot)
        began_us = self._position_us()
        readings = self._bus.read_scan(deadline_s=deadline_s(period_s))
        scan = Scan(slot, period_s, readings)
        self._put(scan)
        self._cadence.see(scan, self._position_us() - began_us)

    def _missed(self, slot: int, second: int) -> int:
        period_s = self._cadence.period_s(second)
        reached = on_grid(second, period_s)
        self.missed_slots += (reached - slot) // period_s
        return reached

    def _position_us(self) -> int:
        return self._axis.position_us(self._clock.now())
