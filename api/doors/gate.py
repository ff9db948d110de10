"""The gate of HTTPS: whoever does not finish the greeting (TLS's handshake) is not waited for.

A connection is counted by the protocol once the greeting is done; until then it is counted here.
"""

import asyncio
import ssl
from asyncio import AbstractEventLoop, BaseProtocol
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from socket import socket
from typing import Any, Final

import uvloop

from api.doors.addresses import Asker, is_loopback, plain
from api.doors.protocol import HEAD_S, MOST_OF_ONE

MOST_GREETING: Final = 256  # of all addresses together
BREATH_S: Final = 0.1  # where a connection cannot be taken just now


class GatedLoop(uvloop.Loop):
    """The server's loop, with a gate before whatever it serves by TLS."""

    async def create_server(self, *given: Any, **named: Any) -> Any:
        """Serve on a socket, as the loop itself would; by TLS through a gate."""
        context, listening = named.get("ssl"), named.get("sock")
        if context is None or listening is None:
            return await super().create_server(*given, **named)
        listening.listen(named["backlog"])
        listening.settimeout(0)
        return Gate(self, given[0], listening, context)


class Gate:
    """Takes connections, and of one address only so many whose greeting is not done.

    It stands where the server expects one of asyncio's own.
    """

    def __init__(
        self,
        loop: AbstractEventLoop,
        protocol: Callable[[], BaseProtocol],
        listening: socket,
        context: ssl.SSLContext,
    ) -> None:
        self._loop, self._protocol = loop, protocol
        self._listening, self._context = listening, context
        self._greeting: Counter[str] = Counter()
        self._tasks = {loop.create_task(self._take())}

    def close(self) -> None:
        """Take no more, and leave those whose greeting is not done."""
        for task in self._tasks:
            task.cancel()

    async def wait_closed(self) -> None:
        """Return when nothing is under way here."""
        await asyncio.gather(*self._tasks, return_exceptions=True)

    async def _take(self) -> None:
        while True:
            try:
                taken, peer = await self._loop.sock_accept(self._listening)
            except OSError:  # it has left already, or no file is free for it
                await asyncio.sleep(BREATH_S)
                continue
            self._let_in(taken, plain(peer[0]))

    def _let_in(self, taken: socket, peer: str) -> None:
        bucket = Asker(peer, secure=False, at_machine=False).bucket
        if not is_loopback(peer) and self._is_full(bucket):
            taken.close()
            return
        task = self._loop.create_task(self._greet(taken, bucket))
        self._greeting[bucket] += 1
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    def _is_full(self, bucket: str) -> bool:
        return self._greeting[bucket] >= MOST_OF_ONE or self._greeting.total() >= MOST_GREETING

    async def _greet(self, taken: socket, bucket: str) -> None:
        try:
            with suppress(OSError):  # of which ssl's and the timeout's errors are
                await self._loop.connect_accepted_socket(
                    self._protocol, taken, ssl=self._context, ssl_handshake_timeout=HEAD_S
                )
        finally:
            self._greeting[bucket] -= 1
            self._greeting += Counter()  # keeps those above nought
