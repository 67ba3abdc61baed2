"""The tables. Rows hold what was typed, set and measured; nothing here computes.

Ids are UUIDv7 as text. Times are aware UTC. A set-up, a reading and a frame's computed ledger are values of the model,
read and written whole as JSON (records.columns): their shape belongs to the code that owns them (webapp.ledger).
Lengths are millimetres, energies joules, times seconds, colour kelvin; power is stops below full.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum

import uuid_utils
from sqlalchemy import BigInteger, Column, ForeignKey, Index, UniqueConstraint, false, text, true
from sqlmodel import Field, Relationship, SQLModel

from webapp.facts import Fact
from webapp.ledger.assessment import Assessment
from webapp.ledger.evidence import EyeReading, FrameEvidence
from webapp.ledger.file_values import FileValue
from webapp.ledger.moves import Move
from webapp.ledger.reshoot_target import ReshootTarget
from webapp.ledger.set_up import SetUp
from webapp.optics.scales import Marked
from webapp.pictures.light_map import LightMap
from webapp.pictures.metadata import PictureFacts
from webapp.pictures.readings import PatchReading
from webapp.records.columns import Document, Packed, Squeezed
from webapp.security.identity import ASKING, Role


def new_id() -> str:
    """A UUIDv7: unique, and in the order of making."""
    return str(uuid_utils.uuid7())


def now() -> dt.datetime:
    return dt.datetime.now(dt.UTC)


def whoever() -> str:
    """The name of whoever asks, as the record keeps it beside what they did; empty for the owner."""
    asking = ASKING.get()
    return "" if asking.role is Role.OWNER else asking.name


class Row(SQLModel):
    """A row of a table."""

    # What goes into a row is checked before: what would check it is made where it is asked for, and not at the start.
    model_config = {"defer_build": True}


class Revised(Row):
    """A row that is edited: `revision` counts what was said of it, so that no save wipes another (`records.revisions`)."""

    revision: int = Field(default=1, sa_column_kwargs={"server_default": "1"})


class Origin(StrEnum):
    """Whose a session or a piece of kit is: the photographer's own (so is kit that was changed), the starter's, which is
    laid out for a newcomer, or the demo's."""

    OWN = "own"
    STARTER = "starter"
    DEMO = "demo"


class Session(Revised, table=True):
    """One working day or sitting. `made_for`, `place` and `notes` are private and never leave the house. The brief says
    what the pictures are used for, how large, in which crop, by when, and what they have to match. `origin` is one of
    Origin."""

    __tablename__ = "sessions"

    id: str = Field(default_factory=new_id, primary_key=True)
    name: str
    day: dt.date
    zone: str = "UTC"
    place: str = ""
    made_for: str = ""
    brief: str = ""
    used_for: str = Field(default="", sa_column_kwargs={"server_default": ""})
    size: str = Field(default="", sa_column_kwargs={"server_default": ""})
    crop: str = Field(default="", sa_column_kwargs={"server_default": ""})
    deadline: dt.date | None = None
    must_match: str = Field(default="", sa_column_kwargs={"server_default": ""})
    notes: str = ""
    origin: str = Field(default=Origin.OWN, sa_column_kwargs={"server_default": Origin.OWN})
    created_at: dt.datetime = Field(default_factory=now)


class Shot(Revised, table=True):
    """One picture that is being worked toward. At most one shot of all is on the set and holds the folder. `closed_at`
    is when its set was struck; such a shot is never on the set. `no_stacks` has the ids of frames that begin a run which
    looks like a stack and is none."""

    __tablename__ = "shots"
    __table_args__ = (
        UniqueConstraint("session_id", "number"),
        Index("only_one_shot_on_the_set", "on_set", unique=True, sqlite_where=text("on_set = 1")),
    )

    id: str = Field(default_factory=new_id, primary_key=True)
    session_id: str = Field(foreign_key="sessions.id", index=True)
    number: int
    title: str
    subject: str = ""
    subject_types: str = ""
    surface: str = ""
    look: str = ""
    subject_is_static: bool = True
    wanted_depth_mm: float | None = None
    on_set: bool = False
    reference_frame_id: str | None = Field(
        default=None,
        sa_column=Column("reference_frame_id", ForeignKey("frames.id", use_alter=True, name="shot_reference_frame")),
    )
    created_at: dt.datetime = Field(default_factory=now)
    closed_at: dt.datetime | None = None
    no_stacks: tuple[str, ...] = Field(
        default=(), sa_type=Document(tuple[str, ...]), sa_column_kwargs={"server_default": "[]"}
    )


