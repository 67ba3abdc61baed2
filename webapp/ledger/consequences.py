"""What a setting brings with it, in a few words under its dial: the effective f-number, the blur of diffraction in
pixels of the camera in use, the depth of field, the recycle time."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.ledger.ambient_proof import AmbientProof
from webapp.ledger.set_up import Light, SetUp
from webapp.optics import depth, diffraction, flash, macro, stacks
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.powers import joules_text

# Closer than this the usual distant-subject words say little, and depth follows from the magnification alone.
CLOSE_UP_FROM = 0.05


@dataclass(frozen=True, slots=True)
class Sharpness:
    """Depth and diffraction at a set-up. Depth is None where magnification is unknown or the subject distant."""

    effective_f_number: float
    airy_mm: float
    airy_px: float
    depth_mm: float | None
    circle_of_confusion_mm: float


def sharpness(set_up: SetUp) -> Sharpness | None:
    """None where the f-number or the magnification is unknown."""
    if set_up.f_number is None or set_up.magnification is None:
        return None
    magnification, pupil = set_up.magnification, set_up.lens.pupil_ratio
    effective = macro.effective_f_number(set_up.f_number.exact, magnification, pupil)
    circle = depth.circle_of_confusion_mm(set_up.camera.sensor_width_mm, set_up.camera.sensor_height_mm)
    airy = diffraction.airy_disc_mm(effective)
    close = magnification >= CLOSE_UP_FROM
    return Sharpness(
        effective_f_number=effective,
        airy_mm=airy,
        airy_px=diffraction.in_pixels(airy, set_up.camera.pixel_pitch_um),
        depth_mm=depth.close_up_depth_mm(set_up.f_number.exact, circle, magnification, pupil) if close else None,
        circle_of_confusion_mm=circle,
    )


def f_number_words(set_up: SetUp) -> str:
    """Under the f-number: "f/34 effective · airy disc 46 µm, 8 px · depth 2.7 mm"."""
    found = sharpness(set_up)
    if found is None:
        return ""
    effective = f"f/{found.effective_f_number:.3g} effective · " if set_up.magnification else ""
    blur = f"airy disc {1000 * found.airy_mm:.0f} µm, {found.airy_px:.1f} px"
    deep = f" · depth {found.depth_mm:.2g} mm" if found.depth_mm is not None else ""
    return effective + blur + deep


_OVERLAP = 0.3


def stack_words(set_up: SetUp, wanted_depth_mm: float | None) -> str:
    """What would hold the wanted depth sharp: this opening, or a stack at it, and the opening that blurs least in one
    frame. "" where no depth is wanted or the magnification is not a close-up one."""
    found = sharpness(set_up)
    magnification = set_up.magnification
    if wanted_depth_mm is None or found is None or found.depth_mm is None or not magnification or not set_up.f_number:
        return ""
    if found.depth_mm >= wanted_depth_mm:
        return f"{wanted_depth_mm:g} mm wanted: held in one frame"
    pupil, circle = set_up.lens.pupil_ratio, found.circle_of_confusion_mm
    stack = stacks.focus_stack(wanted_depth_mm, magnification, set_up.f_number.exact, circle, _OVERLAP, pupil)
    best = diffraction.sharpest_aperture(wanted_depth_mm, magnification, pupil)
    return (
        f"{wanted_depth_mm:g} mm wanted: {stack.frames} frames in steps of {stack.step_mm:.2g} mm at this opening"
        f"{_stack_time(set_up, stack.frames)}; in one frame f/{best.f_number:.2g} blurs least, "
        f"{diffraction.in_pixels(best.blur_mm, set_up.camera.pixel_pitch_um):.0f} px"
    )


def _stack_time(set_up: SetUp, frames: int) -> str:
    recycles = [
        flash.recycle_at_power_s(light.head.recycle_s, light.power_stops)
        for light in set_up.lights
        if light.lit
        and light.head.kind == "flash"
        and light.head.recycle_s is not None
        and light.power_stops is not None
    ]
    return f", at least {flash.series_duration_s(frames, max(recycles)):.0f} s by the recycling" if recycles else ""


def magnification_words(set_up: SetUp, lengths: Lengths = CENTIMETRES) -> str:
    """Under the magnification: the close-up loss and the field."""
    magnification = set_up.magnification
    if magnification is None:
        return "no close-up loss is reckoned with"
    if magnification == 0:
        return "no close-up loss"
    loss = macro.exposure_increase_stops(magnification, set_up.lens.pupil_ratio)
    width, height = (side / magnification for side in (set_up.camera.sensor_width_mm, set_up.camera.sensor_height_mm))
    estimated = "estimated from the distance · " if set_up.magnification_estimated else ""
    return f"{estimated}costs {loss:.1f} stops · field {_field(width, height, lengths)}"


def _field(width_mm: float, height_mm: float, lengths: Lengths) -> str:
    if lengths.inches:
        return lengths.sides(width_mm, height_mm)
    return f"{_length(width_mm)} × {_length(height_mm)}"


def _length(length_mm: float) -> str:
    return f"{length_mm:.0f} mm" if length_mm < 100 else f"{length_mm / 10:.0f} cm"


def ambient_words(proof: AmbientProof | None) -> str:
    """Under the shutter, once an ambient check was read: what the room now adds to a mid-tone."""
    if proof is None or proof.mid_tone_lift_stops is None:
        return ""
    return f", which adds {'at most ' if proof.is_bound else ''}{proof.mid_tone_lift_stops:.2f} to a mid-tone"


def power_words(light: Light) -> str:
    """Under a power: stops below full, and the energy or fraction that the dial does not show, and the recycle
    time."""
    if light.power_stops is None:
        return "power unknown"
    below = f"{abs(light.power_stops):.1f} below full" if light.power_stops < 0 else "full"
    energy = light.head.dial.energy_j(light.power_stops)
    shown = light.power_mark()
    joules = f" · {joules_text(energy)}" if energy is not None and not shown.endswith("J") else ""
    recycle = ""
    if light.head.recycle_s is not None and light.head.kind == "flash":
        seconds = flash.recycle_at_power_s(light.head.recycle_s, light.power_stops)
        recycle = f" · recycles in about {seconds:.1f} s" if seconds >= 0.05 else " · recycles at once"
    return below + joules + recycle
