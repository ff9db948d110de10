"""Sound the alarms: events, limits, covers, and the notices to be sent."""

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Bring the store up; every row stays as it was."""


def downgrade() -> None:
    """Bring the store back, without what only this schema holds."""
