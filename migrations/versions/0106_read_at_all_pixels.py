"""readings of reduced pictures are made anew

Why: a JPEG above 16 megapixels was read from averaged codes, which are darker than the light of a fine texture, and of a
TIFF with 16 bits of each colour only the upper 8 were read. Both are now read with all their pixels and bits, and grey
pictures of 16 bits by their profile.

Stored data: such readings at patches that are still drawn are taken away, and made anew from the kept files after the
start, off every request. Those at retired patches stay as they are, and say how they were read.
"""

from alembic import op

revision = "0106"
down_revision = "0105"
branch_labels = None
depends_on = None

_SAID_OF_THEM = ("read_reduced", "upper_bits_read", "grey_profile_unused")


def upgrade() -> None:
    said = " OR ".join(f"document LIKE '%\"{reason}\"%'" for reason in _SAID_OF_THEM)
    op.execute(
        f"DELETE FROM readings WHERE ({said}) "
        "AND (patch_id IS NULL OR patch_id IN (SELECT id FROM patches WHERE NOT retired))"
    )


def downgrade() -> None:
    """The readings are made anew by either version."""
