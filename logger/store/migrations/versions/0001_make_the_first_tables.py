"""Make the first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")

BLOBS = {
    "blocks": ("periods",),
    "chunks": ("readings",),
    "pages_10_s": ("extremes", "totals"),
    "pages_60_s": ("extremes", "totals"),
    "pages_600_s": ("extremes", "totals"),
}

Columns = tuple[sa.schema.SchemaItem, ...]


def upgrade() -> None:
    """Bring the store up."""
    for name, columns in _facts().items():
        _make_facts(name, columns)
    _make_what_was_seen()
    op.create_table(
        "recent_scans",
        sa.Column("slot", BIG, primary_key=True, autoincrement=False),
        sa.Column("period_s", sa.Integer(), nullable=False),
        sa.Column("readings", sa.LargeBinary(), nullable=False),
    )
    for name, blobs in BLOBS.items():
        op.create_table(
            name,
            sa.Column("id", BIG, primary_key=True, autoincrement=False),
            *(sa.Column(blob, sa.LargeBinary(), nullable=False) for blob in blobs),
        )


def downgrade() -> None:
    """Bring the store back to nothing."""
    seen = ("probes_seen", "series", "clock_epochs", "store_identity", "recent_scans")
    for name in (*_facts(), *seen, *BLOBS):
        op.drop_table(name)


def _facts() -> dict[str, Columns]:
    return {
        "vessels": (
            sa.Column("name", sa.String(), nullable=False),
            sa.Column("kind", sa.String(), nullable=False),
            sa.Column("volume_l", sa.Float()),
            sa.Column("material", sa.String()),
            sa.Column("heat_loss_w_per_k", sa.Float()),
        ),
        "places": (
            sa.Column("name", sa.String(), nullable=False),
            sa.Column("vessel", sa.Uuid()),
        ),
        "placements": (
            sa.Column("place", sa.Uuid(), nullable=False, index=True),
            sa.Column("probe_id", sa.String(), nullable=False),
            sa.Column("quantity", sa.String(), nullable=False),
            sa.Column("ended_at", sa.BigInteger()),
        ),
        "calibrations": (
            sa.Column("probe_id", sa.String(), nullable=False),
            sa.Column("quantity", sa.String(), nullable=False),
            sa.Column("slope", sa.Float(), nullable=False),
            sa.Column("offset", sa.Float(), nullable=False),
            sa.Column("method", sa.String(), nullable=False),
            sa.CheckConstraint("slope > 0", name="rising"),
        ),
        "probe_cards": (
            sa.Column("probe_id", sa.String(), nullable=False, index=True),
            sa.Column("name", sa.String(), nullable=False),
            sa.Column("retired", sa.Boolean(), nullable=False),
        ),
        "settings": (
            sa.Column("key", sa.String(), nullable=False, index=True),
            sa.Column("value", sa.String(), nullable=False),
        ),
    }


def _make_facts(name: str, columns: Columns) -> None:
    op.create_table(
        name,
        sa.Column("id", sa.Uuid(), primary_key=True),
        sa.Column("about", sa.Uuid(), nullable=False, index=True),
        sa.Column("site", sa.Uuid(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("effective_at", sa.BigInteger(), nullable=False),
        sa.Column("recorded_at", sa.BigInteger(), nullable=False),
        sa.Column("supersedes", sa.Uuid()),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        *columns,
        sa.UniqueConstraint("supersedes"),
    )


def _make_what_was_seen() -> None:
    op.create_table(
        "probes_seen",
        sa.Column("probe_id", sa.String(), primary_key=True),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("master", sa.String(), nullable=False),
        sa.Column("resolution_bits", sa.Integer()),
        sa.Column("supply", sa.String(), nullable=False),
        sa.Column("likely_copy", sa.Boolean(), nullable=False),
        sa.Column("bulk", sa.Boolean(), nullable=False),
        sa.Column("first_seen_at", sa.BigInteger(), nullable=False),
        sa.Column("last_seen_at", sa.BigInteger(), nullable=False),
    )
    op.create_table(
        "series",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column("probe_id", sa.String(), nullable=False),
        sa.Column("quantity", sa.String(), nullable=False),
        sa.Column("counts_per_unit", sa.Integer(), nullable=False),
        sa.Column("last_good_slot", BIG),
        sa.Column("last_good_count", sa.Integer()),
        sa.UniqueConstraint("probe_id", "quantity", "counts_per_unit"),
    )
    op.create_table(
        "clock_epochs",
        sa.Column("id", sa.Uuid(), primary_key=True),
        sa.Column("from_slot", BIG, nullable=False),
        sa.Column("offset_us", BIG, nullable=False),
        sa.Column("boot_id", sa.String(), nullable=False),
        sa.Column("boottime_us", BIG, nullable=False),
        sa.Column("synchronised", sa.Boolean(), nullable=False),
        sa.Column("recorded_at", sa.BigInteger(), nullable=False),
        sa.Column("supersedes", sa.Uuid()),
        sa.UniqueConstraint("supersedes"),
    )
    op.create_table(
        "store_identity",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column("site", sa.Uuid(), nullable=False),
        sa.Column("epoch", sa.Uuid(), nullable=False),
        sa.Column("created_at", sa.BigInteger(), nullable=False),
        sa.Column("opened_at", sa.BigInteger(), nullable=False),
    )
