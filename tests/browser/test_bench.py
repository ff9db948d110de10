"""The bench: every calculation answers from its form; finding, giving, reading, sharing."""

from urllib.parse import quote

import httpx
import pytest

from tests.browser.conftest import DESK, PHONE

NO_NUMBER = frozenset({"label-tolerance"})
REFUSED = "status of 422"  # Chromium logs every answer that is not a success


class Bench:
    """The bench page as a visitor uses it."""

    def __init__(self, watched, url) -> None:
        self.watched, self.page, self.url = watched, watched.page, f"{url}bench.html"

    def open(self, address=""):
        self.page.goto("about:blank")
        self.page.goto(self.url + address)
        if address:
            self.page.locator("#sheet h1").wait_for()
        else:
            self.page.locator(".questions summary").first.wait_for()
        return self

    def answered(self, name):
        self.page.locator(f"#sheet[data-answered='{name}']:not(:has([aria-busy]))").wait_for()
        return self

    def drawn(self, name):
        self.page.locator(f".curve[data-drawn='{name}'] .js-line").first.wait_for(state="attached")
        return self

    def field(self, name):
        return self.page.locator(f"#given-{name}")

    def refused(self, name):
        return self.page.locator(f"#error-{name}:visible")

    def value(self, label):
        row = self.page.locator("dl div", has=self.page.get_by_text(label, exact=True))
        return row.locator("dd").inner_text()

    def units(self, name):
        self.page.get_by_role("radio", name=name, exact=True).check()

    @property
    def says(self):
        return self.page.locator("#says").inner_text()

    def eventually_says(self, part):
        self.page.locator("#says", has_text=part).wait_for()

    def eventually(self, condition, says):
        return self.watched.eventually(condition, says)

    @property
    def hash(self):
        return self.watched.evaluate("location.hash")


@pytest.fixture
def bench_on(service, open_page):
    return lambda screen="desk", **options: Bench(open_page(screen, **options), service)


@pytest.fixture
def bench(bench_on):
    return bench_on()


def test_every_calculation_answers_its_example(service, bench):
    """What the form submits is what the declaration gives as example; it fits a phone as well."""
    bench.open()
    with httpx.Client(base_url=f"{service}api/", timeout=10) as asked:
        listed = [one["name"] for one in asked.get("calculations").json()]
        assert len(listed) > 60
        for name in listed:
            declared = asked.get(f"calculations/{name}").json()
            given = {t["name"]: t["example"] for t in declared["takes"] if t["example"] is not None}
            expected = asked.post(f"calculations/{name}", json={"quantities": given}).json()
            submitted(bench, name)
            shown(bench, declared, expected)
            fits_the_other_screen(bench, name)


def fits_the_other_screen(bench, name):
    """See that it stands on the screen it was worked out on, and on the other, which stays."""
    assert bench.watched.overhang_px <= 0, name
    is_wide = bench.page.viewport_size == DESK["viewport"]
    bench.page.set_viewport_size((PHONE if is_wide else DESK)["viewport"])
    assert bench.watched.overhang_px <= 0, name


def submitted(bench, name):
    bench.watched.evaluate("name => { location.hash = name; }", name)
    bench.answered(name)
    bench.watched.evaluate("() => { delete document.querySelector('#sheet').dataset.answered; }")
    bench.page.locator(".given input[type=text]").first.press("Enter")
    bench.answered(name)


def shown(bench, declared, expected):
    name = declared["name"]
    texts = {
        part: bench.page.locator(selector).all_inner_texts()
        for part, selector in {
            "question": "#sheet h1",
            "says": "#says",
            "bold": "#says strong",
            "refused": ".refused:visible",
            "numbers": "dl dd",
            "cautions": ".cautions:visible li",
        }.items()
    }
    assert texts["question"] == [declared["question"]]
    assert " ".join(texts["says"][0].split()) == " ".join(expected["sentence"].split())
    assert texts["bold"] or expected["why"] or name in NO_NUMBER
    assert texts["refused"] == []
    numbers = [g["name"] for g in declared["gives"] if g["decimals"] is not None]
    assert {expected["words"][one] for one in numbers} <= set(texts["numbers"]), name
    assert texts["cautions"] == expected["cautions"]
    fields = bench.watched.evaluate(
        "() => [...document.querySelectorAll('.field')].map((one) => one.dataset.name)"
    )
    assert fields == [t["name"] for t in declared["takes"] if not t["many"]]
    heads = bench.page.locator(".rows th").count()
    assert heads == sum(t["many"] for t in declared["takes"])
    if declared["curve"]:
        bench.drawn(name)


