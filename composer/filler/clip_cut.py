"""One drawing less what lies in front: put together from its polygons, of which only those near a change are
cut anew.

What is remembered of a drawing (`Known`) never changes what comes out: it is kept under the very things it was
made from, tile by tile and polygon by polygon.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, End, Layer
from composer.art.nesting import together
from composer.filler.clip import CRUMB_MM, SLIVER_MM, longer
from composer.filler.clip_front import Front, Tile, boxes
from composer.filler.clip_tidy import Inked, Tidied, reach, side_by_side, tidied
from composer.filler.closing import in_one

SLIT_MM2 = 0.05
"""Holes smaller than this beside a filling are filled too; nobody could draw round them."""

Key = tuple[Any, ...]


@dataclass(eq=False)
class Known:
    """What the last cut of a drawing was made of: `units` of tidying by tile and what lies in front there,
    what was `made` of polygons by what they were made from."""

    drawing: Drawing
    least_mm: float
    line_gap_mm: float
    units: dict[Key, tuple[Tidied, ...]] = field(default_factory=dict)
    made: dict[Key, Any] = field(default_factory=dict)
    touching: dict[Key, np.ndarray] = field(default_factory=dict)

    @cached_property
    def layers(self) -> tuple[Inked, ...]:
        """The drawing's layers and last its outline."""
        least, slot = self.least_mm, 0.51 * self.line_gap_mm
        out = []
        for la in self.drawing.layers:
            inked = la.role in ("line", "black")
            fine = least if inked or not slot else SLIVER_MM
            out.append(Inked(_polygons(la.area), fine, slot if inked else 0.0, bool(slot) and inked, inked))
        paper = SLIVER_MM if slot else least
        return (*out, Inked(_polygons(self.drawing.outline), paper, 0.0, False, False))

    @cached_property
    def _reach(self) -> float:
        return reach(self.layers)

    def touched(self, k: int, front: Front) -> np.ndarray:
        """Which polygons of layer k come near a front."""
        key = (k, front)
        if key not in self.touching:
            self.touching[key] = np.sort(self.layers[k].tree.query(front.near, "intersects"))
        return self.touching[key]


def _polygons(area: Any) -> np.ndarray:
    parts = shapely.get_parts(area)
    return parts[shapely.get_dimensions(parts) == 2]


def cut_anew(known: Known, fronts: Sequence[Front]) -> Drawing:
    """The drawing less its fronts, with clean ends; the same object when none of them touches it."""
    drawing = known.drawing
    outline = drawing.outline
    shapely.prepare(outline)
    fronts = [f for f in fronts if shapely.intersects(outline, f.hidden)]
    if not fronts:
        return drawing
    units = _units(known, fronts, outline)
    now: dict[Key, Any] = {}
    hides = {gives: _hides(known, fronts, gives, now) for gives in {la.gives for la in known.layers}}
    touching = {(k, f): known.touched(k, f) for k in range(len(known.layers)) for f in fronts}
    rows = [_cut_layer(known, k, fronts, hides[la.gives], {t: u[k] for (t, *_), u in units.items()}, now)
            for k, la in enumerate(known.layers)]
    known.units, known.made, known.touching = units, now, touching
    layers = tuple(la if row is None else Layer.of(la.role, in_one(row))
                   for la, row in zip(drawing.layers, rows, strict=False) if row is None or len(row))
    body = outline if rows[-1] is None else in_one(rows[-1])
    return Drawing.of(body, layers, (*_open_ends(drawing, fronts), *_new_ends(known, units)), drawing.notes)


def _hides(known: Known, fronts: Sequence[Front], gives: bool, now: dict[Key, Any]) -> BaseGeometry:
    """All fronts as one valid area: united where they meet."""
    shapes = np.array([f.give if gives else f.hidden for f in fronts], object)
    rows = together(len(shapes), *shapely.STRtree(shapes).query(shapes, "intersects"))
    keys = [("hides", gives, *(fronts[i] for i in row)) for row in rows]
    return in_one(_once(known, now, keys, lambda new: [shapely.union_all(shapes[rows[n]]) for n in new]))


def _units(known: Known, fronts: Sequence[Front], outline: Any) -> dict[Key, tuple[Tidied, ...]]:
    """Tidying in every tile through which a cut runs: from memory or worked out now."""
    tiles = np.array(sorted(set().union(*(f.tiles for f in fronts))))
    tiles = tiles[shapely.intersects(outline, boxes(tiles))]
    wide = boxes(tiles, known._reach)
    meets = []
    for f in fronts:
        shapely.prepare(f.strip)
        meets.append(shapely.intersects(f.strip, wide))
    keys = [(tuple(t), *(f for f, m in zip(fronts, meets, strict=True) if m[i]))
            for i, t in enumerate(tiles.tolist())]
    new = [k for k in keys if k not in known.units]
    made = dict(zip(new, tidied(known.layers, [k[0] for k in new], [k[1:] for k in new]), strict=True))
    return {k: made[k] if k in made else known.units[k] for k in keys}


