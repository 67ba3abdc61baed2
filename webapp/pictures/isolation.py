"""Decoding in a process of its own, whose death, time-out or lack of memory costs only the reading.

One warm worker is kept and asked over a pipe; it is started again when it has died, and ended when nobody asked it for
a while, since what it rests in is a quarter of the server's memory. Requests and answers are JSON
with bytes behind them, so that a worker that a hostile file has taken over can send nothing that runs here, and it
is given no environment but what it needs to start.

A message is two lengths of four bytes, big-endian, of the JSON and of the bytes, then both.
"""

from __future__ import annotations

import contextlib
import dataclasses
import json
import os
import struct
import subprocess
import sys
import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from types import TracebackType
from typing import IO, TYPE_CHECKING, Any, Final, Self

from webapp.errors import NotReadYet, PartMissing, PictureRefused, TooLarge
from webapp.facts import Fact
from webapp.pictures.aligning import Over
from webapp.pictures.light_map import LightMap
from webapp.pictures.metadata import PictureFacts, PictureStyle
from webapp.pictures.pyramid import Pyramid
from webapp.pictures.readings import ChannelReading, Patch, PatchReading

if TYPE_CHECKING:
    from webapp.pictures.decode import LinearPicture
    from webapp.pictures.measure import Examined
    from webapp.pictures.sharpness import SharpnessMap

_REFUSALS: Final = {each.__name__: each for each in (TooLarge, PartMissing)}
_LENGTHS: Final = struct.Struct(">II")
_LARGEST_ANSWER_BYTES: Final = 1 << 28
_KEPT_ENVIRONMENT: Final = ("PATH", "LANG", "LC_ALL", "TZ", "TMPDIR", "TEMP", "SYSTEMROOT", "LD_LIBRARY_PATH")