def test_a_refused_quantity_shows_its_sentence_at_its_field_and_keeps_the_rest(bench):
    bench.watched.forgive(REFUSED)
    bench.open("#dilution").answered("dilution")
    bench.field("volume_l").fill("12")
    bench.field("target_abv").fill("140")
    bench.refused("target_abv").wait_for()
    said = bench.refused("target_abv").inner_text()
    assert said == "Strength wanted is 140 % vol; it must lie between 0.5 and 100 % vol."
    assert bench.field("target_abv").get_attribute("aria-invalid") == "true"
    assert "error-target_abv" in bench.field("target_abv").get_attribute("aria-describedby")
    assert "Strength wanted" in bench.says
    assert not bench.page.locator("dl").is_visible()  # no number of before beside what is refused
    assert (bench.field("volume_l").input_value(), bench.field("abv").input_value()) == ("12", "65")
    bench.field("target_abv").fill("40")
    bench.eventually_says("Add 7.729 L of water")
    assert bench.page.locator(".refused:visible").count() == 0
    assert bench.field("target_abv").get_attribute("aria-invalid") is None


def test_what_is_no_number_or_missing_is_said_at_its_field(bench):
    bench.watched.forgive(REFUSED)
    bench.open("#dilution").answered("dilution")
    bench.field("abv").fill("strong")
    bench.refused("abv").wait_for()
    assert bench.refused("abv").inner_text() == "Strength is 'strong'; give a number in % vol."
    bench.field("abv").fill("1,000")
    bench.page.locator("#error-abv", has_text="two ways").wait_for()
    bench.field("abv").fill("")
    bench.page.locator("#error-abv", has_text="Still to be given").wait_for()
    said = "Give the strength and the answer stands here."
    bench.eventually(lambda: bench.says == said, said)
    bench.field("abv").fill("65,5")  # a comma that can be read in one way only
    bench.eventually(lambda: "&abv=65.5&" in bench.hash, "the number in the address")
    bench.answered("dilution")


def test_units_go_there_and_back_without_drifting_and_are_remembered(bench):
    bench.open("#vapour-strength?head_temperature_c=83.37&pressure_hpa=1009.4").drawn(
        "vapour-strength"
    )
    before, address = bench.says, bench.hash
    for _ in range(4):
        bench.units("US")
        bench.page.locator(".curve .x-name", has_text="°F").wait_for()
        assert bench.field("head_temperature_c").input_value() == "182.1"
        assert bench.page.locator("#range-head_temperature_c").inner_text() == "−4 to 230"
        bench.units("Metric")
        bench.page.locator(".curve .x-name", has_text="°C").wait_for()
        assert bench.field("head_temperature_c").input_value() == "83.37"
        assert bench.field("pressure_hpa").input_value() == "1009.4"
    bench.eventually(lambda: (bench.says, bench.hash) == (before, address), "all as it was")
    bench.units("US")
    bench.field("head_temperature_c").fill("183.2")
    bench.page.locator(".read", has_text="183.2 °F").wait_for()
    bench.eventually(lambda: "head_temperature_c=84&" in bench.hash, "metric in the address")
    bench.page.reload()
    bench.answered("vapour-strength")
    assert bench.page.get_by_role("radio", name="US", exact=True).is_checked()
    assert bench.field("head_temperature_c").input_value() == "183.2"


def test_an_address_opens_with_its_answer_worked_out(service, bench):
    bench.open("#blend?jar_volume_l=2,3&jar_abv=70,60").answered("blend")
    quantities = {"jar_volume_l": [2, 3], "jar_abv": [70, 60]}
    asked = httpx.post(f"{service}api/calculations/blend", json={"quantities": quantities})
    assert bench.says == asked.json()["sentence"]
    assert bench.hash == "#blend?jar_volume_l=2,3&jar_abv=70,60"
    bench.page.get_by_role("button", name="Address of this answer").click()
    shown = bench.page.get_by_label("Address of this answer").locator("visible=true").last
    assert shown.input_value().endswith(bench.hash)


