"""Where notices go: targets, each tried by a button."""

from typing import Annotated, Any, Literal
from uuid import UUID, uuid4

from fastapi import Response
from pydantic import AwareDatetime, BaseModel, Field, StringConstraints
from sqlalchemy import func
from sqlmodel import Session, col, select

from api.access import Asking, Role, needs
from api.alarms.notices.letters import Letter, Outcome
from api.alarms.notices.words import TEST_BODY, TEST_TITLE
from api.entries import (
    Entry,
    NewEntry,
    Record,
    Text,
    Version,
    correct,
    entered,
    standing,
    store,
)
from api.errors import declared
from api.house import House, Housed
from api.routing import Router
from api.site import stored as site
from logger.store import facts
from logger.store.alarm_tables import Notice, NoticeTarget
from logger.store.failures import file_of, told

router = Router(prefix="/alarms/targets", tags=["alarms"], dependencies=[needs(Role.WATCH)])

Address = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=3, max_length=1000, pattern=r"^\S+$")
]
Least = Annotated[
    Literal["low", "medium", "high"], Field(description="The least priority it is told of.")
]
AfterMin = Annotated[
    int,
    Field(
        ge=0,
        le=120,
        description="0: told at once. Else only of high alarms, once nobody has acknowledged one "
        "for so many minutes.",
    ),
]


class NewTarget(NewEntry):
    """A target to tell; its address is written as Apprise writes addresses."""

    name: Text
    address: Address
    least_priority: Least = "medium"
    after_min: AfterMin = 0


class TargetChange(Entry):
    """What shall stand of a target from now on; what is left out stays as it is."""

    name: Text = ""
    address: Address = ""
    least_priority: Least = "medium"
    after_min: AfterMin = 0
    version: Version


class Target(Record):
    """A target as it stands; the rest of its address holds passwords and is not shown again."""

    name: str
    address_kind: Annotated[str, Field(description="What the address begins with: mailto.")]
    least_priority: Least
    after_min: int
    waiting: Annotated[int, Field(description="Notices that it has not taken yet.")]
    last_sent_at: AwareDatetime | None
    problem: Annotated[str, Field(description="Why it has not taken one; empty: none waits.")]


class Tried(BaseModel):
    """What became of a test."""

    sent: bool
    says: str


@router.get("")
def list_targets(house: Housed) -> list[Target]:
    """Return the targets, and how it went with each."""
    found = facts.all_current(house.reader.engine, NoticeTarget)
    return [_record(house, one) for one in found]


@router.post("", status_code=201, dependencies=[needs(Role.OWN)], responses=declared(409))
def add_target(house: Housed, asking: Asking, body: NewTarget) -> Target:
    """Add a target; its address must be one that a notice can be sent to."""
    house.calling.post.check(body.address)
    made = NoticeTarget.first(**body.model_dump(), **entered(house, asking))
    store(house, made)
    return _record(house, made)


@router.put("/{target_id}", dependencies=[needs(Role.OWN)], responses=declared(404, 409))
def change_target(house: Housed, asking: Asking, target_id: UUID, body: TargetChange) -> Target:
    """Change a target; without an address the one that is kept stays."""
    old = _target(house, target_id)
    sent = body.model_dump(exclude_unset=True, exclude={"version"})
    if "address" in sent:
        house.calling.post.check(body.address)
    return _record(house, correct(house, asking, old, body.version, sent))


@router.delete(
    "/{target_id}", status_code=204, dependencies=[needs(Role.OWN)], responses=declared(404, 409)
)
def remove_target(house: Housed, asking: Asking, target_id: UUID, version: int) -> Response:
    """Take a target away; what it has not taken yet is dropped."""
    correct(house, asking, _target(house, target_id), version, {"withdrawn": True})
    house.calling.committed()
    return Response(status_code=204)


@router.post("/{target_id}/test", dependencies=[needs(Role.OWN)], responses=declared(404))
def test_target(house: Housed, target_id: UUID) -> Tried:
    """Send a test, and say in one sentence how it went."""
    target = _target(house, target_id)
    told_site, _ = site(house.reader.engine)
    letter = Letter(
        f"test-{uuid4()}",
        target.address,
        TEST_TITLE.format(site=told_site.name),
        TEST_BODY.format(link=house.calling.speaker().link),
    )
    answer = house.calling.post.ask(letter)
    sent = answer.outcome is Outcome.TAKEN
    return Tried(sent=sent, says=f"{target.name} took it." if sent else answer.says)


def _target(house: House, target_id: UUID) -> NoticeTarget:
    return facts.get(house.reader.engine, NoticeTarget, target_id)


def _record(house: House, target: NoticeTarget) -> Target:
    names = ("name", "least_priority", "after_min")
    fields: dict[str, Any] = {name: getattr(target, name) for name in names}
    return Target(
        **standing(target),
        **fields,
        address_kind=target.address.partition(":")[0],
        **_progress(house, target.about),
    )


def _progress(house: House, target_id: UUID) -> dict[str, Any]:
    engine = house.reader.engine
    own = col(Notice.target_id) == target_id
    waits = own, col(Notice.sent_at).is_(None), col(Notice.dropped_at).is_(None)
    newest = select(Notice.problem).where(*waits).order_by(col(Notice.next_attempt_at).desc())
    with told(file_of(engine)), Session(engine) as session:
        waiting = session.exec(select(func.count()).where(*waits)).one()
        last = session.exec(select(func.max(Notice.sent_at)).where(own)).one()
        problem = session.exec(newest).first()
    return {"waiting": waiting, "last_sent_at": last, "problem": problem or ""}
