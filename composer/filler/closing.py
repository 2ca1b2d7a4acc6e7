"""Tidying ink as a tattooer does: crevices narrower than the line gap turn black, hairs go, waists
are made good.

What is slow about growing an area is its small segments, those of rounded edges above all, and an
area that was grown round is slowest to shrink: its arcs fall together to points. So areas are thinned
out (by THIN_MM, which nobody can see) and grown with corners cut a little outside the round one.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

THIN_MM = 0.02
"""How far an edge may move when vertices are left out of it."""

OVER = 1.06
"""Slots are filled up to so many line gaps."""

SPUR_DEG = 120.0
"""Tips of tidied ink that turn back by more than this are what is left of a waist."""


def thinned(area: BaseGeometry, by_mm: float = THIN_MM) -> BaseGeometry:
    """The area with fewer vertices, its edge within `by_mm` of where it was. Narrow places may close
    or cross: for what is grown or shrunk next, which mends that."""
    return shapely.simplify(area, by_mm, preserve_topology=False)


def lighter(area: BaseGeometry, by_mm: float = THIN_MM) -> BaseGeometry:
    """The same for keeps: valid where the area was."""
    quick = thinned(area, by_mm)
    return quick if shapely.is_valid(quick) else shapely.simplify(area, by_mm)


def shrunk(area: BaseGeometry, by_mm: float, point: float = 2.0) -> BaseGeometry:
    """The area less a rim, corners kept sharp, those of what is left out up to `point` rims long."""
    with np.errstate(divide="ignore", invalid="ignore"):  # GEOS, where two segments lie in one line
        return shapely.buffer(area, -by_mm, join_style="mitre", mitre_limit=point)


def grown(area: BaseGeometry, by_mm: float) -> BaseGeometry:
    """The area and a rim round it, corners cut: never less than a rounded rim, at corners a twentieth more."""
    return shapely.buffer(area, by_mm, join_style="mitre", mitre_limit=1.05)


def sound(area: BaseGeometry) -> BaseGeometry:
    """The area, mended where it crosses itself, as growing and shrinking leave it in GEOS now and then."""
    return area if shapely.is_valid(area) else shapely.make_valid(area)


def shut(ink: BaseGeometry, slot_mm: float) -> BaseGeometry:
    """Ink with slots narrower than twice `slot_mm` filled."""
    return sound(shapely.buffer(grown(thinned(ink), slot_mm), -slot_mm, quad_segs=3))


def closed(ink: BaseGeometry | Sequence[BaseGeometry], line_gap_mm: float, least_mm: float) -> BaseGeometry:
    """Ink without hairs thinner than `least_mm`, every slot narrower than the line gap filled black,
    as a tattooer does in a crevice: an opening, then a closing; waists that this leaves are made
    good. `ink` may come in pieces that overlap: growing them unites them."""
    slot, hair = OVER * line_gap_mm / 2, 0.475 * least_mm
    pieces = ink if isinstance(ink, BaseGeometry) else np.array([*ink, Polygon()], dtype=object)
    core = thinned(shrunk(thinned(pieces), hair))
    out = shapely.buffer(thinned(grown(in_one(core), slot + 1.08 * hair), 0.5 * THIN_MM), -slot, quad_segs=3)
    return made_good(lighter(out), least_mm, slot, out)


def polygons_of(points: np.ndarray, counts: Sequence[int] | np.ndarray) -> np.ndarray:
    """Polygons of rings that stand one after the other in (n, 2), so many points each."""
    return shapely.polygons(shapely.linearrings(points, indices=np.repeat(np.arange(len(counts)), counts)))


def in_one(areas: BaseGeometry | Sequence[BaseGeometry]) -> BaseGeometry:
    """Areas as one multipolygon, not united (so it may be invalid): for what is grown next."""
    parts = shapely.get_parts(areas)
    return shapely.multipolygons(parts[(shapely.get_dimensions(parts) == 2) & ~shapely.is_empty(parts)])


def all_in_one(areas: np.ndarray, of: np.ndarray, many: int) -> np.ndarray:
    """Areas (n,) as so many multipolygons, each of the areas of its number (`of` (n,)), as `in_one` makes one."""
    parts, which = shapely.get_parts(areas, return_index=True)
    flat = (shapely.get_dimensions(parts) == 2) & ~shapely.is_empty(parts)
    order = np.argsort(of[which[flat]], kind="stable")
    out = np.full(many, shapely.MultiPolygon(), dtype=object)
    return shapely.multipolygons(parts[flat][order], indices=of[which[flat]][order], out=out)


def united(areas: BaseGeometry | Sequence[BaseGeometry]) -> BaseGeometry:
    """Valid areas as one: by growing them by nothing, twice as quick as uniting them pair by pair, which is done where
    that comes out crossing itself."""
    whole = in_one(areas)
    out = shapely.buffer(whole, 0.0)
    return out if shapely.is_valid(out) else shapely.union_all(shapely.make_valid(shapely.get_parts(whole)))


def made_good(ink: BaseGeometry, least_mm: float, slot_mm: float, was: BaseGeometry) -> BaseGeometry:
    """Ink with the waists that part when it shrinks by `least_mm` made good to it, and the slots beside them
    (narrower than twice `slot_mm`) filled. Only the ink about such places is looked at. `was`: the ink before vertices
    were left out of it, which may part it."""
    at = np.concatenate([_partings(was, shrunk(ink, 0.475 * least_mm)), _spurs(ink)])
    if not len(at):
        return ink
    about = shapely.union_all(shapely.box(*(at - 5.0 * slot_mm).T, *(at + 5.0 * slot_mm).T))
    rims = shapely.get_parts(about)
    local = in_one([shapely.clip_by_rect(ink, *r) for r in shapely.bounds(rims)] if len(rims) > 1
                   else shapely.clip_by_rect(ink, *about.bounds))
    if not shapely.is_valid(local):
        local = shapely.intersection(ink, about)
    thin = waists(local, least_mm)
    thin = thin[shapely.distance(thin, about.boundary) > least_mm]
    if not len(thin):
        return ink
    zone = shapely.union_all(shapely.buffer(thin, 3.4 * slot_mm, quad_segs=2))
    near, rim = shapely.intersection(local, zone), zone.boundary
    for _ in range(3):
        fat = lighter(shapely.union_all([near, *shapely.buffer(thin, 0.57 * least_mm, quad_segs=3)]))
        near = shapely.union(fat, shut(fat, 0.97 * slot_mm))
        thin = waists(near, least_mm)
        thin = thin[shapely.distance(thin, rim) > least_mm]
        if not len(thin):
            break
    return shapely.union(ink, near)


def _spurs(ink: BaseGeometry) -> np.ndarray:
    """Sharp tips (n, 2) of ink, as are left of a waist that all but closed."""
    rings, of = shapely.get_rings(shapely.get_parts(ink), return_index=True)
    if not len(rings):
        return np.zeros((0, 2))
    inner = np.concatenate([[False], of[1:] == of[:-1]])
    at, ring = shapely.get_coordinates(rings, return_index=True)
    z = at @ (1, 1j)
    way = np.diff(z)
    before = np.empty(len(z), complex)
    before[1:] = way
    first = np.concatenate([[0], np.flatnonzero(np.diff(ring)) + 1])
    last = np.append(first[1:], len(z)) - 1
    before[first] = z[last] - z[last - 1]
    after = np.append(way, 0)
    after[last] = after[first]
    turn = np.angle(after * before.conj()) * np.where(shapely.is_ccw(rings) != inner, 1.0, -1.0)[ring]
    turn[last] = 0.0                        # a ring's last point is its first again
    return at[turn > np.radians(SPUR_DEG)]


def _partings(ink: BaseGeometry, core: BaseGeometry) -> np.ndarray:
    """Places (n, 2) at which ink parts, or two of its holes or a hole and the outside run into one, when it shrinks
    to its `core`."""
    parts, cores = (p[shapely.get_dimensions(p) == 2] for p in (shapely.get_parts(ink), shapely.get_parts(core)))
    out = []
    owner = shapely.STRtree(parts).query(shapely.point_on_surface(cores), predicate="intersects")
    for i in np.flatnonzero(np.bincount(owner[1], minlength=len(parts)) > 1):
        mine = cores[owner[0][owner[1] == i]]
        mine = mine[np.argsort(-shapely.area(mine), kind="stable")]
        out += [shapely.shortest_line(small, in_one(mine[:k])) for k, small in enumerate(mine[1:], 1)]
    holes, of = _holes(parts)
    wide, _ = _holes(cores)
    inside = np.full(len(holes), -1)
    if len(wide) and len(holes):
        pair = shapely.STRtree(wide).query(shapely.point_on_surface(holes), predicate="intersects")
        inside[pair[0]] = pair[1]
    for k in np.flatnonzero(np.bincount(inside[inside >= 0], minlength=1) > 1):
        group = holes[inside == k]
        out += [shapely.shortest_line(one, in_one(group[:n])) for n, one in enumerate(group[1:], 1)]
    lost = inside < 0
    out += list(shapely.shortest_line(holes[lost], shapely.get_exterior_ring(parts[of[lost]])))
    lines = np.array([*out, None], dtype=object)[:-1]
    lines = lines[~shapely.is_empty(lines)]
    return shapely.get_coordinates(shapely.line_interpolate_point(lines, 0.5, normalized=True))


def _holes(parts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The holes of polygons as polygons, and which polygon each belongs to."""
    rings, of = shapely.get_rings(parts, return_index=True)
    inner = np.ones(len(rings), bool)
    inner[np.unique(of, return_index=True)[1]] = False
    return shapely.polygons(rings[inner]), of[inner]


def waists(ink: BaseGeometry, least_mm: float) -> np.ndarray:
    """Parts of ink that are thinner than `least_mm` and large enough to be seen: what an opening loses."""
    return _lost(ink, shrunk(ink, 0.475 * least_mm), least_mm)


def _lost(ink: BaseGeometry, core: BaseGeometry, least_mm: float) -> np.ndarray:
    firm = shapely.buffer(core, 0.53 * least_mm, quad_segs=3)
    thin = shapely.get_parts(shapely.difference(ink, firm))
    return thin[shapely.area(thin) > 0.05 * least_mm]
