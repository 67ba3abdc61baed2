"""Close up and in depth: the exposure increase, the depth, the blur, the slices of a stack."""

from __future__ import annotations

import math
from typing import Final

from webapp.optics import depth, diffraction, macro
from webapp.quantities.lengths import Lengths
from webapp.web.drawings.chart import F_NUMBER_TICKS, Axis, Curve, Level, between, chart
from webapp.web.drawings.drawing import Drawing, Pencil
from webapp.web.words.worksheet_figures import length_text, ruler
from webapp.worksheets.close_up import CloseUpAsks, DepthOfFieldAsks, FocusStackAsks, SharpestApertureAsks
from webapp.worksheets.sheet import Sheet

_MICROMETRES: Final = diffraction.MICROMETRES_PER_MILLIMETRE


def increase(asked: CloseUpAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    end = max(2.0, 1.5 * asked.magnification)

    def stops(m: float) -> float:
        return macro.exposure_increase_stops(m, asked.pupil_ratio, reversed_lens=asked.reversed)

    return chart(
        "increase",
        "Exposure increase against magnification",
        f"At magnification {asked.magnification:g} the increase is {stops(asked.magnification):.2f} stops.",
        Axis("magnification"),
        Axis("stops"),
        [Curve("increase", tuple((m, stops(m)) for m in between(0.0, end, 61)))],
        [(asked.magnification, stops(asked.magnification))],
    )


# f-numbers drawn on both sides of the standing one, in stops.
_DRAWN_STOPS: Final = 4.0


def _f_numbers_about(f_number: float, count: int = 49) -> list[float]:
    reach = 2.0 ** (_DRAWN_STOPS / 2.0)
    return between(f_number / reach, f_number * reach, count, logarithmic=True)


def depth_against_f_number(asked: DepthOfFieldAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    f, c, p = asked.focal_length_mm, asked.circle_of_confusion_mm, asked.pupil_ratio
    n, u = asked.f_number.exact, sheet.number("subject_distance_mm")

    def in_front(each: float) -> float:
        return u - depth.near_limit_mm(f, each, c, u, p)

    def behind(each: float) -> float:
        return depth.far_limit_mm(f, each, c, u, p) - u

    curves = [
        Curve("in front", tuple((each, in_front(each)) for each in _f_numbers_about(n)), "dashed"),
        Curve("behind", tuple((each, behind(each)) for each in _f_numbers_about(n))),
    ]
    shown = [in_front(each) for each in _f_numbers_about(n)] + [behind(each) for each in _f_numbers_about(n)]
    measure = ruler(lengths, max(filter(math.isfinite, shown)), in_the_lens=True)
    curves = [Curve(each.label, tuple((x, measure(y)) for x, y in each.points), each.kind) for each in curves]
    far = "to infinity" if sheet.results["far_mm"] is None else f"{measure.text(behind(n))} behind"
    return chart(
        "depth",
        "Depth against f-number",
        f"What is sharp in front of the subject and behind it. At f/{n:.3g}: {measure.text(in_front(n))} in front, {far}.",
        Axis("f-number", logarithmic=True, ticks=F_NUMBER_TICKS),
        Axis(measure.unit, logarithmic=True),
        curves,
        [(n, measure(in_front(n))), (n, measure(behind(n)))],
    )


def blur_against_f_number(asked: SharpestApertureAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    best = sheet.number("f_number")
    rows = diffraction.blur_by_f_number(
        _f_numbers_about(best), asked.depth_mm, asked.magnification, asked.pupil_ratio, asked.wavelength_nm
    )
    most = max(row.blur_mm for row in rows) * _MICROMETRES
    levels = []
    if asked.circle_of_confusion_mm is not None and asked.circle_of_confusion_mm * _MICROMETRES < most:
        levels.append(Level("wanted", asked.circle_of_confusion_mm * _MICROMETRES))
    return chart(
        "blur",
        "Blur against f-number",
        f"Defocus falls and diffraction rises with the f-number; together they are least at f/{best:.3g} as marked, "
        f"{sheet.number('blur_mm') * _MICROMETRES:.3g} µm.",
        Axis("f-number as marked", logarithmic=True, ticks=F_NUMBER_TICKS),
        Axis("blur, µm", ends=(0.0, most)),
        [
            Curve("together", tuple((row.f_number, row.blur_mm * _MICROMETRES) for row in rows)),
            Curve("defocus", tuple((row.f_number, row.defocus_mm * _MICROMETRES) for row in rows), "dashed"),
            Curve(
                "diffraction",
                tuple((row.f_number, row.diffraction_mm * _MICROMETRES) for row in rows),
                "dotted",
            ),
        ],
        [(best, sheet.number("blur_mm") * _MICROMETRES)],
        levels,
    )


# So many slices can be drawn and told apart.
_MOST_DRAWN: Final = 40
_WIDTH: Final = 380.0


def slices(asked: FocusStackAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    frames, slice_mm, step_mm = int(sheet.number("frames")), sheet.number("slice_mm"), sheet.number("step_mm")
    drawn = min(frames, _MOST_DRAWN)
    whole = max(asked.depth_mm, slice_mm + (frames - 1) * step_mm)
    scale = (_WIDTH - 24.0) / (whole if drawn == frames else slice_mm + (drawn - 1) * step_mm)
    pencil = Pencil()
    deep, slice_words, step_words = (
        length_text(each, lengths, in_the_lens=True) for each in (asked.depth_mm, slice_mm, step_mm)
    )
    pencil.text(12.0, 14.0, f"depth of the subject {deep}")
    pencil.box(12.0, 20.0, min(asked.depth_mm * scale, _WIDTH - 24.0), 16.0, "hatched")
    for index in range(drawn):
        pencil.box(12.0 + index * step_mm * scale, 46.0 + (index % 2) * 22.0, slice_mm * scale, 18.0)
    pencil.text(12.0, 104.0, f"slice {slice_words}")
    shown = f"{frames} frames" if drawn == frames else f"the first {drawn} of {frames} frames"
    pencil.text(12.0, 120.0, f"{shown}, step {step_words}")
    return pencil.done(
        "slices",
        "The slices of the stack",
        f"{shown.capitalize()}, each sharp over {slice_words}, {step_words} from one to the next, through {deep}.",
        _WIDTH,
        128.0,
    )
