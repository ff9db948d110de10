"""The record under the thumb: marks and jars in few taps, without a network, by any name.

The service is the real one on a store without probes. A phone comes to it on the machine itself,
and signed in by the name `still.lan`, where browsers withhold service workers.
"""

import re

import pytest

from tests.browser.conftest import ARGUMENTS
from tests.browser.record_hand import Hand, Stillhouse, hand_at, mend_after_the_end, offer_power

NAMES = ("127.0.0.1", "still.lan")


@pytest.fixture(scope="module")
def house(tmp_path_factory, start_for_file, port_for_file):
    data = tmp_path_factory.mktemp("record") / "data"
    words = ["serve", "--data", data, "--port", port_for_file, "--host", "0.0.0.0"]
    service = start_for_file(*words)
    service.says("Wormtub is at")
    made = Stillhouse(f"http://127.0.0.1:{port_for_file}/", data)
    made.vessel_id = made.send("POST", "vessels", name="still 1", kind="still", volume_l=100)["id"]
    yield made
    assert service.stop() == 0, service.text


@pytest.fixture(scope="module")
def phones(chromium):
    """A browser that finds the service by another name too."""
    rules = "--host-resolver-rules=MAP still.lan 127.0.0.1"
    browser = chromium.browser_type.launch(
        executable_path=chromium_path(), args=[*ARGUMENTS, rules]
    )
    yield browser
    browser.close()


def chromium_path():
    import shutil  # noqa: PLC0415

    return shutil.which("chromium")


@pytest.mark.parametrize("name", NAMES)
def test_a_mark_in_one_tap_undone_in_one_a_jar_in_two_with_a_network_or_without(
    house, phones, until, name
):
    run = house.run()
    with hand_at(house, phones, until, name) as hand:
        hand.open().recording()
        hand.tap("First drop")
        hand.eventually(lambda: house.kinds(run) == ["first_drop"], "the mark")
        hand.tap("Undo")
        hand.eventually(lambda: house.kinds(run) == [], "the mark undone")
        assert hand.taps == 2
        hand.tap("First drop")
        hand.tap("Next jar, 1")
        hand.eventually(lambda: len(house.jars(run)) == 1, "the first jar")

        hand.taps = 0
        hand.context.set_offline(True)
        hand.tap("Next jar, 2")
        hand.page.get_by_label("Volume, L").fill("0.45")
        hand.page.get_by_label("Read, %").fill("71.5")
        hand.page.get_by_label("at, °C").fill("18")
        hand.tap("Keep both")
        hand.tap("End of foreshots")
        hand.tap("Hearts from here")
        hand.tap("Undo")
        assert hand.taps == 5
        hand.eventually(lambda: "3 entries wait" in hand.page.locator("#record").inner_text(), "3")
        assert hand.page.locator(".marking[data-waiting]").count() == 1
        assert house.kinds(run) == ["first_drop"]

        hand.page.close()  # with all of it still waiting
        hand.context.set_offline(False)
        hand.open().recording()
        hand.eventually(lambda: house.kinds(run) == ["first_drop", "foreshots_end"], "all sent")
        first, second = hand.eventually(lambda: closed(house.jars(run)), "both jars")
        assert (first["volume_l"], first["reading_abv"], first["temperature_c"]) == (0.45, 71.5, 18)
        assert (first["ended_at"], second["ended_at"]) == (second["began_at"], None)
        hand.eventually(lambda: hand.page.locator(".waiting").is_hidden(), "nothing waits")
        says = "What this page can do here"
        withheld = hand.page.get_by_text(says).is_visible()
        assert withheld == (name != "127.0.0.1")
        if withheld:
            hand.page.get_by_text(says).tap()
            assert hand.page.get_by_text("cannot be opened anew without the network").is_visible()


def closed(jars):
    return jars if len(jars) == 2 and jars[0]["volume_l"] is not None else None


def test_an_answer_that_is_lost_makes_nothing_twice(house, phones, until):
    run = house.run()
    lost = []

    def lose(route):
        """The service takes it; the phone never hears so."""
        route.fetch()
        lost.append(route.request.method)
        route.abort()

    with hand_at(house, phones, until, NAMES[0]) as hand:
        hand.open().recording()
        hand.page.route("**/api/runs/*/marks", lose, times=1)
        hand.tap("First drop")
        hand.eventually(lambda: lost == ["POST"], "the answer lost")
        hand.eventually(lambda: hand.page.locator(".waiting").is_visible(), "it waits")
        hand.eventually(lambda: hand.page.locator(".waiting").is_hidden(), "it was sent again")
        assert house.kinds(run) == ["first_drop"]
        other = Hand(hand.context, hand.url, until).open().recording()  # a second tab
        hand.page.route("**/api/runs/*/jars", lose, times=1)
        hand.tap("Next jar")
        other.tap("End of foreshots")
        hand.eventually(lambda: len(house.jars(run)) == 1, "the jar")
        hand.eventually(lambda: hand.page.locator(".waiting").is_hidden(), "all sent")
        assert len(house.jars(run)) == 1
        assert house.kinds(run) == ["first_drop", "foreshots_end"]


