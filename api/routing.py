"""Routes that are worked out once, and only when they are first asked for.

The framework works a route out where it is declared and again for every router that includes it:
what it takes, whom it lets in, how its answer is checked. There are some two hundred, of which a
house asks for a few dozen; on a small machine the rest would be seconds of every start.
"""

from collections.abc import Callable
from threading import RLock
from typing import Any, Final

from fastapi import APIRouter
from fastapi.routing import APIRoute
from starlette.routing import compile_path

from api import put_off

WORKING: Final = RLock()  # the description is made in a thread, answers are given in the loop
ADDRESS: Final = ("path_regex", "path_format", "param_convertors")


class Route(APIRoute):
    """A route that knows what it declares, and works out the rest when it is first needed."""

    _worked_out = False

    def __init__(self, path: str, endpoint: Callable[..., Any], **said: Any) -> None:
        self.path, self.endpoint, self._said = path, endpoint, said
        self.name = said.get("name") or endpoint.__name__
        self.methods = {method.upper() for method in said.get("methods") or ("GET",)}
        self.tags = said.get("tags") or []

    def __getattr__(self, name: str) -> Any:
        """Work out what is not there yet: the address, to be found by; all of it, to answer."""
        with WORKING:
            if name in ADDRESS:
                self.path_regex, self.path_format, self.param_convertors = compile_path(self.path)
            elif not self._worked_out:
                self._worked_out = True
                put_off.build_for(self.endpoint, self._said.get("response_model"))
                super().__init__(self.path, self.endpoint, **self._said)
        try:
            return self.__dict__[name]
        except KeyError:
            raise AttributeError(f"A route has no {name!r}.") from None

    def inside(self, outer: APIRouter, prefix: str) -> "Route":
        """Return the route as it stands inside another router."""
        said = self._said
        both = {
            "tags": [*outer.tags, *self.tags],
            "dependencies": [*outer.dependencies, *said["dependencies"]],
            "responses": {**outer.responses, **said["responses"]},
            "generate_unique_id_function": outer.generate_unique_id_function,
        }
        return Route(outer.prefix + prefix + self.path, self.endpoint, **said | both)


class Router(APIRouter):
    """A router of such routes."""

    def __init__(self, **said: Any) -> None:
        super().__init__(route_class=Route, **said)

    def take(self, router: "Router", prefix: str = "") -> None:
        """Take the routes of another router in, as they stand at this moment."""
        for route in router.routes:
            assert isinstance(route, Route)  # noqa: S101 - a Router makes no others
            self.routes.append(route.inside(self, prefix))
