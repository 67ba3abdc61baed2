"""A frame's page: its picture, its ledger against any other frame, its correction and its revisions."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from webapp.errors import InvalidValue, SeveralInvalid, StaleRecord
from webapp.kit import inventory, units
from webapp.ledger.assessment import Baselines, NumberedSetUp, assess
from webapp.pictures.metadata import PictureFacts
from webapp.services import InServices, Services
from webapp.shoots import explain, frames, set_up_now
from webapp.shoots.frames import FrameStory
from webapp.shoots.log_frame import PURPOSES, VERDICTS, FrameWords
from webapp.shoots.set_up_now import Change
from webapp.web.pages.balance_view import balance_view, with_predictions
from webapp.web.pages.correction_form import correction_form, kit_choices_for, path_of, stands_in
from webapp.web.pages.evidence_parts import evidence_of
from webapp.web.pages.evidence_view import EyeForm
from webapp.web.pages.form_view import Choice, RevisionView, fields_of, parted, revision_view, side_by_side
from webapp.web.pages.frame_view import FrameRow, changes_since, frame_row
from webapp.web.pages.keys import Key, KeyRow, key_row
from webapp.web.pages.live_parts import Drawing, shown_fragment
from webapp.web.pages.render import fragment, go_to, wants_partial, whole_page
from webapp.web.pages.session_view import brief_of
from webapp.web.pages.shots import FormText
from webapp.web.typed import Counted, changes_from
from webapp.web.words.frames import VERDICTS as VERDICT_WORDS
from webapp.web.words.frames import revision_words

router = APIRouter()
_OTHERS = 200
_FACT_WORDS = {
    "camera": "camera",
    "lens": "lens",
    "f_number": "f-number",
    "exposure_time_s": "exposure time, s",
    "iso": "ISO",
    "focal_length_mm": "focal length, mm",
    "taken_at": "taken, camera's own time",
    "subject_distance_mm": "subject distance, mm",
    "width_px": "width, pixels",
    "height_px": "height, pixels",
    "kind": "file",
}


@dataclass(frozen=True, slots=True)
class PatchDraft:
    """A patch that could not be kept: what was typed, and why. `patch_id` where it is one that stands already, and
    `revision` where somebody else changed that one first."""

    said: Mapping[str, str]
    problem: str
    patch_id: str = ""
    revision: RevisionView | None = None


@dataclass(frozen=True, slots=True)
class RevisionLine:
    """What a frame said before an edit."""

    revision: int
    what: str
    made_at: dt.datetime
    made_by: str


@dataclass(frozen=True, slots=True)
class ScaleView:
    """The two taps on a rule, and what they came to or why they came to nothing."""

    said: Mapping[str, str]
    words: str = ""
    problem: str = ""
    magnification: str = ""


@router.get("/frames/{frame_id}")
def frame_page(request: Request, services: InServices, frame_id: str, against: str = "") -> Response:
    seen = services.records.newest
    return _page(request, services, frames.story(services.records, frame_id), against=against, news_seen=seen)


@router.post("/frames/{frame_id}")
async def correct_frame(request: Request, services: InServices, frame_id: str) -> Response:
    """Keep a correction of what the frame says; the earlier entry stays as a revision."""
    form = await request.form(max_files=0, max_fields=200)
    said = {name: value for name, value in form.items() if isinstance(value, str)}
    return await run_in_threadpool(_correct, request, services, frame_id, said)


def _correct(request: Request, services: Services, frame_id: str, said: dict[str, str]) -> Response:
    story = frames.story(services.records, frame_id)
    _, revision = parted(said)
    words = {name: said[name] for name in FrameWords.model_fields if name in said}
    try:
        with frames.reading(services.records, frame_id) as reader:
            stands = stands_in(reader.set_up, reader.lengths)
            changed = [name for name, text in said.items() if name in stands and text.strip() != stands[name]]
            changes = changes_from(
                changed,
                lambda name: Change(path_of(name), reader.typed(path_of(name), said[name]), None, reader.lengths),
            )
        frames.edit(services.records, frame_id, words=words, changes=changes, revision=revision)
    except InvalidValue as error:
        return _page(request, services, story, status=422, said=said, error=error)
    except StaleRecord as error:
        story = frames.story(services.records, frame_id)
        return _page(request, services, story, status=409, said=said, error=error)
    return go_to(request, f"/frames/{frame_id}")


@router.post("/frames/{frame_id}/hold")
def hold(request: Request, services: InServices, frame_id: str, field: FormText, which: FormText) -> Response:
    """One press says whether the file's value or the set one holds."""
    frame = frames.hold(services.records, frame_id, field, which)
    if wants_partial(request):
        row = frame_row(frame, units.lengths(services.records))
        return Response(fragment("frame_row.html", row=row, fresh=False), media_type="text/html")
    return go_to(request, f"/frames/{frame_id}")