def test_what_another_changed_is_told_and_what_was_refused_is_kept(house, phones, until):
    run = house.run()
    with hand_at(house, phones, until, NAMES[0]) as hand:
        hand.open().recording()
        hand.tap("First drop")
        hand.eventually(lambda: house.kinds(run) == ["first_drop"], "the mark")
        [mark] = house.get(f"runs/{run}")["marks"]
        hand.eventually(lambda: hand.page.locator(".marking").count() == 1, "the line")
        hand.page.locator(".marking button").dispatch_event("click")
        house.send("PUT", f"marks/{mark['id']}", kind="first_drop", text="theirs", version=1)
        hand.page.locator("#mark-text").fill("<b>mine</b>")
        hand.tap("Save the mark")
        met = hand.page.locator(".waiting li")
        met.wait_for()
        assert "the note is theirs there, <b>mine</b> here" in met.inner_text()
        assert house.get(f"marks/{mark['id']}")["text"] == "theirs"
        hand.tap("Mine shall stand")
        hand.eventually(
            lambda: house.get(f"marks/{mark['id']}")["text"] == "<b>mine</b>", "mine stands"
        )
        assert hand.page.locator(".markings b").count() == 0  # markup stays text

        hand.tap("Power")
        hand.page.locator("#mark-power").fill("about two")
        hand.tap("Place the mark")
        met.wait_for()
        assert "Not taken" in met.inner_text()
        hand.tap("Put it right")
        hand.page.locator("#mark-power").fill("1,8")
        hand.tap("Save the mark")
        hand.eventually(lambda: "power" in house.kinds(run), "the mended mark")
        power = house.get(f"runs/{run}")["marks"][-1]
        assert power["power_kw"] == 1.8

        mend_after_the_end(hand, house, run)
        run = house.run()
        hand.recording()

        offer_power(hand, house, run)
        with hand.page.expect_response(lambda one: one.request.method == "POST") as told:
            hand.tap("Not so")
        refused = told.value.json()  # it is kept as refused, and never stands
        assert (refused["source"], refused["withdrawn"], refused["version"]) == ("refused", True, 1)
        assert "Not so: Power changed" in hand.page.locator("#record .last").inner_text()
        hand.tap("Undo")
        hand.eventually(lambda: proposed(house, run), "what was refused, kept after all")
        offer_power(hand, house, run)
        hand.tap("Keep it")
        hand.eventually(lambda: proposed(house, run) == 2, "the mark that was proposed")


def proposed(house, run):
    return [one["source"] for one in house.get(f"runs/{run}")["marks"]].count("proposal")


def test_the_page_opens_without_a_network_and_takes_entries(house, phones, until):
    run = house.run()
    with hand_at(house, phones, until, NAMES[0]) as hand:
        hand.open().recording()
        register = "navigator.serviceWorker.register('worker.js').then(() => navigator"
        hand.page.evaluate(f"{register}.serviceWorker.ready).then(() => true)")
        hand.page.reload()  # by way of the worker, so that it knows what stands
        hand.recording()
        hand.context.set_offline(True)
        hand.page.reload()
        hand.recording()
        assert "has not answered" in hand.page.locator("h1").inner_text()
        assert "as last known" in hand.page.locator("#record").inner_text()
        hand.tap("First drop")
        hand.eventually(lambda: hand.page.locator(".waiting").is_visible(), "it waits")
        hand.context.set_offline(False)
        hand.eventually(lambda: house.kinds(run) == ["first_drop"], "sent by itself")
        kept = hand.page.evaluate(
            "caches.open('wormtub-last-known').then((c) => c.keys())"
            ".then((all) => all.map(({ url }) => new URL(url).pathname))"
        )
        assert kept
        assert not [one for one in kept if re.search("people|doors|alarms|events", one)]


