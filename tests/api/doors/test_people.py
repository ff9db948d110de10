"""People and programs as the owner keeps them, over HTTP and at the command line."""

import pytest
from typer.testing import CliRunner

from api.cli import app
from api.doors import passphrases
from logger.clock import MICRO


def add(client, name, role):
    answer = client.post("/api/doors/people", json={"name": name, "role": role})
    assert answer.status_code == 201, answer.text
    return answer.json()


def come(client, name, passphrase):
    body = {"name": name, "passphrase": passphrase}
    answer = client.elsewhere().post("/api/doors/sign-in", json=body)
    assert answer.status_code == 200, answer.text
    return client.elsewhere({"cookie": answer.headers["set-cookie"].partition(";")[0]})


def test_a_passphrase_is_shown_once_and_kept_as_a_hash(client, stillhouse):
    made = add(client, "Ann", "own")
    assert made["passphrase"] not in client.get("/api/doors/people").text
    kept = b"".join(one.read_bytes() for one in stillhouse.data.glob("wormtub.db*"))
    assert b"$argon2id$" in kept
    assert made["passphrase"].encode() not in kept


def test_a_name_is_given_once_however_it_is_capitalised(client):
    add(client, "Ann", "own")
    answer = client.post("/api/doors/people", json={"name": "ANN", "role": "watch"})
    assert answer.status_code == 409


def test_a_role_that_changes_holds_at_once(client):
    ann, bob = add(client, "Ann", "own"), add(client, "Bob", "operate")
    inside = come(client, "Bob", bob["passphrase"])
    vessel = {"name": "Still", "kind": "still", "volume_l": 60}
    assert inside.post("/api/vessels", json=vessel).status_code == 201
    change = {"name": "Bob", "role": "watch", "version": 1}
    assert client.put(f"/api/doors/people/{bob['id']}", json=change).json()["version"] == 2
    assert inside.post("/api/vessels", json=vessel).status_code == 403
    assert inside.get("/api/vessels").status_code == 200
    assert client.put(f"/api/doors/people/{bob['id']}", json=change).status_code == 409  # stale
    assert client.delete(f"/api/doors/people/{bob['id']}").status_code == 204
    assert inside.get("/api/vessels").status_code == 401
    for role in ("operate", "watch"):  # somebody always owns the house
        change = {"name": "Ann", "role": role, "version": 1}
        assert client.put(f"/api/doors/people/{ann['id']}", json=change).status_code == 409
    assert client.delete(f"/api/doors/people/{ann['id']}").status_code == 409


def test_a_new_passphrase_signs_its_person_out(client):
    bob = add(client, "Bob", "operate")
    inside = come(client, "Bob", bob["passphrase"])
    made = client.post(f"/api/doors/people/{bob['id']}/passphrase", json={}).json()
    assert inside.get("/api/live").status_code == 401
    assert come(client, "Bob", made["passphrase"]).get("/api/live").status_code == 200


def test_a_token_reaches_as_far_as_its_scopes_until_it_ends(client, stillhouse):
    body = {"name": "scale", "scopes": ["operate:vessels", "watch:live"], "days": 3}
    made = client.post("/api/doors/tokens", json=body).json()
    program = client.elsewhere({"authorization": f"Bearer {made['secret']}"})
    vessel = {"name": "Still", "kind": "still", "volume_l": 60}
    assert program.post("/api/vessels", json=vessel).json()["who"] == "scale"
    assert program.get("/api/live").status_code == 200
    assert program.get("/api/site").status_code == 403
    assert made["secret"] not in client.get("/api/doors/tokens").text
    other = client.elsewhere({"authorization": f"Bearer {made['secret'][:-1]}x"})
    assert other.get("/api/live").status_code == 401
    stillhouse.clock.pass_time(4 * 86_400 * MICRO)
    assert program.get("/api/live").status_code == 401


