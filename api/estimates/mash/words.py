"""The sentences that go with what is told of a mash."""

from typing import Final

NOTHING_YET: Final = "Nothing has been read of the mash yet."
NO_REST: Final = "No rest is being held."
BAD_RANGE: Final = (
    "The rest's range runs from {low_c:g} to {high_c:g} °C; its low end must be lower."
)
SILENT: Final = "The mash has had no good reading for {minutes:.0f} minutes."
IMPOSSIBLE: Final = "The reading of the mash, {shown_c:g} °C, is none a mash can have."
SHORT: Final = (
    "It has been read for less than {minutes:g} minutes on end in this rest; the rate is not known."
)
HOLDS: Final = "It holds: at the present rate it stays in the range for more than {hours:g} hours."
BELOW: Final = "It is below the range already."
ABOVE: Final = "It is above the range already."
LEFT: Final = "By its rate it has left the range while nothing was read; read it again."
EDGE: Final = "It is at the edge of the range; the probe cannot tell on which side."
NO_GRAIN: Final = "How much grain is in it has not been written down."
NO_LIQUOR: Final = "How much liquor is in it has not been written down."
TOO_WARM: Final = "It is warmer than the range; nothing hot is to be added."
TOO_HOT_FOR_WATER: Final = (
    "Boiling water is no hotter than the middle of the range; heat it instead."
)

FROM_PROBE: Final = "The mash's probe, and that the mash is stirred."
GAPS: Final = "For {minutes:.0f} minutes there was no reading; whether they count is not known."
RATE: Final = "How fast it went over the last {minutes:.0f} minutes."
UNREAD: Final = (
    "Nothing was read for {minutes:.0f} minutes; it is taken to have gone on at its rate."
)
NO_ROOM: Final = "No probe measures the room; it is taken as 20 °C."
FROM_BILL: Final = (
    "{grain_kg:g} kg of grain and {liquor_l:g} L of liquor, with the vessel's own heat."
)
NO_PRESSURE: Final = (
    "Water boils by sea level's air: neither its pressure nor the house's height is known."
)
OVERFLOWS: Final = (
    "Mash and water come to {total_l:.0f} L; the vessel takes {vessel_l:g} L. Heat it instead."
)
JUMPED: Final = "The time axis jumps; no time is taken to have passed."

CALIBRATE: Final = "Calibrate the mash's probe."
STIR: Final = "Stir, and read it in several spots."
ENTER_GRAIN: Final = "Write down the grain."
ENTER_LIQUOR: Final = "Write down the liquor."
