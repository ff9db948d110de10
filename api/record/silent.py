"""What shows no strength: a cleaning run, what goes into it, and what comes of it."""

from dataclasses import replace
from uuid import UUID

from sqlmodel import Session, col

from logger.store.gauging import Content
from logger.store.record_rules import SHOWS_NO_STRENGTH
from logger.store.record_tables import Jar
from logger.store.standing import current
from logger.store.tables import Occupancy


def silent_nodes(session: Session) -> frozenset[UUID]:
    """Read the runs that show no strength, and their jars."""
    runs = current(session, Occupancy, col(Occupancy.stage).in_(SHOWS_NO_STRENGTH))
    about = {one.about for one in runs}
    jars = current(session, Jar, col(Jar.run).in_(about)) if about else ()
    return frozenset(about | {one.about for one in jars})


def without_strength(content: Content) -> Content:
    """Leave the strength out of what is shown."""
    return replace(content, strength=None)
