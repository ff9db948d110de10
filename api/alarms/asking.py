"""Asks the record, now and then, for what the alarms need: charges, hands, rests, yeasts."""

import logging
from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Final

from api.alarms.ground import Charges, NothingKnown, PlannedRest
from api.alarms.sights import VesselSight
from api.alarms.yeasts import maximum_c
from logger.clock import MICRO
from logger.errors import StoreError

log = logging.getLogger(__name__)

EVERY_S: Final = 10
MASH: Final = "mash"
FERMENT: Final = "ferment"

SlotOf = Callable[[datetime], int]


class Asking:
    """One record; where it cannot be read, nothing is known of it."""

    def __init__(self, charges: Charges | None = None) -> None:
        self.charges: Charges = charges or NothingKnown()
        self._asked_us = -EVERY_S * MICRO

    def ask(self, now_us: int, sights: Iterable[VesselSight], slot_of: SlotOf) -> None:
        """Let the sights know what the record says, where that is due."""
        if now_us - self._asked_us < EVERY_S * MICRO:
            return
        self._asked_us = now_us
        for sight in sights:
            if sight.still is not None:
                self._ask_run(sight, slot_of)
            sight.rest = self._rest(sight, slot_of)
            sight.yeast_maximum_c = maximum_c(self._yeast(sight))

    def _ask_run(self, sight: VesselSight, slot_of: SlotOf) -> None:
        run, hand_at = sight.ground.run_id, None
        sight.charge = None
        if run is not None:
            try:
                sight.charge = self.charges.charge(run)
                hand_at = self.charges.last_hand_at(run)
            except StoreError:
                log.exception("The alarms cannot read the record of run %s.", run)
        if hand_at is not None:
            sight.touched_slot = max(slot_of(hand_at), sight.touched_slot or 0)

    def _yeast(self, sight: VesselSight) -> str | None:
        run = sight.ground.run_id
        if run is None or sight.ground.stage != FERMENT:
            return None
        try:
            return self.charges.yeast(run)
        except StoreError:
            log.exception("The alarms cannot read the yeast of ferment %s.", run)
            return None

    def _rest(self, sight: VesselSight, slot_of: SlotOf) -> PlannedRest | None:
        run = sight.ground.run_id
        if run is None or sight.ground.stage != MASH:
            return None
        try:
            return self.charges.rest(run, slot_of)
        except StoreError:
            log.exception("The alarms cannot read the rests of mash %s.", run)
            return None