class IsolatedPictures:
    """Reads, measures and previews pictures in a worker process. May be shared by threads: one file at a time.

    Each call takes at most `time_limit_s`, and at most `memory_limit_mb` beyond what the idle worker has (held on
    Linux). Besides what the functions of the same names raise, every call raises NotReadYet, with a sentence, where the
    worker died or took too long. A worker that nobody asked for `idle_s` is ended, and `when_idle` called.
    """

    def __init__(
        self,
        *,
        time_limit_s: float = 30.0,
        memory_limit_mb: int = 1500,
        idle_s: float = 120.0,
        when_idle: Callable[[], None] = lambda: None,
    ) -> None:
        self._time_limit_s = time_limit_s
        self._memory_limit_mb = memory_limit_mb
        self._idle_s = idle_s
        self._when_idle = when_idle
        self._idle: threading.Timer | None = None
        self._turn = threading.Lock()
        self._worker: subprocess.Popen[bytes] | None = None
        self._closed = False
        self._task = ""

    def warm(self) -> None:
        """Start the worker without waiting for it, so that the first picture does not wait for its start."""
        with self._turn:
            self._started()
            self._rest()

    @property
    def worker_id(self) -> int | None:
        """The process id of the worker that runs now."""
        return None if self._worker is None else self._worker.pid

    def read_facts(self, path: Path) -> PictureFacts:
        """As `metadata.read_facts`."""
        answer, _ = self._ask("facts", path)
        style = answer["style"]
        told = {"refused": tuple(answer["refused"]), "style": None if style is None else PictureStyle(**style)}
        return PictureFacts(**{**answer, **told})

    def check_whole(self, path: Path) -> bool:
        """As `decode.check_whole`."""
        return bool(self._ask("whole", path)[0])

    def make_preview(self, path: Path, longest_px: int) -> bytes:
        """As `previews.make_preview`."""
        return self._ask("preview", path, longest_px=longest_px)[1]

    def lifted_jpeg(self, path: Path, stops: float) -> bytes:
        """As `equalise.lifted_jpeg`."""
        return self._ask("lifted", path, stops=stops)[1]

    def held_over(self, path: Path, other: Path, *, scale: float) -> Over:
        """As `aligning.held_over`."""
        return Over(**self._ask("over", path, other=os.fspath(other.absolute()), scale=scale)[0])

    def measure(self, path: Path, patches: Sequence[Patch] = ()) -> tuple[PatchReading, ...]:
        """As `measure.measure`."""
        answer, _ = self._ask("measure", path, patches=[dataclasses.asdict(patch) for patch in patches])
        return tuple(map(_reading, answer))

    def examine(
        self, path: Path, patches: Sequence[Patch] = (), *, longest_px: int | None = None, light: bool = False
    ) -> Examined:
        """As `measure.examine`."""
        from webapp.pictures.measure import Examined

        asked = [dataclasses.asdict(patch) for patch in patches]
        answer, made = self._ask("examine", path, patches=asked, longest_px=longest_px, light=light)
        end = answer["preview_bytes"]
        grid = answer["light"]
        by_tiles = grid and LightMap(grid["columns"], grid["rows"], tuple(grid["channels"]), made[end:])
        return Examined(tuple(map(_reading, answer["readings"])), made[:end], by_tiles)

    def linear_picture(self, path: Path, longest_px: int = 1024) -> LinearPicture:
        """As `decode.linear_picture`."""
        import numpy as np

        from webapp.pictures.decode import LinearPicture

        answer, pixels = self._ask("linear", path, longest_px=longest_px)
        rgb = np.frombuffer(pixels, dtype=np.float32).reshape(answer.pop("shape"))
        return LinearPicture(rgb=rgb, **{**answer, "notes": _notes(answer)})

    def make_pyramid(self, path: Path, into: Path) -> Pyramid:
        """As `pyramid.make_pyramid`."""
        answer, _ = self._ask("pyramid", path, into=os.fspath(into.absolute()))
        return Pyramid(**answer)

    def sharpness_of(self, path: Path, longest_px: int | None = None, so_far: Path | None = None) -> SharpnessMap:
        """As `sharpness.sharpness_of`."""
        from webapp.pictures.sharpness import SharpnessMap

        into = so_far and os.fspath(so_far.absolute())
        answer, _ = self._ask("sharpness", path, longest_px=longest_px, so_far=into)
        return SharpnessMap.from_json(answer)

    def trace(self, asked: bytes, within_s: float) -> bytes:
        """As `plan.tracing.answered`, in at most so long."""
        return self._ask("trace", None, attached=asked, within_s=within_s)[1]

    @property
    def reads_a_picture(self) -> bool:
        """Whether the worker is at a picture, so that whoever asks now waits for it."""
        return self._task not in ("", "trace")

    def close(self) -> None:
        """End the worker, also in the middle of a picture; that picture is then refused."""
        self._closed = True
        worker = self._worker
        if worker is not None:
            worker.kill()
        with self._turn:
            if self._idle is not None:
                self._idle.cancel()
            self._end()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _ask(
        self, task: str, path: Path | None, *, attached: bytes = b"", within_s: float | None = None, **arguments: Any
    ) -> tuple[Any, bytes]:
        request = {
            "task": task,
            "path": "" if path is None else os.fspath(path.absolute()),
            "arguments": arguments,
        }
        with self._turn:
            worker = self._started()
            self._task = task
            too_late = threading.Event()

            def give_up() -> None:
                too_late.set()
                worker.kill()

            watch = threading.Timer(within_s or self._time_limit_s, give_up)
            watch.daemon = True
            watch.start()
            try:
                assert worker.stdin is not None
                assert worker.stdout is not None
                send(worker.stdin, request, attached)
                message = receive(worker.stdout)
            except (OSError, ValueError):
                message = None
            finally:
                watch.cancel()
                self._task = ""
            if message is None:
                self._end()
                raise self._death(too_late.is_set())
            self._rest()
        answer, made = message
        if "refused" in answer:
            raise _REFUSALS.get(answer["as"], PictureRefused)(answer["refused"])
        if "invalid" in answer:
            raise ValueError(answer["invalid"])
        return answer["result"], made

    def _death(self, too_late: bool) -> NotReadYet:
        """The refusal of the picture that the worker died over."""
        if self._closed:
            return NotReadYet("The program was being closed before the picture was read.")
        if too_late:
            return NotReadYet(f"Reading this picture took longer than {self._time_limit_s:g} s and was given up.")
        return NotReadYet("This picture ended the process that read it: the file is broken, or made to do harm.")

    def _started(self) -> subprocess.Popen[bytes]:
        if self._closed:
            raise _closing()
        if self._worker is None or self._worker.poll() is not None:
            self._end()
            self._worker = subprocess.Popen(
                [sys.executable, "-m", "webapp.pictures.worker", str(self._memory_limit_mb)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env=_environment(),
                # Ctrl-C is for the server, which then closes its worker.
                start_new_session=True,
            )
            # `close` sets its flag before it looks for a worker, so one of the two sees the other.
            if self._closed:
                self._end()
                raise _closing()
        return self._worker

    def _rest(self) -> None:
        """From now on the worker is idle."""
        if self._idle is not None:
            self._idle.cancel()
        self._idle = threading.Timer(self._idle_s, self._end_idle)
        self._idle.daemon = True
        self._idle.start()

    def _end_idle(self) -> None:
        with self._turn:
            # Somebody may have asked just as the time was over.
            if self._idle is not threading.current_thread():
                return
            self._end()
        self._when_idle()

    def _end(self) -> None:
        worker, self._worker = self._worker, None
        if worker is None:
            return
        worker.kill()
        worker.wait()
        for pipe in (worker.stdin, worker.stdout):
            if pipe is not None:
                try:
                    pipe.close()
                except OSError:
                    # What was still to be written went to a process that is gone.
                    continue


def answered_apart(module: str, attached: bytes, *, time_limit_s: float, memory_limit_mb: int) -> tuple[Any, bytes]:
    """What a process of its own answers to this one message: `python -m module MEMORY_MB` reads one from its standard
    input, answers one on its standard output, and is ended. Raises NotReadYet where it died or took too long."""
    with subprocess.Popen(
        [sys.executable, "-m", module, str(memory_limit_mb)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env=_environment(),
        start_new_session=True,
    ) as worker:
        watch = threading.Timer(time_limit_s, worker.kill)
        watch.daemon = True
        watch.start()
        assert worker.stdin is not None
        assert worker.stdout is not None
        try:
            send(worker.stdin, None, attached)
            message = receive(worker.stdout)
        except (OSError, ValueError):
            message = None
        finally:
            watch.cancel()
            worker.kill()
            with contextlib.suppress(OSError):
                # What was still to be written went to a process that is gone.
                worker.stdin.close()
    if message is None:
        raise NotReadYet("The process that read the file died, or took too long.")
    return message


def _closing() -> NotReadYet:
    return NotReadYet("The program is being closed; the picture was not read.")


def _environment() -> dict[str, str]:
    kept = {name: os.environ[name] for name in _KEPT_ENVIRONMENT if name in os.environ}
    return kept | {
        # The worker finds this package where this process found it.
        "PYTHONPATH": os.pathsep.join(filter(None, sys.path)),
        # Address space counts against the memory limit, and idle threads reserve it.
        "OPENBLAS_NUM_THREADS": "1",
        "MALLOC_ARENA_MAX": "1",
    }


def _reading(answer: dict[str, Any]) -> PatchReading:
    return PatchReading(
        **{
            **answer,
            "patch": Patch(**answer["patch"]),
            "channels": tuple(ChannelReading(**channel) for channel in answer["channels"]),
            "histogram": tuple(answer["histogram"]),
            "notes": _notes(answer),
        }
    )


def _notes(answer: dict[str, Any]) -> tuple[Fact, ...]:
    return tuple(Fact(**note) for note in answer["notes"])


def send(stream: IO[bytes], message: Any, attached: bytes = b"") -> None:
    """Write one message."""
    text = json.dumps(message).encode("ascii")
    stream.write(_LENGTHS.pack(len(text), len(attached)))
    stream.write(text)
    stream.write(attached)
    stream.flush()


def receive(stream: IO[bytes]) -> tuple[Any, bytes] | None:
    """Read one message; None where the other side has ended. Raises ValueError for what is no message."""
    lengths = stream.read(_LENGTHS.size)
    if len(lengths) < _LENGTHS.size:
        return None
    text_bytes, attached_bytes = _LENGTHS.unpack(lengths)
    if text_bytes + attached_bytes > _LARGEST_ANSWER_BYTES:
        raise ValueError("That is no message of a worker.")
    text, attached = stream.read(text_bytes), stream.read(attached_bytes)
    if len(text) + len(attached) < text_bytes + attached_bytes:
        return None
    return json.loads(text), attached
