"""The bodies of the stateless balance: two exposures as they are written in JSON, read into what the ledger compares.

Nothing is known here but what the body says: no kit, no records. Unknown stays unknown; where both sides leave a
value open, it is taken as unchanged, and a note says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Annotated, Any, Final, Literal

from pydantic import ConfigDict, Field, PlainValidator, ValidationInfo, field_validator

from webapp.ledger.exposures import ALL_LIGHTS, AMBIENT, Exposure, Filters, LightState
from webapp.optics.scales import Dial, Marked, Quantity, read_value
from webapp.quantities.marks import read_mark
from webapp.quantities.powers import Marking, PowerDial
from webapp.web.api.requests import Body, Number, Switch, Whole

MOST_LIGHTS: Final = 50
LONGEST_NAME: Final = 20
_SAME_STOPS: Final = 1e-9
_EXAMPLES: Final = {Quantity.F_NUMBER: '"5.6" or 5.6', Quantity.SHUTTER: '"1/125" or 0.5', Quantity.ISO: "100"}


def _readable(quantity: Quantity, value: Any) -> str | float | None:
    """A camera setting as it was sent, once every dial can read it. Raises ValueError, saying what is allowed."""
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise ValueError(f"write it as text or as a number: {_EXAMPLES[quantity]}; null where it is unknown")
    setting = value if isinstance(value, str) else float(value)
    for dial in Dial:
        _read(quantity, setting, dial)
    return setting


def _read(quantity: Quantity, setting: str | float | None, dial: Dial) -> Marked | None:
    if setting is None:
        return None
    return read_mark(quantity, setting, dial) if isinstance(setting, str) else read_value(quantity, setting, dial)


def _setting(quantity: Quantity) -> PlainValidator:
    sent = Annotated[str, Field(min_length=1, max_length=40)] | float | None
    return PlainValidator(partial(_readable, quantity), json_schema_input_type=sent)


FNumber = Annotated[str | float | None, _setting(Quantity.F_NUMBER)]
Shutter = Annotated[str | float | None, _setting(Quantity.SHUTTER)]
Iso = Annotated[str | float | None, _setting(Quantity.ISO)]


class LightBody(Body):
    """One light. `power_stops` is in stops below full (0 is full, −5 is 1/32), and null where it is unknown."""

    lit: Switch = True
    lowest_power_stops: Number = Field(-7.0, ge=-20, le=0, description="the lowest mark of its dial")
    power_stops: Number | None = Field(
        None,
        le=0,
        description="from lowest_power_stops to 0; null is unknown, left out on both sides is taken as unchanged",
    )
    step_stops: Number = Field(0.1, ge=0.01, le=10, description="the step of its dial")
    full_energy_j: Number | None = Field(
        None, gt=0, le=100_000, description="stored energy at full; another figure on the other side is another head"
    )
    distance_mm: Number | None = Field(None, ge=1, le=100_000, description="from the light to the subject")
    filter_stops: Number | None = Field(0.0, ge=0, le=40, description="what its filters take away; null is unknown")
    kind: Literal["flash", "continuous"] = "flash"
    recycle_s: Number | None = Field(None, gt=0, le=600, description="recycle time at full; pops need it")

    @field_validator("power_stops")
    @classmethod
    def _on_its_dial(cls, power_stops: float | None, info: ValidationInfo) -> float | None:
        lowest = info.data.get("lowest_power_stops")
        if power_stops is not None and lowest is not None and power_stops < lowest - _SAME_STOPS:
            raise ValueError(f"A power goes from the lowest mark of its dial, {lowest:g}, to 0, which is full.")
        return power_stops

    @property
    def says_power(self) -> bool:
        """Whether the body has the field at all; null in it says that the power is unknown."""
        return "power_stops" in self.model_fields_set

    def says_unknown(self, field: str) -> bool:
        """Whether the body says outright that it does not know."""
        return field in self.model_fields_set and getattr(self, field) is None


class ExposureBody(Body):
    """Camera settings and lights. `f_number`, `shutter` and `iso` are text or numbers; null is unknown."""

    f_number: FNumber = Field(examples=["8"])
    shutter: Shutter = Field(examples=["1/125"])
    iso: Iso = Field(examples=[100])
    lens_filter_stops: Number | None = Field(0.0, ge=0, le=40, description="what filters on the lens take away")
    magnification: Number | None = Field(None, ge=0, le=100, description="null or 0 is a distant subject")
    pupil_ratio: Number | None = Field(1.0, ge=0.1, le=10, description="exit over entrance pupil; null is unknown")
    pops: Whole = Field(1, ge=1, le=1000, description="flashes into this one exposure")
    lights: dict[str, LightBody] = Field(
        description="each under its name",
        json_schema_extra={
            "propertyNames": {"minLength": 1, "maxLength": LONGEST_NAME},
            "maxProperties": MOST_LIGHTS,
        },
    )

    @field_validator("lights", mode="before")
    @classmethod
    def _named(cls, lights: Any) -> Any:
        if not isinstance(lights, dict):
            return lights
        if len(lights) > MOST_LIGHTS:
            raise ValueError(f"At most {MOST_LIGHTS} lights are compared at once.")
        for name in lights:
            if not name.strip() or len(name) > LONGEST_NAME:
                raise ValueError(f"A light's name has from 1 to {LONGEST_NAME} characters, such as A.")
            if name in (AMBIENT, ALL_LIGHTS):
                raise ValueError(f"No light can be called “{name}”: that word stands for other light here.")
        return lights


class DialsBody(Body):
    """The steps of the camera's dials."""

    f_number: Dial = Dial.THIRD
    shutter: Dial = Dial.THIRD
    iso: Dial = Dial.THIRD


