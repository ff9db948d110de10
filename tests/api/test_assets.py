"""The page's files: types, encodings, caches, and nothing outside web/."""

import gzip
import subprocess
import sys
from pathlib import Path

import brotli
import pytest

from api import assets
from api.assets import accepted, find

WEB = assets.WEB


@pytest.fixture
def web(tmp_path, monkeypatch):
    """A web folder of our own, beside a secret."""
    root = tmp_path / "web"
    (root / "vendor").mkdir(parents=True)
    (root / ".hidden").mkdir()
    (root / "index.html").write_text("<!doctype html><title>Live</title>")
    (root / "bench.html").write_text("<!doctype html><title>Bench</title>")
    (root / "main.js").write_text("export const answer = 42;\n" * 200)
    (root / "small.js").write_text("export {};\n")
    (root / "notes.py").write_text("secret = 1")
    (root / ".hidden" / "x.js").write_text("secret")
    (root / "vendor" / "chart-4.1.1.min.js").write_text("/* chart */" * 500)
    (root / "vendor" / "chart.min.js").write_text("/* chart */" * 500)
    (tmp_path / "secret.txt").write_text("secret")
    (root / "way-out.txt").symlink_to(tmp_path / "secret.txt")
    monkeypatch.setattr(assets, "WEB", root)
    monkeypatch.setattr(assets, "_kept_packed", {})
    return root


@pytest.mark.parametrize(
    ("path", "title"), [("/", "Live"), ("/index.html", "Live"), ("/bench", "Bench")]
)
def test_pages_are_found_by_their_names(client, web, path, title):
    answer = client.get(path)
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    assert f"<title>{title}</title>" in answer.text


@pytest.mark.parametrize(
    ("asked", "encoding", "unpack"),
    [
        ("br, gzip", "br", brotli.decompress),
        ("gzip, deflate", "gzip", gzip.decompress),
        ("gzip;q=0, br;q=0.1", "br", brotli.decompress),
        ("identity", None, bytes),
        ("", None, bytes),
    ],
)
def test_a_file_travels_packed_as_the_browser_takes_it(client, web, asked, encoding, unpack):
    sent = {}

    async def asking(scope, receive, send):
        async def keep(message):
            sent.setdefault("body", b"")
            sent["body"] += message.get("body", b"")
            await send(message)

        await client.app(scope, receive, keep)

    client._transport.app = asking
    answer = client.get("/main.js", headers={"accept-encoding": asked})
    assert answer.headers.get("content-encoding") == encoding
    assert answer.headers["content-type"] == "text/javascript; charset=utf-8"
    assert answer.headers["vary"] == "Accept-Encoding"
    assert unpack(sent["body"]) == (web / "main.js").read_bytes()
    assert int(answer.headers["content-length"]) == len(sent["body"])
    assert encoding is None or len(sent["body"]) < 500


def test_what_was_packed_ahead_is_sent_as_it_is(client, web):
    body = (web / "main.js").read_bytes()
    (web / "main.js.br").write_bytes(brotli.compress(body + b"// ahead"))
    answer = client.get("/main.js", headers={"accept-encoding": "br"})
    assert answer.text.endswith("// ahead")
    assert client.get("/main.js.br").status_code == 404


def test_a_file_is_packed_once_and_again_when_it_changes(client, web, monkeypatch):
    made = []

    def counting(raw):
        made.append(len(raw))
        return gzip.compress(raw)

    monkeypatch.setattr(assets, "ENCODINGS", (("gzip", ".gz", counting),))
    for _ in range(3):
        client.get("/main.js")
    assert len(made) == 1
    (web / "main.js").write_text("export const answer = 43;\n" * 201)
    assert "43" in client.get("/main.js").text
    assert len(made) == 2


def test_a_module_comes_whole_where_a_page_asks_for_it_so(client, web):
    (web / "bench.html").write_text('<script type="module" src="bench/bench.js?whole"></script>')
    (web / "bench").mkdir()
    (web / "bench" / "bench.js").write_text(
        'import { answer } from "../small.js";\nshow(answer);\n'
    )
    (web / "small.js").write_text("export const answer = 42;\n")
    whole = client.get("/bench/bench.js?whole")
    assert "answer = 42" in whole.text
    assert "import " not in whole.text
    assert whole.headers["content-type"] == "text/javascript; charset=utf-8"
    assert client.get("/bench/bench.js").text.startswith("import { answer }")
    assert client.get("/main.js?whole").text == (web / "main.js").read_text()  # no page asks for it
    (web / "small.js").write_text("export const answer = 43;\n")
    assert "answer = 43" in client.get("/bench/bench.js?whole").text


