"""Originals kept by the hash of their content."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.errors import NotFound, PictureRefused, TooLarge
from webapp.pictures.store import PictureStore


@pytest.fixture
def store(tmp_path: Path) -> PictureStore:
    return PictureStore(tmp_path / "pictures", most_bytes=1000)


def files_in(tmp_path: Path) -> list[Path]:
    return [path for path in (tmp_path / "pictures").rglob("*") if path.is_file()]


def test_a_picture_lies_under_the_hash_of_its_content(store: PictureStore, tmp_path: Path) -> None:
    source = tmp_path / "IMG_1.JPG"
    source.write_bytes(b"light")
    digest = hashlib.sha256(b"light").hexdigest()

    kept = store.keep(source)

    assert kept.digest == digest
    assert kept.path == tmp_path / "pictures" / digest[:2] / f"{digest[2:]}.jpg"
    assert (kept.path.read_bytes(), kept.size_bytes, kept.is_new) == (b"light", 5, True)
    assert store.path_of(digest) == kept.path


def test_the_original_stays_untouched(store: PictureStore, tmp_path: Path) -> None:
    source = tmp_path / "one.jpg"
    source.write_bytes(b"light")
    before = source.stat()

    store.keep(source)

    assert source.read_bytes() == b"light"
    assert source.stat().st_mtime_ns == before.st_mtime_ns


def test_the_same_content_twice_is_one_file(store: PictureStore, tmp_path: Path) -> None:
    first = store.keep([b"li", b"ght"], ending=".jpg")

    second = store.keep([b"light"], ending=".jpeg")

    assert (second.path, second.is_new) == (first.path, False)
    assert files_in(tmp_path) == [first.path]


def test_a_file_past_the_limit_is_refused_and_leaves_nothing(store: PictureStore, tmp_path: Path) -> None:
    with pytest.raises(TooLarge, match="larger than"):
        store.keep([b"x" * 600, b"x" * 600], ending=".jpg")

    assert files_in(tmp_path) == []


def test_an_empty_file_is_refused(store: PictureStore, tmp_path: Path) -> None:
    with pytest.raises(PictureRefused, match="empty"):
        store.keep([], ending=".jpg")

    assert files_in(tmp_path) == []


def test_a_file_that_has_gone_is_refused_with_a_sentence(store: PictureStore, tmp_path: Path) -> None:
    with pytest.raises(PictureRefused, match="cannot be read"):
        store.keep(tmp_path / "gone.jpg")


@pytest.mark.parametrize("ending", ["/../../evil", ".jpg/x", "jpg", ".toolong", ".j\0g", ""])
def test_an_ending_that_is_none_is_dropped(store: PictureStore, ending: str) -> None:
    kept = store.keep([b"light"], ending=ending)

    assert kept.path.name == kept.digest[2:]


@pytest.mark.parametrize("digest", ["", "ab", "../../etc/passwd", "*" * 64, "A" * 64, "0" * 64])
def test_what_is_not_in_the_store_is_not_found(store: PictureStore, digest: str) -> None:
    store.keep([b"light"], ending=".jpg")

    with pytest.raises(NotFound):
        store.path_of(digest)


@given(st.lists(st.binary(max_size=50), min_size=1, max_size=8))
def test_what_goes_in_comes_out(tmp_path_factory: pytest.TempPathFactory, chunks: list[bytes]) -> None:
    store = PictureStore(tmp_path_factory.getbasetemp() / "kept")
    content = b"".join(chunks)
    if not content:
        return

    kept = store.keep(chunks, ending=".jpg")

    assert store.path_of(kept.digest).read_bytes() == content


def test_what_a_power_cut_left_half_written_is_cleared_later(tmp_path: Path) -> None:
    import os

    incoming = tmp_path / "pictures" / "incoming"
    incoming.mkdir(parents=True)
    old, young = incoming / "old", incoming / "young"
    old.write_bytes(b"half")
    young.write_bytes(b"being written")
    os.utime(old, (0, 0))

    PictureStore(tmp_path / "pictures")

    assert [path.name for path in incoming.iterdir()] == ["young"]
