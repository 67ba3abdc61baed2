"""What the worksheets of exposure, flash, and lights together say."""

from __future__ import annotations

from typing import Final

from webapp.web.words.worksheet_names import Named, SheetWords

_EXPOSURE: Final = "Exposure"
_FLASH: Final = "Flash"
_LIGHTS_TOGETHER: Final = "Lights together"
_STOPS_BELOW_FULL: Final = "1/32, full, or stops below full"

SHEETS: Final = (
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
        "sync-ambient",
        _LIGHTS_TOGETHER,
        "Ambient light under flash",
        "The shutter, aperture or ISO that puts the ambient light as many stops under as wanted; the flash stays.",
        asks={
            "ambient_f_number": Named("ambient: f-number", "at which the ambient light alone is right"),
            "ambient_shutter": Named("ambient: shutter", "of that reading: 1/30, 0.5 or 2 s"),
            "iso": Named(words="of that reading"),
            "wanted_stops": Named("ambient light under", "by so many stops; 0 leaves it right"),
            "sync": Named("sync speed", "the shortest time at which the flash is whole"),
        },
        gives={
            "shutter": Named("shutter to set", "seconds; no shorter than the sync speed"),
            "f_number": Named("with the f-number", "where the shutter is not enough"),
            "rest_stops": Named("left by the shutter", "for aperture or ISO"),
            "iso": Named("or with the ISO", "in place of the aperture"),
            "by_shutter_stops": Named("done by the shutter"),
        },
    ),
)
