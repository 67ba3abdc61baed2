"""What the made pictures are built from: grids in millimetres, drawn shapes, noise, blur, edges, normals.

Arrays that functions hand out are float32, `(height, width)` or `(height, width, 3)`. Lengths on the subject are in
millimetres from the middle of the picture, x to the right, y down; heights point at the camera.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

Plane: TypeAlias = NDArray[np.floating[Any]]
Size: TypeAlias = tuple[int, int]
Point: TypeAlias = tuple[float, float]
Rect: TypeAlias = tuple[float, float, float, float]


def as_plane(levels: Any) -> Plane:
    """The levels as float32, which the arithmetic between arrays and plain numbers may have left."""
    return np.asarray(levels, dtype=np.float32)


SMALLEST_SIDE_PX = 120
LARGEST_SIDE_PX = 8000
DRAWING_SCALE = 3
"""Shapes are drawn this many times larger and averaged down, so that their edges are smooth."""


@dataclass(frozen=True, slots=True)
class Field:
    """The part of the subject plane that a picture of `size` (width, height in pixels) shows.

    Raises ValueError where a side is below 120 or above 8000 pixels.
    """

    size: Size
    width_mm: float

    def __post_init__(self) -> None:
        if not all(SMALLEST_SIDE_PX <= side <= LARGEST_SIDE_PX for side in self.size):
            raise ValueError(
                f"A picture of {self.size[0]} x {self.size[1]} pixels cannot be made; each side must be "
                f"between {SMALLEST_SIDE_PX} and {LARGEST_SIDE_PX} pixels."
            )

    @property
    def px_per_mm(self) -> float:
        return self.size[0] / self.width_mm

    def grid_mm(self) -> tuple[Plane, Plane]:
        """x as one row and y as one column, at pixel centres; they broadcast to the whole picture."""
        width, height = self.size
        x = (np.arange(width, dtype=np.float32) + 0.5 - width / 2) / self.px_per_mm
        y = (np.arange(height, dtype=np.float32) + 0.5 - height / 2) / self.px_per_mm
        return as_plane(x[np.newaxis, :]), as_plane(y[:, np.newaxis])

    def window(self, centre_mm: Point, half_side_mm: float) -> tuple[slice, slice]:
        """Rows and columns of the square about a point of the subject, as far as it is in the picture."""
        rows, columns = (
            slice(
                min(max(math.floor(side / 2 + (middle - half_side_mm) * self.px_per_mm), 0), side),
                min(max(math.ceil(side / 2 + (middle + half_side_mm) * self.px_per_mm), 0), side),
            )
            for side, middle in ((self.size[1], centre_mm[1]), (self.size[0], centre_mm[0]))
        )
        return rows, columns

    def fractions(self, centre_mm: Point, width_mm: float, height_mm: float) -> Rect:
        """A rectangle of the subject as (left, top, width, height) in fractions of the picture, on whole pixels.

        Raises ValueError where it does not lie inside the picture.
        """
        edges = []
        for side, middle, length in (
            (self.size[0], centre_mm[0], width_mm),
            (self.size[1], centre_mm[1], height_mm),
        ):
            start = round(side / 2 + (middle - length / 2) * self.px_per_mm)
            end = max(round(side / 2 + (middle + length / 2) * self.px_per_mm), start + 1)
            if start < 0 or end > side:
                raise ValueError(
                    f"A picture of {self.size[0]} x {self.size[1]} pixels is the wrong shape: it cuts off a patch."
                )
            edges.append((start / side, (end - start) / side))
        (left, width), (top, height) = edges
        return left, top, width, height

    def draw(self, strokes: Callable[[Pencil], None]) -> Plane:
        """What `strokes` draws, as cover between 0 and 1."""
        width, height = self.size
        sheet = Image.new("L", (width * DRAWING_SCALE, height * DRAWING_SCALE))
        strokes(Pencil(ImageDraw.Draw(sheet), self))
        return np.asarray(sheet.reduce(DRAWING_SCALE), dtype=np.float32) / np.float32(255)


@dataclass(frozen=True, slots=True)
class Pencil:
    """Draws on the subject plane, in millimetres. `paint` 1 covers, 0 cuts away."""

    sheet: ImageDraw.ImageDraw
    field: Field

    def _point(self, point: Point) -> Point:
        scale = self.field.px_per_mm * DRAWING_SCALE
        width, height = self.field.size
        return (
            point[0] * scale + width * DRAWING_SCALE / 2 - 0.5,
            point[1] * scale + height * DRAWING_SCALE / 2 - 0.5,
        )

    def disc(self, centre: Point, radius: float, paint: int = 1) -> None:
        self.ellipse(centre, radius, radius, paint)

    def ellipse(self, centre: Point, radius_x: float, radius_y: float, paint: int = 1) -> None:
        left_top = self._point((centre[0] - radius_x, centre[1] - radius_y))
        right_bottom = self._point((centre[0] + radius_x, centre[1] + radius_y))
        self.sheet.ellipse([left_top, right_bottom], fill=255 * paint)

    def polygon(self, points: Sequence[Point], paint: int = 1) -> None:
        self.sheet.polygon([self._point(point) for point in points], fill=255 * paint)

    def line(self, points: Sequence[Point], widths: float | Sequence[float], paint: int = 1) -> None:
        """A round-ended stroke; with one width for each point it swells and tapers."""
        steps = [widths] * len(points) if isinstance(widths, (int, float)) else widths
        scale = self.field.px_per_mm * DRAWING_SCALE
        for start, end, width in zip(points[:-1], points[1:], steps[1:], strict=True):
            width_px = max(1, round(width * scale))
            self.sheet.line([self._point(start), self._point(end)], fill=255 * paint, width=width_px)
        for point, width in zip(points, steps, strict=True):
            self.disc(point, width / 2, paint)


def smoothstep(low: float | Plane, high: float | Plane, value: Plane) -> Plane:
    """0 below `low`, 1 above `high`, a smooth way between."""
    t = np.clip((value - low) / (high - low), 0, 1)
    return as_plane(t * t * (3 - 2 * t))


def mix(below: Plane, above: Plane, cover: Plane) -> Plane:
    """`above` laid over `below` where it covers."""
    return as_plane(below + (above - below) * cover)


def coloured(plane: Plane, red: float, green: float, blue: float) -> Plane:
    """A plane of levels in one colour, given as linear sRGB."""
    return as_plane(plane[..., np.newaxis] * np.array([red, green, blue], dtype=np.float32))


def gaussian_blur(picture: Plane, sigma_px: float) -> Plane:
    """The picture as a spread of standard deviation `sigma_px` leaves it; edges are continued as a mirror does.

    Raises ValueError where `sigma_px` is not a number of 0 or more.
    """
    return gaussian_blurs(picture, [sigma_px])[0]


def gaussian_blurs(picture: Plane, sigmas_px: Sequence[float]) -> list[Plane]:
    """`gaussian_blur` by several spreads at once, which costs less than one by one."""
    for sigma_px in sigmas_px:
        if not 0 <= sigma_px < math.inf:
            raise ValueError(f"A blur of {sigma_px} pixels cannot be made; it must be a number of 0 or more.")
    margin = min(math.ceil(4 * max(sigmas_px)), min(picture.shape[:2]) - 1)
    if margin == 0:
        return [picture for _ in sigmas_px]
    # transforms are quick only where the sides have small factors
    spare = [-(side + 2 * margin) % 32 for side in picture.shape[:2]]
    edges = [(margin, margin + more) for more in spare] + [(0, 0)] * (picture.ndim - 2)
    padded = np.pad(picture, edges, mode="symmetric")
    height, width = padded.shape[:2]
    transform = np.fft.rfft2(padded, axes=(0, 1))
    rows, columns = np.fft.fftfreq(height)[:, np.newaxis], np.fft.rfftfreq(width)[np.newaxis, :]
    blurred = []
    for sigma_px in sigmas_px:
        kept = as_plane(np.exp(-2 * (np.pi * sigma_px) ** 2 * (rows**2 + columns**2)))
        kept = kept.reshape(*kept.shape, *[1] * (picture.ndim - 2))
        whole = np.fft.irfft2(transform * kept, s=(height, width), axes=(0, 1))
        blurred.append(as_plane(whole[margin : margin + picture.shape[0], margin : margin + picture.shape[1]]))
    return blurred


@lru_cache(maxsize=1)
def _normal_quantiles() -> tuple[Plane, Plane]:
    shares = np.linspace(0.001, 0.999, 999)
    normal = NormalDist()
    return shares, np.array([normal.inv_cdf(share) for share in shares])


def edge_distance_px(cover: Plane, reach_px: float) -> Plane:
    """How far inside (positive) or outside (negative) the edge of a drawn shape each pixel lies, up to about
    `reach_px`.

    Blurring a straight edge gives the normal distribution's running sum, so its quantile gives the distance
    back. Curves tighter than the reach round off, as they do on filed metal and blown glass.
    """
    sigma_px = max(reach_px / 2, 0.5)
    shares, quantiles = _normal_quantiles()
    return as_plane(np.interp(gaussian_blur(cover, sigma_px), shares, quantiles) * sigma_px)


def noise(size: Size, cell_px: float, rng: np.random.Generator, stretch: Point = (1.0, 1.0)) -> Plane:
    """Smooth random bumps about `cell_px` wide, mean 0 and standard deviation 1; `stretch` draws them out."""
    width, height = size
    columns = max(3, round(width / (cell_px * stretch[0])) + 3)
    rows = max(3, round(height / (cell_px * stretch[1])) + 3)
    coarse = Image.fromarray(rng.standard_normal((rows, columns), dtype=np.float32))
    fine = np.asarray(coarse.resize((width, height), Image.Resampling.BICUBIC), dtype=np.float32)
    return as_plane((fine - fine.mean()) / max(float(fine.std()), 1e-6))


def fractal_noise(
    size: Size, cell_px: float, rng: np.random.Generator, octaves: int = 4, stretch: Point = (1.0, 1.0)
) -> Plane:
    """Noise over noise, each half as wide and half as strong; mean 0 and standard deviation 1."""
    total = np.zeros((size[1], size[0]), dtype=np.float32)
    for octave in range(octaves):
        total += noise(size, max(cell_px / 2**octave, 1.0), rng, stretch) * np.float32(0.5**octave)
    return as_plane(total / max(float(total.std()), 1e-6))


def slopes(height: Plane, px_per_unit: float) -> tuple[Plane, Plane]:
    """dh/dx and dh/dy of a height in the unit of which `px_per_unit` pixels make one."""
    down, across = np.gradient(height)
    return as_plane(across * px_per_unit), as_plane(down * px_per_unit)


def smooth_curve(corners: Sequence[Point], steps: int = 12, closed: bool = True) -> list[Point]:
    """A curve through the corners, in the manner of Catmull and Rom."""
    points = np.array(corners, dtype=np.float64)
    count = len(points)
    spans = count if closed else count - 1
    t = np.linspace(0, 1, steps, endpoint=False)[:, np.newaxis]
    curve: list[Point] = []
    for span in range(spans):
        before, start, end, after = (
            points[(span + shift) % count] if closed else points[min(max(span + shift, 0), count - 1)]
            for shift in (-1, 0, 1, 2)
        )
        stretch = 0.5 * (
            2 * start
            + (end - before) * t
            + (2 * before - 5 * start + 4 * end - after) * t**2
            + (3 * start - before - 3 * end + after) * t**3
        )
        curve.extend((float(x), float(y)) for x, y in stretch)
    if not closed:
        curve.append((float(points[-1][0]), float(points[-1][1])))
    return curve


def leaf(profile: Sequence[Point], root: Point, angle: float, length: float, half_breadth: float) -> list[Point]:
    """The outline of a leaf or petal that grows from `root` in the direction of `angle`.

    `profile` gives half of it from root to tip: how far along and how far aside, in shares of the length and of
    the half breadth. The tip closes it.
    """
    along = (math.cos(angle), math.sin(angle))
    both_sides = [*profile, *((u, -v) for u, v in reversed(profile[:-1]))]
    return smooth_curve(
        [
            (
                root[0] + along[0] * length * u - along[1] * half_breadth * v,
                root[1] + along[1] * length * u + along[0] * half_breadth * v,
            )
            for u, v in both_sides
        ],
        steps=8,
    )
