"""What hostile clients try, through the real server, by a name that is not the machine's own.

Whoever comes by such a name is a stranger, as from any other machine: see `api.access`.
"""

import json
import re
import socket
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import httpx
import pytest

from api.doors import limits, protocol
from tests.asking import PLAIN
from tests.doors_help import cookie_of, headers_of

pytestmark = pytest.mark.system
ROOT = Path(__file__).parents[2]
HOST = "stillhouse.local"
PASSPHRASE = "rye grows on the hill"  # noqa: S105 - of a test
ADD = """
import sys
from pathlib import Path
from api.access import Role
from api.doors import people
from tests.doors_help import TESTER, book_of
with book_of(Path(sys.argv[1])) as (book, _):
    people.add(book, TESTER, "Ann", Role.OWN, sys.argv[2])
"""


@dataclass
class Served:
    """A running service, its folder, and clients that come by a stranger's name."""

    data: Path
    port: int

    def come(self, who="anyone", **headers):
        named = {"host": f"{HOST}:{self.port}"} | headers_of(self.data, who) | headers
        return httpx.Client(
            base_url=f"http://127.0.0.1:{self.port}", headers=named, timeout=30, verify=PLAIN
        )

    def connect(self):
        return socket.create_connection(("127.0.0.1", self.port), timeout=30)

    def raw(self, head, *, body=b""):
        """Send bytes as they are; return all that comes back until the other end closes."""
        with self.connect() as line:
            line.sendall(head.encode("latin-1") + body)
            return received(line)


def received(line):
    parts = []
    try:
        while part := line.recv(65_536):
            parts.append(part)
    except (ConnectionResetError, BrokenPipeError):
        pass
    return b"".join(parts)


@pytest.fixture(scope="module")
def served(tmp_path_factory, start_for_file, port_for_file):
    data = tmp_path_factory.mktemp("doors") / "data"
    words = ["serve", "--data", data, "--host", "0.0.0.0", "--port", port_for_file]
    service = start_for_file(*words)
    service.says("Wormtub is at")
    adding = [sys.executable, "-c", ADD, str(data), PASSPHRASE]
    subprocess.run(adding, cwd=ROOT, check=True, timeout=60)
    yield Served(data, port_for_file)
    assert service.stop() == 0, service.text


def test_a_session_planted_before_is_not_the_one_signed_in(served):
    name, planted = cookie_of(served.data, "watch")
    with served.come(cookie=f"{name}={planted}") as browser:
        assert browser.get("/api/live").status_code == 200
        body = {"name": "Ann", "passphrase": PASSPHRASE}
        answer = browser.post("/api/doors/sign-in", json=body)
        assert answer.status_code == 200
        assert answer.cookies[name] != planted
    with served.come(cookie=f"{name}={planted}") as attacker:
        assert attacker.get("/api/live").status_code == 401


def test_a_page_of_another_site_changes_nothing_with_ones_cookie(served):
    vessel = {"name": "Planted", "kind": "still", "volume_l": 60}
    forged = [
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"origin": f"http://{HOST}:1"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ]
    with served.come("own") as browser:
        for headers in forged:
            assert browser.post("/api/vessels", json=vessel, headers=headers).status_code == 403
        plain = {"content-type": "text/plain"}  # what a form of another site can send
        answer = browser.post("/api/vessels", content=json.dumps(vessel), headers=plain)
        assert answer.status_code == 422
        assert browser.get("/api/vessels").json() == []
        ours = {"origin": f"http://{HOST}:{served.port}", "sec-fetch-site": "same-origin"}
        made = browser.post("/api/vessels", json=vessel, headers=ours)
        assert made.status_code == 201


@pytest.mark.parametrize("who", ["anyone", "own"])
def test_no_path_leads_out_of_the_pages(served, who):
    more = "".join(f"{name}: {value}\r\n" for name, value in headers_of(served.data, who).items())
    for path in (
        "/../../../../etc/passwd", "/%2e%2e/%2e%2e/%2e%2e/etc/passwd", "//etc/passwd",
        "/..%2f..%2f..%2fetc%2fpasswd", "/shared/../../api/app.py", "/shared/%2e%2e/%2e%2e/LICENSE",
        "/%2fetc%2fpasswd", "/..\\..\\etc\\passwd",
        "/doors.html/../../wormtub.db", "/doors.html%00.js", f"/{served.data}/doors.key",
    ):  # fmt: skip
        told = served.raw(f"GET {path} HTTP/1.1\r\nHost: {HOST}\r\n{more}Connection: close\r\n\r\n")
        assert re.match(rb"HTTP/1.1 (303|400|401|404) ", told), (path, told[:80])
        assert b"root:" not in told
        assert b"import " not in told


def test_a_body_too_large_is_refused_before_it_is_taken(served):
    large = b"x" * (limits.MOST_BODY + 1)
    with served.come("own") as browser:
        told = browser.post("/api/vessels", content=b'{"name": "' + large + b'"}')
        assert told.status_code == 413

        def parts():
            for _ in range(6):
                yield b"x" * 65_536

        assert browser.post("/api/vessels", content=parts()).status_code == 413
    line = "POST /api/doors/sign-in HTTP/1.1\r\nHost: {}\r\nContent-Length: {}\r\n\r\n"
    assert b" 413 " in served.raw(line.format(HOST, 10**12), body=large).partition(b"\r\n")[0]


