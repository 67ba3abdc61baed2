"""The evenness map as SVG."""

from __future__ import annotations

import math
from html import escape

from webapp.optics.arrays import np
from webapp.plan.levels import LightMap
from webapp.plan.sheet import text


def draw_map(light_map: LightMap, title: str, key: str = "evenness") -> str:
    """The light over the subject: hatched the denser, the darker, with its stops at five places; struck out where it is
    not seen."""
    rows, columns = light_map.stops.shape
    longer = max(light_map.width_mm, light_map.height_mm)
    width, height = 260.0 * light_map.width_mm / longer, 260.0 * light_map.height_mm / longer
    high, span = float(np.nanmax(light_map.stops)), max(light_map.range_stops, 1e-6)
    cell_w, cell_h = width / columns, height / rows
    drawn = (
        f'<svg class="evenness-map" viewBox="0 0 {width + 20:.0f} {height + 20:.0f}" role="img" aria-labelledby="{key}-t" '
        f'fill="none" stroke="currentColor" font-size="12"><title id="{key}-t">{escape(title)}</title>'
    )
    for row in range(rows):
        for column in range(columns):
            if math.isnan(light_map.stops[row, column]):
                x, y = 10.0 + column * cell_w, 10.0 + height - row * cell_h
                drawn += f'<path d="M{x:.1f} {y:.1f}l{cell_w:.1f} {-cell_h:.1f}" stroke-width="0.6"/>'
                continue
            dark = (high - float(light_map.stops[row, column])) / span * min(1.0, span / 0.5)
            side = 0.9 * min(cell_w, cell_h) * math.sqrt(dark)
            if side < 0.6:
                continue
            x = 10.0 + (column + 0.5) * cell_w - side / 2.0
            y = 10.0 + height - (row + 0.5) * cell_h - side / 2.0
            drawn += (
                f'<rect x="{x:.1f}" y="{y:.1f}" width="{side:.1f}" height="{side:.1f}" fill="currentColor" '
                'fill-opacity="0.35" stroke="none"/>'
            )
    drawn += f'<rect x="10" y="10" width="{width:.1f}" height="{height:.1f}"/>'
    for row, column, anchor in ((0, 0, "start"), (0, -1, "end"), (-1, 0, "start"), (-1, -1, "end")):
        if math.isnan(light_map.stops[row, column]):
            continue
        x = 14.0 if column == 0 else width + 6.0
        y = height + 4.0 if row == 0 else 24.0
        stops = f"{float(light_map.stops[row, column]):+.2f}".replace("-", "−")
        drawn += text(x, y, stops, anchor)
    return drawn + text(10.0 + width / 2.0, 14.0 + height / 2.0, "0", "middle") + "</svg>"
