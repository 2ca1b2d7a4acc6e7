"""Tidying along a cut, tile by tile: what is too thin to stay, which slots are filled, where strokes end.

A tile is worked out from what lies in it and as far round it as tidying reaches, so it stays as it is while
nothing changes there, and many tiles are worked out in one go.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.nesting import together
from composer.filler.clip import leaves_none, longer, mended, opened
from composer.filler.clip_front import Front, Tile, boxes
from composer.filler.closing import in_one

OVERLAP_MM = 0.02
"""What is taken away in neighbouring tiles overlaps so much, so that nothing stays between."""

LAP_MM = 0.1
"""A filling overlaps the ink beside it by so much."""

SPECK_MM2 = 0.004
"""Bits too thin for the needle smaller than this are left: so much a square end loses at a corner."""

SLOT_MM2 = 0.012
"""Bits smaller than this leave no slot worth filling."""

FILL_MM2 = 0.001
"""Fillings smaller than this are left away."""

GROWN_MM = 0.004
"""Bits are taken off with so much round them, so that nothing stays at their edge."""


@dataclass(frozen=True, eq=False)
class Inked:
    """A layer (or the outline) as polygons; what is thinner than `least` after a cut goes, slots narrower than
    twice `slot` beside what went are filled; `gives`: kept clear of the break by some more."""

    parts: np.ndarray
    least: float
    slot: float
    gives: bool
    line: bool

    @cached_property
    def tree(self) -> shapely.STRtree:
        return shapely.STRtree(self.parts)

    @cached_property
    def _local(self) -> dict[Tile, np.ndarray]:
        return {}

    def within(self, tiles: np.ndarray, box: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """What of the polygons lies in each tile and so far round it as `box` does (always as far), and in which tile
        each is; remembered by tile."""
        names = list(map(tuple, tiles.tolist()))
        new = np.array([n for n, name in enumerate(names) if name not in self._local], int)
        if len(new):
            of, part = self.tree.query(box[new])
            order = np.lexsort((part, of))
            cut, of = clipped(self.parts[part[order]], box[new[of[order]]], of[order])
            for n, row in zip(new, np.split(cut, np.searchsorted(of, np.arange(1, len(new)))), strict=True):
                self._local[names[n]] = row
        rows = [self._local[name] for name in names]
        return np.concatenate(rows), np.repeat(np.arange(len(rows)), [len(row) for row in rows])


@dataclass(frozen=True, eq=False)
class Tidied:
    """One layer in one tile: bits that are taken `off` beside what hides, `fills` are put in, `crossed` is where
    the edge of what hides runs through ink."""

    off: tuple[BaseGeometry, ...] = ()
    fills: tuple[BaseGeometry, ...] = ()
    crossed: tuple[BaseGeometry, ...] = ()


@dataclass(frozen=True, eq=False)
class _Ground:
    """What hides round each of n tiles: `box` the tile and what is round it, `own` the tile, `wide` so much that
    tiles overlap, `hidden` as it is, `near`, `strip` and `give` along that (see Front)."""

    tiles: np.ndarray
    box: np.ndarray
    own: np.ndarray
    wide: np.ndarray
    hidden: np.ndarray
    near: np.ndarray
    strip: np.ndarray
    give: np.ndarray

    @cached_property
    def reached(self) -> np.ndarray:
        """Where bits may be taken off in each tile."""
        return shapely.intersection(self.near, self.wide)

    @cached_property
    def _zones(self) -> dict[bool, np.ndarray]:
        return {}

    def zone(self, gives: bool) -> np.ndarray:
        """The strip beside what hides, prepared."""
        if gives not in self._zones:
            zone = shapely.difference(self.strip, self.give if gives else self.hidden)
            shapely.prepare(zone)
            self._zones[gives] = zone
        return self._zones[gives]


def tidied(layers: Sequence[Inked], tiles: Sequence[Tile], fronts: Sequence[tuple[Front, ...]]) -> list[
        tuple[Tidied, ...]]:
    """For each tile what becomes of each layer there. `fronts`: what comes near the tile (see `reach`)."""
    if not tiles:
        return []
    ground = _ground(np.array(tiles), fronts, reach(layers))
    return list(zip(*(_layer(la, ground) for la in layers), strict=True))


def reach(layers: Sequence[Inked]) -> float:
    """How far round a tile things matter, mm."""
    return max(4.0 * la.least + 3.4 * la.slot for la in layers) + 0.5


def _ground(tiles: np.ndarray, fronts: Sequence[tuple[Front, ...]], round_mm: float) -> _Ground:
    box = boxes(tiles, round_mm)
    of = np.repeat(np.arange(len(tiles)), [len(f) for f in fronts])

    def local(name: str) -> np.ndarray:
        shapes = np.array([getattr(f, name) for row in fronts for f in row], object)
        return grouped(*clipped(shapes, box[of], of), len(tiles), unite=True)

    own, wide = boxes(tiles), boxes(tiles, OVERLAP_MM)
    return _Ground(tiles, box, own, wide, *(local(n) for n in ("hidden", "near", "strip", "give")))


def clipped(shapes: np.ndarray, box: np.ndarray, of: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Polygons of shapes, each within its box (n,), and whose each is; `of`: whose each shape is."""
    low, edge = shapely.bounds(shapes).reshape(-1, 4), shapely.bounds(box).reshape(-1, 4)
    over = (low[:, :2] < edge[:, :2]).any(axis=1) | (low[:, 2:] > edge[:, 2:]).any(axis=1)
    out = shapes.copy()
    out[over] = shapely.lib.clip_by_rect(shapes[over], *edge[over].T)    # shapely's own takes a single box
    faulty = np.flatnonzero(over)[~shapely.is_valid(out[over])]
    out[faulty] = shapely.intersection(shapes[faulty], box[faulty])
    parts, whose = shapely.get_parts(out, return_index=True)
    good = (shapely.get_dimensions(parts) == 2) & ~shapely.is_empty(parts)
    return parts[good], of[whose[good]]


