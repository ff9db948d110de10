"""The routes around notices: targets and their test, where links lead, the heartbeat, cautions."""

import pytest
from sqlmodel import Session, select

from logger.service_state import ServiceState
from logger.state import LoggerState
from logger.store.alarm_tables import AlarmEvent, Notice, NoticeTarget


@pytest.fixture
def target(client, bell):
    body = {"name": "Miller's phone", "address": bell.address}
    answer = client.post("/api/alarms/targets", json=body)
    assert answer.status_code == 201, answer.text
    return answer.json()


def sentence(answer, status=422):
    assert answer.status_code == status, answer.text
    return answer.json()["error"]["sentence"]


def test_a_target_is_added_and_its_address_is_not_shown_again(client, target, bell):
    assert client.get("/api/alarms/targets").json() == [target]
    assert (target["address_kind"], target["least_priority"]) == ("json", "medium")
    assert (target["after_min"], target["waiting"], target["problem"]) == (0, 0, "")
    assert target["last_sent_at"] is None
    assert bell.address not in client.get("/api/alarms/targets").text
    assert bell.heard == []


def test_the_button_sends_a_test_and_says_how_it_went(client, target, bell):
    path = f"/api/alarms/targets/{target['id']}/test"
    assert client.post(path).json() == {"sent": True, "says": "Miller's phone took it."}
    [(title, body)] = bell.heard
    assert title == "Test from Stillhouse"
    assert body.endswith("\nhttp://127.0.0.1:8080")
    bell.status = 500
    assert client.post(path).json() == {
        "sent": False,
        "says": "The target refused the notice (answer 500).",
    }


def test_a_target_is_changed_and_taken_away(client, target, bell):
    path = f"/api/alarms/targets/{target['id']}"
    change = {"least_priority": "high", "after_min": 5, "version": 1}
    changed = client.put(path, json=change).json()
    assert (changed["name"], changed["after_min"], changed["version"]) == ("Miller's phone", 5, 2)
    assert client.post(f"{path}/test").json()["sent"]  # the address was kept
    assert sentence(client.put(path, json=change), 409).startswith("This was changed meanwhile")
    assert client.delete(path, params={"version": 2}).status_code == 204
    assert client.get("/api/alarms/targets").json() == []
    assert client.post(f"{path}/test").status_code == 404


def test_an_address_nobody_can_be_told_at(client, target):
    body = {"name": "Loft", "address": "pigeon://secret@loft"}
    answer = client.post("/api/alarms/targets", json=body)
    assert sentence(answer).startswith("The address is none that a notice can be sent to; write")
    assert answer.json()["error"]["field"] == "address"
    path = f"/api/alarms/targets/{target['id']}"
    bad = {"address": "pigeon://loft", "version": 1}
    assert sentence(client.put(path, json=bad)).startswith("The address is none")


def test_a_notice_in_the_outbox_leaves_by_itself_and_its_target_says_when(
    client, target, bell, stillhouse, until
):
    house = client.app.house
    notice = Notice(target_id=target["id"], priority="high", text="HIGH: A, B\nLook.")
    with Session(house.engine, expire_on_commit=False) as session:
        kept = session.exec(select(NoticeTarget)).one()
        notice.target_id = kept.about
        session.add(notice)
        session.commit()
    house.calling.committed()
    until(lambda: bell.heard == [("HIGH: A, B", "Look.")], says="the notice")
    until(
        lambda: client.get("/api/alarms/targets").json()[0]["last_sent_at"], says="the time of it"
    )
    event = AlarmEvent(rule="coolant_out_hot", where="Still", at=house.now, priority="high")
    [written] = house.calling.notices_for(event, [kept])
    assert written.text.endswith("http://127.0.0.1:8080/alarms.html")


def test_where_links_lead_and_the_heart_beats(client, listener, until):
    nothing = client.get("/api/alarms/reach").json()
    assert (nothing["version"], nothing["heartbeat"]["beats"]) == (0, 0)
    body = {"link_address": "http://still.local:8080", "version": 0}
    assert client.put("/api/alarms/reach", json=body).json()["version"] == 1
    body = {"heartbeat_address": f"{listener}/beat", "heartbeat_every_s": 30, "version": 1}
    set_ = client.put("/api/alarms/reach", json=body).json()
    assert set_["link_address"] == "http://still.local:8080"
    assert client.app.house.calling.speaker().link == "http://still.local:8080"
    heartbeat = client.app.house.calling.heartbeat
    assert (heartbeat.beat.address, heartbeat.beat.every_s) == (f"{listener}/beat", 30)
    assert sentence(client.put("/api/alarms/reach", json=body), 409)


def test_addresses_and_periods_that_cannot_be(client):
    for field, value, says in (
        ("heartbeat_address", "ftp://x/", '"ftp://x/" is no web address; give one that begins'),
        ("heartbeat_address", "http:///x", '"http:///x" is no web address'),
        ("link_address", "http://x:99999", '"http://x:99999" is no web address'),
        ("heartbeat_every_s", 61, "60"),
        ("heartbeat_every_s", 9, "10"),
    ):
        answer = client.put("/api/alarms/reach", json={field: value, "version": 0})
        assert says in sentence(answer)
        assert answer.json()["error"]["field"] == field


def test_the_sounder_is_tried_by_the_logger_that_holds_its_pin(client, stillhouse):
    answer = client.post("/api/alarms/sounder/test")
    assert (answer.status_code, answer.json()) == (202, {"problem": ""})
    assert ServiceState.read(stillhouse.data).tries == 1
    LoggerState(1, 0, 0, None, 0, 0, 0, 1, "lamp_pin = GPIO99 cannot be used.").write(
        stillhouse.data
    )
    assert client.get("/api/alarms/reach").json()["sounder"]["problem"].startswith("lamp_pin")


def test_cautions_ask_what_heats_each_still(client):
    texts = [one["says"] for one in client.get("/api/alarms/cautions").json()]
    assert texts[0].startswith("Wormtub is a watch, not a safety device")
    assert any("flame or steam heater goes on in a power cut" in text for text in texts)
    for name, heat in (("Pot", "flame"), ("Alembic", "none"), ("Column", "element")):
        body = {"name": name, "kind": "still", "volume_l": 60, "heat_source": heat}
        assert client.post("/api/vessels", json=body).status_code == 201
    more = [one["says"] for one in client.get("/api/alarms/cautions").json()][len(texts) :]
    assert [text[:30] for text in more] == [
        "Pot is heated by flame: in a power cut"[:30],
        "Nobody has said what heats Alembic"[:30],
    ]


def test_from_elsewhere_nothing_is_tried_or_changed(client, target):
    watching = client.elsewhere()
    for path in (f"targets/{target['id']}/test", "sounder/test"):
        assert watching.post(f"/api/alarms/{path}").status_code in {401, 403}
