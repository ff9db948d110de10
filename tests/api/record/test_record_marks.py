"""Marks: placed, moved, taken back, brought back; sent twice; met by another's change."""

import pytest
from uuid_utils.compat import uuid7

LONG = "x" * 100_000


def test_a_mark_is_placed_and_shown_with_its_run(entering):
    made = entering.mark("hearts", 30, text="pears", smell=["pear", "bread"], source="key")
    assert made["version"] == 1
    assert made["at"] == "2026-09-21T12:30:00Z"
    assert entering.run["marks"] == [made]
    assert entering.get(f"marks/{made['id']}") == made


def test_the_button_offers_what_comes_next(entering):
    assert entering.now["fitting_mark"] == "first_drop"
    entering.mark("first_drop", 10)
    entering.mark("note", 11)
    assert entering.now["fitting_mark"] == "foreshots_end"
    entering.mark("hearts", 12)
    assert entering.now["fitting_mark"] == "tails"
    entering.mark("end", 13)
    assert entering.now["fitting_mark"] is None


def test_a_mark_sent_twice_is_one_even_after_it_was_taken_back(entering):
    first = entering.mark("tails", 40)
    again = entering.mark("tails", 41, id=first["id"])
    assert again == first
    gone = entering.ask("DELETE", f"marks/{first['id']}", 200, version=1)
    assert (gone["withdrawn"], gone["version"]) == (True, 2)
    late = entering.mark("tails", 40, id=first["id"])
    assert late == gone
    assert entering.run["marks"] == []


def test_a_change_is_undone_and_the_undoing_too(entering):
    made = entering.mark("hearts", 30)
    path = f"marks/{made['id']}"
    moved = entering.ask("PUT", path, 200, kind="hearts", at="2026-09-21T12:35:00Z", version=1)
    back = entering.ask("POST", f"{path}/undo", 200, version=2)
    assert (back["at"], back["version"]) == (made["at"], 3)
    again = entering.ask("POST", f"{path}/undo", 200, version=3)
    assert (again["at"], again["version"]) == (moved["at"], 4)


def test_a_mark_undone_is_gone_and_can_come_back(entering):
    made = entering.mark("hearts", 30)
    path = f"marks/{made['id']}/undo"
    assert entering.ask("POST", path, 200, version=1)["withdrawn"] is True
    assert entering.run["marks"] == []
    assert entering.ask("POST", path, 200, version=2)["withdrawn"] is False
    [mark] = entering.run["marks"]
    assert (mark["at"], mark["version"]) == (made["at"], 3)


def test_the_second_of_two_is_told_what_changed_and_nothing_is_overwritten(entering):
    made = entering.mark("hearts", 30, text="here")
    path = f"marks/{made['id']}"
    first = entering.ask("PUT", path, 200, kind="hearts", text="pears", version=1)
    error = entering.ask("PUT", path, 409, kind="hearts", text="glue", version=1)["error"]
    assert error["kind"] == "stale"
    assert "text is now pears" in error["sentence"]
    assert error["now"] == first
    error = entering.ask("DELETE", path, 409, version=1)["error"]
    assert error["now"] == first
    error = entering.ask("POST", f"{path}/undo", 409, version=1)["error"]
    assert error["now"] == first
    assert entering.run["marks"] == [first]


def test_a_proposal_that_was_not_so_is_kept_as_refused_and_never_stands(entering):
    refused = entering.mark("power", 30, source="refused", id=str(uuid7()))
    assert (refused["withdrawn"], refused["version"]) == (True, 1)
    assert entering.mark("power", 30, source="refused", id=refused["id"]) == refused
    assert entering.run["marks"] == []
    assert entering.get(f"marks/{refused['id']}")["source"] == "refused"
    path = f"marks/{refused['id']}"
    after_all = entering.ask("PUT", path, 200, version=1, source="proposal")
    assert entering.run["marks"] == [after_all]
    assert after_all["source"] == "proposal"
    back = entering.ask("POST", f"{path}/undo", 200, version=2)
    assert (back["withdrawn"], back["source"]) == (True, "refused")
    assert entering.ask("PUT", path, 200, version=3)["source"] == "proposal"


@pytest.mark.parametrize("known", [True, False])
def test_a_change_sent_twice_is_taken_once_whatever_came_after(entering, known):
    made = entering.mark("hearts", 30)
    path = f"marks/{made['id']}"
    own = {"id": str(uuid7())} if known else {}
    entering.ask("PUT", path, 200, kind="hearts", text="one", version=1, **own)
    later = entering.ask("PUT", path, 200, kind="hearts", text="two", version=2)
    assert entering.ask("PUT", path, 200, kind="hearts", text="one", version=1, **own) == later
    gone = entering.ask("DELETE", path, 200, version=3)
    assert entering.ask("DELETE", path, 200, version=3) == gone
    assert entering.run["marks"] == []


CASES = [
    (-1, {}, "at", "before the run, which began at"),
    (300, {}, "at", "lies in the future"),
    (5, {"text": LONG}, "text", "text is too long; give at most 2000 characters"),
    (5, {"smell": [LONG]}, "smell.0", "at most 60 characters"),
    (5, {"smell": ["oak"] * 21}, "smell", "at most 20"),
    (5, {"kind": "sparge"}, "kind", "kind is"),
    (5, {"power_kw": -1}, "power_kw", "at least 0"),
]


def test_what_cannot_be_a_mark_is_told_at_its_field(entering):
    for minutes, change, field, says in CASES:
        body = {"kind": "note"} | change
        error = entering.mark(body.pop("kind"), minutes, 422, **body)["error"]
        assert error["field"] == field
        assert says in error["sentence"]
    assert entering.run["marks"] == []


def test_markup_in_a_note_is_kept_as_it_was_typed(entering):
    text = '<img src=x onerror="alert(1)">\n& <b>bold</b>'
    assert entering.mark("note", 5, text=text)["text"] == text
    assert entering.run["marks"][0]["text"] == text


def test_a_mark_is_on_a_run_only(entering, take):
    tun = {"name": "tun", "kind": "mash_tun", "volume_l": 100}
    tun_id = entering.client.post("/api/vessels", json=tun).json()["id"]
    entering.run_id = take(entering.client, tun_id, "mash")["id"]
    error = entering.mark("note", 5, 409)["error"]
    assert "is no run of a still" in error["sentence"]
    entering.run_id = str(uuid7())
    entering.mark("note", 5, 404)


def test_a_run_cannot_be_moved_away_from_its_marks(entering):
    entering.mark("note", 5)
    run = entering.run
    body = {
        "vessel_id": run["vessel_id"], "batch": run["batch"], "stage": "spirit", "version": 1,
        "started_at": "2026-09-21T12:06:00Z",
    }  # fmt: skip
    error = entering.ask("PUT", f"occupancies/{run['id']}", 422, **body)["error"]
    assert "before the run" in error["sentence"]
    answer = entering.client.delete(f"/api/occupancies/{run['id']}", params={"version": 1})
    assert answer.status_code == 409
    assert "take those back first" in answer.json()["error"]["sentence"]
