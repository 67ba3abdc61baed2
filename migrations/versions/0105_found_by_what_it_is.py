"""recipes found by what they are

Why: the search answered the opposite of a question ("more than one light" found the recipe with one). What a question may
state of a recipe gets columns of its own: shutter, ISO, focal length, the ratio of key to fill, the room, what is open;
and each lit light a row, for what is asked of one light.

Stored data: the lines of the search are worked out anew from the newest version of each recipe, after this step.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0105"
down_revision = "0104"
branch_labels = None
depends_on = None

_TEXT = sqlmodel.sql.sqltypes.AutoString
_BEFORE = (
    "key",
    "f_number",
    "magnification",
    "energy_j",
    "nearest_mm",
    "stack_frames",
    "light_count",
    "measured",
    "made_on",
    "flash_count",
    "ring_count",
    "continuous_count",
    "face_sizes",
    "strip_sizes",
    "field_mm",
)
_FIGURES = ("shutter_s", "iso", "focal_mm", "ratio_stops", "room_long_mm", "room_short_mm")


def upgrade() -> None:
    for name in _FIGURES:
        op.add_column("recipe_lines", sa.Column(name, sa.Float(), nullable=True))
    op.add_column("recipe_lines", sa.Column("open_count", sa.Integer(), server_default="0", nullable=False))
    op.drop_index("recipe_figures", "recipe_lines")
    op.create_index("recipe_figures", "recipe_lines", [*_BEFORE, *_FIGURES, "open_count"])
    op.create_table(
        "recipe_lights",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("line", sa.Integer(), nullable=False),
        sa.Column("letter", _TEXT(), nullable=False),
        sa.Column("role", _TEXT(), nullable=False),
        sa.Column("kind", _TEXT(), nullable=False),
        sa.Column("energy_j", sa.Float(), nullable=True),
        sa.Column("power_stops", sa.Float(), nullable=True),
        sa.Column("distance_mm", sa.Float(), nullable=True),
        sa.Column("size_mm", sa.Float(), nullable=True),
        sa.ForeignKeyConstraint(["line"], ["recipe_lines.key"], ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("key"),
    )
    op.create_index(
        "lights_of_line",
        "recipe_lights",
        ["line", "role", "letter", "kind", "energy_j", "power_stops", "distance_mm", "size_mm"],
    )


def downgrade() -> None:
    op.drop_table("recipe_lights")
    op.drop_index("recipe_figures", "recipe_lines")
    for name in (*_FIGURES, "open_count"):
        op.drop_column("recipe_lines", name)
    op.create_index("recipe_figures", "recipe_lines", list(_BEFORE))