def _cut_layer(known: Known, k: int, fronts: Sequence[Front], hides: BaseGeometry, units: dict[Tile, Tidied],
               now: dict[Key, Any]) -> np.ndarray | None:
    """Polygons of layer k after the cut, or None when nothing comes near it. `hides`: all fronts as one area."""
    la = known.layers[k]
    by: dict[int, list[Front]] = {}
    for f in fronts:
        for i in known.touched(k, f).tolist():
            by.setdefault(i, []).append(f)
    if not by:
        return None
    touched = sorted(by)
    split = _once(known, now, [(k, i, *by[i]) for i in touched],
                  lambda new: _split(known, k, la.parts[[touched[n] for n in new]], hides, now))
    left = np.concatenate(split)
    off = [o for u in units.values() for o in u.off]
    if off and len(left):
        left = _less(known, k, left, off, now)
    clear = np.ones(len(la.parts), bool)
    clear[touched] = False
    fills = [f for u in units.values() for f in u.fills]
    if fills:
        reached = np.unique(la.tree.query(fills, "intersects")[1])
        reached = reached[clear[reached]]
        clear[reached] = False
        left = _with(known, k, np.concatenate([left, la.parts[reached]]), fills, now)
    return np.concatenate([la.parts[clear], left[longer(left, CRUMB_MM if la.slot else 3.0 * la.least)]])


def _once(known: Known, now: dict[Key, Any], keys: Sequence[Key],
          make: Callable[[list[int]], Sequence[Any]]) -> list[Any]:
    """What is known under the keys; `make` is asked for the rest (by their numbers)."""
    new = [n for n, key in enumerate(keys) if key not in known.made]
    made = dict(zip(new, make(new), strict=True)) if new else {}
    for n, key in enumerate(keys):
        now[key] = made[n] if n in made else known.made[key]
    return [now[key] for key in keys]


def _split(known: Known, k: int, parts: np.ndarray, hides: BaseGeometry, now: dict[Key, Any]) -> list[np.ndarray]:
    """What is left of each polygon; a piece that was there before is the very same object."""
    left, of = shapely.get_parts(shapely.difference(parts, hides), return_index=True)
    good = (shapely.get_dimensions(left) == 2) & ~shapely.is_empty(left)
    left, of = shapely.normalize(left[good]), of[good]
    for n, name in enumerate(shapely.to_wkb(left)):
        key = ("piece", k, name)
        left[n] = now[key] = known.made.get(key, left[n])
    return np.split(left, np.searchsorted(of, np.arange(1, len(parts))))


def _less(known: Known, k: int, left: np.ndarray, off: list[BaseGeometry], now: dict[Key, Any]) -> np.ndarray:
    """Pieces less what goes beside the cut."""
    piece, which = shapely.STRtree(off).query(left, "intersects")
    order = np.lexsort((which, piece))
    rows = np.split(which[order], np.flatnonzero(np.diff(piece[order])) + 1) if len(piece) else []
    hit = np.unique(piece)
    keys = [("off", k, left[p], *(off[w] for w in row)) for p, row in zip(hit, rows, strict=True)]

    def make(new: list[int]) -> list[np.ndarray]:
        away = np.array([side_by_side([off[w] for w in rows[n]]) for n in new], object)
        parts = shapely.difference(left[hit[new]], away)
        return [_polygons(p) for p in parts]

    out = [left[~np.isin(np.arange(len(left)), hit)], *_once(known, now, [_by_id(key) for key in keys], make)]
    now[("held", k)] = keys     # so that ids stand
    return np.concatenate(out)


def _with(known: Known, k: int, left: np.ndarray, fills: list[BaseGeometry], now: dict[Key, Any]) -> np.ndarray:
    """Pieces with the fillings that touch them, united where they do."""
    n, whole = len(left), np.array([*left, *fills], object)
    a, b = shapely.STRtree(whole).query(fills, "intersects")
    rows = [row for row in together(len(whole), a + n, b) if row[0] < n]
    alone = left[[row[0] for row in rows if len(row) == 1]]
    rows = [row for row in rows if len(row) > 1]
    groups = [("fill", k, *whole[row]) for row in rows]

    def unite(row: list[int]) -> np.ndarray:
        return _whole(_polygons(shapely.union(in_one(whole[[i for i in row if i < n]]),
                                              side_by_side(whole[[i for i in row if i >= n]]))))

    united = _once(known, now, [_by_id(g) for g in groups], lambda new: [unite(rows[i]) for i in new])
    now[("filled", k)] = groups
    return np.concatenate([alone, *united])


def _whole(parts: np.ndarray) -> np.ndarray:
    """Polygons without the slits that a filling may leave beside the ink it fills."""
    for n in np.flatnonzero(shapely.get_num_interior_rings(parts)):
        holes = shapely.polygons(shapely.get_rings(parts[n])[1:])
        large = shapely.area(holes) > SLIT_MM2
        if not large.all():
            parts[n] = shapely.polygons(shapely.get_exterior_ring(parts[n]), shapely.get_exterior_ring(holes[large]))
    return parts


def _by_id(key: Key) -> Key:
    return (*key[:2], *map(id, key[2:]))


def _open_ends(drawing: Drawing, fronts: Sequence[Front]) -> list[End]:
    """Ends of strokes that nothing hides."""
    if not drawing.ends:
        return []
    x, y = np.array([(e.x, e.y) for e in drawing.ends]).T
    hidden = np.any([shapely.contains_xy(f.hidden, x, y) for f in fronts], axis=0)
    return [e for e, gone in zip(drawing.ends, hidden, strict=True) if not gone]


def _new_ends(known: Known, units: dict[Key, tuple[Tidied, ...]]) -> list[End]:
    """Where the edge of what hides crosses line work: the middle of each crossing."""
    out = []
    for k, la in enumerate(known.layers):
        lines = [line for u in units.values() for line in u[k].crossed] if la.line else []
        if lines:
            whole = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(lines)))
            out += [End(round(float(p.x), 3), round(float(p.y), 3), "tucked") for p in shapely.centroid(whole)]
    return out

