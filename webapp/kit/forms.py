"""What may be said of a piece of kit, checked. One model a kind serves the page's form and the API alike.

Each field's `title` is its label, its `description` the line under it; `json_schema_extra` may hold a unit and a
group of choices for the page.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, field_validator, model_validator

from webapp.optics import filters
from webapp.optics.scales import Dial, Quantity
from webapp.quantities.lengths import CENTIMETRES
from webapp.quantities.marks import read_mark
from webapp.quantities.numbers import read_number
from webapp.quantities.powers import Marking
from webapp.quantities.temperatures import read_kelvin

_LONGEST_NOTE = 4000


def _empty_is_unknown(value: Any) -> Any:
    return None if isinstance(value, str) and value.strip() in ("", "?", "unknown") else value


def _as_typed(read: Callable[[str], float], value: Any) -> Any:
    """What a grammar makes of a text; what it refuses is left for the model, which says what is allowed."""
    try:
        return read(value) if isinstance(value, str) else value
    except ValueError:
        return value


_number = partial(_as_typed, read_number)
_taped = partial(_as_typed, partial(CENTIMETRES.read_offset, bare_mm=1.0))
_kelvin = partial(_as_typed, read_kelvin)
Known = Annotated[float, BeforeValidator(_number), Field(allow_inf_nan=False)]
Maybe = Annotated[float | None, BeforeValidator(_number), BeforeValidator(_empty_is_unknown)]
Taped = Annotated[float, BeforeValidator(_taped), Field(allow_inf_nan=False)]
MaybeTaped = Annotated[float | None, BeforeValidator(_taped), BeforeValidator(_empty_is_unknown)]
DialName = Literal["full", "half", "third"]
BY_TAPE: Final[dict[str, Any]] = {"unit": "mm", "by": "tape"}
"""Of a length on the set, which a page shows in the reader's unit; a sensor and a focal length stay in millimetres."""
ONLY_RING: Final[dict[str, Any]] = {"only": "ring"}
"""Of a field that a page shows only where that is chosen in another of the form: what has no ring has no hole."""
ONLY_FLASH: Final[dict[str, Any]] = {"only": "flash"}
ONLY_NUMBERED: Final[dict[str, Any]] = {"only": "numbered"}


class KitForm(BaseModel):
    """What every piece of kit has."""

    model_config = ConfigDict(str_strip_whitespace=True, extra="forbid")

    name: str = Field(min_length=1, max_length=120, title="name", description="as you call it on the set")
    notes: str = Field("", max_length=_LONGEST_NOTE, title="notes")

    def row_values(self) -> dict[str, Any]:
        """The columns to write."""
        return self.model_dump()


class CameraForm(KitForm):
    sensor_width_mm: Known = Field(36.0, gt=0, le=500, title="sensor width", json_schema_extra={"unit": "mm"})
    sensor_height_mm: Known = Field(24.0, gt=0, le=500, title="sensor height", json_schema_extra={"unit": "mm"})
    width_px: int = Field(6000, gt=0, le=100_000, title="picture width", json_schema_extra={"unit": "pixels"})
    height_px: int = Field(4000, gt=0, le=100_000, title="picture height", json_schema_extra={"unit": "pixels"})
    sync_mark: str = Field(
        "1/200",
        max_length=20,
        title="sync speed",
        description="the shortest time at which the whole frame gets the flash",
    )
    lowest_iso: Known = Field(100.0, ge=1, le=10_000_000, title="lowest ISO")
    highest_iso: Known = Field(25600.0, ge=1, le=10_000_000, title="highest ISO")
    shutter_dial: DialName = Field("third", title="shutter dial", description="its step, in stops")
    iso_dial: DialName = Field("third", title="ISO dial", description="its step, in stops")
    in_files: str = Field(
        "",
        max_length=120,
        title="make and model in its files",
        description="taken from its first file; empty it to have it taken anew",
    )

    @field_validator("sync_mark")
    @classmethod
    def _readable(cls, value: str) -> str:
        if value:
            read_mark(Quantity.SHUTTER, value, Dial.THIRD)
        return value

    @model_validator(mode="after")
    def _in_order(self) -> CameraForm:
        if self.highest_iso < self.lowest_iso:
            raise ValueError("the highest ISO lies below the lowest")
        return self


