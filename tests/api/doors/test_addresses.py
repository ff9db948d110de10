"""Where somebody comes from: the machine itself, a proxy, the network, the internet."""

import pytest

from api.doors.addresses import asker, is_public
from api.doors.attempts import MOST_KNOWN, Attempts
from api.doors.limits import Allowance
from api.doors.reach import root
from api.errors import TooManyError
from logger.settings import Settings

PROXY = ("192.168.7.2/32", "127.0.0.1/32")


def scope(
    client, host="127.0.0.1:8080", server="192.168.7.1", scheme="http", version="1.1", **more
):
    headers = [(b"host", host.encode())]
    headers += [(name.replace("_", "-").encode(), value.encode()) for name, value in more.items()]
    return {
        "type": "http", "client": (client, 5000), "server": (server, 8080), "headers": headers,
        "scheme": scheme, "http_version": version,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("given", "at_machine"),
    [
        ({"client": "127.0.0.1"}, True),
        ({"client": "::1", "host": "[::1]:8080"}, True),
        ({"client": "::ffff:127.0.0.1", "host": "localhost:8080"}, True),
        ({"client": "127.0.0.1", "host": "stillhouse.local"}, False),
        ({"client": "192.168.7.20"}, False),
        ({"client": "127.0.0.1", "x_forwarded_for": "127.0.0.1"}, False),
        ({"client": "127.0.0.1", "x_real_ip": "127.0.0.1"}, False),
        ({"client": "127.0.0.1", "forwarded": "for=127.0.0.1"}, False),
        ({"client": "127.0.0.1", "via": "1.1 proxy"}, False),
        ({"client": "127.0.0.1", "version": "1.0"}, False),  # a proxy that keeps quiet
        ({"client": ""}, False),
    ],
)
def test_the_machine_itself_is_told_from_a_proxy_on_it(given, at_machine):
    for trusted in ((), PROXY):
        assert asker(scope(**given), trusted).at_machine is at_machine


@pytest.mark.parametrize(
    ("given", "address", "secure"),
    [
        ({"client": "192.168.7.2", "x_forwarded_for": "203.0.113.9", "x_forwarded_proto": "https"},
         "203.0.113.9", True),
        ({"client": "127.0.0.1", "x_forwarded_for": "10.1.1.1, 203.0.113.9, 192.168.7.2",
          "x_forwarded_proto": "http"}, "203.0.113.9", False),
        ({"client": "192.168.7.66", "x_forwarded_for": "127.0.0.1", "x_forwarded_proto": "https"},
         "192.168.7.66", False),  # not one of ours: what it says is not believed
        ({"client": "192.168.7.2", "x_forwarded_for": "nonsense"}, "192.168.7.2", False),
        ({"client": "192.168.7.66", "scheme": "https"}, "192.168.7.66", True),
    ],
)  # fmt: skip
def test_what_a_proxy_says_is_believed_of_those_trusted(given, address, secure):
    found = asker(scope(**given), PROXY)
    assert (found.address, found.secure) == (address, secure)


@pytest.mark.parametrize(
    ("address", "server", "public"),
    [
        ("8.8.8.8", "192.168.7.1", True),
        ("192.168.7.20", "192.168.7.1", False),
        ("100.64.3.4", "192.168.7.1", False),  # RFC 6598: also of private overlay networks
        ("2600::1", "2600:0:0:1::1", True),
        ("2600:0:0:1::77", "2600:0:0:1::1", False),  # a neighbour
        ("fd00::2", "fd00::1", False),
        ("testclient", "192.168.7.1", False),
    ],
)
def test_the_internet_is_told_from_the_house(address, server, public):
    assert is_public(scope(address, server=server), address) is public


def test_a_plain_connection_from_the_internet_is_refused_in_one_sentence(client, signed_in, caplog):
    for visitor in (signed_in("anyone"), signed_in("own")):
        visitor._transport.client = ("8.8.8.8", 50_000)
        for path in ("/", "/api/alive", "/api/live", "/api/doors/me"):
            answer = visitor.get(path)
            assert answer.status_code == 403
            assert "must not be open to the internet" in answer.json()["error"]["sentence"]
        assert visitor.get("https://127.0.0.1:8080/api/alive").status_code == 200
    assert [one.args for one in caplog.records if "open to the internet" in one.msg] == [
        ("8.8.8.8",)  # told once
    ]
    told = [one["address"] for one in client.get("/api/doors/events").json() if not one["who"]]
    assert told == ["8.8.8.8"]


@pytest.mark.parametrize(
    ("settings", "address"),
    [
        ({}, None),
        ({"host_names": ("still.example.net",)}, "https://still.example.net"),  # by a proxy
        ({"host": "0.0.0.0", "host_names": ("still.lan",)}, "http://still.lan:8080"),
        ({"host": "fd00::1", "tls_cert": "a", "port": 8443}, "https://[fd00::1]:8443"),
    ],
)
def test_a_phone_is_sent_to_where_it_reaches_the_service(settings, address):
    assert root(Settings(**settings)) == address


def test_whoever_asks_too_much_waits_and_others_do_not(client):
    busy, other = client.elsewhere(), client.elsewhere()
    other._transport.client = ("192.168.7.21", 50_000)
    assert client.get("/api/alive").status_code == 200
    client.app.middleware_stack.allowance = Allowance(per_s=0.5, burst=20.0)
    told = [busy.get("/api/alive").status_code for _ in range(20)]
    assert told == [200] * 20
    client.app.middleware_stack.allowance.per_s = 0.0001
    refused = busy.get("/api/alive")
    assert int(refused.headers["retry-after"]) >= 1
    assert refused.json()["error"]["kind"] == "too_many"
    assert other.get("/api/alive").status_code == 200
    assert client.get("/api/live").status_code == 200


def test_an_allowance_fills_again_and_remembers_so_many_only():
    allowance = Allowance(per_s=2.0, burst=4.0)
    assert [allowance.wait_s("a", 0.0) for _ in range(5)] == [0.0, 0.0, 0.0, 0.0, 0.5]
    assert allowance.wait_s("a", 0.5) == 0.0
    assert allowance.wait_s("a", 0.5) > 0
    for number in range(5000):
        allowance.wait_s(str(number), 1.0)
    assert len(allowance._left) == 4096


def test_an_ipv6_host_has_one_allowance_for_all_its_addresses():
    one, two = (asker(scope(f"2600:0:0:1::{n}"), ()) for n in (5, 6))
    assert one.bucket == two.bucket == "2600:0:0:1::/64"


def test_waits_grow_to_a_quarter_of_an_hour_and_no_further():
    attempts, now_s, waits = Attempts(), 0.0, []
    for _ in range(12):
        attempts.failed("a", "ann", now_s)
        try:
            attempts.check("a", "ann", now_s)
        except TooManyError as told:
            waits.append(told.wait_s)
            now_s += told.wait_s
    assert waits[:3] == [30.0, 60.0, 120.0]
    assert max(waits) == waits[-1] == 900.0
    attempts.check("a", "ann", now_s + 3601)
    for number in range(MOST_KNOWN):
        attempts.failed(str(number), "eve", now_s)
    assert len(attempts._failures) <= MOST_KNOWN
