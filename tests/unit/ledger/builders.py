"""Exposures and set-ups, made in one line for the ledger's tests."""

from __future__ import annotations

from webapp.ledger.exposures import Exposure, Filters, LightState
from webapp.ledger.set_up import CameraFigures, HeadFigures, LensFigures, Light, SetUp
from webapp.optics.scales import Dial, Quantity
from webapp.quantities.marks import read_mark
from webapp.quantities.powers import Marking, PowerDial

DIAL = PowerDial(-6.0, 0.1, Marking.JOULES, 400.0)
HEAD = HeadFigures("head-1", "monolight 400 J", "flash", "head", 400.0, -6.0, 0.1, Marking.JOULES)
LED = HeadFigures("led-1", "LED panel", "continuous", "head", None, -6.0, 0.1)
CAMERA = CameraFigures("cam-1", "36 × 24", 36, 24, 6000, 4000, "1/200", 7 + 2 / 3, 100, 25600)
LENS = LensFigures("lens-1", "100 mm macro", 100, 100, 2.8, 32, 1.0)


def light(letter: str = "A", power: float | None = -6.0, **over: object) -> LightState:
    values: dict[str, object] = {"name": letter, "lit": True, "dial": DIAL, "distance_mm": 600.0, "head_key": "h"}
    return LightState(letter=letter, power_stops=power, **(values | over))  # type: ignore[arg-type]


def exposure(
    f_number: str | None = "5.6", *lights: LightState, shutter: str | None = "1/125", iso: str = "100", **over: object
) -> Exposure:
    return Exposure(
        f_number=None if f_number is None else read_mark(Quantity.F_NUMBER, f_number),
        shutter=None if shutter is None else read_mark(Quantity.SHUTTER, shutter),
        iso=read_mark(Quantity.ISO, iso),
        lights=lights,
        **over,  # type: ignore[arg-type]
    )


def neutral(loss: float, name: str = "ND") -> Filters:
    return Filters((name,), loss, (name,))


def set_up(f_number: str = "5.6", *lights: Light, shutter: str = "1/125", **over: object) -> SetUp:
    return SetUp(
        camera=CAMERA,
        lens=LENS,
        f_number=read_mark(Quantity.F_NUMBER, f_number),
        shutter=read_mark(Quantity.SHUTTER, shutter),
        iso=read_mark(Quantity.ISO, "100"),
        focal_length_mm=100,
        lights=lights,
        **over,  # type: ignore[arg-type]
    )


def standing_light(letter: str = "A", power: float | None = -6.0, **over: object) -> Light:
    values: dict[str, object] = {"role": "key", "head": HEAD, "distance_mm": 600.0}
    return Light(letter=letter, power_stops=power, **(values | over))  # type: ignore[arg-type]


__all__ = [
    "CAMERA",
    "DIAL",
    "HEAD",
    "LED",
    "LENS",
    "Dial",
    "exposure",
    "light",
    "neutral",
    "set_up",
    "standing_light",
]
