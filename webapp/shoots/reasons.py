"""What the use-cases of a shoot may say, by reason; the values of each are named beside it."""

from __future__ import annotations

from enum import StrEnum


class Reason(StrEnum):
    """The closed list."""

    # --- why a frame has an earlier revision
    # text: what was written with it before reasons were kept
    REVISION_NOTED = "revision_noted"
    # fields: the paths of the set-up and the names of the frame's own fields
    FIELDS_CHANGED = "fields_changed"
    # the causes follow it, as facts of their own, and the fields after them
    EXPLAINED_BY_PICTURE = "explained_by_picture"
    # about a field; held: "file" or "set"
    VALUE_HELD = "value_held"
    FRAME_TAKEN_BACK = "frame_taken_back"
    FRAME_BROUGHT_BACK = "frame_brought_back"
    # revision: its number
    REVISION_PUT_BACK = "revision_put_back"
    # shot_id, shot (its title), number, exposed_before: where it was before
    FRAME_MOVED = "frame_moved"
    FILE_SETTINGS_TAKEN_OVER = "file_settings_taken_over"
    # fields: what was known before the set was struck
    # about what was entered: "lights.A.place", "lights.A.reading", "things.flag-1.place"
    ENTERED_LATE = "entered_late"
    COMPLETED_BEFORE_STRIKING = "completed_before_striking"

    # --- why a camera file is no frame yet, or none of its own
    FOUND_AT_FIRST_LOOK = "found_at_first_look"
    # files: how many were found at once
    CAME_TOGETHER = "came_together"
    NO_ACTIVE_SHOT = "no_active_shot"
    # file, kit: the camera as the file names it, and the one in use
    OTHER_CAMERA = "other_camera"
    # says: the text of the refusal
    CANNOT_BE_READ = "cannot_be_read"
    STOPPED_ARRIVING = "stopped_arriving"
    PART_MISSING = "part_missing"
    NOT_READ_YET = "not_read_yet"
    FILE_IS_GONE = "file_is_gone"
    LINK_LEADS_OUT = "link_leads_out"
    LOGGED_ALREADY = "logged_already"

    # --- what is on record of a standing set, and what is not; about a light, or empty
    # frame (its number); pictured: whether it has a picture; with no reading of it
    LIT_ALONE = "lit_alone"
    LIT_ALONE_NOT_READ = "lit_alone_not_read"
    LIT_ALONE_BEFORE_CHANGE = "lit_alone_before_change"
    NEVER_LIT_ALONE = "never_lit_alone"
    # frame (its number)
    RULE_PICTURED = "rule_pictured"
    # magnification
    SCALE_KNOWN = "scale_known"
    NO_RULE = "no_rule"
    # f_number, power (marks), distance_mm
    METERED = "metered"
    NOT_METERED = "not_metered"
    # photos: how many
    SET_PHOTOGRAPHED = "set_photographed"
    SET_NOT_PHOTOGRAPHED = "set_not_photographed"

    # --- how two pictures lie over each other
    # first_mm, second_mm: the widths of the fields that they show
    LAID_BY_FIELD = "laid_by_field"
    SAME_PIXELS = "same_pixels"
    SCALED_TO_FIELD = "scaled_to_field"

    # --- why they cannot
    # first_mm, second_mm, as above
    FIELDS_TOO_FAR_APART = "fields_too_far_apart"
    ONE_ON_ITS_SIDE = "one_on_its_side"
    CROPPED_SOMEWHERE = "cropped_somewhere"
    SHAPES_DIFFER = "shapes_differ"
    # frame: its number
    NO_PICTURE_TO_SHOW = "no_picture_to_show"
