"""Routes worked out once, when they are first asked for; and the same as the framework's own."""

import asyncio
from threading import Barrier, Thread
from typing import Annotated

import httpx
import pytest
from fastapi import APIRouter, Body, Depends, FastAPI, Query
from fastapi import routing as framework
from pydantic import BaseModel

from api.routing import Router

TELLS = {409: {"description": "It was changed meanwhile."}}


class Cask(BaseModel):
    """Something to send and to get."""

    name: str
    volume_l: float


def asked(word: Annotated[str, Query()] = "nobody") -> str:
    return word


def room(kind):
    """Declare the same routes with a kind of router."""
    inner = kind(prefix="/casks", tags=["casks"], dependencies=[Depends(asked)], responses=TELLS)

    @inner.get("")
    def every(least_l: Annotated[float, Query(ge=0)] = 0.0) -> list[Cask]:
        """Return the casks."""
        return [Cask(name="one", volume_l=least_l)]

    @inner.post("/{number}", status_code=201, dependencies=[Depends(asked)])
    async def fill(number: int, cask: Annotated[Cask, Body()]) -> Cask:
        """Fill a cask."""
        return Cask(name=f"{cask.name} {number}", volume_l=cask.volume_l)

    return inner


def of_the_frameworks():
    outer, app = APIRouter(responses={500: {"description": "It broke."}}), FastAPI()
    outer.include_router(room(APIRouter), prefix="/api")
    app.include_router(outer)
    return app


def of_ours():
    outer, app = Router(responses={500: {"description": "It broke."}}), FastAPI()
    outer.take(room(Router), prefix="/api")
    app.router.routes.extend(outer.routes)
    return app


def asking(app):
    return httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://house")


async def answers(app):
    found = []
    async with asking(app) as client:
        for method, path, body in (
            ("GET", "/api/casks?least_l=2.5", None),
            ("GET", "/api/casks?least_l=-1", None),
            ("POST", "/api/casks/3", {"name": "rye", "volume_l": 20}),
            ("POST", "/api/casks/three", {"name": "rye"}),
            ("DELETE", "/api/casks", None),
            ("GET", "/api/nowhere", None),
        ):
            answer = await client.request(method, path, json=body)
            told = (answer.status_code, answer.json(), answer.headers.get("allow"))
            found.append((method, path, *told))
    return found


def test_they_answer_and_are_described_as_the_frameworks_own():
    assert asyncio.run(answers(of_ours())) == asyncio.run(answers(of_the_frameworks()))
    assert of_ours().openapi() == of_the_frameworks().openapi()


@pytest.fixture
def worked_out(monkeypatch):
    """Return the addresses that were worked out, in turn."""
    seen, as_it_was = [], framework._populate_api_route_state

    def counted(route, path, *args, **said):
        seen.append(path)
        as_it_was(route, path, *args, **said)

    monkeypatch.setattr(framework, "_populate_api_route_state", counted)
    return seen


def test_only_the_route_that_answers_is_worked_out_and_once(worked_out):
    app = of_ours()
    ours = {"/api/casks", "/api/casks/{number}"}
    assert ours.isdisjoint(worked_out)

    async def ask():
        async with asking(app) as client:
            await client.get("/api/nowhere")
            assert ours.isdisjoint(worked_out)
            for _ in range(3):
                assert (await client.get("/api/casks")).status_code == 200

    asyncio.run(ask())
    assert [path for path in worked_out if path in ours] == ["/api/casks"]


def test_threads_that_meet_at_a_route_find_it_whole(worked_out):
    route, together, found = room(Router).routes[1], Barrier(4), []

    def look():
        together.wait()
        found.append((route.dependant, route.body_field, route.app))

    threads = [Thread(target=look) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 4
    assert all(one == found[0] for one in found)
    assert worked_out == ["/casks/{number}"]


def test_what_a_route_does_not_have_is_said():
    route = room(Router).routes[0]
    with pytest.raises(AttributeError, match="'colour'"):
        _ = route.colour
