"""What the temperatures mean, on the live page: said plainly; a tap away, what it rests on."""

import re

# A scan that is heard comes after everything that the opening of the line sets off.
LISTENED = """window.EventSource = class extends EventSource {
  constructor(...words) {
    super(...words);
    this.addEventListener("scan", () => (window.heard = true));
  }
}"""


def test_they_are_asked_for_once_as_the_line_opens(demo, open_page):
    watched = open_page("phone")
    watched.page.add_init_script(LISTENED)
    watched.page.goto(demo.url)
    watched.page.locator("#estimates li").first.wait_for()
    watched.evaluate("() => (window.heard = false)")
    watched.eventually(lambda: watched.evaluate("window.heard"), "a scan to be heard")
    assert sum(one.endswith("/api/estimates") for one in watched.requests) == 1


def test_a_run_is_told_in_a_sentence_and_what_it_rests_on_is_a_tap_away(demo, open_page):
    watched = open_page("phone").show(demo.url).drawn()
    page = watched.page
    said = page.locator("#estimates li", has_text="spirit run")
    said.wait_for()
    [still] = [one for one in demo.get("estimates")["vessels"] if one["kind"] == "still"]
    told = {one["quantity"]: one for one in still["estimates"]}
    assert told["pot_abv"]["value"] is not None, told["pot_abv"]
    watched.eventually(
        lambda: re.search(r"[Pp]ot [\d.]+.%.vol", said.inner_text()), "the strength in the pot"
    )
    assert "may be" in said.inner_text() or "about" in said.inner_text()
    assert watched.overhang_px <= 0
    said.get_by_role("button").click()
    sheet = page.locator("dialog.estimates")
    rows = sheet.locator(".quantities > div")
    watched.eventually(lambda: rows.count() >= len(told), "a row for every quantity")
    watched.eventually(lambda: "asking" not in sheet.inner_text().lower(), "what it rests on")
    for row in rows.all():
        value, band = (row.locator(one).inner_text() for one in ("b", "dd span"))
        assert value
        assert band or "to" not in value
    assert sheet.get_by_role("heading", name="What would narrow it").count() == 1
    abv, warmth = sheet.locator("form.read input").all()
    abv.fill("eighty")
    warmth.fill("20")
    sheet.get_by_role("button", name="Keep the reading").click()
    assert "both as numbers" in sheet.locator("form.read .said").inner_text()
    end = sheet.locator("form.end input").first
    end.fill("150")
    sheet.get_by_role("button", name="Keep this end").click()
    assert "above 0 and below 100" in sheet.locator("form.end .said").inner_text()
    sheet.get_by_role("button", name="Done").click()
    assert not sheet.is_visible()

    chart = page.get_by_role("button", name="Strengths on the chart")
    chart.click()
    assert chart.get_attribute("aria-pressed") == "true"
    names = page.locator(".strength-names span")
    watched.eventually(lambda: names.count() >= 3, "the strengths with their names")
    assert re.search(r"in the pot \d+ %", " ".join(names.all_inner_texts()))
    chart.click()
    watched.eventually(lambda: not names.first.is_visible(), "no strengths")
