"""The photos of a set as a template may print them: in a row, and one with its place on the plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from webapp.errors import InvalidValue, StaleRecord
from webapp.ledger.geometry import plan_of
from webapp.ledger.set_up import SetUp
from webapp.plan import drawing, scales
from webapp.plan.positions import Place
from webapp.plan.viewpoints import Viewpoint
from webapp.quantities.angles import bearing_text
from webapp.quantities.lengths import Lengths
from webapp.records.tables import SetPhoto, Shot
from webapp.web.words.drawing import captions
from webapp.web.words.set_photos import looks_text, photo_words, spot_words


@dataclass(frozen=True, slots=True)
class PhotoLine:
    """A photo in the row: its page, what is shown of it, and its words."""

    id: str
    number: int
    words: str
    caption: str
    is_placed: bool


@dataclass(frozen=True, slots=True)
class PhotosView:
    """The photos of a set; `problem` is why one was not added."""

    shot_id: str
    photos: tuple[PhotoLine, ...]
    problem: str = ""


@dataclass(frozen=True, slots=True)
class PhotoView:
    """One photo, with its place as it can be typed, and the plan that it is placed on, for a screen and for the hand.
    `problem` is why something was not kept."""

    id: str
    number: int
    shot_id: str
    session_id: str
    title: str
    caption: str
    distance: str
    bearing: str
    looks: str
    where: str
    is_placed: bool
    revision: int
    unit: str
    drawings: tuple[Markup, ...]
    may_delete: bool
    problem: str


def photos_view(shot_id: str, photos: Sequence[SetPhoto], problem: str = "") -> PhotosView:
    lines = tuple(
        PhotoLine(each.id, number, photo_words(number, each.caption), each.caption, each.x_mm is not None)
        for number, each in enumerate(photos, 1)
    )
    return PhotosView(shot_id, lines, problem)


def viewpoints(photos: Sequence[SetPhoto], here: str = "", lengths: Lengths | None = None) -> list[Viewpoint]:
    """The photos that are placed, as spots on the plan; that with the id `here` is to be moved."""
    found = []
    for number, each in enumerate(photos, 1):
        if each.x_mm is None or each.y_mm is None or each.looks_deg is None:
            continue
        words, href = photo_words(number, each.caption), f"/set-photos/{each.id}"
        if each.id == here and lengths is not None:
            words = f"{words}: {spot_words(each, lengths)}. Arrow keys move it by 10 cm, page up and down turn it."
            href = ""
        found.append(Viewpoint(number, each.x_mm, each.y_mm, each.looks_deg, words, href))
    return found


def photo_view(
    photo: SetPhoto,
    photos: Sequence[SetPhoto],
    shot: Shot,
    set_up: SetUp,
    lengths: Lengths,
    *,
    may_delete: bool,
    said: Mapping[str, str] | None = None,
    problem: InvalidValue | StaleRecord | None = None,
) -> PhotoView:
    """`said` is what was typed and `problem` why it was not kept."""
    typed = said or {}
    at = Place(photo.x_mm, photo.y_mm) if photo.x_mm is not None and photo.y_mm is not None else None
    plan, spots = plan_of(set_up), viewpoints(photos, photo.id, lengths)
    number = next(number for number, each in enumerate(photos, 1) if each.id == photo.id)
    return PhotoView(
        id=photo.id,
        number=number,
        shot_id=shot.id,
        session_id=shot.session_id,
        title=shot.title,
        caption=typed.get("caption", photo.caption),
        distance=typed.get("distance", lengths.text(at.floor_mm) if at else ""),
        bearing=typed.get("bearing", bearing_text(at.bearing_deg) if at else ""),
        looks=typed.get("looks", looks_text(photo.looks_deg) if photo.looks_deg is not None else ""),
        where=spot_words(photo, lengths) if at else "",
        is_placed=at is not None,
        revision=photo.revision,
        unit=lengths.unit,
        drawings=tuple(
            Markup(drawing.draw(plan, shot.title, captions(lengths), key=key, room=room, viewpoints=spots, taps=True))
            for key, room in (("photo", scales.ON_SCREEN), ("photo-hand", scales.IN_THE_HAND))
        ),
        may_delete=may_delete,
        problem=str(problem) if problem is not None else "",
    )