@router.post("/frames/{frame_id}/reference")
def make_reference(request: Request, services: InServices, frame_id: str) -> Response:
    frame = frames.make_reference(services.records, frame_id)
    return go_to(request, f"/shots/{frame.row.shot_id}")


@router.post("/frames/{frame_id}/move")
def move(request: Request, services: InServices, frame_id: str, shot: FormText) -> Response:
    """To another shot of the session; there its picture is read at the patches of that shot."""
    frame = frames.move(services.records, frame_id, shot)
    services.intake.catch_up(frame.row.shot_id)
    return go_to(request, f"/frames/{frame_id}")


@router.post("/frames/{frame_id}/take-back")
def take_back(request: Request, services: InServices, frame_id: str) -> Response:
    return _taken(request, services, frame_id, taken_back=True)


@router.post("/frames/{frame_id}/bring-back")
def bring_back(request: Request, services: InServices, frame_id: str) -> Response:
    return _taken(request, services, frame_id, taken_back=False)


@router.post("/frames/{frame_id}/revisions/{revision}/restore")
def restore_revision(request: Request, services: InServices, frame_id: str, revision: Counted) -> Response:
    frames.restore_revision(services.records, frame_id, revision)
    return go_to(request, f"/frames/{frame_id}")


@router.post("/frames/{frame_id}/verdict")
def judge(request: Request, services: InServices, frame_id: str, verdict: FormText = "") -> Response:
    """Keep, reject, hero, or left open again: one press while shooting."""
    return _reworded(request, services, frame_id, {"verdict": verdict})


@router.post("/frames/{frame_id}/note")
def note(request: Request, services: InServices, frame_id: str, because: FormText = "") -> Response:
    """What is to be remembered of a frame."""
    return _reworded(request, services, frame_id, {"because": because})


def _reworded(request: Request, services: Services, frame_id: str, words: dict[str, str]) -> Response:
    frame = frames.edit(services.records, frame_id, words=words)
    shot_id = frame.row.shot_id
    if wants_partial(request):
        drawing = Drawing.of(services)
        told = shown_fragment(drawing.shown(shot_id)) + drawing.line(shot_id, frame)
        return Response(told, media_type="text/html")
    return go_to(request, f"/shots/{shot_id}")


@router.post("/frames/{frame_id}/stand")
def stand_again(request: Request, services: InServices, frame_id: str, only: FormText = "") -> Response:
    """The frame's set-up becomes the standing one; with `only` lit by one of its lights."""
    shot_id = frames.one(services.records, frame_id).row.shot_id
    set_up_now.stand_as_frame(services.records, shot_id, frame_id, only)
    return go_to(request, f"/shots/{shot_id}")


@router.post("/frames/{frame_id}/series")
def stand_for_series(request: Request, services: InServices, frame_id: str) -> Response:
    """The frame's set-up becomes the standing one, at the next aperture of an exposure series."""
    return go_to(request, f"/shots/{explain.set_up_series(services.records, frame_id)}")


def _taken(request: Request, services: Services, frame_id: str, *, taken_back: bool) -> Response:
    frame = frames.take_back(services.records, frame_id, taken_back=taken_back)
    return go_to(request, f"/shots/{frame.row.shot_id}")


def page_again(
    request: Request,
    services: Services,
    frame_id: str,
    *,
    status: int = 200,
    patch: PatchDraft | None = None,
    scale: ScaleView | None = None,
    by_eye: EyeForm | None = None,
) -> Response:
    """The frame's page with a patch, a scale or a reading by eye on it that was typed and is not kept."""
    story = frames.story(services.records, frame_id)
    return _page(request, services, story, status=status, patch=patch, scale=scale, by_eye=by_eye)