def test_a_browser_that_has_it_is_sent_nothing(client, web):
    first = client.get("/main.js")
    again = client.get("/main.js", headers={"if-none-match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    other = client.get("/main.js", headers={"if-none-match": '"another"'})
    assert other.status_code == 200


def test_what_is_vendored_under_its_version_is_kept_for_a_year_the_rest_asked_after(client, web):
    def kept(path):
        return client.get(path).headers["cache-control"]

    assert kept("/vendor/chart-4.1.1.min.js") == "public, max-age=31536000, immutable"
    assert kept("/vendor/chart.min.js") == "public, max-age=86400"
    assert kept("/main.js") == kept("/") == "no-cache"


def test_head_says_the_same_without_the_body(client, web):
    answer = client.request("HEAD", "/main.js")
    assert answer.content == b""
    assert answer.headers["etag"] == client.get("/main.js").headers["etag"]


@pytest.mark.parametrize(
    "path",
    ["/nowhere", "/notes.py", "/.hidden/x.js", "/vendor", "/vendor/", "/way-out.txt", "/main.js/",
     "/%2e%2e/secret.txt", "/..%2fsecret.txt", "/%2e%2e%2fsecret.txt", "/vendor/..%5c..%5csecret",
     "/x%00.js", "/vendor/%2e%2e/%2e%2e/secret.txt"],
)  # fmt: skip
def test_what_is_not_a_file_of_the_page_is_a_plain_404(client, web, path):
    answer = client.get(path)
    assert answer.status_code == 404
    assert "There is no page at this address" in answer.text
    assert "secret" not in answer.text


@pytest.mark.parametrize(
    "path", ["../secret.txt", "vendor/../../secret.txt", "/etc/passwd", "a/../../secret.txt"]
)
def test_no_path_leads_out_of_the_folder(web, path):
    assert find(path) is None


def test_under_api_a_missing_address_is_answered_as_the_api_does(client, web):
    for path in ("/api", "/api/", "/api/nowhere", "/api/main.js"):
        answer = client.get(path)
        assert answer.status_code == 404
        assert answer.json()["error"]["kind"] == "not_found"


@pytest.mark.parametrize(
    ("header", "expected"),
    [
        ("gzip, deflate, br, zstd", ("br", "gzip")),
        ("GZIP", ("gzip",)),
        ("br;q=1.0, gzip; q=0.5", ("br", "gzip")),
        ("br;q=0", ()),
        ("br;q=nonsense", ()),
        ("*", ()),
        ("", ()),
    ],
)
def test_encodings_are_read_as_rfc_9110_says(header, expected):
    assert accepted(header) == expected


def test_the_real_page_is_there(client):
    for path in WEB.rglob("*.js"):
        relative = path.relative_to(WEB)
        assert client.get(f"/{relative.as_posix()}").status_code == 200, relative
    assert Path(__file__).parents[2] / "web" == WEB


def test_what_a_browser_keeps_are_the_addresses_the_pages_name(client):
    files = client.get("/api/shell").json()["files"]
    assert {"./", "run.html", "run/run.js?whole", "shared/early.js", "doors/sign_in.js"} <= {*files}
    assert "run/run.js" not in files
    for file in files:
        assert client.get(f"/{file}").status_code == 200, file


PACKS = """
import resource, sys
import brotli
raw = sys.stdin.buffer.read()
pages = int(open("/proc/self/statm").read().split()[0])
most = pages * resource.getpagesize() + 20_000_000
resource.setrlimit(resource.RLIMIT_AS, (most, most))
sys.stdout.buffer.write(brotli.compress(raw, quality=int(sys.argv[1])))
"""


@pytest.mark.skipif(sys.platform != "linux", reason="of what the kernel lets a process take")
def test_the_largest_page_is_packed_in_little_memory():
    whole = max((assets.pack(one, (), whole=True).body for one in assets.wholes()), key=len)
    asked = (sys.executable, "-c", PACKS, str(assets.BROTLI))
    done = subprocess.run(asked, input=whole, capture_output=True, check=True)
    assert brotli.decompress(done.stdout) == whole
    assert len(done.stdout) < len(whole) * 0.3
