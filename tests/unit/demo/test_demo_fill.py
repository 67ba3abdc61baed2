"""The filled demo: its ledger against figures worked out by hand, its pictures against what the notes tell."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable
from itertools import pairwise
from math import log2
from types import ModuleType

import numpy as np
import pytest
from PIL import Image
from sqlmodel import select

from tests.demo_bake.scenes import Scene, patch_level, render_scene
from tests.demo_bake.still_life import patch_of
from tests.unit.demo.conftest import Demo
from webapp.kit import inventory
from webapp.ledger.assessment import Assessment, Baselines, assess
from webapp.ledger.entries import Cause
from webapp.optics import depth, diffraction, distance_law, macro, sources, stacks
from webapp.recipes import publish
from webapp.records import kit as kit_records
from webapp.records.tables import Filter, Picture, RecipeRow
from webapp.shoots import frames, set_up_now
from webapp.shoots.frames import LoggedFrame
from webapp.web.words.say import say

SAID_STOPS = 0.06
"""The figures by hand are rounded to a tenth of a stop."""

pytestmark = pytest.mark.xdist_group("demo")


@pytest.fixture
def read_stops(demo: Demo, colour_library: ModuleType) -> Callable[..., float]:
    """Level of a patch in a frame's file, in stops about 18 % of saturation, by another library's sRGB curve."""

    def read(scene: Scene, shot: str, number: int, patch: str) -> float:
        return log2(patch_level(light_in(demo, colour_library, shot, number), scene.patches[patch]) / 0.18)

    return read


def light_in(demo: Demo, colour_library: ModuleType, shot: str, number: int) -> np.ndarray:
    (picture,) = demo.frame(shot, number).pictures
    with Image.open(demo.store.path_of(picture.digest)) as image:
        return np.asarray(colour_library.models.eotf_sRGB(np.asarray(image) / 255.0))


def metered(frame: LoggedFrame) -> Assessment:
    """What was said of a set-up while there was no frame yet to hold it against."""
    return assess(frame.set_up, Baselines())


# --- what was logged ----------------------------------------------------------------------------------------------


def test_shots_have_all_their_frames(demo: Demo) -> None:
    counts = {name: len(demo.frames(name)) for name in demo.shots}

    assert counts == {"bottle": 6, "again": 2, "tile": 7, "cock": 18}


def test_reshoot_follows_eight_months_after_the_first(demo: Demo) -> None:
    first, again = demo.sessions["bottle"].day, demo.sessions["again"].day

    assert (again.year * 12 + again.month) - (first.year * 12 + first.month) == 8


@pytest.mark.parametrize(("shot", "reference"), [("bottle", 6), ("again", 2), ("tile", 6), ("cock", 6)])
def test_named_frame_is_the_reference(demo: Demo, shot: str, reference: int) -> None:
    assert [each.row.number for each in demo.frames(shot) if each.is_reference] == [reference]


def test_frame_by_frame_the_cock_is_checked_lit_and_stacked(demo: Demo) -> None:
    purposes = [each.row.purpose for each in demo.frames("cock")]

    assert purposes == ["ambient check"] * 2 + ["test"] * 4 + ["stack"] * 12


def test_ambient_checks_are_dark_and_leave_the_lights_as_they_were(demo: Demo) -> None:
    checks = [demo.frame("cock", 1), demo.frame("cock", 2), demo.frame("tile", 1), demo.frame("bottle", 1)]

    assert all(each.set_up.is_dark and each.ledger.reference_number for each in checks)
    assert [each.set_up.shutter.text for each in checks if each.set_up.shutter] == ["1/125", "1", "1", "1"]
    assert demo.frame("cock", 3).row.lit == "A"
    assert demo.frame("tile", 3).row.lit == "AB"


def test_files_say_what_was_set(demo: Demo) -> None:
    for shot in demo.shots:
        assert [each.conflicts for each in demo.frames(shot)] == [{}] * len(demo.frames(shot))


def test_frames_stand_at_the_time_of_their_day_and_in_order(demo: Demo) -> None:
    for shot, session in demo.sessions.items():
        moments = [each.row.logged_at for each in demo.frames(shot)]

        assert moments == sorted(set(moments))
        assert {moment.date() for moment in moments} == {session.day}


def test_stack_takes_forty_four_seconds(demo: Demo) -> None:
    moments = [each.row.logged_at for each in demo.frames("cock") if each.row.purpose == "stack"]

    assert (moments[-1] - moments[0]).total_seconds() == pytest.approx(44, abs=1)
    assert max(later - earlier for earlier, later in pairwise(moments)) < dt.timedelta(seconds=5)


def test_newest_shoot_is_on_the_set(demo: Demo) -> None:
    assert [name for name, shot in demo.shots.items() if shot.on_set] == ["cock"]


def test_starter_kit_lies_beside_the_kit_of_the_sets(demo: Demo) -> None:
    names = {name for _, name in inventory.choices(demo.records).heads}

    assert {"small flash", "ring R1", "monolight A", "monolight B", "monolight C", "strip head D"} <= names


def test_every_picture_gets_its_preview(demo: Demo) -> None:
    give_up = time.monotonic() + 60
    while time.monotonic() < give_up:
        with demo.records.reading() as db:
            if not db.exec(select(Picture).where(Picture.preview == "", Picture.trouble == "")).all():
                break
        time.sleep(0.1)

    pictures = [picture for shot in demo.shots for each in demo.frames(shot) for picture in each.pictures]
    assert len(pictures) == 33
    assert all(picture.preview and not picture.trouble for picture in pictures)


# --- what the ledger says -----------------------------------------------------------------------------------------


# by hand: 11 - 6 - 6 + 5.58 - 2.28 for frame 3, and so on
@pytest.mark.parametrize(("number", "stops"), [(3, 2.3), (4, 0.3), (5, -3.7), (6, -0.03)])
def test_meter_reading_of_the_ring_predicts_the_frames(demo: Demo, number: int, stops: float) -> None:
    assert metered(demo.frame("cock", number)).total_stops == pytest.approx(stops, abs=SAID_STOPS)


@pytest.mark.parametrize(("number", "stops"), [(3, 2.3), (4, 0.3), (5, -3.7), (6, 0.0), (18, 0.0)])
def test_frames_of_the_cock_against_the_reference(demo: Demo, number: int, stops: float) -> None:
    assert demo.frame("cock", number).ledger.total_stops == pytest.approx(stops, abs=SAID_STOPS)


def test_three_sheets_are_six_stops_and_not_two(demo: Demo) -> None:
    against_frame_4 = demo.frame("cock", 5).ledger.since_previous

    assert against_frame_4 is not None
    (sheets,) = (entry for entry in against_frame_4.entries if entry.cause is Cause.FILTERS)
    assert sheets.stops == pytest.approx(-6.0, abs=SAID_STOPS)


# by hand: 12 - 0.5 - 7 - 5.1 - 0.36 for each light and 1.0 for the pair; the polarisers take what A and B gain
@pytest.mark.parametrize(("number", "stops"), [(3, 0.04), (6, 0.04)])
def test_meter_readings_of_the_pair_add_up(demo: Demo, number: int, stops: float) -> None:
    said = metered(demo.frame("tile", number))

    assert [line.stops for line in said.lit] == pytest.approx([stops - 1, stops - 1], abs=SAID_STOPS)
    assert said.total_stops == pytest.approx(stops, abs=SAID_STOPS)


@pytest.mark.parametrize(("number", "a", "b"), [(3, 0.0, 0.0), (4, -2.9, -2.9), (5, 0.0, -1.0), (6, 0.0, 0.0)])
def test_frames_of_the_tile_against_the_reference(demo: Demo, number: int, a: float, b: float) -> None:
    balances = {line.acts_on: line.stops for line in demo.frame("tile", number).ledger.lit}

    assert balances == pytest.approx({"A": a, "B": b}, abs=SAID_STOPS)


def test_misread_dial_shows_as_unequal_rises(demo: Demo) -> None:
    rises = demo.frame("tile", 5).ledger.since_previous

    assert rises is not None
    assert {entry.acts_on: entry.stops for entry in rises.entries} == pytest.approx({"A": 2.9, "B": 1.9}, abs=0.001)


def test_polariser_is_guessed_in_its_first_frame_and_learned_after_it(demo: Demo) -> None:
    crossed = [demo.frame("tile", number).set_up for number in (4, 5)]
    with demo.records.reading() as db:
        (kept,) = (row for row in kit_records.items_in(db, Filter) if row.name == "screw-in polariser")

    pairs = [(*each.lens_filters, *each.lights[0].filters) for each in crossed]
    assert [[sheet.loss_stops for sheet in pair] for pair in pairs] == [[1.2, 1.4], [1.5, 1.4]]
    assert kept.loss_stops == pytest.approx(1.5)


def test_meter_reading_of_the_strip_has_the_label_right(demo: Demo) -> None:
    assert metered(demo.frame("bottle", 4)).total_stops == pytest.approx(0.0, abs=SAID_STOPS)


def test_reshoot_tells_the_two_changes_of_c_apart(demo: Demo) -> None:
    ledger = demo.frame("again", 1).ledger
    rim, key = ledger.lit

    causes = {entry.cause: entry.stops for entry in rim.entries}
    assert causes == pytest.approx({Cause.DISTANCE: 0.48, Cause.ENERGY: -1.0}, abs=0.005)
    assert rim.stops == pytest.approx(-0.52, abs=0.005)
    # the log has the gel on D, so the ledger finds nothing there
    assert key.stops == 0.0


def test_reshoot_is_rebuilt_to_the_nearest_marks(demo: Demo) -> None:
    first, again = demo.frame("bottle", 6), demo.frame("again", 2)

    across = frames.ledger_between(demo.records, again.row.id, first.row.id)

    causes = {entry.cause: entry.stops for entry in across.of("C")}
    expected = {Cause.APERTURE: 0.67, Cause.CLOSE_UP: 0.12, Cause.DISTANCE: -1.06, Cause.ENERGY: 0.3}
    assert causes == pytest.approx(expected, abs=0.006)
    assert across.balances["C"] == pytest.approx(0.03, abs=0.005)
    assert across.balances["D"] == pytest.approx(0.0, abs=SAID_STOPS)
    assert [light.power_mark() for light in again.set_up.lights] == ["154 J", "6.25 J"]


def test_standing_set_ups_are_in_balance_when_the_set_is_struck(demo: Demo) -> None:
    for shot in demo.shots.values():
        said = set_up_now.state(demo.records, shot.id).assessment

        assert [line.stops for line in said.lit] == pytest.approx([0.0] * len(said.lit), abs=1e-9)
        assert said.corrections == ()


# --- what the pictures show ---------------------------------------------------------------------------------------


# in frame 5 the room, 8.0 down, adds 0.07 to the -3.7 of the ring
@pytest.mark.parametrize(("number", "stops"), [(2, -1.0), (4, 0.3), (5, -3.63), (6, 0.0), (7, 0.0), (18, 0.0)])
def test_gilt_reads_as_told(read_stops: Callable[..., float], cock: Scene, number: int, stops: float) -> None:
    assert read_stops(cock, "cock", number, "gilt") == pytest.approx(stops, abs=SAID_STOPS)


def test_gilt_of_the_third_frame_is_clipped(demo: Demo, colour_library: ModuleType, cock: Scene) -> None:
    gilt = patch_of(light_in(demo, colour_library, "cock", 3), cock.patches["gilt"])

    assert np.mean(gilt.max(axis=2) >= 0.999) > 0.8


def test_first_frame_of_the_cock_is_black(demo: Demo, colour_library: ModuleType) -> None:
    assert light_in(demo, colour_library, "cock", 1).mean() < 0.001


@pytest.mark.parametrize(
    ("number", "left", "centre", "right"),
    [(5, -0.28, -0.38, -0.44), (6, 0.02, 0.0, 0.02)],
)
def test_tile_reads_as_told_across(
    read_stops: Callable[..., float], tile: Scene, number: int, left: float, centre: float, right: float
) -> None:
    read = [read_stops(tile, "tile", number, patch) for patch in ("left", "centre", "right")]

    assert read == pytest.approx([left, centre, right], abs=0.02)


@pytest.mark.parametrize(("number", "stops"), [(1, -0.4), (2, -2.1), (3, 0.04), (4, -2.9), (7, 0.0)])
def test_centre_of_the_tile_reads_as_told(
    read_stops: Callable[..., float], tile: Scene, number: int, stops: float
) -> None:
    assert read_stops(tile, "tile", number, "centre") == pytest.approx(stops, abs=SAID_STOPS)


def test_grey_card_shows_a_shift_of_130_kelvin(demo: Demo, colour_library: ModuleType, tile: Scene) -> None:
    card = patch_of(light_in(demo, colour_library, "tile", 7), tile.patches["centre"]).mean(axis=(0, 1))

    # a card that is neutral at 5600 K, seen by the colour of 5470 K; half a code each way is 1 % of light
    red_over_blue = [_daylight_red_over_blue(colour_library, kelvin) for kelvin in (5470, 5600)]
    assert card[0] / card[2] == pytest.approx(red_over_blue[0] / red_over_blue[1], abs=0.02)


def _daylight_red_over_blue(colour_library: ModuleType, kelvin: float) -> float:
    from colour.temperature import CCT_to_uv_Planck1900

    xy = colour_library.UCS_uv_to_xy(CCT_to_uv_Planck1900(np.array(kelvin)))
    red, _, blue = colour_library.XYZ_to_RGB(colour_library.xy_to_XYZ(xy), "sRGB", apply_cctf_encoding=False)
    return float(red / blue)


@pytest.mark.parametrize(
    ("number", "patch", "stops"),
    [
        (1, "label", -1.5),
        (2, "rim", 0.9),
        (3, "rim", 2.3),
        (3, "label", -3.3),
        (4, "label", 0.0),
        (5, "label", 0.14),
        (6, "label", -0.04),
        (6, "rim", 2.3),
    ],
)
def test_bottle_reads_as_told(
    read_stops: Callable[..., float], bottle: Scene, number: int, patch: str, stops: float
) -> None:
    assert read_stops(bottle, "bottle", number, patch) == pytest.approx(stops, abs=SAID_STOPS)


@pytest.fixture(scope="module")
def bottle_again() -> Scene:
    return render_scene("bottle", (900, 1350))


@pytest.mark.parametrize(
    ("number", "patch", "stops"), [(1, "rim", 1.8), (1, "label", 0.2), (2, "rim", 2.3), (2, "label", 0.0)]
)
def test_bottle_of_the_reshoot_reads_as_told(
    read_stops: Callable[..., float], bottle_again: Scene, number: int, patch: str, stops: float
) -> None:
    assert read_stops(bottle_again, "again", number, patch) == pytest.approx(stops, abs=SAID_STOPS)


def test_label_without_the_gel_is_bluer(demo: Demo, colour_library: ModuleType, bottle_again: Scene) -> None:
    labels = [
        patch_of(light_in(demo, colour_library, "again", number), bottle_again.patches["label"]).mean(axis=(0, 1))
        for number in (1, 2)
    ]

    without, with_gel = (label[2] / label[0] for label in labels)
    assert without > 1.3 * with_gel


def test_small_opening_is_softer_than_the_reference(demo: Demo, colour_library: ModuleType) -> None:
    pierced_table = (0.12, 0.35, 0.25, 0.30)

    def detail(number: int) -> float:
        table = patch_of(light_in(demo, colour_library, "cock", number), pierced_table)[..., 1]
        return float(np.diff(table, axis=1).std() / table.mean())

    assert detail(4) < 0.8 * detail(6)


# --- figures that the notes tell ------------------------------------------------------------------------------------


def test_notes_tell_the_figures_of_the_ring(demo: Demo) -> None:
    notes = demo.frame("cock", 3).row.notes
    ring = sources.Ring(110.0, 110.0)

    assert f"{distance_law.change_with_distance_stops(ring, 1000, 120):.2f} stops" in notes
    assert f"{distance_law.change_with_distance_stops(sources.Point(), 1000, 120):.2f}" in notes


def test_notes_tell_the_figures_of_the_small_opening(demo: Demo) -> None:
    notes = demo.frame("cock", 4).row.notes
    effective = macro.effective_f_number(16, 1.2)
    airy = diffraction.airy_disc_mm(effective)

    assert f"f/{effective:.0f}" in notes
    assert f"{airy * 1000:.0f} µm, {diffraction.in_pixels(airy, 5.0):.0f} pixels" in notes
    assert f"{depth.close_up_depth_mm(16, 0.015, 1.2):.2f} mm" in notes


def test_notes_tell_the_figures_of_the_stack(demo: Demo) -> None:
    notes = demo.frame("cock", 7).row.notes
    stack = stacks.focus_stack(3.0, 1.2, 2 ** (19 / 6), 0.015, 0.3)

    assert f"{stack.slice_mm:.2f} mm sharp" in notes
    assert f"step {stack.step_mm:.2f} mm" in notes
    assert stack.frames == 10


def test_notes_tell_the_figures_of_the_reshoot(demo: Demo) -> None:
    notes = demo.sessions["again"].notes
    was = depth.close_up_depth_mm(2**3.5, 0.030, 0.1833)
    now = depth.close_up_depth_mm(2 ** (19 / 6), 0.0218, 2 / 15)

    assert f"{now:.1f} mm (circle 0.0218) against {was:.1f}" in notes
    assert f"f/{was / now * 2 ** (19 / 6):.1f}" in notes
    assert f"{macro.subject_distance_mm(90, 24 / 180) / 10:.1f} cm" in notes


# --- what came of it ----------------------------------------------------------------------------------------------


def test_what_came_of_the_shoots_is_published_with_its_picture_and_reading(demo: Demo) -> None:
    with demo.records.reading() as db:
        rows = list(db.exec(select(RecipeRow)).all())
    newest = [publish.read(demo.records, row.id) for row in rows]

    assert sorted(each.recipe.title for each in newest) == [
        "Crackle glaze without its glare",
        "Pierced balance cock, shadowless relief",
        "Scent bottle on a dark field",
    ]
    assert all(each.recipe.result is not None and each.recipe.steps for each in newest)
    assert all(patch.read_stops is not None for each in newest for patch in each.recipe.patches)


def test_the_bottle_made_again_is_the_next_version_and_says_what_differs(demo: Demo) -> None:
    with demo.records.reading() as db:
        shot_id = demo.shots["bottle"].id
        row = db.exec(select(RecipeRow).where(RecipeRow.shot_id == shot_id)).one()
    again = publish.read(demo.records, row.id)

    assert again.number == 2
    assert any("C" in line and "cm" in line for line in map(say, again.differs))