def test_a_head_that_does_not_end_is_cut_off(served):
    head = f"GET / HTTP/1.1\r\nHost: {HOST}\r\n" + "x-more: y\r\n" * 10_000
    told = served.raw(head)
    assert told == b"" or b"400" in told.partition(b"\r\n")[0]


def test_a_slow_client_is_not_waited_for_and_holds_nobody_up(served):
    began = time.monotonic()
    head, body, silent = (served.connect() for _ in range(3))
    with head, body, silent, served.come() as other:
        head.sendall(f"GET / HTTP/1.1\r\nHost: {HOST}\r\nx-slow: ".encode())
        body.sendall(
            f"POST /api/doors/sign-in HTTP/1.1\r\nHost: {HOST}\r\n"
            'Content-Type: application/json\r\nContent-Length: 99\r\n\r\n{"name'.encode()
        )
        assert other.get("/api/alive").status_code == 200
        assert received(silent) == b""  # closed; a socket that waits on fails by its own limit
        assert received(head) == b""
        assert time.monotonic() - began < 3 * protocol.HEAD_S
        assert b"408" in received(body).partition(b"\r\n")[0]
        assert time.monotonic() - began < 3 * limits.BODY_S
        assert other.get("/api/alive").status_code == 200


def test_nothing_sent_becomes_a_header_of_the_answer(served):
    sly = "%0d%0ax-planted:%20yes%0d%0a%0d%0a"
    for path in (f"/{sly}", f"/a.html?to={sly}", f"/{sly}/b", f"/api/{sly}"):
        told = served.raw(f"GET {path} HTTP/1.1\r\nHost: {HOST}\r\nConnection: close\r\n\r\n")
        head = told.partition(b"\r\n\r\n")[0].lower()
        assert head.startswith(b"http/1.1 ")
        assert b"\nx-planted" not in head, path
    with served.come("own") as browser:
        named = browser.post(
            "/api/doors/links", json={"name": "phone\r\nx-planted: yes", "role": "watch"}
        )
        assert named.status_code == 422
        answer = browser.get("/api/alive", headers={"user-agent": "x" * 20_000})
        assert answer.status_code == 200


def test_a_script_in_a_note_stays_a_text(served):
    script = "<script>alert(1)</script><img src=x onerror=alert(1)>"
    with served.come("own") as browser:
        body = {
            "name": script,
            "lawful_basis": script,
            "version": browser.get("/api/site").json()["version"],
        }
        kept = browser.put("/api/site", json=body)
        assert kept.json()["name"] == script
        for path in ("/api/site", "/api/export", "/"):
            answer = browser.get(path)
            assert "unsafe" not in answer.headers["content-security-policy"]
            assert answer.headers["x-content-type-options"] == "nosniff"
            assert path != "/" or script not in answer.text
    ways = re.compile(
        r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(|new Function|srcdoc"
    )
    for file in (ROOT / "web").rglob("*.js"):
        if "vendor" not in file.parts:
            assert not ways.search(file.read_text()), file.name


def test_a_proxy_on_the_machine_makes_nobody_its_owner(served):
    address = f"http://127.0.0.1:{served.port}/api/live"
    assert httpx.get(address, verify=PLAIN).status_code == 200
    for header in ("x-forwarded-for", "forwarded", "via", "x-real-ip", "x-forwarded-host"):
        assert httpx.get(address, headers={header: "127.0.0.1"}, verify=PLAIN).status_code == 401
    told = served.raw(f"GET /api/live HTTP/1.0\r\nHost: 127.0.0.1:{served.port}\r\n\r\n")
    assert told.startswith(b"HTTP/1.1 401 ")


def test_a_stream_ends_soon_after_whoever_follows_it_is_signed_out(served):
    with served.come("watch") as browser, served.come("own") as owner:
        with browser.stream("GET", "/api/live/events") as stream:
            assert stream.status_code == 200
            parts = stream.iter_raw()
            next(parts)
            me = browser.get("/api/doors/me").json()
            assert owner.delete(f"/api/doors/sessions/{me['session_id']}").status_code == 204
            for _ in parts:
                pass  # ends by itself, at the latest with the next sign of life
        assert browser.get("/api/live/events").status_code == 401


def test_by_an_address_of_a_network_only_who_signed_in_is_shown_anything(tmp_path):
    alone = ["unshare", "--map-root-user", "--net"]
    if subprocess.run([*alone, "true"], capture_output=True, check=False).returncode:
        pytest.skip("this machine allows no network of one's own; a host name stands for it above")
    script = Path(__file__).with_name("doors_in_a_network.py")
    done = subprocess.run(
        [*alone, sys.executable, str(script), str(tmp_path / "data")],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout.splitlines()[-1]) == {
        "machine": 200,
        "stranger": 401,
        "stranger's page": 303,
        "alive": 200,
        "claims to be at the machine": 401,
        "claims by a proxy": 401,
        "signed in": 200,
        "internet": 403,
        "internet, signed in": 403,
        "another name": 403,
    }
