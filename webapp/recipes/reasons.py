"""What the library of recipes may say. The values of each are named beside it; stops are floats, lengths are in
millimetres, marks are texts as a dial shows them, and None is unknown."""

from __future__ import annotations

from enum import StrEnum


class Reason(StrEnum):
    """The closed list. `about` is a light's letter where there is one, else as it is said beside the reason."""

    # text: what was written by hand, stands in a document, or was kept as a sentence before there were facts
    AS_WRITTEN = "as_written"

    # --- what a version says otherwise than the one before
    # about f_number, shutter or iso; was, now (marks), stops (None where one of the marks is unknown)
    MARK_CHANGED = "mark_changed"
    # was, now
    MAGNIFICATION_CHANGED = "magnification_changed"
    # about camera or lens; was, now (names)
    PIECE_CHANGED = "piece_changed"
    # was_mm, now_mm
    CAMERA_MOVED = "camera_moved"
    # about a light
    LIGHT_ADDED = "light_added"
    LIGHT_GONE = "light_gone"
    # about a light; lit
    LIGHT_SWITCHED = "light_switched"
    # about a light; was, now (names)
    HEAD_CHANGED = "head_changed"
    # about a light; was, now (marks), stops (None where one of them is unknown)
    POWER_CHANGED = "power_changed"
    # about a light; was_mm, now_mm
    LIGHT_MOVED = "light_moved"
    # about a light; stops
    LEVEL_CHANGED = "level_changed"
    # about a light; field (role, modifier or direction), was, now (None: it has none)
    LIGHT_FIELD_CHANGED = "light_field_changed"
    # about a light; was, now (names)
    FILTERS_CHANGED = "filters_changed"
    # was_stops, now_stops
    AMBIENT_MARGIN_CHANGED = "ambient_margin_changed"
    # about a field of the document; was, now (texts, or lists of them)
    WORDING_CHANGED = "wording_changed"
    # about a field of the document
    REWRITTEN = "rewritten"

    # --- what of a recipe could not be filled in
    # problem: the refusal of what was solved for
    FIGURES_AS_WRITTEN = "figures_as_written"
    # about f_number, shutter, iso, magnification or subject_distance
    NOT_IN_RECIPE = "recipe_says_none"
    # about a light; light, head (names)
    LIGHT_LEFT_OUT = "light_left_out"
    # about a light; light, modifier (names)
    LIGHT_STANDS_BARE = "light_stands_bare"
    # about a light; light, head (names)
    POWER_LEFT_OPEN = "power_left_open"
    # about a light, or "" for the lens; light (name), filter (name)
    FILTER_LEFT_OUT = "filter_left_out"
    # most: how many were drawn
    PATCHES_LEFT_OUT = "patches_left_out"

    # --- the lines of a checklist
    CHECK_AMBIENT_FIRST = "check_ambient_first"
    # camera, lens (names), focal_mm (None where the lens does not zoom)
    MOUNT_CAMERA = "mount_camera"
    # distance_mm
    PLACE_CAMERA = "place_camera"
    # magnification, width_mm, height_mm (of the field)
    FIELD_AT_SUBJECT = "field_at_subject"
    # f_number, shutter, iso (marks)
    SET_DIALS = "set_dials"
    # filter
    FILTER_ON_LENS = "filter_on_lens"
    # about a thing; x_mm, y_mm, z_mm
    PLACE_THING = "place_thing"
    # about a light, as all the lines of lights; head
    SET_UP_HEAD = "set_up_head"
    # modifier
    FIT_MODIFIER = "fit_modifier"
    # filter
    FIT_FILTER = "fit_filter"
    # distance_mm, shines_on: subject (also where it is not said), panel, background or card
    SET_DISTANCE = "set_distance"
    # held_by: stand, boom, hung, clamped, on the table
    HOLD_BY = "hold_by"
    # bearing_deg
    SET_BEARING = "set_bearing"
    # above_mm: over the subject's middle, negative under it
    SET_HEIGHT = "set_height"
    # mark (None where the power is unknown)
    SET_POWER = "set_power"
    LAMP_ON = "lamp_on"
    LEAVE_OFF = "leave_off"
    # about a light; light (its name), level_av, proves (a modifier that the reading proves, or None)
    METER_ALONE = "meter_alone"
    # about what is held to; within, unit
    WITHIN_TOLERANCE = "within_tolerance"
    # patches (names)
    LAY_PATCHES = "lay_patches"

    # --- a recipe on other kit: each as it is written, and as it comes out there (yours)
    # written, yours, held (the side of the field that must stay)
    ADAPTED_MAGNIFICATION = "adapted_magnification"
    # written_mm, yours_mm (width and height)
    ADAPTED_FIELD = "adapted_field"
    # written_mm, yours_mm, exact_mm
    ADAPTED_FOCAL_LENGTH = "adapted_focal_length"
    # written_mm, yours_mm
    ADAPTED_CAMERA_DISTANCE = "adapted_camera_distance"
    # written, yours (marks), exact, residue_stops
    ADAPTED_F_NUMBER = "adapted_f_number"
    # written_mm, yours_mm
    ADAPTED_DEPTH = "adapted_depth"
    # written, yours
    ADAPTED_EFFECTIVE_F_NUMBER = "adapted_effective_f_number"
    # written_px, yours_px
    ADAPTED_DIFFRACTION = "adapted_diffraction"
    # written, yours
    ADAPTED_ISO = "adapted_iso"
    # written, yours (marks), stops
    ADAPTED_SHUTTER = "adapted_shutter"
    # stops
    ADAPTED_AMBIENT = "adapted_ambient"
    # about a light, as all that follow; written_av, yours_av, stops
    ADAPTED_LEVEL = "adapted_level"
    # written_mm, yours_mm, written_deg, yours_deg (how large it looks)
    ADAPTED_DISTANCE = "adapted_distance"
    # written, yours (marks), residue_stops
    ADAPTED_POWER = "adapted_power"
    # from_iso, yours, stops: the ISO at which coarse dials come closest to what each light has to give
    ADAPTED_TRIM = "adapted_trim"

    # --- what other kit cannot keep. Where a light is named: head, modifier (names; "" of what has none, no modifier is
    # None), and their figures as of HEAD_TOLD and MODIFIER_TOLD
    # lens, greatest, needed (magnifications)
    NOT_CLOSE_ENOUGH = "not_close_enough"
    PERSPECTIVE_UNKNOWN = "perspective_unknown"
    # written_mm, yours_mm, focal_mm, wanted_focal_mm
    PERSPECTIVE_LOST = "perspective_lost"
    FRAMING_UNKNOWN = "framing_unknown"
    # wanted_focal_mm, focal_mm
    FRAMING_LOST = "framing_lost"
    # exact, mark
    DEPTH_LOST = "depth_lost"
    # camera, written, yours
    ISO_OUT_OF_RANGE = "iso_out_of_range"
    # camera, written, yours (marks)
    PAST_SYNC_SPEED = "past_sync_speed"
    # about a light
    NEVER_METERED = "never_metered"
    # about a light, which is named; distance_mm, needed_mm, written_deg, yours_deg
    SOFTNESS_LOST = "softness_lost"
    # about a light, which is named; level_av
    NO_METER_READING = "own_light_unmetered"
    # about a light, which is named; residue_stops, distance_mm, needed_mm (None where no distance makes it up)
    POWER_OUT_OF_RANGE = "power_out_of_range"
    # about a light; level_av, from_key_stops (None: unknown)
    LEFT_WITHOUT_A_HEAD = "left_without_a_head"
    # about a light, which is named; written_deg, distance_mm
    MADE_HARD = "made_hard"
    # about a light, which is named; shutter (the mark, or None)
    CONTINUOUS_FOR_FLASH = "continuous_for_flash"
    # about a light, which is named
    FLASH_FOR_CONTINUOUS = "flash_for_continuous"
    # about a light, which is named; residue_stops
    RESIDUE_LEFT = "residue_left"

    # --- ways to what other kit does not have, each with its price
    # part (of each side), width_px, height_px (what is left)
    WAY_CROP = "way_crop"
    # extension_mm, stops (lost), distance_mm (of the camera)
    WAY_EXTENSION = "way_extension"
    # focal_mm
    WAY_LENS = "way_lens"
    # frames, step_mm
    WAY_STACK = "way_stack"
    # depth_mm, written_mm
    WAY_LESS_DEPTH = "way_less_depth"
    # about a light; distance_mm, yours_deg (None: it has no face)
    WAY_DISTANCE = "way_distance"
    # about a light; size_mm, distance_mm
    WAY_FACE = "way_face"
    # about a light; stops
    WAY_SHEETS = "way_sheets"
    # mark, stops
    WAY_ISO = "way_iso"
    # mark, stops (moved), missing_stops (beyond the end of the lens)
    WAY_APERTURE = "way_aperture"
    # about a light; pops, stops (gained)
    WAY_POPS = "way_pops"
    # mark, stops (gained)
    WAY_LONGER = "way_longer"
    # stops
    WAY_DARKEN = "way_darken"
    WAY_DARK_ROOM = "way_dark_room"
    # shutter (the mark, or None)
    WAY_STILL = "way_still"
    # about a light
    WAY_CARD = "way_card"
    # about a light
    WAY_SECOND_EXPOSURE = "way_second_exposure"

    # --- what was chosen out of the kit that there is, and why
    # lens, focal_mm, of (how many), written_mm, yours_mm (camera distance, None: unknown), needed, greatest (None)
    LENS_CHOSEN = "lens_chosen"
    # about a light, which is named; is_own, written_j, yours_j, written_mm, yours_mm (sizes of the faces); None: unknown
    HEAD_CHOSEN = "head_chosen"
    # about a light: no head was left
    NO_HEAD_LEFT = "no_head_left"
    # about a light, by what its dial is told where there was no meter: mark (of the frame), stops (what it reads)
    FROM_TEST_FRAME = "from_test_frame"
    # guide_number_m
    FROM_GUIDE_NUMBER = "from_guide_number"

    # --- kit told by its figures, for readers who are not told its name
    # width_mm, height_mm (of the sensor)
    CAMERA_TOLD = "camera_told"
    # shortest_mm, longest_mm
    LENS_TOLD = "lens_told"
    # kind, form, full_energy_j
    HEAD_TOLD = "head_told"
    # shape, width_mm, height_mm, loss_stops
    MODIFIER_TOLD = "modifier_told"
    # kind, loss_stops, shift_mired
    FILTER_TOLD = "filter_told"

    # --- what a recipe and a class are told of a change
    # about a light, or "" for what acts on all; cause, was, now (settings, as ledger.entries tells them); in a draft stops
    # (None: unknown), which a class reads beside it
    CHANGED = "changed"
    # about a light, or "" for the lens; cause: of kit that is told by its figures, which follow it
    FITTED = "fitted"

    # about a patch; number: its place among those of the recipe
    PATCH_TOLD = "patch_told"

    # --- the steps in which a set is built
    # subject (as it is described, or ""), width_mm, height_mm, depth_mm (None: unknown), turned_deg, tilted_deg
    STEP_SUBJECT = "step_subject"
    # width_mm, depth_mm, below_mm: how far its top lies under the middle of the subject
    STEP_TABLE = "step_table"
    # x_mm, y_mm, z_mm, known (measured or estimated)
    CAMERA_STANDS = "camera_stands"
    CAMERA_UPRIGHT = "camera_upright"
    # pops
    SET_POPS = "set_pops"
    STEP_PROVE_AMBIENT = "step_prove_ambient"
    # about a patch; margin_stops, at_least, by_eye
    ROOM_LIES_BELOW = "room_lies_below"
    LOOK_FOR_ROOM_LIGHT = "look_for_room_light"
    # about a thing by its name; kind, held_by (what holds it, or not said), width_mm, height_mm, x_mm, y_mm, z_mm, known
    STEP_THING = "step_thing"
    # about a light; light (its name), head, modifier (names, or None), face_width_mm, face_height_mm (of the modifier, or
    # None), filters (names, counted), distance_mm (or None) from what it shines_on, held_by (or not said), carried: whether that came over from another
    # set, onto (a thing, or ""), direction (or None), mark (None: unknown), lamp, x_mm, y_mm, z_mm, known (None without a position), aim_x_mm, aim_y_mm, aim_z_mm
    # (None: the middle of the subject, or the thing)
    STEP_LIGHT = "step_light"
    # about a light; light (its name), level_av, here: whether it was metered on this set
    METERS_ALONE = "meters_alone"
    # about a light; patch, level_stops (about mid-tone), within
    READS_ALONE = "reads_alone"
    # about a light; filters (names, counted), stops, shift_mired
    LOOK_FOR_FILTERS = "look_for_filters"
    # about a light; off_mm (nearer), stops
    LOOK_FOR_DISTANCE = "look_for_distance"
    # frames, depth_mm, step_mm (as logged), most_step_mm (by the depth of field); None: unknown
    STEP_STACK = "step_stack"
    # lights (their names)
    STEP_TOGETHER = "step_together"
    # about a patch; level_stops, within
    READS_TOGETHER = "reads_together"
    LOOK_FOR_CAMERA = "look_for_camera"
    # about a light; patch, share
    LOOK_FOR_LIGHT = "look_for_light"

    # --- what contradicts itself in a recipe, or is not known
    # magnification, focal_mm, distance_mm, by_field_mm: where the lens would stand by the other two
    OPEN_FIELD = "open_field"
    # distance_mm (in the set-up), plan_mm
    OPEN_CAMERA_TWICE = "open_camera_twice"
    # about a patch; stops, within
    OPEN_UNEXPLAINED = "open_unexplained"
    # about a patch; off_stops: by how much the lights alone add up to more than all together
    OPEN_SHARES = "open_shares"
    # about a light; light (its name), shines_on
    OPEN_SHONE_ON = "open_shone_on"
    # about a light; light (its name)
    OPEN_POSITION = "open_position"
    # about a thing by its name; width_mm, height_mm
    OPEN_SIZE = "open_size"
    # about a light, or ""; what: as the document names it among what was not measured
    OPEN_UNKNOWN = "open_unknown"
    # about a light, a thing by its id, a patch, or ""; what
    KNOWN_FIGURE = "known_figure"

    # --- how the picture was found
    # about a thing by its name; was_mm, now_mm (width and height)
    THING_RESIZED = "thing_resized"
    # about a patch; was_stops, now_stops (about mid-tone)
    READ_CHANGED = "read_changed"
    # frames: how many
    STACK_TAKEN = "stack_taken"

    # --- what is drafted into a document
    # about a light; key, light (their roles, or letters), from_key_stops, here: whether both were metered on this set
    RATIO = "ratio"
    # about level, distance or angle; patch (or "": of each light), within, unit
    USUAL_TOLERANCE = "usual_tolerance"

    # --- what a search set aside to find anything
    SOME_WORDS_FOUND = "some_words_found"
    # figures: what the question states that a frame does not have
    NOT_ASKED_OF_FRAMES = "not_asked_of_frames"
    # counted: up to how many
    TOO_MANY_TO_RANK = "too_many_to_rank"
