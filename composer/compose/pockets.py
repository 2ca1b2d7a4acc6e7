"""From the triangles of a pocket to a clean outline: clear of the pieces, without slivers, measured.

Worked in a flat patch laid at the pocket's own middle, where lengths are true to a few parts in a
hundred at worst, and kept by what it was made from, so that an untouched pocket is never made again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.body.limb import Limb
from composer.body.patch import Patch, lay_patch
from composer.compose.chart import chart_of
from composer.compose.outline import FAR, NEAR, Edge
from composer.compose.split import split_large
from composer.compose.widest import widest_circle

ELEMENT_MM = 1.5
"""Half the width of the smallest element that background is made of; corners are rounded to it and
passages narrower than it (beyond the skin break on both sides) are left as skin."""

STEP_MM = 3.0


@dataclass(frozen=True, eq=False)
class Pocket:
    """One outline: see `composer.compose.gaps.Gap`, whose measures these are."""

    key: str
    rings: tuple[np.ndarray, ...]
    area_mm2: float
    widest_mm: float
    centre: tuple[float, float]
    neighbours: tuple[str, ...]
    length_mm: float


def name_cell(triangles: np.ndarray, near: Sequence[tuple[Edge, int]], rule: bytes) -> bytes:
    """Name of what a pocket is made from: its triangles (k, 3, 2) in the chart, and what lies near."""
    h = hashlib.blake2b(np.ascontiguousarray(triangles).tobytes(), digest_size=16)
    for e, k in near:
        h.update(e.name + k.to_bytes(2, "big", signed=True))
    h.update(rule)
    return h.digest()


def near_cell(limb: Limb, triangles: np.ndarray, edges: Sequence[Edge]) -> list[tuple[Edge, int]]:
    """Pieces whose grown outline may reach the triangles, with the whole turns to add to them."""
    lo, hi = triangles.reshape(-1, 2).min(axis=0), triangles.reshape(-1, 2).max(axis=0)
    s_lo, s_hi = chart_of(limb).to_skin(np.array([lo, hi]))[:, 1]
    out = []
    for e in edges:
        if e.kept_off is None:
            continue
        b = e.kept_box
        if b[1] > s_hi or b[3] < s_lo:
            continue
        out += [(e, k) for k in range(int(np.ceil(lo[0] - b[2])), int(np.floor(hi[0] - b[0])) + 1)]
    return out


def make_pockets(limb: Limb, triangles: np.ndarray, near: Sequence[tuple[Edge, int]], least_mm: float,
                 skin_break_mm: float) -> tuple[Pocket, ...]:
    """Outlines of one pocket (none, one, or more where it is pinched off or too large)."""
    chart = chart_of(limb)
    cell = shapely.segmentize(shapely.coverage_union_all(shapely.polygons(triangles)),
                              STEP_MM / float(np.interp(triangles[0, 0, 1], chart.t, chart.c)))
    us = chart.to_skin(shapely.get_coordinates(cell))
    patch = _patch(limb, us)
    flat = shapely.transform(cell, lambda ut: patch.to_flat(chart.to_skin(ut)))
    if not flat.is_valid:
        flat = shapely.make_valid(flat)
    off = [shapely.transform(e.kept_off, lambda p, k=k: patch.to_flat(p + (k, 0.0))) for e, k in near]
    open_skin = shapely.difference(flat, shapely.union_all(off)) if off else flat
    open_skin = open_skin.buffer(-ELEMENT_MM, quad_segs=8).buffer(ELEMENT_MM - 1e-3, quad_segs=12)
    least = least_mm / 2 - skin_break_mm
    centres = patch.to_flat(chart.to_skin(triangles.mean(axis=1)))
    out = []
    for part in _polygons(open_skin):
        if part.area < 3.0 * least * least:
            continue
        for piece in split_large(part):
            p = _measure(limb, patch, piece, centres, off, near, least)
            if p is not None:
                out.append(p)
    return tuple(out)


def _patch(limb: Limb, us: np.ndarray) -> Patch:
    lo, hi = us.min(axis=0), us.max(axis=0)
    mid = (lo + hi) / 2
    return lay_patch(limb, float(mid[0]), float(mid[1]), float(mid[1] - lo[1]), float(hi[1] - mid[1]))


def _polygons(geometry: BaseGeometry) -> list[Polygon]:
    return [g for g in shapely.get_parts(geometry) if isinstance(g, Polygon) and not g.is_empty]


def _measure(limb: Limb, patch: Patch, part: Polygon, centres: np.ndarray, off: Sequence[BaseGeometry],
             near: Sequence[tuple[Edge, int]], least: float) -> Pocket | None:
    chart = chart_of(limb)
    part = shapely.segmentize(shapely.simplify(part, 0.02), STEP_MM)
    skin = [patch.to_skin(np.asarray(r.coords)[:-1]) for r in (part.exterior, *part.interiors)]
    own = _patch(limb, skin[0])
    flat = Polygon(own.to_flat(skin[0]), [own.to_flat(r) for r in skin[1:]])
    if not flat.is_valid:
        return None
    at, radius = widest_circle(flat, own.to_flat(patch.to_skin(centres)))
    if radius < least:
        return None
    centre = own.to_skin(at[None])[0]
    turns = np.floor(centre[0])
    skin = [r - (turns, 0.0) for r in skin]
    area = abs(chart.ring_area(skin[0])) - sum(abs(chart.ring_area(r)) for r in skin[1:])
    touch = shapely.dwithin(part, np.array(off, object), 0.6) if off else []
    who = {e.id for (e, _), t in zip(near, touch, strict=True) if t}
    if skin[0][:, 1].min() < limb.s_min + 0.6:
        who.add(FAR)
    if skin[0][:, 1].max() > limb.s_max - 0.6:
        who.add(NEAR)
    key = hashlib.blake2b(b"|".join(np.round(r, (3)).tobytes() for r in [skin[0] * (1000.0, 10.0)]), digest_size=5)
    hull = shapely.get_coordinates(flat.convex_hull)
    length = float(np.hypot(*(hull[:, None] - hull[None]).transpose(2, 0, 1)).max())
    return Pocket(key.hexdigest(), tuple(skin), float(area), 2 * radius, (float(centre[0] - turns), float(centre[1])),
                  tuple(sorted(who)), length)
