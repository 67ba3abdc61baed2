"""The tables. Rows hold what was typed, set and measured; nothing here computes.

Ids are UUIDv7 as text. Times are aware UTC. A set-up, a reading and a frame's computed ledger are values of the model,
read and written whole as JSON (records.columns): their shape belongs to the code that owns them (webapp.ledger).
Lengths are millimetres, energies joules, times seconds, colour kelvin; power is stops below full.

They stand by their nouns in the modules beside this one and are imported from here, so that whoever knows one table
knows them all, as the engine and the migrations have to.
"""

from __future__ import annotations

from webapp.records.tables.house import Device, Passphrase, SaveKey, Tape
from webapp.records.tables.kit import (
    KIT_TABLES,
    Camera,
    Filter,
    Kit,
    Learned,
    Lens,
    LightHead,
    MeterReading,
    Modifier,
)
from webapp.records.tables.pictures import (
    IN_TRAY,
    TOLD_IN_TRAY,
    Arrival,
    ArrivalState,
    Patch,
    Picture,
    PictureLight,
    Reading,
    ReadingByEye,
    SetPhoto,
    WatchChoice,
    WatchedFolder,
)
from webapp.records.tables.recipes import ChecklistLine, RecipeRow, RecipeVersion, Reshoot, VocabularyTerm
from webapp.records.tables.rows import Origin, Revised, Row, new_id, now, whoever
from webapp.records.tables.search import FrameLine, KnownWord, RecipeLight, RecipeLine
from webapp.records.tables.shared import Link, LivePage, SharedPhoto
from webapp.records.tables.shots import (
    FieldChange,
    Frame,
    FrameRevision,
    KeptSetUp,
    Notice,
    PutAside,
    RevisedFrame,
    SavedMix,
    Session,
    Shot,
    Standing,
)

__all__ = [
    "IN_TRAY",
    "KIT_TABLES",
    "TOLD_IN_TRAY",
    "Arrival",
    "ArrivalState",
    "Camera",
    "ChecklistLine",
    "Device",
    "FieldChange",
    "Filter",
    "Frame",
    "FrameLine",
    "FrameRevision",
    "KeptSetUp",
    "Kit",
    "KnownWord",
    "Learned",
    "Lens",
    "LightHead",
    "Link",
    "LivePage",
    "MeterReading",
    "Modifier",
    "Notice",
    "Origin",
    "Passphrase",
    "Patch",
    "Picture",
    "PictureLight",
    "PutAside",
    "Reading",
    "ReadingByEye",
    "RecipeLight",
    "RecipeLine",
    "RecipeRow",
    "RecipeVersion",
    "Reshoot",
    "Revised",
    "RevisedFrame",
    "Row",
    "SaveKey",
    "SavedMix",
    "Session",
    "SetPhoto",
    "SharedPhoto",
    "Shot",
    "Standing",
    "Tape",
    "VocabularyTerm",
    "WatchChoice",
    "WatchedFolder",
    "new_id",
    "now",
    "whoever",
]
