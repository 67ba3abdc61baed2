"""pictures withdrawn from a link

Why: a link can be withdrawn as a whole. One of its pictures could not: a client who asks for that had to be given
another address.

Stored data: nothing is changed; every link shows what it showed.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0107"
down_revision = "0106"
branch_labels = None
depends_on = None


def upgrade() -> None:
    column = sa.Column("withdrawn_pictures", sqlmodel.sql.sqltypes.AutoString(), server_default="", nullable=False)
    op.add_column("links", column)


def downgrade() -> None:
    op.drop_column("links", "withdrawn_pictures")
