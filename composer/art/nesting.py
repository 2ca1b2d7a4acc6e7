"""Areas from rings filled by the even-odd rule.

Rings that touch no other bound the area all along; only those that meet or cross are untangled, then every ring is
shell or hole by how many lie round it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry


def rings_to_geometry(rings: Sequence[np.ndarray]) -> BaseGeometry:
    """Even-odd rings (n, 2), closed implicitly, to a valid shapely geometry (holes kept)."""
    whole = [r for r in rings if len(r) >= 3]
    if not whole:
        return Polygon()
    number = np.repeat(np.arange(len(whole)), [len(r) for r in whole])
    lines = shapely.linearrings(np.concatenate(whole), indices=number)
    apart, (a, b) = _meetings(lines)
    if apart:
        return _side_by_side(_nested(lines, *_within(lines, np.concatenate([a, b]), np.concatenate([b, a]))))
    loops = _untangled(lines, a, b)
    parts = _nested(loops, *_round(loops))
    area = _side_by_side(parts)
    if shapely.is_valid(area):
        return area
    bad = ~shapely.is_valid(parts)      # where holes that were a knot meet more than once
    area = _side_by_side(np.concatenate([parts[~bad], *map(_cut_out, parts[bad])]))
    return area if shapely.is_valid(area) else _untied(lines)


def _meetings(rings: np.ndarray) -> tuple[bool, np.ndarray]:
    """Whether each ring bounds an area and touches neither itself nor another; then the pairs (2, n) of those whose
    boxes overlap, else of those that meet, the lesser number first."""
    a, b = shapely.STRtree(rings).query(rings)
    a, b = a[a < b], b[a < b]
    shapely.prepare(rings[np.unique(a)])
    meet = shapely.intersects(rings[a], rings[b])
    if meet.any() or not (shapely.is_simple(rings) & (shapely.area(shapely.polygons(rings)) > 0)).all():
        return False, np.stack([a[meet], b[meet]])
    return True, np.stack([a, b])


def _untangled(rings: np.ndarray, a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Rings that bound the same area, none of which cross: each group that met (a with b) is untied."""
    loose = shapely.is_simple(rings)
    loose[a] = loose[b] = False
    out = [rings[loose]]
    for group in together(len(rings), a, b):
        if not loose[group[0]]:
            out.append(shapely.get_rings(polygons_of(_untied(rings[group]))))
    return np.concatenate(out)


def _untied(rings: np.ndarray) -> BaseGeometry:
    """The even-odd area of rings of any kind: of the faces between their lines those that an odd number goes round."""
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all(rings)]))
    return shapely.union_all(faces[_crossings(rings, shapely.point_on_surface(faces)) % 2 == 1])


def _crossings(rings: np.ndarray, places: np.ndarray) -> np.ndarray:
    """How many edges of the rings lie to the right of each of the points (n,) at its height."""
    xy, of = shapely.get_coordinates(rings, return_index=True)
    (ax, ay), (bx, by) = (end[of[1:] == of[:-1]].T for end in (xy[:-1], xy[1:]))
    count = []
    for x, y in shapely.get_coordinates(places):
        k = np.flatnonzero((ay <= y) != (by <= y))
        count.append(np.sum(ax[k] + (y - ay[k]) * (bx[k] - ax[k]) / (by[k] - ay[k]) > x))
    return np.array(count, int)


def _within(rings: np.ndarray, outer: np.ndarray, inner: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Of pairs of rings that touch no other those where the first goes round the second: round any point of it."""
    box = shapely.bounds(rings)
    room = (box[outer, :2] < box[inner, :2]).all(axis=1) & (box[outer, 2:] > box[inner, 2:]).all(axis=1)
    outer, inner = outer[room], inner[room]
    forms = shapely.polygons(rings)
    shapely.prepare(forms[np.unique(outer)])
    x, y = shapely.get_coordinates(shapely.get_point(rings[inner], 0)).T
    there = shapely.contains_xy(forms[outer], x, y)
    return outer[there], inner[there]


def _round(rings: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The same of rings that may touch in points: pairs of numbers, the first goes round the second."""
    if not len(rings):      # nothing is left of rings without an area
        return np.zeros(0, int), np.zeros(0, int)
    forms = shapely.polygons(rings)
    size = shapely.area(forms)
    outer, inner = shapely.STRtree(shapely.point_on_surface(forms)).query(forms, "contains")
    larger = size[outer] > size[inner]
    return outer[larger], inner[larger]


def _nested(rings: np.ndarray, outer: np.ndarray, inner: np.ndarray) -> np.ndarray:
    """The even-odd area of rings that don't cross, as polygons (not valid where holes meet more than once): what an odd
    number of rings goes round (outer round inner) is a hole in the least of them."""
    if not len(rings):
        return rings
    forms = shapely.polygons(rings)
    size = shapely.area(forms)
    hole = np.bincount(inner, minlength=len(rings)) % 2 == 1
    order = np.lexsort((-size[outer], inner))
    about = np.full(len(rings), -1)
    about[inner[order]] = outer[order]      # the least comes last and stays
    whose = about[hole]
    for shell in np.unique(whose):
        forms[shell] = shapely.polygons(rings[shell], rings[hole][whose == shell])
    return forms[~hole]


def _cut_out(polygon: Polygon) -> np.ndarray:
    """A polygon as polygons that are valid though its holes meet."""
    shell, *holes = shapely.polygons(shapely.get_rings(polygon))
    if not holes:
        return np.array([polygon], object)
    try:
        return polygons_of(shapely.difference(shell, shapely.multipolygons(holes)))
    except shapely.errors.GEOSException:
        return np.array([polygon], object)


def _side_by_side(polygons: np.ndarray) -> BaseGeometry:
    return shapely.multipolygons(polygons) if len(polygons) > 1 else polygons[0] if len(polygons) else Polygon()


def polygons_of(area: BaseGeometry | np.ndarray) -> np.ndarray:
    """The polygons of an area or areas; lines and points are dropped."""
    parts = shapely.get_parts(shapely.get_parts(area))
    return parts[(shapely.get_dimensions(parts) == 2) & ~shapely.is_empty(parts)]


def together(count: int, a: np.ndarray, b: np.ndarray) -> list[list[int]]:
    """Numbers below `count` in groups that the pairs (a, b) hold together, each sorted, by their first."""
    over = list(range(count))

    def top(i: int) -> int:
        while over[i] != i:
            over[i] = i = over[over[i]]
        return i

    for i, j in zip(a.tolist(), b.tolist(), strict=True):
        i, j = top(i), top(j)
        over[max(i, j)] = min(i, j)
    out: dict[int, list[int]] = {}
    for i in range(count):
        out.setdefault(top(i), []).append(i)
    return list(out.values())
