"""What the temperatures propose is not asked again once somebody has answered."""

from datetime import UTC, datetime, timedelta

import pytest
from uuid_utils.compat import uuid7

from api.record.proposals import _is_marked
from api.record.suggesting import Suggestion
from logger.store.record_tables import Mark

AT = datetime(2026, 9, 21, 12, 30, tzinfo=UTC)


def mark(kind, minutes=0, *, withdrawn=False):
    at = AT + timedelta(minutes=minutes)
    common = {"site": uuid7(), "who": "Mara", "effective_at": at, "withdrawn": withdrawn}
    return Mark.first(run=uuid7(), kind=kind, **common)


@pytest.mark.parametrize(
    ("kind", "marks", "is_marked"),
    [
        ("first_drop", [], False),
        ("first_drop", [mark("first_drop", 90)], True),  # there is but one
        ("first_drop", [mark("first_drop", 2, withdrawn=True)], True),  # that was not so
        ("first_drop", [mark("first_drop", -40, withdrawn=True)], False),  # another may be
        ("power", [mark("power", 4)], True),
        ("power", [mark("power", 4, withdrawn=True)], True),
        ("power", [mark("power", 40), mark("note", 1)], False),
    ],
)
def test_a_proposal_that_was_answered_is_not_made_again(kind, marks, is_marked):
    one = Suggestion(kind, AT.timestamp(), "It speaks for it.", None)
    assert _is_marked(one, AT, marks) is is_marked
