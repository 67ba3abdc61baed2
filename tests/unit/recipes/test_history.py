"""What the log teaches: each change and what it did, a stack as one entry, rejected frames only where they are picked."""

from __future__ import annotations

from typing import Any

from tests.conftest import Studio
from webapp.quantities.lengths import CENTIMETRES
from webapp.quantities.places import read_place, read_size
from webapp.recipes import publish
from webapp.shoots import set_up_now
from webapp.shoots.log_frame import FrameWords, log_frame
from webapp.web.words.written import written


def change(studio: Studio, **told: Any) -> None:
    with set_up_now.reading(studio.records, studio.shot_id, CENTIMETRES) as reader:
        changes = []
        for name, value in told.items():
            path = name.replace("__", ".").replace("_1", "-1")
            if isinstance(value, dict):
                read = read_size if path.endswith(".size") else read_place
                changes.append(set_up_now.Change(path, reader.take(path, read(value, CENTIMETRES))))
            else:
                changes.append(set_up_now.Change(path, reader.sent(path, value)))
    set_up_now.change(studio.records, studio.shot_id, changes)


def log(studio: Studio, **words: Any) -> str:
    return log_frame(studio.records, studio.shot_id, FrameWords(**words)).frame_id


def told(studio: Studio, frame: str, *picked: str) -> list[tuple[int | None, int | None, str]]:
    changes = written(publish.draft_from(studio.records, frame, picked)[0]).changes
    return [(each.first_frame, each.last_frame, each.words) for each in changes]


def test_moves_of_lights_and_cards_are_told_beside_the_dials(studio: Studio) -> None:
    change(studio, f_number="8", lights__A__position={"distance": "80 cm", "bearing": "30", "height": "0"})
    change(studio, things__background__position={"x": "0", "y": "60 cm", "z": "0"})
    change(studio, things__background__size={"width": "40 cm", "height": "50 cm"})
    log(studio)
    change(studio, f_number="11", lights__A__position={"distance": "80 cm", "bearing": "60", "height": "0"})
    change(studio, things__background__size={"width": "28 cm", "height": "37 cm"})

    ((first, last, words),) = told(studio, log(studio))

    assert (first, last) == (2, 2)
    assert "aperture f/8 to f/11 (−1.0)" in words
    assert "A moved 30° back" in words
    assert "background 40 × 50 cm to 28 × 37 cm" in words


def test_a_rejected_frame_is_left_out_and_the_next_is_told_from_the_last_that_is_not(studio: Studio) -> None:
    change(studio, f_number="8")
    log(studio)
    change(studio, f_number="16")
    rejected = log(studio, verdict="fails")
    change(studio, f_number="11")
    hero = log(studio)

    assert [each[:2] for each in told(studio, hero)] == [(3, 3)]
    assert "aperture f/8 to f/11" in told(studio, hero)[0][2]
    picked = told(studio, hero, rejected)
    assert [each[0] for each in picked] == [2, 3]
    assert "aperture f/16 to f/11" in picked[1][2]


def test_a_stack_is_one_entry_whichever_of_its_frames_is_published(studio: Studio) -> None:
    change(studio, magnification="1.2")
    log(studio)
    frames = [log(studio, purpose="stack", because=f"{n + 1} of 4, focus at {0.3 * n:.1f} mm") for n in range(4)]
    log(studio)

    for chosen in (frames[0], frames[-1]):
        settings = written(publish.draft_from(studio.records, chosen)[0]).settings
        assert (settings.stack_frames, settings.stack_step_mm) == (4, 0.3)
        assert told(studio, chosen) == [(2, 5, "a focus stack of 4 frames")]


def test_the_note_of_a_frame_is_no_step(studio: Studio) -> None:
    log(studio)
    hero = log(studio, because="three sheets by mistake")
    drafted = written(publish.draft_from(studio.records, hero)[0])

    assert "three sheets" not in drafted.model_dump_json()
