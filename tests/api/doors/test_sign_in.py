"""Signing in and out: by passphrase, by a phone's link; and what it leaves behind."""

import re
from uuid import uuid4

import numpy as np
import pytest
import zxingcpp

from api.doors.doors import PLAIN_COOKIE, SECURE_COOKIE
from api.doors.signing import Seal
from api.site import KEY, SiteValue
from logger.clock import MICRO
from logger.settings import Settings
from logger.store import database, facts
from logger.store.tables import Setting

DAY_US = 86_400 * MICRO


@pytest.fixture
def ann(client):
    """An owner, and her passphrase."""
    return client.post("/api/doors/people", json={"name": "Ann", "role": "own"}).json()


@pytest.fixture
def away(client):
    return client.elsewhere()


def sign_in(client, name, passphrase, **options):
    body = {"name": name, "passphrase": passphrase}
    return client.post("/api/doors/sign-in", json=body, **options)


def signed(client, answer):
    """Return a client that brings the cookie along that an answer set."""
    pair = answer.headers["set-cookie"].partition(";")[0]
    return client.elsewhere({"cookie": pair})


def test_at_the_machine_nobody_is_asked(client, away):
    assert client.get("/api/doors/me").json()["role"] == "own"
    assert away.get("/api/doors/me").json() == {
        "name": "nobody", "role": "anyone", "session_id": None, "has_passphrase": False,
    }  # fmt: skip


def test_a_name_and_its_passphrase_let_in_under_that_name(ann, away, client):
    answer = sign_in(away, " aNN ", ann["passphrase"])
    assert answer.status_code == 200
    inside = signed(client, answer)
    assert inside.get("/api/doors/me").json()["name"] == "Ann"
    made = inside.post("/api/vessels", json={"name": "Still", "kind": "still", "volume_l": 60})
    assert made.json()["who"] == "Ann"
    [last, *_] = client.get("/api/doors/events").json()
    assert (last["kind"], last["who"], last["address"]) == ("signed in", "Ann", "192.168.7.20")


def test_the_cookie_is_signed_and_kept_from_scripts_and_other_sites(ann, away):
    cookie = sign_in(away, "Ann", ann["passphrase"]).headers["set-cookie"]
    name, _, rest = cookie.partition("=")
    assert name == PLAIN_COOKIE
    parts = {part.strip().lower() for part in rest.split(";")[1:]}
    assert {"httponly", "samesite=lax", "path=/"} <= parts
    assert "secure" not in parts


def test_over_tls_the_cookie_is_bound_to_it(ann, away):
    https = "https://127.0.0.1:8443/api/doors/sign-in"
    body = {"name": "Ann", "passphrase": ann["passphrase"]}
    cookie = away.post(https, json=body).headers["set-cookie"]
    assert cookie.startswith(f"{SECURE_COOKIE}=")
    assert "; secure" in cookie.lower()


def test_a_wrong_name_and_a_wrong_passphrase_are_told_in_the_same_words(ann, away):
    answers = [sign_in(away, "Ann", "not the passphrase"), sign_in(away, "Eve", "whatever it is")]
    assert [one.status_code for one in answers] == [401, 401]
    assert answers[0].json() == answers[1].json()
    assert "set-cookie" not in answers[0].headers


def test_a_cookie_that_was_not_signed_here_lets_nobody_in(client):
    number = "00000000000040008000000000000000"
    for forged in ("", "x", number, f"{number}.AAAA", "\xe9", "x" * 5000):
        away = client.elsewhere({"cookie": f"{PLAIN_COOKIE}={forged}".encode("latin-1")})
        assert away.get("/api/live").status_code == 401


def test_another_life_of_the_store_takes_no_session_of_the_one_before(ann, away, stillhouse):
    seal = Seal(stillhouse.data, uuid4())
    value = sign_in(away, "Ann", ann["passphrase"]).cookies[PLAIN_COOKIE]
    assert seal.read("session", value) is None
    assert seal.read("link", seal.sign("session", uuid4())) is None


