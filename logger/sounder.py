"""A sounder and a lamp on GPIO pins. gpiozero is loaded only where a pin is set."""

import warnings
from collections.abc import Mapping
from contextlib import suppress
from enum import StrEnum
from typing import TYPE_CHECKING, Final, NamedTuple

from logger.errors import SettingsError

if TYPE_CHECKING:
    from gpiozero import DigitalOutputDevice

    from logger.settings import Settings


class Call(StrEnum):
    """How the sounder and the lamp call: told apart by rhythm, as the screen does by shape."""

    NONE = ""
    CHIRP = "chirp"  # something will call soon, or the house is not watched
    LOW = "low"
    MEDIUM = "medium"
    HIGH = "high"


class Beat(NamedTuple):
    """For how long it is on, and off, over and over."""

    on_s: float
    off_s: float


# Rhythms: common practice, no source; owners confirm that they can be told apart in their house.
SOUNDER: Final[Mapping[Call, Beat | None]] = {
    Call.NONE: None,
    Call.CHIRP: Beat(0.1, 29.9),
    Call.LOW: None,  # the lamp alone
    Call.MEDIUM: Beat(0.3, 9.7),
    Call.HIGH: Beat(0.5, 0.5),
}
LAMP: Final[Mapping[Call, Beat | None]] = {
    Call.NONE: None,
    Call.CHIRP: Beat(0.1, 29.9),
    Call.LOW: Beat(0.5, 4.5),
    Call.MEDIUM: Beat(0.5, 0.5),
    Call.HIGH: Beat(0.15, 0.15),
}
PINS: Final = ("sounder_pin", "lamp_pin")
TRIED: Final = Beat(0.3, 0.3)
TRIED_TIMES: Final = 3


class Sounder:
    """Whatever of the two is there; without pins it does nothing."""

    def __init__(self) -> None:
        self._outputs: dict[str, DigitalOutputDevice] = {}
        self._call = Call.NONE

    @classmethod
    def open(cls, settings: "Settings") -> tuple["Sounder", list[SettingsError]]:
        """Take the pins that are set; one that cannot be had leaves the other."""
        made, problems = cls(), []
        for key in PINS:
            pin = getattr(settings, key)
            try:
                if pin is not None:
                    made._outputs[key] = _output(key, pin)
            except SettingsError as problem:
                problems.append(problem)
        return made, problems

    def __bool__(self) -> bool:
        return bool(self._outputs)

    def call(self, call: Call) -> None:
        """Call so from now on."""
        if call is not self._call:
            self._call = call
            self._go_on()

    def attempt(self) -> None:
        """Let each be heard and seen three times, then go on as before."""
        for output in self._outputs.values():
            output.blink(*TRIED, n=TRIED_TIMES, background=False)
        self._go_on()

    def close(self) -> None:
        """Fall silent and give the pins back."""
        for output in self._outputs.values():
            output.close()
        self._outputs = {}

    def _go_on(self) -> None:
        for key, output in self._outputs.items():
            beat = (SOUNDER if key == "sounder_pin" else LAMP)[self._call]
            if beat is None:
                output.off()
            else:
                output.blink(*beat)


def _output(key: str, pin: str) -> "DigitalOutputDevice":
    from gpiozero import DigitalOutputDevice  # noqa: PLC0415 - few houses have a sounder
    from gpiozero.exc import GPIOPinInUse, GPIOZeroError, PinError  # noqa: PLC0415

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # each way to the pins that is not there
            return DigitalOutputDevice(pin)
    except GPIOPinInUse:
        why = "something else of this program uses it; give each its own"
    except PinError:
        why = "this machine has no such pin; give one as GPIO17"
    except (GPIOZeroError, OSError, ImportError):
        why = "this machine's pins cannot be used; on a Pi, install lgpio and join the gpio group"
    raise SettingsError(f"{key} = {pin} cannot be used: {why}. Everything else goes on.") from None


def call_of(text: str) -> Call:
    """Read a call; what a newer service may say is taken for the loudest."""
    with suppress(ValueError):
        return Call(text)
    return Call.HIGH