def test_jars_are_classed_the_next_day_and_have_a_page(house, phones, until):
    run = house.run()
    jar = house.send("POST", f"runs/{run}/jars", number=1, volume_l=0.5)
    with hand_at(house, phones, until, NAMES[0]) as hand:
        hand.open("cellar.html")
        only_here = "Codes printed here lead to this machine only"
        hand.page.get_by_text(only_here).first.wait_for()
        hand.page.locator(f"#jar-{jar['id']}").tap()
        hand.tap("heads")
        hand.eventually(lambda: house.jars(run)[0]["cut"] == "heads", "its class")
        hand.tap("Undo")
        hand.eventually(lambda: house.jars(run)[0]["cut"] is None, "undone")
        hand.tap("hearts")
        hand.page.get_by_label("Smell and taste").fill("green apple, bread")
        another = house.send("POST", f"runs/{run}/jars", number=2, volume_l=0.5)  # meanwhile
        hand.page.locator(f"#jar-{another['id']}").wait_for()  # the page follows, the words stay
        hand.tap("Keep what was tasted")
        hand.eventually(lambda: house.jars(run)[0]["smell"] == ["green apple", "bread"], "words")
        hand.open(f"jar.html?id={jar['id']}")
        hand.page.locator("h1").get_by_text("hearts").wait_for()
        said = hand.page.locator("#main").inner_text()
        assert "Used before: green apple, bread" in said
        assert only_here in said


def test_a_stage_s_entry_is_refused_at_its_field_and_waits_without_a_network(house, phones, until):
    house.run()
    [batch] = house.get("batches")
    with hand_at(house, phones, until, NAMES[0]) as hand:
        hand.open(f"batches.html?id={batch['id']}")
        hand.tap("Gravity")
        hand.page.get_by_label("Gravity as read").fill("1.052")
        hand.tap("Enter the gravity")
        trouble = hand.page.locator("#enter-gravity-temperature_c-trouble")
        hand.eventually(lambda: trouble.inner_text() != "", "the sentence at its field")
        assert hand.page.get_by_label("Gravity as read").input_value() == "1.052"
        hand.context.set_offline(True)
        hand.page.get_by_label("Temperature", exact=True).fill("24")
        hand.tap("Enter the gravity")
        hand.page.get_by_text("waits for the service", exact=True).wait_for()
        hand.context.set_offline(False)
        hand.eventually(lambda: house.get("entries"), "sent by itself")
        [entry] = house.get("entries")
        assert (entry["reading_sg"], entry["temperature_c"]) == (1.052, 24)
        sg = f"{entry['sg']:.4f}"
        hand.page.locator(".story .value").get_by_text(sg).wait_for()


WIDEST = ("10.25", "82.5", "\u221210.5")  # of a jar's steppers


def test_the_keys_of_a_laptop(house, open_page):
    run = house.run()
    watched = open_page("desk")
    watched.page.goto(house.url)
    watched.page.locator("#record .big button:visible").first.wait_for()
    assert "Keys: Space" in watched.page.locator("#record .keys").inner_text()
    watched.page.get_by_text("Before the heat goes on:").click()
    watched.page.locator(".checklist button").first.click()
    watched.eventually(lambda: house.ticked(run), "a line of the list ticked")
    watched.page.locator("h1").click()  # the focus leaves the list
    for key, kinds in (
        (" ", ["first_drop"]),
        ("h", ["first_drop", "hearts"]),
        ("u", ["first_drop"]),
    ):
        watched.page.keyboard.press(key)
        watched.eventually(lambda kinds=kinds: house.kinds(run) == kinds, f"{key!r}")
    watched.page.keyboard.press("Enter")
    watched.eventually(lambda: len(house.jars(run)) == 1, "a jar by Enter")
    watched.page.get_by_role("button", name="Measure a jar").click()
    for field, widest in zip(watched.page.locator(".stepper input").all(), WIDEST, strict=True):
        field.fill(widest)
        assert field.evaluate("e => e.scrollWidth <= e.clientWidth"), f"{widest} is cut"


@pytest.mark.parametrize("screen", ["phone", "desk"])
def test_nothing_is_to_be_complained_of(house, open_page, complaints, screen):
    run = house.run()
    house.send("POST", f"runs/{run}/marks", kind="first_drop")
    jar = house.send("POST", f"runs/{run}/jars", number=1, volume_l=0.5)
    watched = open_page(
        screen, color_scheme="dark" if screen == "phone" else "light", bypass_csp=True
    )
    page = watched.page
    page.goto(house.url)
    page.locator("#record .big button:visible").first.wait_for()
    assert complaints(watched) == []
    page.get_by_role("button", name="Note", exact=True).click()
    page.locator(".sheetlet").wait_for()
    assert complaints(watched) == []
    assert watched.overhang_px <= 0
    page.goto(f"{house.url}cellar.html")
    page.locator(f"#jar-{jar['id']}").click()
    page.locator(".card").wait_for()
    assert complaints(watched) == []
    assert watched.overhang_px <= 0
    [batch] = house.get("batches")
    for path in ("batches.html", f"batches.html?id={batch['id']}", "stock.html"):
        page.goto(f"{house.url}{path}")
        page.locator("#main .wire, #main table").first.wait_for()
        assert complaints(watched) == [], path
        assert watched.overhang_px <= 0, path
