"""frames found by the search

Why: the box that finds recipes finds frames as well: the hero frames with light C, where head B was at its minimum, the
ambient checks that failed. What is asked of them stands in a line a frame and a full-text index, so that no question looks
at every frame.

Stored data: the lines are worked out from the frames after this step.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0109"
down_revision = "0108"
branch_labels = None
depends_on = None

_TEXT = sqlmodel.sql.sqltypes.AutoString
_FIGURES = (
    ("f_number", sa.Float()),
    ("shutter_s", sa.Float()),
    ("iso", sa.Float()),
    ("focal_mm", sa.Float()),
    ("magnification", sa.Float()),
    ("energy_j", sa.Float()),
    ("light_count", sa.Integer()),
    ("unexplained_stops", sa.Float()),
)
_WORDS = "shot, said, marks"


def upgrade() -> None:
    op.create_table(
        "frame_lines",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("frame_id", _TEXT(), nullable=False),
        sa.Column("shot_id", _TEXT(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        *(sa.Column(name, _TEXT(), nullable=False) for name in _WORDS.split(", ")),
        sa.Column("made_on", sa.Date(), nullable=False),
        *(sa.Column(name, kind, nullable=name != "light_count") for name, kind in _FIGURES),
        sa.ForeignKeyConstraint(["frame_id"], ["frames.id"], ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["shot_id"], ["shots.id"], ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("key"),
        sa.UniqueConstraint("frame_id"),
    )
    op.create_index("ix_frame_lines_shot_id", "frame_lines", ["shot_id"])
    op.create_index("frame_figures", "frame_lines", ["key", "made_on", *(name for name, _ in _FIGURES)])
    op.create_index("numbered_frame_lines", "frame_lines", ["number", "key"])
    new, old = (", ".join(f"{row}.{name}" for name in _WORDS.split(", ")) for row in ("new", "old"))
    put_in = f"INSERT INTO frame_words(rowid, {_WORDS}) VALUES (new.key, {new});"
    take_out = f"INSERT INTO frame_words(frame_words, rowid, {_WORDS}) VALUES ('delete', old.key, {old});"
    for statement in (
        f"CREATE VIRTUAL TABLE frame_words USING fts5({_WORDS}, content='frame_lines', content_rowid='key', "
        "tokenize='unicode61 remove_diacritics 2')",
        "CREATE VIRTUAL TABLE frame_vocabulary USING fts5vocab('frame_words', 'row')",
        f"CREATE TRIGGER frame_words_in AFTER INSERT ON frame_lines BEGIN {put_in} END",
        f"CREATE TRIGGER frame_words_out AFTER DELETE ON frame_lines BEGIN {take_out} END",
        f"CREATE TRIGGER frame_words_anew AFTER UPDATE OF {_WORDS} ON frame_lines BEGIN {take_out} {put_in} END",
        # What is said of a shot, or the day of a session, is changed without touching its frames.
        "CREATE TRIGGER frame_lines_of_shot AFTER UPDATE OF title, subject ON shots BEGIN "
        "UPDATE frame_lines SET shot = new.title || char(10) || new.subject WHERE shot_id = new.id; END",
        "CREATE TRIGGER frame_lines_of_session AFTER UPDATE OF day ON sessions BEGIN "
        "UPDATE frame_lines SET made_on = new.day "
        "WHERE shot_id IN (SELECT id FROM shots WHERE session_id = new.id); END",
    ):
        op.execute(statement)


def downgrade() -> None:
    for name in (
        "frame_words_in",
        "frame_words_out",
        "frame_words_anew",
        "frame_lines_of_shot",
        "frame_lines_of_session",
    ):
        op.execute(f"DROP TRIGGER {name}")
    for name in ("frame_vocabulary", "frame_words"):
        op.execute(f"DROP TABLE {name}")
    op.drop_table("frame_lines")
