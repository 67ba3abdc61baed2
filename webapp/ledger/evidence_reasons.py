"""What the part of the ledger that weighs pictures may say: why there is no difference, what may lie behind one, and
which frame would tell. The values of each are named beside it; stops are floats, lengths are in millimetres, marks are
texts as a dial shows them."""

from __future__ import annotations

from enum import StrEnum


class Reason(StrEnum):
    """The closed list. `about` is a light's letter where there is one, else empty."""

    # --- what each light gave, by the picture
    # stops, error_stops: all lights alike, and light that is not theirs
    ALL_GAVE = "all_gave"
    # about a light or "ambient"; stops, error_stops
    GAVE_OTHERWISE = "gave_otherwise"
    # about a light or "ambient"
    GAVE_NOTHING = "gave_nothing"
    # about a light that is logged as off; stops, error_stops (against what it would have given, lit)
    GAVE_THOUGH_OFF = "gave_though_off"
    # about a light; redder_stops (against blue; below 0 bluer), error_stops
    GAVE_ANOTHER_COLOUR = "gave_another_colour"
    # sources: letters, and "ambient"
    GAVE_AS_LOGGED = "gave_as_logged"
    # sources, as above
    GAVE_TOO_LITTLE = "gave_too_little"
    # about a patch; stops, redder_stops (None: a grey picture)
    LEFT_OVER = "left_over"
    LIGHTS_NOT_APART = "lights_not_apart"
    # x and y: the middle of the place as fractions of the picture's sides; stops, redder_stops (None: a grey picture)
    LEFT_OVER_THERE = "left_over_there"
    LEFT_OVER_BY_NO_LIGHT = "left_over_by_no_light"
    PICTURE_IS_NO_SUM = "picture_is_no_sum"
    # about a light
    SOLO_WOULD_TELL = "solo_would_tell"

    # --- likely causes: what may have gone wrong on the set
    # about a light or ""; cause, was, now (settings, as ledger.entries tells them)
    CHANGE_NOT_MADE = "change_not_made"
    # about a light; light: its name
    DID_NOT_FIRE = "did_not_fire"
    # about a light; light: its name, mark of its dial
    FIRED_AS_WELL = "fired_as_well"
    # about a light, or "" for the lens; filter: its name, loss_stops
    FILTER_NOT_ON = "filter_not_on"
    # about a light; light: its name, stood and logged (marks), marks (how many up, with a sign), makes_stops
    LIGHT_AT_ANOTHER_MARK = "light_at_another_mark"
    # cause (of the camera), stood and logged (marks), marks (how many, with a sign), makes_stops
    CAMERA_AT_ANOTHER_MARK = "camera_at_another_mark"
    # was, now (magnifications), loss_stops
    CLOSE_UP_COUNTED_TWICE = "close_up_counted_twice"
    # really, logged (magnifications), loss_stops
    CLOSE_UP_NOT_COUNTED = "close_up_not_counted"
    # about a light; light: its name, really_mm, logged_mm, makes_stops
    LIGHT_AT_ANOTHER_DISTANCE = "light_at_another_distance"
    # about a light, or "" for the lens; filter: its name (with how many), loss_stops
    FILTER_ALSO_ON = "filter_also_on"
    # about a light; light: its name, fitted and logged ("" for the bare head), makes_stops
    ANOTHER_MODIFIER = "another_modifier"
    # about a light; light: its name, off_stops (without a sign), since_s and recycle_s (None: unknown)
    NOT_RECYCLED = "not_recycled"
    # about a light, other: the letter of another whose power it had; stood and logged (marks of the first)
    POWERS_SWAPPED = "powers_swapped"
    # pops, logged
    OTHER_POPS = "other_pops"
    # patch: where it was checked, margin_stops there
    AMBIENT_ADDS = "ambient_adds"
    # lights (letters), deviation_stops, off_stops (without a sign)
    FLASH_VARIES = "flash_varies"

    # --- what the colour of a patch says of a gel that is missing
    # bluer: whether it is bluer than predicted, else redder
    COLOUR_AGREES = "colour_agrees"
    # bluer, as above
    COLOUR_DISAGREES = "colour_disagrees"

    # bluer, as above: a filter that was on
    COLOUR_SUITS = "colour_suits"
    # about a light; redder_stops: how much redder (against blue) it is than the cause would make it
    COLOUR_UNEXPLAINED = "colour_unexplained"

    # --- the frame that would tell two causes apart
    TEST_WITHOUT_FLASH = "test_without_flash"
    TEST_FOR_SCATTER = "test_for_scatter"
    # about a light; first_stops, second_stops: what each cause says against the prediction there (None: no light)
    TEST_WITH_ONE_LIGHT = "test_with_one_light"
    # field: the path of the dial that is set anew
    TEST_WITH_DIAL_SET_ANEW = "test_with_dial_set_anew"
    TEST_ONCE_MORE = "test_once_more"

    # --- why a patch has no measured or no predicted difference
    NO_REFERENCE_READING = "no_reference_reading"
    NO_REFERENCE_FRAME = "no_reference_frame"
    NOT_IN_RECIPE = "not_in_recipe"
    CHECK_PREDICTS_NOTHING = "check_predicts_nothing"
    PATCH_IS_BLACK = "patch_is_black"
    PATCH_IS_CLIPPED = "patch_is_clipped"
    # in_recipe: whether it was read in the recipe's picture, else in the reference frame
    BLACK_IN_REFERENCE = "black_in_reference"
    # in_recipe, as above
    CLIPPED_IN_REFERENCE = "clipped_in_reference"

    # --- whether an ambient check still proves what it proved
    PROOF_HOLDS = "proof_holds"
    # now_stops: the margin that is left
    PROOF_FALLS = "proof_falls"
    # lamps: the letters of the modelling lamps that are on now
    PROOF_IS_VOID = "proof_is_void"
    # cause: what is unknown about the change of the ambient light
    PROOF_UNTOLD = "proof_untold"
    # frame: the number of the check, brighter_stops than the reference frame
    CHECK_TOO_BRIGHT = "check_too_bright"

    # frame: the number of the check, patch ("" outside all), x and y: the middle of the place, as fractions
    CHECK_IS_CLIPPED = "check_is_clipped"
    # what: "camera", "lens", "view", "things" and letters of lights that are not as they were in the check
    PROOF_NOT_CARRIED = "proof_not_carried"

    # --- the place that a proof goes by
    # patch ("" outside all), x and y as above
    ROOM_COMES_NEAREST = "room_comes_nearest"

    # --- the colour of the room
    ROOM_LIKE_FLASH = "room_like_flash"
    # warmth_stops: how much redder (against blue) than the flash, below 0 bluer
    ROOM_UNLIKE_FLASH = "room_unlike_flash"

    # --- what would help
    # short_stops, wanted_stops; sync (mark) and gives_stops where a shorter shutter helps, else None; close_stops:
    # what is left to close down by, or None
    WIDEN_MARGIN = "widen_margin"
    LOOK_WITH_THE_EYE = "look_with_the_eye"

    # --- why pictures of single lights cannot be added up
    NO_SOLO_FRAME = "no_solo_frame"
    # first, second: the numbers of two frames
    CAMERAS_DIFFER = "cameras_differ"
    LENSES_DIFFER = "lenses_differ"
    MAGNIFICATIONS_DIFFER = "magnifications_differ"
    KINDS_OF_FILE_DIFFER = "kinds_of_file_differ"
    # about a light; light: its name, frame and settings_frame (numbers); causes, was and now (settings) side by side
    SETTINGS_NOT_BRIDGED = "settings_not_bridged"

    # --- what a mix of the lights rests on
    # as SETTINGS_NOT_BRIDGED, and stops
    SETTINGS_CORRECTED = "settings_corrected"
    AMBIENT_NOT_PROVEN = "ambient_not_proven"
    # frame: the number of the check
    AMBIENT_TAKEN_OUT = "ambient_taken_out"
    # frame, why: "settings", "kind", "view" or "clipped"
    AMBIENT_LEFT_IN = "ambient_left_in"

    # --- what only the standing set knows: the question, about a light where it is one's
    ASK_POWER = "ask_power"
    # and_where: whether its direction is asked for as well
    ASK_HOW_FAR = "ask_how_far"
    ASK_WHERE = "ask_where"
    # only_distance: a ring round the lens has no direction
    ASK_BY_TAPE = "ask_by_tape"
    ASK_APERTURE = "ask_aperture"
    ASK_MAGNIFICATION = "ask_magnification"
    ASK_SUBJECT_DISTANCE = "ask_subject_distance"

    # --- what is known of it now
    KNOWN_NOTHING = "known_nothing"
    # x_mm, y_mm, z_mm, known: how well
    KNOWN_PLACE = "known_place"
    # distance_mm, and_direction: whether a direction is missing
    KNOWN_DISTANCE = "known_distance"
    # magnification
    KNOWN_MAGNIFICATION = "known_magnification"

    # --- what not knowing it would cost, and how that was reckoned
    # span_stops
    ANYWHERE_ON_DIAL = "anywhere_on_dial"
    # widest, smallest (f-numbers)
    ANYWHERE_ON_RING = "anywhere_on_ring"
    NOTHING_REBUILT = "nothing_rebuilt"
    # off_deg
    DIRECTION_OFF = "direction_off"
    # tape_mm: how well a tape is read
    DISTANCE_OFF = "distance_off"
    # tape_mm
    WORKED_OUT_OFF = "worked_out_off"
    WORKED_OUT_FROM_NOTHING = "worked_out_from_nothing"
    TAKEN_FOR_DISTANT = "taken_for_distant"
    ONLY_PERSPECTIVE = "only_perspective"

    # --- what taking a move back on the plan does
    # about a light; x_mm, y_mm, z_mm, known of where it was (None: unknown), only_aim, same_place
    PUT_LIGHT_BACK = "put_light_back"
    # about a light
    BRING_LIGHT_BACK = "bring_light_back"
    # about a thing, by its id; values as PUT_LIGHT_BACK
    PUT_THING_BACK = "put_thing_back"
    # about a thing
    BRING_THING_BACK = "bring_thing_back"
    TAKE_THING_AWAY = "take_thing_away"
