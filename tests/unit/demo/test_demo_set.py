"""The filled demo as evidence and as geometry: what is read at its patches, and where everything stands."""

from __future__ import annotations

import time
from types import ModuleType

import numpy as np
import pytest
from PIL import Image
from sqlmodel import col, select

from tests.unit.demo.conftest import Demo
from webapp.backups.check import check
from webapp.backups.reasons import Reason as Finding
from webapp.ledger.geometry import follows
from webapp.pictures.measure import examine
from webapp.records.tables import Picture, PictureLight
from webapp.settings import Settings
from webapp.shoots import readings, set_up_now

WORKED_OUT = (Finding.LEDGER_DIFFERS, Finding.EVIDENCE_DIFFERS)
PICTURES_WITH_LIGHT = select(Picture, PictureLight).join(
    PictureLight, col(PictureLight.picture_id) == col(Picture.id)
)
SAID_STOPS = 0.06
"""The figures by hand are rounded to a tenth of a stop."""

pytestmark = pytest.mark.xdist_group("demo")


# --- what the readings at the patches say -------------------------------------------------------------------------


@pytest.fixture
def read_demo(demo: Demo) -> Demo:
    """The demo with every picture measured."""
    give_up = time.monotonic() + 60
    while readings.still_to_examine(demo.records) and time.monotonic() < give_up:
        time.sleep(0.1)
    assert not readings.still_to_examine(demo.records)
    return demo


@pytest.mark.parametrize(
    ("shot", "number", "patch", "stops"),
    [
        ("cock", 2, "gilt", -1.0),
        ("cock", 6, "gilt", 0.0),
        ("tile", 5, "left", -0.28),
        ("tile", 5, "centre", -0.38),
        ("tile", 5, "right", -0.44),
        ("bottle", 2, "rim", 0.9),
        ("bottle", 3, "label", -3.3),
        ("bottle", 6, "rim", 2.3),
        ("again", 1, "rim", 1.8),
        ("again", 1, "label", 0.2),
    ],
)
def test_a_frame_is_read_at_its_patches(read_demo: Demo, shot: str, number: int, patch: str, stops: float) -> None:
    (found,) = (each for each in read_demo.frame(shot, number).evidence.patches if each.name == patch)

    assert found.read_stops == pytest.approx(stops, abs=SAID_STOPS)


# by hand: 7.0 stops of shutter and what a general-purpose
# library reads where the room is brightest
@pytest.mark.parametrize(("shot", "number"), [("cock", 2), ("tile", 2), ("bottle", 1)])
def test_the_room_is_proven_where_it_is_brightest_in_the_whole_picture(
    read_demo: Demo, colour_library: ModuleType, shot: str, number: int
) -> None:
    frame = read_demo.frame(shot, number)
    [picture] = frame.pictures
    with Image.open(read_demo.store.path_of(picture.digest)) as image:
        light = colour_library.models.eotf_sRGB(np.asarray(image) / 255.0) @ (0.2126, 0.7152, 0.0722)
    side = max(light.shape) // 120
    cells = light[: light.shape[0] // side * side, : light.shape[1] // side * side]
    means = cells.reshape(cells.shape[0] // side, side, cells.shape[1] // side, side).mean(axis=(1, 3))
    row, column = np.unravel_index(means.argmax(), means.shape)
    room = frame.evidence.room

    assert room is not None
    assert room.read_stops == pytest.approx(np.log2(means.max() / 0.18), abs=0.1)
    assert room.place.middle == pytest.approx(
        ((column + 0.5) / means.shape[1], (row + 0.5) / means.shape[0]), abs=0.02
    )
    proof = set_up_now.state(read_demo.records, read_demo.shots[shot].id).evidence.proof
    assert proof is not None
    assert proof.proven_stops == pytest.approx(7.0 - room.read_stops, abs=SAID_STOPS)
    # The shoots lie days back.
    assert proof.is_old


def test_frames_by_one_light_alone_give_the_shares_of_label_and_rim(read_demo: Demo) -> None:
    totals = set_up_now.state(read_demo.records, read_demo.shots["bottle"].id).evidence.totals

    shares = {each.name: each.shares.by_light for each in totals}
    # C leaves the label at -3.3 where D has it at 0.0, less the 0.2 that D was turned down.
    assert shares["label"]["C"] == pytest.approx(2**-3.3 / (2**-3.3 + 2**-0.2), abs=0.01)
    assert shares["rim"]["C"] == pytest.approx(1.0, abs=0.01)


def test_a_card_that_is_too_large_is_no_change_of_the_ledger_and_stays_unexplained(read_demo: Demo) -> None:
    (rim,) = (each for each in read_demo.frame("bottle", 2).evidence.patches if each.name == "rim")

    assert rim.predicted_stops == pytest.approx(0.0, abs=SAID_STOPS)
    assert rim.unexplained_stops == pytest.approx(0.9 - 2.3, abs=2 * SAID_STOPS)


# --- where everything stands --------------------------------------------------------------------------------------


def test_lights_stand_where_the_session_says(demo: Demo) -> None:
    placed = {
        (shot, light.letter): light.position.at
        for shot in demo.shots
        for light in demo.frames(shot)[-1].set_up.lights
        if light.position is not None
    }

    assert {key: (round(at.distance_mm), round(at.bearing_deg)) for key, at in placed.items()} == {
        ("bottle", "C"): (1350, 180),
        ("bottle", "D"): (800, 35),
        ("again", "C"): (1750, 180),
        ("again", "D"): (800, 35),
        ("tile", "A"): (1000, -45),
        ("tile", "B"): (1000, 45),
        ("cock", "A"): (120, 0),
    }
    assert placed["cock", "A"].z_mm == 120.0


def test_each_set_has_its_own_things_around_it(demo: Demo) -> None:
    things = {shot: {each.kind for each in demo.frames(shot)[-1].set_up.things} for shot in demo.shots}

    bottles = {"subject", "camera", "background", "table", "reflector"}
    assert things == {
        "bottle": bottles,
        "again": bottles,
        "tile": {"subject", "camera", "background"},
        "cock": {"subject", "camera", "background"},
    }


def test_the_pair_on_the_tile_is_even_and_shares_alike(demo: Demo) -> None:
    found = follows(demo.frame("tile", 6).set_up)

    assert [each.modelled for each in found.shares] == pytest.approx([0.5, 0.5], abs=0.001)
    assert found.evenness is not None
    assert found.evenness.range_stops < 0.1


def test_the_card_behind_the_bottle_is_as_large_as_the_session_says_and_no_larger(demo: Demo) -> None:
    card = follows(demo.frame("bottle", 6).set_up).card

    assert card is not None
    # 26.1 by 34.8 cm fill the view there, with a centimetre on every side.
    assert sorted(card[:2]) == pytest.approx([281.0, 368.0], abs=2.0)


def test_nothing_is_offered_to_be_taken_back(demo: Demo) -> None:
    assert all(set_up_now.state(demo.records, shot.id).last_move is None for shot in demo.shots.values())


def test_what_is_stored_of_every_frame_is_what_comes_out_when_it_is_worked_out_anew(read_demo: Demo) -> None:
    settings = Settings(data=read_demo.records.path.parent)

    assert [each for each in check(settings).findings if each.reason in WORKED_OUT] == []


def test_the_light_that_is_kept_of_every_picture_is_what_its_file_shows(read_demo: Demo) -> None:
    with read_demo.records.reading() as db:
        kept = {picture.digest: light.map for picture, light in db.exec(PICTURES_WITH_LIGHT)}

    assert kept
    assert {digest: examine(read_demo.store.path_of(digest), light=True).light for digest in kept} == kept
