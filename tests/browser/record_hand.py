"""A thumb on a phone's page of the record, and the service that the phone comes to."""

from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import httpx

from tests.asking import PLAIN
from tests.browser.conftest import PHONE
from tests.doors_help import cookie_of


@dataclass
class Stillhouse:
    """A service with a still, and a run of it for each test."""

    url: str
    data: Path
    vessel_id: str = ""

    def get(self, path):
        return (
            httpx.get(f"{self.url}api/{path}", timeout=10, verify=PLAIN).raise_for_status().json()
        )

    def send(self, method, path, **body):
        answer = httpx.request(method, f"{self.url}api/{path}", json=body, timeout=10, verify=PLAIN)
        return answer.raise_for_status().json()

    def run(self):
        """Begin a run; the one before it ends."""
        now = self.end()
        said = {"vessel_id": self.vessel_id, "batch": "rye 5", "stage": "spirit"}
        return self.send("POST", "occupancies", **said, started_at=now)["id"]

    def end(self):
        """End what runs."""
        now = datetime.now(UTC).isoformat()
        kept = ("vessel_id", "batch", "stage", "started_at", "version")
        for one in self.get("occupancies"):
            if one["ended_at"] is None:
                ended = {name: one[name] for name in kept} | {"ended_at": now}
                self.send("PUT", f"occupancies/{one['id']}", **ended)
        return now

    def kinds(self, run_id):
        return [mark["kind"] for mark in self.get(f"runs/{run_id}")["marks"]]

    def ticked(self, run_id):
        checks = self.get(f"runs/{run_id}/checklist")["checks"]
        return [one["key"] for one in checks if one["ticked"]]

    def jars(self, run_id):
        return self.get(f"runs/{run_id}")["jars"]


@dataclass
class Hand:
    """A thumb on a phone's page, and how often it came down."""

    context: object
    url: str
    until: object
    page: object = None
    taps: int = 0
    errors: list[str] = field(default_factory=list)

    def open(self, path=""):
        self.page = self.context.new_page()
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.goto(f"{self.url}{path}")
        return self

    def recording(self):
        self.page.locator("#record .big button:visible").first.wait_for()
        return self

    def tap(self, name):
        self.page.get_by_role("button", name=name, exact=False).first.tap()
        self.taps += 1

    def eventually(self, condition, says):
        def pause(seconds):
            self.page.wait_for_timeout(1000 * seconds)

        pause(0.02)
        return self.until(condition, says=says, pause=pause)


@contextmanager
def hand_at(house, phones, until, name):
    context = phones.new_context(**PHONE)
    url = house.url.replace("127.0.0.1", name)
    if name != "127.0.0.1":
        cookie, value = cookie_of(house.data, "operate")
        context.add_cookies([{"name": cookie, "value": value, "domain": name, "path": "/"}])
    hand = Hand(context, url, until)
    yield hand
    context.close()
    assert not hand.errors


def offer_power(hand, house, run):
    """Have the page told that the temperatures speak for a change of heat."""
    one = {"kind": "power", "at": house.get(f"runs/{run}")["started_at"], "why": "The pot."}

    def proposing(route):
        answer = route.fetch()
        body = answer.json()
        body["runs"][0]["proposals"] = [one | {"ratio": 0.5}]
        route.fulfill(response=answer, json=body)

    hand.page.route("**/api/record/now", proposing)  # it may ask twice, and shows the last answer
    house.send("POST", f"runs/{run}/marks", kind="note", text="another's", source="tap")
    hand.page.locator(".proposals li").wait_for()
    hand.page.unroute("**/api/record/now", proposing)


def mend_after_the_end(hand, house, run):
    """Type no number for a jar's volume, and put it right when the run is over."""
    jar = house.send("POST", f"runs/{run}/jars", number=1)
    house.send("POST", f"runs/{run}/jars", number=2)
    hand.tap("Measure a jar")
    hand.page.get_by_label("Volume, L").fill("half")
    hand.tap("Volume only")
    hand.page.locator(".waiting li").get_by_text("“the volume” is").wait_for()
    house.end()
    hand.page.locator("#record.idle").wait_for()
    hand.tap("Put it right")
    assert hand.page.get_by_label("Volume, L").input_value() == "half"
    hand.page.get_by_label("Volume, L").fill("0,5")
    hand.tap("Volume only")
    hand.eventually(lambda: house.get(f"jars/{jar['id']}")["volume_l"] == 0.5, "put right")
