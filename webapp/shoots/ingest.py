"""Camera files on their way in: read, kept, bound to a frame, previewed and measured.

A file's settings are read and its bytes kept before the records are touched, so that a broken file costs no frame.
Preview and readings are made off the request, from one decoding; the records say that they are there. What a stop of
the server left undone is done after the next start, and what a trouble that passes kept from being done, after a while.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import logging
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TypeVar

from webapp import disk
from webapp.errors import Conflict, NotFound, NotKept, NotReadYet, PartMissing, PictureRefused, TooLarge
from webapp.facts import fact
from webapp.pictures.aligning import Over
from webapp.pictures.isolation import IsolatedPictures
from webapp.pictures.kinds import kind_of
from webapp.pictures.light_map import LightMap
from webapp.pictures.metadata import order_of_exposure
from webapp.pictures.readings import PatchReading
from webapp.pictures.store import KeptPicture, PictureStore, is_digest, make_directory, write_whole
from webapp.pictures.thumbnails import Thumbnails
from webapp.pictures.watch import Signature, signature_of
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.tables import Arrival, ArrivalState, Shot
from webapp.settings import Settings
from webapp.shoots import exposures, in_tray, readings
from webapp.shoots.again import Again
from webapp.shoots.cameras import use_camera
from webapp.shoots.log_frame import (
    Came,
    CameraFile,
    FrameWords,
    IncomingPicture,
    Logged,
    closed,
    log_frame,
    refuse_picture,
    take_picture,
)
from webapp.shoots.reasons import Reason
from webapp.shoots.together import Exposure, Together

PREVIEW_LONGEST_PX = 1600
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Added:
    """What became of files that were added by a press: those in the log, and by name why others are not."""

    logged: tuple[Logged, ...]
    refused: Mapping[str, PictureRefused]


class Intake:
    """Takes files in; the register of the watched folder (`pictures.watch.Register`)."""

    def __init__(self, settings: Settings, records: Records, store: PictureStore) -> None:
        self._settings = settings
        self._records = records
        self.store = store
        make_directory(self._settings.previews)
        self._closing = False
        self._whole: dict[Path, Signature] = {}
        # Not whole when they were last looked at; and those of them that were told to have stopped so.
        self._unfinished: set[Path] = set()
        self._cut_short: set[Path] = set()
        self._together = Together()
        self._again = Again(self.try_again)
        self._workers = ThreadPoolExecutor(max_workers=1, thread_name_prefix="pictures")
        self._filing = ThreadPoolExecutor(max_workers=1, thread_name_prefix="filing")
        self._pictures = IsolatedPictures()
        self.thumbnails = Thumbnails(self._settings.previews, self._pictures, self._workers)

    def read(self, name: str, source: Path | Iterable[bytes]) -> IncomingPicture:
        """Keep a file's bytes and read what it says. Raises PictureRefused with the reason; then nothing refers to
        it."""
        kept = self.store.keep(source, ending=Path(name).suffix or None)
        return IncomingPicture(name, self._pictures.read_facts(kept.path), kept)

    def add(
        self,
        shot_id: str,
        files: Iterable[tuple[str, Iterable[bytes]]],
        words: FrameWords,
        *,
        save_key: str | None = None,
        at: dt.datetime | None = None,
    ) -> Added:
        """Log files that were added by a press, each with its name, in the order of exposure and with the same words.
        One that is refused costs the others nothing, and is a line in the log of the shot. Preview and readings are left
        to `preview_soon`."""
        pictures, refused = [], {}
        for name, content in files:
            try:
                pictures.append(self.read(name, content))
            except NotKept:
                raise
            except PictureRefused as reason:
                refuse_picture(self._records, shot_id, name, reason)
                refused[name] = reason
        pictures.sort(key=lambda each: (order_of_exposure(each.facts), each.name))
        # The key of a form stands for one frame; a file is known by what is in it.
        key = save_key if len(pictures) == 1 else None
        logged = [
            log_frame(self._records, shot_id, words, save_key=key, picture=picture, at=at) for picture in pictures
        ]
        return Added(tuple(logged), refused)

    def keep_photo(self, name: str, source: Iterable[bytes]) -> KeptPicture:
        """Keep a photo that is no frame, and make what a page shows of it. Raises PictureRefused with the reason; then
        nothing refers to it."""
        kept = self.store.keep(source, ending=Path(name).suffix or None)
        self._make_preview(kept.digest, kept.path)
        return kept

    def photo_preview(self, digest: str) -> Path:
        """What a page shows of a photo; it is made again where it was lost. Raises NotFound and PictureRefused."""
        try:
            return self.preview_path(digest)
        except NotFound:
            self._make_preview(digest, self.store.path_of(digest))
            return self.preview_path(digest)

    def _make_preview(self, digest: str, original: Path) -> None:
        make = partial(self._pictures.make_preview, original, PREVIEW_LONGEST_PX)
        self._keep_preview(digest, _patiently(make))

    def warm(self) -> None:
        """Have the picture worker ready before the first file comes."""
        self._workers.submit(self._pictures.warm)

    def take_stock(self, folder: Path, found: Mapping[Path, Signature]) -> Mapping[Path, Signature]:
        """Register what lies in a watched folder, and take what has come since the server last looked, in the order
        of exposure. The answer is what of it is done with; the others are still being written."""
        if not folder.is_dir():
            return {}
        left = in_tray.take_stock(self._records, folder, found)
        whole = [path for path in left if self.is_whole(path)]
        for path in sorted(whole, key=self._exposed):
            self.arrived(path)
        return {path: signature for path, signature in found.items() if path not in left or path in whole}

    def seen(self, path: Path, signature: Signature) -> None:
        """Register a file of the watched folder."""
        in_tray.seen(self._records, path, signature)
        self._together.came(path)

    def gone(self, paths: Collection[Path]) -> None:
        """Files have vanished from the watched folder: it is said of those that were not read."""
        for folder in {path.parent for path in paths}:
            there = {signature for path in folder.iterdir() if (signature := signature_of(path)) is not None}
            names = [path.name for path in paths if path.parent == folder]
            in_tray.gone(self._records, folder, names, there)

    def due(self) -> Sequence[Path]:
        """What could not be read for a trouble that may have passed, after a while; and what was held back and came with
        no card, in the order of exposure."""
        due = self._again.take()
        if self._together.are_all_there:
            if self._together.is_card:
                in_tray.ask_about(self._records, self._together.held.values(), len(self._together.held))
            else:
                due += sorted(self._together.held, key=self._exposed)
            self._together.end()
        return due

    def is_whole(self, path: Path) -> bool:
        """Whether a file can be decoded to its end, or is not to be tried; if not, it is registered as being written."""
        signature = signature_of(path)
        if signature is None or _leads_out(path):
            return True
        try:
            is_all_there = _patiently(partial(self._pictures.check_whole, path))
        except (NotReadYet, PartMissing, TooLarge):
            return True
        except PictureRefused:
            is_all_there = False
        if not is_all_there:
            arrival = in_tray.seen(self._records, path, signature)
            if arrival.state == ArrivalState.SEEN:
                in_tray.set_aside(self._records, arrival.id, ArrivalState.BEING_WRITTEN)
            self._unfinished.add(path)
            return False
        self._unfinished.discard(path)
        self._whole[path] = signature
        return True

    def arrived(self, path: Path) -> None:
        """A file in a watched folder becomes a frame of the active shot, or waits in the in-tray. One that cannot be
        read raises nothing: it is a line there, and in the log of the shot."""
        signature = signature_of(path)
        if signature is None:
            self.gone([path])
            return
        arrival = in_tray.seen(self._records, path, signature)
        if arrival.state != ArrivalState.SEEN:
            return
        if arrival.shot_id is not None:
            with contextlib.suppress(PictureRefused):
                self.preview_soon(self._file(path, arrival.id, arrival.shot_id))
            return
        with self._records.reading() as db:
            shot = shot_records.shot_on_the_set(db)
        # One that was taken before is written to again, and no file of a card.
        if not arrival.digest and self._is_behind(shot, path, signature):
            self._hold(path, arrival.id)
            return
        if shot is None:
            try:
                self._check_whole(path, signature)
            except PictureRefused as reason:
                # That no shot was active is not what keeps it from being a frame.
                if not self._closing:
                    self._refuse(arrival.id, path, reason)
                return
            _log.warning("%s arrived, and no shot is on the set.", path.name)
            in_tray.set_aside(self._records, arrival.id, ArrivalState.WAITING, fact(Reason.NO_ACTIVE_SHOT))
            return
        try:
            self._log(shot.id, path, signature, arrival)
        except PictureRefused as reason:
            if self._closing:
                # Registered as it is: the next start goes on with it.
                return
            if self._refuse(arrival.id, path, reason):
                refuse_picture(self._records, shot.id, path.name, reason)

    def _is_behind(self, shot: Shot | None, path: Path, signature: Signature) -> bool:
        """Whether a file comes later after its exposure than it would if it had just been shot. One whose other file is a
        frame already is awaited, whenever it comes."""
        if path not in self._together or _leads_out(path):
            return False
        facts, lag_s = None, 0.0
        with contextlib.suppress(PictureRefused):
            facts = self._pictures.read_facts(path)
        if facts is not None and shot is not None:
            file = CameraFile(path.name, facts)
            with self._records.reading() as db:
                if shot_records.picture_of_same_exposure(db, file.exposure_key, facts.kind) is not None:
                    return False
                lag_s = exposures.lag_s(db, shot.id, file)
        return self._together.is_behind(path, Exposure.of(facts, signature[1]), signature[1], lag_s)

    def _hold(self, path: Path, arrival_id: str) -> None:
        """Hold a file back until it is known whether it came with a card; once that is so, it waits to be asked about."""
        was_card = self._together.is_card
        self._together.hold(path, arrival_id)
        if self._together.is_card:
            held = self._together.held
            in_tray.ask_about(self._records, [arrival_id] if was_card else held.values(), len(held))

    def _log(self, shot_id: str, path: Path, signature: Signature, arrival: Arrival) -> None:
        if _leads_out(path):
            in_tray.set_aside(self._records, arrival.id, ArrivalState.REFUSED, fact(Reason.LINK_LEADS_OUT))
            return
        self._check_whole(path, signature)
        picture = _patiently(partial(self.read, path.name, path))
        if signature_of(path) != signature:
            in_tray.set_aside(self._records, arrival.id, ArrivalState.BEING_WRITTEN)
            return
        camera = use_camera(self._records, shot_id, picture.facts.camera)
        if camera.is_another:
            in_tray.set_aside(self._records, arrival.id, ArrivalState.WAITING, *camera.says)
            return
        grew = self.store.begins_with(picture.kept, arrival.digest)
        was_cut_short = path in self._cut_short
        self._cut_short.discard(path)
        came = Came(arrival.id, was=arrival.digest, grew=grew, was_cut_short=was_cut_short, says=camera.says)
        self.preview_soon(take_picture(self._records, shot_id, picture, came))

    def _check_whole(self, path: Path, signature: Signature) -> None:
        """Raises PictureRefused for a file that is not whole, or cannot be read; what was found whole is not asked again."""
        if self._whole.pop(path, None) != signature and not _leads_out(path):
            _patiently(partial(self._pictures.check_whole, path))

    def file(self, arrival_ids: Sequence[str], shot_id: str) -> tuple[Logged, ...]:
        """File what waits in the in-tray to a shot, by a press and in the order of exposure. What is filed so belongs to
        what was: the set-up does not follow it. A file that cannot be read at all stays in the in-tray and says why;
        PictureRefused is raised where none could be. Raises Conflict for one that is filed already and for a closed
        shot."""
        ids = self._to_file(arrival_ids, shot_id)
        done, refused = [], None
        for path in sorted(ids, key=self._exposed):
            try:
                done.append(self._file(path, ids[path], shot_id))
            except PictureRefused as reason:
                refused = reason
        if refused is not None and not done:
            raise refused
        self.preview_soon(*done)
        return tuple(done)

    def file_soon(self, arrival_ids: Sequence[str], shot_id: str) -> None:
        """File all of a card, off the request: the in-tray empties as it is done, and measuring takes its turn after it.
        What cannot be filed stays there. Raises Conflict at once for what is filed already and for a closed shot."""
        ids = self._to_file(arrival_ids, shot_id)
        self._filing.submit(self._file_card, ids, shot_id)

    def _file_card(self, ids: Mapping[Path, str], shot_id: str) -> None:
        done = []
        try:
            for path in sorted(ids, key=self._exposed):
                if self._closing:
                    return
                # Pressed a second time, or answered for by itself meanwhile; or refused, and that is told there.
                with contextlib.suppress(Conflict, PictureRefused):
                    self._to_file([ids[path]], shot_id)
                    done.append(self._file(path, ids[path], shot_id))
            self.preview_soon(*done)
        except Exception:
            _log.exception("A card could not be filed to its end; what is left waits in the in-tray.")

    def _file(self, path: Path, arrival_id: str, shot_id: str) -> Logged:
        """Raises PictureRefused for a file that stays in the in-tray; that is told there."""
        try:
            if _leads_out(path):
                raise PictureRefused(f"{path.name} is a link that leads out of the watched folder.")
            if (signature := signature_of(path)) is not None:
                # What was written to it since it was found is not to come as another file.
                in_tray.seen(self._records, path, signature)
            picture = _patiently(partial(self.read, path.name, path))
        except PictureRefused as reason:
            self._refuse(arrival_id, path, reason, shot_id)
            raise
        return take_picture(self._records, shot_id, picture, Came(arrival_id, follows=False))

    def _to_file(self, arrival_ids: Sequence[str], shot_id: str) -> dict[Path, str]:
        """By path what is to be filed to a shot. Raises NotFound and Conflict."""
        with self._records.reading() as db:
            shot = shot_records.shot_of(db, shot_id)
            arrivals = [in_tray.for_press(db, each) for each in arrival_ids]
        if shot.closed_at is not None:
            raise closed(shot)
        return {Path(each.folder) / each.path: each.id for each in arrivals}

    def _refuse(self, arrival_id: str, path: Path, reason: PictureRefused, shot_id: str | None = None) -> bool:
        """A file that could not be read: for now, and it is tried again after a while, or for good. Whether this is the
        first time. It keeps the shot that it was to be filed to by a press."""
        if isinstance(reason, PartMissing):
            missing = fact(Reason.PART_MISSING, says=str(reason))
            in_tray.set_aside(self._records, arrival_id, ArrivalState.WAITING, missing, shot_id=shot_id)
            return True
        if not isinstance(reason, NotReadYet):
            is_cut = path in self._unfinished and _is_picture(path)
            if is_cut:
                self._cut_short.add(path)
            what = Reason.STOPPED_ARRIVING if is_cut else Reason.CANNOT_BE_READ
            in_tray.set_aside(self._records, arrival_id, ArrivalState.REFUSED, fact(what, says=str(reason)))
            return True
        why = fact(Reason.NOT_READ_YET, says=str(reason))
        in_tray.set_aside(self._records, arrival_id, ArrivalState.WAITING, why, shot_id=shot_id)
        return self._again.note(path)

    def _exposed(self, path: Path) -> tuple[str, int, str]:
        """Sorts files as they were exposed; those that do not say when come first, as they were written."""
        changed_ns = (signature_of(path) or (0, 0))[1]
        with contextlib.suppress(PictureRefused):
            if not _leads_out(path):
                return order_of_exposure(self._pictures.read_facts(path)), changed_ns, path.name
        return "", changed_ns, path.name

    def preview_soon(self, *logged: Logged) -> None:
        """Preview and measure pictures that were just bound, off the request."""
        for each in logged:
            if each.picture_id is not None:
                self._workers.submit(self._examine, each.picture_id)

    def catch_up(self, shot_id: str | None = None) -> None:
        """Make the previews and readings that a stop of the server left undone; of one shot, those that its patches
        want since they were drawn or moved."""
        for picture_id in readings.still_to_examine(self._records, shot_id):
            self._workers.submit(self._examine, picture_id)

    def try_again(self) -> None:
        """Make the previews that were lost, and read the pictures that could not be for a trouble that passes; then what
        else a stop left undone."""
        readings.try_again(self._records, {path.stem for path in self._settings.previews.glob("*.jpg")})
        self.catch_up()

    def finish(self) -> None:
        """Wait until the files that came so far are previewed and measured."""
        self._workers.submit(lambda: None).result()

    def preview_path(self, digest: str) -> Path:
        """Where the preview of an original lies. Raises NotFound where there is none."""
        path = self._settings.previews / f"{digest}.jpg"
        if not is_digest(digest) or not path.is_file():
            raise NotFound("There is no such preview.")
        return path

    def small(self, path: Path, longest_px: int) -> bytes:
        """A picture of the house made small, anew from its pixels, so that whatever its bytes carried beside them stays
        behind. Raises PictureRefused."""
        return self._pictures.make_preview(path, longest_px)

    def lifted(self, digest: str, stops: float) -> bytes:
        """The preview of an original brought up or down in linear light. Raises NotFound and PictureRefused."""
        return self._pictures.lifted_jpeg(self.preview_path(digest), stops)

    def held_over(self, digest: str, other: str, *, scale: float) -> Over:
        """The previews of two originals over each other. Raises NotFound and PictureRefused."""
        return self._pictures.held_over(self.preview_path(digest), self.preview_path(other), scale=scale)

    def close(self) -> None:
        self._closing = True
        self._again.close()
        self._filing.shutdown(wait=True, cancel_futures=True)
        self._workers.shutdown(wait=True, cancel_futures=True)
        self._pictures.close()

    def _examine(self, picture_id: str) -> None:
        try:
            self._preview_and_measure(picture_id)
        except Exception:
            _log.exception("A picture could not be measured.")

    def _preview_and_measure(self, picture_id: str) -> None:
        """One decoding gives preview and readings; a picture that has its preview is measured alone."""
        wanted = readings.wanted_of(self._records, picture_id)
        if wanted is None:
            return
        original = self.store.path_of(wanted.digest)
        read: tuple[PatchReading, ...] = ()
        light: LightMap | None = None
        trouble, passes = "", False
        try:
            longest_px = PREVIEW_LONGEST_PX if wanted.preview else None
            examine = partial(self._pictures.examine, longest_px=longest_px, light=wanted.light)
            found = _patiently(partial(examine, original, wanted.patches))
            read, light = found.readings, found.light
            if wanted.preview:
                self._keep_preview(wanted.digest, found.preview)
        except PictureRefused as reason:
            if self._closing:
                return
            trouble, passes = str(reason), isinstance(reason, NotReadYet)
            if passes:
                self._again.note()
        measured = read if wanted.measures else ()
        keep = partial(readings.keep_readings, light=light, trouble=trouble, trouble_passes=passes)
        if not keep(self._records, wanted, measured):
            # Deleted while it was read: what was made of it after that goes too.
            for made in self._settings.previews.glob(f"{wanted.digest}.*"):
                made.unlink(missing_ok=True)

    def _keep_preview(self, digest: str, content: bytes) -> None:
        path = self._settings.previews / f"{digest}.jpg"
        with disk.saying(self._settings.data):
            write_whole(path, content)
        self.thumbnails.make(digest, path)


Read = TypeVar("Read")


def _patiently(read: Callable[[], Read]) -> Read:
    """Once more where it could not be read: a worker may have been ended by something else than this picture."""
    try:
        return read()
    except NotReadYet:
        return read()


def _is_picture(path: Path) -> bool:
    """Whether a file begins as a picture does."""
    with contextlib.suppress(PictureRefused):
        kind_of(path)
        return True
    return False


def _leads_out(path: Path) -> bool:
    """Whether a file is a link to somewhere else than its own folder."""
    return path.is_symlink() and not path.resolve().is_relative_to(path.parent.resolve())
