"""Real Chromium before the real service, on a simulated bus.

Every page that a test opens is watched: an error on its console, a script error, or a request
that leaves the machine fails the test. What a test provokes itself it may `forgive`.
"""

import re
import shutil
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

import httpx
import pytest
from playwright.sync_api import sync_playwright

from logger.bus import control
from tests.asking import PLAIN
from tests.demonstration import Shared

# What is given last counts, so this stands for Playwright's own list and holds what matters of it.
WITHOUT = (
    "AimEnabled",
    "AvoidCorsURLLoaderRestartOnRedirect",
    "AvoidUnnecessaryBeforeUnloadCheckSync",
    "DestroyProfileOnBrowserClose",
    "HttpsFirstBalancedModeAutoEnable",
    "HttpsUpgrades",
    "LensOverlay",
    "MediaRouter",
    "NetworkTimeServiceQuerying",
    "OptimizationHints",
    "PaintHolding",
    "PreconnectToSearch",
    "ThirdPartyStoragePartitioning",
    # The window's own parts, which nobody sees: pages of their own, made anew for each context,
    # that cost more than most of ours.
    "SpareRendererForSitePerProcess",
    "WebUIOmniboxAimPopup",
    "WebUIOmniboxPopup",
)
ARGUMENTS = [
    "--no-sandbox",
    "--disable-dev-shm-usage",
    "--disable-gpu",
    "--no-first-run",
    "--disable-sync",
    "--disable-background-networking",
    "--disable-component-update",
    f"--disable-features={','.join(WITHOUT)}",
]
# What it finds in order, which is most, is neither worked out in full nor sent over.
COMPLAINTS = """async () => {
  const { violations } = await window.axe.run(document, { resultTypes: ["violations"] });
  const said = ({ id, nodes }) => nodes.map((one) => `${id}: ${one.html.slice(0, 160)}`);
  return violations.flatMap(said);
}"""
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
DESK = {"viewport": {"width": 1280, "height": 800}}
SCREENS = {"phone": PHONE, "desk": DESK}
THEMES = ("light", "dark")


def pytest_collection_modifyitems(items):
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)
            # A screen on a loaded machine may lag by more than a test allows for: it gets one more
            # try, which the closing line counts. A fault of ours fails both.
            item.add_marker(pytest.mark.flaky(reruns=1))


@dataclass
class Demo:
    """The demonstration: a simulated still, logged and served, with some hours behind it."""

    url: str
    bus: Path
    asked: set[str] = field(default_factory=set)

    def probe(self, name):
        return self.live()[name]["probe_id"]

    def fault(self, name, fault):
        probe_id = self.probe(name)
        self.asked.add(probe_id)
        control.ask(self.bus, probe_id, fault)

    def heal(self):
        while self.asked:
            control.ask(self.bus, self.asked.pop(), None)

    def get(self, path, **query):
        return httpx.get(f"{self.url}api/{path}", params=query, timeout=10, verify=PLAIN).json()

    def live(self):
        """Return the temperatures that are read now, by the name the page gives them."""
        read = [one for one in self.get("live")["places"] if one["quantity"] == "temperature_c"]
        places = [one["place"] for one in read]
        return {
            one["vessel"]
            if one["vessel"] and places.count(one["place"]) > 1
            else one["place"].replace("_", " "): one
            for one in read
        }


class SharedChromium:
    """The browser of this room: starting one, and what drives it, costs as much as some tests.

    It ends with the room: its loop runs in this thread, where others may run loops of their own.
    """

    def __init__(self) -> None:
        self.held = ExitStack()
        self.browser = None

    def up(self):
        if self.browser is None:
            found = shutil.which("chromium")
            assert found, "Chromium is missing; run sh deploy/test.sh, which installs it"
            playwright = self.held.enter_context(sync_playwright())
            self.browser = playwright.chromium.launch(executable_path=found, args=ARGUMENTS)
            self.held.callback(self.browser.close)
        return self.browser

    def end(self):
        self.browser = None
        self.held.close()


CHROMIUM = SharedChromium()
SERVICE = Shared("serve", re.compile(r"(http://\S+)"))


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item, nextitem):
    """End what the room shares after its last test, and that one's second try."""
    done = yield
    if nextitem is None or Path(__file__).parent not in nextitem.path.parents:
        end_shared()
    return done


