"""before the first release

Why: a file that was filled by a version before 0.1.0 stands at this step, and goes on from here. The thirteen steps
that led to it are one now (0100); an empty file has nothing to do here.

Stored data: none.
"""

revision = "0013"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    pass


def downgrade() -> None:
    pass
