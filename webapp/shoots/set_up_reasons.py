"""What the use-cases of a shot say of a change that did more than was asked. A closed list, as that of the ledger."""

from __future__ import annotations

from enum import StrEnum


class Reason(StrEnum):
    """`about` is the letter of a light, else empty."""

    # about a light; light, head (names)
    LIGHT_PUT_IN = "light_put_in"
    # about a light
    LIGHT_TAKEN_OUT = "light_taken_out"
    # about as the correction's move; move (its reason, of the ledger) and the values of that
    CORRECTION_WRITTEN = "correction_written"
    # frame (its number)
    AS_FRAME_AGAIN = "as_frame_again"
    # about a light; frame (its number)
    AS_FRAME_WITH_ONE_LIGHT = "as_frame_with_one_light"
    # frame (its number), f_number (the mark)
    AS_FRAME_AT_APERTURE = "as_frame_at_aperture"
    # about a light; meant_stops
    SHIFT_IS_MEANT = "shift_is_meant"
    # about the fill; was, now (marks), ratio (so many to one), patch
    RATIO_AIMED_AT = "ratio_aimed_at"
    AMBIENT_CHECK_BEGUN = "ambient_check_begun"
    AMBIENT_CHECK_ENDED = "ambient_check_ended"
    # about a light
    ONE_LIGHT_SET_UP = "one_light_set_up"
    RULE_SET_UP = "rule_set_up"
    LIGHTS_PUT_BACK = "lights_put_back"
    # file (its name), shutter (the mark that it shows where another was set for the check, else None), fired: whether it
    # says that a flash did; goes_on: whether the check is still to be made
    NOT_THE_CHECK = "not_the_check"
    # camera (in the kit), file (the camera as its files name it)
    CAMERA_BOUND = "camera_bound"
    # frame (its number)
    FILE_CAME_LATE = "file_came_late"
    # purpose (of the frames before), frame (the number of the next)
    PURPOSE_OVER = "purpose_over"
    # names: the lights and things whose places were measured in another shot
    PLACES_CARRIED_OVER = "places_carried_over"
    # file (its name), frame (its number), shot (the title of another shot that it is in, else empty)
    FILE_LOGGED_ALREADY = "file_logged_already"
    FILLED_IN_FROM_RECIPE = "filled_in_from_recipe"
