"""Geometric band: lozenges, scallops, steps, in rows between rules; it goes right round where the gap does.

Each row is cut from a tiling of the whole limb (see `band_rows`), so that it closes over the seam for any girth
and neighbouring gaps are of one lattice. In an ordinary gap it stops at whole tiles, with a clean end, or
runs on behind what lies in front. In a tall narrow gap rows stand along the limb.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, End, Layer
from composer.filler.band_rows import Run, row_at, runs_of
from composer.filler.band_tiles import TILES, Tile
from composer.filler.cloud import pen_of
from composer.filler.cloud_ink import on_grid
from composer.filler.cloud_lines import Pen
from composer.filler.filigree_room import skin_to_draw
from composer.filler.ground import Ground, Wish
from composer.filler.masses import closed
from composer.filler.one_turn import all_round, goes_round, settled
from composer.plan.model import Hand

STYLES = TILES
SIZES = ((1.0, True), (0.86, True), (0.86, False), (0.74, False))
"""Sizes that are tried, and whether the row has rules; the first that fills enough is taken."""
ENOUGH = 0.4
LEAST_SHARE = 0.21
"""A band that takes up less of the open skin lies in it like a short arrow."""
SPIKE, SPIKE_RULED = 0.9, 0.6
"""How long the point of a run is, by a tile's width: without and within rules."""
TIP_MM = 3.2
"""Over what length a rule thins out that ends in open skin, and how far the point of the rules is drawn out."""
SHORT = 0.35
"""A run of fewer tiles than this share of the longest is left out."""


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "lozenge") -> Drawing | None:
    """A band over the ground, unclipped. Deterministic in `rng`. None where not two whole tiles find room, or where the
    gap is so crooked that a straight band would be a patch in it."""
    tile = TILES[style]
    pen = pen_of(hand, wish, ground.line_gap_mm)
    round_it = ground.place is not None and goes_round(ground.free, ground.place.patch)
    if round_it and ground.place is not None:
        patch = ground.place.patch
        ground = replace(ground, free=all_round(ground.free, patch), front=all_round(ground.front, patch),
                         edge=all_round(ground.edge, patch))
    free = skin_to_draw(ground)
    if free.is_empty:
        return None
    hidden = shapely.buffer(ground.front, ground.skin_break_mm + 0.05, quad_segs=6)
    legal = shapely.buffer(shapely.union(free, hidden), 0.06, quad_segs=2)
    shift = float(rng.uniform(0, 1))
    best: list[Run] = []
    chosen = SIZES[0]
    for share, ruled in SIZES:
        own = max(share * wish.size, 0.7)
        found = rows_over(ground, tile, own, ruled, wish, legal, free, shift, pen, round_it)
        if worth(found) > 1.15 * worth(best):
            best, chosen = found, (own, ruled)
        if worth(best) > ENOUGH * free.area:
            break
    if not round_it and sum(r.seen_mm2 for r in best) < LEAST_SHARE * free.area:
        return None
    return inked(best, tile, *chosen, pen, hand, ground)


propose = draw


def rows_over(ground: Ground, tile: Tile, size: float, ruled: bool, wish: Wish, legal: BaseGeometry, free: BaseGeometry,
              shift: float, pen: Pen, round_it: bool = False) -> list[Run]:
    """The rows that show most tiles; they lie evenly, closer the fuller it is wished."""
    x0, y0, x1, y1 = free.bounds
    along = not round_it and y1 - y0 > 1.6 * (x1 - x0)
    tall = height(tile, size, ruled, pen)
    apart = tall + (ground.line_gap_mm + 0.3 if wish.density > 0.75 else (1.2 - wish.density) * 14.0 * size)
    levels = _levels(ground, along, free, apart)
    best: list[Run] = []
    for phase in (np.arange(6) + shift) / 6:
        found = []
        for level in levels + phase * _unit(ground, along, levels, apart):
            row = row_at(ground.place, along, float(level), tile.wide_mm * size)
            found += runs_of(row, tall, legal, free, round_it)
        found = no_bricks(found)
        if worth(found) > 1.02 * worth(best):
            best = found
    return best


