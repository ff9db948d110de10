"""Tells the service what was pressed, over loopback; what it cannot take now is told later."""

import http.client
import json
import logging
import ssl
from datetime import datetime, timedelta
from http import HTTPStatus
from typing import Any, Final, NamedTuple, Protocol

from logger.pressed import Pressed, Waiting
from logger.presses import Press
from logger.settings import Settings

log = logging.getLogger(__name__)

PATIENCE_S: Final = 5.0
HERE_LASTS: Final = timedelta(seconds=60)  # "I am here" said of an earlier time would mislead
# What may pass by itself; anything else the service will never take.
PASSING: Final = frozenset(
    {
        HTTPStatus.UNAUTHORIZED,
        HTTPStatus.FORBIDDEN,
        HTTPStatus.REQUEST_TIMEOUT,
        HTTPStatus.TOO_MANY_REQUESTS,
    }
)
AT_THE_STILL: Final = "/api/alarms/at-the-still"


class Answer(NamedTuple):
    """What the service answered."""

    status: int
    body: Any

    @property
    def passing(self) -> bool:
        """Whether asking again later may help."""
        return self.status >= HTTPStatus.INTERNAL_SERVER_ERROR or self.status in PASSING

    @property
    def sentence(self) -> str:
        """What it said was wrong."""
        try:
            return str(self.body["error"]["sentence"])
        except (KeyError, TypeError):
            return f"The service answered {self.status}."


class Service(Protocol):
    """Whoever answers: the service itself, or a test."""

    def ask(self, method: str, path: str, body: str | None = None) -> Answer:
        """Ask; OSError where nobody answers."""


class Loopback:
    """The service of this machine."""

    def __init__(self, settings: Settings) -> None:
        self._port, self._cert = settings.port, settings.tls_cert

    def ask(self, method: str, path: str, body: str | None = None) -> Answer:
        """Ask it; OSError where nobody answers."""
        headers = {"content-type": "application/json"} if body is not None else {}
        connection = self._connection()
        try:
            connection.request(method, path, body, headers)
            answer = connection.getresponse()
            return Answer(answer.status, _json(answer.read()))
        except http.client.HTTPException as error:
            raise OSError(str(error)) from error
        finally:
            connection.close()

    def _connection(self) -> http.client.HTTPConnection:
        if self._cert is None:
            return http.client.HTTPConnection("127.0.0.1", self._port, timeout=PATIENCE_S)
        trust = ssl.create_default_context(cafile=str(self._cert))
        # A public authority's own certificate is not in the file.
        trust.verify_flags |= ssl.VERIFY_X509_PARTIAL_CHAIN
        trust.check_hostname = False  # its names are those it has for others
        return http.client.HTTPSConnection(
            "127.0.0.1", self._port, timeout=PATIENCE_S, context=trust
        )


class Teller:
    """Sends what waits, oldest first; a press stays until the service has it."""

    def __init__(self, waiting: Waiting, service: Service, still: str | None = None) -> None:
        self._waiting, self._service, self._still = waiting, service, still
        self.refused = 0

    def tell(self, now: datetime) -> bool:
        """Send what waits; True where nothing is left to send."""
        while (pressed := self._waiting.first) is not None:
            try:
                if not self._told(pressed, now):
                    return False
            except OSError:
                return False
        return True

    def _told(self, pressed: Pressed, now: datetime) -> bool:
        """Send one; False where it has to be tried again."""
        if pressed.press is Press.LONG and now - pressed.at > HERE_LASTS:
            self._waiting.refuse(pressed, "The service did not answer while it mattered.")
            return True
        if not pressed.path:
            found = self._addressed(pressed)
            if isinstance(found, Answer):
                return self._judged(pressed, found)
            pressed = found
            self._waiting.put(pressed)
        return self._judged(pressed, self._service.ask("POST", pressed.path, pressed.body))

    def _judged(self, pressed: Pressed, answer: Answer) -> bool:
        if answer.passing:
            return False
        if answer.status < HTTPStatus.BAD_REQUEST:
            self._waiting.done(pressed)
            return True
        log.warning("A %s press was not taken: %s", pressed.press, answer.sentence)
        self._waiting.refuse(pressed, answer.sentence)
        self.refused += 1
        return True

    def _addressed(self, pressed: Pressed) -> Pressed | Answer:
        """Work out what to send where; the run it belongs to is the one of its own time."""
        if pressed.press is Press.LONG:
            return pressed.addressed(AT_THE_STILL, {"source": "button"})
        at = pressed.at.isoformat()
        answer = self._service.ask("GET", "/api/record/now")
        if answer.status != HTTPStatus.OK:
            return answer
        run = _run_at(answer.body["runs"], pressed.at, self._still)
        if run is None:
            where = f" in {self._still}, whose button this is" if self._still else ""
            sentence = f"No run was open then{where}."
            return Answer(HTTPStatus.CONFLICT, {"error": {"sentence": sentence}})
        common = {"id": str(pressed.id), "at": at}
        path = f"/api/runs/{run['id']}"
        if pressed.press is Press.SHORT:
            return pressed.addressed(f"{path}/jars", common | {"number": run["next_number"]})
        if run["fitting_mark"] is None:
            return Answer(HTTPStatus.CONFLICT, {"error": {"sentence": "No cut fits any more."}})
        mark = {"kind": run["fitting_mark"], "source": "button"}
        return pressed.addressed(f"{path}/marks", common | mark)


def _run_at(runs: list[dict[str, Any]], at: datetime, still: str | None) -> dict[str, Any] | None:
    """Find the run that was open in the button's still; of several, the one begun last."""
    mine = [one for one in runs if still is None or one["vessel"] == still]
    open_then = [one for one in mine if datetime.fromisoformat(one["started_at"]) <= at]
    return max(open_then, key=lambda one: one["started_at"], default=None)


def _json(raw: bytes) -> Any:
    try:
        return json.loads(raw) if raw else None
    except ValueError:
        return None