def pytest_sessionfinish():
    """End what is left where the tests are broken off."""
    end_shared()


def end_shared():
    for shared in (CHROMIUM, SERVICE):
        shared.end()


@pytest.fixture(scope="module")
def chromium():
    return CHROMIUM.up()


@pytest.fixture(scope="module")
def service(tmp_path_factory):
    """The address of a service on an empty store, for pages that need no probe."""
    return SERVICE.up(tmp_path_factory.mktemp).address + "/"


@pytest.fixture
def demo(demonstration):
    demo = Demo(demonstration.address, demonstration.data / "bus" / "w1")
    yield demo
    demo.heal()


@dataclass
class Watched:
    """A page and what it complained of."""

    page: object
    until: object
    troubles: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)
    forgiven: list[str] = field(default_factory=list)

    def forgive(self, *patterns):
        self.forgiven += patterns

    def check(self):
        unforgiven = [
            said
            for said in self.troubles
            if not any(re.search(pattern, said) for pattern in self.forgiven)
        ]
        assert not unforgiven
        outside = {
            url for url in self.requests if urlsplit(url).hostname not in {"127.0.0.1", None, ""}
        }
        assert not outside

    def show(self, url):
        self.page.goto(url)
        self.page.locator("#sheet .labels li, .rail .none:visible").first.wait_for()
        return self

    def drawn(self):
        self.page.locator(".js-line").first.wait_for(state="attached")
        return self

    def lit(self, theme):
        """Turn the system's theme, and wait until the page has followed."""
        self.page.emulate_media(color_scheme=theme)
        self.page.locator(f"html[data-theme={theme}]").wait_for(state="attached")
        return self

    def label(self, name):
        names = self.page.locator(".name").get_by_text(name, exact=True)
        return self.page.locator(".label", has=names)

    def shown(self, name):
        return self.label(name).locator(".value").inner_text()

    def eventually(self, condition, says, within_s=30):
        """Wait on a condition; Playwright's own events are handled meanwhile."""

        def pause(seconds):
            self.page.wait_for_timeout(1000 * seconds)

        pause(0.02)
        return self.until(condition, within_s=within_s, says=says, pause=pause)

    def evaluate(self, script, argument=None):
        return self.page.evaluate(script, argument)

    @property
    def overhang_px(self):
        """How far a page runs off its screen: a phone's innerWidth grows with what it shows."""
        wide_px = self.evaluate("document.documentElement.scrollWidth")
        return wide_px - self.page.viewport_size["width"]

    @property
    def view(self):
        hand = self.page.locator(".hand")
        return {
            "from_ms": int(hand.get_attribute("data-from")),
            "span_ms": int(hand.get_attribute("data-span")),
            "following": hand.get_attribute("data-following") == "true",
        }


@pytest.fixture
def open_page(chromium, until):
    """Open pages: `open_page("phone", color_scheme="dark").show(demo.url)`."""
    contexts, opened = [], []

    def opener(screen, **options):
        context = chromium.new_context(**SCREENS[screen], **options)
        page = context.new_page()
        watched = Watched(page, until)
        page.on("console", lambda m: m.type == "error" and watched.troubles.append(m.text))
        page.on("pageerror", lambda error: watched.troubles.append(str(error)))
        page.on("request", lambda request: watched.requests.append(request.url))
        contexts.append(context)
        opened.append(watched)
        return watched

    yield opener
    for context in contexts:
        context.close()
    for watched in opened:
        watched.check()


@pytest.fixture(params=list(SCREENS))
def screen(request):
    return request.param


@pytest.fixture
def complaints():
    """Say what axe-core finds wrong with a page opened past its own policy."""
    axe = Path(__file__).parents[1] / "web/node_modules/axe-core/axe.min.js"
    assert axe.is_file(), "axe-core is missing; run sh deploy/test.sh, which installs it"

    def found(watched):
        if not watched.evaluate("() => Boolean(window.axe)"):
            watched.evaluate("source => { (0, eval)(source); }", axe.read_text())
        return watched.evaluate(COMPLAINTS)

    return found
