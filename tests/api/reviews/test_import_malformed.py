"""Files that cannot be taken are refused whole, with one sentence and the line."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from calc.errors import WormtubError
from logger.store import facts
from logger.store.tables import Occupancy, Place, table
from tests.api.reviews.shed import DELETE, GOOD, JARS, MARKS, a_trace, lines


@pytest.mark.parametrize(
    ("trace", "says"),
    [
        ("", "line 1: there is no column time"),
        ("time,pot\n", "line 2: there is nothing under"),
        (lines(*GOOD, head="at,pot,head"), "line 1: there is no column time"),
        (lines(*GOOD, head="time,pot,pot"), "line 1: two columns"),
        (lines(*GOOD, head="time,pot,haed"), 'line 1: "haed" is no place'),
        (lines(*GOOD, head="time,pot,column"), "line 1: pot still has no place column"),
        (lines(*GOOD, head="time,tun.pot,tun.head"), "line 2: no column of pot still"),
        (lines(*GOOD, head="time,pot,pot still.pot"), "line 1: .* are one place"),
        (lines(GOOD[0], GOOD[0]), "line 3: the time is the same as in line 2"),
        (lines(GOOD[1], GOOD[0]), "line 3: the time is earlier than in line 2"),
        (lines(GOOD[0], "2019-03-04T08:00:00.4Z,1,1"), "line 3: two lines fall into one second"),
        (lines(GOOD[0], "yesterday,20,20"), 'line 3: "yesterday" is no time'),
        (lines(GOOD[0], "2019-03-04T08:01:00Z,warm,20"), 'line 3: pot is "warm"; give a number'),
        (lines(GOOD[0], "2019-03-04T08:01:00Z,nan,20"), "line 3: pot is nan; a number from -55"),
        (lines(GOOD[0], "2019-03-04T08:01:00Z,999,20"), "line 3: pot is 999; a number from -55"),
        (lines(GOOD[0], "2019-03-04T08:01:00Z,20"), "line 3 has 2 cells, the first line 3"),
        (lines(GOOD[0], '2019-03-04T08:01:00Z,"20,20'), "line 3.* is no line of CSV"),
        (lines(GOOD[0]), "line 2: a trace has two lines"),
        (lines(GOOD[0], "2019-04-04T08:01:00Z,20,20"), "line 3: the trace is longer than 7 days"),
        (lines(GOOD[0], "2039-04-04T08:01:00Z,20,20"), "line 3: the trace is longer"),
        (lines("2039-03-04T08:00:00Z,1,1", "2039-03-04T08:01:00Z,1,1"), "line 3: .* the future"),
        (lines("0001-01-01T00:00:00+14:00,1,1", GOOD[0]), "line 2: .* beyond the calendar"),
    ],
)
def test_a_malformed_trace_is_refused_with_its_line(common_shed, trace, says):
    before = common_shed.counts()
    with pytest.raises(WormtubError, match=says) as refused:
        common_shed.take(trace)
    assert str(refused.value).endswith(".")
    assert common_shed.counts() == before


@pytest.mark.parametrize(
    ("files", "says"),
    [
        ({"jars": "time,volume_l\n2019-03-04T08:01:00Z,1\n"}, "jars, line 2: when the first jar"),
        ({"jars": "time\n2019-03-04T08:01:00Z\n"}, "jars, line 1: there is no column volume_l"),
        ({"jars": "time,volume_l,from_time\n2019-03-04T08:01:00Z,-1,2019-03-04T08:00:00Z\n"},
         "jars, line 2: volume_l is -1"),
        ({"jars": "time,volume_l,from_time,reading_abv\n"
                  "2019-03-04T08:01:00Z,1,2019-03-04T08:00:00Z,70\n"}, "jars, line 2: .*temperat"),
        ({"jars": "time,volume_l,from_time\n2019-03-04T09:01:00Z,1,2019-03-04T08:00:00Z\n"},
         "jars, line 2: .* outside the trace"),
        ({"marks": "time,mark\n2019-03-04T08:01:00Z,heads\n"}, 'marks, line 2: mark is "heads"'),
        ({"marks": "time,mark\n2019-03-04T07:01:00Z,hearts\n"}, "marks, line 2: .* outside the tr"),
        ({"marks": "time,mark\n2019-03-04T08:01:00Z,power\n"}, "marks, line 2: a mark of power"),
        ({"marks": "time,mark,who\n2019-03-04T08:01:00Z,note,me\n"}, 'marks, line 1: "who" is no'),
        (
            {"jars": "time,volume_l,from_time\n2019-03-04T08:05:00Z,121,2019-03-04T08:01:00Z\n"},
            "jars, line 2: 121 L in jar 1 are more than pot still holds, 120 L",
        ),
        ({"charge_abv": 10.0}, "a strength and no volume"),
        ({"charge_volume_l": 500.0}, "120"),
    ],
)  # fmt: skip
def test_malformed_notes_are_refused_and_nothing_is_half_imported(common_shed, files, says):
    before = common_shed.counts()
    with pytest.raises(WormtubError, match=says):
        common_shed.take(lines(*GOOD), **files)
    assert common_shed.counts() == before


def _whole(seconds=range(0, 600, 60)):
    return a_trace(list(seconds), [20.0] * 10, [19.0] * 10)


@pytest.mark.timeout(600)  # each file goes through the store
@settings(
    max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_two_hundred_broken_files_leave_nothing_behind(common_shed, data):
    """Break one of three good files somewhere: cut, doubled, swapped, or with signs put in."""
    shed = common_shed
    marks = MARKS.replace("T09", "T08").replace("T10", "T08").replace("T13", "T08")
    files = {
        "trace": _whole(),
        "marks": marks.splitlines()[0] + "\n2019-03-04T08:02:00Z,first_drop,,,\n",
        "jars": JARS.splitlines()[0] + "\n2019-03-04T08:05:00Z,1,70,20,density_meter,hearts\n",
    }
    which = data.draw(st.sampled_from(sorted(files)))
    files[which] = _broken(files[which], data)
    before = shed.fresh
    try:
        made = shed.take(**files)
    except WormtubError as error:
        said = str(error)
        assert said.endswith(".")
        assert "\n" not in said
        assert ", line " in said
        assert shed.counts() == before
    else:  # what was broken can still be read: it is stored whole, and taken back again
        run = facts.get(shed.engine, Occupancy, made.run_id)
        assert len(shed.read(made.from_at, made.to_at)) == made.lines
        _forget(shed, run)


def _forget(shed, run):
    """Leave the store as it was, so that every example begins from the same."""
    with shed.engine.begin() as connection:
        for name in ("series", "chunks", "blocks", "pages_10_s", "pages_60_s", "pages_600_s",
                     "placements", "jars", "marks", "occupancies", "batches"):  # fmt: skip
            connection.exec_driver_sql(DELETE.format(name))
        assert run is not None
        connection.execute(table(Place).delete().where(table(Place).c.name == "room"))


def _broken(text, data):
    rows = text.splitlines()
    at = data.draw(st.integers(0, len(rows) - 1))
    cells = rows[at].split(",")
    how = data.draw(st.sampled_from(["cell", "drop", "double", "swap", "cut", "noise", "column"]))
    if how == "cell":
        cells[data.draw(st.integers(0, len(cells) - 1))] = data.draw(
            st.one_of(st.text(max_size=12), st.floats().map(str), st.just('"'))
        )
        rows[at] = ",".join(cells)
    elif how == "drop":
        rows[at] = ",".join(cells[:-1])
    elif how == "double":
        rows.insert(at, rows[at])
    elif how == "swap":
        other = data.draw(st.integers(0, len(rows) - 1))
        rows[at], rows[other] = rows[other], rows[at]
    elif how == "cut":
        return text[: data.draw(st.integers(0, len(text)))]
    elif how == "noise":
        place = data.draw(st.integers(0, len(text)))
        return text[:place] + data.draw(st.text(min_size=1, max_size=6)) + text[place:]
    else:
        rows = [f"{row},{data.draw(st.sampled_from(['x', '', '1']))}" for row in rows]
    return "\n".join(rows)
