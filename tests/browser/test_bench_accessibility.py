"""axe-core finds nothing to complain of on the bench, in both themes, on phone and desk."""

from tests.browser.conftest import THEMES

WAITS = {
    "": ".questions summary",
    "#vapour-strength": ".curve[data-drawn]",
    "#grist": "#sheet[data-answered]",
    "#dilution?volume_l=10&abv=65&target_abv=140": "#error-target_abv:visible",
}


def test_the_bench_is_clean(service, open_page, complaints, screen):
    # The page's own policy forbids eval; the checker is brought in past it.
    watched = open_page(screen, bypass_csp=True)
    watched.forgive("status of 422")
    for address, wait in WAITS.items():
        watched.page.goto("about:blank")
        watched.page.goto(f"{service}bench.html{address}")
        watched.page.locator(wait).first.wait_for()
        if address:
            watched.page.get_by_text("Model, source and ranges").click()
        for theme in THEMES:
            watched.page.emulate_media(color_scheme=theme)
            assert complaints(watched) == [], (address, theme)
