"""Sessions, shots and frames: what was set up, logged and said."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from sqlalchemy import Column, ForeignKey, Index, UniqueConstraint, text
from sqlmodel import Field, Relationship

from webapp.facts import Fact
from webapp.ledger.assessment import Assessment
from webapp.ledger.evidence import FrameEvidence
from webapp.ledger.file_values import FileValue
from webapp.ledger.moves import Move
from webapp.ledger.set_up import SetUp
from webapp.optics.scales import Marked
from webapp.records.columns import Document, Packed
from webapp.records.tables.rows import Origin, Revised, Row, new_id, now, whoever


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
    looks like a stack and is none. `figures_for` is the key of the surface that the plan tells shares and ratio of
    (`plan.sides`); "" leaves that to what was measured."""

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
    figures_for: str = Field(default="", sa_column_kwargs={"server_default": ""})


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


@dataclass(frozen=True, slots=True)
class FieldChange:
    """The last change of a field of a set-up: when, by whose browser ("" for the owner's), or by which frame's file."""

    at: dt.datetime
    by: str = ""
    frame: int | None = None
    file: str = ""


class Standing(Row, table=True):
    """The set-up of a shot as it is now. `versions` counts the changes of each field, `changes` has the last of each;
    `kept` is what comes
    back after a frame that is made to be read; `moves` are the last moves on the plan, oldest first, so that they can be taken back; `says`
    is what the last change did, where it did more than was asked."""

    __tablename__ = "standing"

    shot_id: str = Field(foreign_key="shots.id", primary_key=True)
    set_up: SetUp = Field(sa_type=Document(SetUp))
    versions: dict[str, int] = Field(default_factory=dict, sa_type=Document(dict[str, int]))
    changes: dict[str, FieldChange] = Field(default_factory=dict, sa_type=Document(dict[str, FieldChange]))
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
    file came late has in `exposed_before` the number of the first frame that was exposed after it. `not_written` has
    what was tapped before it and refused, by field, as it was meant."""

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
    not_written: dict[str, str] = Field(default_factory=dict, sa_type=Document(dict[str, str]))
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
