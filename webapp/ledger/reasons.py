"""What the core of the ledger may say beside its figures: entries, balances, totals, corrections, cautions. A closed
list; the values of each are named beside it. Stops are floats with their sign (+ is more light), lengths are in
millimetres, a mark is a text as its dial shows it, and `light` is a light's name ("key A"); sentences are made of them
in `web.words`."""

from __future__ import annotations

from enum import StrEnum


class Reason(StrEnum):
    """`about` is the letter of a light, "ambient", or "all" where the whole exposure is meant."""

    # --- notes on a comparison of two frames
    # about a light; light
    LIGHT_IS_GONE = "light_is_gone"
    # about a light; light
    LIGHT_IS_OFF = "light_is_off"
    # about a light; light
    LIGHT_WAS_OFF = "light_was_off"
    # about a light; light
    ANOTHER_HEAD = "another_head"
    # light, now: subject, panel, background or card
    TURNED_ELSEWHERE = "turned_elsewhere"
    # about a light; light
    POWER_UNKNOWN = "power_unknown"
    # about a light; a_mark_stops (what one marked stop gives), readings (how many it was learned from)
    POWER_LEARNED = "power_learned"
    # about a light; light
    DISTANCE_UNKNOWN = "distance_unknown"
    # about a light; light
    DISTANCE_UNKNOWN_ONCE = "distance_unknown_once"
    # about a light; light, fitted (the name of the modifier or filters whose loss is unknown)
    LOSS_UNKNOWN = "loss_unknown"
    # about "all"; fitted
    LENS_LOSS_UNKNOWN = "lens_loss_unknown"
    # about "all"; fitted (the polariser on the lens), readings (how many the loss of the pair was learned from)
    PAIR_LEARNED = "pair_learned"
    # about "all"; setting: the field of the camera (f_number, shutter, iso, magnification)
    SETTING_UNKNOWN = "setting_unknown"
    # about "all", or "ambient" for the shutter; setting
    SETTING_UNKNOWN_ONCE = "setting_unknown_once"

    # --- a light that went on or off since the frame before
    # about a light; lit: how it stands now
    SWITCHED = "switched"

    # --- notes on a set-up
    # about a light; light
    NOTHING_TO_COMPARE = "nothing_to_compare"
    # about "all"; frame (the number of the one before), causes and lights (side by side, a cause and whose it is),
    # switched (letters of lights), switched_on (those of them that are on now)
    SEVERAL_CHANGES = "several_changes"
    # about "all"; shutter, sync (marks)
    BEYOND_SYNC = "beyond_sync"
    # about a light; (no values)
    RECIPE_NOT_METERED = "recipe_not_metered"
    # about a light; light, level_av (2 log2 of the f-number that the recipe asks for here, at ISO 100)
    METER_FOR_RECIPE = "meter_for_recipe"
    # about a light; light
    COMPARED_BY_METER = "compared_by_meter"

    # --- what a balance is taken against
    # frame (its number)
    AGAINST_FRAME = "against_frame"
    AGAINST_METER = "against_meter"
    AGAINST_RECIPE = "against_recipe"

    # --- a total, or why there is none
    TOTAL_BY_METER = "total_by_meter"
    TOTAL_ALIKE = "total_alike"
    NO_TOTAL_ALL_OFF = "no_total_all_off"
    # about a light; light
    NO_TOTAL_BALANCE = "no_total_balance"
    # lights (letters)
    NO_TOTAL_SHARES = "no_total_shares"
    # about a light
    NO_TOTAL_SHARE = "no_total_share"

    # --- where a share is from
    # Each is about a light.
    # frame (its number)
    SHARE_OF_SOLO = "share_of_solo"
    SHARE_OF_ONLY_LIGHT = "share_of_only_light"
    SHARE_LEFT_OVER = "share_left_over"
    SHARE_OF_RECIPE = "share_of_recipe"

    # --- how a light, or all of them, is off its target: the first part of a correction and of every note that a
    # correction cannot be made. The notes carry the values of one of these beside their own.
    # about a light; light, off_stops, target_stops
    OFF_TARGET = "off_target"
    # about "all"; lights (letters), off_stops
    ALL_OFF_TARGET = "all_off_target"
    # about a light; light, off_stops, wished (a power beyond the ends of its dial, whose light is to be had otherwise)
    POWER_WISHED = "power_wished"

    # --- what a correction does
    # about a light; was, now (marks)
    POWER_TO = "power_to"
    # about "all"; lights (letters), was, now (marks, in the order of the lights), uneven_stops (how far ratios shift)
    POWERS_TO = "powers_to"
    # about a light; was, now (marks), fitted (names), loss_stops, softens, out (whether they come off)
    POWER_AND_SHEETS_TO = "power_and_sheets_to"
    # about "all"; as POWERS_TO, with fitted (in the order of the lights, "" for none), softens, out
    POWERS_AND_SHEETS_TO = "powers_and_sheets_to"
    # about a light; fitted (names), loss_stops, softens, out
    PUT_ON_LIGHT = "put_on_light"
    # about a light; fitted (names), loss_stops, softens, out
    TAKE_OFF_LIGHT = "take_off_light"
    # fitted (names), loss_stops
    PUT_ON_LENS = "put_on_lens"
    # fitted (names), loss_stops
    TAKE_OFF_LENS = "take_off_lens"
    # was, now (marks), closes, several (more than one flash is lit), was_depth_mm, now_depth_mm (None: not close up)
    F_NUMBER_TO = "f_number_to"
    # was, now (marks), rises
    ISO_TO = "iso_to"
    # the values of F_NUMBER_TO or ISO_TO, beside others (letters), others_was, others_now (marks): the lights that are
    # turned against it, so that it moves one light alone
    F_NUMBER_AND_OTHERS_TO = "f_number_and_others_to"
    ISO_AND_OTHERS_TO = "iso_and_others_to"
    # about a light; was_mm, now_mm
    DISTANCE_TO = "distance_to"
    # was, now (numbers), shutter (the mark to set; "" where it stays), ambient_stops (what the longer time gives it)
    POPS_TO = "pops_to"

    # --- why a correction cannot be made, each with the values of OFF_TARGET or ALL_OFF_TARGET
    # about a light; needs (mark; "" where it lies above full), ends (the mark at the end of the dial), short_stops
    POWER_OUT_OF_REACH = "power_out_of_reach"
    # about a light; lowest (mark; "" where it is full that is passed), short_stops
    POWERS_OUT_OF_REACH = "powers_out_of_reach"
    # needs (mark), ends (f-number), short_stops
    F_NUMBER_OUT_OF_REACH = "f_number_out_of_reach"
    # needs (mark), ends (ISO)
    ISO_OUT_OF_REACH = "iso_out_of_reach"
    # about a light; from_mm, most_stops (what moving it nearer gains at most)
    DISTANCE_OUT_OF_LAW = "distance_out_of_law"
    # about a light; needs_mm
    DISTANCE_OUT_OF_TAPE = "distance_out_of_tape"
    # needs (number, not whole), most (number)
    TOO_MANY_POPS = "too_many_pops"
    # pops (number)
    POPS_NEED_STILLNESS = "pops_need_stillness"
    # pops (number)
    POPS_NEED_RECYCLING = "pops_need_recycling"
    # pops (number), needs_s (how long the shutter would stand open), most_s (the longest of its dial)
    POPS_NEED_TIME = "pops_need_time"

    # --- what a file said that the set-up did not
    # fields, file, stood (side by side: the field, the file's mark, the mark that stood)
    FILE_DIFFERS = "file_differs"

    # --- from a mix back to the dials
    # about a light; light
    MIX_POWER_UNKNOWN = "mix_power_unknown"
    # about a light; light, short_stops, highest (whether it is the upper end), ends (mark)
    MIX_OUT_OF_REACH = "mix_out_of_reach"
    # frame (its number)
    MIX_AS_IN_FRAME = "mix_as_in_frame"

    # --- cautions
    # lights (letters)
    CAUTION_EYES = "caution_eyes"
    # lights (letters)
    CAUTION_SCORCHING = "caution_scorching"
    CAUTION_FLICKER = "caution_flicker"
    CAUTION_CHARGE = "caution_charge"
    CAUTION_LOADS = "caution_loads"
    # held: the letters of lights and the names of things
    CAUTION_BOOM = "caution_boom"
    CAUTION_OVERHEAD = "caution_overhead"


class Effect(StrEnum):
    """What a correction moves beside the balance, or leaves as it is."""

    ENERGY = "energy"
    EVERY_ENERGY = "every_energy"
    RECYCLE_TIME = "recycle_time"
    DEPTH = "depth"
    DIFFRACTION = "diffraction"
    AMBIENT = "ambient"
    SOFTNESS = "softness"
    FALL_OFF = "fall_off"
    RATIOS = "ratios"
    NOISE = "noise"
    MODELLING_LIGHT = "modelling_light"
    COLOUR = "colour"
    FILTER_WORK = "filter_work"
    LENS_FILTER_WORK = "lens_filter_work"
    FINDER = "finder"
    FRAME_TIME = "frame_time"
