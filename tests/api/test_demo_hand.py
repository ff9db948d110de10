"""The hand at the demonstration's still: a jar that fills is changed and weighed, and no other."""

import json
from datetime import UTC, datetime, timedelta

import pytest

from api.commands.demo_hand import Hand
from calc.contents import contents_by_volume
from logger.plant import orders
from logger.telling import Answer

JAR = {"id": "j1", "number": 7, "version": 1}
TARE_KG = 0.9


class Service:
    def __init__(self) -> None:
        began = (datetime.now(UTC) - timedelta(minutes=10)).isoformat()
        self.jar = JAR | {"began_at": began}
        self.run = {
            "id": "r", "vessel": "still", "vessel_id": "s", "batch": "rye 0", "purpose": "spirit",
            "started_at": began, "version": 3, "next_number": 8, "marks": [], "jars": [self.jar],
            "charge": {"volume_l": 190.0}, "open_jar": self.jar,
        }  # fmt: skip
        self.sent = []

    def ask(self, method, path, body=None):
        if method != "GET":
            self.sent.append((method, path, json.loads(body)))
            return Answer(201, {"id": path.rpartition("/")[2]})
        if path.endswith("/now"):
            return Answer(200, {"runs": [self.run] if self.run else []})
        if path.endswith("/vessels"):
            return Answer(200, [{"id": "s", "name": "still"}])
        return Answer(200, {"number": 7, "tare_kg": TARE_KG})


@pytest.fixture
def service():
    return Service()


@pytest.fixture
def look(tmp_path, service):
    bus = tmp_path / "bus"
    hand = Hand(service, bus)

    def looking(collected_l, pure_l, stage="spirit"):
        truth = {
            "stages": {"still": stage}, "collected_l": collected_l, "collected_pure_l": pure_l,
            "spout_l_min": 0.05, "spout_abv": 70.0,
            "vessels": {"still": {"volume_l": 140.2, "abv": 1.04}},
        }  # fmt: skip
        orders.state_file(bus).write_text(json.dumps({"truth": truth}))
        hand._due_s = 0.0
        assert hand.look() is False
        sent, service.sent = service.sent, []
        return sent

    return looking


def test_a_full_jar_is_changed_and_weighed(look):
    assert look(10.0, 7.5) == []  # half a litre is in it by now
    (post, path, said), (put, of, weighed) = look(11.6, 8.62)
    assert (post, path, said) == ("POST", "/api/runs/r/jars", {"number": 8})
    assert (put, of, weighed["version"]) == ("PUT", "/api/jars/j1", 1)
    abv = weighed["reading_abv"]
    assert abv == pytest.approx(70.0, abs=0.1)
    full_kg = TARE_KG + contents_by_volume(2.1, abv).weight_in_air_kg
    assert weighed["mass_kg"] == pytest.approx(full_kg, abs=0.002)


def test_when_the_run_is_over_it_says_so_and_begins_the_next_with_its_charge(look, service):
    assert look(10.0, 7.5) == []
    end, left, over = look(10.0, 7.5, stage="empty")
    assert end == ("POST", "/api/runs/r/marks", {"kind": "end", "source": "tap"})
    assert (left[1], left[2]["kind"], left[2]["from_lot"]) == ("/api/transfers", "discard", "r")
    assert (left[2]["volume_l"], left[2]["reading_abv"]) == (140, 1.0)
    assert (over[:2], over[2]["version"]) == (("PUT", "/api/occupancies/r"), 3)
    service.run = None
    assert look(10.0, 7.5, stage="empty") == []
    run, lot, received, charged = look(0.0, 0.0)
    assert (run[1], run[2]["stage"]) == ("/api/occupancies", "spirit")
    assert lot[2]["kind"] == "low_wines"
    assert (received[2]["volume_l"], received[2]["reading_abv"]) == (190.0, 24.0)
    assert (charged[2]["kind"], charged[2]["to_lot"]) == ("charge", "occupancies")
    assert look(0.0, 0.0) == []  # once


def test_a_run_that_passed_while_time_was_made_to_pass_is_over_too(look, service):
    look(20.0, 14.0)
    end, over = look(0.4, 0.3)
    assert (end[2]["kind"], over[1]) == ("end", "/api/occupancies/r")
    service.run = None
    assert look(0.5, 0.35)[0][1] == "/api/occupancies"


def test_a_run_that_a_visitor_ended_is_not_begun_again(look, service):
    look(10.0, 7.5)
    service.run = None
    assert look(10.1, 7.6) == []


def test_the_first_jar_of_a_run_is_put_where_no_visitor_does(look, service):
    service.run |= {"jars": [], "open_jar": None, "next_number": 1}
    assert look(0.01, 0.0) == []
    assert look(0.1, 0.08) == [("POST", "/api/runs/r/jars", {"number": 1})]
    assert look(0.2, 0.16) == []  # once: a visitor may have taken it away


def test_what_cannot_be_read_is_looked_at_again(tmp_path):
    assert Hand(Service(), tmp_path / "bus").look() is False