def test_a_session_brought_along_is_not_the_one_that_is_signed_in(ann, client, signed_in):
    before = signed_in("watch")
    planted = before.headers["cookie"].partition("=")[2]
    answer = sign_in(before, "Ann", ann["passphrase"])
    assert answer.cookies[PLAIN_COOKIE] != planted
    assert before.get("/api/live").status_code == 401  # what was planted has ended


def test_signing_out_ends_the_session_itself(ann, away, client):
    inside = signed(client, sign_in(away, "Ann", ann["passphrase"]))
    answer = inside.post("/api/doors/sign-out", json={})
    assert answer.status_code == 204
    assert "Max-Age=0" in answer.headers["set-cookie"]
    assert inside.get("/api/live").status_code == 401


def test_signing_out_everywhere_reaches_the_other_browsers(ann, away, client):
    first, second = (signed(client, sign_in(away, "Ann", ann["passphrase"])) for _ in range(2))
    assert second.get("/api/live").status_code == 200
    first.post("/api/doors/sign-out", json={"everywhere": True})
    assert second.get("/api/live").status_code == 401


def test_a_session_not_used_for_a_month_has_ended(ann, away, client, stillhouse):
    inside = signed(client, sign_in(away, "Ann", ann["passphrase"]))
    for _ in range(3):
        stillhouse.clock.pass_time(20 * DAY_US)
        assert inside.get("/api/live").status_code == 200  # used meanwhile
    stillhouse.clock.pass_time(31 * DAY_US)
    assert inside.get("/api/live").status_code == 401


def test_one_changes_ones_own_passphrase_and_the_other_browsers_are_out(ann, away, client):
    inside, other = (signed(client, sign_in(away, "Ann", ann["passphrase"])) for _ in range(2))
    body = {"now": ann["passphrase"], "passphrase": "rye grows on the hill"}
    assert inside.put("/api/doors/passphrase", json=body | {"now": "wrong"}).status_code == 422
    refused = inside.put("/api/doors/passphrase", json=body | {"passphrase": "short"})
    assert refused.json()["error"]["field"] == "passphrase"
    assert inside.put("/api/doors/passphrase", json=body).status_code == 204
    assert inside.get("/api/live").status_code == 200
    assert other.get("/api/live").status_code == 401
    assert sign_in(away, "Ann", ann["passphrase"]).status_code == 401
    assert sign_in(away, "Ann", "  rye grows on the hill").status_code == 200


def test_guessing_waits_ever_longer_but_keeps_nobody_else_out(ann, away, client, stillhouse):
    assert sign_in(away, "Ann", ann["passphrase"]).status_code == 200  # known from this address
    guesser = client.elsewhere()
    guesser._transport.client = ("192.168.7.66", 50_000)
    told = [sign_in(guesser, "Ann", "a guess too many").status_code for _ in range(7)]
    assert told == [401] * 5 + [429] * 2
    waiting = sign_in(guesser, "Ann", ann["passphrase"])
    assert waiting.status_code == 429  # even with the right one
    assert 25 <= int(waiting.headers["retry-after"]) <= 30
    stranger = client.elsewhere()
    stranger._transport.client = ("192.168.7.67", 50_000)
    assert sign_in(stranger, "Ann", ann["passphrase"]).status_code == 429
    assert sign_in(away, "Ann", ann["passphrase"]).status_code == 200
    assert (
        client.get("/api/doors/people").status_code == 200
    )  # the machine itself is never kept out
    assert sign_in(client, "Ann", ann["passphrase"]).status_code == 200
    kinds = [one["kind"] for one in client.get("/api/doors/events").json()]
    assert kinds.count("sign-in failed") == 5
    stillhouse.clock.pass_time(31 * MICRO)
    assert sign_in(guesser, "Ann", ann["passphrase"]).status_code == 200


@pytest.fixture
def owner(stillhouse, monkeypatch, request):
    """Whoever owns the house, come by its name on a service that other machines reach."""
    everywhere = property(lambda self: Settings(data=self.data, host="0.0.0.0"))
    monkeypatch.setattr(type(stillhouse), "settings", everywhere)
    owner = request.getfixturevalue("signed_in")("own")
    owner.headers["host"] = "stillhouse.local:8080"
    return owner