class LensForm(KitForm):
    shortest_focal_mm: Known = Field(100.0, gt=0, le=5000, title="focal length", json_schema_extra={"unit": "mm"})
    longest_focal_mm: Maybe = Field(
        None,
        gt=0,
        le=5000,
        title="longest focal length",
        description="only for a zoom",
        json_schema_extra={"unit": "mm"},
    )
    widest_f_number: Known = Field(
        2.8, ge=0.5, le=128, title="maximum aperture", description="its f-number, such as 2.8"
    )
    smallest_f_number: Known = Field(
        32.0, ge=0.5, le=512, title="minimum aperture", description="its f-number, such as 22"
    )
    f_number_dial: DialName = Field("third", title="aperture dial", description="its step, in stops")
    greatest_magnification: Maybe = Field(
        None, gt=0, le=100, title="greatest magnification", description="1 for a macro lens that reaches life size"
    )
    pupil_ratio: Known = Field(
        1.0, ge=0.1, le=10, title="pupil ratio", description="exit over entrance pupil; 1 unless you measured it"
    )
    records: Literal["marked", "effective"] = Field(
        "marked",
        title="f-number in the file",
        description="effective, if the recorded f-number rises as you focus closer; it keeps the close-up loss from "
        "being counted twice",
    )

    @model_validator(mode="after")
    def _in_order(self) -> LensForm:
        if self.longest_focal_mm is None:
            self.longest_focal_mm = self.shortest_focal_mm
        if self.longest_focal_mm < self.shortest_focal_mm:
            raise ValueError("the longest focal length lies below the shortest")
        if self.smallest_f_number < self.widest_f_number:
            raise ValueError("the minimum aperture has a lower f-number than the maximum")
        return self


class LightForm(KitForm):
    kind: Literal["flash", "continuous"] = Field("flash", title="kind")
    form: Literal["head", "ring"] = Field("head", title="form")
    full_energy_j: Maybe = Field(
        None,
        gt=0,
        le=100_000,
        title="full energy",
        description="stored energy; ranks the settings of this head only",
        json_schema_extra={"unit": "J"},
    )
    range_stops: Known = Field(
        6.0,
        ge=0,
        le=14,
        title="power range",
        description="from full down to the lowest mark",
        json_schema_extra={"unit": "stops"},
    )
    step_stops: Known = Field(
        0.1,
        ge=0.01,
        le=2,
        title="power step",
        description="0.1, 1/3, 1/2 or 1",
        json_schema_extra={"unit": "stops"},
    )
    marking: Marking = Field(Marking.FRACTION, title="power marks")
    full_number: Known = Field(10.0, ge=0, le=1000, title="full-power number", json_schema_extra=ONLY_NUMBERED)
    stops_per_number: Known = Field(1.0, gt=0, le=10, title="stops per number", json_schema_extra=ONLY_NUMBERED)
    outer_diameter_mm: MaybeTaped = Field(
        None, gt=0, le=5000, title="outer diameter", json_schema_extra=BY_TAPE | ONLY_RING
    )
    inner_diameter_mm: MaybeTaped = Field(
        None, ge=0, le=5000, title="inner diameter", json_schema_extra=BY_TAPE | ONLY_RING
    )
    recycle_s: Maybe = Field(
        None, gt=0, le=600, title="recycle time at full", json_schema_extra={"unit": "s"} | ONLY_FLASH
    )
    t_half_s: Maybe = Field(
        None,
        gt=0,
        le=1,
        title="flash duration t0.5 at full",
        description="such as 1/800",
        json_schema_extra={"unit": "s", "as": "fraction"} | ONLY_FLASH,
    )
    kelvin: Annotated[float | None, BeforeValidator(_kelvin), BeforeValidator(_empty_is_unknown)] = Field(
        None, ge=1000, le=25_000, title="colour temperature", json_schema_extra={"unit": "K"}
    )
    guide_number_m: Maybe = Field(
        None,
        gt=0,
        le=1000,
        title="guide number",
        description="at ISO 100 and full energy; stands in for a meter reading where there is none",
        json_schema_extra={"unit": "m"} | ONLY_FLASH,
    )
    guide_reflector: str = Field(
        "",
        max_length=120,
        title="reflector of the guide number",
        description="as the modifier is called in the kit; blank for the head as it comes",
        json_schema_extra=ONLY_FLASH,
    )

    @model_validator(mode="after")
    def _consistent(self) -> LightForm:
        if self.kind == "continuous" and self.guide_number_m is not None:
            raise ValueError("only a flash has a guide number: continuous light grows with the time")
        if self.marking is Marking.JOULES and self.full_energy_j is None:
            raise ValueError("a dial marked in joules needs the full energy")
        if self.form == "ring":
            if self.outer_diameter_mm is None:
                raise ValueError("a ring needs its outer diameter")
            if (self.inner_diameter_mm or 0.0) > self.outer_diameter_mm:
                raise ValueError("the hole is larger than the ring")
        return self

    def row_values(self) -> dict[str, Any]:
        values = self.model_dump(exclude={"range_stops"})
        return {**values, "lowest_power_stops": -self.range_stops, "marking": self.marking.value}


