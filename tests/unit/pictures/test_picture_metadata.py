"""What a camera file says of itself."""

from __future__ import annotations

import math
from pathlib import Path

import exifread
import numpy as np
import pytest

from tests.made_pictures import CAMERA, counts_of, jpeg_bytes, mosaic, rational, scene, write_dng
from tests.samples import PIEXIF, PILLOW, SamplePackage, sample
from webapp.pictures.metadata import PictureFacts, read_facts, same_exposure_key

GREY = np.full((8, 8, 3), 128, dtype=np.uint8)

# Package, file, f-number, exposure time, ISO, focal length in mm, time: as two general readers give them alike
# (Pillow and ExifRead, read 2026-11-24).
KNOWN = [
    (PIEXIF, "02.jpg", 5.0, 1 / 160, None, 9.2, "2006:02:16 21:19:26"),
    (PIEXIF, "L01.jpg", 6.2, 1 / 250, None, 14.2, "2006:02:15 23:39:07"),
    (PIEXIF, "L02.jpg", 4.8, 1 / 125, None, 8.0, "2006:02:19 01:36:16"),
    (PILLOW, "ultrahdr.jpg", 1.85, 1 / 25, 89, 6.81, "2024:05:07 09:33:04"),
    (PILLOW, "frame_size.mpo", 1.78, 1 / 60, 640, 6.86, "2025:09:07 14:16:43"),
    (PILLOW, "empty_gps_ifd.jpg", 1.79, 1 / 14, 25600, 4.74, "2020:07:27 14:46:48"),
    (PILLOW, "broken_exif_dpi.jpg", 8.0, 1 / 250, 400, 14.0, "2013:09:11 16:45:13"),
    (PILLOW, "xmp_test.jpg", 4.0, 1 / 100, 100, 25.0, "2018:10:27 13:27:23"),
    (PILLOW, "iptc.jpg", 3.2, 0.007396, 125, 4.5, "2006:07:08 21:14:45"),
    (PILLOW, "flower.webp", 4.9, 1 / 500, None, 21.3125, "2003:12:14 12:01:44"),
    (PILLOW, "ifd_tag_type.tiff", 1.25, None, None, 13.0, "2019:10:02 15:12:43"),
]


@pytest.mark.parametrize(("package", "name", "f_number", "time_s", "iso", "focal_mm", "taken_at"), KNOWN)
def test_the_settings_of_real_camera_files_are_read(
    package: SamplePackage,
    name: str,
    f_number: float,
    time_s: float | None,
    iso: float | None,
    focal_mm: float,
    taken_at: str,
) -> None:
    facts = read_facts(sample(package, name))

    assert facts.f_number == pytest.approx(f_number, rel=1e-9)
    assert facts.exposure_time_s == (None if time_s is None else pytest.approx(time_s, rel=1e-6))
    assert facts.iso == iso
    assert facts.focal_length_mm == pytest.approx(focal_mm, rel=1e-9)
    assert facts.taken_at == taken_at
    assert facts.camera


@pytest.mark.parametrize("name", ["ultrahdr.jpg", "broken_exif_dpi.jpg", "xmp_test.jpg", "iptc.jpg"])
def test_another_reader_finds_the_same_settings(name: str) -> None:
    path = sample(PILLOW, name)
    with path.open("rb") as file:
        tags = exifread.process_file(file, details=False)

    facts = read_facts(path)

    assert facts.f_number == pytest.approx(float(tags["EXIF FNumber"].values[0]))
    assert facts.exposure_time_s == pytest.approx(float(tags["EXIF ExposureTime"].values[0]))
    assert facts.focal_length_mm == pytest.approx(float(tags["EXIF FocalLength"].values[0]))
    assert facts.iso == tags["EXIF ISOSpeedRatings"].values[0]


def test_subject_distance_zone_and_subseconds_of_a_real_file_are_read() -> None:
    facts = read_facts(sample(PILLOW, "ultrahdr.jpg"))

    assert facts.subject_distance_mm == pytest.approx(123.0)
    assert facts.utc_offset == "+08:00"
    assert facts.subsecond == "046"


def test_a_real_file_with_an_exposure_of_136_years_keeps_its_time_and_loses_the_exposure() -> None:
    facts = read_facts(sample(PIEXIF, "01.jpg"))

    assert facts.exposure_time_s is None
    assert "exposure_time_s" in facts.refused
    assert facts.taken_at == "2099:09:29 10:10:10"


