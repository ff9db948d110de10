"""Orders to a running plant, from other processes: small files in the bus's control folder.

`trouble-coolant-warm` holding `by 20` lets that trouble stand for as long as the file is there;
`jump` holding `1800` takes the plant on by half an hour, and is removed once that is done. What
the plant says of itself stands beside the control folder, in `plant.json`.
"""

from pathlib import Path
from typing import Final

from logger.bus import control
from logger.errors import PlantError
from logger.plant.troubles import Case, Trouble

PREFIX: Final = "trouble-"
JUMP: Final = "jump"
STATE: Final = "plant.json"
LONGEST_JUMP_S: Final = 86_400.0


def befall(bus: Path, words: str, places: tuple[str, ...]) -> Case:
    """Order a trouble: "coolant-warm by 20"; PlantError says what is wrong with the words."""
    case = Case.read(words, places)
    _put(bus, f"{PREFIX}{case.trouble}", words.strip().partition(" ")[2])
    return case


def mend(bus: Path, name: str) -> None:
    """Order a trouble to end; PlantError where there is none of that name."""
    trouble = Trouble.named(name)
    (_folder(bus) / f"{PREFIX}{trouble}").unlink(missing_ok=True)


def jump(bus: Path, seconds: float) -> None:
    """Order the plant to go on by a time at once."""
    if not 0.0 < seconds <= LONGEST_JUMP_S:
        raise PlantError(
            f"A jump of {seconds:g} s cannot be made; give more than 0 and at most "
            f"{LONGEST_JUMP_S:g} s (a day)."
        )
    _put(bus, JUMP, f"{seconds:g}")


def state_file(bus: Path) -> Path:
    """Name the file in which a running plant says how it stands."""
    return bus.parent / STATE


def standing(folder: Path, places: tuple[str, ...]) -> dict[Trouble, Case]:
    """Read which troubles are ordered; what cannot be read orders none."""
    found = {}
    for file in folder.glob(f"{PREFIX}*"):
        try:
            words = f"{file.name.removeprefix(PREFIX)} {file.read_text()}"
            case = Case.read(words, places)
        except (FileNotFoundError, PlantError):
            continue
        found[case.trouble] = case
    return found


def take_jump(folder: Path) -> float:
    """Take the jump that is ordered, if any, so that it is made once."""
    try:
        text = (folder / JUMP).read_text()
    except FileNotFoundError:
        return 0.0
    (folder / JUMP).unlink(missing_ok=True)
    try:
        seconds = float(text)
    except ValueError:
        return 0.0
    return seconds if 0.0 < seconds <= LONGEST_JUMP_S else 0.0


def _folder(bus: Path) -> Path:
    folder = control.folder_beside(bus)
    if not folder.is_dir():
        raise PlantError(f"No simulated plant is at {bus}; start it with wormtub simulate.")
    return folder


def _put(bus: Path, name: str, text: str) -> None:
    folder = _folder(bus)
    fresh = folder / f".{name}.new"
    fresh.write_text(f"{text}\n")
    fresh.replace(folder / name)
