"""Pictures: the files of frames with what is read in them, the files of the watched folder, and photos of the set."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from sqlalchemy import BigInteger, Index, UniqueConstraint
from sqlmodel import Field

from webapp.facts import Fact
from webapp.ledger.evidence import EyeReading
from webapp.pictures.light_map import LightMap
from webapp.pictures.metadata import PictureFacts
from webapp.pictures.readings import PatchReading
from webapp.records.columns import Document, Squeezed
from webapp.records.tables.rows import Revised, Row, new_id, now, whoever


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
