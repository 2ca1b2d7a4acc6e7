"""Ends that are bare, drawn out to points as a pen does that lifts off.

Kinds end their strokes well by themselves; where a piece, an edge or a stroke beside it has cut one short, or a form
has a corner that is no point, a little ink is taken off its flanks here. What is taken off depends on what lies
within some millimetres alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, Layer
from composer.filler.check import widths
from composer.filler.clip import opened
from composer.filler.ends import LINES, bare_ends
from composer.filler.ground import Ground
from composer.filler.skeleton import StrokeEnd
from composer.plan.model import Hand

ABOUT_MM = 14.0
"""Ink is looked at so far round an end: farther than any end is told by."""
NEAR_MM = 3.5
"""Ends so near to one that was mended have to be good as well."""
STEP_MM = 0.12
CORNER_MM, ROUNDED_MM = 2.5, (0.6, 0.9, 1.3, 1.8)
"""Corners are rounded so far from an end, with so much across."""
SAME_MM = 0.7
"""Another end may be told so far from where it was."""
WAYS = ((2.2, 0.8), (3.2, 1.0), (2.2, 1.6), (3.6, 1.9))
"""Points that are tried in turn: how many times longer than the stroke is wide, and how hollow (1: straight flanks)."""
LONGEST_MM = 9.0
HALF_MM = 4.0
"""Strokes wider than twice this are masses, of which no end is seen."""
FLARE, WEDGE = 1.35, 1.2
"""Where half a stroke is so many times wider than half a millimetre before, and by more than the second for each mm, it
hangs on another; the point ends before. A wedge of up to 100 degrees is no such place."""
SPOILT_MM = 2.5
"""Lines must not stand too close, nor ink be too fine, so near to what is taken off."""
SPUR_MM, SPUR_MM2, PART_MM2 = 4.0, 4.0, 8.0
"""What is shaved off whole is no longer and no larger; a part by itself that may go altogether."""
GROWN_MM = 0.008
"""So much more is taken off, so that no hairs stay along it."""
CRUMB_MM2 = 0.8
"""What of ink is not worth keeping when it has come off the rest."""


def drawn_out(drawing: Drawing, ink: BaseGeometry, bare: Sequence[StrokeEnd], ground: Ground,
              hand: Hand) -> Drawing:
    """The drawing (unclipped, mm) with its bare ends drawn out to points, shaved off where they are mere spurs, or
    left out where they are bits; the same object where nothing helps. `ink`: what is seen of it (see `ends.ink_of`),
    `bare` its bare ends."""
    tries = (_taken_off(ink, e, drawing, ground, hand) for e in bare)
    off = [o for o in tries if o is not None]
    return _without(drawing, shapely.union_all(off)) if off else drawing


def still_bare(ends: Sequence[StrokeEnd], ink: BaseGeometry, drawing: Drawing, ground: Ground,
               hand: Hand) -> list[StrokeEnd]:
    """The bare ends that are left, or have come, at places that were mended."""
    out: list[StrokeEnd] = []
    for end in ends:
        for e in bare_ends(shapely.intersection(ink, _window(end)), drawing, ground, hand, (end.x, end.y, NEAR_MM)):
            if all(np.hypot(e.x - o.x, e.y - o.y) > SAME_MM for o in out):
                out.append(e)
    return out


def _window(end: StrokeEnd) -> Polygon:
    return box(end.x - ABOUT_MM, end.y - ABOUT_MM, end.x + ABOUT_MM, end.y + ABOUT_MM)


def _without(drawing: Drawing, off: BaseGeometry) -> Drawing:
    mirror = drawing.notes.get("mirror")
    if mirror is not None:
        off = shapely.union(off, mirrored(off, mirror["at"], mirror["deg"]))
    return Drawing.of(drawing.outline, tuple(
        Layer.of(la.role, shapely.difference(la.area, off)) if la.role in LINES and la.rings else la
        for la in drawing.layers), drawing.ends, drawing.notes)


def mirrored(shape: BaseGeometry, at: tuple[float, float], deg: float) -> BaseGeometry:
    """A shape about the axis through `at` (mm) at `deg` degrees."""
    a = 2 * np.radians(float(deg))
    turn = np.array([[np.cos(a), np.sin(a)], [np.sin(a), -np.cos(a)]])
    return shapely.transform(shape, lambda p: (p - at) @ turn.T + at)


def _taken_off(ink: BaseGeometry, end: StrokeEnd, drawing: Drawing, ground: Ground,
               hand: Hand) -> BaseGeometry | None:
    """What to take off at a bare end so that none is left there; None where nothing helps."""
    at, window = Point(end.x, end.y), _window(end)
    local = shapely.intersection(ink, window)
    shapely.prepare(local)
    parts, near = shapely.get_parts(local), (end.x, end.y, NEAR_MM)
    others = [(e.x, e.y) for e in bare_ends(local, drawing, ground, hand, near) if at.distance(Point(e.x, e.y)) > 1.0]
    for off in _tries(local, end, hand):
        left = shapely.difference(local, off)
        new = [e for e in bare_ends(left, drawing, ground, hand, near)
               if all(np.hypot(e.x - x, e.y - y) > SAME_MM for x, y in others)]
        if not new and not any(off.distance(Point(f.x, f.y)) < SPOILT_MM for f in widths(drawing, left, ground, hand)):
            return off
    own = parts[int(np.argmin(shapely.distance(parts, at)))]
    return own if own.area < PART_MM2 and not shapely.dwithin(own, window.boundary, 0.01) else None


def _tries(local: BaseGeometry, end: StrokeEnd, hand: Hand) -> Iterator[BaseGeometry]:
    middle, half = _stroke(local, end)
    if len(middle) >= 6:
        for length, hollow in WAYS:
            off = _flanks(local, middle, half, length, hollow, hand)
            if off is not None:
                yield off
        spur = _strip(middle, half + 0.12)
        if len(middle) * STEP_MM < SPUR_MM and spur.area < SPUR_MM2:    # hardly more than a corner: it goes whole
            yield _tidy(local, shapely.union(shapely.intersection(local, spur), _beyond(local, middle, half)), hand)
    about = Point(end.x, end.y).buffer(CORNER_MM, quad_segs=6)
    for wide in ROUNDED_MM:     # a corner of something wide is rounded
        core = shapely.buffer(opened(local, wide), 0.01, quad_segs=2)
        off = shapely.intersection(shapely.difference(local, core), about)
        near = [p for p in shapely.get_parts(off) if p.distance(Point(end.x, end.y)) < 0.6]
        if near:
            yield _tidy(local, shapely.union_all(near), hand)


def _stroke(local: BaseGeometry, end: StrokeEnd) -> tuple[np.ndarray, np.ndarray]:
    """The middle (n, 2) mm of the stroke from its end backwards, STEP_MM apart, and half its width there (n,), by
    chords across it, until it hangs on another or grows a mass."""
    way = np.array([np.cos(np.radians(end.out_deg)), np.sin(np.radians(end.out_deg))])
    here = np.array([end.x, end.y]) + (end.ahead_mm - 0.5 * STEP_MM) * way
    side = np.arange(-HALF_MM, HALF_MM + 1e-9, 0.05)
    middle: list[np.ndarray] = []
    half: list[float] = []
    for _ in range(int(LONGEST_MM / STEP_MM)):
        across = np.array([-way[1], way[0]])
        at = here + side[:, None] * across
        run = _run(shapely.contains_xy(local, at[:, 0], at[:, 1]), len(side) // 2)
        if run is None:
            if middle:
                break
            here = here - STEP_MM * way
            continue
        low, high = side[run[0]], side[run[1]]
        wide = (high - low + 0.05) / 2
        if run[0] == 0 or run[1] == len(side) - 1 or (
                len(half) > 6 and wide > FLARE * half[-4] + 0.05 and wide - half[-4] > 4 * WEDGE * STEP_MM):
            break
        middle.append(here + (low + high) / 2 * across)
        half.append(wide)
        if len(middle) > 8:
            back = middle[-1] - middle[-9]
            back = back / max(float(np.hypot(*back)), 1e-9)
            turn = 0.75 * -way + 0.25 * back
            if turn @ -way > 0.5:
                way = -turn / float(np.hypot(*turn))
        here = middle[-1] - STEP_MM * way
    return np.array(middle).reshape(-1, 2), np.array(half)


def _run(row: np.ndarray, at: int) -> tuple[int, int] | None:
    """First and last index of the run of ink nearest to `at`, within half a millimetre."""
    where = np.flatnonzero(row)
    if not len(where):
        return None
    k = int(where[np.argmin(np.abs(where - at))])
    if abs(k - at) > 12:
        return None
    gaps = np.flatnonzero(~row)
    left, right = gaps[gaps < k], gaps[gaps > k]
    return (int(left[-1]) + 1 if len(left) else 0), (int(right[0]) - 1 if len(right) else len(row) - 1)


def _flanks(local: BaseGeometry, middle: np.ndarray, half: np.ndarray, length: float, hollow: float,
            hand: Hand) -> BaseGeometry | None:
    """The flanks of a stroke's end that have to go so that it runs out to a point; None where it is too short."""
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(middle, axis=0).T))])
    wide = 2 * float(np.median(half[run < max(1.5, 2 * half[min(8, len(half) - 1)])]))
    reach = min(max(length * wide, 1.6), float(run[-1]))
    if reach < 1.0 * wide:
        return None
    on = run <= reach
    run, half = run[on], half[on]
    mid = np.column_stack([np.convolve(np.pad(c, 3, mode="edge"), np.ones(7) / 7, mode="valid") for c in middle[on].T])
    if len(mid) < 5:
        return None
    full = float(np.median(half[-5:]))
    keep = np.minimum(half, np.maximum(0.5 * hand.fine_mm, full * (run / run[-1]) ** hollow))
    kept = shapely.union_all([_strip(mid, keep), Point(*mid[-1]).buffer(half[-1], quad_segs=6),
                              Point(*mid[0]).buffer(keep[0], quad_segs=4)])
    zone = shapely.union(_strip(mid, half + 0.12), _beyond(local, mid, half))
    return _tidy(local, shapely.difference(shapely.intersection(local, zone), kept), hand)


