"""What is made of pictures so that they can be looked at side by side: tiles, maps of sharpness, linear light.

All of it can be made again from the originals, and is made when it is asked for, off the request and in a worker of
its own, so that looking never delays a file that comes in from the set.
"""

from __future__ import annotations

import dataclasses
import json
import logging
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from webapp.errors import NotFound, PictureRefused
from webapp.facts import Fact
from webapp.pictures.aligning import Over
from webapp.pictures.isolation import IsolatedPictures
from webapp.pictures.pyramid import Pyramid, read_pyramid, share_made, tile_in
from webapp.pictures.store import PictureStore, is_digest, write_whole
from webapp.settings import Settings

if TYPE_CHECKING:
    from webapp.ledger.remix import LightsToMix
    from webapp.pictures.decode import LinearPicture
    from webapp.pictures.sharpness import SharpnessDifference, SharpnessMap
    from webapp.shoots.compare import Compared
    from webapp.shoots.ingest import Intake

LINEAR_LONGEST_PX: Final = 1024
"""Of the pictures that lights are added up in."""
_LINEAR_KEPT: Final = 8
_TIME_LIMIT_S: Final = 180.0
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class SoFar:
    """How far what is made of a picture is: the share that is done, 0 to 1, None while other work comes first; and why
    it cannot be made, "" where nothing stood in the way."""

    share: float | None
    trouble: str = ""

    @property
    def goes_on(self) -> bool:
        return self.share != 1.0 and not self.trouble


class LightTable:
    """Shared by threads. `…_soon` begins to make something and answers at once; what cannot be made has its reason in
    `trouble`."""

    def __init__(self, settings: Settings, store: PictureStore) -> None:
        self._root = settings.data / "tiles"
        self._store = store
        self._workers = ThreadPoolExecutor(max_workers=1, thread_name_prefix="light-table")
        self.pictures = IsolatedPictures(time_limit_s=_TIME_LIMIT_S, when_idle=self._forget_linear)
        self._lock = threading.Lock()
        self._under_way: set[tuple[str, ...]] = set()
        self._now: tuple[str, ...] = ()
        self._troubles: dict[tuple[str, str], PictureRefused | NotFound] = {}
        self._linear: OrderedDict[str, LinearPicture] = OrderedDict()
        self._decoding = threading.Lock()

    def pyramid(self, digest: str) -> Pyramid | None:
        """The tiles of a picture; None where they are not made yet."""
        return read_pyramid(self._directory(digest))

    def pyramid_soon(self, digest: str) -> None:
        """Have the tiles made."""
        if self.pyramid(digest) is None:
            into = self._directory(digest)
            self._soon(("tiles", digest), lambda: self.pictures.make_pyramid(self._store.path_of(digest), into))

    def tiles_so_far(self, digest: str) -> SoFar:
        """How far the tiles of a picture are that were asked for."""
        if self.pyramid(digest) is not None:
            return SoFar(1.0)
        trouble = self.trouble("tiles", digest)
        if trouble or self._now != ("tiles", digest):
            return SoFar(None, trouble)
        # Those that are cut are still to be written through to the disk.
        return SoFar(min(0.99, share_made(self._directory(digest))))

    def tile_path(self, digest: str, level: int, x: int, y: int) -> Path:
        """Where a tile lies. Raises NotFound where there is none."""
        path = tile_in(self._directory(digest), level, x, y)
        if not path.is_file():
            raise NotFound("There is no such tile.")
        return path

    def sharpness(self, digest: str, longest_px: int) -> SharpnessMap | None:
        """The map of a picture at so many pixels on its longer side; None where it is not made yet."""
        from webapp.pictures.sharpness import SharpnessMap

        try:
            told = json.loads(self._map_path(digest, longest_px).read_text())
        except FileNotFoundError:
            return None
        return SharpnessMap.from_json(told)

    def sharpness_soon(self, digest: str, longest_px: int) -> None:
        """Have the map made."""
        if self._map_path(digest, longest_px).is_file():
            return

        def measure() -> None:
            path, so_far = self._map_path(digest, longest_px), self._so_far_path(digest, longest_px)
            path.parent.mkdir(parents=True, exist_ok=True)
            try:
                found = self.pictures.sharpness_of(self._store.path_of(digest), longest_px, so_far)
            finally:
                so_far.unlink(missing_ok=True)
            write_whole(path, json.dumps(dataclasses.asdict(found)).encode())

        self._soon(("sharpness", digest, str(longest_px)), measure)

    def sharpness_so_far(self, digest: str, longest_px: int) -> SoFar:
        """How far the map of a picture is that was asked for."""
        from webapp.pictures.sharpness import share_measured

        if self._map_path(digest, longest_px).is_file():
            return SoFar(1.0)
        trouble = self.trouble("sharpness", digest)
        if trouble or self._now != ("sharpness", digest, str(longest_px)):
            return SoFar(None, trouble)
        return SoFar(min(0.99, share_measured(self._so_far_path(digest, longest_px))))

    def trouble(self, what: Literal["tiles", "sharpness"], digest: str) -> str:
        """Why it could not be made of a picture; empty where nothing stood in the way."""
        return str(self._troubles.get((what, digest), ""))

    def linear(self, digest: str) -> LinearPicture:
        """A picture in linear light at preview size; decoded now where it was not lately. Raises PictureRefused."""
        with self._decoding:
            found = self._linear.get(digest)
            if found is None:
                found = self.pictures.linear_picture(self._store.path_of(digest), LINEAR_LONGEST_PX)
                self._linear[digest] = found
                if len(self._linear) > _LINEAR_KEPT:
                    self._linear.popitem(last=False)
            self._linear.move_to_end(digest)
            return found

    def _forget_linear(self) -> None:
        """Eight megabytes a picture, of use while somebody tries what levels the lights should have."""
        with self._decoding:
            self._linear.clear()

    def pictures_of(self, found: LightsToMix) -> list[LinearPicture]:
        """The pictures that a mix is made of. Raises PictureRefused."""
        return [self.linear(digest) for digest in found.digests]

    def wait(self) -> None:
        """Until everything that was asked for is made."""
        self._workers.submit(lambda: None).result()

    def close(self) -> None:
        self._workers.shutdown(wait=False, cancel_futures=True)
        self.pictures.close()
        self._workers.shutdown(wait=True)

    def _directory(self, digest: str) -> Path:
        if not is_digest(digest):
            raise NotFound("There is no such picture.")
        return self._root / digest[:2] / digest

    def _map_path(self, digest: str, longest_px: int) -> Path:
        return self._directory(digest).with_name(f"{digest}.sharpness-{longest_px}.json")

    def _so_far_path(self, digest: str, longest_px: int) -> Path:
        return self._map_path(digest, longest_px).with_suffix(".so-far")

    def _soon(self, what: tuple[str, ...], make: Callable[[], object]) -> None:
        with self._lock:
            if what in self._under_way or what[:2] in self._troubles:
                return
            self._under_way.add(what)
        self._workers.submit(self._make, what, make)

    def _make(self, what: tuple[str, ...], make: Callable[[], object]) -> None:
        self._now = what
        try:
            make()
        except (PictureRefused, NotFound) as reason:
            self._troubles[what[0], what[1]] = reason
        except Exception:
            _log.exception("Nothing could be made of a picture for the light table.")
            self._troubles[what[0], what[1]] = PictureRefused("The picture could not be made ready to be looked at.")
        finally:
            self._now = ()
            with self._lock:
                self._under_way.discard(what)