def no_bricks(runs: list[Run]) -> list[Run]:
    """Runs without those so short that they would lie about like bricks: at least four tiles of one that ends in open
    skin, five where it does so to both sides, and none much shorter than the longest; the longest alone where all are
    short."""
    if not runs:
        return []
    longest = max(runs, key=lambda r: (r.tiles, r.seen_mm2))
    kept = [r for r in runs if r.tiles >= max(3 + sum(r.open_), SHORT * longest.tiles)]
    return kept or [longest]


def worth(runs: list[Run]) -> float:
    """What runs show, together."""
    return sum(r.worth for r in runs)


def _levels(ground: Ground, along: bool, free: BaseGeometry, apart: float) -> np.ndarray:
    """Middles of rows `apart` mm from each other over the ground, in the units of a row's level."""
    x0, y0, x1, y1 = free.bounds
    if ground.place is None:
        return np.arange(x0 - apart, x1 + apart, apart) if along else np.arange(y0 - apart, y1 + apart, apart)
    patch, limb = ground.place.patch, ground.place.limb
    ring = np.concatenate([np.asarray(p.exterior.coords) for p in shapely.get_parts(free)])
    us = patch.to_skin(ring)
    if along:
        step = apart / float(limb.girth(us[:, 1].mean()))
        return np.arange(us[:, 0].min() - step, us[:, 0].max() + step, step)
    return np.arange(us[:, 1].min() - apart, us[:, 1].max() + apart, apart)


def _unit(ground: Ground, along: bool, levels: np.ndarray, apart: float) -> float:
    return float(levels[1] - levels[0]) if len(levels) > 1 else apart


def rule_mm(pen: Pen, size: float) -> tuple[float, float]:
    """Width of a rule and its distance from the tiles, mm."""
    return 1.1 * pen.outline_mm, pen.pitch_mm - pen.line_mm + 0.25 * size


def height(tile: Tile, size: float, ruled: bool, pen: Pen) -> float:
    """A row's height with its rules, mm."""
    rule, off = rule_mm(pen, size)
    return tile.tall_mm * size + (2 * (rule + off) if ruled else 0.0)


def inked(runs: list[Run], tile: Tile, size: float, ruled: bool, pen: Pen, hand: Hand, ground: Ground) -> Drawing:
    """The runs as one drawing; one that goes right round is cut at one line, where its two ends meet."""
    ink, wash, body, ends = [], [], [], []
    gap, tall = ground.line_gap_mm, height(tile, size, ruled, pen)
    for run in runs:
        row, w = run.row, run.row.wide_mm
        numbers = range(run.first - run.seam[0], run.last + 1 + run.seam[1])
        a, b = numbers[0] * w, (numbers[-1] + 1) * w
        points = [k for k, seen in ((numbers[0], run.open_[0]), (numbers[-1], run.open_[1])) if seen]
        if len(numbers) - len(points) < 1:
            points = []
        cut = run.open_[0] and bool(points), run.open_[1] and bool(points)
        black = [_moved(tile.ink(w, size, gap), k * w) for k in numbers if k not in points]
        loose = run.open_[0] and not cut[0], run.open_[1] and not cut[1]
        black += frame(a, b, w, (tile.tall_mm * size, tall), ruled, cut, pen, loose)
        area = closed(hollowed(row.laid(shapely.union_all(black)), hand, pen), gap, pen.least_mm)
        tone = row.laid(shapely.union_all([_moved(tile.wash(w, size), k * w) for k in numbers
                                           if k not in points]))
        if any(run.seam) and ground.place is not None:
            at = (ground.place.patch.u0 - 0.5) * row.count * w
            a, b = at if run.seam[0] else a, at + row.count * w if run.seam[1] else b
        cell = row.laid(box(a, -tall / 2, b, tall / 2))
        ink.append(shapely.intersection(area, cell) if any(run.seam) else area)
        wash.append(shapely.intersection(tone, cell) if any(run.seam) else tone)
        body.append(cell)
        for (x, y), seen, on in zip(row.flat(np.array([[a, 0.0], [b, 0.0]])), run.open_, run.seam, strict=True):
            ends += [] if seen or on else [End(round(float(x), 3), round(float(y), 3), "tucked")]
    tones = shapely.union_all(wash) if hand.dark > 0.05 else Polygon()
    drawing = _drawing(shapely.union_all(ink), tones, shapely.union_all(body), tuple(ends))
    return relaid(drawing, ground) if any(any(r.seam) for r in runs) else drawing