class BalanceBody(Body):
    """What is compared: `from` one exposure `to` another."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "from": {
                        "f_number": "5.6",
                        "shutter": "1/125",
                        "iso": 100,
                        "lights": {"A": {"power_stops": -6, "full_energy_j": 400, "distance_mm": 600}},
                    },
                    "to": {
                        "f_number": "22",
                        "shutter": "1/125",
                        "iso": 100,
                        "lights": {"A": {"power_stops": -1, "full_energy_j": 400, "distance_mm": 600}},
                    },
                }
            ]
        }
    )

    before: ExposureBody = Field(alias="from")
    after: ExposureBody = Field(alias="to")
    target_stops: Number = Field(0.0, ge=-20, le=20, description="where the balance of the flashes ought to stand")
    dial: DialsBody = DialsBody()

    def exposures(self) -> tuple[Exposure, Exposure]:
        """The two exposures, read on the dials."""
        return self._exposure(self.before, self.after), self._exposure(self.after, self.before)

    def _exposure(self, side: ExposureBody, other: ExposureBody) -> Exposure:
        return Exposure(
            f_number=_read(Quantity.F_NUMBER, side.f_number, self.dial.f_number),
            shutter=_read(Quantity.SHUTTER, side.shutter, self.dial.shutter),
            iso=_read(Quantity.ISO, side.iso, self.dial.iso),
            lights=tuple(_light_state(name, light, other.lights.get(name)) for name, light in side.lights.items()),
            lens_filters=_filters(side.lens_filter_stops),
            magnification=side.magnification or 0.0,
            pupil_ratio=side.pupil_ratio or other.pupil_ratio or 1.0,
            pops=side.pops,
        )

    def taken_as_unchanged(self) -> Iterator[str]:
        """Notes on what both sides leave open, beyond those that the comparison itself gives."""
        if self.before.lens_filter_stops is None and self.after.lens_filter_stops is None:
            yield "The loss of the lens filters is unknown on both sides and taken as unchanged."
        ratios = [side.pupil_ratio for side in (self.before, self.after)]
        if None in ratios:
            known = next((ratio for ratio in ratios if ratio is not None), None)
            yield f"The pupil ratio is unknown and taken as {'1' if known is None else f'{known:g}, as on the other side'}."
        for name, now in self.after.lights.items():
            was = self.before.lights.get(name)
            if was is None or not (was.lit and now.lit):
                continue
            if _power_is_unchanged(was, now):
                yield f"The power of {name} is given on neither side and taken as unchanged."
            if was.says_unknown("full_energy_j") and now.says_unknown("full_energy_j"):
                yield f"The full energy of {name} is unknown on both sides and taken as unchanged."
            if was.filter_stops is None and now.filter_stops is None:
                yield f"The loss of the filters on {name} is unknown on both sides and taken as unchanged."


def _power_is_unchanged(light: LightBody, other: LightBody | None) -> bool:
    return other is not None and not light.says_power and not other.says_power


def _light_state(name: str, light: LightBody, other: LightBody | None) -> LightState:
    unchanged = _power_is_unchanged(light, other)
    marking = Marking.FRACTION if light.full_energy_j is None else Marking.JOULES
    return LightState(
        letter=name,
        name=name,
        lit=light.lit,
        # Any power says "unchanged" where both sides have it; without a dial no way by energy is offered.
        power_stops=0.0 if unchanged else light.power_stops,
        dial=None
        if unchanged
        else PowerDial(light.lowest_power_stops, light.step_stops, marking, light.full_energy_j),
        distance_mm=light.distance_mm,
        kind=light.kind,
        head_key=_head_key(light, other),
        filters=_filters(light.filter_stops),
        recycle_s=light.recycle_s,
    )


def _head_key(light: LightBody, other: LightBody | None) -> str:
    """Two full energies tell two heads apart; one that is given on one side only tells nothing."""
    if other is None or light.full_energy_j is None or other.full_energy_j is None:
        return ""
    return repr(light.full_energy_j)


def _filters(loss_stops: float | None) -> Filters:
    if loss_stops is None:
        return Filters(("unknown",), None, ("filters",))
    return (
        Filters((repr(loss_stops),), loss_stops, (f"filters of {loss_stops:.1f} stops",)) if loss_stops else Filters()
    )
