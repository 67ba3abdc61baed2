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
