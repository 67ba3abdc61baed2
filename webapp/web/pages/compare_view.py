"""Two frames beside each other as a template may print them: every label, figure and tile is decided here."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from webapp.ledger.evidence import PatchEvidence
from webapp.ledger.workings import Around, working_of_balance, working_of_sharpness
from webapp.optics.working import Step
from webapp.pictures.aligning import Over
from webapp.pictures.sharpness import LEAST_CONTRAST, TOLD_FROM_STOPS, SharpnessDifference, SharpnessMap
from webapp.quantities.lengths import Lengths
from webapp.shoots.compare import Compared, Side
from webapp.shoots.tiles import Maps, difference_of, lift_of
from webapp.web.pages.figures import signed, tone
from webapp.web.pages.form_view import Choice
from webapp.web.pages.frame_view import set_text
from webapp.web.pages.read_figures import read_words
from webapp.web.words.entries import entry_words
from webapp.web.words.figures import percent
from webapp.web.words.say import maybe_say, say

_MAP_UNITS: Final = 1000
_MUCH_STOPS: Final = 1.0
_CONTRAST_BANDS: Final = (LEAST_CONTRAST * 1.001, 0.01, 0.025, 0.06, 0.15)


@dataclass(frozen=True, slots=True)
class SideView:
    """One of the two frames."""

    frame_id: str
    number: int
    shot: str
    set_text: str
    preview: str
    alt: str
    words: str


@dataclass(frozen=True, slots=True)
class EntryRow:
    """One cause of the difference, with a cell for each light and the ambient light."""

    label: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WorkingOf:
    name: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class MeasuredRow:
    """A patch in both frames."""

    name: str
    first: str
    second: str
    stops: str
    tone: str
    ledger: str


@dataclass(frozen=True, slots=True)
class CompareView:
    first: SideView
    second: SideView
    refused: str
    laid: str
    columns: tuple[str, ...]
    rows: tuple[EntryRow, ...]
    balances: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    measured: tuple[MeasuredRow, ...]
    measured_note: str
    workings: tuple[WorkingOf, ...]
    others: tuple[Choice, ...]
    table: dict[str, Any] | None


@dataclass(frozen=True, slots=True)
class LaidView:
    """How the second picture is laid over the first: lifted by so many stops, and moved by shares of the first's width
    (`across` to the right, `down`). `waiting` until the previews were held over each other."""

    first_id: str
    second_id: str
    number: int
    waiting: bool
    equalised: bool
    lift_stops: float | None
    lift_words: str
    across: str
    down: str

    @property
    def lift(self) -> str:
        return "" if self.lift_stops is None else f"{self.lift_stops:.2f}"


@dataclass(frozen=True, slots=True)
class TileClass:
    """Tiles of one kind, as one path of the drawing."""

    name: str
    path: str


@dataclass(frozen=True, slots=True)
class MapView:
    """A map over the picture it is of."""

    title: str
    caption: str
    picture: str
    width: int
    height: int
    classes: tuple[TileClass, ...]
    of_second: bool = False


@dataclass(frozen=True, slots=True)
class SharpnessView:
    """What was gained and lost, the maps, and what optics predicts. `waiting` while the maps are made."""

    first_id: str
    second_id: str
    waiting: bool
    trouble: str
    verdict: str
    maps: tuple[MapView, ...]
    predicted: tuple[str, ...]
    workings: tuple[WorkingOf, ...]


def compare_view(found: Compared, laid: LaidView, *, others: Sequence[Choice], lengths: Lengths) -> CompareView:
    columns = tuple(found.ledger.balances)
    return CompareView(
        first=_side_view(found.first, 0.0),
        second=_side_view(found.second, (laid.lift_stops or 0.0) if laid.equalised else 0.0),
        refused=maybe_say(found.refused, lengths),
        laid=say(found.laid.rests_on, lengths) if found.laid else "",
        columns=columns,
        rows=_rows(found, columns),
        balances=tuple((signed(found.ledger.balances[each]), tone(found.ledger.balances[each])) for each in columns),
        notes=tuple(dict.fromkeys(say(note) for note in found.ledger.notes)),
        measured=_measured(found),
        measured_note=(
            "Read from rendered files, whose tone curve is not known here: estimates."
            if any(each.estimated for each in found.measured)
            else ""
        ),
        workings=tuple(
            WorkingOf(name, tuple(working_of_balance(found.ledger.of(name), stops, _around(found, name))))
            for name, stops in found.ledger.balances.items()
            if stops is not None and found.ledger.of(name)
        ),
        others=tuple(others),
        table=_table(found),
    )


def _side_view(side: Side, lift_stops: float) -> SideView:
    row, picture = side.frame.row, side.picture
    preview = ""
    if picture is not None and picture.preview:
        lift = f"/lifted?stops={lift_stops:.2f}" if lift_stops else ""
        preview = f"/pictures/{picture.digest}/preview{lift}"
    kind = "" if picture is None or picture.kind != "raw" else "A raw file, shown at half its size. "
    return SideView(
        frame_id=row.id,
        number=row.number,
        shot=side.shot.title,
        set_text=set_text(side.frame.set_up),
        preview=preview,
        alt=f"picture of frame {row.number}",
        words=kind + row.because,
    )


def _around(found: Compared, name: str) -> Around:
    return Around.of(found.second.frame.set_up, name)


def _rows(found: Compared, columns: Sequence[str]) -> tuple[EntryRow, ...]:
    labels: dict[str, dict[str, str]] = {}
    for entry in found.ledger.entries:
        labels.setdefault(entry_words(entry, named=False), {})[entry.acts_on] = signed(entry.stops)
    return tuple(EntryRow(label, tuple(cells.get(each, "") for each in columns)) for label, cells in labels.items())


def _measured(found: Compared) -> tuple[MeasuredRow, ...]:
    return tuple(
        MeasuredRow(
            name=each.name,
            first=_level(each.first),
            second=_level(each.second),
            stops=signed(each.stops),
            tone=tone(each.stops),
            ledger=_predicted(each.first.predicted_stops, each.second.predicted_stops),
        )
        for each in found.measured
    )


def _level(seen: PatchEvidence) -> str:
    return read_words(seen) if seen.by_eye else signed(seen.read_stops)


def _predicted(first: float | None, second: float | None) -> str:
    return signed(None if first is None or second is None else second - first)


def laid_view(found: Compared, over: Over | None, *, lift_stops: float | None = None, equalised: bool) -> LaidView:
    """`over` None: the previews were not held over each other yet. `lift_stops` is what was typed; None: what brings the
    second picture to the brightness of the first."""
    typed = lift_stops is not None
    if lift_stops is None:
        lift_stops = lift_of(found, over or Over())
    nudge = (over.across or 0.0, over.down or 0.0) if over else (0.0, 0.0)
    waiting = over is None and not typed and found.laid is not None
    return LaidView(
        first_id=found.first.frame.row.id,
        second_id=found.second.frame.row.id,
        number=found.second.frame.row.number,
        waiting=waiting,
        # Where nothing tells how much, nothing is equalised, and the tick does not say that it is.
        equalised=equalised and (waiting or lift_stops is not None),
        lift_stops=lift_stops,
        lift_words="" if typed else _lift_words(found, lift_stops, waiting=waiting),
        across=f"{nudge[0]:.5f}",
        down=f"{nudge[1]:.5f}",
    )


def _lift_words(found: Compared, lift_stops: float | None, *, waiting: bool) -> str:
    number = found.second.frame.row.number
    if lift_stops is None and waiting:
        return f"How much brighter frame {number} is, is being read from the previews."
    if lift_stops is None:
        return f"Nothing tells how much brighter frame {number} is: type a number to equalise them."
    patch = next((each.name for each in found.measured if each.stops is not None), "")
    where = f"as read at {patch}" if patch else "by the middle of all that both show"
    return f"Frame {number} {signed(lift_stops, 2)} stops, {where}, in linear light. What is clipped stays clipped."


def _table(found: Compared) -> dict[str, Any] | None:
    """What the viewer needs; None where the pictures cannot be laid over each other."""
    first, second, laid = found.first.picture, found.second.picture, found.laid
    if laid is None or first is None or second is None:
        return None
    sides = ((first, laid.first, found.first), (second, laid.second, found.second))
    # With its preview a picture is there at once; its tiles come over it.
    return {
        "sides": [
            {
                "digest": picture.digest,
                "preview": f"/pictures/{picture.digest}/preview" if picture.preview else "",
                "across_px": side.shown.width_px if side.shown else 0,
                "width": size[0],
                "height": size[1],
                "name": f"frame {side.frame.row.number}",
            }
            for picture, size, side in sides
        ]
    }


# --- sharpness ----------------------------------------------------------------------------------------------------


def sharpness_view(found: Compared, maps: Maps) -> SharpnessView:
    difference = difference_of(found, maps)
    drawn: list[MapView] = []
    for side, each in ((found.first, maps.first), (found.second, maps.second)):
        if each is not None and difference is not None and side.picture is not None:
            caption = f"detail in {percent(each.sharp_share)} of the picture"
            view = _map_view(f"Frame {side.frame.row.number}", caption, side, each, _contrast_class(each))
            drawn.append(replace(view, of_second=side is found.second))
    if difference is not None and maps.first is not None:
        caption = (
            f"{difference.subject_tiles} tiles with detail, each {_MAP_UNITS // difference.columns / 10:.1f} % wide"
        )
        drawn.append(_map_view("Difference", caption, found.first, maps.first, _difference_class(difference)))
    trouble = maps.trouble or maybe_say(maps.refused)
    return SharpnessView(
        first_id=found.first.frame.row.id,
        second_id=found.second.frame.row.id,
        waiting=maps.both is None and not trouble,
        trouble=trouble,
        verdict=_verdict(found, difference) if difference is not None else "",
        maps=tuple(drawn),
        predicted=tuple(_predictions(found)),
        workings=tuple(
            WorkingOf(f"frame {side.frame.row.number}", tuple(working_of_sharpness(side.frame.set_up)))
            for side in (found.first, found.second)
            if side.optics is not None
        ),
    )


def _map_view(title: str, caption: str, side: Side, of: SharpnessMap, class_of: Callable[[int], str]) -> MapView:
    assert side.picture is not None
    assert side.shown is not None
    height = round(_MAP_UNITS / side.shown.aspect)
    across, down = _MAP_UNITS / of.columns, height / of.rows
    paths: dict[str, list[str]] = {}
    for index in range(of.columns * of.rows):
        name = class_of(index)
        if name:
            x, y = index % of.columns * across, index // of.columns * down
            paths.setdefault(name, []).append(f"M{x:.0f} {y:.0f}h{across:.0f}v{down:.0f}h-{across:.0f}z")
    return MapView(
        title,
        caption,
        f"/pictures/{side.picture.digest}/tiles/0/0_0",
        _MAP_UNITS,
        height,
        tuple(TileClass(name, "".join(parts)) for name, parts in sorted(paths.items())),
    )


def _contrast_class(of: SharpnessMap) -> Callable[[int], str]:
    return lambda index: f"sharp-{sum(of.contrast[index] >= band for band in _CONTRAST_BANDS)}"


def _difference_class(of: SharpnessDifference) -> Callable[[int], str]:
    def name(index: int) -> str:
        stops = of.stops[index]
        if stops is None or abs(stops) < TOLD_FROM_STOPS:
            return "" if stops is None else "same"
        much = "-much" if abs(stops) >= _MUCH_STOPS else ""
        return ("gained" if stops > 0 else "lost") + much

    return name


def _verdict(found: Compared, difference: SharpnessDifference) -> str:
    gained, lost = difference.gained_share, difference.lost_share
    if gained is None or lost is None:
        return "Neither picture shows detail to compare."
    number, against = found.second.frame.row.number, found.first.frame.row.number
    return (
        f"Frame {number} against frame {against}: {percent(gained)} of the subject gained sharpness, {percent(lost)} lost it "
        f"({TOLD_FROM_STOPS:.1f} stop of local contrast and more); the middle tile {signed(difference.median_stops)}."
    )


def _predictions(found: Compared) -> list[str]:
    """What optics says of the two, and what that explains."""
    said = [line for side in (found.first, found.second) if (line := _optics_line(side))]
    first, second = found.first.optics, found.second.optics
    if first is None or second is None:
        missing = found.first if first is None else found.second
        number = missing.frame.row.number
        return [
            *said,
            f"Optics predicts nothing for frame {number}: its f-number or its magnification is unknown.",
        ]
    if abs(first.effective_f_number / second.effective_f_number - 1.0) < 0.01:
        return [
            *said,
            "The effective f-numbers are the same: depth and diffraction are too, and focus is what differs.",
        ]
    closed = second.effective_f_number > first.effective_f_number
    grew = "grew" if closed else "shrank"
    if first.depth_mm is not None and second.depth_mm is not None:
        said.append(
            f"Depth {grew} from {first.depth_mm:.2g} to {second.depth_mm:.2g} mm: what "
            f"{'gained' if closed else 'lost'} for it lies before and behind the focus."
        )
    said.append(
        f"The Airy disc {grew} from {1000 * first.airy_mm:.0f} to {1000 * second.airy_mm:.0f} µm: what "
        f"{'lost' if closed else 'gained'} for it lies in the focus."
    )
    return said


def _optics_line(side: Side) -> str:
    optics, shown = side.optics, side.shown
    if optics is None:
        return ""
    camera = side.frame.set_up.camera
    in_file = ""
    if shown is not None:
        reduced = max(shown.width_px, shown.height_px) / max(camera.width_px, camera.height_px)
        if reduced < 0.98:
            in_file = f" ({optics.airy_px * reduced:.1f} of this file)"
    deep = f", depth {optics.depth_mm:.2g} mm" if optics.depth_mm is not None else ""
    return (
        f"Frame {side.frame.row.number}: f/{optics.effective_f_number:.3g} effective, Airy disc "
        f"{1000 * optics.airy_mm:.0f} µm or {optics.airy_px:.1f} pixels of the sensor{in_file}{deep}."
    )
