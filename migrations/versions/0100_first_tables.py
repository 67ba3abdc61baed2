"""the tables of 0.1.0

Why: the thirteen steps that led here belonged to a version that was never released. This is what they came to, with
the words of the ledger taken out of the records: a frame keeps facts, its set-up is kept once for all frames that have
the same, and the columns are typed.

Stored data: an empty file gets the tables. One that was filled before keeps every row; what is computed (ledgers and
evidence) is left empty and worked out anew by the program in the same transaction (webapp.records.upgrade).
Marks that were kept as text (what a file said, what was set, the shutter behind an ambient check) are read on the dials of
the kit that the frame or the set-up had.
"""

import hashlib
import json
import math
import zlib

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0100"
down_revision = "0013"
branch_labels = None
depends_on = None

_TEXT = sqlmodel.sql.sqltypes.AutoString
_TIME = sqlmodel.sql.sqltypes.UTCDateTime
_WORDS = "title, subject, terms, kit, words, marks"


def _cameras() -> None:
    op.create_table(
        "cameras",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("name", _TEXT(), nullable=False),
        sa.Column("notes", _TEXT(), nullable=False),
        sa.Column("origin", _TEXT(), server_default="own", nullable=False),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.Column("created_at", _TIME(), nullable=False),
        sa.Column("sensor_width_mm", sa.Float(), nullable=False),
        sa.Column("sensor_height_mm", sa.Float(), nullable=False),
        sa.Column("width_px", sa.Integer(), nullable=False),
        sa.Column("height_px", sa.Integer(), nullable=False),
        sa.Column("sync_mark", _TEXT(), nullable=False),
        sa.Column("lowest_iso", sa.Float(), nullable=False),
        sa.Column("highest_iso", sa.Float(), nullable=False),
        sa.Column("shutter_dial", _TEXT(), nullable=False),
        sa.Column("iso_dial", _TEXT(), nullable=False),
        sa.Column("in_files", _TEXT(), server_default="", nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )


def _filters() -> None:
    op.create_table(
        "filters",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("name", _TEXT(), nullable=False),
        sa.Column("notes", _TEXT(), nullable=False),
        sa.Column("origin", _TEXT(), server_default="own", nullable=False),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.Column("created_at", _TIME(), nullable=False),
        sa.Column("kind", _TEXT(), nullable=False),
        sa.Column("fits", _TEXT(), nullable=False),
        sa.Column("loss_stops", sa.Float(), nullable=True),
        sa.Column("shift_mired", sa.Float(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )


def _known_words() -> None:
    op.create_table(
        "known_words",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("word", _TEXT(), nullable=False),
        sa.PrimaryKeyConstraint("number"),
        sa.UniqueConstraint("word"),
    )


def _learned() -> None:
    op.create_table(
        "learned",
        sa.Column("subject", _TEXT(), nullable=False),
        sa.Column("document", _TEXT(), nullable=False),
        sa.Column("learned_at", _TIME(), nullable=False),
        sa.PrimaryKeyConstraint("subject"),
    )


def _lenses() -> None:
    op.create_table(
        "lenses",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("name", _TEXT(), nullable=False),
        sa.Column("notes", _TEXT(), nullable=False),
        sa.Column("origin", _TEXT(), server_default="own", nullable=False),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.Column("created_at", _TIME(), nullable=False),
        sa.Column("shortest_focal_mm", sa.Float(), nullable=False),
        sa.Column("longest_focal_mm", sa.Float(), nullable=False),
        sa.Column("widest_f_number", sa.Float(), nullable=False),
        sa.Column("smallest_f_number", sa.Float(), nullable=False),
        sa.Column("f_number_dial", _TEXT(), nullable=False),
        sa.Column("greatest_magnification", sa.Float(), nullable=True),
        sa.Column("pupil_ratio", sa.Float(), nullable=False),
        sa.Column("records", _TEXT(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )


def _lights() -> None:
    op.create_table(
        "lights",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("name", _TEXT(), nullable=False),
        sa.Column("notes", _TEXT(), nullable=False),
        sa.Column("origin", _TEXT(), server_default="own", nullable=False),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.Column("created_at", _TIME(), nullable=False),
        sa.Column("kind", _TEXT(), nullable=False),
        sa.Column("form", _TEXT(), nullable=False),
        sa.Column("full_energy_j", sa.Float(), nullable=True),
        sa.Column("lowest_power_stops", sa.Float(), nullable=False),
        sa.Column("step_stops", sa.Float(), nullable=False),
        sa.Column("marking", _TEXT(), nullable=False),
        sa.Column("full_number", sa.Float(), nullable=False),
        sa.Column("stops_per_number", sa.Float(), nullable=False),
        sa.Column("outer_diameter_mm", sa.Float(), nullable=True),
        sa.Column("inner_diameter_mm", sa.Float(), nullable=True),
        sa.Column("recycle_s", sa.Float(), nullable=True),
        sa.Column("t_half_s", sa.Float(), nullable=True),
        sa.Column("kelvin", sa.Float(), nullable=True),
        sa.Column("guide_number_m", sa.Float(), nullable=True),
        sa.Column("guide_reflector", _TEXT(), server_default="", nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )


def _modifiers() -> None:
    op.create_table(
        "modifiers",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("name", _TEXT(), nullable=False),
        sa.Column("notes", _TEXT(), nullable=False),
        sa.Column("origin", _TEXT(), server_default="own", nullable=False),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.Column("created_at", _TIME(), nullable=False),
        sa.Column("shape", _TEXT(), nullable=False),
        sa.Column("width_mm", sa.Float(), nullable=True),
        sa.Column("height_mm", sa.Float(), nullable=True),
        sa.Column("inner_diameter_mm", sa.Float(), nullable=True),
        sa.Column("loss_stops", sa.Float(), nullable=True),
        sa.Column("diffuses", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )


def _save_keys() -> None:
    op.create_table(
        "save_keys",
        sa.Column("key", _TEXT(), nullable=False),
        sa.Column("body", _TEXT(), nullable=False),
        sa.Column("answer", _TEXT(), nullable=False),
        sa.Column("at", _TIME(), nullable=False),
        sa.PrimaryKeyConstraint("key"),
    )


def _sessions() -> None:
    op.create_table(
        "sessions",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("name", _TEXT(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("zone", _TEXT(), nullable=False),
        sa.Column("place", _TEXT(), nullable=False),
        sa.Column("made_for", _TEXT(), nullable=False),
        sa.Column("brief", _TEXT(), nullable=False),
        sa.Column("notes", _TEXT(), nullable=False),
        sa.Column("created_at", _TIME(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )


def _set_ups() -> None:
    op.create_table(
        "set_ups",
        sa.Column("digest", _TEXT(), nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.Column("kit", _TEXT(), nullable=False),
        sa.PrimaryKeyConstraint("digest"),
    )


def _watch_choice() -> None:
    op.create_table(
        "watch_choice",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("folder", _TEXT(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )


def _tape() -> None:
    op.create_table(
        "tape",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("inches", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )


def _vocabulary() -> None:
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


def _meter_readings() -> None:
    op.create_table(
        "meter_readings",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("light_id", _TEXT(), nullable=False),
        sa.Column("modifier_id", _TEXT(), nullable=True),
        sa.Column("mark", _TEXT(), nullable=False),
        sa.Column("av", sa.Float(), nullable=False),
        sa.Column("power_stops", sa.Float(), nullable=False),
        sa.Column("distance_mm", sa.Float(), nullable=False),
        sa.Column("read_at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["light_id"],
            ["lights.id"],
        ),
        sa.ForeignKeyConstraint(
            ["modifier_id"],
            ["modifiers.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_meter_readings_light_id", "meter_readings", ["light_id"])


def _open_pages() -> None:
    op.create_table(
        "open_pages",
        sa.Column("token", _TEXT(), nullable=False),
        sa.Column("session_id", _TEXT(), nullable=False),
        sa.Column("title", _TEXT(), nullable=False),
        sa.Column("because", sa.Boolean(), nullable=False),
        sa.Column("kit_names", sa.Boolean(), nullable=False),
        sa.Column("expires_at", _TIME(), nullable=True),
        sa.Column("withdrawn_at", _TIME(), nullable=True),
        sa.Column("views", sa.Integer(), nullable=False),
        sa.Column("made_at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["session_id"],
            ["sessions.id"],
        ),
        sa.PrimaryKeyConstraint("token"),
    )
    op.create_index("ix_open_pages_session_id", "open_pages", ["session_id"])


def _shots() -> None:
    op.create_table(
        "shots",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("session_id", _TEXT(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("title", _TEXT(), nullable=False),
        sa.Column("subject", _TEXT(), nullable=False),
        sa.Column("subject_types", _TEXT(), nullable=False),
        sa.Column("surface", _TEXT(), nullable=False),
        sa.Column("look", _TEXT(), nullable=False),
        sa.Column("subject_is_static", sa.Boolean(), nullable=False),
        sa.Column("wanted_depth_mm", sa.Float(), nullable=True),
        sa.Column("on_set", sa.Boolean(), nullable=False),
        sa.Column("reference_frame_id", _TEXT(), nullable=True),
        sa.Column("created_at", _TIME(), nullable=False),
        sa.Column("closed_at", _TIME(), nullable=True),
        sa.Column("no_stacks", sa.Text(), server_default="[]", nullable=False),
        sa.ForeignKeyConstraint(["reference_frame_id"], ["frames.id"], name="shot_reference_frame", use_alter=True),
        sa.ForeignKeyConstraint(
            ["session_id"],
            ["sessions.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("session_id", "number"),
    )
    op.create_index("ix_shots_session_id", "shots", ["session_id"])
    op.create_index("only_one_shot_on_the_set", "shots", ["on_set"], unique=True, sqlite_where=sa.text("on_set = 1"))


def _frames() -> None:
    op.create_table(
        "frames",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("shot_id", _TEXT(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("purpose", _TEXT(), nullable=False),
        sa.Column("because", _TEXT(), nullable=False),
        sa.Column("notes", _TEXT(), nullable=False),
        sa.Column("verdict", _TEXT(), nullable=False),
        sa.Column("set_up_digest", _TEXT(), nullable=False),
        sa.Column("set_values", sa.Text(), nullable=False),
        sa.Column("file_values", sa.Text(), nullable=False),
        sa.Column("ledger", sa.LargeBinary(), nullable=False),
        sa.Column("evidence", sa.LargeBinary(), nullable=True),
        sa.Column("lit", _TEXT(), nullable=False),
        sa.Column("taken_back", sa.Boolean(), nullable=False),
        sa.Column("exposed_before", sa.Integer(), nullable=True),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("logged_at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["set_up_digest"],
            ["set_ups.digest"],
        ),
        sa.ForeignKeyConstraint(
            ["shot_id"],
            ["shots.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("shot_id", "number"),
    )
    op.create_index("counted_frames", "frames", ["shot_id", "taken_back"])
    op.create_index("ix_frames_set_up_digest", "frames", ["set_up_digest"])
    op.create_index(
        "read_frames", "frames", ["shot_id", "lit", "number"], sqlite_where=sa.text("evidence IS NOT NULL")
    )


def _mixtures() -> None:
    op.create_table(
        "mixtures",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("shot_id", _TEXT(), nullable=False),
        sa.Column("name", _TEXT(), nullable=False),
        sa.Column("kept_for", _TEXT(), nullable=False),
        sa.Column("weights", sa.Text(), nullable=False),
        sa.Column("frames", sa.Text(), nullable=False),
        sa.Column("created_at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["shot_id"],
            ["shots.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_mixtures_shot_id", "mixtures", ["shot_id"])


def _notices() -> None:
    op.create_table(
        "notices",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("shot_id", _TEXT(), nullable=False),
        sa.Column("text", _TEXT(), nullable=False),
        sa.Column("at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["shot_id"],
            ["shots.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_notices_shot_id", "notices", ["shot_id"])


def _watched_folders() -> None:
    op.create_table(
        "watched_folders",
        sa.Column("path", _TEXT(), nullable=False),
        sa.Column("first_looked_at", _TIME(), nullable=False),
        sa.PrimaryKeyConstraint("path"),
    )


def _arrivals() -> None:
    op.create_table(
        "arrivals",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("folder", _TEXT(), nullable=False),
        sa.Column("path", _TEXT(), nullable=False),
        sa.Column("size_bytes", sa.BigInteger(), nullable=False),
        sa.Column("changed_ns", sa.BigInteger(), nullable=False),
        sa.Column("state", _TEXT(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("digest", _TEXT(), nullable=False),
        sa.Column("frame_id", _TEXT(), nullable=True),
        sa.Column("shot_id", _TEXT(), nullable=True),
        sa.Column("seen_at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["folder"],
            ["watched_folders.path"],
        ),
        sa.ForeignKeyConstraint(
            ["frame_id"],
            ["frames.id"],
        ),
        sa.ForeignKeyConstraint(
            ["shot_id"],
            ["shots.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("arrivals_by_path", "arrivals", ["folder", "path"])
    op.create_index("ix_arrivals_state", "arrivals", ["state"])


def _patches() -> None:
    op.create_table(
        "patches",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("shot_id", _TEXT(), nullable=False),
        sa.Column("name", _TEXT(), nullable=False),
        sa.Column("x", sa.Float(), nullable=False),
        sa.Column("y", sa.Float(), nullable=False),
        sa.Column("width", sa.Float(), nullable=False),
        sa.Column("height", sa.Float(), nullable=False),
        sa.Column("wanted_stops", sa.Float(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.Column("created_at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["shot_id"],
            ["shots.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_patches_shot_id", "patches", ["shot_id"])


def _recipes() -> None:
    op.create_table(
        "recipes",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("shot_id", _TEXT(), nullable=True),
        sa.Column("identity", _TEXT(), server_default="", nullable=False),
        sa.Column("created_at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["shot_id"],
            ["shots.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_recipes_identity", "recipes", ["identity"])
    op.create_index("ix_recipes_shot_id", "recipes", ["shot_id"])


def _standing() -> None:
    op.create_table(
        "standing",
        sa.Column("shot_id", _TEXT(), nullable=False),
        sa.Column("set_up", sa.Text(), nullable=False),
        sa.Column("versions", sa.Text(), nullable=False),
        sa.Column("moves", sa.Text(), nullable=False),
        sa.Column("kept", sa.Text(), nullable=True),
        sa.Column("purpose", _TEXT(), nullable=False),
        sa.Column("because", _TEXT(), nullable=False),
        sa.Column("says", sa.Text(), nullable=False),
        sa.Column("changed_at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["shot_id"],
            ["shots.id"],
        ),
        sa.PrimaryKeyConstraint("shot_id"),
    )


def _frame_revisions() -> None:
    op.create_table(
        "frame_revisions",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("frame_id", _TEXT(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("made_at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["frame_id"],
            ["frames.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("frame_id", "revision"),
    )
    op.create_index("ix_frame_revisions_frame_id", "frame_revisions", ["frame_id"])


def _pictures() -> None:
    op.create_table(
        "pictures",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("frame_id", _TEXT(), nullable=False),
        sa.Column("digest", _TEXT(), nullable=False),
        sa.Column("name", _TEXT(), nullable=False),
        sa.Column("kind", _TEXT(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("facts", sa.Text(), nullable=False),
        sa.Column("exposure_key", _TEXT(), nullable=False),
        sa.Column("exposed_at", _TEXT(), nullable=False),
        sa.Column("preview", _TEXT(), nullable=False),
        sa.Column("trouble", _TEXT(), nullable=False),
        sa.Column("trouble_passes", sa.Boolean(), nullable=False),
        sa.Column("arrived_at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["frame_id"],
            ["frames.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("digest"),
    )
    op.create_index("ix_pictures_exposed_at", "pictures", ["exposed_at"])
    op.create_index("ix_pictures_exposure_key", "pictures", ["exposure_key"])
    op.create_index("ix_pictures_frame_id", "pictures", ["frame_id"])


def _recipe_lines() -> None:
    op.create_table(
        "recipe_lines",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("recipe_id", _TEXT(), nullable=False),
        sa.Column("title", _TEXT(), nullable=False),
        sa.Column("subject", _TEXT(), nullable=False),
        sa.Column("terms", _TEXT(), nullable=False),
        sa.Column("kit", _TEXT(), nullable=False),
        sa.Column("words", _TEXT(), nullable=False),
        sa.Column("marks", _TEXT(), server_default="", nullable=False),
        sa.Column("made_on", sa.Date(), nullable=False),
        sa.Column("f_number", sa.Float(), nullable=True),
        sa.Column("magnification", sa.Float(), nullable=True),
        sa.Column("energy_j", sa.Float(), nullable=True),
        sa.Column("nearest_mm", sa.Float(), nullable=True),
        sa.Column("stack_frames", sa.Integer(), nullable=True),
        sa.Column("light_count", sa.Integer(), nullable=False),
        sa.Column("measured", sa.Integer(), nullable=False),
        sa.Column("flash_count", sa.Integer(), server_default="0", nullable=False),
        sa.Column("ring_count", sa.Integer(), server_default="0", nullable=False),
        sa.Column("continuous_count", sa.Integer(), server_default="0", nullable=False),
        sa.Column("face_sizes", sa.BigInteger(), nullable=True),
        sa.Column("strip_sizes", sa.BigInteger(), nullable=True),
        sa.Column("field_mm", sa.Float(), nullable=True),
        sa.Column("picture", _TEXT(), nullable=False),
        sa.Column("vector", _TEXT(), nullable=False),
        sa.ForeignKeyConstraint(
            ["recipe_id"],
            ["recipes.id"],
        ),
        sa.PrimaryKeyConstraint("key"),
        sa.UniqueConstraint("recipe_id"),
    )
    op.create_index("ix_recipe_lines_made_on", "recipe_lines", ["made_on"])
    op.create_index(
        "recipe_figures",
        "recipe_lines",
        [
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
        ],
    )


def _recipe_versions() -> None:
    op.create_table(
        "recipe_versions",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("recipe_id", _TEXT(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("document", _TEXT(), nullable=False),
        sa.Column("differs", _TEXT(), nullable=False),
        sa.Column("frame_id", _TEXT(), nullable=True),
        sa.Column("published_at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["frame_id"],
            ["frames.id"],
        ),
        sa.ForeignKeyConstraint(
            ["recipe_id"],
            ["recipes.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("recipe_id", "number"),
    )
    op.create_index("ix_recipe_versions_recipe_id", "recipe_versions", ["recipe_id"])


def _links() -> None:
    op.create_table(
        "links",
        sa.Column("token", _TEXT(), nullable=False),
        sa.Column("version_id", _TEXT(), nullable=False),
        sa.Column("reader", _TEXT(), nullable=False),
        sa.Column("figures", sa.Boolean(), nullable=False),
        sa.Column("words", _TEXT(), nullable=False),
        sa.Column("kit_names", sa.Boolean(), server_default=sa.text("0"), nullable=False),
        sa.Column("expires_at", _TIME(), nullable=True),
        sa.Column("withdrawn_at", _TIME(), nullable=True),
        sa.Column("views", sa.Integer(), nullable=False),
        sa.Column("made_at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["version_id"],
            ["recipe_versions.id"],
        ),
        sa.PrimaryKeyConstraint("token"),
    )
    op.create_index("ix_links_version_id", "links", ["version_id"])


def _readings() -> None:
    op.create_table(
        "readings",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("picture_id", _TEXT(), nullable=False),
        sa.Column("patch_id", _TEXT(), nullable=True),
        sa.Column("document", sa.Text(), nullable=True),
        sa.Column("trouble", _TEXT(), nullable=False),
        sa.Column("measured_at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["patch_id"],
            ["patches.id"],
        ),
        sa.ForeignKeyConstraint(
            ["picture_id"],
            ["pictures.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("picture_id", "patch_id"),
    )
    op.create_index("ix_readings_patch_id", "readings", ["patch_id"])
    op.create_index("ix_readings_picture_id", "readings", ["picture_id"])


def _readings_by_eye() -> None:
    op.create_table(
        "readings_by_eye",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("frame_id", _TEXT(), nullable=False),
        sa.Column("patch_id", _TEXT(), nullable=True),
        sa.Column("document", sa.Text(), nullable=True),
        sa.Column("seen_at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["frame_id"],
            ["frames.id"],
        ),
        sa.ForeignKeyConstraint(
            ["patch_id"],
            ["patches.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_readings_by_eye_frame_id", "readings_by_eye", ["frame_id"])


def _reshoots() -> None:
    op.create_table(
        "reshoots",
        sa.Column("shot_id", _TEXT(), nullable=False),
        sa.Column("version_id", _TEXT(), nullable=False),
        sa.Column("target", sa.Text(), nullable=False),
        sa.Column("left_open", _TEXT(), nullable=False),
        sa.Column("begun_at", _TIME(), nullable=False),
        sa.ForeignKeyConstraint(
            ["shot_id"],
            ["shots.id"],
        ),
        sa.ForeignKeyConstraint(
            ["version_id"],
            ["recipe_versions.id"],
        ),
        sa.PrimaryKeyConstraint("shot_id"),
    )
    op.create_index("ix_reshoots_version_id", "reshoots", ["version_id"])


def _checklist_lines() -> None:
    op.create_table(
        "checklist_lines",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("shot_id", _TEXT(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("heading", _TEXT(), nullable=False),
        sa.Column("words", _TEXT(), nullable=False),
        sa.Column("ticked_at", _TIME(), nullable=True),
        sa.ForeignKeyConstraint(
            ["shot_id"],
            ["reshoots.shot_id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("shot_id", "place"),
    )
    op.create_index("ix_checklist_lines_shot_id", "checklist_lines", ["shot_id"])


# Each after those that it refers to.
_TABLES = (
    _cameras,
    _filters,
    _known_words,
    _learned,
    _lenses,
    _lights,
    _modifiers,
    _save_keys,
    _sessions,
    _set_ups,
    _tape,
    _vocabulary,
    _watch_choice,
    _watched_folders,
    _meter_readings,
    _open_pages,
    _shots,
    _frames,
    _arrivals,
    _mixtures,
    _notices,
    _patches,
    _recipes,
    _standing,
    _frame_revisions,
    _pictures,
    _recipe_lines,
    _recipe_versions,
    _links,
    _readings,
    _readings_by_eye,
    _reshoots,
    _checklist_lines,
)


def upgrade() -> None:
    if sa.inspect(op.get_bind()).has_table("frames"):
        _bring_along()
        return
    for table in _TABLES:
        table()
    new, old = (", ".join(f"{row}.{name}" for name in _WORDS.split(", ")) for row in ("new", "old"))
    put_in = f"INSERT INTO recipe_words(rowid, {_WORDS}) VALUES (new.key, {new});"
    take_out = f"INSERT INTO recipe_words(recipe_words, rowid, {_WORDS}) VALUES ('delete', old.key, {old});"
    for statement in (
        f"CREATE VIRTUAL TABLE recipe_words USING fts5({_WORDS}, content='recipe_lines', content_rowid='key', "
        "tokenize='unicode61 remove_diacritics 2')",
        "CREATE VIRTUAL TABLE recipe_vocabulary USING fts5vocab('recipe_words', 'row')",
        f"CREATE TRIGGER recipe_words_in AFTER INSERT ON recipe_lines BEGIN {put_in} END",
        f"CREATE TRIGGER recipe_words_out AFTER DELETE ON recipe_lines BEGIN {take_out} END",
        f"CREATE TRIGGER recipe_words_anew AFTER UPDATE ON recipe_lines BEGIN {take_out} {put_in} END",
    ):
        op.execute(statement)


def downgrade() -> None:
    for name in ("recipe_vocabulary", "recipe_words"):
        op.execute(f"DROP TABLE {name}")
    for name in ("in", "out", "anew"):
        op.execute(f"DROP TRIGGER recipe_words_{name}")
    op.execute("UPDATE shots SET reference_frame_id = NULL")
    for table in reversed(_TABLES):
        op.drop_table(table.__name__.removeprefix("_"))


# --- a file that was filled before ---------------------------------------------------------------------------------

_NOT_YET = b""
"""A ledger that the program is to work out anew."""


def _bring_along() -> None:
    connection = op.get_bind()
    # Other rows refer to those that are taken out and put in again; all must hold when the transaction ends.
    connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
    _set_ups()
    _readings_by_eye()
    _watch_choice()
    _watched_folders()
    _arrivals()
    op.add_column("shots", sa.Column("no_stacks", sa.Text(), server_default="[]", nullable=False))
    op.add_column("cameras", sa.Column("in_files", _TEXT(), server_default="", nullable=False))
    _tell_starter_kit_from_own(connection)
    for table, renewed in (
        (_frames, _frame),
        (_frame_revisions, _revision),
        (_pictures, _picture),
        (_readings, _reading),
        (_standing, _now),
        (_mixtures, dict),
        (_reshoots, _reshoot),
    ):
        _renew(connection, table, renewed)
    _tell_as_facts(connection)


# What a first start laid out, and nobody has given another name since.
_STARTER = {
    "cameras": ("Camera 36 × 24", "Camera 23.5 × 15.6", "Camera 44 × 33"),
    "lenses": ("100 mm macro", "50 mm", "24–70 mm zoom"),
    "lights": ("monolight 400 J", "monolight 200 J", "ring flash 400 J", "small flash", "LED panel"),
    "modifiers": (
        *("standard reflector", "honeycomb grid", "snoot", "softbox 60 × 60 cm", "strip softbox 30 × 120 cm"),
        *("octagon 90 cm", "shoot-through umbrella 100 cm"),
    ),
    "filters": (
        *("ND 0.3 sheet", "ND 0.6 sheet", "ND 0.9 sheet", "diffusing sheet", "screw-in ND 0.6", "screw-in ND 0.9"),
        *("polarising sheet", "lens polariser, crossed", "quarter orange gel", "half orange gel", "full orange gel"),
    ),
}


def _tell_starter_kit_from_own(connection) -> None:
    for table, names in _STARTER.items():
        op.add_column(table, sa.Column("origin", _TEXT(), server_default="own", nullable=False))
        kit = sa.table(table, sa.column("name"), sa.column("origin"))
        connection.execute(kit.update().where(kit.c.name.in_(names)).values(origin="starter"))


def _renew(connection, table, renewed) -> None:
    name = table.__name__.removeprefix("_")
    connection.exec_driver_sql(f"CREATE TEMPORARY TABLE old_{name} AS SELECT * FROM {name} ORDER BY rowid")
    op.drop_table(name)
    table()
    for row in connection.exec_driver_sql(f"SELECT * FROM old_{name} ORDER BY rowid").mappings():
        values = renewed(row)
        columns = ", ".join(values)
        places = ", ".join(f":{column}" for column in values)
        connection.execute(sa.text(f"INSERT INTO {name} ({columns}) VALUES ({places})"), values)
    op.drop_table(f"old_{name}")


def _frame(row):
    values = dict(row)
    document = json.loads(values["set_up"])
    values |= {name: json.dumps(_typed(values[name], document)) for name in ("set_values", "file_values")}
    set_up = values.pop("set_up").encode()
    digest = hashlib.sha256(set_up).hexdigest()[:32]
    op.get_bind().execute(
        sa.text("INSERT OR IGNORE INTO set_ups (digest, document, kit) VALUES (:digest, :document, :kit)"),
        {"digest": digest, "document": zlib.compress(set_up), "kit": " ".join(_kit_in(document))},
    )
    return values | {"set_up_digest": digest, "ledger": _NOT_YET, "evidence": None}


def _revision(row):
    said = json.loads(row["document"])
    said["set_up"] = json.loads(said["set_up"])
    said.pop("lit", None)
    said |= {name: _typed(said[name], said["set_up"]) for name in ("set_values", "file_values")}
    # What an edit was, was a sentence: it stays readable as the text of a fact.
    noted = [{"reason": "revision_noted", "about": "", "values": {"text": row["what"]}}] if row["what"] else []
    return dict(row) | {"document": zlib.compress(json.dumps(said).encode()), "what": json.dumps(noted)}


def _now(row):
    values = dict(row)
    kept = json.loads(values["kept"]) if values["kept"] else None
    if kept is not None and kept["shutter"] is not None:
        kept["shutter"] = _typed(json.dumps({"shutter": kept["shutter"]}), json.loads(values["set_up"]))["shutter"]
    # What the last change did was a sentence, and is a fact now; it is said again by the next change.
    return values | {"kept": None if kept is None else json.dumps(kept), "says": "[]"}


def _typed(texts, set_up):
    """Marks by field, kept as text, as they are read on the dials of a set-up; a focal length is a number."""
    dials = {
        "f_number": set_up["lens"]["f_number_dial"],
        "shutter": set_up["camera"]["shutter_dial"],
        "iso": set_up["camera"]["iso_dial"],
    }
    return {
        name: _mark(name, text, dials[name]) if name in dials else float(text)
        for name, text in json.loads(texts).items()
    }


def _mark(quantity, text, dial):
    """A mark as its text was read: the nearest step of its dial, or the very value where none is near."""
    above, _, below = text.removesuffix("s").strip().partition("/")
    value = float(above) / float(below or 1)
    literal = {"f_number": 2 * math.log2(value), "shutter": -math.log2(value), "iso": math.log2(value / 100)}[
        quantity
    ]
    steps = {"full": 1, "half": 2, "third": 3, "tenth": 10}[dial]
    nearest = round(literal * steps) / steps
    on_dial = abs(nearest - literal) <= 0.15
    return {
        "quantity": quantity,
        "text": text,
        "stops": nearest if on_dial else literal,
        "dial": dial if on_dial else None,
    }


def _picture(row):
    """What the file says is read as a value, which has the kind of the file at least. Whether a trouble was the file's
    own was not kept: each is tried once more."""
    facts = {"kind": row["kind"]} | json.loads(row["facts"])
    exposed_at = f"{facts['taken_at']}.{facts.get('subsecond') or ''}" if facts.get("taken_at") else ""
    passes = row["trouble"] != ""
    return dict(row) | {"facts": json.dumps(facts), "exposed_at": exposed_at, "trouble_passes": passes}


def _reading(row):
    document = json.loads(row["document"]) if row["document"] else None
    if document is not None:
        document["notes"] = [_note(text) for text in document["notes"]]
    return dict(row) | {"document": None if document is None else json.dumps(document)}


def _note(text):
    """A note on a reading was a sentence. A page leaves one of them out; the others stay readable as texts of facts."""
    if text == "No patch is drawn: the middle of the picture was measured.":
        return {"reason": "no_patch_drawn", "about": "", "values": {}}
    return _said(text)


def _reshoot(row):
    return dict(row) | {"left_open": _as_written(json.loads(row["left_open"]))}


def _tell_as_facts(connection):
    """Sentences that were kept stay readable as the texts of facts."""
    for key, differs in connection.exec_driver_sql("SELECT id, differs FROM recipe_versions").all():
        connection.execute(
            sa.text("UPDATE recipe_versions SET differs = :differs WHERE id = :key"),
            {"key": key, "differs": _as_written(json.loads(differs))},
        )
    for key, heading, words in connection.exec_driver_sql("SELECT id, heading, words FROM checklist_lines").all():
        connection.execute(
            sa.text("UPDATE checklist_lines SET heading = :heading, words = :words WHERE id = :key"),
            {"key": key, "heading": _HEADINGS.get(heading, heading), "words": _as_written([words])},
        )


_HEADINGS = {
    "Room": "room",
    "Camera": "camera",
    "On the set": "set",
    "Steps": "steps",
    "Before the first frame": "checks",
    "Mind": "cautions",
}


def _as_written(texts):
    return json.dumps([_said(each) for each in texts])


def _said(text):
    return {"reason": "as_written", "about": "", "values": {"text": text}}


def _kit_in(set_up):
    yield from (set_up["camera"]["id"], set_up["lens"]["id"])
    yield from (each["id"] for each in set_up["lens_filters"])
    for light in set_up["lights"]:
        yield light["head"]["id"]
        yield from (each["id"] for each in light["filters"])
        if light["modifier"]:
            yield light["modifier"]["id"]
