"""The time from opening the live page to its first chart, in headless Chromium.

    python tests/bench/page_first_chart.py [TIMES]

The real `wormtub demo` with six hours behind it, opened as `opening` tells. The moment is the
page's own mark, set when the lines are drawn. The peer, in the same run: a bare page that does
nothing but load the same plotly.js, fetch the same history and draw it as plain lines. Bar: 0.8 s.
"""

import os
import re
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from opening import ARGUMENTS, SCREENS, opened
from playwright.sync_api import sync_playwright

ROOT = Path(__file__).parents[2]
MARK = "first chart"
BARE = """<!doctype html><title>peer</title><div id="chart" style="height:500px"></div>
<script src="/vendor/plotly-basic.min.js"></script>
<script>
const to = Date.now() - 2000;
fetch(`/api/history?from_ms=${to - 6 * 3600000}&to_ms=${to}&buckets=600`).then((r) => r.json())
  .then(({ traces }) => Plotly.newPlot("chart", traces.flatMap(({ segments }) => segments.map(
    ({ t0_ms, dt_ms, lo, counts_per_unit }) => ({
      x: lo.map((_, i) => t0_ms + i * dt_ms), y: lo.map((c) => c / counts_per_unit),
    })))))
  .then(() => performance.mark("first chart"));
</script>"""


def first_chart_ms(browser, url, screen, prepare=None):
    return opened(browser, url, screen, (MARK,), prepare)[MARK]


def lend_bare(page):
    """Let the peer be served; ours is opened without it, since each request asks such a route."""
    page.route("**/bare", lambda route: route.fulfill(content_type="text/html", body=BARE))


def measure(url, times):
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=ARGUMENTS
        )
        print(f"{browser.version}; load of the machine before: {os.getloadavg()[0]:.2f}")
        first_chart_ms(browser, url, SCREENS["desk"])  # warms the service, not the browser's cache
        for name, screen in SCREENS.items():
            ours = [first_chart_ms(browser, url, screen) for _ in range(times)]
            bare = [first_chart_ms(browser, f"{url}bare", screen, lend_bare) for _ in range(times)]
            print(
                f"{name:5}: first chart {spread(ours)}; bare page {spread(bare)}; "
                f"{statistics.median(ours) / statistics.median(bare):.2f} times the bare page"
            )
        browser.close()


def spread(values_ms):
    values = sorted(values_ms)
    return f"{statistics.median(values):.0f} ms ({values[0]:.0f} to {values[-1]:.0f})"


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return str(probe.getsockname()[1])


def main():
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    with tempfile.TemporaryDirectory() as folder:
        words = ["-m", "api.cli", "demo", "--data", f"{folder}/data", "--port", free_port()]
        demo = subprocess.Popen(
            [sys.executable, *words], cwd=ROOT, stdout=subprocess.PIPE, text=True
        )
        try:
            for line in demo.stdout:
                if address := re.search(r"Open (\S+)", line):
                    measure(address[1], times)
                    break
        finally:
            demo.terminate()
            demo.communicate()


if __name__ == "__main__":
    main()
