"""What a working assumes, in words: the lines under a formula."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.optics.assumptions import Assumption
from webapp.web.words.figures import percent

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_ALWAYS: Final[Mapping[Assumption, str]] = {
    Assumption.PANEL_GLOWS_EVENLY: "the source glows evenly and alike in every forward direction (Lambertian)",
    Assumption.PLANE_PARALLEL: "the lit plane is parallel to the source",
    Assumption.POINT_SOURCE: "the source is a point",
    Assumption.LIGHT_SMALL: "the light is small for its distance",
    Assumption.SQUARE_FROM_FAR: "inverse square is extrapolated from far away",
    Assumption.ON_AXIS_SAME_POWER: "on the source's axis, at the same power",
    Assumption.SEEN_FROM_AXIS: "seen from the source's axis",
    Assumption.DISC_LESS_HOLE: "the ring is a disc less the disc of its hole",
    Assumption.FOUR_CORNERS: "four equal corners",
    Assumption.RING_DARKER_NEARER: "nearer than this, closer is darker",
    Assumption.ONE_HEAD: "one head, whose dial keeps its word",
    Assumption.OWN_SLOPE: "k is the median of the head's own readings",
    Assumption.FOLLOWS_ENERGY: "the light given follows the stored energy of this head",
    Assumption.HEADS_DO_NOT_COMPARE: "one head: energies of different heads do not compare",
    Assumption.EQUAL_FLASHES: "equal flashes; nothing moves between them",
    Assumption.ONE_METER_ALONE: "one meter, held the same way, with this light alone",
    Assumption.FLASH_SMALL: "the flash is small for its distance",
    Assumption.NO_WALLS: "no light comes back from the walls",
    Assumption.STOPS_ADD_UP: "stops add up because they are logarithms of factors",
    Assumption.METER_ASKS_FOR_IT: "the setting is the one the meter asks for",
    Assumption.CONTINUOUS_LIGHT: "continuous light; flash is not touched by the shutter up to the sync speed",
    Assumption.LIGHT_ADDS: "light adds; stops do not",
    Assumption.EACH_ALONE: "key and fill each measured alone",
    Assumption.FILL_REACHES_KEY_SIDE: "the fill reaches the side of the key; the key does not reach the shadow",
    Assumption.SHUTTER_MOVES_AMBIENT: "the shutter changes the ambient part only, up to the sync speed",
    Assumption.AMBIENT_IN_SHADOW: "the ambient light is as strong in the shadow as elsewhere",
    Assumption.NO_PICTURE_STYLE: "sRGB tone curve without a picture style",
    Assumption.ONE_CURVE_FOR_ALL_COLOURS: "red, green and blue go through one curve, each by itself",
    Assumption.NOT_THROUGH_LENS: "metered by hand or flash; a reading through the lens has it already",
    Assumption.PUPILS_CHANGE_PLACES: "the pupils change places; P is that of the lens mounted normally",
    Assumption.WHOLE_LENS_MOVED: "focused by moving the whole lens",
    Assumption.FOCAL_LENGTH_ESTIMATED: "estimated: a lens that focuses inside has a shorter focal length close up",
    Assumption.PRINT_SEEN_WHOLE: "a print seen whole from the distance of its diagonal",
    Assumption.FROM_PRINCIPAL_PLANE: "measured from the front principal plane",
    Assumption.NO_DIFFRACTION: "geometry alone, without diffraction",
    Assumption.INFINITE_PAST_HYPERFOCAL: "to infinity where r is 1 or more",
    Assumption.INFINITE_DEPTH: "to infinity where N c / f reaches m",
    Assumption.NEARER_THAN_HYPERFOCAL: "the subject is much nearer than the hyperfocal distance",
    Assumption.DEPTH_SMALL: "the depth is small against the subject distance",
    Assumption.FOCUS_IN_MIDDLE: "focus in the middle of the spread",
    Assumption.BLURS_IN_SQUARE: "defocus and diffraction add in square",
    Assumption.DIFFRACTION_RULE: "diffraction counts as N / 750 mm at 546 nm",
    Assumption.FIRST_NEAR_LIMIT: "the near limit of the first frame stands on the near edge",
    Assumption.FOCUS_ON_EDGES: "a plane of focus stands on both edges",
    Assumption.SIZES_ARE_DIAGONALS: "sizes are diagonals unless a side is named",
    Assumption.DISTANT_SUBJECT: "a distant subject, seen from the same place",
    Assumption.SAME_FRAMING: "the same framing and the same time",
    Assumption.ALL_PARALLEL: "source, occluder and screen are parallel",
    Assumption.GLOWS_OVER_WIDTH: "the source glows over its whole width",
    Assumption.SCREEN_SQUARE: "the screen is at right angles to the axis",
    Assumption.FLAT_MIRROR_SQUARE: "the subject is flat, mirror-like and square to the camera",
    Assumption.FLAT_MIRROR: "the subject is flat and mirror-like",
    Assumption.GLASS_IS_ROUND: "the glass is round, of even wall, and seen across its axis",
    Assumption.LENS_FAR_AWAY: "the lens is far away for the size of the glass",
    Assumption.REFLECTIONS_LEFT_OUT: "what the walls mirror of the room is left out",
    Assumption.LIGHT_FACES_MIDDLE: "the light is turned to the middle of the original",
    Assumption.SHEET_IS_MATT: "the sheet is matt: what it sends back goes with the light on it",
    Assumption.LIGHT_SQUARE_TO_CAMERA: "the plane of the light is at right angles to the camera's axis",
    Assumption.MIRROR_TURNS_TWICE: "a mirror tilted by a turns its reflection by 2a",
    Assumption.FROM_ENTRANCE_PUPIL: "the camera's distance is taken from its entrance pupil",
    Assumption.PERFECT_POLARISERS: "both polarisers are perfect; a real pair at 90° passes a little",
    Assumption.PLUS_IS_WARMER: "+ is warmer",
    Assumption.NEAR_LOCUS: "the light stays near the Planckian locus",
    Assumption.ON_LOCUS: "each light lies on the Planckian locus",
    Assumption.SHARES_OF_LUMINANCE: "shares are of luminance",
    Assumption.SMALL_ERRORS: "small errors; a large face close by is more forgiving",
    Assumption.REBUILT_BESIDE: "a flat subject, lit from about 45° and rebuilt 15° off, as from memory",
    Assumption.MIDDLE_OF_DIAL: "the middle of the dial is set; the true mark lies anywhere on it",
    Assumption.METER_TOWARDS_LIGHT: "the meter was held towards the light",
    Assumption.FACE_GLOWS_EVENLY: "the face glows evenly and alike in every forward direction",
    Assumption.MODELLED_BY_GUIDE: "modelled, not metered: makers' guide numbers are often taken in a room that throws light back",
    Assumption.BARE_HEAD_SQUARE: "e is 1/d² for a bare head square to the subject: f-number = GN / d",
    Assumption.LEVELS_ADD: "light adds",
    Assumption.SUBJECT_SHADES_NOTHING: "the subject itself shades nothing",
    Assumption.IN_THE_LIGHT: "in the light, not in how it comes out: cloth and subject differ",
    Assumption.FACE_IN_PARTS: "the face is added up part by part, and glows evenly and alike in every forward direction",
    Assumption.SUBJECT_AS_BLOCK: "the subject is taken as a block of its width, height and depth",
    Assumption.SUBJECT_AS_BALL: "the subject is taken as a ball, since its three sides are alike",
    Assumption.NOTHING_THROWN_BACK: "nothing is thrown back from one surface to another",
    Assumption.SQUARE_ACROSS_EDGE: "square across the edge, where the shadow ends away from the light",
    Assumption.CURVATURE_TURNS: "the curvature of the light in the middle changes its sign there",
    Assumption.PLANE_OF_SUBJECT: "the plane of the subject, edge to edge; what bulges out of it is not looked at",
    Assumption.NONE_REACHES: "none of it reaches the subject",
    Assumption.TUBES_ARE_BLACK: "the tubes are black inside and many, or one before a lamp that fills it",
    Assumption.MIDDLE_OF_SUBJECT: "a small cube in the middle of the subject, which shades nothing but itself",
    Assumption.DOME_AS_HEMISPHERE: "a white hemisphere: (1 + cos θ)/2 of what comes at the angle θ",
    Assumption.OF_REDUCED_PICTURES: "light adds; levels are those of reduced pictures",
    Assumption.EXACT_STEPS: "marked values count as the exact steps they name",
    Assumption.KIT_LOSSES: "losses as the kit has them",
    Assumption.SAME_FILTERS: "the same filters on the lens",
    Assumption.LITERAL_IS_LARGER: "+ where the literal is the larger number",
    Assumption.FACTOR_TWO_FOR_F_NUMBERS: "the factor k is 2 for an f-number, 1 for a time or an ISO",
    Assumption.OF_THE_FLASH: "of the flash",
    Assumption.OF_THE_AMBIENT_LIGHT: "of the ambient light",
}


def _the_same(words: str) -> Say:
    return lambda *_: words


WORDS: Final[Mapping[str, Say]] = {
    **{assumed: _the_same(words) for assumed, words in _ALWAYS.items()},
    Assumption.FACE_HIDDEN: lambda told, _: (
        f"{percent(told.number('hidden_share'))} of the face is hidden from the subject"
    ),
    Assumption.BY_WHITE_CARDS: lambda told, _: (
        f"{percent(told.number('share'))} of it comes back from the reflectors, taken as matt white cards that send back "
        f"{percent(told.number('reflectance'))}"
    ),
    Assumption.THROUGH_A_GRID: lambda told, _: (
        f"through a grid or snoot that cuts off {told.number('cutoff_deg'):g}° from the axis"
    ),
    Assumption.GUIDE_STATED_FOR: lambda told, _: f"the guide number is stated for {told['reflector']}",
    Assumption.NEAREST_MARK: lambda told, _: f"the nearest mark is {told['mark']}",
    Assumption.SHAPE_GLOWS_EVENLY: lambda told, _: f"the face is a {told['shape']} and glows evenly",
    Assumption.OF_LIGHT: lambda told, _: f"light {told.about}",
    Assumption.FIELD_HELD: lambda told, _: f"held: {told['held']}",
}
