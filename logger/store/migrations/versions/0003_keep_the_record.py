"""Keep the record: batches, lots and transfers, the marks and jars of runs."""

import sqlalchemy as sa
from alembic import op
from uuid_utils.compat import uuid7

revision = "0003"
down_revision = "0002"

Columns = tuple[sa.Column[object], ...]


def upgrade() -> None:
    """Bring the store up; every row stays as it was."""
    for name, columns in _new().items():
        _make_facts(name, columns)
    _name_batches()


def downgrade() -> None:
    """Bring the store back, without what only this schema holds."""
    for name in _new():
        op.drop_table(name)


def _new() -> dict[str, Columns]:
    return {
        "batches": (
            sa.Column("name", sa.String(), nullable=False, index=True),
            sa.Column("kind_of_wash", sa.String(), nullable=False),
            sa.Column("on_grain", sa.Boolean()),
            sa.Column("note", sa.String(), nullable=False),
        ),
        "lots": (
            sa.Column("kind", sa.String(), nullable=False),
            sa.Column("name", sa.String(), nullable=False),
            sa.Column("vessel", sa.Uuid()),
            sa.Column("batch", sa.String(), index=True),
            sa.Column("origin", sa.String(), nullable=False),
        ),
        "measures": (*_gauged(), sa.Column("lot", sa.Uuid(), nullable=False, index=True)),
        "transfers": (
            *_gauged(),
            sa.Column("from_lot", sa.Uuid(), index=True),
            sa.Column("to_lot", sa.Uuid(), index=True),
            sa.Column("kind", sa.String(), nullable=False),
            sa.Column("text", sa.String(), nullable=False),
        ),
        "marks": (
            sa.Column("run", sa.Uuid(), nullable=False, index=True),
            sa.Column("kind", sa.String(), nullable=False),
            sa.Column("power_kw", sa.Float()),
            sa.Column("text", sa.String(), nullable=False),
            sa.Column("smell", sa.String(), nullable=False, server_default="[]"),
            sa.Column("source", sa.String(), nullable=False),
        ),
        "jar_vessels": (
            sa.Column("number", sa.Integer(), nullable=False, index=True),
            sa.Column("tare_kg", sa.Float()),
            sa.Column("volume_l", sa.Float()),
        ),
        "jars": (
            *_gauged(),
            sa.Column("run", sa.Uuid(), nullable=False, index=True),
            sa.Column("number", sa.Integer(), nullable=False),
            sa.Column("ended_at", sa.BigInteger()),
            sa.Column("cut", sa.String()),
            sa.Column("text", sa.String(), nullable=False),
            sa.Column("smell", sa.String(), nullable=False, server_default="[]"),
        ),
        "entries": _entry(),
        "stock_locks": (sa.Column("note", sa.String(), nullable=False),),
    }


def _entry() -> Columns:
    return (
        sa.Column("kind", sa.String(), nullable=False, index=True),
        sa.Column("batch", sa.String(), index=True),
        sa.Column("vessel", sa.Uuid()),
        sa.Column("lot", sa.Uuid(), index=True),
        sa.Column("refers", sa.Uuid()),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("mass_kg", sa.Float()),
        sa.Column("volume_l", sa.Float()),
        sa.Column("temperature_c", sa.Float()),
        sa.Column("reading_sg", sa.Float()),
        sa.Column("reference_temperature_c", sa.Float()),
        sa.Column("reading_abv", sa.Float()),
        sa.Column("ph", sa.Float()),
        sa.Column("percent", sa.Float()),
        sa.Column("target_abv", sa.Float()),
        sa.Column("daily_fall_abv", sa.Float()),
        sa.Column("slow_from_abv", sa.Float()),
        sa.Column("tare_kg", sa.Float()),
        sa.Column("low_c", sa.Float()),
        sa.Column("high_c", sa.Float()),
        sa.Column("planned_min", sa.Float()),
        sa.Column("ended_at", sa.BigInteger()),
        sa.Column("count", sa.Integer()),
        sa.Column("starch_left", sa.Boolean()),
        sa.Column("smell", sa.String(), nullable=False, server_default="[]"),
        sa.Column("text", sa.String(), nullable=False),
    )


def _gauged() -> Columns:
    return (
        sa.Column("volume_l", sa.Float()),
        sa.Column("volume_temperature_c", sa.Float()),
        sa.Column("volume_error_l", sa.Float()),
        sa.Column("mass_kg", sa.Float()),
        sa.Column("reading_abv", sa.Float()),
        sa.Column("temperature_c", sa.Float()),
        sa.Column("instrument", sa.String()),
        sa.Column("reading_error_abv", sa.Float()),
    )


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


def _name_batches() -> None:
    """Make a batch of every name that a vessel was ever taken by."""
    connection = op.get_bind()
    found = connection.exec_driver_sql(
        "SELECT batch, site, who, MIN(effective_at), MIN(recorded_at) FROM occupancies "
        "WHERE id NOT IN (SELECT supersedes FROM occupancies WHERE supersedes IS NOT NULL) "
        "AND withdrawn = 0 GROUP BY batch"
    )
    for name, site, who, began_us, recorded_us in found.all():
        made = uuid7().hex
        connection.exec_driver_sql(
            "INSERT INTO batches (id, about, site, who, effective_at, recorded_at, version, "
            "withdrawn, name, kind_of_wash, note) VALUES (?, ?, ?, ?, ?, ?, 1, 0, ?, 'other', '')",
            (made, made, site, who, began_us, recorded_us, name),
        )
