"""Lots under the thumb: added, measured, moved, poured together, brought to strength.

The service is the real one on a store without probes.
"""

from datetime import UTC, datetime, timedelta

import httpx
import pytest

from tests.asking import PLAIN

STRONG = {"volume_l": 5, "reading_abv": 80, "temperature_c": 20}


class House:
    """What the service says and takes."""

    def __init__(self, url) -> None:
        self.url = url

    def get(self, path, **query):
        answer = httpx.get(f"{self.url}api/{path}", params=query, timeout=10, verify=PLAIN)
        return answer.raise_for_status().json()

    def send(self, method, path, **body):
        answer = httpx.request(method, f"{self.url}api/{path}", json=body, timeout=10, verify=PLAIN)
        return answer.raise_for_status().json()

    def lot(self, name):
        return next((one for one in self.get("lots") if one["name"] == name), None)

    def holds(self, name):
        found = self.lot(name)
        return found and found["now"]["volume_l"]


@pytest.fixture(scope="module")
def house(service):
    """A house with a run that gave two jars of hearts, and some strong spirit."""
    made = House(service)
    still = made.send("POST", "vessels", name="lots still", kind="still", volume_l=100)
    now = datetime.now(UTC).isoformat()
    said = {"vessel_id": still["id"], "batch": "rye 9", "stage": "spirit", "started_at": now}
    run = made.send("POST", "occupancies", **said)["id"]
    read = {"volume_l": 1.0, "temperature_c": 20}
    for number, reading_abv in ((1, 72), (2, 68), (3, 60)):
        jar = {"number": number, "cut": "hearts", "reading_abv": reading_abv, **read}
        made.send("POST", f"runs/{run}/jars", **jar)
    made.send("POST", "lots", kind="spirit", name="strong 9", batch="rye 9", measure=STRONG)
    return made


class Thumb:
    """A thumb, or a pointer, on the page."""

    def __init__(self, watched, house) -> None:
        self.watched, self.page, self.house = watched, watched.page, house
        watched.forgive("status of 4", "ERR_INTERNET_DISCONNECTED", "Failed to fetch")

    def open(self, path):
        self.page.goto(f"{self.house.url}{path}")

    def press(self, name):
        self.page.get_by_role("button", name=name, exact=True).first.click()

    def fill(self, **values):
        for label, value in values.items():
            field = self.page.get_by_label(label.replace("_", " "), exact=True)
            (field.select_option if field.evaluate("e => e.tagName") == "SELECT" else field.fill)(
                value
            )

    def unfold(self, text):
        self.page.get_by_text(text, exact=True).first.click()

    def eventually(self, condition, says):
        self.watched.eventually(condition, says)

    def reads(self, text):
        self.page.get_by_text(text).first.wait_for()

    def fits(self):
        assert self.watched.overhang_px <= 0


@pytest.fixture
def thumb(house, open_page):
    return Thumb(open_page("phone", color_scheme="dark", bypass_csp=True), house)


def test_a_lot_is_added_measured_sampled_and_discarded_and_what_waits_is_sent(
    house, thumb, complaints
):
    name = "low wines 9 of a name that goes on and on, past any edge"
    thumb.open("cellar.html")
    thumb.press("Add a lot")
    thumb.fill(Name=name, Volume="20", Strength_as_read="28")
    assert complaints(thumb.watched) == []
    thumb.press("Add the lot")
    trouble = thumb.page.locator("#lot-temperature_c-trouble")
    thumb.eventually(lambda: "temperature" in trouble.inner_text().lower(), "the sentence")
    assert thumb.page.get_by_label("Strength as read").input_value() == "28"
    thumb.fill(Temperature_as_read="24")
    thumb.press("Add the lot")
    thumb.eventually(lambda: house.lot(name), "the lot")
    thumb.page.get_by_role("link", name="low wines 9 of a name").first.click()

    thumb.press("Measure it")
    thumb.fill(Volume="19", Strength_as_read="27.5", Temperature_as_read="20")
    earlier = (datetime.now(UTC) - timedelta(seconds=2)).isoformat()
    path = f"lots/{house.lot(name)['id']}/measures"
    house.send("POST", path, volume_l=19.5, at=earlier)  # by another, meanwhile
    thumb.reads("Read 19.5 L")  # the page follows, and what is typed stays
    thumb.press("Enter what was read")
    thumb.eventually(lambda: abs(house.holds(name) - 19.0) < 1e-9, "the measure")
    thumb.reads("19 L, 27.5 % at 20 °C (alcoholometer for 20 °C)")

    thumb.page.context.set_offline(True)
    thumb.unfold("Something else to do with it")
    thumb.press("Take a sample")
    thumb.fill(Volume="0.5")
    thumb.press("Enter: take a sample")
    thumb.reads("One entry waits for the service.")
    thumb.press("Discard")
    thumb.fill(Volume="2")
    thumb.press("Enter: discard")  # a second one, while the first still waits
    thumb.reads("2 entries wait for the service.")
    thumb.page.context.set_offline(False)
    thumb.eventually(lambda: abs(house.holds(name) - 16.5) < 1e-9, "both sent by themselves")
    thumb.press("Undo")
    thumb.eventually(lambda: abs(house.holds(name) - 18.5) < 1e-9, "the discarding taken back")
    kinds = {one["kind"] for one in house.get("transfers", lot_id=house.lot(name)["id"])}
    assert kinds == {"sample"}

    thumb.press("Charge a still")
    thumb.fill(Volume="10")
    thumb.press("Enter: charge a still")
    thumb.eventually(lambda: abs(house.holds(name) - 8.5) < 1e-9, "the charge")
    thumb.page.locator(".kin").get_by_text("rye 9, spirit run").wait_for()
    assert complaints(thumb.watched) == []
    thumb.fits()


