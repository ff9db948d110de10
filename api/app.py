"""The service: one FastAPI application over one data folder."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import cache
from typing import Any, ClassVar

from api import put_off  # noqa: F401 - before any model is declared, the framework's too

# isort: split
from fastapi import FastAPI
from fastapi.routing import iter_route_contexts
from starlette.middleware.gzip import GZipMiddleware
from starlette.routing import BaseRoute
from starlette.types import ASGIApp

from api import (
    assets,
    calculations,
    calibration_points,
    calibrations,
    condensers,
    errors,
    export,
    guide,
    health,
    history,
    live,
    occupancies,
    openapi,
    placements,
    places,
    pressure,
    probes,
    replacing,
    shell,
    simulation,
    site,
    vessels,
    warming,
)
from api.alarms import control_cycle
from api.alarms import routes as alarms
from api.alarms.notices import reach, targets
from api.doors import routes as doors
from api.doors.addresses import known_hosts
from api.doors.door import Door
from api.doors.doors import Doors
from api.estimates import routes as estimates
from api.house import House
from api.record import routes as record
from api.reviews import routes as reviews
from api.routing import Router
from api.versions import program_version
from logger.clock import Clock
from logger.settings import Settings

ROUTERS: tuple[Router, ...] = (
    site.router,
    guide.router,
    vessels.router,
    condensers.router,
    places.router,
    occupancies.router,
    replacing.router,
    probes.router,
    warming.router,
    placements.router,
    calibration_points.router,
    calibrations.router,
    pressure.router,
    live.router,
    history.router,
    export.router,
    calculations.router,
    health.router,
    targets.router,
    reach.router,
    control_cycle.router,
    alarms.router,
    alarms.acts,
    simulation.router,
    record.router,
    estimates.router,
    reviews.router,
    doors.router,
    shell.router,
    openapi.router,
)


class Service(FastAPI):
    """FastAPI with the door outermost, so that every answer has passed it."""

    house: House
    description_of_routes: ClassVar[dict[str, Any] | None] = None  # the same whatever is served

    def build_middleware_stack(self) -> ASGIApp:
        """Put the door before everything else, the answer to a failure included."""
        inner = super().build_middleware_stack()
        settings = self.house.settings
        known = known_hosts(settings.host, settings.host_names)
        return Door(inner, known_host=known, trusted=settings.trusted_proxies)

    def openapi(self) -> dict[str, Any]:
        """Describe the routes, and keep it."""
        if Service.description_of_routes is None:
            Service.description_of_routes = openapi.corrected(super().openapi())
        return Service.description_of_routes


def create_app(settings: Settings, clock: Clock | None = None) -> Service:
    """Open the data folder and build the service on it.

    Raises WormtubError with a sentence where the folder cannot be used or another service holds
    it. The folder is held until the application's lifespan ends.
    """
    house = House.open(settings, clock)
    app = Service(
        title="Wormtub",
        version=program_version(),
        description="A small distillery's temperatures: live, kept, and what they mean.",
        openapi_url=None,  # served by api.openapi, with a role like everything else
        docs_url=None,
        redoc_url=None,
        lifespan=_lifespan,
        redirect_slashes=False,
    )
    app.house = app.state.house = house
    app.state.doors = Doors(house, areas)
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    errors.install(app)
    app.router.routes.extend(_routes())
    return app


@cache
def _routes() -> tuple[BaseRoute, ...]:
    """Return the routes: once, whatever is served."""
    every = Router(
        responses=errors.declared(401, 403, 429, 500, 503),  # the door, the unforeseen, the store
        generate_unique_id_function=openapi.operation_id,
    )
    every.take(assets.router)  # first: a page asks for dozens of them, and waits
    for router in ROUTERS:
        every.take(router, prefix="/api")
    return tuple(every.routes)


@cache
def areas() -> tuple[str, ...]:
    """Return the areas of the API, by which a token's scopes can be narrowed."""
    return tuple(sorted({str(tag) for one in iter_route_contexts(_routes()) for tag in one.tags}))


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    house: House = app.state.house
    async with house.running():
        yield
