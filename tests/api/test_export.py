"""The record as CSV: the recorded trace format, row by row, at bounded memory."""

import csv
import io
import tracemalloc
from zoneinfo import ZoneInfo

import pytest

from api.export import Export
from logger.reading import Grade

START = 1_790_000_000  # 2026-09-21T14:13:20Z
FROM = "2026-09-21T14:13:20+00:00"


def rows_of(client, **params):
    answer = client.get("/api/export.csv", params={"from": FROM, **params})
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"].startswith("text/csv")
    return list(csv.reader(io.StringIO(answer.text)))


def test_a_header_then_one_row_a_scan(client, placed, stillhouse, scan):
    stillhouse.log(scan(START + 1, pot=78.5, head=20.0625, room=18, barometer=1001.5))
    header, first, second = rows_of(client)
    assert header == ["time", "pot", "head", "28-00000a1b2c03", "pressure_hpa"]
    assert first[1:] == ["20.0", "20.0", "18.0", ""]
    assert second[1:] == ["78.5", "20.0625", "18.0", "1001.5"]


def test_times_are_the_sites_own_with_offset(client, placed, stillhouse, scan):
    stillhouse.log(scan(START + 1, pot=50))
    body = {"name": "Stillhouse", "time_zone": "Asia/Kolkata", "version": 0}
    assert client.put("/api/site", json=body).status_code == 200
    assert rows_of(client)[1][0] == "2026-09-21T19:43:20+05:30"


def test_what_is_not_good_is_empty(client, placed, stillhouse, scan):
    stillhouse.log(scan(START + 1, pot=Grade.POWER_ON, head=30), scan(START + 2, pot=51))
    rows = rows_of(client)
    assert [row[1:3] for row in rows[2:]] == [["", "30.0"], ["51.0", ""]]


def test_with_several_vessels_the_columns_say_which(client, placed, stillhouse, scan):
    vessel = client.post(
        "/api/vessels", json={"name": "Fermenter", "kind": "fermenter", "volume_l": 200}
    ).json()
    place = client.post("/api/places", json={"name": "ferment", "vessel_id": vessel["id"]}).json()
    body = {"place_id": place["id"], "probe_id": "28-00000a1b2c03", "effective_at": FROM}
    assert client.post("/api/placements", json=body).status_code == 201
    stillhouse.log(scan(START + 1, pot=50, room=25))
    assert rows_of(client)[0] == ["time", "Still.pot", "Still.head", "Fermenter.ferment"]


def test_a_range_is_kept_to(client, placed, stillhouse, scan):
    stillhouse.log(*(scan(START + n, pot=20 + n) for n in range(1, 100)))
    rows = rows_of(client, **{"from": "2026-09-21T14:13:30+00:00", "to": "2026-09-21T14:13:40Z"})
    assert [row[1] for row in rows[1:]] == [f"{value}.0" for value in range(30, 40)]


def test_a_sealed_and_a_fresh_part_read_alike(client, placed, stillhouse, scan):
    values = {START + n: 20 + n % 50 for n in range(1, 2000)}
    stillhouse.log(*(scan(slot, pot=value) for slot, value in values.items()))
    before = rows_of(client)
    assert stillhouse.writer.seal_due(START + 1500) > 0
    assert rows_of(client) == before
    assert [float(row[1]) for row in before[2:]] == list(values.values())


@pytest.mark.parametrize(
    ("params", "kind", "says"),
    [
        ({"to": "2026-09-21T14:00:00Z"}, "range", "not after its begin"),
        ({"from": "2027-01-01T00:00:00Z", "to": "2027-01-02T00:00:00Z"}, "range", "future"),
        ({"from": "2999-01-01T00:00:00Z"}, "range", "future"),
        ({"from": "yesterday"}, "invalid", "give a time such as"),
        ({"from": "2026-09-21T14:00:00"}, "invalid", "has no offset"),
    ],
)
def test_a_range_that_cannot_be_is_refused_before_anything_is_sent(client, params, kind, says):
    answer = client.get("/api/export.csv", params={"from": FROM, **params})
    assert answer.status_code == 422
    assert answer.json()["error"]["kind"] == kind
    assert says in answer.json()["error"]["sentence"]


def test_a_long_range_takes_no_more_memory_than_a_short_one(
    client, placed, stillhouse, scan, live_until
):
    hours, every_s = 12, 5
    for hour in range(hours):
        slots = range(START + every_s + hour * 3600, START + 1 + (hour + 1) * 3600, every_s)
        stillhouse.log(*(scan(slot, pot=50 + slot % 9, head=20) for slot in slots))
    stillhouse.writer.seal_due(START + hours * 3600)
    live_until(client, lambda live: live["slot"] == START + hours * 3600)  # only the export is left
    peaks, rows = [], 0
    for length in (1, hours):
        export = Export.of(
            client.app.house.reader,
            ZoneInfo("UTC"),
            START * 1_000_000,
            (START + length * 3600 + 1) * 1_000_000,  # the last one too
        )
        tracemalloc.start()
        rows = sum(part.count("\n") for part in export.parts())
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert rows == hours * 3600 // every_s + 2  # the header, and one that `placed` logged
    assert peaks[1] < 3 * peaks[0]  # where it were held in memory, twelve times


def test_the_command_writes_what_the_route_does(client, placed, stillhouse, scan, start):
    stillhouse.log(scan(START + 1, pot=78.5, head=20))
    words = ("export", "--data", stillhouse.data, "--from", FROM)
    process = start(*words)
    assert process.ends() == 0
    assert list(csv.reader(io.StringIO(process.text))) == rows_of(client)


def test_the_command_says_that_a_range_lies_in_the_future(stillhouse, placed, start):
    process = start("export", "--data", stillhouse.data, "--from", "2099-01-01")
    assert process.ends() == 2
    assert "lies in the future" in process.text


def test_the_command_says_where_there_is_no_store(start, tmp_path):
    process = start("export", "--data", tmp_path / "none")
    assert process.ends() == 2
    assert (
        process.text
        == f"There is no store in {tmp_path / 'none'}; choose its folder with --data.\n"
    )
