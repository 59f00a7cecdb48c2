"""A place for answers that were worked out once."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

Number = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "kept_answer",
        sa.Column("key", sa.Text, primary_key=True),
        sa.Column("value", sa.LargeBinary, nullable=False),
        sa.Column("kept", Number, nullable=False),
    )
    op.create_index("kept_answer_kept", "kept_answer", ["kept"])


def downgrade() -> None:
    op.drop_table("kept_answer")
