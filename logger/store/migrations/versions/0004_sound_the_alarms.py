"""Sound the alarms: events, limits, how far they were judged, and the notices to be sent."""

import sqlalchemy as sa
from alembic import op

from logger.store.types import BigKey

revision = "0004"
down_revision = "0003"

Columns = tuple[sa.schema.SchemaItem, ...]


def upgrade() -> None:
    """Bring the store up; every row stays as it was."""
    for name, columns in _new().items():
        op.create_table(name, *columns)
    for name, columns in _new_facts().items():
        _make_facts(name, columns)


def downgrade() -> None:
    """Bring the store back, without what only this schema holds."""
    for name in (*_new(), *_new_facts()):
        op.drop_table(name)


def _new() -> dict[str, Columns]:
    return {
        "alarm_events": (
            sa.Column("number", sa.Integer(), primary_key=True),
            sa.Column("id", sa.Uuid(), nullable=False),
            sa.Column("rule", sa.String(), nullable=False, index=True),
            _text("subject"),
            _text("where"),
            sa.Column("slot", BigKey, nullable=False, index=True),
            sa.Column("at", sa.BigInteger(), nullable=False, index=True),
            _text("what"),
            _text("state_before"),
            _text("state_after"),
            _text("covers"),
            _time("shelved_until"),
            _text("who"),
            _text("why"),
            sa.Column("value", sa.Float()),
            sa.Column("limit", sa.Float()),
            _text("unit"),
            _text("priority"),
            _time("recorded_at", nullable=False),
            sa.UniqueConstraint("id"),
        ),
        "alarm_progress": (
            sa.Column("id", sa.Integer(), primary_key=True),
            sa.Column("slot", BigKey, nullable=False),
        ),
        "notices": (
            sa.Column("id", sa.Uuid(), primary_key=True),
            sa.Column("event_id", sa.Uuid(), index=True),
            sa.Column("target_id", sa.Uuid(), nullable=False, index=True),
            _text("priority"),
            _text("text"),
            sa.Column("round", sa.Integer(), nullable=False),
            _time("created_at", nullable=False),
            sa.Column("attempts", sa.Integer(), nullable=False),
            sa.Column("next_attempt_at", sa.BigInteger(), nullable=False, index=True),
            _time("started_at"),
            _time("sent_at"),
            _time("dropped_at"),
            sa.Column("maybe_repeat", sa.Boolean(), nullable=False),
            _text("problem"),
        ),
    }


def _new_facts() -> dict[str, Columns]:
    return {
        "alarm_limits": (
            sa.Column("rule", sa.String(), nullable=False, index=True),
            sa.Column("limit", sa.Float(), nullable=False),
            sa.Column("deadband", sa.Float(), nullable=False),
            sa.Column("on_delay_s", sa.Integer(), nullable=False),
            sa.Column("off_delay_s", sa.Integer(), nullable=False),
            _text("reason"),
        ),
        "notice_targets": (
            _text("name"),
            _text("address"),
            _text("least_priority"),
            sa.Column("after_min", sa.Integer(), nullable=False),
        ),
    }


def _make_facts(name: str, columns: Columns) -> None:
    op.create_table(
        name,
        sa.Column("id", sa.Uuid(), primary_key=True),
        sa.Column("about", sa.Uuid(), nullable=False, index=True),
        sa.Column("site", sa.Uuid(), nullable=False),
        _text("who"),
        _time("effective_at", nullable=False),
        _time("recorded_at", nullable=False),
        sa.Column("supersedes", sa.Uuid()),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        *columns,
        sa.UniqueConstraint("supersedes"),
    )


def _text(name: str) -> sa.Column[object]:
    return sa.Column(name, sa.String(), nullable=False)


def _time(name: str, *, nullable: bool = True) -> sa.Column[object]:
    return sa.Column(name, sa.BigInteger(), nullable=nullable)