def _moved(shape: BaseGeometry, by_mm: float) -> BaseGeometry:
    return affinity.translate(shape, by_mm, 0.0)


def _drawing(ink: BaseGeometry, wash: BaseGeometry, outline: BaseGeometry, ends: tuple[End, ...]) -> Drawing:
    layers = [Layer("light", on_grid(wash))] if not wash.is_empty else []
    return Drawing(on_grid(shapely.union(outline, ink)), (*layers, Layer("line", on_grid(ink))), ends, {})


def frame(a: float, b: float, wide: float, tall: tuple[float, float], ruled: bool, points: tuple[bool, bool],
          pen: Pen, loose: tuple[bool, bool] = (False, False)) -> list[BaseGeometry]:
    """Rules above and below a run, and the points, a tile `wide`, in which it ends in open skin: a spike of black that
    the rules close round. `tall`: of its tiles, and with the rules. `loose`: where rules without a point end in open
    skin, they thin out."""
    rule, _ = rule_mm(pen, 1.0)
    low, high = a + (0.8 * wide if points[0] else 0.0), b - (0.8 * wide if points[1] else 0.0)
    out: list[BaseGeometry] = []
    if ruled:
        out += [_rule(low, high, s * (tall[1] - rule) / 2, rule, loose, pen) for s in (1, -1)]
    for end, inner, start, seen in ((a, a + wide, low, points[0]), (b, b - wide, high, points[1])):
        if not seen:
            continue
        apex = inner + (SPIKE_RULED if ruled else SPIKE) * (end - inner)
        out.append(Polygon([(inner, -tall[0] / 2), (inner, tall[0] / 2), (apex, 0.0)]))
        if ruled:
            h = tall[1] / 2
            inwards = np.sign(inner - end)
            at = end + inwards * (rule + TIP_MM)
            line = LineString([(start, h - rule / 2), (at, 0.0), (start, rule / 2 - h)])
            out.append(shapely.buffer(line, rule / 2, cap_style="flat", join_style="mitre"))
            base = at + inwards * rule
            out.append(_rule(min(end, base), max(end, base), 0.0, 1.6 * rule, (inwards > 0, inwards < 0), pen))
    return out


def _rule(a: float, b: float, level: float, rule: float, loose: tuple[bool, bool], pen: Pen) -> Polygon:
    """A straight line of ink from a to b, which thins out to the needle where it is loose."""
    over, end = min(TIP_MM, (b - a) / (1 + all(loose))), 0.5 * min(1.12 * pen.least_mm, rule)
    x = np.array([a, a + over * loose[0], b - over * loose[1], b])
    half = np.array([end if loose[0] else rule / 2, rule / 2, rule / 2, end if loose[1] else rule / 2])
    return Polygon(np.vstack([np.column_stack([x, level + half]), np.column_stack([x, level - half])[::-1]]))


def hollowed(black: BaseGeometry, hand: Hand, pen: Pen) -> BaseGeometry:
    """With a light hand the black is only its outline."""
    if hand.dark >= 0.2:
        return black
    inner = shapely.buffer(black, -1.1 * pen.outline_mm, join_style="mitre")
    return shapely.difference(black, inner)


def relaid(drawing: Drawing, ground: Ground) -> Drawing:
    """The same skin in the chart in which the drawing will be laid as a piece, so that it closes there."""
    if ground.place is None:
        return drawing
    old = ground.place.patch
    new = settled(ground.place.limb, old, list(drawing.silhouette))

    def go(rings: tuple[np.ndarray, ...]) -> tuple[np.ndarray, ...]:
        return tuple(np.round(new.to_flat(old.to_skin(r)), 3) for r in rings)

    at = new.to_flat(old.to_skin(np.array([(e.x, e.y) for e in drawing.ends]).reshape(-1, 2)))
    ends = tuple(End(round(float(x), 3), round(float(y), 3), e.how) for (x, y), e in zip(at, drawing.ends, strict=True))
    return Drawing(go(drawing.silhouette), tuple(Layer(la.role, go(la.rings)) for la in drawing.layers), ends,
                   drawing.notes)
