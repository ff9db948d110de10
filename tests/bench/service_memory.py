"""What the service takes in the demonstration: memory with pages open and while a report is made.

    python tests/bench/service_memory.py [FOLDER]

The real `wormtub demo` with its live run and its estimates; pages open in a headless Chromium, each
as if on a device of its own; a finished run's report, made by a process of its own. FOLDER is kept,
so that another round need not work the past batches out again. Before it, `wormtub serve` is
started on an empty folder: CPU until it answers. The peer is a bare process that imports the
libraries the service stands on. Bars: 130 MB, 2 s of CPU. Here a megabyte is 1,000,000 bytes; RSS
counts the libraries' files that other processes share, PSS this process's part of them.
"""

import os
import shutil
import statistics
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path

import httpx
from playwright.sync_api import sync_playwright

sys.path.insert(0, str(Path(__file__).parents[2]))

from loop_footprint import SERVICES, Measured, free_port
from opening import ARGUMENTS

STARTS = 3
SETTLES_S = 20.0  # the estimates catch up, a minute's chores come by
LOOKS_S = 0.05
PATIENCE_S = 180.0
PAGES = ("", "runs", "batches", "cellar", "stock", "bench", "alarms", "trends", "compare",
         "probes", "vessels", "health", "people", "guide")  # fmt: skip


def main():
    print(f"load of the machine before: {os.getloadavg()[0]:.2f}")
    starts()
    kept = Path(sys.argv[1]) if len(sys.argv) > 1 else None
    with tempfile.TemporaryDirectory() as folder:
        data, port = kept or Path(folder), free_port()
        words = ("-m", "api.cli", "demo", "--data", data, "--port", port)
        demo = Measured("demo", *words, ready="Open http")
        try:
            measure(int((data / "service.lock").read_text()), f"http://127.0.0.1:{port}")
        finally:
            demo.end()


def starts():
    """Start the service on an empty folder, and its libraries by themselves, a few times each."""
    bare = f"import {SERVICES}; print('libraries up', flush=True); import time; time.sleep(3600)"
    with tempfile.TemporaryDirectory() as data:
        serve = ("-m", "api.cli", "serve", "--data", data, "--port", free_port())
        started("wormtub serve", serve, "is at")
    started("its libraries (peer)", ("-c", bare), "libraries up")


def started(name, words, ready):
    took = []
    for _ in range(STARTS):
        process = Measured(name, *words, ready=ready)
        took.append((process.ready_cpu_s, memory_mb(process.process.pid)["Rss"]))
        process.end()
    cpu_s, rss_mb = map(statistics.median, zip(*took, strict=True))
    print(f"{name:24} {cpu_s:5.2f} s of CPU until ready, RSS {rss_mb:6.1f} MB")


def measure(pid, url):
    say("ready", pid)
    time.sleep(SETTLES_S)
    say(f"after {SETTLES_S:.0f} s", pid)
    with sync_playwright() as playwright, httpx.Client(base_url=url, timeout=PATIENCE_S) as client:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=ARGUMENTS
        )
        [run, *_] = [one for one in client.get("/api/runs").json() if one["ended_at"]]
        for path in (*PAGES, f"run?run={run['id']}"):
            browser.new_page().goto(f"{url}/{path}", timeout=1000 * PATIENCE_S)
        say(f"{len(browser.contexts)} pages opened", pid)
        browser.contexts[0].pages[0].wait_for_timeout(1000 * SETTLES_S)
        say(f"open for {SETTLES_S:.0f} s", pid)
        report(client, pid, f"/api/reviews/runs/{run['id']}/report.html")
        say("report made", pid)
        browser.close()


def report(client, pid, path):
    """Have a report made, and look at the service and the report's process meanwhile."""
    most, of_child = 0.0, 0.0
    with ThreadPoolExecutor() as pool:
        asked = pool.submit(client.get, path)
        while not asked.done():
            most = max(most, memory_mb(pid)["Rss"])
            of_child = max([of_child, *(memory_mb(one)["Rss"] for one in children(pid))])
            time.sleep(LOOKS_S)
    assert asked.result().status_code == 200, asked.result().text
    print(f"  while a report is made   RSS {most:6.1f} MB at most; its process {of_child:6.1f} MB")


def children(pid):
    for task in Path(f"/proc/{pid}/task").iterdir():
        with suppress(FileNotFoundError, ProcessLookupError):  # a thread that has just ended
            yield from map(int, (task / "children").read_text().split())


def memory_mb(pid):
    """Return what the kernel says of a process, by its own names; nothing of one that has ended."""
    found = dict.fromkeys(("Rss", "Pss", "Anonymous"), 0.0)
    try:
        lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()[1:]
    except (FileNotFoundError, ProcessLookupError):
        return found
    return found | {line.split(":")[0]: int(line.split()[1]) * 1024 / 1e6 for line in lines}


def say(what, pid):
    now = memory_mb(pid)
    threads = len(list(Path(f"/proc/{pid}/task").iterdir()))
    print(
        f"  {what:24} RSS {now['Rss']:6.1f} MB, PSS {now['Pss']:6.1f}, "
        f"anonymous {now['Anonymous']:6.1f}; {threads} threads"
    )


if __name__ == "__main__":
    main()
