"""Keep what was estimated, as it was told, beside what was measured."""

import sqlalchemy as sa
from alembic import op

from logger.store.types import BigKey

revision = "0006"
down_revision = "0005"

NAME = "issued_estimates"


def upgrade() -> None:
    """Bring the store up; every row stays as it was."""
    op.create_table(
        NAME,
        sa.Column("number", sa.Integer(), primary_key=True),
        sa.Column("run", sa.Uuid(), nullable=False),
        sa.Column("slot", BigKey, nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("quantity", sa.String(), nullable=False),
        sa.Column("value", sa.Float()),
        sa.Column("low", sa.Float()),
        sa.Column("high", sa.Float()),
        sa.Column("low_68", sa.Float()),
        sa.Column("high_68", sa.Float()),
        sa.Column("why", sa.String()),
        sa.Column("model_version", sa.Integer(), nullable=False),
    )
    op.create_index("ix_issued_estimates_run_slot", NAME, ["run", "slot"])


def downgrade() -> None:
    """Bring the store back, without what only this schema holds."""
    op.drop_index("ix_issued_estimates_run_slot", NAME)
    op.drop_table(NAME)
