"""What the worksheets of the lens and of the set say: view and depth, sources, shadows, reflections."""

from __future__ import annotations

from typing import Final

from webapp.web.words.worksheet_names import Named, SheetWords

_CLOSE_UP_AND_DEPTH: Final = "Close up and depth"
_SOURCES_AND_SHADOWS: Final = "Sources and shadows"
_NO_PLANE: Final = "behind that plane"

SHEETS: Final = (
    SheetWords(
        "field-of-view",
        _CLOSE_UP_AND_DEPTH,
        "Field of view",
        "How far away a lens takes in a subject, or how much it takes in from where it stands.",
        asks={
            "sensor_width_mm": Named(words="the side along the subject's width"),
            "subject_width_mm": Named("width to take in", "or give the distance"),
            "subject_distance_mm": Named(words="from the front principal plane, instead of the width"),
            "principal_planes_mm": Named("between the principal planes", "0 is a thin lens"),
        },
        gives={
            "subject_distance_mm": Named("distance to the subject", "from the front principal plane"),
            "angle_deg": Named("angle of view", "across, at this distance"),
            "sensor_to_subject_mm": Named("from sensor to subject"),
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
        "softbox",
        _SOURCES_AND_SHADOWS,
        "Softbox for a softness",
        "How large a light has to be, or how near, to look as large or throw as soft an edge as wanted.",
        asks={
            "angle_deg": Named("wanted size", "as seen from the subject; or give the soft edge"),
            "penumbra_mm": Named("wanted soft edge", "of the shadow, at each side"),
            "source_distance_mm": Named("distance of the light", "or give its width"),
            "source_width_mm": Named("width of the light", "instead of the distance"),
            "screen_distance_mm": Named("shadow falls behind by", "from what throws it to where it falls"),
        },
        gives={
            "source_width_mm": Named("width of the light"),
            "source_distance_mm": Named("distance of the light"),
            "angle_deg": Named("apparent size", "from the subject"),
            "penumbra_mm": Named("soft edge of the shadow", "at each side"),
        },
    ),
    SheetWords(
        "feathering",
        _SOURCES_AND_SHADOWS,
        "Feathering",
        "A soft light turned past a row of subjects: how much more evenly it lights them, and what that costs.",
        asks={
            "subject_width_mm": Named("width of the row", "flat to the lens, or a row of faces to it"),
            "source_distance_mm": Named("distance of the light", "to the middle of the row"),
            "bearing_deg": Named("angle of the light", "off the lens axis, below 90°"),
            "turn_deg": Named("turned past by", "towards the lens, from aimed at the middle; 0° to 85°"),
            "source_width_mm": Named("width of the light"),
            "source_height_mm": Named("height of the light"),
        },
        gives={
            "fall_turned_stops": Named("fall across, turned", "brightest against darkest"),
            "fall_aimed_stops": Named("fall across, aimed", "at the middle of the row"),
            "middle_stops": Named("in the middle", "turned against aimed"),
            "best_turn_deg": Named("most even turned by"),
            "fall_best_stops": Named("fall across, most even"),
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
        "copy-glare",
        _SOURCES_AND_SHADOWS,
        "Glare on a copy",
        "Where lights must not stand beside a flat glossy original under the camera.",
        asks={
            "original_width_mm": Named(words="flat and glossy, along the line of the lights"),
            "camera_distance_mm": Named(words="from lens to original"),
            "light_distance_mm": Named(words="from the middle of the original"),
            "light_width_mm": Named(words="turned to the middle"),
            "tilt_deg": Named(words="of the original, from square to the lens"),
        },
        gives={
            "barred_from_deg": Named("no light from", "off the lens axis; + is the side of a tilt"),
            "barred_to_deg": Named("to", "for the middle of a light"),
            "seen_from_deg": Named("the original mirrors from"),
            "seen_to_deg": Named("the original mirrors to"),
        },
    ),
    SheetWords(
        "copy-pair",
        _SOURCES_AND_SHADOWS,
        "Evenness of a copy pair",
        "How evenly two lights at both sides light an original, and the angle at which they do it best.",
        asks={
            "original_width_mm": Named(words="along the line of the lights"),
            "light_distance_mm": Named(words="of each, from the middle of the original"),
            "bearing_deg": Named("angle of the lights", "off the lens axis, both alike"),
            "aim_mm": Named("aimed beyond the middle by", "each on the far half; 0 is the middle"),
            "camera_distance_mm": Named(words="from lens to original, for its glare"),
        },
        gives={
            "range_stops": Named("brightest against darkest"),
            "best_bearing_deg": Named("most even angle", "clear of glare, at this distance"),
            "best_range_stops": Named("uneven there by"),
            "corner_stops": Named("corner against middle"),
            "clear_from_deg": Named("clear of glare from"),
        },
    ),
    SheetWords(
        "edge-cards",
        _SOURCES_AND_SHADOWS,
        "Edge cards for glass",
        "How wide a bright field behind a glass may be, between black cards, for its edges to come out dark.",
        asks={
            "glass_width_mm": Named("diameter of the glass"),
            "wall_mm": Named("thickness of its wall"),
            "inside_index": Named("refractive index inside", "1 empty, 1.33 water, 1.36 spirits"),
            "field_distance_mm": Named("distance of the field", "behind the middle of the glass"),
            "dark_edge_mm": Named("wanted dark edge", "at each side; or give the field"),
            "field_width_mm": Named("width of the bright field", "between the cards, instead of the edge"),
            "glass_index": Named("refractive index of the glass", "1.52 common, 1.55 crystal"),
        },
        gives={
            "field_width_mm": Named("bright field", "from card to card"),
            "dark_edge_mm": Named(words="at each side"),
            "edge_share": Named("dark edge of the diameter"),
            "from_axis_mm": Named("cards begin at", "from the middle, at each side"),
            "meets_mm": Named(
                "the ray at the edge meets", "from the middle of the field", none="it never meets the field"
            ),
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
        "sweep",
        _SOURCES_AND_SHADOWS,
        "Sweep",
        "The sheet that lies under a subject and curves up behind it: its size, its light, and what the lens sees of it.",
        asks={
            "field_width_mm": Named(words="what the picture takes in, at the subject"),
            "camera_distance_mm": Named(words="from the entrance pupil to the subject, along the table"),
            "camera_height_mm": Named(words="above the table"),
            "looks_at_mm": Named("looks at a height of", "above the table, at the subject"),
            "behind_mm": Named("flat behind the subject", "to where the curve begins"),
            "radius_mm": Named("radius of the curve"),
            "light_height_mm": Named(words="above the table, looking down"),
            "light_forward_mm": Named(words="of the subject; negative is behind it"),
            "light_front_to_back_mm": Named(words="its side along the view"),
            "margin_mm": Named(words="added on every side"),
        },
        gives={
            "length_mm": Named("length of the sheet"),
            "width_mm": Named("width of the sheet"),
            "fall_stops": Named("top of the view against the foot", "of the light on the sheet"),
            "evenness_stops": Named("brightest against darkest", "on what is seen of it"),
            "seen_up_to_mm": Named(words="above the table"),
            "seen_in_front_mm": Named("seen in front of the subject"),
            "curve_mm": Named("length of the curve"),
        },
    ),
)
