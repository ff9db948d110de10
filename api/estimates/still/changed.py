"""Since when a run stands otherwise, where what the record says of it has changed."""

from dataclasses import replace
from math import inf

from api.estimates.ground import JarGround, RunGround


def changed_since(before: RunGround, after: RunGround) -> float:
    """Return the first slot from which a follower would go another way.

    Minus infinity: from its beginning; infinity: nothing that it learns from has changed.
    """
    if _begun_with(before) != _begun_with(after):
        return -inf
    spout = {one.slot for one in set(before.spout) ^ set(after.spout)}
    powers = {slot for slot, _ in set(before.powers_w) ^ set(after.powers_w)}
    alone = {before.first_drop_slot} ^ {after.first_drop_slot}
    alone |= {before.heat_off_slot} ^ {after.heat_off_slot}
    slots = spout | powers | {one for one in alone if one is not None}
    return min(min(slots, default=inf), _jars_since(before.jars, after.jars))


def _begun_with(run: RunGround) -> RunGround:
    """Leave what a follower begins with: the marks of heat say how it is to be guessed."""
    return replace(
        run,
        spout=(), jars=(), powers_w=run.powers_w[:1], first_drop_slot=None, heat_off_slot=None,
        end_abv=None, end_left_share=None, past=(),
    )  # fmt: skip


def _jars_since(before: tuple[JarGround, ...], after: tuple[JarGround, ...]) -> float:
    old, new = ({one.from_slot: one for one in jars} for jars in (before, after))
    since = inf
    for slot in old.keys() | new.keys():
        was, now = old.get(slot), new.get(slot)
        if was is None:
            since = min(since, slot)  # what was over when it was begun is not known
        elif now is None:
            since = min(since, _end(was))
        elif replace(was, holds_l=None) != replace(now, holds_l=None):
            since = min(since, _end(was), _end(now))
    return since


def _end(jar: JarGround) -> float:
    return inf if jar.to_slot is None else jar.to_slot
