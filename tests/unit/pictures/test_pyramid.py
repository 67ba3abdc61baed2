"""A picture in tiles: what the tiles together show is the picture."""

from __future__ import annotations

import io
import os
import shutil
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.made_pictures import colour, counts_of, jpeg_bytes, mosaic, scene, srgb_codes, write_dng
from webapp.errors import PictureRefused
from webapp.pictures.isolation import IsolatedPictures
from webapp.pictures.previews import make_preview
from webapp.pictures.pyramid import make_pyramid, read_pyramid, share_made, tile_in


def smooth(width: int, height: int) -> np.ndarray:
    across = np.linspace(20, 220, width)[np.newaxis, :].repeat(height, axis=0)
    down = np.linspace(30, 200, height)[:, np.newaxis].repeat(width, axis=1)
    return np.stack([across, down, (across + down) / 2], axis=2).astype(np.uint8)


def put_together(directory: Path, level: int) -> np.ndarray:
    pyramid = read_pyramid(directory)
    assert pyramid is not None
    width, height = pyramid.level_size(level)
    whole = Image.new("RGB", (width, height))
    for y in range(-(-height // pyramid.tile_px)):
        for x in range(-(-width // pyramid.tile_px)):
            with Image.open(tile_in(directory, level, x, y)) as tile:
                whole.paste(tile, (x * pyramid.tile_px, y * pyramid.tile_px))
    return np.asarray(whole, dtype=np.int16)


def test_the_last_level_is_the_picture_itself(tmp_path: Path) -> None:
    codes = smooth(1300, 700)
    (tmp_path / "a.jpg").write_bytes(jpeg_bytes(codes))

    pyramid = make_pyramid(tmp_path / "a.jpg", tmp_path / "tiles")

    assert (pyramid.width_px, pyramid.height_px, pyramid.levels) == (1300, 700, 3)
    assert np.abs(put_together(tmp_path / "tiles", 2) - codes).max() <= 6


def test_how_far_the_tiles_are_is_told_while_they_are_cut(tmp_path: Path) -> None:
    (tmp_path / "a.jpg").write_bytes(jpeg_bytes(smooth(1300, 700)))
    pyramid = make_pyramid(tmp_path / "a.jpg", tmp_path / "tiles")
    assert len(list((tmp_path / "tiles").glob("*/*.jpg"))) == pyramid.tiles == 3 * 2 + 2 * 1 + 1
    assert share_made(tmp_path / "tiles") == 0.0

    # As a process leaves them that was ended in the middle.
    cut = tmp_path / "unfinished-tiles" / "tiles_files" / "2"
    cut.mkdir(parents=True)
    (tmp_path / "unfinished-tiles" / "pyramid.json").write_text((tmp_path / "tiles" / "pyramid.json").read_text())
    for x in range(3):
        (cut / f"{x}_0.jpg").touch()

    assert share_made(tmp_path / "tiles") == pytest.approx(3 / 9)
    assert make_pyramid(tmp_path / "a.jpg", tmp_path / "tiles") == pyramid
    assert share_made(tmp_path / "tiles") == 0.0


def test_tiles_that_are_put_in_their_place_while_they_are_counted_are_counted_as_far_as_they_were_seen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.jpg").write_bytes(jpeg_bytes(smooth(1300, 700)))
    make_pyramid(tmp_path / "a.jpg", tmp_path / "tiles")
    unfinished = tmp_path / "unfinished-tiles"
    unfinished.mkdir()
    shutil.copy(tmp_path / "tiles" / "pyramid.json", unfinished)
    (tmp_path / "tiles").rename(unfinished / "tiles_files")
    list_directory = os.scandir

    def and_then_it_is_moved(directory: Path) -> object:
        if Path(directory).name == "0":
            (unfinished / "tiles_files").rename(tmp_path / "tiles")
        return list_directory(directory)

    monkeypatch.setattr(os, "scandir", and_then_it_is_moved)

    assert 0.0 <= share_made(tmp_path / "tiles") < 1.0


@pytest.mark.parametrize("size", [(512, 400), (513, 20), (1025, 1024), (20, 4097)])
def test_the_levels_are_those_that_libvips_makes(tmp_path: Path, size: tuple[int, int]) -> None:
    Image.new("L", size).save(tmp_path / "a.png")

    pyramid = make_pyramid(tmp_path / "a.png", tmp_path / "tiles")

    made = [each for each in (tmp_path / "tiles").iterdir() if each.is_dir()]
    assert (pyramid.width_px, pyramid.height_px, pyramid.levels) == (*size, len(made))


def test_what_shows_a_picture_has_the_colours_that_its_exif_data_name(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769).update({0xA001: 0xFFFF, 0xA005: {1: "R03", 2: b"0100"}})
    codes = np.full((600, 600, 3), (120, 150, 110), dtype=np.uint8)
    Image.fromarray(codes).save(tmp_path / "a.jpg", quality=95, subsampling=0, exif=exif)
    # Adobe RGB (1998) to sRGB by a general colour library.
    adobe, srgb = colour.RGB_COLOURSPACES["Adobe RGB (1998)"], colour.RGB_COLOURSPACES["sRGB"]
    light = colour.RGB_to_RGB(codes[0, 0] / 255, adobe, srgb, "Bradford", apply_cctf_decoding=True)
    shown = np.rint(colour.models.eotf_inverse_sRGB(light) * 255)
    assert np.abs(shown - codes[0, 0]).max() > 10

    make_pyramid(tmp_path / "a.jpg", tmp_path / "tiles")
    with Image.open(io.BytesIO(make_preview(tmp_path / "a.jpg", 64))) as preview:
        small = np.asarray(preview, dtype=np.float64)

    assert put_together(tmp_path / "tiles", 1).mean(axis=(0, 1)) == pytest.approx(shown, abs=2)
    assert small.mean(axis=(0, 1)) == pytest.approx(shown, abs=2)


def test_level_0_shows_the_whole_in_one_tile(tmp_path: Path) -> None:
    (tmp_path / "a.jpg").write_bytes(jpeg_bytes(smooth(1300, 700)))

    pyramid = make_pyramid(tmp_path / "a.jpg", tmp_path / "tiles")

    assert pyramid.level_size(0) == (325, 175)
    assert not tile_in(tmp_path / "tiles", 0, 1, 0).exists()
    shrunk = np.asarray(Image.fromarray(smooth(1300, 700)).resize((325, 175), Image.Resampling.BOX), dtype=np.int16)
    assert np.abs(put_together(tmp_path / "tiles", 0) - shrunk).max() <= 6


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_tiles_are_upright(tmp_path: Path, orientation: int) -> None:
    upright = smooth(600, 400)
    stored = {1: upright, 3: upright[::-1, ::-1], 6: np.rot90(upright), 8: np.rot90(upright, -1)}[orientation]
    (tmp_path / "a.jpg").write_bytes(jpeg_bytes(np.ascontiguousarray(stored), exif={0x0112: orientation}))

    make_pyramid(tmp_path / "a.jpg", tmp_path / "tiles")

    assert np.abs(put_together(tmp_path / "tiles", 1) - upright).max() <= 6


@pytest.mark.parametrize("suffix", [".tif", ".png", ".webp"])
def test_other_kinds_are_cut_as_well(tmp_path: Path, suffix: str) -> None:
    codes = smooth(700, 600)
    Image.fromarray(codes).save(tmp_path / f"a{suffix}")

    make_pyramid(tmp_path / f"a{suffix}", tmp_path / "tiles")

    assert np.abs(put_together(tmp_path / "tiles", 1) - codes).max() <= 8


def test_sixteen_bits_and_grey_become_three_colours_of_eight(tmp_path: Path) -> None:
    grey = np.linspace(0, 65535, 700)[np.newaxis, :].repeat(100, axis=0).astype(np.uint16)
    Image.fromarray(grey).save(tmp_path / "a.tif")

    make_pyramid(tmp_path / "a.tif", tmp_path / "tiles")

    whole = put_together(tmp_path / "tiles", 1)
    assert whole[50, 0].tolist() == [0, 0, 0]
    assert whole[50, 350].tolist() == pytest.approx([128, 128, 128], abs=2)


def test_a_raw_file_is_shown_at_half_its_size_and_says_so(tmp_path: Path) -> None:
    light = scene(400, 600)
    write_dng(tmp_path / "a.dng", counts_of(mosaic(light)))

    pyramid = make_pyramid(tmp_path / "a.dng", tmp_path / "tiles")

    assert (pyramid.width_px, pyramid.reduced_by) == (300, 2)


def test_a_cut_off_file_is_refused_and_leaves_nothing(tmp_path: Path) -> None:
    content = jpeg_bytes(np.random.default_rng(1).integers(0, 255, (700, 900, 3), dtype=np.uint8))
    (tmp_path / "a.jpg").write_bytes(content[: len(content) // 2])

    with pytest.raises(PictureRefused, match="broken or cut short"):
        make_pyramid(tmp_path / "a.jpg", tmp_path / "tiles" / "one")

    assert list((tmp_path / "tiles").iterdir()) == []


def test_nothing_of_the_file_but_pixels_leaves_with_a_tile(tmp_path: Path) -> None:
    (tmp_path / "a.jpg").write_bytes(jpeg_bytes(smooth(600, 400), exif={0x013B: "Somebody"}))

    make_pyramid(tmp_path / "a.jpg", tmp_path / "tiles")

    assert b"Somebody" not in tile_in(tmp_path / "tiles", 1, 0, 0).read_bytes()


def test_the_worker_makes_the_same(tmp_path: Path) -> None:
    (tmp_path / "a.jpg").write_bytes(jpeg_bytes(smooth(900, 600)))

    with IsolatedPictures() as pictures:
        pyramid = pictures.make_pyramid(tmp_path / "a.jpg", tmp_path / "tiles")
        sharpness = pictures.sharpness_of(tmp_path / "a.jpg", 600)

    assert read_pyramid(tmp_path / "tiles") == pyramid
    assert sharpness.longest_px == 600


def test_srgb_codes_of_a_scene_come_through_a_profile_unchanged(tmp_path: Path) -> None:
    from PIL import ImageCms

    codes = srgb_codes(scene(300, 600))
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    (tmp_path / "a.jpg").write_bytes(jpeg_bytes(codes, icc_profile=profile))

    make_pyramid(tmp_path / "a.jpg", tmp_path / "tiles")

    assert np.abs(put_together(tmp_path / "tiles", 1) - codes).max() <= 6
