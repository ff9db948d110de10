"""The jar button: a contact on a GPIO pin; short is the next jar, double a cut, long "I am here".

It runs as a process of its own (`wormtub button`): nothing it does can delay a scan. A press is
kept in the data folder with its own time and id before the beep, and told to the service when
that answers. A foot switch is the same contact on a longer wire.
"""

import logging
import signal
import warnings
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import datetime
from queue import Empty, SimpleQueue
from threading import Event, Thread
from time import monotonic
from typing import TYPE_CHECKING, Final, TypeVar

from logger import locks
from logger.errors import SettingsError
from logger.notify import notify
from logger.pressed import Pressed, Waiting
from logger.presses import Press, Presses
from logger.settings import Settings
from logger.store.types import now
from logger.telling import Loopback, Service, Teller

if TYPE_CHECKING:
    from gpiozero import Button, Buzzer

log = logging.getLogger(__name__)

LOOK_S: Final = 0.02  # how closely a press is followed while it is open
IDLE_S: Final = 1.0
RETRY_S: Final = 5.0
# How often it beeps, and for how long each time (common practice, no source).
BEEPS: Final = {Press.SHORT: (1, 0.06), Press.DOUBLE: (2, 0.06), Press.LONG: (1, 0.5)}
TROUBLE: Final = (5, 0.06)

D = TypeVar("D")
Beep = Callable[[int, float], None]
Edge = tuple[bool, float, datetime]  # down or up; when, on both clocks


def run(settings: Settings) -> int:
    """Follow the button until SIGTERM or SIGINT; returns the exit code."""
    if settings.button_pin is None:
        raise SettingsError(
            "No button is set; name its pin, as in --button-pin GPIO27, or WORMTUB_BUTTON_PIN."
        )
    with locks.hold(settings.data, "button"), _told_to_stop() as stop, ExitStack() as pins:
        button = pins.enter_context(_button(settings.button_pin))
        beep: Beep = _silent
        if settings.buzzer_pin is not None:
            buzzer = pins.enter_context(_buzzer(settings.buzzer_pin))
            beep = _beeping(buzzer)
        watch = ButtonWatch(Waiting(settings.data), Loopback(settings), beep, settings.button_still)
        button.when_pressed = lambda: watch.edge(down=True)
        button.when_released = lambda: watch.edge(down=False)
        notify("READY=1")
        log.info("The jar button is followed on %s.", settings.button_pin)
        watch.run(stop)
    return 0


class ButtonWatch:
    """Follows the contact in one thread, and tells the service in another."""

    def __init__(
        self, waiting: Waiting, service: Service, beep: Beep, still: str | None = None
    ) -> None:
        self._waiting, self._teller, self._beep = waiting, Teller(waiting, service, still), beep
        self._edges: SimpleQueue[Edge] = SimpleQueue()
        self._presses = Presses()
        self._began: datetime | None = None  # of the press that is open
        self._news = Event()
        self._stop = Event()

    def edge(self, *, down: bool) -> None:
        """Take an edge of the contact; from the pins' own thread."""
        self._edges.put((down, monotonic(), now()))

    def run(self, stop: Event) -> None:
        """Follow until told to stop; what waits then is told at the next start."""
        telling = Thread(target=self._tell, name="telling", daemon=True)
        telling.start()
        while not stop.is_set():
            self.follow(LOOK_S if self._presses.is_waiting else IDLE_S)
        self._stop.set()
        self._news.set()
        telling.join(RETRY_S * 2)

    def follow(self, patience_s: float) -> None:
        """Take what the contact did within some time, and act on what was meant."""
        try:
            down, at_s, at = self._edges.get(timeout=patience_s)
        except Empty:
            self._act(self._presses.look(monotonic()))
            return
        self._act(self._presses.look(at_s))
        if down and not self._presses.is_waiting:
            self._began = at
        (self._presses.down if down else self._presses.up)(at_s)

    def _act(self, press: Press | None) -> None:
        if press is None:
            return
        try:
            self._waiting.add(Pressed.now(press, self._began or now()))
        except OSError as error:
            log.error("A press could not be kept (%s).", error.strerror)  # noqa: TRY400 - a sentence
            self._beep(*TROUBLE)
            return
        self._beep(*BEEPS[press])
        self._news.set()

    def _tell(self) -> None:
        while not self._stop.is_set():
            self._news.clear()
            refused = self._teller.refused
            try:
                settled = self._teller.tell(now())
            except Exception:
                log.exception("Telling the service failed; it is tried again.")
                settled = False
            if self._teller.refused > refused:
                self._beep(*TROUBLE)
            self._news.wait(None if settled else RETRY_S)


def _silent(times: int, on_s: float) -> None:
    """Make no sound: no buzzer is set."""


def _beeping(buzzer: "Buzzer") -> Beep:
    def beep(times: int, on_s: float) -> None:
        buzzer.beep(on_s, on_s, n=times)

    return beep


def _button(pin: str) -> "Button":
    from gpiozero import Button  # noqa: PLC0415 - few houses have one

    return _had("button_pin", pin, lambda: Button(pin))


def _buzzer(pin: str) -> "Buzzer":
    from gpiozero import Buzzer  # noqa: PLC0415 - few houses have one

    return _had("buzzer_pin", pin, lambda: Buzzer(pin))


def _had(key: str, pin: str, take: Callable[[], D]) -> D:
    from gpiozero.exc import GPIOPinInUse, GPIOZeroError, PinError  # noqa: PLC0415 - with a pin

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # each way to the pins that is not there
            return take()
    except GPIOPinInUse:
        why = "something else of this program uses it; give each its own"
    except PinError:
        why = "this machine has no such pin; give one as GPIO27"
    except (GPIOZeroError, OSError):
        why = "this machine's pins cannot be used; on a Pi, install lgpio and join the gpio group"
    raise SettingsError(f"{key} = {pin} cannot be used: {why}.") from None


@contextmanager
def _told_to_stop() -> Iterator[Event]:
    stop = Event()
    numbers = (signal.SIGTERM, signal.SIGINT)
    before = [signal.signal(number, lambda *_: stop.set()) for number in numbers]
    try:
        yield stop
    finally:
        for number, handler in zip(numbers, before, strict=True):
            signal.signal(number, handler)
