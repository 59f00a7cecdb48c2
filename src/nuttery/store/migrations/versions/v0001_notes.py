"""Notes, plantings, shrubs, and what is worked out from them."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

Number = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "register_info",
        sa.Column("name", sa.Text, primary_key=True),
        sa.Column("value", sa.Text, nullable=False),
    )
    op.create_table(
        "planting",
        sa.Column("no", Number, primary_key=True, autoincrement=False),
        sa.Column("id", sa.LargeBinary, nullable=False, unique=True),
        sa.Column("version", Number, nullable=False),
    )
    op.create_table(
        "shrub",
        sa.Column("no", Number, primary_key=True, autoincrement=False),
        sa.Column("planting", Number, sa.ForeignKey("planting.no"), nullable=False),
        sa.Column("tag", sa.Text, nullable=False),
        sa.UniqueConstraint("planting", "tag", name="shrub_tag"),
    )
    op.create_table(
        "note",
        sa.Column("n", Number, primary_key=True, autoincrement=False),
        sa.Column("id", sa.LargeBinary, nullable=False, unique=True),
        sa.Column("planting", Number, sa.ForeignKey("planting.no"), nullable=False),
        sa.Column("shrub", Number, sa.ForeignKey("shrub.no")),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("seen", Number, nullable=False),
        sa.Column("recorded", Number, nullable=False),
        sa.Column("hash", sa.LargeBinary, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
    )
    op.create_index("note_of_shrub", "note", ["shrub", "seen"])
    op.create_index("note_of_kind", "note", ["planting", "kind", "seen"])
    op.create_table(
        "stand_in",
        sa.Column("note", Number, sa.ForeignKey("note.n"), primary_key=True, autoincrement=False),
        sa.Column("id", sa.LargeBinary, nullable=False),
        sa.Column("instead_of", Number, sa.ForeignKey("note.n"), nullable=False),
        sa.Column("thread", Number, sa.ForeignKey("note.n"), nullable=False),
        sa.Column("depth", Number, nullable=False),
        sa.Column("recorded", Number, nullable=False),
    )
    op.create_index("stand_in_thread", "stand_in", ["thread"])
    op.create_table(
        "shrub_now",
        sa.Column(
            "shrub", Number, sa.ForeignKey("shrub.no"), primary_key=True, autoincrement=False
        ),
        sa.Column("digest", sa.Text, nullable=False),
    )
    op.execute("INSERT INTO register_info (name, value) VALUES ('version', '0')")


def downgrade() -> None:
    for name in ("shrub_now", "stand_in", "note", "shrub", "planting", "register_info"):
        op.drop_table(name)
