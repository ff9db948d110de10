"""The doors of a running service: what a cookie or a token lets in, and the sign-ins under way."""

from collections.abc import Callable, Mapping, Sequence
from typing import Final
from uuid import UUID

from api import site
from api.access import Visitor
from api.doors import sessions, tokens
from api.doors.attempts import Attempts
from api.doors.book import Book
from api.doors.signing import Seal
from api.house import House

PLAIN_COOKIE: Final = "wormtub"
SECURE_COOKIE: Final = "__Host-wormtub"  # RFC 6265bis, 4.1.3.2: set by this host over TLS only


class Doors:
    """One house's doors, for as long as the service runs."""

    def __init__(self, house: House, areas: Callable[[], Sequence[str]]) -> None:
        self.house = house
        self._areas = areas  # costly to list, and seldom asked for
        self.trusted = house.settings.trusted_proxies
        self.book = Book(house.engine, house.reader.engine, lambda: house.now)
        self.seal = Seal(house.settings.data, house.identity.epoch)
        self.attempts = Attempts()
        self.simulated = site.stored(house.reader.engine)[0].simulated

    @property
    def areas(self) -> Sequence[str]:
        """The areas of the API that a token's scope can name."""
        return self._areas()

    def by_cookies(self, cookies: Mapping[str, str]) -> Visitor | None:
        """Return whoever is signed in with a browser's cookies."""
        signed = self.session(cookies)
        return None if signed is None else signed.visitor

    def session(self, cookies: Mapping[str, str]) -> sessions.Signed | None:
        """Return the session a browser's cookies carry, if it holds."""
        for name in (SECURE_COOKIE, PLAIN_COOKIE):
            number = self.carried(cookies.get(name, ""))
            if number is not None and (found := sessions.read(self.book, number)):
                return found
        return None

    def carried(self, cookie: str) -> UUID | None:
        """Return the id that a cookie of ours carries."""
        return self.seal.read("session", cookie) if cookie else None

    def by_token(self, secret: str) -> Visitor | None:
        """Return the program that comes with a token's secret."""
        return tokens.read(self.book, secret)

    @property
    def now_s(self) -> float:
        """Seconds on a clock that never steps, for what is counted here."""
        return self.house.clock.now().boottime_us / 1e6
