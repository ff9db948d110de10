"""Keep the record: batches, lots and transfers, the marks and jars of runs."""

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Bring the store up; every row stays as it was."""


def downgrade() -> None:
    """Bring the store back, without what only this schema holds."""
