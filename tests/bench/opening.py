"""How a bench opens a page: an empty cache, and nothing else going on.

The moments are the page's own marks. On a machine where the browser shares its cores with the
service, what the tab before left to tidy up, the renderer that a new tab starts, and what the
service catches up after entries would all be taken for the page: so the tab stands empty first,
and the page is asked for when the machine rests.
"""

import time
from pathlib import Path

ARGUMENTS = ["--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu", "--disable-sync"]
SCREENS = {
    "phone": {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True},
    "desk": {"viewport": {"width": 1280, "height": 800}},
}
RESTING = 0.15  # of all cores: a probe read each second and its live page take less
LOOKED_S = 0.25
PATIENCE_S = 120
# Told by the page itself: asking again and again would take from what is measured.
TAKEN = """names => Promise.all(names.map((name) => new Promise((tell) =>
  new PerformanceObserver((seen) => {
    const mark = seen.getEntriesByName(name)[0];
    if (mark) tell(mark.startTime);
  }).observe({ type: "mark", buffered: true }))))"""


def opened(browser, url, screen, marks, prepare=None):
    """Return when a page opened with an empty cache set each mark, in milliseconds.

    `prepare` is called with the empty page before the machine comes to rest.
    """
    context = browser.new_context(**screen)
    page = context.new_page()
    if prepare:
        prepare(page)
    come_to_rest()
    page.goto(url, wait_until="commit")
    took_ms = page.evaluate(TAKEN, list(marks))
    context.close()
    return dict(zip(marks, took_ms, strict=True))


def come_to_rest():
    """Wait until the machine is idle; raise TimeoutError if it stays busy."""
    deadline = time.monotonic() + PATIENCE_S
    while _busy_share() > RESTING:
        if time.monotonic() > deadline:
            raise TimeoutError(
                f"The machine has been busy for {PATIENCE_S} s: end the other programs first."
            )


def _busy_share():
    busy, whole = _ticks()
    time.sleep(LOOKED_S)
    busy_then, whole_then = _ticks()
    return (busy_then - busy) / max(whole_then - whole, 1)


def _ticks():
    numbers = [int(n) for n in Path("/proc/stat").read_text().splitlines()[0].split()[1:]]
    whole = sum(numbers[:8])
    return whole - numbers[3] - numbers[4], whole