def test_two_jars_are_blended_and_brought_to_strength_with_too_much_water(house, thumb, complaints):
    thumb.open("cellar.html")
    thumb.press("Weigh an empty jar")
    thumb.fill(Number_on_the_jar="1", Mass_of_the_empty_jar="0.412")
    thumb.press("Keep its mass")
    thumb.eventually(lambda: house.get("jar-vessels"), "the tare")
    thumb.reads("1: 0.412 kg")

    thumb.press("Pour jars together")
    thumb.press("Pour them together")
    thumb.reads("No jar is chosen")
    thumb.page.get_by_label("Jar 1: hearts").check()
    thumb.page.get_by_label("Jar 2: hearts").check()
    thumb.unfold("More about it")
    thumb.page.get_by_label("Of jar 2 only").fill("1.5")  # it held one litre
    thumb.fill(Name_of_the_new_lot="hearts 9")
    thumb.press("Pour them together")
    thumb.reads("Jar 2 was not poured")
    thumb.page.get_by_label("Of jar 2 only").fill("")
    thumb.press("Pour them together")
    thumb.eventually(lambda: (house.holds("hearts 9") or 0) > 1.9, "both jars in it")
    assert [one["name"] for one in house.get("lots")].count("hearts 9") == 1

    thumb.page.get_by_role("link", name="hearts 9").first.click()
    thumb.page.locator(".kin").get_by_text("jars").wait_for()
    thumb.press("Correct it")  # the last jar poured
    assert thumb.page.get_by_label("Into which lot").input_value() == house.lot("hearts 9")["id"]
    thumb.press("Leave it")
    thumb.press("Bring it to strength")
    thumb.fill(Strength_wanted="43", **{"Fall in a day, at most": "10"})
    thumb.press("Make the plan")
    thumb.reads("are still to be added")
    assert thumb.page.locator(".steps li").count() == 3
    thumb.press("Water was added")
    thumb.fill(Mass="1.6")
    thumb.press("Enter: add water")
    thumb.reads("weaker than the 43 % wanted")
    assert "strong 9" in thumb.page.locator(".remedy").inner_text()
    assert complaints(thumb.watched) == []
    thumb.fits()
    thumb.press("Put the stronger spirit in")
    thumb.press("Enter: blend")
    thumb.reads("the 43 % wanted are reached")
    assert abs(house.lot("hearts 9")["now"]["abv"] - 43) < 0.1

    [batch] = [one for one in house.get("batches") if one["name"] == "rye 9"]
    thumb.open(f"batches.html?id={batch['id']}")
    thumb.reads("hearts 9, its way to strength")
    thumb.press("Water was added")
    thumb.fill(Mass="0.05")
    thumb.press("Enter: add water")
    thumb.reads("weaker than the 43 % wanted")
    assert complaints(thumb.watched) == []
    thumb.fits()


def test_at_a_desk_another_s_change_is_told_and_a_lock_waits(house, open_page, complaints):
    desk = Thumb(open_page("desk", bypass_csp=True), house)
    known = house.send("PUT", "jar-vessels/7", tare_kg=0.5, volume_l=1, version=0)
    desk.open("cellar.html")
    desk.page.get_by_role("button", name="7: 0.500 kg").click()
    house.send("PUT", "jar-vessels/7", tare_kg=0.52, volume_l=1, version=known["version"])
    desk.fill(Mass_of_the_empty_jar="0.51")
    desk.press("Keep its mass")
    desk.reads("the empty jar’s mass is 0.52 there, 0.51 here")
    desk.press("Mine shall stand")
    desk.eventually(lambda: house.get("jar-vessels/7")["tare_kg"] == 0.51, "mine stands")
    assert complaints(desk.watched) == []

    jar = house.get(f"runs/{house.get('runs')[0]['id']}")["jars"][2]
    desk.open(f"jar.html?id={jar['id']}")
    desk.reads("What jar 3 weighs empty is not known.")
    assert complaints(desk.watched) == []

    pool = house.send("POST", "lots", kind="feints", name="a pool")
    said = {"kind": "receive", "to_lot": pool["id"]}
    came = house.send("POST", "transfers", **said, **STRONG | {"volume_l": 9})
    gone = {"volume_l": 9, "reading_abv": 80, "temperature_c": 20}
    house.send("POST", "transfers", kind="discard", from_lot=pool["id"], **gone)
    house.send("PUT", f"transfers/{came['id']}", **said, version=came["version"], volume_l=5)
    desk.open(f"lot.html?id={pool['id']}")
    desk.reads("What cannot be true")
    assert complaints(desk.watched) == []

    desk.open("stock.html")
    desk.press("Lock a period")
    desk.page.context.set_offline(True)
    desk.fill(Everything_before="2099-01-01T00:00")
    desk.fill(Note="<b>the old year</b>")
    desk.press("Lock it for good")
    desk.reads("One entry waits for the service.")
    assert house.get("stock/locks") == []
    desk.page.context.set_offline(False)
    desk.reads("Locked up to 1 Jan 2099, 00:00")
    desk.press("Put it right")
    assert desk.page.get_by_label("Note", exact=True).input_value() == "<b>the old year</b>"
    desk.fill(Everything_before="2020-01-01T00:00")
    desk.press("Lock it for good")
    desk.eventually(lambda: house.get("stock/locks"), "put right")
    [lock] = house.get("stock/locks")
    assert (lock["until"], lock["note"]) == ("2020-01-01T00:00:00Z", "<b>the old year</b>")
    desk.page.get_by_role("button", name="Put it right").wait_for(state="detached")
    assert desk.page.get_by_role("button", name="Undo").is_hidden()
    assert complaints(desk.watched) == []
