"""Where a frame's picture shows what no light explains: loads the light of it and of the frames that one light alone lit,
brings them to its settings, and has the tiles solved."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from sqlmodel import Session as Database

from webapp.ledger.ambient_proof import WANTED_MARGIN_STOPS, ambient_change_stops, same_magnification
from webapp.ledger.evidence import LEAST_TOLERANCE_STOPS
from webapp.ledger.gains import Level, Place
from webapp.ledger.left_over_map import LeftOverMap, Tiles, left_over_map
from webapp.ledger.set_up import SetUp
from webapp.optics.arrays import Floats, np
from webapp.optics.tone_curve import DARKEST_STOPS, MID_TONE, WHITE_STOPS, ToneCurve
from webapp.pictures.light_map import Extra, LightMap
from webapp.records import readings as reading_records
from webapp.records import shots as shot_records
from webapp.records.tables import Frame, Picture
from webapp.shoots.evidence import Witnesses
from webapp.shoots.light_given import added_up, change_of, known_curve, solos_of

_CLIPPED_SHARE: Final = 0.01
_COLOURS: Final = ("red", "green", "blue")
_DEVIATIONS: Final = 2.0
# As many tiles as tell a curve; all of them would only take longer.
_TILES_FOR_CURVE: Final = 32
# Where the room was not checked: what it may give in every picture, if it is as dark as a check is to prove it.
_UNCHECKED_ROOM: Final = MID_TONE * 2.0**-WANTED_MARGIN_STOPS

Maps = Mapping[str, LightMap]
"""The light of frames of one kind of file, by frame."""


def left_over_in(db: Database, frame: Frame, found: Witnesses) -> LeftOverMap | None:
    """Where the picture of a frame shows light that nothing explains; None where a light that lit it has no other frame
    of its own with a picture of the same view, or what changed since cannot be bridged."""
    solos = {letter: each for letter, each in solos_of(frame, found).items() if _same_view(each.set_up, frame.set_up)}
    if not frame.lit or not set(frame.lit) <= solos.keys():
        return None
    check = shot_records.frame_of(db, found.check.frame_id) if found.check else None
    if check is not None and (check.lit or _is_too_bright(found) or not _same_view(check.set_up, frame.set_up)):
        check = None
    reference = found.reference
    if reference is not None and not _same_view(reference.set_up, frame.set_up):
        reference = None
    asked = [frame, *solos.values(), *filter(None, (check, reference))]
    raw, rendered, pictures = _maps(db, [each.id for each in asked])
    needed = {frame.id, *(solos[letter].id for letter in frame.lit)}
    maps, is_raw = (raw, True) if needed <= raw.keys() else (rendered, False)
    if not needed <= maps.keys() or not _alike(maps[each] for each in needed):
        return None
    own = maps[frame.id]
    maps = {frame_id: each for frame_id, each in maps.items() if _alike((own, each))}
    solos = {letter: each for letter, each in solos.items() if each.id in maps}
    if check is not None and check.id not in maps:
        check = None
    curves = {} if is_raw else _curves(db, asked, maps, pictures, reference, solos, check)
    tiles = {frame_id: _tiles_of(each, curves.get(frame_id)) for frame_id, each in maps.items()}
    sources, of_sources = [], []
    for letter, solo in sorted(solos.items()):
        stops = change_of(letter, solo.set_up, frame.set_up)
        if stops is None and letter in frame.lit:
            return None
        if stops is not None:
            sources.append(_without_room(tiles, solo, check).brought(stops))
            of_sources.append(maps[solo.id])
    change = ambient_change_stops(check.set_up, frame.set_up) if check is not None else None
    if check is not None and change is not None:
        sources.append(tiles[check.id].brought(change))
        of_sources.append(maps[check.id])
    unchecked = 0.0 if change is not None else _UNCHECKED_ROOM * len(sources)
    tolerance: Floats = np.array(LEAST_TOLERANCE_STOPS)
    if frame.id in curves:
        levels = [each.levels[_order(each)] for each in of_sources]
        brought = [each.light for each in sources]
        tolerance = _left_open(curves[frame.id], own.levels[_order(own)], list(zip(levels, brought, strict=True)))
    return left_over_map(tiles[frame.id], sources, tolerance, unchecked)


def _maps(
    db: Database, frame_ids: list[str]
) -> tuple[dict[str, LightMap], dict[str, LightMap], Mapping[str, Sequence[Picture]]]:
    """The light of the frames' raw files, and of their rendered ones; and the files."""
    raw: dict[str, LightMap] = {}
    rendered: dict[str, LightMap] = {}
    found = reading_records.light_of(db, frame_ids)
    for frame_id, rows in found.items():
        for picture, row in rows:
            if (light := row.map) is not None:
                (raw if picture.kind == "raw" else rendered)[frame_id] = light
    return raw, rendered, {frame_id: [picture for picture, _ in rows] for frame_id, rows in found.items()}


def _is_too_bright(found: Witnesses) -> bool:
    return found.check is not None and found.check.brighter_stops is not None


def _same_view(one: SetUp, other: SetUp) -> bool:
    """Whether two pictures lie over each other, by the log."""
    if (one.camera.id, one.lens.id, one.focal_length_mm) != (other.camera.id, other.lens.id, other.focal_length_mm):
        return False
    return same_magnification(one.magnification, other.magnification)


def _alike(maps: Iterable[LightMap]) -> bool:
    return len({(each.columns, each.rows, frozenset(each.channels)) for each in maps}) == 1


