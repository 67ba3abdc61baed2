"""the tone curve of a camera's rendered files

Why: rendered files were read with a flat tolerance, and an ordinary curve made a perfectly logged change look half a stop
off. What is not known of the curve now widens the tolerance with the distance from the reference frame's level, and what
exposure series teach of it is used wherever such a file is read.

Stored data: no table changes. The evidence of all frames is worked out anew, since its tolerances are others.
"""

revision = "0104"
down_revision = "0103"
branch_labels = None
depends_on = None


def upgrade() -> None:
    pass


def downgrade() -> None:
    pass
