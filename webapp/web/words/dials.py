"""What stands under a dial: what its setting brings with it, in a few words."""

from __future__ import annotations

from typing import Final

from webapp.ledger.ambient_proof import AmbientProof
from webapp.ledger.consequences import close_up, depth_needs, recycle_s, sharpness
from webapp.ledger.set_up import Light, SetUp
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.powers import joules_text

# Less than this is not seen in a picture.
_TOLD_STOPS: Final = 0.005


def f_number_words(set_up: SetUp, stack: str = "") -> str:
    """Beside the f-number: "f/34 effective · 2.7 mm deep · airy disc 8.0 px", or in place of the disc what the wanted
    depth needs, where some is."""
    found = sharpness(set_up)
    if found is None:
        return ""
    parts = [f"f/{found.effective_f_number:.3g} effective"] if set_up.magnification else []
    if found.depth_mm is not None:
        parts.append(f"{found.depth_mm:.2g} mm deep")
    return " · ".join([*parts, stack or f"airy disc {found.airy_px:.1f} px"])


def stack_frames(set_up: SetUp, wanted_depth_mm: float | None) -> str:
    """How many frames would hold the wanted depth sharp, in few words; "" where none is wanted or the subject is no
    close-up."""
    needs = depth_needs(set_up, wanted_depth_mm)
    if needs is None:
        return ""
    return f"{needs.wanted_mm:g} mm in {needs.frames} frame{'s' * (needs.frames != 1)}"


def stack_words(set_up: SetUp, wanted_depth_mm: float | None) -> str:
    """What would hold the wanted depth sharp; "" where none is wanted or the subject is no close-up."""
    needs = depth_needs(set_up, wanted_depth_mm)
    if needs is None:
        return ""
    if needs.frames == 1:
        return f"{needs.wanted_mm:g} mm wanted: held in one frame"
    time = (
        ""
        if needs.duration_s is None or needs.duration_s < 0.5
        else f", at least {needs.duration_s:.0f} s by the recycling"
    )
    return (
        f"{needs.wanted_mm:g} mm wanted: {needs.frames} frames in steps of {needs.step_mm:.2g} mm at this opening"
        f"{time}; in one frame f/{needs.sharpest_f_number:.2g} blurs least, {needs.sharpest_blur_px:.0f} px"
    )


def magnification_words(set_up: SetUp, lengths: Lengths = CENTIMETRES) -> str:
    """Under the magnification: the close-up loss and the field."""
    if set_up.magnification is None:
        return "no close-up loss is reckoned with"
    found = close_up(set_up)
    if found is None:
        return "no close-up loss"
    estimated = "estimated from the distance · " if set_up.magnification_estimated else ""
    field = _field(found.width_mm, found.height_mm, lengths)
    return f"{estimated}costs {found.loss_stops:.1f} stops · field {field}"


def _field(width_mm: float, height_mm: float, lengths: Lengths) -> str:
    if lengths.inches:
        return lengths.sides(width_mm, height_mm)
    return f"{_length(width_mm)} × {_length(height_mm)}"


def _length(length_mm: float) -> str:
    return f"{length_mm:.0f} mm" if length_mm < 100 else f"{length_mm / 10:.0f} cm"


def sync_words(set_up: SetUp) -> str:
    """Beside the shutter: "ambient only · sync 1/125"."""
    sync = set_up.camera.sync_mark
    return f"ambient only · sync {sync}" if sync else "ambient only"


def ambient_words(proof: AmbientProof | None) -> str:
    """Under the shutter, once an ambient check was read: what the room now adds to a mid-tone."""
    if proof is None or proof.mid_tone_lift_stops is None or proof.mid_tone_lift_stops < _TOLD_STOPS:
        return ""
    return f" · mid-tone +{proof.mid_tone_lift_stops:.2f}{' at most' if proof.is_bound else ''}"


def power_words(light: Light) -> str:
    """Under a power: stops below full, and the energy or fraction that the dial does not show, and the recycle
    time."""
    if light.power_stops is None:
        return "power unknown"
    below = f"{abs(light.power_stops):.1f} below full" if light.power_stops < 0 else "full"
    energy = light.head.dial.energy_j(light.power_stops)
    shown = light.power_mark()
    joules = f" · {joules_text(energy)}" if energy is not None and not shown.endswith("J") else ""
    seconds = recycle_s(light)
    recycle = ""
    if seconds is not None:
        recycle = f" · recycles in about {seconds:.1f} s" if seconds >= 0.05 else " · recycles at once"
    return below + joules + recycle
