"""What a backup says of itself."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.backups.manifest import NAME, Manifest, read_manifest

digests = st.text("0123456789abcdef", min_size=64, max_size=64)
manifests = st.builds(
    Manifest,
    made_at=st.datetimes(timezones=st.just(dt.UTC)),
    version=st.text(max_size=10),
    revision=st.text(max_size=10),
    database_sha256=digests,
    database_bytes=st.integers(min_value=0),
    counts=st.dictionaries(st.text(max_size=10), st.integers(min_value=0)),
    pictures=st.dictionaries(digests, st.integers(min_value=1)),
    missing=st.lists(digests).map(tuple),
    changed=st.lists(digests).map(tuple),
)


@given(manifests)
def test_what_is_written_is_read_back(tmp_path_factory: pytest.TempPathFactory, manifest: Manifest) -> None:
    directory = tmp_path_factory.mktemp("backup")

    manifest.write(directory)

    assert read_manifest(directory) == manifest
    assert [path.name for path in directory.iterdir()] == [NAME]


@pytest.mark.parametrize("text", ["", "{", "[]", "{}", '{"format": 2}', '{"format": 1, "made_at": "yesterday"}'])
def test_what_is_no_manifest_is_a_value_error(tmp_path: Path, text: str) -> None:
    (tmp_path / NAME).write_text(text)

    with pytest.raises(ValueError):  # noqa: PT011
        read_manifest(tmp_path)
