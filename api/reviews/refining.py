"""A moment that was seen in ten seconds' summaries, looked for again in the readings themselves."""

from datetime import UTC, datetime, timedelta
from typing import Final

from api.house import House
from api.reviews.figures import Figures
from api.reviews.lines import Lines, Wanted, read_lines
from api.reviews.moments import PLACES, Moment, seen_in
from api.reviews.words import MomentKey

AROUND: Final = timedelta(minutes=20)
SAME: Final = timedelta(minutes=3)  # farther off, something else was found


def refined(house: House, run: Figures, key: MomentKey) -> datetime | None:
    """Return when something happened: as marked, or seen to the second."""
    found = run.at.get(key)
    if found is None or found.basis != "seen":
        return found.at if found else None
    again = _again(house, run, found)
    return again if again is not None and abs(again - found.at) <= SAME else found.at


def _again(house: House, run: Figures, found: Moment) -> datetime | None:
    still = run.ground.read.still
    around = (found.at - AROUND, found.at + AROUND)
    wanted = Wanted(still.name if still else None, *around, frozenset(PLACES), step_s=1)
    fine: Lines = read_lines(house, wanted)
    seen = {one.key: one.at for one in seen_in(fine)}
    at = seen.get(found.key)
    return None if at is None else at.astimezone(UTC)