def _page(
    request: Request,
    services: Services,
    story: FrameStory,
    *,
    against: str = "",
    status: int = 200,
    said: dict[str, str] | None = None,
    error: InvalidValue | StaleRecord | None = None,
    patch: PatchDraft | None = None,
    scale: ScaleView | None = None,
    by_eye: EyeForm | None = None,
    news_seen: int | None = None,
) -> Response:
    frame, lengths = story.frame, units.lengths(services.records)
    ledger = frame.ledger
    evidence, easel = evidence_of(services.records, frame)
    if against:
        other = frames.one(services.records, against)
        ledger = assess(frame.set_up, Baselines(reference=NumberedSetUp(other.row.number, other.set_up)))
    others = [
        Choice(each.row.id, f"frame {each.row.number}", each.row.id == against)
        for each in frames.page_of(services.records, story.shot.id, limit=_OTHERS)
        if each.row.id != frame.row.id
    ]
    sheet = balance_view(ledger, frame.set_up, lengths)
    values = {name: getattr(frame.row, name) for name in FrameWords.model_fields} | stands_in(frame.set_up, lengths)
    kit, form = inventory.choices(services.records), correction_form(frame.set_up)
    filled = values | (said or {})
    fields = fields_of(form, values, choices=_choices(values) | kit_choices_for(frame.set_up, kit, {}))
    typed = fields_of(
        form, filled, _flattened(error), _choices(filled) | kit_choices_for(frame.set_up, kit, said or {})
    )
    original = next((each for each in frame.pictures), None)
    facts = _facts(original.facts) if original else ()
    row = frame_row(frame, lengths)
    return whole_page(
        request,
        "frame.html",
        status=status,
        row=row,
        before=story.before,
        after=story.after,
        since=changes_since(frame.ledger, lengths),
        keys=_keys(row, has_file=bool(facts), set_apart=any(each.set_apart for each in evidence.explanations)),
        correcting=error is not None,
        against=against,
        shot=story.shot,
        session=story.session,
        brief=brief_of(story.session),
        balance=sheet if against else with_predictions(sheet, frame.evidence),
        others=others,
        usual=frame.ledger.stand_in or "the reference",
        fields=typed,
        other_shots=tuple(Choice(each.id, each.title) for each in story.other_shots),
        revision=revision_view(frame.row.revision, said, error, side_by_side(fields, typed)),
        revisions=tuple(
            RevisionLine(each.revision, revision_words(each.what, lengths), each.made_at, each.made_by)
            for each in story.revisions
        ),
        facts=facts,
        original=f"/pictures/{original.digest}/original" if original else "",
        evidence=evidence,
        easel=easel,
        patch_draft=patch,
        scale=scale,
        by_eye=by_eye or Drawing.of(services).eye_form(frame),
        news_seen=services.records.newest if news_seen is None else news_seen,
        oob=False,
    )


def _keys(row: FrameRow, *, has_file: bool, set_apart: bool) -> KeyRow:
    """What is done with a frame. Where one explanation is set apart, its key is the dark one of the page."""
    at = f"/frames/{row.id}"
    compare = Key("Compare", f"{at}/compare")
    reference = Key("Make it the reference", f"{at}/reference", posts=True)
    return key_row(
        None if set_apart else compare,
        compare if set_apart else None,
        Key("Use this set-up again", f"{at}/stand", posts=True),
        Key("Publish as a recipe", f"{at}/recipe"),
        None if row.is_reference or row.taken_back else reference,
        Key("Plan", f"{at}/plan"),
        Key("Sidecar (XMP)", f"/api/v1{at}/sidecar.xmp") if has_file else None,
        Key("Include again", f"{at}/bring-back", posts=True)
        if row.taken_back
        else Key("Exclude", f"{at}/take-back", posts=True),
    )


def _choices(values: Mapping[str, str]) -> dict[str, tuple[Choice, ...]]:
    return {
        "purpose": tuple(Choice(each, each, each == values["purpose"]) for each in PURPOSES),
        "verdict": tuple(
            Choice(each, VERDICT_WORDS.get(each, "open"), each == values["verdict"]) for each in VERDICTS
        ),
    }


def _facts(facts: PictureFacts) -> tuple[tuple[str, str], ...]:
    told = {words: getattr(facts, name) for name, words in _FACT_WORDS.items()}
    return tuple(
        (words, "infinity" if value == math.inf else f"{value}") for words, value in told.items() if value is not None
    )


def _flattened(error: InvalidValue | StaleRecord | None) -> InvalidValue | None:
    """A set-up's field has a path; on this form it is one name."""
    if not isinstance(error, InvalidValue):
        return None
    each = error.problems
    return SeveralInvalid([InvalidValue("-".join(problem.where), str(problem)) for problem in each])