@dataclass(frozen=True, slots=True)
class PutAside:
    """What comes back after a frame that is made to be read (`made_for`): the lights that were lit, the purpose of the
    frames, and after an ambient check the shutter."""

    shutter: Marked | None
    lit: tuple[str, ...]
    purpose: str
    made_for: str = "ambient check"

    @property
    def with_shutter(self) -> bool:
        return self.made_for == "ambient check"


class Standing(Row, table=True):
    """The set-up of a shot as it is now. `versions` counts the changes of each field; `kept` is what comes
    back after a frame that is made to be read; `moves` are the last moves on the plan, oldest first, so that they can be taken back; `says`
    is what the last change did, where it did more than was asked."""

    __tablename__ = "standing"

    shot_id: str = Field(foreign_key="shots.id", primary_key=True)
    set_up: SetUp = Field(sa_type=Document(SetUp))
    versions: dict[str, int] = Field(default_factory=dict, sa_type=Document(dict[str, int]))
    moves: tuple[Move, ...] = Field(default=(), sa_type=Document(tuple[Move, ...]))
    kept: PutAside | None = Field(default=None, sa_type=Document(PutAside))
    purpose: str = "test"
    because: str = ""
    says: tuple[Fact, ...] = Field(default=(), sa_type=Document(tuple[Fact, ...]))
    changed_at: dt.datetime = Field(default_factory=now)


class KeptSetUp(Row, table=True):
    """A set-up as frames froze it, once for all that have the same: `digest` is the name of its content, `kit` has the
    ids of the kit in it."""

    __tablename__ = "set_ups"

    digest: str = Field(primary_key=True)
    document: SetUp = Field(sa_type=Packed(SetUp))
    kit: str = ""


class Frame(Revised, table=True):
    """One exposure. `ledger` is computed in the transaction that saved what it depends on; `lit` has the letters of
    the lights that were lit. `set_values` keep what was set where the file said otherwise. `evidence` is what its
    picture says against what the ledger predicts, computed like the ledger; None where nothing was read. A frame whose
    file came late has in `exposed_before` the number of the first frame that was exposed after it."""

    __tablename__ = "frames"
    __table_args__ = (
        UniqueConstraint("shot_id", "number"),
        # The frames of many shots are counted from it alone.
        Index("counted_frames", "shot_id", "taken_back"),
        Index("read_frames", "shot_id", "lit", "number", sqlite_where=text("evidence IS NOT NULL")),
    )

    id: str = Field(default_factory=new_id, primary_key=True)
    shot_id: str = Field(foreign_key="shots.id")
    number: int
    purpose: str = "test"
    because: str = ""
    notes: str = ""
    verdict: str = ""
    set_up_digest: str = Field(foreign_key="set_ups.digest", index=True)
    set_values: dict[str, FileValue] = Field(default_factory=dict, sa_type=Document(dict[str, FileValue]))
    file_values: dict[str, FileValue] = Field(default_factory=dict, sa_type=Document(dict[str, FileValue]))
    ledger: Assessment = Field(sa_type=Packed(Assessment))
    evidence: FrameEvidence | None = Field(default=None, sa_type=Packed(FrameEvidence))
    lit: str = ""
    taken_back: bool = False
    exposed_before: int | None = None
    logged_at: dt.datetime = Field(default_factory=now)
    logged_by: str = Field(default_factory=whoever)
    # Frozen with the frame and needed wherever the frame is: read in the same statement.
    frozen: KeptSetUp = Relationship(sa_relationship_kwargs={"lazy": "joined", "innerjoin": True})

    @property
    def stands_at(self) -> int:
        """The number by which a frame is placed among the others: its own, or that of the one it came late for."""
        return self.number if self.exposed_before is None else self.exposed_before

    @property
    def set_up(self) -> SetUp:
        """The set-up as it was."""
        return self.frozen.document

    @property
    def seen(self) -> FrameEvidence:
        """What its picture says; nothing, where nothing was read."""
        return self.evidence or FrameEvidence()


@dataclass(frozen=True, slots=True)
class RevisedFrame:
    """Everything of a frame that an edit may change."""

    purpose: str
    because: str
    notes: str
    verdict: str
    set_up: SetUp
    set_values: dict[str, FileValue]
    file_values: dict[str, FileValue]
    taken_back: bool


