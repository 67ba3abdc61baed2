"""`stopledger measure`, as a script calls it."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from tests.made_pictures import counts_of, jpeg_bytes, rational, srgb_codes, write_dng
from tests.samples import PIEXIF, sample
from webapp.__main__ import main


def lines(said: str) -> list[list[str]]:
    return [line.split("\t") for line in said.splitlines()]


def raw(folder: Path, name: str, level: float) -> str:
    path = write_dng(folder / name, counts_of(np.full((80, 80), level), noise=0.0005))
    return str(path)


def test_a_bracket_is_printed_with_its_differences(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = [raw(tmp_path, f"{n}.dng", 0.18 * 2.0**n) for n in (0, 1, -2)]

    status = main(["measure", *files])

    head, *told = lines(capsys.readouterr().out)
    assert status == 0
    assert head[:4] == ["file", "f-number", "time_s", "iso"]
    assert [line[0] for line in told] == files
    assert [float(line[4]) for line in told] == pytest.approx([0.0, 1.0, -2.0], abs=0.05)
    assert [float(line[6]) for line in told] == pytest.approx([0.0, 1.0, -2.0], abs=0.05)
    assert told[0][1:4] == ["8", "0.008", "100"]


def test_files_that_lie_are_a_sentence_and_a_status(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    good = raw(tmp_path, "good.dng", 0.18)
    empty, lie = tmp_path / "empty.jpg", tmp_path / "words.jpg"
    empty.write_bytes(b"")
    lie.write_text("no picture at all")

    status = main(["measure", str(tmp_path / "gone.jpg"), str(empty), str(lie), good])

    said = capsys.readouterr()
    assert status == 1
    assert len(lines(said.out)) == 2
    assert lines(said.out)[1][6] == "+0.00"
    for path in ("gone.jpg: No such file", "empty.jpg: ", "words.jpg: This is not a picture"):
        assert path in said.err


def test_an_exposure_time_that_cannot_be_is_left_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "impossible.jpg"
    codes = srgb_codes(np.full((60, 60, 3), 0.18))
    settings = {0x829A: rational(4294967295), 0x829D: rational("5.6"), 0x8827: 200}
    path.write_bytes(jpeg_bytes(codes, settings=settings))

    assert main(["measure", str(path)]) == 0

    assert lines(capsys.readouterr().out)[1][1:4] == ["5.6", "-", "200"]


def test_a_black_file_is_told_as_at_most(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "black.jpg"
    path.write_bytes(jpeg_bytes(np.zeros((60, 60, 3), np.uint8)))

    main(["measure", str(path)])

    assert lines(capsys.readouterr().out)[1][4].startswith("<-")


def test_a_patch_may_be_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    light = np.full((80, 80), 0.09)
    light[:, 40:] = 0.36
    path = write_dng(tmp_path / "halves.dng", counts_of(light))

    main(["measure", "--patch", "0.6;0.2;0.3;0.6", str(path)])

    assert float(lines(capsys.readouterr().out)[1][4]) == pytest.approx(1.0, abs=0.02)
    with pytest.raises(SystemExit):
        main(["measure", "--patch", "half", str(path)])


# Camera files of piexif's tests (MIT); their settings are read by another library.
@pytest.mark.parametrize("name", ["r_canon.jpg", "r_pana.jpg", "r_sony.jpg", "r_ricoh.jpg", "r_olympus.jpg"])
def test_files_that_nobody_here_made_are_read_and_measured(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    from PIL import Image

    path = sample(PIEXIF, name)
    with Image.open(path) as image:
        told = image.getexif().get_ifd(0x8769)

    assert main(["measure", str(path)]) == 0

    line = lines(capsys.readouterr().out)[1]
    if (f_number := told.get(0x829D)) is not None:
        assert float(line[1]) == pytest.approx(float(f_number), rel=1e-3)
    if (time := told.get(0x829A)) is not None:
        assert float(line[2]) == pytest.approx(float(Fraction(float(time)).limit_denominator(100_000)), rel=1e-3)
    assert line[7] == "jpeg"
