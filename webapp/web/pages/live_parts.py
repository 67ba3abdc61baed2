"""What open pages are told: the same partials that the page itself is made of, swapped in out of band."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from webapp.kit import units
from webapp.quantities.lengths import Lengths
from webapp.recipes import reshoot
from webapp.records import readings as reading_records
from webapp.records import shots as shot_records
from webapp.records.changes import ChecklistOf, FrameOf, NoticesOf, OfShot, SavedMixesOf, SetUpOf, WholeShot
from webapp.records.engine import Records
from webapp.records.tables import new_id
from webapp.services import Services
from webapp.shoots import frames, in_tray, mixes, readings, set_up_now
from webapp.shoots import stack_offers as stacks_of
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.series import SERIES_PURPOSE
from webapp.shoots.set_up_now import StandingState
from webapp.shoots.watching import Watching
from webapp.web.pages.desk_view import DeskView, desk_view, shot_header
from webapp.web.pages.dial_view import Problem
from webapp.web.pages.evidence_parts import evidence_of
from webapp.web.pages.evidence_view import EyeForm, eye_form
from webapp.web.pages.frame_view import FramesView, frame_row, frames_view, stack_offers
from webapp.web.pages.in_tray_view import InTrayView, in_tray_view
from webapp.web.pages.remix_view import saved_mixes
from webapp.web.pages.render import fragment
from webapp.web.pages.reshoot_view import checklist_view
from webapp.web.pages.shown_view import ShownView, shown_view

FRAMES_ON_A_PAGE = 40


@dataclass(frozen=True, slots=True)
class Drawing:
    """Draws the parts of a session's pages."""

    records: Records
    watching: Watching

    @classmethod
    def of(cls, services: Services) -> Drawing:
        return cls(services.records, services.watching)

    @property
    def watches(self) -> bool:
        """Whether files come from a folder."""
        return self.watching.folder is not None

    def parts_of(self, shot_id: str, changed: Collection[OfShot], state: StandingState | None = None) -> str:
        """All that reads otherwise since a shot changed. `state` is its newest where it was reckoned already."""
        whole = WholeShot(shot_id) in changed
        frame_ids = sorted(each.frame_id for each in changed if isinstance(each, FrameOf))
        parts = []
        if whole or frame_ids or SetUpOf(shot_id) in changed:
            # The balances of the set-up rest on the frames.
            parts.append(self._standing(shot_id, state))
        if whole or frame_ids:
            parts.append(shown_fragment(self.shown(shot_id)))
        if whole:
            parts.append(self.log(shot_id))
        for frame_id in frame_ids:
            parts.append(self._frame(shot_id, frame_id, has_line=whole))
        if whole or frame_ids:
            left = readings.count_to_examine(self.records, shot_id)
            parts.append(fragment("measuring.html", shot_id=shot_id, still_to_measure=left, measuring_oob=True))
            parts.append("" if whole else self.stacks(shot_id))
        elif NoticesOf(shot_id) in changed:
            parts.append(fragment("notices.html", frames=self.frames(shot_id, limit=0), notices_oob=True))
        if ChecklistOf(shot_id) in changed:
            parts.append(self._checklist(shot_id))
        if SavedMixesOf(shot_id) in changed:
            saved = saved_mixes(mixes.saved_of(self.records, shot_id))
            parts.append(fragment("saved_mixes.html", shot_id=shot_id, saved=saved, oob=True))
        return "".join(parts)

    def desk(self, state: StandingState, problems: Mapping[str, Problem] | None = None) -> DeskView:
        """The desk as any page of the session shows it; `problems` are told to the page that made them."""
        waiting = in_tray.count(self.records) if self.watches else 0
        return desk_view(state, save_key=new_id(), watches=self.watches, in_tray=waiting, problems=problems)

    def shown(self, shot_id: str, newest: LoggedFrame | None = None, refused: EyeForm | None = None) -> ShownView:
        """The newest picture with its patches, and the frame that was logged last (`newest`, where it was read).
        `refused` is what was typed of it and not kept."""
        found = frames.on_show(self.records, shot_id, newest)
        row = frame_row(found.newest, units.lengths(self.records)) if found.newest else None
        pictured = found.pictured
        patches = readings.readings_of_frame(self.records, pictured.row.id) if pictured else ()
        form = refused
        if found.newest and form is None:
            form = self.eye_form(found.newest, tuple(each.name for each in patches), on_set=True)
        return shown_view(shot_id, found.as_of, row, form, pictured, patches, watches=self.watches)

    def eye_form(
        self,
        frame: LoggedFrame,
        patches: tuple[str, ...] = (),
        *,
        on_set: bool = False,
        typed: str = "",
        problem: str = "",
    ) -> EyeForm:
        """Where what is seen by eye of a frame is typed; `patches` are the names of those of the shot, where they were
        read."""
        with self.records.reading() as db:
            names = patches or readings.names_in(db, frame.row.shot_id)
        return eye_form(frame, names, on_set=on_set, typed=typed, problem=problem)

    def frames(self, shot_id: str, limit: int = FRAMES_ON_A_PAGE, before_number: int | None = None) -> FramesView:
        """The log of a shot: the newest `limit` frames."""
        found = frames.page_of(self.records, shot_id, limit=limit + 1, before_number=before_number)
        with self.records.reading() as db:
            notices = tuple(notice.text for notice in shot_records.notices_of(db, shot_id))
            left = reading_records.count_to_examine(db, shot_id)
            lengths = units.lengths_in(db)
        stacks = () if before_number or not limit else stack_offers(stacks_of.offered(self.records, shot_id))
        return frames_view(shot_id, found, limit, lengths, notices, left, stacks)

    def line(self, shot_id: str, frame: LoggedFrame) -> str:
        """A frame's line in the log; of a series the log, since the line of the series holds it, and of the first frame
        too, which takes the place of the words that there is none."""
        if frame.row.purpose == SERIES_PURPOSE or frame.row.number == 1:
            return self.log(shot_id)
        return row_fragment(shot_id, frame, units.lengths(self.records))

    def logged(self, state: StandingState, found: Sequence[LoggedFrame]) -> str:
        """What frames that were logged bring beside the desk: their lines, what is on show now, and whether they go
        on with what may be a stack."""
        shot_id = state.shot.id
        of_shot = [frame for frame in found if frame.row.shot_id == shot_id]
        newest = [
            each for each in of_shot if each.row.number == state.next_number - 1 and each.row.exposed_before is None
        ]
        lines = [self.log(shot_id)] if len(of_shot) > 1 else [self.line(shot_id, frame) for frame in of_shot]
        stacks = self.stacks(shot_id) if any(stacks_of.may_go_on(frame.row) for frame in of_shot) else ""
        return "".join(lines) + shown_fragment(self.shown(shot_id, next(iter(newest), None))) + stacks

    def log(self, shot_id: str) -> str:
        """The log of a shot, in the place of what stands."""
        return fragment("frames.html", frames=self.frames(shot_id), oob=True, fresh=False)

    def stacks(self, shot_id: str) -> str:
        """The runs that may be stacks, each with its question."""
        offers = stack_offers(stacks_of.offered(self.records, shot_id))
        return fragment("stack_offers.html", shot_id=shot_id, stacks=offers, stacks_oob=True)

    def in_tray(self, problem: str = "") -> InTrayView:
        """The in-tray; `problem` is what was refused of a press in it."""
        with self.records.reading() as db:
            sessions = shot_records.sessions(db)
            shots = shot_records.shots_by_session(db, [each.id for each in sessions])
        return in_tray_view(in_tray.tray(self.records), sessions, shots, problem, watches=self.watches)

    def _standing(self, shot_id: str, state: StandingState | None) -> str:
        state = state or set_up_now.state(self.records, shot_id)
        stands = fragment("shot_stands.html", header=shot_header(state, ""), oob=True)
        return desk_fragment(self.desk(state)) + stands

    def _frame(self, shot_id: str, frame_id: str, *, has_line: bool) -> str:
        """A frame's line in the log, and what its own page says of its picture."""
        frame = frames.one(self.records, frame_id)
        evidence, _ = evidence_of(self.records, frame)
        line = "" if has_line else self.line(shot_id, frame)
        return line + fragment("evidence.html", evidence=evidence, oob=True)

    def _checklist(self, shot_id: str) -> str:
        found = reshoot.checklist(self.records, shot_id)
        if found is None:
            return ""
        return fragment(
            "checklist.html",
            checklist=checklist_view(found, units.lengths(self.records)),
            unfolded=False,
            checklist_oob=True,
        )


def desk_fragment(desk: DeskView) -> str:
    """The desk, to be swapped in where the open page has it."""
    return fragment("desk.html", desk=desk, oob=True)


def in_tray_fragment(tray: InTrayView) -> str:
    """The in-tray, likewise."""
    return fragment("in_tray.html", tray=tray, oob=True)


def shown_fragment(shown: ShownView) -> str:
    """The picture on show, likewise."""
    return fragment("shown.html", shown=shown, oob=True)


def row_fragment(shot_id: str, frame: LoggedFrame, lengths: Lengths) -> str:
    """A frame's line, put in its place: exchanged where it stands already, else at the top."""
    row = fragment("frame_row.html", row=frame_row(frame, lengths), fresh=True)
    return f'<hx-upsert hx-target="#frames-{shot_id}" key="data-number" sort="desc">{row}</hx-upsert>'
