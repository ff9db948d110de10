"""How much is taken from one address: requests, their bodies, and the time they may take."""

import asyncio
from collections import OrderedDict
from dataclasses import dataclass
from http import HTTPStatus
from typing import Final

from starlette.exceptions import HTTPException
from starlette.types import Message, Receive

PER_S: Final = 50.0  # requests a second, lasting
BURST: Final = 500.0  # at once: a first load of several pages, and a house behind one router
MOST_KNOWN: Final = 4096  # addresses remembered
MOST_BODY: Final = 256 * 1024  # bytes; the largest request is a form
# What is larger, and how long it may take: the readings of a past run, as a file.
UPLOADS: Final = {"/api/reviews/imports": (16 * 1024 * 1024, 60.0)}
BODY_S: Final = 10.0  # for all of it; a form takes no time


@dataclass(slots=True)
class _Left:
    """What an address may still ask, as of a moment."""

    requests: float
    at_s: float


class Allowance:
    """Counts requests by address. Lives on the event loop: a refusal costs next to nothing."""

    def __init__(self, per_s: float = PER_S, burst: float = BURST) -> None:
        self.per_s, self.burst = per_s, burst
        self._left: OrderedDict[str, _Left] = OrderedDict()

    def wait_s(self, address: str, now_s: float) -> float:
        """Count a request; return 0, or how long the address has to wait."""
        left = self._left.setdefault(address, _Left(self.burst, now_s))
        self._left.move_to_end(address)
        if len(self._left) > MOST_KNOWN:
            self._left.popitem(last=False)  # whoever asked longest ago
        left.requests = min(self.burst, left.requests + (now_s - left.at_s) * self.per_s)
        left.at_s = now_s
        if left.requests < 1:
            return (1 - left.requests) / self.per_s
        left.requests -= 1
        return 0.0


def bounded(receive: Receive, path: str) -> Receive:
    """Take a body only up to the largest that is needed there, and in a reasonable time."""
    taken, complete = 0, False
    most, within_s = UPLOADS.get(path, (MOST_BODY, BODY_S))
    until_s = asyncio.get_running_loop().time() + within_s

    async def receive_bounded() -> Message:
        nonlocal taken, complete
        if complete:
            return await receive()  # waits for the other end to leave
        try:
            async with asyncio.timeout_at(until_s):
                message = await receive()
        except TimeoutError:
            raise HTTPException(
                HTTPStatus.REQUEST_TIMEOUT, headers={"connection": "close"}
            ) from None
        taken += len(message.get("body", b""))
        complete = not message.get("more_body", False)
        if taken > most:
            raise HTTPException(HTTPStatus.REQUEST_ENTITY_TOO_LARGE)
        return message

    return receive_bounded
