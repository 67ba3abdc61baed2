"""What reading a picture may say beside its figures. The values of each are named beside it."""

from __future__ import annotations

from enum import StrEnum


class Reason(StrEnum):
    """The closed list; about a patch by its name, or else about the whole picture."""

    # --- what was measured
    NO_PATCH_DRAWN = "no_patch_drawn"
    # about a patch
    PATCH_CUT_AT_EDGE = "patch_cut_at_edge"
    # below_stops: how far below clipping it lies at least
    NOT_TOLD_FROM_BLACK = "not_told_from_black"
    # clipped_share
    PATCH_CLIPS = "patch_clips"

    # --- how a rendered file was decoded
    LAB_CONVERTED = "lab_converted"
    PRINTING_COLOURS = "printing_colours"
    TRANSPARENCY_LEFT_OUT = "transparency_left_out"
    FLOATING_POINT_READ = "floating_point_read"
    PROFILE_BROKEN = "profile_broken"
    # profile: its description, "" for none
    PROFILE_CONVERTED = "profile_converted"
    ADOBE_RGB_BY_EXIF = "adobe_rgb_by_exif"

    # --- of readings that were kept before all bits and pixels were read
    # reduced_by: 2, 4 or 8
    READ_REDUCED = "read_reduced"
    UPPER_BITS_READ = "upper_bits_read"
    GREY_PROFILE_UNUSED = "grey_profile_unused"

    # --- the watched folder; folder: its path
    FOLDER_AWAY = "folder_away"
    FOLDER_BACK = "folder_back"