def test_an_unknown_name_or_key_in_an_address_is_said_in_one_sentence(bench):
    bench.page.goto(f"{bench.url}#{quote('dilutoin')}?abv=1")
    bench.page.locator("#notice", has_text="no calculation called “dilutoin”").wait_for()
    assert bench.page.locator(".questions a").first.is_visible()
    bench.open("#plato?sg=1.05&colour=red").answered("plato")
    notice = bench.page.locator("#sheet .notice").inner_text()
    assert "“colour”" in notice
    assert "12.39 °P" in bench.says  # Plato of 1.050: the ASBC polynomial, as its table prints


def test_a_question_is_found_by_keys_alone(bench):
    bench.open()
    bench.page.keyboard.press("/")
    bench.page.keyboard.type("head temp")
    assert "comes over" in bench.page.locator(".questions a").first.inner_text()
    bench.page.keyboard.press("ArrowDown")
    bench.page.keyboard.press("Enter")
    bench.answered("vapour-strength")
    assert bench.watched.evaluate("document.activeElement.tagName") == "H1"
    bench.page.keyboard.press("/")
    bench.page.keyboard.type("bottles")
    assert not bench.page.locator("#sheet").is_visible()
    bench.page.keyboard.press("Escape")
    assert bench.page.locator("#sheet").is_visible()
    bench.page.keyboard.type("how many bottles")
    bench.page.keyboard.press("Enter")
    bench.answered("bottles")
    bench.page.go_back()
    bench.answered("vapour-strength")
    bench.page.get_by_role("link", name="All questions").click()
    lately = bench.page.locator("details", has_text="Asked lately").locator("a")
    assert "bottles" in " ".join(lately.all_inner_texts())
    bench.page.keyboard.press("/")
    bench.page.keyboard.type("zebra")
    bench.page.locator("#ask-count", has_text="No question has these words").wait_for()


def test_subjects_open_at_a_press_on_a_phone(bench_on):
    bench = bench_on("phone").open()
    assert bench.page.locator(".questions a:visible").count() == 0
    bench.page.get_by_text("Hazards").tap()
    bench.page.get_by_role("link", name="If the condenser fails").tap()
    bench.answered("vapour-escape").drawn("vapour-escape")
    slip = bench.page.locator(".slip")
    bench.page.locator(".source").scroll_into_view_if_needed()
    slip.wait_for()
    assert "4.6 min" in slip.inner_text()
    slip.tap()
    slip.wait_for(state="hidden")


def test_rows_are_added_and_removed(bench):
    bench.open("#blend?jar_volume_l=1,1&jar_abv=70,60").answered("blend")
    bench.page.get_by_role("button", name="Add a row").click()
    bench.page.get_by_label("Volume of each jar, row 3").fill("2")
    bench.page.get_by_label("Strength of each jar, row 3").fill("50")
    bench.eventually_says("Together 3.9")
    rows = "jar_volume_l=1,1,2&jar_abv=70,60,50"
    bench.eventually(lambda: bench.hash.endswith(rows), rows)
    bench.page.get_by_role("button", name="Remove row 1").click()
    bench.eventually_says("Together 2.9")
    fewer = "jar_volume_l=1,2&jar_abv=60,50"
    bench.eventually(lambda: bench.hash.endswith(fewer), fewer)
    bench.page.get_by_role("button", name="Remove row 2").click()
    bench.eventually_says("Together 1.000 L of 60.00 % vol")
    assert not bench.page.get_by_role("button", name="Remove row 1").is_visible()


def test_a_half_filled_row_is_refused_at_the_rows(bench):
    bench.watched.forgive(REFUSED)
    bench.open("#blend?jar_volume_l=1,1&jar_abv=70,60").answered("blend")
    bench.page.get_by_label("Strength of each jar, row 2").fill("160")
    bench.page.locator("#error-rows", has_text="160 % vol").wait_for()
    bench.page.get_by_label("Strength of each jar, row 2").fill("60")
    bench.eventually_says("Together")
    assert not bench.page.locator("#error-rows").is_visible()