class FrameRevision(Row, table=True):
    """What a frame said before an edit; `what` that edit was."""

    __tablename__ = "frame_revisions"
    __table_args__ = (UniqueConstraint("frame_id", "revision"),)

    id: str = Field(default_factory=new_id, primary_key=True)
    frame_id: str = Field(foreign_key="frames.id", index=True)
    revision: int
    document: RevisedFrame = Field(sa_type=Packed(RevisedFrame))
    what: tuple[Fact, ...] = Field(default=(), sa_type=Document(tuple[Fact, ...]))
    made_at: dt.datetime = Field(default_factory=now)
    made_by: str = Field(default_factory=whoever)


class Picture(Row, table=True):
    """A camera file of a frame, kept by its content. `preview` is the digest of the preview once it is made; `trouble`
    says why it could not be, and where it `trouble_passes` the next start tries again. `exposed_at` sorts the files of
    one camera as they were exposed."""

    __tablename__ = "pictures"

    id: str = Field(default_factory=new_id, primary_key=True)
    frame_id: str = Field(foreign_key="frames.id", index=True)
    digest: str = Field(unique=True)
    name: str
    kind: str
    size_bytes: int
    facts: PictureFacts = Field(sa_type=Document(PictureFacts))
    exposure_key: str = Field(default="", index=True)
    exposed_at: str = Field(default="", index=True)
    preview: str = ""
    trouble: str = ""
    trouble_passes: bool = False
    arrived_at: dt.datetime = Field(default_factory=now)


class ArrivalState(StrEnum):
    """How far a camera file has come. What waits or was refused lies in the in-tray."""

    SEEN = "seen"
    BEING_WRITTEN = "being written"
    TAKEN = "taken"
    WAITING = "waiting"
    REFUSED = "refused"
    DISMISSED = "dismissed"


IN_TRAY = frozenset({ArrivalState.WAITING, ArrivalState.REFUSED})
TOLD_IN_TRAY = IN_TRAY | {ArrivalState.BEING_WRITTEN}


class WatchedFolder(Row, table=True):
    """A folder that the server has looked into: every camera file in it has an arrival since."""

    __tablename__ = "watched_folders"

    path: str = Field(primary_key=True)
    first_looked_at: dt.datetime = Field(default_factory=now)


class WatchChoice(Row, table=True):
    """The folder that was chosen on the page to be watched, in one row; empty, or without the row, none."""

    __tablename__ = "watch_choice"

    id: int = Field(default=1, primary_key=True)
    folder: str = ""


class Arrival(Row, table=True):
    """A camera file that a watched folder holds or held, by its path in it. A file that grows keeps its row; one that is
    written anew after it was taken gets another. `changed_ns` is when the file was last written to, as its folder says;
    `why` says what keeps it from being a frame; frame and shot are those that it was filed to, the shot also where a
    passing trouble kept it from being that."""

    __tablename__ = "arrivals"
    __table_args__ = (Index("arrivals_by_path", "folder", "path"),)

    id: str = Field(default_factory=new_id, primary_key=True)
    folder: str = Field(foreign_key="watched_folders.path")
    path: str
    size_bytes: int = Field(sa_type=BigInteger)
    changed_ns: int = Field(sa_type=BigInteger)
    state: str = Field(index=True)
    why: tuple[Fact, ...] = Field(default=(), sa_type=Document(tuple[Fact, ...]))
    digest: str = ""
    frame_id: str | None = Field(default=None, foreign_key="frames.id")
    shot_id: str | None = Field(default=None, foreign_key="shots.id")
    seen_at: dt.datetime = Field(default_factory=now)


class Patch(Revised, table=True):
    """A named place in the pictures of a shot, in fractions of the upright picture from its top left, with the level
    it ought to have, in stops about mid-tone. `retired` patches keep their readings and are measured no more.
    `bearing_deg` and `elevation_deg` are where its face of the subject points, from the subject; None: nobody said."""

    __tablename__ = "patches"

    id: str = Field(default_factory=new_id, primary_key=True)
    shot_id: str = Field(foreign_key="shots.id", index=True)
    name: str
    x: float
    y: float
    width: float
    height: float
    wanted_stops: float = 0.0
    bearing_deg: float | None = None
    elevation_deg: float | None = None
    place: int = 0
    retired: bool = False
    created_at: dt.datetime = Field(default_factory=now)