def test_what_is_no_scope_is_refused_with_those_there_are(client):
    for scope in ("", "all", "watch:nowhere", "own:", "anyone", "watch live"):
        answer = client.post("/api/doors/tokens", json={"name": "scale", "scopes": [scope]})
        assert answer.status_code == 422
        assert "operate or own" in answer.json()["error"]["sentence"]
    assert client.get("/api/doors/tokens").json() == []


def test_what_comes_with_a_bad_token_is_not_let_in_by_its_cookie(signed_in):
    watcher = signed_in("watch")
    watcher.headers["authorization"] = "Bearer wormtub_nonsense"
    assert watcher.get("/api/live").status_code == 401


@pytest.mark.parametrize(
    ("passphrase", "part"),
    [("short", "12 to 200"), ("x" * 201, "12 to 200"), ("aaaaaaaaaaaaaaaa", "too easy"),
     ("AnnRyeAnnRye", "too easy")],
)  # fmt: skip
def test_a_passphrase_easy_to_guess_is_refused(passphrase, part):
    with pytest.raises(passphrases.PassphraseError, match=part):
        passphrases.hashed(passphrase, "AnnRye")


def test_the_same_typed_on_another_keyboard_is_the_same():
    kept = passphrases.hashed("caf\u00e9 ober der Stadt", "Ann")
    assert passphrases.fits("cafe\u0301 ober der Stadt ", kept)
    assert not passphrases.fits("cafe ober der Stadt", kept)


def test_what_is_made_is_long_enough_to_withstand_guessing():
    made = {passphrases.made() for _ in range(200)}
    assert len(made) == 200
    assert (len(passphrases.CONSONANTS) * len(passphrases.VOWELS)) ** (
        2 * passphrases.GROUPS
    ) > 2**75
    passphrases.hashed(made.pop(), "Ann")


def wormtub(*words):
    return CliRunner().invoke(app, list(map(str, words)))


def test_the_first_owner_is_added_at_the_command_line_beside_the_service(client, stillhouse):
    told = wormtub("people", "add", "Ann Rye", "--role", "own", "--data", stillhouse.data)
    assert told.exit_code == 0, told.output
    made = told.output.split("\n")[2].strip()
    inside = come(client, "ann rye", made)
    assert inside.get("/api/doors/people").json()[0]["name"] == "Ann Rye"
    assert "Ann Rye: own" in wormtub("people", "list", "--data", stillhouse.data).output
    assert "Signed out: 1" in wormtub("people", "sign-out", "--data", stillhouse.data).output
    assert inside.get("/api/live").status_code == 401
    assert "person added" in wormtub("people", "events", "--data", stillhouse.data).output


@pytest.mark.parametrize(
    ("words", "sentence"),
    [(("add", "Ann", "--role", "king"), '"king" is no role'),
     (("add", " ", "--role", "own"), "A name needs 1 to 60 signs"),
     (("remove", "Eve"), 'Nobody is called "Eve" here'),
     (("token", "scale", "--scope", "rule"), '"rule" is no scope'),
     (("end-token", "scale"), 'No token is called "scale"'),
     (("phone", "mine", "--role", "watch"), "on this machine only")],
)  # fmt: skip
def test_what_cannot_be_done_is_told_in_one_sentence(tmp_path, words, sentence):
    told = wormtub("people", *words, "--data", tmp_path)
    assert told.exit_code == 2
    assert sentence in told.output
    assert told.output.count("\n") == 1


def test_a_phone_is_added_from_the_command_line(client, stillhouse):
    address = ("--address", "https://still.local:8443/")
    words = ("people", "phone", "Ann’s", "--role", "watch", *address, "--data", stillhouse.data)
    told = wormtub(*words)
    link = told.output.strip().split("\n")[-1]
    page, _, key = link.partition("#")
    assert page == "https://still.local:8443/doors.html"
    answer = client.elsewhere().post("/api/doors/enter", json={"key": key})
    assert answer.json()["name"] == "Ann’s"