# --- two frames ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Maps:
    """The maps of both pictures on one scale, as far as they are made."""

    first: SharpnessMap | None
    second: SharpnessMap | None
    trouble: str = ""
    refused: Fact | None = None

    @property
    def both(self) -> tuple[SharpnessMap, SharpnessMap] | None:
        return None if self.first is None or self.second is None else (self.first, self.second)


def maps_of(table: LightTable, found: Compared, *, make: bool) -> Maps:
    """The maps of both; with `make` those that are missing are begun."""
    first, second, longest = found.first.picture, found.second.picture, found.common_longest_px
    if found.laid is None or first is None or second is None:
        return Maps(None, None, refused=found.refused)
    if make:
        for digest in (first.digest, second.digest):
            table.sharpness_soon(digest, longest)
    trouble = table.trouble("sharpness", first.digest) or table.trouble("sharpness", second.digest)
    return Maps(table.sharpness(first.digest, longest), table.sharpness(second.digest, longest), trouble)


def held_over(intake: Intake, found: Compared) -> Over:
    """The two previews over each other; what cannot be told, since one is not made yet or cannot be read, is None."""
    first, second = found.first.picture, found.second.picture
    if found.laid is None or first is None or second is None:
        return Over()
    try:
        return intake.held_over(first.digest, second.digest, scale=found.laid.second[0])
    except (NotFound, PictureRefused):
        return Over()


def lift_of(found: Compared, over: Over) -> float | None:
    """What brings the second picture to the brightness of the first: by the patches, else by what both show."""
    brighter = found.brighter_stops
    if brighter is None:
        brighter = over.brighter_stops
    return None if brighter is None else -brighter + 0.0


def nudged(found: Compared, over: Over) -> Compared:
    """The two frames with the second picture laid where its subject is."""
    if found.laid is None or over.across is None or over.down is None:
        return found
    return replace(found, laid=replace(found.laid, nudge=(over.across, over.down)))


def difference_of(found: Compared, maps: Maps) -> SharpnessDifference | None:
    """What the second gained and lost against the first; None where the maps are not made."""
    if maps.both is None or found.laid is None:
        return None
    from webapp.pictures.sharpness import sharpness_difference

    return sharpness_difference(*maps.both, found.laid.place_in_second)