def test_a_phones_link_signs_one_phone_in_once_with_the_role_chosen(owner, client):
    link = owner.post("/api/doors/links", json={"name": "Ann’s phone", "role": "operate"}).json()
    page, _, key = link["address"].partition("#")
    assert page == "http://stillhouse.local:8080/doors.html"
    stranger = client.elsewhere()
    stranger._transport.client = ("192.168.7.66", 50_000)
    tried = [stranger.post("/api/doors/enter", json={"key": "forged"}) for _ in range(6)]
    assert [one.status_code for one in tried] == [401] * 5 + [429]  # and keeps no phone out
    phone = client.elsewhere()
    answer = phone.post("/api/doors/enter", json={"key": key})
    assert answer.json()["role"] == "operate"
    inside = signed(client, answer)
    made = inside.post("/api/vessels", json={"name": "Still", "kind": "still", "volume_l": 60})
    assert made.json()["who"] == "Ann’s phone"
    assert inside.get("/api/doors/people").status_code == 403
    assert phone.post("/api/doors/enter", json={"key": key}).status_code == 401
    assert owner.get("/api/doors/links").json() == []


def test_a_link_too_old_or_taken_back_lets_nobody_in(owner, client, stillhouse):
    made = [
        owner.post("/api/doors/links", json={"name": "Phone", "role": "watch"}).json()
        for _ in range(2)
    ]
    assert owner.delete(f"/api/doors/links/{made[0]['id']}").status_code == 204
    stillhouse.clock.pass_time(16 * 60 * MICRO)
    for link in made:
        key = link["address"].partition("#")[2]
        answer = client.elsewhere().post("/api/doors/enter", json={"key": key})
        assert answer.status_code == 401


def test_the_code_is_read_back_as_the_link(owner):
    link = owner.post("/api/doors/links", json={"name": "Phone", "role": "watch"}).json()
    drawn = owner.get(f"/api/doors/links/{link['id']}/code.svg")
    assert drawn.headers["content-type"] == "image/svg+xml"
    assert zxingcpp.read_barcode(pixels(drawn.text)).text == link["address"]


def pixels(svg):
    """Paint what the SVG's path says: rows of horizontal strokes, one unit high."""
    size = int(re.search(r'viewBox="0 0 (\d+) \d+"', svg)[1])
    dark = np.full((size, size), 255, dtype=np.uint8)
    strokes = re.search(r'stroke="#000" d="([^"]+)"', svg)[1]
    x = y = 0.0
    for kind, a, b in re.findall(r"([Mmh])(-?[\d.]+)(?: ?(-?[\d.]+))?", strokes):
        if kind == "M":
            x, y = float(a), float(b)
        elif kind == "m":
            x, y = x + float(a), y + float(b)
        else:
            dark[int(y), round(x) : round(x + float(a))] = 0
            x += float(a)
    return dark.repeat(4, 0).repeat(4, 1)


def test_from_the_machine_a_phone_is_only_added_where_it_can_reach_the_service(client):
    answer = client.post("/api/doors/links", json={"name": "Phone", "role": "watch"})
    assert answer.status_code == 409
    assert "--host" in answer.json()["error"]["sentence"]


def test_in_a_simulation_everybody_may_do_everything(serve, stillhouse):
    database.prepare(stillhouse.data)
    engine = database.engine(stillhouse.data)
    value = SiteValue(name="A demonstration", time_zone="UTC", simulated=True).model_dump_json()
    site = database.identity(engine).site
    said = {"site": site, "who": "demo", "effective_at": stillhouse.time()}
    facts.record(engine, Setting.first(key=KEY, value=value, **said))
    engine.dispose()
    away = serve().elsewhere()
    assert away.get("/api/doors/me").json() == {
        "name": "in the demonstration", "role": "own", "session_id": None, "has_passphrase": False,
    }  # fmt: skip
    assert away.get("/").status_code == 200