class Reading(Row, table=True):
    """What was measured at a patch of a picture (at its middle, where `patch_id` is none). `document` is the reading;
    None, with the reason in `trouble`, where the picture could not be measured."""

    __tablename__ = "readings"
    __table_args__ = (UniqueConstraint("picture_id", "patch_id"),)

    id: str = Field(default_factory=new_id, primary_key=True)
    picture_id: str = Field(foreign_key="pictures.id", index=True)
    patch_id: str | None = Field(default=None, foreign_key="patches.id", index=True)
    document: PatchReading | None = Field(default=None, sa_type=Document(PatchReading))
    trouble: str = ""
    measured_at: dt.datetime = Field(default_factory=now)


class PictureLight(Row, table=True):
    """The light of a whole picture by tiles (`pictures.light_map`), kept apart since it is read where it is asked for
    alone. Without tiles it could not be had: of a few pixels, or the picture could not be read."""

    __tablename__ = "picture_light"

    picture_id: str = Field(foreign_key="pictures.id", primary_key=True)
    columns: int = 0
    rows: int = 0
    channels: tuple[str, ...] = Field(default=(), sa_type=Document(tuple[str, ...]))
    figures: bytes = Field(default=b"", sa_type=Squeezed)

    @property
    def map(self) -> LightMap | None:
        return LightMap(self.columns, self.rows, self.channels, self.figures) if self.columns else None


class ReadingByEye(Row, table=True):
    """What was seen by eye at a patch of a frame (at its middle, where `patch_id` is none), with a picture or without.
    The newest row of a frame and patch holds; `document` is None where it takes back those before."""

    __tablename__ = "readings_by_eye"

    id: str = Field(default_factory=new_id, primary_key=True)
    frame_id: str = Field(foreign_key="frames.id", index=True)
    patch_id: str | None = Field(default=None, foreign_key="patches.id")
    document: EyeReading | None = Field(default=None, sa_type=Document(EyeReading))
    seen_at: dt.datetime = Field(default_factory=now)


class SetPhoto(Revised, table=True):
    """A photo of the set of a shot, kept by its content; private, as its `name` and `caption` are. `x_mm` and `y_mm` are
    where it was taken on the plan, `looks_deg` the way that it looks, clockwise from the lens axis; all None until it is
    placed."""

    __tablename__ = "set_photos"
    __table_args__ = (UniqueConstraint("shot_id", "digest"),)

    id: str = Field(default_factory=new_id, primary_key=True)
    shot_id: str = Field(foreign_key="shots.id")
    digest: str = Field(index=True)
    name: str
    size_bytes: int
    caption: str = ""
    x_mm: float | None = None
    y_mm: float | None = None
    looks_deg: float | None = None
    added_at: dt.datetime = Field(default_factory=now)
    added_by: str = Field(default_factory=whoever)


class SharedPhoto(Row, table=True):
    """A photo of the set that was ticked for a recipe: it is shown at the links to it, until the tick is taken away."""

    __tablename__ = "shared_photos"

    recipe_id: str = Field(foreign_key="recipes.id", primary_key=True)
    photo_id: str = Field(foreign_key="set_photos.id", primary_key=True, index=True)


class Learned(Row, table=True):
    """What readings have taught about a piece of kit: a head's spread and the steps of its dial, or what a crossed
    pair of polarisers takes. `subject` is the id of the head, or those of the pair."""

    __tablename__ = "learned"

    subject: str = Field(primary_key=True)
    document: str
    learned_at: dt.datetime = Field(default_factory=now)


class SavedMix(Row, table=True):
    """A mix of the lights of a shot, saved for a reshoot or a lesson. `levels` has the stops of each light
    by letter (null: left out), `frames` the frame that each light was taken from."""

    __tablename__ = "saved_mixes"

    id: str = Field(default_factory=new_id, primary_key=True)
    shot_id: str = Field(foreign_key="shots.id", index=True)
    name: str
    saved_for: str = "reshoot"
    levels: dict[str, float | None] = Field(sa_type=Document(dict[str, float | None]))
    frames: dict[str, str] = Field(sa_type=Document(dict[str, str]))
    created_at: dt.datetime = Field(default_factory=now)


class Notice(Row, table=True):
    """A line in a shot's log about something that is no frame: a file that could not be taken in."""

    __tablename__ = "notices"

    id: str = Field(default_factory=new_id, primary_key=True)
    shot_id: str = Field(foreign_key="shots.id", index=True)
    text: str
    at: dt.datetime = Field(default_factory=now)


