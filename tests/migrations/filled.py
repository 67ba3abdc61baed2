"""A database as the version before 0.1.0 left it: a file written by that version, and rows of what came to be kept otherwise."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from webapp.records.engine import DATABASE_NAME

_BEFORE = Path(__file__).with_name("filled_at_0013.sql")
_READ = """
INSERT INTO pictures SELECT 'p', id, 'd1', 'a.jpg', 'jpeg', 10, '{}', '', 'd1', '', logged_at FROM frames WHERE number = 1;
INSERT INTO readings SELECT 'r', 'p', NULL, '', 'cut short', logged_at FROM frames WHERE number = 1;
INSERT INTO pictures SELECT 'q', id, 'd2', 'b.jpg', 'jpeg', 10, '{}', '', 'd2', '', logged_at FROM frames WHERE number = 2;
INSERT INTO readings SELECT 's', 'q', NULL, '{"patch": {"name": "middle", "x": 0.4, "y": 0.4, "width": 0.2, "height": 0.2},
    "kind": "jpeg", "channels": [], "level": 0.18, "level_stops": -2.47, "at_most_stops": -2.46, "noise": 0.01,
    "standard_error": 0.001, "clipped_high_share": 0.0, "clipped_low_share": 0.0, "estimated": true,
    "tolerance_stops": 0.3, "histogram": [], "place_count": 100,
    "notes": ["No patch is drawn: the middle of the picture was measured.", "Transparency was left out."]}', '', logged_at
    FROM frames WHERE number = 2;
"""
_AS_TEXT = """
UPDATE frames SET set_values = '{"f_number": "1.2", "focal_length": "105.5"}', file_values = '{"f_number": "8"}'
    WHERE number = 2;
UPDATE standing SET kept = '{"shutter": "1/125", "lit": ["A"], "purpose": "test"}';
"""
_SENTENCES = """
INSERT INTO recipes (id, shot_id, identity, created_at) SELECT 'c', NULL, 'c', logged_at FROM frames WHERE number = 1;
INSERT INTO recipe_versions (id, recipe_id, number, document, differs, published_at)
    SELECT 'v', 'c', 1, '{}', '["f/8 where it was f/11"]', logged_at FROM frames WHERE number = 1;
INSERT INTO reshoots (shot_id, version_id, target, left_open, begun_at)
    SELECT shot_id, 'v', '{}', '["No lens is known."]', logged_at FROM frames WHERE number = 1;
INSERT INTO checklist_lines (id, shot_id, place, heading, words)
    SELECT 'l', shot_id, 1, 'Before the first frame', 'Prove black.' FROM frames WHERE number = 1;
"""


def fill(data: Path) -> Path:
    """Put it into a data directory; its path."""
    database = data / DATABASE_NAME
    with closing(sqlite3.connect(database)) as file:
        file.executescript(_BEFORE.read_text() + _READ + _AS_TEXT + _SENTENCES)
    return database
