"""The sentences that go with what is told of a ferment."""

from typing import Final

NOTHING_YET: Final = "Nothing has been read of the wash yet."
SILENT: Final = "The wash has had no good reading for {hours:.0f} hours."
UNREAD: Final = (
    "Nothing was read for {hours:.1f} hours; the next ten minutes of readings tell how it stands."
)
IMPOSSIBLE: Final = "The reading of the wash, {shown_c:g} °C, is none a ferment can have."
NOT_PITCHED: Final = "The yeast is not pitched yet."
NO_VOLUME: Final = "How much wash there is has not been written down, nor the size of its vessel."
NO_GRAVITY: Final = "No gravity has been read, neither before pitching nor since."
PEAK_AHEAD: Final = "The peak has not passed, as far as the temperatures show."
PEAK_PASSED: Final = "The peak passed about {hours:.0f} h ago."
PEAK_BETWEEN: Final = (
    "The peak passed {low:.0f} to {high:.0f} h ago; no closer, as something held the temperature."
)
NOT_YET: Final = "It has not begun, or hardly, as far as the warmth shows; yeast may take a day."
NOT_BEGUN: Final = (
    "It has not begun, or hardly, as far as the warmth shows: check the yeast and the warmth, and "
    "take a gravity."
)
STANDS_SHORT: Final = "It stands still well short of its end; whether it goes on is not clear yet."
PEAK_UNSURE: Final = "How much has fermented is too unsure for a peak; take a gravity."
STOPPED: Final = "It seems to have stopped short of its end."
FAR_OFF: Final = "Its end lies more than nine days off, or cannot be made out yet."
STANDS: Final = (
    "It falls by {fall:.4f} in a day at {sg:.4f}, and was expected to end near {final:.4f}."
)

STOPS_RARELY: Final = (
    "One ferment in twenty is taken to stop short; the band is what three times as many, or a "
    "third of them, would make of it."
)

BEGINS_SELDOM: Final = (
    "Yeast is taken to show within a day, and one wash in {washes:.0f} never to begin; the band is "
    "what three times as many, or a third of them, would make of it."
)

FROM_WARMTH: Final = "The warmth of the wash against that of the room."
NO_ROOM: Final = "No probe measures the room; its warmth is guessed, so the band is wide."
LOSS_DECLARED: Final = "The vessel's loss to the room as declared, corrected by how it cools."
LOSS_GUESSED: Final = "The vessel's loss, from its size and wall, corrected by how it cools."
ORIGINAL_GUESSED: Final = "No original gravity; what washes of this kind usually begin at."
GRAVITIES: Final = "{count} gravities read since pitching."
ONE_GRAVITY: Final = "One gravity read since pitching."
YEAST: Final = "The yeast, {yeast}, taken to stand {most_c:g} °C."
HELD: Final = "Something holds its temperature; while it does, the heat is told from the course."
PITCH_UNKNOWN: Final = "When the yeast was pitched is not written down."
VOLUME_GUESSED: Final = "The volume is guessed from the vessel's size."
SOLIDS: Final = "Solids may hide the probe from the wash; the band allows for it."
JUMPED: Final = "The time axis jumps by {days:.0f} days; no time is taken to have passed."
AGED: Final = "The newest good reading of the wash is {hours:.1f} h old."
HEAT_BEFORE: Final = "It made heat before the yeast was written down: is that time right?"
HEAT_COUNTS: Final = "The heat from before the yeast was written down is counted."
ROSE: Final = (
    "The gravity rises from {before:.4f} to {after:.4f}; a ferment only falls. Is one read warm, "
    "or with gas in it?"
)
CONTRADICTS: Final = (
    "The gravity {sg:.4f} contradicts the warmth, which expected {expected}; it counts for less."
)
LOWER: Final = "a higher one"
HIGHER: Final = "a lower one"

READ_GRAVITY: Final = "Read the gravity."
READ_AGAIN: Final = "Read the gravity again, with the gas shaken out."
ENTER_ORIGINAL: Final = "Write down the original gravity."
ENTER_VOLUME: Final = "Write down how much wash there is."
ENTER_PITCH: Final = "Write down when the yeast was pitched."
CORRECT_PITCH: Final = "Correct when the yeast was pitched."
HANG_ROOM_PROBE: Final = "Hang a probe in the room, out of the sun."
CALIBRATE: Final = "Calibrate the wash's and the room's probe against each other."
DECLARE_LOSS: Final = "Let the vessel cool by itself for some hours, or declare its loss."
