"""What the search reads: a line for each recipe and each frame, and the words that there are."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import BigInteger, Index
from sqlmodel import Field

from webapp.records.tables.rows import Row


class RecipeLine(Row, table=True):
    """What the search reads of the newest version of a recipe; written anew with each version. `vector` has the
    figures by which set-ups are likened. Its words are in the full-text index `recipe_words`, and so are its `marks`,
    one for each value of a facet. The lights, faces and the field are what a kit must have to rebuild it; sizes of
    faces are bits, None where one of them is unknown. `ratio_stops` is how far the fill lies under the key, the room the
    longer and the shorter side of the floor that the set takes, `open_count` how much of it is not known."""

    __tablename__ = "recipe_lines"
    # Ranges are read from this index alone, never from the wide rows.
    __table_args__ = (
        Index(
            "recipe_figures",
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
            "shutter_s",
            "iso",
            "focal_mm",
            "ratio_stops",
            "room_long_mm",
            "room_short_mm",
            "open_count",
        ),
    )

    key: int | None = Field(default=None, primary_key=True)
    recipe_id: str = Field(foreign_key="recipes.id", unique=True)
    title: str = ""
    subject: str = ""
    terms: str = ""
    kit: str = ""
    words: str = ""
    marks: str = Field(default="", sa_column_kwargs={"server_default": ""})
    made_on: dt.date = Field(index=True)
    f_number: float | None = None
    magnification: float | None = None
    energy_j: float | None = None
    nearest_mm: float | None = None
    stack_frames: int | None = None
    light_count: int = 0
    measured: int = 0
    flash_count: int = Field(default=0, sa_column_kwargs={"server_default": "0"})
    ring_count: int = Field(default=0, sa_column_kwargs={"server_default": "0"})
    continuous_count: int = Field(default=0, sa_column_kwargs={"server_default": "0"})
    face_sizes: int | None = Field(default=None, sa_type=BigInteger)
    strip_sizes: int | None = Field(default=None, sa_type=BigInteger)
    field_mm: float | None = None
    shutter_s: float | None = None
    iso: float | None = None
    focal_mm: float | None = None
    ratio_stops: float | None = None
    room_long_mm: float | None = None
    room_short_mm: float | None = None
    open_count: int = Field(default=0, sa_column_kwargs={"server_default": "0"})
    picture: str = ""
    vector: str = "{}"


class RecipeLight(Row, table=True):
    """A lit light of the newest version of a recipe, for what is asked of one light: "key under 100 J". Written with the
    recipe's line, and gone with it."""

    __tablename__ = "recipe_lights"
    # Read from this index alone.
    __table_args__ = (
        Index(
            "lights_of_line", "line", "role", "letter", "kind", "energy_j", "power_stops", "distance_mm", "size_mm"
        ),
    )

    key: int | None = Field(default=None, primary_key=True)
    line: int = Field(foreign_key="recipe_lines.key", ondelete="CASCADE")
    letter: str
    role: str
    kind: str
    energy_j: float | None = None
    power_stops: float | None = None
    distance_mm: float | None = None
    size_mm: float | None = None


class FrameLine(Row, table=True):
    """What the search reads of a frame, written in the transaction that changed it. `shot` has the words of its shot and
    `made_on` the day of its session, which the database itself keeps true; `said` the words of the frame. Words and
    `marks` are in the full-text index `frame_words`. `unexplained_stops` is the largest difference past its tolerance."""

    __tablename__ = "frame_lines"
    # Ranges are read from this index alone.
    __table_args__ = (
        Index(
            "frame_figures",
            "key",
            "made_on",
            "f_number",
            "shutter_s",
            "iso",
            "focal_mm",
            "magnification",
            "energy_j",
            "light_count",
            "unexplained_stops",
        ),
        Index("numbered_frame_lines", "number", "key"),
    )

    key: int | None = Field(default=None, primary_key=True)
    frame_id: str = Field(foreign_key="frames.id", ondelete="CASCADE", unique=True)
    shot_id: str = Field(foreign_key="shots.id", ondelete="CASCADE", index=True)
    number: int
    shot: str = ""
    said: str = ""
    marks: str = ""
    made_on: dt.date
    f_number: float | None = None
    shutter_s: float | None = None
    iso: float | None = None
    focal_mm: float | None = None
    magnification: float | None = None
    energy_j: float | None = None
    light_count: int = 0
    unexplained_stops: float | None = None


class KnownWord(Row, table=True):
    """A word that a recipe has or once had, so that a mistyped one can be compared with them. Numbers only
    grow; the words that only a deleted recipe had are taken out."""

    __tablename__ = "known_words"

    number: int | None = Field(default=None, primary_key=True)
    word: str = Field(unique=True)