def _strip(middle: np.ndarray, half: np.ndarray) -> BaseGeometry:
    """What lies within `half` (n,) mm of a line (n, 2), across it."""
    across = np.gradient(middle, axis=0)
    across = np.column_stack([-across[:, 1], across[:, 0]]) / np.maximum(np.hypot(*across.T), 1e-9)[:, None]
    return shapely.make_valid(Polygon(np.vstack([middle + half[:, None] * across,
                                                 (middle - half[:, None] * across)[::-1]])))


def _beyond(local: BaseGeometry, middle: np.ndarray, half: np.ndarray) -> BaseGeometry:
    """Ink of a round end beyond the last chord."""
    out = middle[0] - middle[3]
    tip = middle[0] + 0.8 * out / max(float(np.hypot(*out)), 1e-9)
    return shapely.intersection(local, LineString([middle[0], tip]).buffer(half[0] + 0.3, quad_segs=3))


def _tidy(local: BaseGeometry, off: BaseGeometry, hand: Hand) -> BaseGeometry:
    """What is taken off, and the hairs and crumbs that it would leave; nothing out of the middle of ink."""
    rim = local.boundary
    off = shapely.union_all([p for p in shapely.get_parts(off) if shapely.dwithin(rim, p, 0.05)])
    left = shapely.difference(local, off)
    about = shapely.buffer(off, 0.6, quad_segs=2)
    thin = shapely.intersection(shapely.difference(left, opened(left, 0.9 * hand.fine_mm)), about)
    off = shapely.buffer(shapely.union_all([off, *(p for p in shapely.get_parts(thin) if p.geom_type == "Polygon")]),
                         GROWN_MM, join_style="bevel")
    crumbs = [p for p in shapely.get_parts(shapely.difference(local, off))
              if p.area < CRUMB_MM2 and shapely.dwithin(off, p, 0.1)]
    return shapely.union_all([off, *crumbs]) if crumbs else off