def _order(light: LightMap) -> list[int]:
    """The planes in the order red, green, blue."""
    return sorted(range(len(light.channels)), key=lambda index: _rank(light.channels[index]))


def _rank(channel: str) -> int:
    return _COLOURS.index(channel) if channel in _COLOURS else len(_COLOURS)


def _tiles_of(light: LightMap, curve: ToneCurve | None) -> Tiles:
    """The light of a picture; of a rendered one without what its curve did."""
    order = _order(light)
    level, error = light.levels[order], light.errors[order]
    tells = light.extra(Extra.CLIPPED) <= _CLIPPED_SHARE
    if curve is None:
        return Tiles(level, error, tells)
    above = curve.light(level + error)
    straight = curve.light(level)
    return Tiles(straight, np.maximum(above - straight, error), tells)


def _without_room(tiles: Mapping[str, Tiles], solo: Frame, check: Frame | None) -> Tiles:
    """A frame that one light alone lit, less the room, where that was checked."""
    own = tiles[solo.id]
    change = ambient_change_stops(check.set_up, solo.set_up) if check is not None else None
    return own if check is None or change is None else own.without(tiles[check.id].brought(change))


def _curves(
    db: Database,
    asked: Iterable[Frame],
    maps: Maps,
    pictures: Mapping[str, Sequence[Picture]],
    reference: Frame | None,
    solos: Mapping[str, Frame],
    check: Frame | None,
) -> dict[str, ToneCurve]:
    """What is known of the curve of each frame's rendered file; where all have one, narrowed by how tiles add up."""
    known = {each.id: known_curve(db, each, pictures[each.id]) for each in asked if each.id in maps}
    first = next(iter(known.values()))
    if any(each is not first for each in known.values()):
        return known
    return dict.fromkeys(known, _narrowed(first, maps, reference, solos, check))


def _narrowed(
    before: ToneCurve, maps: Maps, reference: Frame | None, solos: Mapping[str, Frame], check: Frame | None
) -> ToneCurve:
    """A camera's curve, narrowed by some tiles of the reference frame."""
    if reference is None or reference.id not in maps or not set(reference.lit) <= solos.keys():
        return before
    frames = [reference, *(solos[letter] for letter in reference.lit), *([check] if check is not None else [])]
    tells = np.logical_and.reduce([maps[each.id].extra(Extra.CLIPPED) <= _CLIPPED_SHARE for each in frames])
    level = np.where(tells, maps[reference.id].levels.mean(axis=0), np.nan)
    count = int(tells.sum())
    if not count:
        return before
    ordered = np.argsort(level, axis=None)[:count]
    chosen = ordered[np.unique(np.linspace(0, count - 1, _TILES_FOR_CURVE).astype(int))].tolist()
    levels = {each.id: _levels_at(maps[each.id], chosen) for each in frames}
    return added_up(levels, reference, solos, check, before)


def _levels_at(light: LightMap, chosen: list[int]) -> dict[Place, Level]:
    """Some of the tiles, by their place in the rows."""
    found: dict[Place, Level] = {}
    for index, channel in enumerate(light.channels):
        level, error = (plane.ravel()[chosen].tolist() for plane in (light.levels[index], light.errors[index]))
        for tile, own, off in zip(chosen, level, error, strict=True):
            found[str(tile), channel] = Level(own, off)
    return found


_GRID_STOPS: Final = 0.5


def _left_open(curve: ToneCurve, own: Floats, sources: Sequence[tuple[Floats, Floats]]) -> Floats:
    """What the curve leaves of each tile open, in stops: two standard deviations. `sources` have each the level of their
    own picture and the light that they bring.

    Only differences of level count, since a gain brings a light at one level to another: of what the tile shows against
    what each source showed there, by its share, and as much again for the middle tile, by which the gains are found.
    """
    at = np.arange(DARKEST_STOPS, WHITE_STOPS + _GRID_STOPS, _GRID_STOPS)
    table = np.array([[curve.error_stops(one, other) for other in at.tolist()] for one in at.tolist()])
    light = np.array([np.maximum(brought, 0.0) for _, brought in sources])
    shares = light / np.maximum(light.sum(axis=0), MID_TONE * 2.0**DARKEST_STOPS)
    here = _stops(own)
    open_by = sum(
        share * _between(table, here, _stops(level)) for share, (level, _) in zip(shares, sources, strict=True)
    )
    middle = np.median(open_by, axis=(1, 2), keepdims=True)
    found: Floats = np.maximum(_DEVIATIONS * np.hypot(open_by, middle), LEAST_TOLERANCE_STOPS)
    return found


def _stops(level: Floats) -> Floats:
    darkest = MID_TONE * 2.0**DARKEST_STOPS
    found: Floats = np.log2(np.clip(level, darkest, 1.0) / MID_TONE)
    return found


def _between(table: Floats, one: Floats, other: Floats) -> Floats:
    """The table at pairs of levels, by straight lines between its places."""
    last = len(table) - 2
    row, column = ((each - DARKEST_STOPS) / _GRID_STOPS for each in (one, other))
    r, c = (np.minimum(each.astype(int), last) for each in (row, column))
    down, across = row - r, column - c
    upper = table[r, c] * (1.0 - across) + table[r, c + 1] * across
    lower = table[r + 1, c] * (1.0 - across) + table[r + 1, c + 1] * across
    found: Floats = upper * (1.0 - down) + lower * down
    return found