class ModifierForm(KitForm):
    shape: Literal["point", "disc", "ring", "rectangle"] = Field(
        "point",
        title="emitting face",
        description="point for a bare reflector or a grid (inverse square), else the shape of the diffusing face",
    )
    width_mm: MaybeTaped = Field(None, gt=0, le=20_000, title="width or diameter", json_schema_extra=BY_TAPE)
    height_mm: MaybeTaped = Field(
        None, gt=0, le=20_000, title="height", json_schema_extra=BY_TAPE | {"only": "rectangle"}
    )
    inner_diameter_mm: MaybeTaped = Field(
        None,
        ge=0,
        le=20_000,
        title="inner diameter",
        json_schema_extra=BY_TAPE | ONLY_RING,
    )
    loss_stops: Maybe = Field(
        None,
        ge=-5,
        le=15,
        title="loss",
        description="compared with the bare head; blank where unknown",
        json_schema_extra={"unit": "stops"},
    )
    diffuses: bool = Field(False, title="diffuses")
    cutoff_deg: Maybe = Field(
        None,
        gt=0,
        lt=90,
        title="cut-off of a grid or snoot",
        description="angle off the axis from which nothing comes through: its tangent is a cell's width over its depth",
        json_schema_extra={"unit": "°"},
    )

    @model_validator(mode="after")
    def _has_its_size(self) -> ModifierForm:
        if self.shape != "point" and self.width_mm is None:
            raise ValueError(f"a {self.shape} needs its width")
        if self.shape == "rectangle" and self.height_mm is None:
            raise ValueError("a rectangle needs its height")
        if self.shape == "ring" and (self.inner_diameter_mm or 0.0) > (self.width_mm or math.inf):
            raise ValueError("the hole is larger than the ring")
        return self


class FilterForm(KitForm):
    kind: Literal["neutral", "gel", "diffusion", "polariser", "other"] = Field("neutral", title="kind")
    fits: Literal["both", "light", "lens"] = Field("both", title="used on")
    loss: str = Field(
        "",
        max_length=40,
        title="loss",
        description="ND 0.6 is a density (2.0 stops), ND4 a factor (2 stops); or write 2 stops. Blank where unknown",
    )
    loss_stops: Maybe = Field(
        None, ge=0, le=40, title="loss in stops", json_schema_extra={"unit": "stops", "page": False}
    )
    density: Maybe = Field(None, ge=0, le=12, title="density", json_schema_extra={"page": False})
    shift_mired: Known = Field(
        0.0,
        ge=-600,
        le=600,
        title="colour shift",
        description="+ warms; the maker's own figure",
        json_schema_extra={"unit": "mired"},
    )

    @model_validator(mode="after")
    def _one_loss(self) -> FilterForm:
        given = [name for name in ("loss", "loss_stops", "density") if getattr(self, name) not in ("", None)]
        if len(given) > 1:
            raise ValueError(f"the loss is given {len(given)} times ({', '.join(given)}); one of them is enough")
        if self.loss:
            self.loss_stops = filters.read_neutral_density(self.loss)
        elif self.density is not None:
            self.loss_stops = filters.stops_from_density(self.density)
        return self

    def row_values(self) -> dict[str, Any]:
        return self.model_dump(exclude={"loss", "density"})


class MeterReadingForm(BaseModel):
    """An incident reading of a light with a modifier, at ISO 100."""

    model_config = ConfigDict(str_strip_whitespace=True, extra="forbid")

    modifier_id: Annotated[str | None, BeforeValidator(_empty_is_unknown)] = Field(None, title="modifier")
    f_number: str = Field(
        min_length=1, max_length=40, title="meter reading", description="f-number at ISO 100, such as f/11 or 11.3"
    )
    power: str = Field(min_length=1, max_length=40, title="power", description="as the dial shows it")
    distance_mm: Taped = Field(gt=0, le=100_000, title="distance", json_schema_extra=BY_TAPE)


KIT_FORMS: dict[str, type[KitForm]] = {
    "cameras": CameraForm,
    "lenses": LensForm,
    "lights": LightForm,
    "modifiers": ModifierForm,
    "filters": FilterForm,
}
