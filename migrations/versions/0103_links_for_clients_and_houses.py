"""links that say what to keep, and links for another house

Why: a client is told what has to stay as it is for the next picture of the series. Another Stopledger takes a recipe in
from the address of a link, where the photographer ticked that.

Stored data: nothing is changed; a link handed out before says nothing to keep, and no house takes anything in from it.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0103"
down_revision = "0102"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("links", sa.Column("keep", sqlmodel.sql.sqltypes.AutoString(), server_default="", nullable=False))
    op.add_column("links", sa.Column("with_bundle", sa.Boolean(), server_default=sa.false(), nullable=False))


def downgrade() -> None:
    op.drop_column("links", "with_bundle")
    op.drop_column("links", "keep")
