"""${message}."""

import sqlalchemy as sa
from alembic import op
${imports if imports else ""}
revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}


def upgrade() -> None:
    """Bring the store up."""
    ${upgrades if upgrades else "pass"}


def downgrade() -> None:
    """Bring the store back."""
    ${downgrades if downgrades else "pass"}