class SaveKey(Row, table=True):
    """A save that was answered: the same key with the same body gets the same answer again."""

    __tablename__ = "save_keys"

    key: str = Field(primary_key=True)
    body: str
    answer: str
    at: dt.datetime = Field(default_factory=now)


class Kit(Revised):
    """What every piece of kit has. `origin` is one of Origin."""

    id: str = Field(default_factory=new_id, primary_key=True)
    name: str
    notes: str = ""
    origin: str = Field(default=Origin.OWN, sa_column_kwargs={"server_default": Origin.OWN})
    retired: bool = False
    created_at: dt.datetime = Field(default_factory=now)


class Camera(Kit, table=True):
    """`in_files` is make and model as its files name it; empty until the first of them has come."""

    __tablename__ = "cameras"

    sensor_width_mm: float
    sensor_height_mm: float
    width_px: int
    height_px: int
    sync_mark: str = ""
    lowest_iso: float
    highest_iso: float
    shutter_dial: str = "third"
    iso_dial: str = "third"
    in_files: str = Field(default="", sa_column_kwargs={"server_default": ""})


class Lens(Kit, table=True):
    __tablename__ = "lenses"

    shortest_focal_mm: float
    longest_focal_mm: float
    widest_f_number: float
    smallest_f_number: float
    f_number_dial: str = "third"
    greatest_magnification: float | None = None
    pupil_ratio: float = 1.0
    records: str = "marked"


class LightHead(Kit, table=True):
    __tablename__ = "lights"

    kind: str = "flash"
    form: str = "head"
    full_energy_j: float | None = None
    lowest_power_stops: float
    step_stops: float
    marking: str = "fraction"
    full_number: float = 10.0
    stops_per_number: float = 1.0
    outer_diameter_mm: float | None = None
    inner_diameter_mm: float | None = None
    recycle_s: float | None = None
    t_half_s: float | None = None
    kelvin: float | None = None
    guide_number_m: float | None = None
    guide_reflector: str = Field(default="", sa_column_kwargs={"server_default": ""})


class Modifier(Kit, table=True):
    __tablename__ = "modifiers"

    shape: str = "point"
    width_mm: float | None = None
    height_mm: float | None = None
    inner_diameter_mm: float | None = None
    loss_stops: float | None = None
    diffuses: bool = False
    cutoff_deg: float | None = None


class Filter(Kit, table=True):
    __tablename__ = "filters"

    kind: str = "neutral"
    fits: str = "both"
    loss_stops: float | None = None
    shift_mired: float = 0.0


class MeterReading(Row, table=True):
    """An incident reading of a light with a modifier (none: bare), at ISO 100."""

    __tablename__ = "meter_readings"

    id: str = Field(default_factory=new_id, primary_key=True)
    light_id: str = Field(foreign_key="lights.id", index=True)
    modifier_id: str | None = Field(default=None, foreign_key="modifiers.id")
    mark: str
    av: float
    power_stops: float
    distance_mm: float
    read_at: dt.datetime = Field(default_factory=now)


KIT_TABLES: dict[str, type[Kit]] = {
    "cameras": Camera,
    "lenses": Lens,
    "lights": LightHead,
    "modifiers": Modifier,
    "filters": Filter,
}


class RecipeRow(Row, table=True):
    """A recipe: the place of its versions. `shot_id` is none for one that came in a bundle; `identity` is the same in
    every house that has the recipe."""

    __tablename__ = "recipes"

    id: str = Field(default_factory=new_id, primary_key=True)
    shot_id: str | None = Field(default=None, foreign_key="shots.id", index=True)
    identity: str = Field(default="", index=True, sa_column_kwargs={"server_default": ""})
    created_at: dt.datetime = Field(default_factory=now)


class RecipeVersion(Row, table=True):
    """A published version: its document never changes. `differs` has the facts of what differs from the version before."""

    __tablename__ = "recipe_versions"
    __table_args__ = (UniqueConstraint("recipe_id", "number"),)

    id: str = Field(default_factory=new_id, primary_key=True)
    recipe_id: str = Field(foreign_key="recipes.id", index=True)
    number: int
    document: str
    differs: str = "[]"
    frame_id: str | None = Field(default=None, foreign_key="frames.id")
    published_at: dt.datetime = Field(default_factory=now)


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


