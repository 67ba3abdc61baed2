"""What a formula, or the numbers put into it, assumes: the closed list behind every working of the house.

The formulas of this room assume the most of them; those of the set as geometry, of the ledger, of pictures and of recipes
stand below. They are put into words in `web.words.assumptions`.
"""

from __future__ import annotations

from enum import StrEnum


class Assumption(StrEnum):
    """The closed list. What stands with one as a fact in a single working is named beside it."""

    # --- sources and distance
    PANEL_GLOWS_EVENLY = "panel_glows_evenly"
    PLANE_PARALLEL = "plane_parallel"
    POINT_SOURCE = "point_source"
    LIGHT_SMALL = "light_small"
    SQUARE_FROM_FAR = "square_from_far"
    ON_AXIS_SAME_POWER = "on_axis_same_power"
    SEEN_FROM_AXIS = "seen_from_axis"
    DISC_LESS_HOLE = "disc_less_hole"
    FOUR_CORNERS = "four_corners"
    RING_DARKER_NEARER = "ring_darker_nearer"

    # --- flash
    ONE_HEAD = "one_head"
    OWN_SLOPE = "own_slope"
    FOLLOWS_ENERGY = "follows_energy"
    HEADS_DO_NOT_COMPARE = "heads_do_not_compare"
    EQUAL_FLASHES = "equal_flashes"
    ONE_METER_ALONE = "one_meter_alone"
    FLASH_SMALL = "flash_small"
    NO_WALLS = "no_walls"

    # --- exposure and the lights re-mixed
    STOPS_ADD_UP = "stops_add_up"
    METER_ASKS_FOR_IT = "meter_asks_for_it"
    CONTINUOUS_LIGHT = "continuous_light"
    LIGHT_ADDS = "light_adds"
    EACH_ALONE = "each_alone"
    FILL_REACHES_KEY_SIDE = "fill_reaches_key_side"
    SHUTTER_MOVES_AMBIENT = "shutter_moves_ambient"
    AMBIENT_IN_SHADOW = "ambient_in_shadow"
    NO_PICTURE_STYLE = "no_picture_style"
    ONE_CURVE_FOR_ALL_COLOURS = "one_curve_for_all_colours"

    # --- close up and depth
    NOT_THROUGH_LENS = "not_through_lens"
    PUPILS_CHANGE_PLACES = "pupils_change_places"
    WHOLE_LENS_MOVED = "whole_lens_moved"
    FOCAL_LENGTH_ESTIMATED = "focal_length_estimated"
    PRINT_SEEN_WHOLE = "print_seen_whole"
    FROM_PRINCIPAL_PLANE = "from_principal_plane"
    NO_DIFFRACTION = "no_diffraction"
    INFINITE_PAST_HYPERFOCAL = "infinite_past_hyperfocal"
    INFINITE_DEPTH = "infinite_depth"
    NEARER_THAN_HYPERFOCAL = "nearer_than_hyperfocal"
    DEPTH_SMALL = "depth_small"
    FOCUS_IN_MIDDLE = "focus_in_middle"
    BLURS_IN_SQUARE = "blurs_in_square"
    DIFFRACTION_RULE = "diffraction_rule"
    FIRST_NEAR_LIMIT = "first_near_limit"
    FOCUS_ON_EDGES = "focus_on_edges"

    # --- formats
    SIZES_ARE_DIAGONALS = "sizes_are_diagonals"
    DISTANT_SUBJECT = "distant_subject"
    SAME_FRAMING = "same_framing"

    # --- shadows, reflections, what stands behind
    ALL_PARALLEL = "all_parallel"
    GLOWS_OVER_WIDTH = "glows_over_width"
    SCREEN_SQUARE = "screen_square"
    TUBES_ARE_BLACK = "tubes_are_black"
    FLAT_MIRROR_SQUARE = "flat_mirror_square"
    FLAT_MIRROR = "flat_mirror"
    LIGHT_SQUARE_TO_CAMERA = "light_square_to_camera"
    MIRROR_TURNS_TWICE = "mirror_turns_twice"
    FROM_ENTRANCE_PUPIL = "from_entrance_pupil"

    GLASS_IS_ROUND = "glass_is_round"
    LENS_FAR_AWAY = "lens_far_away"
    REFLECTIONS_LEFT_OUT = "reflections_left_out"
    LIGHT_FACES_MIDDLE = "light_faces_middle"
    SHEET_IS_MATT = "sheet_is_matt"

    # --- filters and colour
    PERFECT_POLARISERS = "perfect_polarisers"
    PLUS_IS_WARMER = "plus_is_warmer"
    NEAR_LOCUS = "near_locus"
    ON_LOCUS = "on_locus"
    SHARES_OF_LUMINANCE = "shares_of_luminance"

    # --- a light rebuilt from memory
    SMALL_ERRORS = "small_errors"
    REBUILT_BESIDE = "rebuilt_beside"
    MIDDLE_OF_DIAL = "middle_of_dial"

    # --- the set as geometry
    METER_TOWARDS_LIGHT = "meter_towards_light"
    FACE_GLOWS_EVENLY = "face_glows_evenly"
    MODELLED_BY_GUIDE = "modelled_by_guide"
    BARE_HEAD_SQUARE = "bare_head_square"
    LEVELS_ADD = "levels_add"
    SUBJECT_SHADES_NOTHING = "subject_shades_nothing"
    IN_THE_LIGHT = "in_the_light"
    FACE_IN_PARTS = "face_in_parts"
    SUBJECT_AS_BLOCK = "subject_as_block"
    SUBJECT_AS_BALL = "subject_as_ball"
    NOTHING_THROWN_BACK = "nothing_thrown_back"
    SQUARE_ACROSS_EDGE = "square_across_edge"
    CURVATURE_TURNS = "curvature_turns"
    PLANE_OF_SUBJECT = "plane_of_subject"
    # hidden_share: of the face
    FACE_HIDDEN = "face_hidden"
    # reflector: what the guide number is stated for
    GUIDE_STATED_FOR = "guide_stated_for"
    # share: of the light, that comes by way of white cards; reflectance: taken for them
    BY_WHITE_CARDS = "by_white_cards"
    # cutoff_deg: off the axis
    THROUGH_A_GRID = "through_a_grid"
    MIDDLE_OF_SUBJECT = "middle_of_subject"
    DOME_AS_HEMISPHERE = "dome_as_hemisphere"
    NONE_REACHES = "none_reaches"
    # mark: of the dial
    NEAREST_MARK = "nearest_mark"

    # --- the ledger
    OF_REDUCED_PICTURES = "of_reduced_pictures"
    EXACT_STEPS = "exact_steps"
    KIT_LOSSES = "kit_losses"
    # shape: of the face
    SHAPE_GLOWS_EVENLY = "shape_glows_evenly"

    # --- recipes, and on other kit
    SAME_FILTERS = "same_filters"
    # about a light
    OF_LIGHT = "of_light"
    # held: the side of the field
    FIELD_HELD = "field_held"

    # --- worksheets
    LITERAL_IS_LARGER = "literal_is_larger"
    FACTOR_TWO_FOR_F_NUMBERS = "factor_two_for_f_numbers"
    OF_THE_FLASH = "of_the_flash"
    OF_THE_AMBIENT_LIGHT = "of_the_ambient_light"