def test_neither_place_nor_serial_number_is_in_what_is_read(tmp_path: Path) -> None:
    located = sample(PILLOW, "ultrahdr.jpg")
    marked = tmp_path / "serial.jpg"
    marked.write_bytes(jpeg_bytes(GREY, settings={0xA431: "SN123456", 0xA435: "LN654321", 0x9286: b"place"}))

    said = f"{read_facts(located)} {read_facts(marked)}"

    assert not any(secret in said for secret in ("30, 37", "119", "SN123456", "LN654321", "place"))


def _facts_of(tmp_path: Path, **tags: dict[int, object]) -> PictureFacts:
    path = tmp_path / "made.jpg"
    path.write_bytes(jpeg_bytes(GREY, **tags))
    return read_facts(path)


@pytest.mark.parametrize(
    ("tag", "value", "field"),
    [
        (0x829A, rational(0), "exposure_time_s"),
        (0x829A, rational(4294967295), "exposure_time_s"),
        (0x829D, rational(0), "f_number"),
        (0x8827, 0, "iso"),
        (0x8827, 65535, "iso"),
        (0x920A, rational(0), "focal_length_mm"),
        (0x9003, "yesterday", "taken_at"),
        (0x9003, "2026:13:45 25:61:00", "taken_at"),
        (0x9206, rational("0.0001"), "subject_distance_mm"),
        (0x9291, "soon", "subsecond"),
        (0x9011, "+99:00", "utc_offset"),
    ],
)
def test_a_value_that_cannot_be_true_is_unknown_and_named(
    tmp_path: Path, tag: int, value: object, field: str
) -> None:
    facts = _facts_of(tmp_path, settings={tag: value})

    assert getattr(facts, field) is None
    assert facts.refused == (field,)


def test_an_iso_past_16_bits_comes_from_the_32_bit_tag(tmp_path: Path) -> None:
    facts = _facts_of(tmp_path, settings={0x8827: 65535, 0x8830: 2, 0x8832: 102400})

    assert facts.iso == 102400


def test_the_sensitivity_type_says_which_32_bit_tag_repeats_the_iso(tmp_path: Path) -> None:
    facts = _facts_of(tmp_path, settings={0x8827: 65535, 0x8830: 1, 0x8831: 204800, 0x8832: 102400})

    assert facts.iso == 204800


@pytest.mark.parametrize(("value", "distance_mm"), [(4294967295, math.inf), (0, None), ("0.35", 350.0)])
def test_a_subject_distance_is_infinite_unknown_or_in_metres(
    tmp_path: Path, value: str | float, distance_mm: float | None
) -> None:
    facts = _facts_of(tmp_path, settings={0x9206: rational(value)})

    assert facts.subject_distance_mm == (None if distance_mm is None else pytest.approx(distance_mm))
    assert facts.refused == ()


def test_apex_values_serve_where_the_plain_ones_are_missing(tmp_path: Path) -> None:
    # CIPA DC-008, annex C: Av 6 is f/8, Tv 7 is 1/128 s.
    facts = _facts_of(tmp_path, settings={0x9201: rational(7), 0x9202: rational(6)})

    assert facts.f_number == pytest.approx(8.0)
    assert facts.exposure_time_s == pytest.approx(1 / 128)


def test_make_and_model_are_one_name_without_padding(tmp_path: Path) -> None:
    twice = _facts_of(tmp_path, exif={0x10F: "INVENTED WORKS CO. ", 0x110: "Invented  Bench 1\0\0\0"})
    apart = _facts_of(tmp_path, exif={0x10F: "Invented", 0x110: "Bench 1"})

    assert twice.camera == "Invented Bench 1"
    assert apart.camera == "Invented Bench 1"


def test_a_picture_without_metadata_still_tells_its_size(tmp_path: Path) -> None:
    path = tmp_path / "bare.jpg"
    path.write_bytes(jpeg_bytes(np.zeros((30, 40, 3), dtype=np.uint8)))

    facts = read_facts(path)

    assert (facts.width_px, facts.height_px, facts.f_number, facts.refused) == (40, 30, None, ())


