"""Let people in: who they are, their sessions and tokens, and what they did."""

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Bring the store up; every row stays as it was."""


def downgrade() -> None:
    """Bring the store back, without what only this schema holds."""
