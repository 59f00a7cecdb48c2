"""Weather by source, daily and hourly."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

Number = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
ELEMENTS = {
    "weather_day": ("tmin", "tmax", "rain"),
    "weather_hour": ("temp", "rh", "wind_speed", "wind_from", "rain"),
}


def upgrade() -> None:
    op.create_table(
        "weather_source",
        sa.Column("no", Number, primary_key=True, autoincrement=False),
        sa.Column("planting", Number, sa.ForeignKey("planting.no"), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("trust", sa.Integer, nullable=False),
        *(
            sa.Column(name, sa.Double)
            for name in ("latitude", "longitude", "elevation", "utc_offset")
        ),
        sa.UniqueConstraint("planting", "name", name="weather_source_name"),
    )
    for table, elements in ELEMENTS.items():
        op.create_table(
            table,
            sa.Column("source", Number, sa.ForeignKey("weather_source.no"), primary_key=True),
            sa.Column("time", Number, primary_key=True),
            *(sa.Column(name, sa.Double) for name in elements),
            sqlite_with_rowid=False,
        )


def downgrade() -> None:
    for name in ("weather_hour", "weather_day", "weather_source"):
        op.drop_table(name)