def test_width_and_height_are_those_of_the_upright_picture(tmp_path: Path) -> None:
    path = tmp_path / "turned.jpg"
    path.write_bytes(jpeg_bytes(np.zeros((30, 40, 3), dtype=np.uint8), exif={0x112: 6}))

    facts = read_facts(path)

    assert (facts.width_px, facts.height_px, facts.orientation) == (30, 40, 6)


def test_the_settings_of_a_raw_file_are_read(tmp_path: Path) -> None:
    path = write_dng(tmp_path / "one.dng", counts_of(mosaic(scene())), orientation=8)

    facts = read_facts(path)

    assert (facts.kind, facts.f_number, facts.exposure_time_s, facts.iso) == ("raw", 8.0, 1 / 125, 100)
    assert (facts.camera, facts.taken_at, facts.subsecond) == (" ".join(CAMERA), "2026:11:24 10:31:07", "25")
    assert (facts.width_px, facts.height_px, facts.orientation) == (120, 160, 8)


def test_a_raw_file_is_known_by_its_content_under_another_ending(tmp_path: Path) -> None:
    path = write_dng(tmp_path / "one.tif", counts_of(mosaic(scene())))

    assert read_facts(path).kind == "raw"


def test_a_raw_file_whose_pixels_are_of_an_unknown_kind_still_gives_its_settings(tmp_path: Path) -> None:
    inside = jpeg_bytes(GREY, settings={0x829D: rational(11), 0x8827: 200})
    head = b"FUJIFILMCCD-RAW 0201".ljust(84, b"\0") + (160).to_bytes(4) + len(inside).to_bytes(4)
    path = tmp_path / "one.raf"
    path.write_bytes(head.ljust(160, b"\0") + inside)

    facts = read_facts(path)

    assert (facts.kind, facts.f_number, facts.iso, facts.width_px) == ("raw", 11.0, 200, None)


def test_a_raw_file_that_the_tag_reader_does_not_know_is_asked_of_its_decoder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_dng(tmp_path / "one.dng", counts_of(mosaic(scene())), exposure_time=(1, 60), f_number=(11, 1))
    monkeypatch.setattr(exifread, "process_file", lambda *_, **__: {})

    facts = read_facts(path)

    assert (facts.f_number, facts.focal_length_mm) == (11.0, 100.0)
    assert facts.exposure_time_s == pytest.approx(1 / 60, rel=1e-6)


def test_a_raw_file_whose_pixels_are_cut_off_still_gives_settings_and_size(tmp_path: Path) -> None:
    whole = write_dng(tmp_path / "whole.dng", counts_of(mosaic(scene()))).read_bytes()
    path = tmp_path / "cut.dng"
    path.write_bytes(whole[: len(whole) // 2])

    facts = read_facts(path)

    assert (facts.f_number, facts.width_px, facts.height_px) == (8.0, 160, 120)


def test_a_raw_file_and_a_jpeg_of_one_exposure_have_one_key(tmp_path: Path) -> None:
    raw = read_facts(write_dng(tmp_path / "IMG_1.dng", counts_of(mosaic(scene()))))
    jpeg = tmp_path / "IMG_1.jpg"
    jpeg.write_bytes(
        jpeg_bytes(
            GREY,
            exif={0x10F: CAMERA[0], 0x110: CAMERA[1]},
            settings={0x9003: "2026:11:24 10:31:07", 0x9291: "250"},
        )
    )

    key = same_exposure_key(raw, "IMG_1")

    assert key is not None
    assert key == same_exposure_key(read_facts(jpeg), "img_1")
    assert key != same_exposure_key(raw, "IMG_2")


def test_without_camera_or_time_there_is_no_key(tmp_path: Path) -> None:
    path = tmp_path / "bare.jpg"
    path.write_bytes(jpeg_bytes(GREY))

    assert same_exposure_key(read_facts(path), "bare") is None


@pytest.mark.parametrize(
    ("flash", "fired"), [(0x00, False), (0x01, True), (0x10, False), (0x1F, True), (0x20, False)]
)
def test_the_first_bit_of_the_flash_tag_says_whether_one_fired(tmp_path: Path, flash: int, fired: bool) -> None:
    assert _facts_of(tmp_path, settings={0x9209: flash}).flash_fired is fired


def test_a_file_without_the_flash_tag_leaves_it_open(tmp_path: Path) -> None:
    assert _facts_of(tmp_path, settings={}).flash_fired is None
