"""recipes, their versions, what the search reads of them, and the links that are handed out

Why: a shot that worked is kept as a fixed, numbered copy; it is found by its words and figures, and read by others at
an address of its own.

Stored data: untouched. The full text lies in an FTS5 index over recipe_lines, kept by triggers; it holds no copy of the
words, so that recipe_lines stays their one place.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

_TEXT = sqlmodel.sql.sqltypes.AutoString
_TIME = sqlmodel.sql.sqltypes.UTCDateTime
_WORDS = ("title", "subject", "terms", "kit", "words")


def upgrade() -> None:
    op.create_table(
        "recipes",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("shot_id", _TEXT(), sa.ForeignKey("shots.id"), nullable=True),
        sa.Column("created_at", _TIME(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_recipes_shot_id", "recipes", ["shot_id"])
    op.create_table(
        "recipe_versions",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("recipe_id", _TEXT(), sa.ForeignKey("recipes.id"), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("document", _TEXT(), nullable=False),
        sa.Column("differs", _TEXT(), nullable=False),
        sa.Column("frame_id", _TEXT(), sa.ForeignKey("frames.id"), nullable=True),
        sa.Column("published_at", _TIME(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("recipe_id", "number"),
    )
    op.create_index("ix_recipe_versions_recipe_id", "recipe_versions", ["recipe_id"])
    op.create_table(
        "recipe_lines",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("recipe_id", _TEXT(), sa.ForeignKey("recipes.id"), nullable=False),
        *(sa.Column(name, _TEXT(), nullable=False) for name in _WORDS),
        sa.Column("made_on", sa.Date(), nullable=False),
        sa.Column("f_number", sa.Float(), nullable=True),
        sa.Column("magnification", sa.Float(), nullable=True),
        sa.Column("energy_j", sa.Float(), nullable=True),
        sa.Column("nearest_mm", sa.Float(), nullable=True),
        sa.Column("stack_frames", sa.Integer(), nullable=True),
        sa.Column("light_count", sa.Integer(), nullable=False),
        sa.Column("measured", sa.Integer(), nullable=False),
        sa.Column("picture", _TEXT(), nullable=False),
        sa.Column("vector", _TEXT(), nullable=False),
        sa.PrimaryKeyConstraint("key"),
        sa.UniqueConstraint("recipe_id"),
    )
    op.create_index("ix_recipe_lines_made_on", "recipe_lines", ["made_on"])
    op.create_table(
        "recipe_facets",
        sa.Column("key", sa.Integer(), sa.ForeignKey("recipe_lines.key"), nullable=False),
        sa.Column("facet", _TEXT(), nullable=False),
        sa.Column("value", _TEXT(), nullable=False),
        sa.PrimaryKeyConstraint("key", "facet", "value"),
    )
    op.create_index("recipes_by_facet", "recipe_facets", ["facet", "value", "key"])
    op.create_table(
        "vocabulary",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("facet", _TEXT(), nullable=False),
        sa.Column("term", _TEXT(), nullable=False),
        sa.Column("others", _TEXT(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("facet", "term"),
    )
    op.create_index("ix_vocabulary_facet", "vocabulary", ["facet"])
    op.create_table(
        "links",
        sa.Column("token", _TEXT(), nullable=False),
        sa.Column("version_id", _TEXT(), sa.ForeignKey("recipe_versions.id"), nullable=False),
        sa.Column("reader", _TEXT(), nullable=False),
        sa.Column("figures", sa.Boolean(), nullable=False),
        sa.Column("words", _TEXT(), nullable=False),
        sa.Column("expires_at", _TIME(), nullable=True),
        sa.Column("withdrawn_at", _TIME(), nullable=True),
        sa.Column("views", sa.Integer(), nullable=False),
        sa.Column("made_at", _TIME(), nullable=False),
        sa.PrimaryKeyConstraint("token"),
    )
    op.create_index("ix_links_version_id", "links", ["version_id"])
    _index_the_words()


def _index_the_words() -> None:
    named, new, old = (", ".join(f"{before}{name}" for name in _WORDS) for before in ("", "new.", "old."))
    op.execute(
        f"CREATE VIRTUAL TABLE recipe_words USING fts5({named}, content='recipe_lines', content_rowid='key', "
        "tokenize='unicode61 remove_diacritics 2')"
    )
    op.execute("CREATE VIRTUAL TABLE recipe_vocabulary USING fts5vocab('recipe_words', 'row')")
    put_in = f"INSERT INTO recipe_words(rowid, {named}) VALUES (new.key, {new});"
    take_out = f"INSERT INTO recipe_words(recipe_words, rowid, {named}) VALUES ('delete', old.key, {old});"
    op.execute(f"CREATE TRIGGER recipe_words_in AFTER INSERT ON recipe_lines BEGIN {put_in} END")
    op.execute(f"CREATE TRIGGER recipe_words_out AFTER DELETE ON recipe_lines BEGIN {take_out} END")
    op.execute(f"CREATE TRIGGER recipe_words_anew AFTER UPDATE ON recipe_lines BEGIN {take_out} {put_in} END")


def downgrade() -> None:
    for trigger in ("recipe_words_in", "recipe_words_out", "recipe_words_anew"):
        op.execute(f"DROP TRIGGER {trigger}")
    op.execute("DROP TABLE recipe_vocabulary")
    op.execute("DROP TABLE recipe_words")
    for table in ("links", "vocabulary", "recipe_facets", "recipe_lines", "recipe_versions", "recipes"):
        op.drop_table(table)
