"""What a worksheet is called and is for, and what its parameters and results are called and mean.

A name often says enough (`subject_distance_mm` is the subject distance, in mm): only what it does not say stands here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from webapp.worksheets.parameters import words_of

_EXPOSURE: Final = "Exposure"
_FLASH: Final = "Flash"
_LIGHTS_TOGETHER: Final = "Lights together"
_CLOSE_UP_AND_DEPTH: Final = "Close up and depth"
_SOURCES_AND_SHADOWS: Final = "Sources and shadows"
_FILTERS_AND_COLOUR: Final = "Filters and colour"
_FORMATS: Final = "Formats"
_NO_PLANE: Final = "behind that plane"
_STOPS_BELOW_FULL: Final = "1/32, full, or stops below full"


@dataclass(frozen=True, slots=True)
class Named:
    """A parameter or a result: its title, what more is to be said, and, of a result, what it means to have none."""

    title: str = ""
    words: str = ""
    none: str = ""


@dataclass(frozen=True, slots=True)
class SheetWords:
    """A worksheet, and what is said of its parameters and results by their names."""

    name: str
    topic: str
    title: str
    purpose: str
    asks: Mapping[str, Named]
    gives: Mapping[str, Named]

    def asked(self, name: str) -> Named:
        """A parameter, under the title that it has here, or everywhere, or that its name is."""
        return _titled(name, self.asks.get(name) or EVERYWHERE.get(name, Named()))

    def given(self, name: str) -> Named:
        """A result, likewise."""
        return _titled(name, self.gives.get(name, Named()))


def _titled(name: str, named: Named) -> Named:
    return replace(named, title=named.title or words_of(name))


EVERYWHERE: Final[Mapping[str, Named]] = {
    "dial": Named(words="the step of the dial on which the marks are read"),
    "pupil_ratio": Named(words="exit over entrance pupil of the lens mounted normally"),
}
"""Parameters that mean the same wherever they are asked."""

_SHEETS: Final = (
    SheetWords(
        "exposure-difference",
        _EXPOSURE,
        "Exposure difference",
        "Two settings against each other: every cause of change in stops, for flash and for the ambient light.",
        asks={
            "from_shutter": Named(words="in seconds: 1/125, 0.5 or 30"),
            "from_magnification": Named(words="left out, it counts as unchanged"),
            "from_power_stops": Named(words="1/32, full, or stops below full"),
            "from_distance_mm": Named(words="from the flash to the subject"),
            "from_lens_filter_stops": Named(words="what the filters lose, positive"),
        },
        gives={
            "entries": Named(words="each cause of change: what it is, what it acts on, stops, from and to"),
        },
    ),
    SheetWords(
        "light-meter",
        _EXPOSURE,
        "Light meter",
        "The light that a setting suits: exposure value, luminance of the scene, illuminance on the subject.",
        asks={
            "f_number": Named(words="as marked"),
            "shutter": Named(words="in seconds: 1/125, 0.5 or 30"),
            "reflected_constant": Named("meter constant K", "reflected light; 12.5 and 14 are usual"),
            "incident_constant": Named(
                "meter constant C", "incident light; 250 for a flat receptor, 320 to 340 for a dome"
            ),
        },
        gives={
            "ev": Named(words="of the setting"),
            "ev100": Named(words="of the scene, at ISO 100"),
            "luminance_cd_m2": Named("luminance of the scene"),
            "illuminance_lx": Named("illuminance on the subject"),
        },
    ),
    SheetWords(
        "marked-value",
        _EXPOSURE,
        "Marked value",
        "What a mark on a dial names exactly, and what the same mark means on other dials.",
        asks={
            "quantity": Named(words="what the dial sets"),
            "mark": Named(words="as it stands on the dial: f/11, 1/125, 125, 1/64+0.7"),
        },
        gives={
            "exact": Named(words="f-number, seconds, ISO, or stops below full"),
            "literal_minus_exact_stops": Named(words="+ where the literal is the larger number"),
            "other_readings": Named(words="what the same mark names on other dials, where that differs"),
        },
    ),
    SheetWords(
        "pixel-levels",
        _EXPOSURE,
        "Pixel levels",
        "How many stops lie between two levels of a picture, and how well two codes can tell.",
        asks={
            "from_level": Named(words="8-bit sRGB, 1 to 254"),
            "to_level": Named(words="8-bit sRGB, 1 to 254"),
        },
        gives={
            "quantisation_stops": Named("uncertainty, ±", "half a code at both levels, added"),
        },
    ),
    SheetWords(
        "flash-energy",
        _FLASH,
        "Flash energy",
        "A change in stops as a place on the power dial, and the flashes it takes where full is not enough.",
        asks={
            "power_stops": Named(words=_STOPS_BELOW_FULL),
            "change_stops": Named("wanted change", "+ is more light"),
            "lowest_power_stops": Named(words="the bottom of the dial"),
            "step_stops": Named("step of the dial", "left out: stepless"),
        },
        gives={
            "energy_j": Named("energy now"),
            "to_energy_j": Named("energy to set"),
            "to_power_stops": Named("power to set"),
            "residue_stops": Named("still wanting", "wanted minus reached by one flash"),
            "pops": Named("flashes", "whole flashes at the power to set that give what is wanted"),
            "residue_with_pops_stops": Named("still wanting with these flashes"),
        },
    ),
    SheetWords(
        "guide-number",
        _FLASH,
        "Guide number",
        "Guide number, f-number and distance of a small flash: two give the third.",
        asks={
            "guide_number_m": Named(words="in metres, at ISO 100 and full power"),
            "f_number": Named(words="the effective one"),
            "distance_mm": Named(words="from the flash to the subject"),
            "power_stops": Named(words=_STOPS_BELOW_FULL),
        },
        gives={
            "guide_number_m": Named(words="at ISO 100 and full power"),
            "distance_mm": Named("distance of the flash"),
            "guide_number_at_setting_m": Named("guide number at this setting"),
        },
    ),
    SheetWords(
        "flash-duration",
        _FLASH,
        "Flash duration",
        "How far a moving subject smears while the flash lasts, on the sensor and in pixels.",
        asks={
            "t_half_s": Named(words="t0.5, above half of the peak: 1/1000 or 0.001"),
            "t_tenth_s": Named(words="t0.1, above a tenth of the peak"),
            "speed_m_s": Named(words="of the subject, across the view"),
            "pulse": Named(words="dying away by itself, or cut off"),
        },
        gives={
            "blur_mm": Named("blur on the sensor"),
        },
    ),
    SheetWords(
        "mixed-light",
        _LIGHTS_TOGETHER,
        "Mixed light",
        "Lights added as light, not as stops: the level of all together, and each one's share.",
        asks={
            "levels_stops": Named(
                words="one for each light, on one scale, with semicolons between: EV, or against a reference"
            ),
        },
        gives={
            "total_stops": Named("together", "on the scale of the levels"),
            "shares": Named(words="in the order given"),
        },
    ),
    SheetWords(
        "lighting-ratio",
        _LIGHTS_TOGETHER,
        "Lighting ratio",
        "Key against fill in stops and in both conventions of the ratio, and the fill that lifts a shadow.",
        asks={
            "key_minus_fill_stops": Named(words="each measured alone"),
            "ratio": Named(words="3 : 1 or 3; say which in the convention"),
            "convention": Named(words="key : fill, or (key + fill) : fill"),
            "shadow_stops": Named("shadow as it is", "against the key alone, negative below"),
            "wanted_shadow_stops": Named("shadow as wanted", "against the key alone"),
        },
        gives={
            "key_to_fill": Named("key : fill", "to 1, each measured alone"),
            "sum_to_fill": Named("(key + fill) : fill", "to 1, lit side against shadow side"),
            "fill_stops": Named(words="the light to add, against the key alone"),
        },
    ),
    SheetWords(
        "ambient-share",
        _LIGHTS_TOGETHER,
        "Ambient share",
        "What ambient light adds to a flash exposure, what the shutter does to both, and how far shadows lift.",
        asks={
            "ambient_stops": Named("ambient light", "against the flash alone, negative below"),
            "shutter_change_stops": Named(words="+ is longer"),
            "shadow_stops": Named(words="under flash alone, against the full flash, negative below"),
        },
        gives={
            "added_stops": Named("added by the ambient light", "before the shutter change"),
            "total_change_stops": Named(
                "change of flash and ambient together", "after the shutter change against before"
            ),
            "shadow_lift_stops": Named("lift of the shadow", "before the shutter change", none="no shadow was given"),
        },
    ),
    SheetWords(
        "close-up",
        _CLOSE_UP_AND_DEPTH,
        "Close-up",
        "The effective f-number at a magnification, and the extra exposure that it asks for.",
        asks={
            "f_number": Named(words="as marked on the lens"),
            "magnification": Named(words="1 is life size"),
            "reversed": Named(words="the lens is mounted the other way round"),
        },
        gives={
            "exposure_increase_stops": Named(words="the extra exposure needed, against the mark"),
        },
    ),
    SheetWords(
        "depth-of-field",
        _CLOSE_UP_AND_DEPTH,
        "Depth of field",
        "From where to where it is sharp, for a distance or a magnification, by the exact form of the thin lens.",
        asks={
            "focal_length_mm": Named(words="at this setting of the lens"),
            "f_number": Named(words="as marked on the lens"),
            "circle_of_confusion_mm": Named(words="0.03 is usual for 36 × 24 mm"),
            "subject_distance_mm": Named(words="from the front principal plane; or give the magnification"),
            "magnification": Named(words="instead of the distance"),
        },
        gives={
            "near_mm": Named("near limit", "from the front principal plane"),
            "far_mm": Named("far limit", "from the front principal plane", none="to infinity"),
            "depth_mm": Named(none="to infinity"),
            "hyperfocal_mm": Named("hyperfocal distance"),
        },
    ),
    SheetWords(
        "sharpest-aperture",
        _CLOSE_UP_AND_DEPTH,
        "Sharpest aperture",
        "The f-number at which defocus and diffraction together blur least over a wanted depth.",
        asks={
            "depth_mm": Named("wanted depth", "of the subject"),
            "magnification": Named(words="1 is life size"),
            "pixel_pitch_um": Named(words="to tell the blur in pixels"),
            "circle_of_confusion_mm": Named(words="to tell whether any f-number reaches it"),
        },
        gives={
            "f_number": Named("f-number to mark"),
            "blur_mm": Named("blur at both ends of the depth"),
            "reaches_circle_of_confusion": Named(
                "reaches the circle of confusion", none="no circle of confusion was given"
            ),
            "by_f_number": Named(words="the blur at the third-stop marks about it"),
        },
    ),
    SheetWords(
        "focus-stack",
        _CLOSE_UP_AND_DEPTH,
        "Focus stack",
        "The frames and the step that carry sharpness through a depth, and the time they take.",
        asks={
            "depth_mm": Named("wanted depth", "of the subject"),
            "magnification": Named(words="1 is life size"),
            "f_number": Named(words="as marked on the lens"),
            "overlap": Named(words="part of each slice: 25 % or 0.25"),
            "recycle_s": Named("recycle time", "between two frames"),
        },
        gives={
            "slice_mm": Named("depth of one frame"),
            "step_mm": Named("step at the subject"),
            "frames": Named(words="the near limit of the first on the near edge"),
            "frames_with_ends": Named("frames with both ends in focus", "a plane of focus on both edges"),
            "rail_travel_mm": Named("travel on a rail"),
            "focus_travel_mm": Named("travel of the focus", "the lens against the sensor"),
            "duration_s": Named("first flash to last"),
        },
    ),
    SheetWords(
        "source-illuminance",
        _SOURCES_AND_SHADOWS,
        "Light of a source with a size",
        "The light of a disc, ring, rectangle or point: near by, moved, beside the axis, against inverse square.",
        asks={
            "diameter_mm": Named(words="of a disc or a ring"),
            "inner_diameter_mm": Named("hole", "inner diameter of a ring"),
            "width_mm": Named(words="of a rectangle"),
            "height_mm": Named(words="of a rectangle; a strip is a narrow one"),
            "distance_mm": Named(words="from the source to a plane parallel to it"),
            "to_distance_mm": Named(words="where it is moved to"),
            "offset_mm": Named(words="beside the axis, at the first distance; along the width of a rectangle"),
        },
        gives={
            "relative_illuminance": Named(
                words="E / (π L) on the axis; 1 would be a whole glowing sky", none="a point has no luminance"
            ),
            "over_inverse_square_stops": Named("against inverse square", "extrapolated from far away"),
            "change_stops": Named("change by moving it", "at the same power, on the axis"),
            "offset_stops": Named("beside the axis", "against the axis at the first distance"),
            "peak_distance_mm": Named(
                "distance of the peak", "where a ring is strongest on its axis", none="rings only"
            ),
        },
    ),
    SheetWords(
        "shadow",
        _SOURCES_AND_SHADOWS,
        "Shadow",
        "How soft a shadow's edge is, what is left of its core, and where it falls.",
        asks={
            "source_distance_mm": Named(words="from the source to what throws the shadow"),
            "screen_distance_mm": Named(words="from there to where the shadow falls"),
            "occluder_width_mm": Named("width of what throws the shadow"),
            "offset_mm": Named("offset of the light", "from the normal through what throws the shadow"),
        },
        gives={
            "penumbra_mm": Named(words="the soft edge, at each side"),
            "umbra_mm": Named(words="the full shadow on the screen"),
            "umbra_length_mm": Named("reach of the umbra", "behind what throws the shadow", none="without end"),
            "displacement_mm": Named(words="of the shadow, away from the light"),
        },
    ),
    SheetWords(
        "family-of-angles",
        _SOURCES_AND_SHADOWS,
        "Family of angles",
        "Where a light is seen in a flat glossy subject, and where it is not.",
        asks={
            "subject_width_mm": Named(words="flat and glossy"),
            "camera_distance_mm": Named(words="from the middle of the subject"),
            "light_distance_mm": Named(words="from the middle of the subject"),
            "tilt_deg": Named(words="of the subject, from square on; below 90°"),
        },
        gives={
            "from_deg": Named("seen from", "off the lens axis, on the side of the tilt"),
            "to_deg": Named("seen to", "off the lens axis"),
            "centre_deg": Named("seen in the middle", "off the lens axis: twice the tilt"),
            "width_mm": Named("width in a plane", "square to the lens axis", none=_NO_PLANE),
            "centre_mm": Named("centre in that plane", "from the lens axis", none=_NO_PLANE),
            "from_mm": Named("near edge in that plane", "from the lens axis", none=_NO_PLANE),
            "to_mm": Named("far edge in that plane", "from the lens axis", none=_NO_PLANE),
        },
    ),
    SheetWords(
        "background-card",
        _SOURCES_AND_SHADOWS,
        "Background card",
        "The size of a card behind the subject that just fills the view.",
        asks={
            "field_width_mm": Named(words="what the picture takes in, at the subject"),
            "camera_distance_mm": Named(words="from the entrance pupil to the subject"),
            "card_distance_mm": Named(words="of the card behind the subject"),
            "margin_mm": Named(words="added on every side"),
        },
        gives={
            "width_mm": Named("width of the card"),
            "height_mm": Named("height of the card"),
        },
    ),
    SheetWords(
        "filter",
        _FILTERS_AND_COLOUR,
        "Filter",
        "Density, factor and stops of one filter, and what a pair of polarisers takes away.",
        asks={
            "density": Named(words="as in ND 0.9"),
            "factor": Named(words="as in ND8"),
            "stops": Named("loss", "positive"),
            "crossed_deg": Named("polarisers crossed by", "angle between the axes of a pair; 0° is parallel"),
        },
        gives={
            "density": Named(none="nothing passes"),
            "factor": Named(words="by which the exposure is multiplied", none="nothing passes"),
            "stops": Named("loss", none="without end"),
            "transmission": Named(words="part of the light that passes"),
        },
    ),
    SheetWords(
        "colour-shift",
        _FILTERS_AND_COLOUR,
        "Colour shift",
        "The mired shift between two colour temperatures, or where a gel of known shift leads.",
        asks={
            "to_kelvin": Named(words="wanted; or give the shift"),
            "shift_mired": Named(words="of the gel or filter, + is warmer"),
        },
        gives={
            "shift_mired": Named(words="+ is warmer"),
            "to_kelvin": Named("colour temperature after it"),
        },
    ),
    SheetWords(
        "colour-mix",
        _FILTERS_AND_COLOUR,
        "Colour mix",
        "What becomes of several colour temperatures on one place: neither the mean in kelvin nor in mired.",
        asks={
            "kelvin": Named("colour temperatures", "one for each light, with semicolons between"),
            "shares": Named(words="of each light, by luminance; any total"),
        },
        gives={
            "kelvin": Named("correlated colour temperature"),
            "duv": Named("Duv", "from the locus, + above it"),
        },
    ),
    SheetWords(
        "format-equivalence",
        _FORMATS,
        "Format equivalence",
        "The same picture on another format: same framing, same depth, same diffraction, same light.",
        asks={
            "f_number": Named(words="as marked, on the first format"),
            "focal_length_mm": Named(words="for a distant subject; or give the magnification"),
            "magnification": Named(words="close up, on the first format"),
        },
        gives={
            "f_number": Named("f-number to mark"),
            "total_light_stops": Named("change of total light", "at the converted f-number and the same time"),
            "total_light_at_same_f_number_stops": Named("change of total light at the same mark"),
            "scale": Named(words="size of the new format over the old, by the diagonal"),
        },
    ),
)
SHEETS: Final[Mapping[str, SheetWords]] = {each.name: each for each in _SHEETS}
