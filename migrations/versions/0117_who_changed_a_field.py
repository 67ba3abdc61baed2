"""who changed a field

Why: a tap that clashed was told that somebody had changed the field, where a camera's file had, or another browser; and a
frame that was logged behind such a tap froze what the record had without a word of what was tapped. The set-up now keeps
who changed each field last, and when; the frame what was tapped and not written.

Stored data: nothing; who changed a field before is not known, and of frames before nothing is said.
"""

import sqlalchemy as sa
from alembic import op

revision = "0117"
down_revision = "0116"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("standing", sa.Column("changes", sa.Text(), nullable=False, server_default="{}"))
    op.add_column("frames", sa.Column("not_written", sa.Text(), nullable=False, server_default="{}"))


def downgrade() -> None:
    op.drop_column("frames", "not_written")
    op.drop_column("standing", "changes")
