"""The hand at the demonstration's still: a jar that fills is changed and weighed, and no other."""

import json
from datetime import UTC, datetime, timedelta

import pytest

from api.commands.demo_hand import Hand
from calc.contents import contents_by_volume
from logger.plant import orders
from logger.telling import Answer

JAR = {"id": "j1", "number": 6, "version": 1}
TARE_KG = 0.9


class Service:
    def __init__(self) -> None:
        self.jar = JAR | {"began_at": (datetime.now(UTC) - timedelta(minutes=10)).isoformat()}
        self.sent = []

    def ask(self, method, path, body=None):
        if method != "GET":
            self.sent.append((method, path, json.loads(body)))
            return Answer(201, {})
        if path.endswith("/now"):
            run = {"id": "r", "vessel": "still", "purpose": "spirit", "next_number": 7}
            return Answer(200, {"runs": [run | {"open_jar": self.jar}]})
        return Answer(200, {"number": 6, "tare_kg": TARE_KG})


@pytest.fixture
def look(tmp_path):
    service, bus = Service(), tmp_path / "bus"
    hand = Hand(service, bus)

    def looking(collected_l, pure_l, stage="spirit"):
        truth = {
            "stages": {"still": stage}, "collected_l": collected_l, "collected_pure_l": pure_l,
            "spout_l_min": 0.05, "spout_abv": 70.0,
        }  # fmt: skip
        orders.state_file(bus).write_text(json.dumps({"truth": truth}))
        hand._due_s = 0.0
        assert hand.look() is False
        return service.sent

    return looking


def test_a_full_jar_is_changed_and_weighed(look):
    assert look(10.0, 7.5) == []  # half a litre is in it by now
    (post, path, said), (put, of, weighed) = look(11.6, 8.62)
    assert (post, path, said) == ("POST", "/api/runs/r/jars", {"number": 7})
    assert (put, of, weighed["version"]) == ("PUT", "/api/jars/j1", 1)
    abv = weighed["reading_abv"]
    assert abv == pytest.approx(70.0, abs=0.1)
    full_kg = TARE_KG + contents_by_volume(2.1, abv).weight_in_air_kg
    assert weighed["mass_kg"] == pytest.approx(full_kg, abs=0.002)


def test_when_the_run_is_over_it_says_so(look):
    assert look(10.0, 7.5, stage="empty") == [
        ("POST", "/api/runs/r/marks", {"kind": "end", "source": "tap"})
    ]


def test_what_cannot_be_read_is_looked_at_again(tmp_path):
    assert Hand(Service(), tmp_path / "bus").look() is False
