"""A small batch through the service, with short ways to enter; the batch is invented."""

from dataclasses import dataclass

import pytest

NOON = "2026-09-21T12:{:02d}:00+00:00"
SHOWN = 1e-9


@dataclass
class Small:
    """A batch of grain in a still of 60 L, with short ways to enter."""

    client: object
    batch: dict
    run_id: str
    vessel_id: str

    def ask(self, method, path, status=200, /, **body):
        answer = self.client.request(method, f"/api/{path}", json=body or None)
        assert answer.status_code == status, answer.text
        return answer.json() if answer.content else None

    def say(self, kind, minute, status=201, /, **body):
        common = {"kind": kind, "at": NOON.format(minute), "batch": self.batch["name"]}
        return self.ask("POST", "entries", status, **(common | body))

    def lot(self, kind, name, **body):
        own = {"kind": kind, "name": name, "batch": self.batch["name"]}
        return self.ask("POST", "lots", 201, **(own | body))["id"]

    def move(self, kind, minute, status=201, /, **body):
        common = {"kind": kind, "at": NOON.format(minute)}
        return self.ask("POST", "transfers", status, **(common | body))

    def measure(self, lot, minute, status=201, /, **body):
        return self.ask(
            "POST", f"lots/{lot}/measures", status, **({"at": NOON.format(minute)} | body)
        )

    @property
    def balance(self):
        return self.ask("GET", f"batches/{self.batch['id']}/balance")


@pytest.fixture
def small(shared_client, entering):
    run = entering.run
    [batch] = [one for one in entering.get("batches") if one["name"] == run["batch"]]
    return Small(shared_client, batch, entering.run_id, entering.vessel_id)


STRENGTH = {"temperature_c": 20.0, "instrument": "density_meter", "reading_error_abv": 0.1}


@pytest.fixture
def charged(small):
    """A wash of 50 L at 9 % vol, all but a litre of it in the still."""
    wash = small.lot("wash", "wash")
    small.measure(wash, 1, volume_l=50.0, volume_error_l=0.3, reading_abv=9.0, **STRENGTH)
    small.move("charge", 2, from_lot=wash, to_lot=small.run_id, volume_l=49.0, volume_error_l=0.3)
    return wash


def jar(small, minute, litres, abv, at_c=20.0, instrument="density_meter"):
    body = {
        "at": NOON.format(minute),
        "volume_l": litres,
        "volume_error_l": 0.01,
        "reading_abv": abv,
        "temperature_c": at_c,
        "instrument": instrument,
        "reading_error_abv": 0.1,
        "ended_at": NOON.format(minute + 3),
    }
    return small.ask("POST", f"runs/{small.run_id}/jars", 201, **body)["id"]


def terms(side):
    return {one["name"]: one["pure_alcohol_l"] for one in side}