def grouped(shapes: np.ndarray, of: np.ndarray, count: int, unite: bool = False) -> np.ndarray:
    """`count` areas, each of the shapes that are `of` it (sorted): united, or side by side as they are."""
    out = np.full(count, Polygon(), object)
    if not unite:
        parts, whose = shapely.get_parts(shapes, return_index=True)
        good = (shapely.get_dimensions(parts) == 2) & ~shapely.is_empty(parts)
        parts, whose = parts[good], of[whose[good]]
        there, at = np.unique(whose, return_inverse=True)
        if len(there):
            out[there] = shapely.multipolygons(parts, indices=at)
        return out
    starts = np.searchsorted(of, np.arange(count + 1))
    for i, (a, b) in enumerate(pairwise(starts)):
        if b > a:
            out[i] = shapes[a] if b == a + 1 else shapely.union_all(shapes[a:b])
    return out


def _layer(la: Inked, g: _Ground) -> list[Tidied]:
    count = len(g.box)
    zone = g.zone(la.gives)
    ink, tile = la.within(g.tiles, g.box)
    there = shapely.intersects(zone[tile], ink)
    edge = grouped(shapely.intersection(ink[there], zone[tile[there]]), tile[there], count)
    firm = _no_crumbs(opened(edge, la.least), la.least, count)
    whole, of = _large(shapely.difference(edge, firm))
    bits, n = _large(shapely.intersection(whole, g.reached[of]))
    of = of[n]
    off: list[list[BaseGeometry]] = [[] for _ in range(count)]
    for bit, i in zip(_wider(bits, GROWN_MM), of, strict=True):
        off[i].append(bit)
    fills = [()] * count
    if la.slot:
        left = shapely.area(bits) > SLOT_MM2
        ended = left & (shapely.area(bits) > (1 - 1e-6) * shapely.area(whole)[n])   # nothing of it stays on
        shapely.prepare(firm)
        left[ended] = ~leaves_none(bits[ended], firm[of[ended]], la.slot)
        if left.any():
            fills = _fills(la, g, bits[left], of[left])
    crossed = _crossed(la, g) if la.line else [()] * count
    return [Tidied(tuple(o), f, c) for o, f, c in zip(off, fills, crossed, strict=True)]


def _wider(shapes: np.ndarray, by_mm: float) -> np.ndarray:
    with np.errstate(divide="ignore", invalid="ignore"):  # GEOS, where two segments lie in one line
        return shapely.buffer(shapes, by_mm, join_style="mitre")


def _large(shapes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Parts that are large enough to be seen, and of which shape each is."""
    parts, of = shapely.get_parts(shapes, return_index=True)
    seen = shapely.area(parts) > SPECK_MM2
    return parts[seen], of[seen]


def _no_crumbs(shapes: np.ndarray, least: float, count: int) -> np.ndarray:
    parts, of = shapely.get_parts(shapes, return_index=True)
    keep = longer(parts, 3.0 * least)
    return grouped(parts[keep], of[keep], count)


def _fills(la: Inked, g: _Ground, gone: np.ndarray, of: np.ndarray) -> list[tuple[BaseGeometry, ...]]:
    """What fills the slots that are left where ink went: bits `gone`, each `of` a tile."""
    count, out = len(g.box), [()] * len(g.box)
    core = grouped(shapely.buffer(gone, 1.6 * la.slot, quad_segs=2), of, count, unite=True)
    zone = grouped(shapely.buffer(gone, 3.2 * la.slot, quad_segs=2), of, count, unite=True)
    shapely.prepare(zone)
    local, tile = la.within(g.tiles, g.box)
    there = shapely.intersects(zone[tile], local)
    ink = grouped(shapely.intersection(local[there], zone[tile[there]]), tile[there], count)
    ink = shapely.difference(ink, shapely.union(g.give, grouped(gone, of, count)))
    for i in np.unique(of):
        whole = shapely.difference(mended(ink[i], core[i], la.least, la.slot), g.hidden[i])
        new = shapely.get_parts(shapely.difference(whole, ink[i]))
        new = new[shapely.area(new) > FILL_MM2]
        if len(new):
            about = shapely.union_all(_wider(new, LAP_MM))
            out[i] = tuple(p for p in shapely.get_parts(shapely.intersection(whole, about)) if p.geom_type == "Polygon")
    return out


def _crossed(la: Inked, g: _Ground) -> list[tuple[BaseGeometry, ...]]:
    """Stretches of the edge of what hides, within each tile, that run through ink."""
    rim = shapely.intersection(shapely.boundary(g.hidden), g.own)
    shapely.prepare(rim)
    ink, tile = la.within(g.tiles, g.box)
    there = shapely.intersects(rim[tile], ink)
    ink, tile = ink[there], tile[there]
    lines, of = shapely.get_parts(shapely.intersection(rim[tile], ink), return_index=True)
    out: list[list[BaseGeometry]] = [[] for _ in g.box]
    for line, i in zip(lines, tile[of], strict=True):
        if line.geom_type == "LineString" and not line.is_empty:
            out[i].append(line)
    return [tuple(row) for row in out]


def side_by_side(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    """Shapes as one valid area: united where they meet, else left as they are."""
    if len(shapes) < 10:
        return shapes[0] if len(shapes) == 1 else shapely.union_all(list(shapes))
    some = np.array(shapes, object)
    group = together(len(some), *shapely.STRtree(some).query(some, "intersects"))
    return in_one([shapely.union_all(some[row]) if len(row) > 1 else some[row[0]] for row in group])
