"""The kit, with what a meter read and what frames have taught."""

from __future__ import annotations

import datetime as dt

from sqlmodel import Field

from webapp.records.tables.rows import Origin, Revised, Row, new_id, now


class Learned(Row, table=True):
    """What readings have taught about a piece of kit: a head's spread and the steps of its dial, or what a crossed
    pair of polarisers takes. `subject` is the id of the head, or those of the pair."""

    __tablename__ = "learned"

    subject: str = Field(primary_key=True)
    document: str
    learned_at: dt.datetime = Field(default_factory=now)


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
