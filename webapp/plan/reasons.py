"""What the set as geometry may say: why a light at the subject is unknown, why nothing can be suggested, and what has to
be looked at about a place. The values of each are named beside it; lengths are in millimetres, angles in degrees."""

from __future__ import annotations

from enum import StrEnum


class Reason(StrEnum):
    """The closed list; about a light's letter where there is one."""

    # --- why a light at the subject, or its share, is not known
    # something_between: whether a thing on the set hides it; on: the key of the surface that is read
    NOT_REACHED = "not_reached"
    NO_POSITION = "no_position"
    SHINES_ELSEWHERE = "shines_elsewhere"
    NO_METER_READING = "no_meter_reading"
    # reflector: what the guide number is stated for; "" for the head as it comes
    GUIDE_NOT_FOR_THIS = "guide_not_for_this"
    LIGHT_POWER_UNKNOWN = "light_power_unknown"
    FILTER_LOSS_UNKNOWN = "filter_loss_unknown"
    ANOTHER_LIGHT_UNKNOWN = "another_light_unknown"

    # --- why nothing can be suggested
    NO_SUCH_LIGHT = "no_such_light"
    PLACE_IT_FIRST = "place_it_first"
    AT_NO_DISTANCE = "at_no_distance"
    # roles: those that no lit light has
    ROLES_NOT_LIT = "roles_not_lit"
    OFF_ON_THE_PLAN = "off_on_the_plan"
    HAS_NO_SIZE = "has_no_size"

    # --- what changed between two plans; about a thing by its name
    # x_mm, y_mm, z_mm (None: it has no position)
    CAME_IN = "came_in"
    PLACE_LOST = "place_lost"
    # nearer_mm (to the subject), higher_mm, was_deg and now_deg (bearings); None for what did not change
    MOVED = "moved"
    AIMED_ELSEWHERE = "aimed_elsewhere"
    WENT_OUT = "went_out"

    # --- why a shadow is not seen; on: the surface ("table", "background", "subject")
    NO_SUCH_SURFACE = "no_such_surface"
    NO_LIGHT_ON_IT = "no_light_on_it"
    OUTSIDE_PICTURE = "outside_picture"
    # by: what stands before it ("table", "subject", "flag" …)
    HIDDEN_FROM_LENS = "hidden_from_lens"
    # why no width of a shadow's edge is told; on: the surface. It goes past the end of the surface
    EDGE_CUT_OFF = "edge_cut_off"
    # before the light is whole again another shadow begins, or the light of this lamp ends
    EDGES_RUN_TOGETHER = "edges_run_together"
    EDGE_NOT_SEEN = "edge_not_seen"
    # depth_stops: how deep it is at most, in the light of all where that is known
    TOO_SHALLOW = "too_shallow"

    # --- what has to be looked at about a place; figures are rounded as they are said, so that the same caution is the
    # same fact wherever a light moves
    IN_THE_MIDDLE = "in_the_middle"
    INSIDE_SUBJECT = "inside_subject"
    AIMED_AWAY = "aimed_away"
    # off_deg
    AIMED_PAST = "aimed_past"
    BEHIND_BACKGROUND = "behind_background"
    UNDER_TABLE = "under_table"
    # hidden_share
    PARTLY_HIDDEN = "partly_hidden"
    # fills_mm: from where the middle of a ring's light is no dark spot
    RING_TOO_NEAR = "ring_too_near"
    # from_lens_mm; around_axis: whether the lens still looks through it
    RING_OFF_LENS = "ring_off_lens"
    # other: the letter of the other light
    IN_ONE_PLACE = "in_one_place"
    # shines: into the lens
    IN_THE_PICTURE = "in_the_picture"
    # beside_deg: how far outside the picture; 0 at its edge
    SHINES_INTO_LENS = "shines_into_lens"
