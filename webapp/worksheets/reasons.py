"""What a worksheet cautions of. The values of each are named beside it; lengths are in millimetres."""

from __future__ import annotations

from enum import StrEnum


class Reason(StrEnum):
    """The closed list; about a mark, as it is engraved, or about a parameter, by its name, where there is one."""

    # --- marks
    MARK_ON_NO_DIAL = "mark_on_no_dial"
    # dial: the one in use; read_on
    MARK_ON_ANOTHER_DIAL = "mark_on_another_dial"
    # here, there: what the mark names exactly; there_on: the other dial
    MARK_MEANS_ANOTHER = "mark_means_another"
    # dial
    POWER_ON_NO_DIAL = "power_on_no_dial"

    # --- exposure
    # about a pair of parameters, by the end of their names
    GIVEN_ON_ONE_SIDE = "given_on_one_side"
    BEYOND_COMMON_SYNC = "beyond_common_sync"
    TONE_UNBENT = "tone_unbent"

    # --- flash
    JOULES_RANK_ONE_HEAD = "joules_rank_one_head"
    # pops
    FULL_IS_NOT_ENOUGH = "full_is_not_enough"
    DIAL_ENDS_BEFORE = "dial_ends_before"
    COUNTED_FROM_FLASH = "counted_from_flash"
    BLUR_OVER_TENTH = "blur_over_tenth"

    # --- lights together
    RATIO_NEEDS_CONVENTION = "ratio_needs_convention"
    SHUTTER_MOVES_AMBIENT_ALONE = "shutter_moves_ambient_alone"
    # stops
    FLASH_MAKES_UP = "flash_makes_up"

    # --- close up and depth
    INCREASE_READ_ALREADY = "increase_read_already"
    # effective_f_number, airy_mm
    DIFFRACTION_DECIDES = "diffraction_decides"
    # circle_of_confusion_mm
    NO_F_NUMBER_REACHES = "no_f_number_reaches"
    # low, high: f-numbers as marked
    BLUR_STAYS_WITHIN = "blur_stays_within"

    THIN_LENS_MEANT = "thin_lens_meant"

    # --- sources and shadows
    # about a size; shape: of the source
    SIZE_NOT_USED = "size_not_used"
    SOFT_PANEL_MEANT = "soft_panel_meant"
    # from_mm
    SQUARE_HOLDS_FROM = "square_holds_from"
    INSIDE_THE_PEAK = "inside_the_peak"
    # reach_mm: of the umbra
    NO_FULL_SHADOW = "no_full_shadow"
    LIGHT_ALL_OR_NONE = "light_all_or_none"

    FRONT_DECIDES = "front_decides"
    LIGHTS_TO_BE_BEYOND = "lights_to_be_beyond"
    # clear_deg: from which bearing on it is not seen
    SEEN_IN_ORIGINAL = "seen_in_original"
    RIM_MAY_BE_BRIGHT = "rim_may_be_bright"
    CARDS_OFF_LAMPS = "cards_off_lamps"
    LIGHT_OVERHEAD = "light_overhead"

    # --- filters and colour
    BEYOND_PARALLEL_AXES = "beyond_parallel_axes"
    CROSSED_PASSES_NOTHING = "crossed_passes_nothing"
    SHIFT_IS_OF_THE_GEL = "shift_is_of_the_gel"
    TAKEN_ON_THE_LOCUS = "taken_on_the_locus"

    # --- formats
    COMPARED_BY_DIAGONALS = "compared_by_diagonals"
    EXPOSURE_KEEPS_ITS_LIGHT = "exposure_keeps_its_light"
