"""Furnish the house: condensers, occupancies, points of calibrations, and more of what stands."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

Columns = tuple[sa.Column[object], ...]


def upgrade() -> None:
    """Bring the store up; every row stays as it was."""
    for name, columns in _added().items():
        for column in columns:
            op.add_column(name, column)
    for name, columns in _new().items():
        _make_facts(name, columns)


def downgrade() -> None:
    """Bring the store back, without what only this schema holds."""
    for name in _new():
        op.drop_table(name)
    for name, columns in _added().items():
        with op.batch_alter_table(name) as table:
            for column in columns:
                table.drop_column(column.name)


def _added() -> dict[str, Columns]:
    return {
        "vessels": (
            sa.Column("insulation", sa.String()),
            sa.Column("heat_source", sa.String(), nullable=False, server_default="none"),
            sa.Column("power_kw", sa.Float()),
            sa.Column("element_cover_l", sa.Float()),
        ),
        "places": (
            sa.Column("condenser", sa.Uuid()),
            sa.Column("head_probe", sa.String()),
        ),
        "calibrations": (
            sa.Column("points", sa.String(), nullable=False, server_default="[]"),
            sa.Column("residual_c", sa.Float()),
        ),
    }


def _new() -> dict[str, Columns]:
    return {
        "condensers": (
            sa.Column("vessel", sa.Uuid(), nullable=False, index=True),
            sa.Column("kind", sa.String(), nullable=False),
            sa.Column("name", sa.String(), nullable=False),
            sa.Column("flow_l_min", sa.Float()),
            sa.Column("duty_kw", sa.Float()),
        ),
        "occupancies": (
            sa.Column("vessel", sa.Uuid(), nullable=False, index=True),
            sa.Column("batch", sa.String(), nullable=False),
            sa.Column("stage", sa.String(), nullable=False),
            sa.Column("ended_at", sa.BigInteger()),
        ),
        "calibration_points": (
            sa.Column("probe_id", sa.String(), nullable=False, index=True),
            sa.Column("kind", sa.String(), nullable=False),
            sa.Column("reference_c", sa.Float(), nullable=False),
            sa.Column("measured_c", sa.Float(), nullable=False),
            sa.Column("spread_c", sa.Float(), nullable=False),
            sa.Column("slope_c_per_min", sa.Float(), nullable=False),
            sa.Column("readings", sa.Integer(), nullable=False),
            sa.Column("pressure_hpa", sa.Float()),
            sa.Column("reference", sa.String(), nullable=False),
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
