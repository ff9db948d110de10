"""Let people in: who they are, their sessions and tokens, and what they did."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"

Columns = tuple[sa.Column[object], ...]


def upgrade() -> None:
    """Bring the store up; every row stays as it was."""
    for name, columns in _new().items():
        op.create_table(name, sa.Column("id", sa.Uuid(), primary_key=True), *columns)


def downgrade() -> None:
    """Bring the store back, without what only this schema holds."""
    for name in _new():
        op.drop_table(name)


def _new() -> dict[str, Columns]:
    return {
        "people": (
            _text("name"),
            _text("role"),
            _text("passphrase"),
            sa.Column("version", sa.Integer(), nullable=False),
            _time("made_at"),
            _time("ended_at", nullable=True),
        ),
        "door_sessions": (
            sa.Column("person", sa.Uuid(), index=True),
            _text("name"),
            sa.Column("role", sa.String()),
            _time("made_at"),
            _time("seen_at"),
            _time("until_at"),
            _time("ended_at", nullable=True),
        ),
        "door_tokens": (
            _text("name"),
            _text("scopes"),
            sa.Column("secret", sa.String(), nullable=False, index=True),
            _time("made_at"),
            _time("seen_at", nullable=True),
            _time("until_at", nullable=True),
            _time("ended_at", nullable=True),
        ),
        "door_links": (
            _text("name"),
            _text("role"),
            _time("made_at"),
            _time("until_at"),
            _time("used_at", nullable=True),
            _time("ended_at", nullable=True),
        ),
        "door_events": (
            _time("at"),
            _text("kind"),
            _text("who"),
            _text("about"),
            _text("address"),
        ),
    }


def _text(name: str) -> sa.Column[object]:
    return sa.Column(name, sa.String(), nullable=False)


def _time(name: str, *, nullable: bool = False) -> sa.Column[object]:
    return sa.Column(name, sa.BigInteger(), nullable=nullable)
