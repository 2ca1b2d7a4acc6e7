"""A drawing as dark as the field of tone lets it be, place by place.

Washes go a step lighter where tone falls, and give out in dots that stand wider and wider apart, as an artist whips
them out. Solid black is weighed beside pieces (`solid_black`). Where a shade line stops all background, lines grow
thinner until they are as fine as the needle, the fine ones first, and end there: nothing is cut off, nothing lies
beyond.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import ROLES, Drawing, End, Layer, geometry_to_rings
from composer.art.on_skin import STRENGTH
from composer.filler.closing import closed, in_one
from composer.filler.cloud_ink import gridded
from composer.filler.dots import dot_rings, poisson_dots
from composer.filler.solid_black import moved, weighed
from composer.filler.tone_grid import SHUT, ToneGrid
from composer.plan.model import Hand

STEPS = {"dark": ((0.72, "dark"), (0.45, "mid"), (0.22, "light")), "mid": ((0.6, "mid"), (0.3, "light")),
         "light": ((0.42, "light"),)}
"""What a wash becomes down to which share of the tone; below the last it gives out in dots."""
DOTS_OVER, DOTS_END = 0.14, 0.05
"""Dots begin so much before the wash ends, and end at this share."""
STEP_MM, LET = 0.08, (0.85, 0.16)
"""Lines thin out in steps of so much on either side, from the first to the second share of what is let."""
STROKE_MM, MOST_STEPS = 16.0, 26
"""Black wider than this is no stroke, and ends where nothing is let; in so many steps at most a stroke thins out."""
FALLING = 0.9
"""Washes give out in dots where falls at lines and cuffs leave less than this; elsewhere they only step."""
HELD = 0.55
"""What does not reach to where so much is let hangs on nothing, and goes."""
CRUMB_MM, LOOSE_MM = 4.0, 9.0
"""Bits that thinning leaves: shorter than the first they go, and than the second where they hang on nothing that stands
whole or lie too near."""
ROW_MM = 1.1
"""Washes narrower than twice this give out without dots: a single row of them would read as a dotted line."""
FIRM_MM = 0.15
"""Slivers of washes narrower than twice this go."""
BODY = 0.45
"""A faded filler hides what lies behind it down to this share of what is let, and where it has ink."""


def graded(drawing: Drawing, grid: ToneGrid, hand: Hand, line_gap_mm: float, rng: np.random.Generator) -> Drawing:
    """The drawing by the field; the same object where the field changes nothing of it."""
    fades = bool(grid.let.min() < LET[0])
    if moved(grid):
        drawing = replace(drawing, layers=tuple(
            la if la.role in STEPS else _same_or(la, weighed(la.area, grid, hand, line_gap_mm))
            for la in drawing.layers))
    if not fades and grid.wash.min() >= STEPS["dark"][0][0]:
        return drawing
    washes = {r: [la.area for la in drawing.layers if la.role == r] for r in STEPS}
    steps, lost = _stepped({r: a[0] if len(a) == 1 else shapely.union_all(in_one(np.array(a, object)).geoms)
                            for r, a in washes.items() if a}, grid)
    dots = _dots(lost, grid, hand, rng)
    layers = []
    for role in ROLES:
        if role in STEPS:
            area = gridded(steps[role]) if role in steps else Polygon()
            rings = geometry_to_rings(area) + (dots if role == "dark" else ())
            layers += [Layer(role, rings) if role == "dark" and dots else Layer.of(role, area)] if rings else []
        else:
            layers += [la for la in drawing.layers if la.role == role]
    if not fades:
        return Drawing.of(drawing.outline, tuple(layers), drawing.ends, drawing.notes)
    layers = [la if la.role in STEPS else Layer.of(la.role, gridded(_thinned(la.area, grid, hand, line_gap_mm)))
              for la in layers]
    layers = [la for la in layers if la.rings]
    held = [_both(drawing.outline, grid.area(grid.let, BODY)),
            *(steps[r] for r in steps), *(la.area for la in layers if la.role not in STEPS)]
    return Drawing.of(gridded(shapely.union_all(held)), tuple(layers), _left(drawing.ends, grid), drawing.notes)


def _same_or(layer: Layer, area: BaseGeometry) -> Layer:
    """The layer, or one of another area."""
    return layer if area is layer.area else Layer.of(layer.role, gridded(area))


def _left(ends: tuple[End, ...], grid: ToneGrid) -> tuple[End, ...]:
    """The ends of strokes that did not fade."""
    if not ends:
        return ends
    let = grid.at(grid.let, np.array([(e.x, e.y) for e in ends]))
    return tuple(e for e, v in zip(ends, let, strict=True) if v >= LET[0])


def _stepped(washes: dict[str, BaseGeometry],
             grid: ToneGrid) -> tuple[dict[str, BaseGeometry], list[tuple[str, BaseGeometry]]]:
    """Washes by what they become, and where each gives out in dots: (role it would be there, area)."""
    out: dict[str, list[BaseGeometry]] = {}
    same: dict[str, np.ndarray] = {}
    lost = []
    for role, area in washes.items():
        parts, steps = shapely.get_parts(area), STEPS[role]
        high = grid.area(grid.wash, max(steps[0][0], steps[-1][0] + DOTS_OVER))
        shapely.prepare(high)
        stays = shapely.covers(high, parts)
        same[role], area = parts[stays], in_one(parts[~stays])
        if area.is_empty:
            continue
        above = 2.0
        for least, becomes in steps:
            out.setdefault(becomes, []).append(_both(area, _between(grid, least, above)))
            above = least
        giving_out = grid.once(("dots", above), lambda top=above + DOTS_OVER: _both(
            _between(grid, DOTS_END, top), _below(grid, grid.falls, FALLING)))
        zone = _opening(_both(area, giving_out), ROW_MM)
        if not zone.is_empty:
            lost.append((steps[-1][1], zone))
    firm = {r: _firm(a) for r, a in out.items()}
    for role, parts in same.items():
        if len(parts):
            firm[role] = _with(firm[role], parts) if role in firm else in_one(parts)
    return firm, lost


def _with(area: BaseGeometry, parts: np.ndarray) -> BaseGeometry:
    """An area and further parts, united where they meet."""
    shapely.prepare(area)
    meet = shapely.intersects(area, parts)
    return in_one([shapely.buffer(in_one([area, *parts[meet]]), 0.0) if meet.any() else area, *parts[~meet]])


def _both(a: BaseGeometry, b: BaseGeometry) -> BaseGeometry:
    """What two areas share, without the lines and points in which they only touch."""
    return in_one(shapely.intersection(a, b))


def _between(grid: ToneGrid, least: float, below: float) -> BaseGeometry:
    if below > 1.0:
        return grid.area(grid.wash, least)
    return grid.once(("between", least, below), lambda: in_one(
        shapely.difference(grid.area(grid.wash, least), grid.area(grid.wash, below))))


def _below(grid: ToneGrid, values: np.ndarray, least: float) -> BaseGeometry:
    """Where values of the nodes do not reach `least`."""
    return in_one(shapely.difference(grid.area(values, -1.0), grid.area(values, least)))


def _firm(areas: list[BaseGeometry]) -> BaseGeometry:
    """Washes without the slivers that steps leave, as one: growing back unites them, several times as quick as uniting
    what nearly coincides."""
    thin = [shapely.buffer(a, -FIRM_MM, quad_segs=4) for a in areas]
    return shapely.buffer(in_one(thin), FIRM_MM + 0.002, quad_segs=4)


def _opening(area: BaseGeometry, r_mm: float) -> BaseGeometry:
    """What of an area a disc of this radius covers."""
    return shapely.buffer(shapely.buffer(area, -r_mm, quad_segs=4), r_mm, quad_segs=4)


def _thinned(ink: BaseGeometry, grid: ToneGrid, hand: Hand, line_gap_mm: float) -> BaseGeometry:
    """Line work that grows thinner the less is let, never finer than the needle's line, and gives out."""
    from_, to = LET
    whole = grid.area(grid.let, from_)
    faint = shapely.difference(grid.area(grid.let, to), whole)
    if ink.is_empty or not shapely.intersects(_below(grid, grid.let, from_), ink):
        return ink
    near = _both(ink, shapely.buffer(faint, STROKE_MM, quad_segs=2))
    thick = _opening(near, 0.75 * hand.outline_mm)
    thin = shapely.difference(near, shapely.buffer(thick, -0.4, quad_segs=3))
    out = [_both(ink, shapely.buffer(whole, 0.02, quad_segs=1))]
    for part, wide in ((thin, 1.5 * hand.outline_mm), (thick, _widest(thick, STROKE_MM))):
        if part.is_empty:
            continue
        most = (wide - 0.9 * hand.fine_mm) / 2 + 0.02
        steps = min(int(np.ceil(most / STEP_MM)), MOST_STEPS)
        levels = np.linspace(from_, to, steps + 1)
        for k in range(steps):
            strip = shapely.difference(grid.area(grid.let, levels[k + 1]), grid.area(grid.let, levels[k]))
            r, half = most * ((k + 1) / steps) ** 1.6, 0.47 * hand.fine_mm
            here = _both(part, shapely.buffer(strip, 2 * r + 1.0, quad_segs=2))
            if here.is_empty:
                continue
            left = shapely.buffer(shapely.buffer(here, -r - half, quad_segs=3), half, quad_segs=4)
            out.append(_both(left, shapely.buffer(strip, 0.03, quad_segs=1)))
    return _clear(shapely.union_all(out), faint, grid, hand, line_gap_mm)


