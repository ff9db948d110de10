"""What people at a still report: that they are there, that water runs, what comes, what cooks."""

from typing import Final

from api.alarms.sights import VesselSight

AT_STILL: Final = "at_the_still"
WATER_RUNS: Final = "water_runs"
CLOUDY: Final = "cloudy_spout"
MASH_COOKED: Final = "mash_cooked"


def take_report(sight: VesselSight, what: str, slot: int) -> None:
    """Let a vessel know what was reported of it; only the first shows that somebody is there."""
    if what == AT_STILL:
        sight.touched_slot = max(slot, sight.touched_slot or 0)
    if what == CLOUDY:
        sight.cloudy_slot = slot
    if what == MASH_COOKED:
        sight.cooked_slot = max(slot, sight.cooked_slot or 0)
    if what == WATER_RUNS:
        for water in sight.waters:
            water.reported()
