"""A still with a run on, and short ways to enter marks and jars on it."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import count

import pytest
from uuid_utils.compat import uuid7

from tests.api.record.small import charged, small

__all__ = ["charged", "small"]  # fixtures

NUMBERS = count(1)
NOON = datetime(2026, 9, 21, 12, tzinfo=UTC)  # the fake clock starts at 14:13:20


def at(minutes):
    return (NOON + timedelta(minutes=minutes)).isoformat()


@dataclass
class Entering:
    """A client that enters the record of one run."""

    client: object
    run_id: str
    vessel_id: str

    def ask(self, method, path, status, /, **body):
        answer = self.client.request(method, f"/api/{path}", json=body)
        assert answer.status_code == status, answer.text
        return answer.json()

    def mark(self, kind, minutes, status=201, /, **body):
        body = {"id": str(uuid7()), "kind": kind, "at": at(minutes)} | body
        return self.ask("POST", f"runs/{self.run_id}/marks", status, **body)

    def jar(self, minutes, status=201, /, **body):
        body = {"id": str(uuid7()), "at": at(minutes)} | body
        return self.ask("POST", f"runs/{self.run_id}/jars", status, **body)

    def move(self, kind, minutes, status=201, /, **body):
        body = {"id": str(uuid7()), "kind": kind, "at": at(minutes)} | body
        return self.ask("POST", "transfers", status, **body)

    def get(self, path):
        answer = self.client.get(f"/api/{path}")
        assert answer.status_code == 200, answer.text
        return answer.json()

    @property
    def run(self):
        return self.get(f"runs/{self.run_id}")

    @property
    def now(self):
        """What the service says fits next in this run."""
        [run] = [one for one in self.get("record/now")["runs"] if one["id"] == self.run_id]
        return run


def taken(client, vessel_id, stage="spirit", minutes=0, **body):
    """Take a vessel for a stage of a batch of its own."""
    own = {"vessel_id": vessel_id, "stage": stage, "started_at": at(minutes)}
    body = own | {"batch": f"rye {next(NUMBERS)}"} | body
    answer = client.post("/api/occupancies", json=body)
    assert answer.status_code == 201, answer.text
    return answer.json()


@pytest.fixture
def take():
    """Take a vessel: `take(client, vessel_id, "strip", 30)`."""
    return taken


def still_with_a_run(client):
    still = {"name": f"still {next(NUMBERS)}", "kind": "still", "volume_l": 60}
    vessel_id = client.post("/api/vessels", json=still).json()["id"]
    return Entering(client, taken(client, vessel_id)["id"], vessel_id)


@pytest.fixture
def entering(shared_client):
    """Enter the record of a spirit run in a still of 60 L, since noon; a still for each test."""
    return still_with_a_run(shared_client)
