"""Models built when they are first needed: whole, whoever comes first, and shared."""

from threading import Barrier, Thread
from typing import Annotated

import pytest
from fastapi import Body
from pydantic import BaseModel, create_model

from api import put_off
from api.routing import Router


@pytest.fixture
def models():
    """Declare a model that holds another."""
    inner = create_model("Inner", volume_l=(float, ...))
    return inner, create_model("Outer", inner=(inner, ...), others=(list[inner] | None, None))


def test_a_model_is_put_off_until_it_is_used(models):
    inner, outer = models
    assert not inner.__pydantic_complete__
    assert inner(volume_l=2).model_dump() == {"volume_l": 2.0}
    assert inner.__pydantic_complete__
    assert not outer.__pydantic_complete__


def test_the_inner_models_are_built_first_so_that_outer_ones_share_them(models):
    inner, outer = models
    put_off.build(Annotated[list[outer], "said of it"])
    assert outer.__pydantic_complete__
    assert inner.__pydantic_complete__


def test_a_route_builds_what_it_takes_and_gives_before_the_framework_asks(models):
    inner, outer = models
    router = Router()

    @router.post("/casks")
    def fill(cask: Annotated[inner, Body()]) -> outer:
        return outer(inner=cask)

    [route] = router.routes
    assert not outer.__pydantic_complete__
    for field in (route.body_field, route.response_field):
        assert field._type_adapter.pydantic_complete  # else it would be built in any thread


def test_threads_that_meet_at_a_model_find_it_whole():
    for number in range(20):
        inner = create_model(f"Inner{number}", volume_l=(float, ...))
        outer = create_model(f"Outer{number}", inner=(inner, ...))
        together, found = Barrier(4), []

        def use(outer: type[BaseModel] = outer, together=together, found=found):
            together.wait()
            made = outer.model_validate({"inner": {"volume_l": 2}})
            found.append(made.model_dump_json())

        threads = [Thread(target=use) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert found == ['{"inner":{"volume_l":2.0}}'] * 4
