"""`wormtub demo` as it ends: with all that it started, and nothing left behind."""

import signal

import pytest

from tests.children import children_of, is_alive

pytestmark = pytest.mark.system


def test_it_leaves_nothing_behind(demonstration):
    children = children_of(demonstration.process)
    assert len(children) == 3
    assert demonstration.data.is_relative_to(demonstration.folder)
    demonstration.end(signal.SIGINT)
    assert "simulated" in demonstration.said
    assert "The demonstration has stopped." in demonstration.said
    assert not any(is_alive(pid) for pid in children)
    assert list(demonstration.folder.iterdir()) == []
