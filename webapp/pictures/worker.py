"""The process in which pictures are decoded: `python -m webapp.pictures.worker MEMORY_MB`.

Reads requests on standard input and answers on standard output until its input ends; see `isolation`.
"""

from __future__ import annotations

import dataclasses
import os
import sys
from pathlib import Path
from typing import IO, Any

from webapp.errors import PictureRefused, TooLarge
from webapp.pictures.isolation import receive, send
from webapp.pictures.readings import Patch


def main() -> None:
    memory_limit_mb = int(sys.argv[1])
    answers = output_of_answers()
    _import_decoders()
    limit_memory(memory_limit_mb)
    _serve(sys.stdin.buffer, answers)


def output_of_answers() -> IO[bytes]:
    """Standard output for answers alone: what decoders print there goes nowhere."""
    answers = os.fdopen(os.dup(1), "wb")
    with open(os.devnull, "wb") as nowhere:
        os.dup2(nowhere.fileno(), 1)
    return answers


def _serve(requests: IO[bytes], answers: IO[bytes]) -> None:
    while (message := receive(requests)) is not None:
        request, asked = message
        attached = b""
        try:
            if request["task"] == "trace":
                result, attached = None, _traced(asked)
            else:
                result, attached = _do(request["task"], Path(request["path"]), request["arguments"])
            answer = {"result": result}
        except PictureRefused as problem:
            answer = _refusal(problem)
        except MemoryError:
            answer = _refusal(TooLarge("Reading the picture needs more memory than it may have."))
        except ValueError as problem:
            answer = {"invalid": str(problem)}
        send(answers, answer, attached)


def _refusal(problem: PictureRefused) -> dict[str, Any]:
    return {"refused": str(problem), "as": type(problem).__name__}


def _traced(asked: bytes) -> bytes:
    from webapp.plan import tracing

    return tracing.answered(asked)


def _do(task: str, path: Path, arguments: dict[str, Any]) -> tuple[Any, bytes]:
    from webapp.pictures import decode, measure, metadata, previews

    if "patches" in arguments:
        arguments["patches"] = [Patch(**patch) for patch in arguments["patches"]]
    if task == "facts":
        return dataclasses.asdict(metadata.read_facts(path)), b""
    if task == "whole":
        return decode.check_whole(path), b""
    if task == "preview":
        return None, previews.make_preview(path, **arguments)
    if task == "lifted":
        from webapp.pictures import equalise

        return None, equalise.lifted_jpeg(path, **arguments)
    if task == "over":
        from webapp.pictures import aligning

        over = aligning.held_over(path, Path(arguments["other"]), scale=arguments["scale"])
        return dataclasses.asdict(over), b""
    if task == "measure":
        return [dataclasses.asdict(reading) for reading in measure.measure(path, **arguments)], b""
    if task == "examine":
        found = measure.examine(path, **arguments)
        grid = found.light
        examined = {
            "readings": [dataclasses.asdict(reading) for reading in found.readings],
            "preview_bytes": len(found.preview),
            "light": grid and {"columns": grid.columns, "rows": grid.rows, "channels": grid.channels},
        }
        return examined, found.preview + (grid.figures if grid else b"")
    if task == "linear":
        picture = decode.linear_picture(path, **arguments)
        said = {
            "shape": picture.rgb.shape,
            "kind": picture.kind,
            "estimated": picture.estimated,
            "clipped_share": picture.clipped_share,
            "notes": [dataclasses.asdict(note) for note in picture.notes],
        }
        return said, picture.rgb.tobytes()
    if task == "pyramid":
        from webapp.pictures import pyramid

        return dataclasses.asdict(pyramid.make_pyramid(path, Path(arguments["into"]))), b""
    if task == "sharpness":
        from webapp.pictures import sharpness

        so_far = arguments["so_far"] and Path(arguments["so_far"])
        return dataclasses.asdict(sharpness.sharpness_of(path, arguments["longest_px"], so_far)), b""
    raise ValueError(f"A worker has no task “{task}”.")


def _import_decoders() -> None:
    import exifread  # noqa: F401
    import rawpy  # noqa: F401
    from PIL import Image, ImageCms  # noqa: F401

    import webapp.pictures.measure  # noqa: F401
    from webapp.pictures.vips import library

    library()
    Image.preinit()


def limit_memory(limit_mb: int) -> None:
    """Let the process have so much memory beyond what it has now, where the system can hold it to that."""
    statm = Path("/proc/self/statm")
    if not statm.exists():
        return
    import resource

    present_bytes = int(statm.read_text().split()[0]) * resource.getpagesize()
    most_bytes = present_bytes + limit_mb * 1_000_000
    resource.setrlimit(resource.RLIMIT_AS, (most_bytes, most_bytes))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


if __name__ == "__main__":
    main()