def _widest(ink: BaseGeometry, most_mm: float) -> float:
    """How wide ink is at its widest, up to `most_mm`, and a little more."""
    for wide in np.arange(1.5, most_mm, 0.8):
        if shapely.buffer(ink, -wide / 2, quad_segs=1).is_empty:
            return float(wide)
    return most_mm


def _clear(ink: BaseGeometry, faint: BaseGeometry, grid: ToneGrid, hand: Hand, line_gap_mm: float) -> BaseGeometry:
    """Ink tidied where it was thinned, as every kind tidies its own (`closing.closed`), without the short bits that
    are left loose, and without those nearer than the line gap to a larger one."""
    near, zone = (shapely.buffer(faint, k * line_gap_mm, quad_segs=1) for k in (4.0, 1.5))
    tidy = closed(_both(ink, near), line_gap_mm, 0.95 * hand.fine_mm)
    parts = shapely.get_parts(shapely.union(shapely.difference(ink, zone), _both(tidy, zone)))
    box = shapely.bounds(parts).reshape(-1, 4)
    long = np.hypot(box[:, 2] - box[:, 0], box[:, 3] - box[:, 1])
    touched = shapely.intersects(faint, parts)
    held = shapely.intersects(grid.area(grid.let, HELD), parts)
    small = touched & (long < LOOSE_MM)
    kept = list(parts[~small & (held | ~touched)])
    loose = parts[small & held & (long >= CRUMB_MM) & (shapely.area(shapely.difference(parts, faint)) > 0.5)]
    for part in loose[np.argsort(-shapely.area(loose), kind="stable")]:
        if not kept or float(shapely.distance(np.array(kept, object), part).min()) >= line_gap_mm - 0.02:
            kept.append(part)
    return in_one(np.array([*kept, Polygon()], object)[:-1])


