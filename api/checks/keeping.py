"""Checks of what keeps the record safe: clock, card, store, backups, notices, certificate."""

import os
import shutil
from datetime import UTC, datetime, timedelta
from typing import Final

from sqlalchemy import func, select
from sqlmodel import Session, col

from api.checks.check import Check, Ground, age, bad, fine, warn
from api.doors.addresses import is_loopback
from logger.store import backup
from logger.store.alarm_tables import Notice
from logger.store.database import FILE_NAME
from logger.store.failures import file_of, told
from logger.store.scans import newest_slot

MEGABYTE: Final = 1_000_000
LOW_MB: Final = 200  # a hot day at one scan a second grows the file by a few MB
EMPTY_MB: Final = 20
LATE: Final = 2.5  # backups older than so many of their intervals were missed, not just due
WAITING: Final = timedelta(minutes=5)  # a notice that has not gone by then has not come in time
SOON: Final = timedelta(days=14)
EARLIEST: Final = datetime.min.replace(tzinfo=UTC)


def clock(ground: Ground) -> Check:
    """Look at whether a time source keeps the clock."""
    if ground.clock.synchronised():
        return fine("clock", "The clock is kept right by a time source.")
    return warn(
        "clock",
        "The clock is not synchronised, so times may be wrong; no reading is lost.",
        "Connect the machine to a network with a time server, or set the clock by hand; the "
        "times of what was logged meanwhile are put right then.",
    )


def disk(ground: Ground) -> Check:
    """Look at whether the card takes anything, and at the room that is left."""
    if not os.access(ground.settings.data, os.W_OK):
        return bad(
            "disk",
            f"{ground.settings.data} cannot be written: nothing more is kept.",
            "A card that fails goes read-only: make a backup elsewhere and fit another card; "
            "else make the folder writable for this user.",
        )
    free_mb = shutil.disk_usage(ground.settings.data).free / MEGABYTE
    says = f"{free_mb:,.0f} MB are free where the data lie."
    if free_mb > LOW_MB:
        return fine("disk", says)
    tell = bad if free_mb < EMPTY_MB else warn
    return tell("disk", says, "Free space there, or fit a larger card.")


def store(ground: Ground) -> Check:
    """Look at whether the record can be read."""
    size_mb = (ground.settings.data / FILE_NAME).stat().st_size / MEGABYTE
    with told(file_of(ground.engine)), ground.engine.connect() as connection:
        newest_slot(connection)  # a sentence where the file cannot be read
    return fine("store", f"The record takes {size_mb:,.1f} MB.")


def backups(ground: Ground) -> Check:
    """Look at how old the newest backup is, and whether its folder is there."""
    settings = ground.settings
    found = backup.found_in(settings.backups)
    if settings.backup_every_h == 0 and not found:
        do = "Set backup_every_h in wormtub.toml, or run wormtub backup now and then."
        return warn("backups", "No backup is made by itself, and there is none.", do)
    if settings.backup_to is not None and not settings.backup_to.is_dir():
        return bad(
            "backups",
            f"The folder {settings.backup_to} for backups is not there.",
            "Mount the stick it is on, or choose another with backup_to.",
        )
    if not found:
        says = f"There is no backup in {settings.backups} yet; the first is due within an hour."
        return warn("backups", says, "Let the logger run, or run wormtub backup.")
    known = [one.made_at for one in found if one.made_at <= ground.now]
    old = ground.now - max(known, default=EARLIEST)  # one of a clock once ahead tells nothing
    says = (
        f"The newest backup is {age(old.total_seconds())} old, in {settings.backups}."
        if known
        else f"Every backup in {settings.backups} is dated ahead of now: the clock was wrong."
    )
    if settings.backup_every_h and old > LATE * timedelta(hours=settings.backup_every_h):
        return warn("backups", says, "See what the logger says of it (wormtub backup tries now).")
    return fine("backups", says)


def notices(ground: Ground) -> Check:
    """Look at what should have been sent."""
    before = ground.now - WAITING
    late = select(func.count()).where(
        col(Notice.sent_at).is_(None),
        col(Notice.dropped_at).is_(None),
        col(Notice.created_at) < before,
    )
    with told(file_of(ground.engine)), Session(ground.engine) as session:
        number = session.scalar(late) or 0
        problem = session.scalar(
            select(col(Notice.problem))
            .where(col(Notice.sent_at).is_(None), col(Notice.dropped_at).is_(None))
            .order_by(col(Notice.created_at).desc())
            .limit(1)
        )
    if not number:
        return fine("notices", "Nothing waits to be sent.")
    says = f"{number} unsent after more than {age(WAITING.total_seconds())}"
    return bad(
        "notices",
        f"{says}: {problem}" if problem else f"{says}.",
        "Check the network, and try each target on the page Alarms.",
    )


def certificate(ground: Ground) -> Check:
    """Look at how long phones can still come in by HTTPS."""
    file = ground.settings.tls_cert
    if file is None and is_loopback(ground.settings.host):
        return fine(
            "certificate", "The service speaks plain HTTP, which is for this machine alone."
        )
    if file is None:
        return warn(
            "certificate",
            "The service speaks plain HTTP to other machines: a passphrase can be read on the way.",
            "Run wormtub certificate and set tls_cert and tls_key in wormtub.toml.",
        )
    from cryptography import x509  # noqa: PLC0415 - 9 MB, and nothing to read on plain HTTP

    try:
        until = x509.load_pem_x509_certificate(file.read_bytes()).not_valid_after_utc
    except (OSError, ValueError) as error:
        return bad(
            "certificate", f"{file} is no certificate ({error}).", "Run wormtub certificate."
        )
    left = until - ground.now
    if left < timedelta(0):
        return bad(
            "certificate", f"The certificate ended on {until:%Y-%m-%d}.", "Run wormtub certificate."
        )
    says = f"The certificate holds until {until:%Y-%m-%d}."
    return (
        fine("certificate", says)
        if left > SOON
        else warn("certificate", says, "Run wormtub certificate.")
    )
