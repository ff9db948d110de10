"""The time from a scan's commit to its number on the page, with 20 watchers.

    python tests/bench/page_latency.py [SECONDS]

A real `wormtub serve`; scans committed at 1 Hz by this process, each with a number of its own; the
live page in headless Chromium and 19 more watchers that listen to the events. The moment is the
frame after the number stands in the page. The peer, in the same run: a bare page that only writes
each event's number into a text. Bar: p95 400 ms.
"""

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

from playwright.sync_api import sync_playwright

sys.path.insert(0, str(ROOT := Path(__file__).parents[2]))

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database
from logger.store.scans import ScanWriter

SERIES = [SeriesKey(f"28-0000000000{n:02x}", "temperature_c", 16) for n in range(8)]
HOST, OTHERS = "127.0.0.1", 19
ARGUMENTS = ["--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu", "--disable-sync"]
NOTE = """(selector) => {
    window.seen = [];
    const value = document.querySelector(selector);
    new MutationObserver(() => requestAnimationFrame(() => {
        window.seen.push([value.textContent, performance.timeOrigin + performance.now()]);
    })).observe(value, { childList: true, characterData: true, subtree: true });
}"""
BARE = """<!doctype html><title>peer</title><p id="value">none</p><script>
new EventSource("/api/live/events").addEventListener("scan", ({ data }) => {
    value.textContent = JSON.parse(data).readings[0][1].toFixed(1);
});
</script>"""


def scan(slot):
    """Make a scan whose every number is told from its neighbours' for 60 scans."""
    return Scan(slot, 1, tuple(Reading(s, Grade.OK, 16 * (20 + slot % 60)) for s in SERIES))


def listen(port, stop):
    """Be one more watcher."""
    with socket.create_connection((HOST, port)) as line:
        line.sendall(b"GET /api/live/events HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
        line.settimeout(0.5)
        while not stop.is_set():
            try:
                line.recv(65536)
            except TimeoutError:
                continue


def commit(writer, seconds, committed):
    """Commit a scan a second, a little after the second as the logger does."""
    for _ in range(seconds):
        time.sleep(1.05 - time.time() % 1)
        slot = int(time.time())
        writer.append(scan(slot))
        committed[f"{20 + slot % 60}.0"] = time.time() * 1000


def measured(page, selector, writer, seconds):
    """Return for each scan the milliseconds from its commit to the page's next frame."""
    page.evaluate(NOTE, selector)
    committed = {}
    committer = threading.Thread(target=commit, args=(writer, seconds, committed))
    committer.start()
    while committer.is_alive():
        page.wait_for_timeout(50)
    page.wait_for_timeout(1000)
    seen = dict(page.evaluate("window.seen"))
    missing = [text for text in committed if text not in seen]
    assert not missing, f"never on the page: {missing}"
    return sorted(seen[text] - at for text, at in committed.items())


def report(name, late_ms):
    at = [late_ms[min(len(late_ms) - 1, int(share * len(late_ms)))] for share in (0.5, 0.95)]
    print(
        f"{name}: p50 {at[0]:.0f} ms, p95 {at[1]:.0f} ms, worst {late_ms[-1]:.0f} ms, "
        f"{len(late_ms)} scans"
    )
    return at[1]


def measure(port, writer, seconds):
    url = f"http://{HOST}:{port}/"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=ARGUMENTS
        )
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        page.goto(url)
        page.locator(".js-line").first.wait_for(state="attached")
        ours = report("live page", measured(page, ".label .value", writer, seconds))
        page.close()
        bare = browser.new_page()
        bare.route("**/bare", lambda route: route.fulfill(content_type="text/html", body=BARE))
        bare.goto(f"{url}bare")
        peer = report("bare page", measured(bare, "#value", writer, seconds))
        print(f"the live page costs {ours - peer:.0f} ms of it")
        browser.close()


def main():
    seconds = min(55, int(sys.argv[1]) if len(sys.argv) > 1 else 50)
    stop = threading.Event()
    with tempfile.TemporaryDirectory() as folder:
        database.prepare(Path(folder))
        writer = ScanWriter(database.engine(Path(folder)))
        now = int(time.time())
        writer.append_many(scan(slot) for slot in range(now - 4000, now - 1))
        with socket.socket() as probe:
            probe.bind((HOST, 0))
            port = probe.getsockname()[1]
        words = ["-m", "api.cli", "serve", "--data", folder, "--port", str(port)]
        service = subprocess.Popen(
            [sys.executable, *words], cwd=ROOT, stdout=subprocess.PIPE, text=True
        )
        service.stdout.readline()
        print(f"load of the machine before: {os.getloadavg()[0]:.2f}")
        others = [threading.Thread(target=listen, args=(port, stop)) for _ in range(OTHERS)]
        try:
            for other in others:
                other.start()
            measure(port, writer, seconds)
        finally:
            stop.set()
            service.terminate()
            service.wait()
            for other in others:
                other.join()


if __name__ == "__main__":
    main()
