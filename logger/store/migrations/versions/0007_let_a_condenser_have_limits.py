"""Let a condenser have limits of its own: those that were set hold for all, as they did."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"

NAME, COLUMN = "alarm_limits", "condenser"


def upgrade() -> None:
    """Bring the store up; every row stays as it was."""
    op.add_column(NAME, sa.Column(COLUMN, sa.Uuid()))


def downgrade() -> None:
    """Bring the store back, without what only this schema holds."""
    op.execute(sa.text("DELETE FROM alarm_limits WHERE condenser IS NOT NULL"))
    with op.batch_alter_table(NAME) as batch:
        batch.drop_column(COLUMN)