def _dots(lost: Sequence[tuple[str, BaseGeometry]], grid: ToneGrid, hand: Hand,
          rng: np.random.Generator) -> tuple[np.ndarray, ...]:
    """Fine dots, none near another, where washes give out: together as dark as the wash, less and less of it."""
    zones = [(STRENGTH[role], zone) for role, zone in lost]
    if not zones:
        return ()
    radius = 0.72 * hand.fine_mm
    for _, zone in zones:
        shapely.prepare(zone)

    def spacing(xy: np.ndarray) -> np.ndarray:
        ink = np.zeros(len(xy))
        for strength, zone in zones:
            inside = shapely.contains_xy(zone, xy[:, 0], xy[:, 1])
            ink[inside] = np.maximum(ink[inside], strength)
        ink *= np.clip(grid.at(grid.wash, xy) / 0.42, 0.0, 1.0) ** 1.3
        # dots set as close as they will go cover 0.7 pi r^2 / spacing^2 of the skin
        far = np.sqrt(0.7 * np.pi * radius**2 * STRENGTH["dark"] / np.maximum(ink, 1e-9))
        return np.where((ink > 0.004) & (grid.at(grid.open, xy) > SHUT), np.maximum(far, 2 * radius + 0.35), np.inf)

    whole = shapely.union_all([z for _, z in zones])
    dots = poisson_dots(whole.bounds, spacing, rng)
    return dot_rings(dots, np.full(len(dots), radius), 7)