class VocabularyTerm(Revised, table=True):
    """A trade term of a facet, with the other words that mean it, one a line."""

    __tablename__ = "vocabulary"
    __table_args__ = (UniqueConstraint("facet", "term"),)

    id: str = Field(default_factory=new_id, primary_key=True)
    facet: str = Field(index=True)
    term: str
    others: str = ""


class Link(Row, table=True):
    """A shared address: to one version, for a student or a client, until it expires or is withdrawn. Kit is told
    by its figures, or with `kit_names` by the names it has in the house. `keep` is what a client keeps for the next
    time; `with_bundle` lets another house take the recipe in from the address. `withdrawn_pictures` are the digests of
    those that it shows no more, one a line."""

    __tablename__ = "links"

    token: str = Field(primary_key=True)
    version_id: str = Field(foreign_key="recipe_versions.id", index=True)
    reader: str = "student"
    figures: bool = True
    words: str = ""
    keep: str = Field(default="", sa_column_kwargs={"server_default": ""})
    kit_names: bool = Field(default=False, sa_column_kwargs={"server_default": false()})
    with_bundle: bool = Field(default=False, sa_column_kwargs={"server_default": false()})
    withdrawn_pictures: str = Field(default="", sa_column_kwargs={"server_default": ""})
    expires_at: dt.datetime | None = None
    withdrawn_at: dt.datetime | None = None
    views: int = 0
    made_at: dt.datetime = Field(default_factory=now)


class LivePage(Row, table=True):
    """An address at which a class follows the frames of one session, until it expires or is withdrawn. `because` lets
    the reasons of the frames out, `kit_names` the names that kit has in the house, `rejected` the frames that were
    rejected or taken back."""

    __tablename__ = "live_pages"

    token: str = Field(primary_key=True)
    session_id: str = Field(foreign_key="sessions.id", index=True)
    title: str
    because: bool = False
    kit_names: bool = False
    rejected: bool = Field(default=True, sa_column_kwargs={"server_default": true()})
    expires_at: dt.datetime | None = None
    withdrawn_at: dt.datetime | None = None
    views: int = 0
    made_at: dt.datetime = Field(default_factory=now)


class Reshoot(Row, table=True):
    """A shot that is made again from a version of a recipe. `target` is the recipe's frame, which the shot is balanced
    against until it has a reference frame; `left_open` has a fact for each thing that could not be filled in."""

    __tablename__ = "reshoots"

    shot_id: str = Field(foreign_key="shots.id", primary_key=True)
    version_id: str = Field(foreign_key="recipe_versions.id", index=True)
    target: ReshootTarget = Field(sa_type=Document(ReshootTarget))
    left_open: str = "[]"
    begun_at: dt.datetime = Field(default_factory=now)


class ChecklistLine(Row, table=True):
    """One line to tick as the set of a reshoot is rebuilt. `heading` is one of `recipes.checklist.Heading` or the name of
    a light, `words` the fact that the line says, alone in a list."""

    __tablename__ = "checklist_lines"
    __table_args__ = (UniqueConstraint("shot_id", "place"),)

    id: str = Field(default_factory=new_id, primary_key=True)
    shot_id: str = Field(foreign_key="reshoots.shot_id", index=True)
    place: int
    heading: str
    words: str
    ticked_at: dt.datetime | None = None


class Tape(Row, table=True):
    """The tape of the house, in one row: whether it is marked in inches. Without the row it is in centimetres."""

    __tablename__ = "tape"

    id: int = Field(default=1, primary_key=True)
    inches: bool = False


class Device(Row, table=True):
    """A browser that was let in. `role` is whom it stands for, `token_digest` the SHA-256 of what its cookie holds;
    `live_page` is the one that a viewer was let in for. It ends when it is signed out, or was not used for long."""

    __tablename__ = "devices"

    id: str = Field(default_factory=new_id, primary_key=True)
    name: str
    role: str
    sees_private: bool = True
    live_page: str = ""
    token_digest: str = Field(unique=True)
    let_in_at: dt.datetime = Field(default_factory=now)
    last_seen_at: dt.datetime = Field(default_factory=now)
    signed_out_at: dt.datetime | None = None


class Passphrase(Row, table=True):
    """The owner's passphrase, in one row, as its hash."""

    __tablename__ = "passphrase"

    id: int = Field(default=1, primary_key=True)
    hash: str
    set_at: dt.datetime = Field(default_factory=now)