def test_the_curve_is_read_by_keys_and_as_a_table(bench):
    bench.open("#vapour-strength").drawn("vapour-strength")
    read = bench.page.locator(".read")
    said = "At 84.0 °C · Strength 79.0 % vol"
    bench.eventually(lambda: read.inner_text().startswith(said), said)
    bench.eventually(lambda: bench.page.locator(".over circle.now").count() == 1, "its point")
    hand = bench.page.get_by_role("slider", name="Read the curve at")
    hand.focus()
    bench.page.keyboard.press("ArrowRight")
    bench.eventually(lambda: bench.page.locator(".over circle.hair").count() == 1, "the hair")
    bench.eventually(lambda: not read.inner_text().startswith("At 84.0 °C"), "the next reading")
    assert hand.get_attribute("aria-valuetext") == read.text_content()
    bench.page.get_by_role("button", name="Table", exact=True).click()
    table = bench.page.get_by_role("region", name="Strength of vapour").get_by_role("table")
    heads = table.get_by_role("columnheader").all_inner_texts()
    assert heads[:2] == ["Head temperature, °C", "Strength, % vol"]
    assert table.get_by_role("row").count() > 20
    assert not bench.page.locator(".chart").is_visible()


def test_where_it_cannot_tell_the_reason_is_the_answer(bench):
    bench.open("#vapour-strength?head_temperature_c=70&pressure_hpa=1013")
    bench.answered("vapour-strength")
    assert bench.says.startswith("Cooler than any vapour of ethanol and water")
    assert bench.value("Strength") == "cannot tell"
    assert bench.page.locator("dt", has_text="Why").count() == 0
    assert bench.page.locator(".refused:visible").count() == 0


def test_the_source_and_the_model_are_one_press_away(service, bench_on):
    bench = bench_on("phone").open("#flash-point").answered("flash-point")
    assert bench.page.locator(".cautions li").first.is_visible()
    bench.page.get_by_text("Model, source and ranges").tap()
    shown = bench.page.locator(".source").inner_text()
    declared = httpx.get(f"{service}api/calculations/flash-point").json()
    assert declared["source"] in shown
    assert declared["notes"] in shown
    assert "Strength, % vol: 10 to 100" in shown


def test_the_pressure_the_still_is_under_is_put_in_at_a_press(service, bench):
    bench.open("#boiling-point").answered("boiling-point")
    bench.page.get_by_role("button", name="Use the altitude: about 1013.2 hPa").click()
    pressure = httpx.get(f"{service}api/pressure").json()["pressure_hpa"]
    given = float(bench.field("pressure_hpa").input_value())
    assert given == pytest.approx(pressure, abs=0.05)
    bench.watched.eventually(lambda: f"pressure_hpa={given:g}" in bench.hash, "in the address")


def test_a_silent_service_is_said_and_the_answer_comes_by_itself(bench):
    bench.watched.forgive("ERR_FAILED", "Failed to load resource")
    bench.open("#plato").answered("plato")
    bench.page.route("**/api/calculations/plato", lambda route: route.abort())
    bench.field("sg").fill("1.06")
    bench.eventually_says("does not answer")
    bench.page.unroute("**/api/calculations/plato")
    bench.eventually_says("14.7")


def test_the_chart_library_missing_leaves_the_table(bench):
    bench.watched.forgive("ERR_FAILED", "Failed to load resource")
    bench.page.route("**/plotly-basic.min.js", lambda route: route.abort())
    bench.open("#flash-point").answered("flash-point")
    bench.page.get_by_role("region", name="Flash point").get_by_role("table").wait_for()


def test_print_leaves_what_belongs_on_paper(bench_on):
    bench = bench_on(color_scheme="dark")
    bench.open("#vapour-strength").drawn("vapour-strength")
    bench.page.emulate_media(media="print")
    bench.watched.evaluate("() => { dispatchEvent(new Event('beforeprint')); }")
    for gone in ("#ask", ".after", "#header nav", ".read"):
        assert not bench.page.locator(gone).is_visible(), gone
    for kept in ("#sheet h1", "#says", ".given", ".cautions", "dl", ".chart", ".source p"):
        assert bench.page.locator(kept).first.is_visible(), kept
    paper = bench.watched.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert paper == "rgb(255, 255, 255)"
    canvas = bench.page.locator(".curve .main-svg").first
    bench.watched.eventually(lambda: canvas.bounding_box()["width"] < 690, "as wide as the paper")
    bench.watched.evaluate("() => { dispatchEvent(new Event('afterprint')); }")
    assert bench.watched.evaluate("document.documentElement.dataset.theme") == "dark"
