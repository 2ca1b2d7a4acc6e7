"""What of a drawing goes on a stencil: line work as it stands, blacks as outlines, shade borders as dots, highlights
dashed.

That blacks are outlined with a small cross, the borders of shades dotted and highlights marked is common practice, no
published source; the spacings are the house's own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import LineString, MultiLineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing

DOT_EVERY_MM = {"dark": 1.1, "mid": 2.0, "light": 3.2}
"""From dot to dot along the border of each shade, mm."""
OPEN, OPEN_DASH_MM, OPEN_MM2 = "open", (2.0, 1.4), 3.0
"""What stands in a highlight that is to be left open, dash and gap of the line round it, mm, and the smallest that is
marked, mm2."""
COLOUR_EVERY_MM = 4.6
"""From dot to dot round an area of colour, mm; its name stands inside."""
NAME_MM = 2.6
"""A colour is named where a circle of this radius is free for it."""
DOT_MM = 0.42
"""Across one dot."""
BLACK_LINE_MM = 0.35
"""Line round a solid black; it runs inside the edge."""
SOLID_MM = 1.6
"""Black that is nowhere wider than this is line work."""
CROSS_MM = 1.3
"""A solid black is crossed where a circle of this radius lies in it."""
HUG_MM = 0.5
"""A border within this of line work is told by the line."""

Map = Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True)
class StencilArt:
    """In mm, x right, y up. `lines` inked areas; `blacks` lines inside the edge of solid blacks;
    `crosses` (n, 2) middles of solid blacks; `borders` (shade, OPEN or name of a colour, lines);
    `names` what is written in highlights and areas of colour, and where (1, 2)."""

    lines: BaseGeometry
    blacks: BaseGeometry
    crosses: np.ndarray
    borders: tuple[tuple[str, BaseGeometry], ...]
    names: tuple[tuple[str, np.ndarray], ...] = ()

    def mapped(self, to_paper: Map, within: BaseGeometry | None = None, dense_mm: float | None = None) -> StencilArt:
        """The part that lies within a region, carried over by a map of points; edges longer than
        `dense_mm` are divided first, so that they bend as the map does."""
        def cut(g: BaseGeometry) -> BaseGeometry:
            if within is not None:
                try:
                    g = shapely.intersection(g, within)
                except shapely.GEOSException:       # carried over so bent that its lines cross themselves
                    g = shapely.intersection(shapely.make_valid(g), within)
            return shapely.segmentize(g, dense_mm) if dense_mm else g

        def here(p: np.ndarray) -> bool:
            return within is None or bool(shapely.contains_xy(within, *p[0]))

        spots = self.crosses
        if within is not None and len(spots):
            spots = spots[shapely.contains_xy(within, spots[:, 0], spots[:, 1])]
        lines, blacks, *borders = carried([cut(g) for g in (self.lines, self.blacks, *(g for _, g in self.borders))],
                                          to_paper)
        return replace(self, lines=areas_of(lines), blacks=blacks,
                       crosses=to_paper(spots) if len(spots) else spots,
                       borders=tuple((r, g) for (r, _), g in zip(self.borders, borders, strict=True)),
                       names=tuple((n, to_paper(p)) for n, p in self.names if here(p)))


def carried(geometries: Sequence[BaseGeometry], by: Map) -> list[BaseGeometry]:
    """Geometries under a map of points (n, 2), which is asked once."""
    return list(shapely.transform(np.array(geometries, object), by))


def art_of(drawings: list[Drawing], shades: bool = True, colours: Mapping[str, BaseGeometry] | None = None
           ) -> StencilArt:
    """Stencil art of drawings that lie in one chart. Without `shades` the borders of shades are left away, and those of
    areas of colour, given by name."""
    def area(role: str) -> BaseGeometry:
        found = [la.area for d in drawings for la in d.layers if la.role == role]
        return areas_of(found[0]) if len(found) == 1 else shapely.union_all(found)

    lines, black = area("line"), area("black")
    solid, thin = _parted(black)
    lines = shapely.union(lines, shapely.multipolygons(thin)) if len(thin) else lines
    edges = shapely.boundary(shapely.buffer(shapely.multipolygons(solid), -BLACK_LINE_MM / 2, quad_segs=3))
    blacks = _long(shapely.difference(edges, lines), 0.8)
    spots = [p for g in solid if (p := _middle(g)) is not None]
    borders: list[tuple[str, BaseGeometry]] = []
    names: list[tuple[str, np.ndarray]] = []
    if shades and any(la.role in DOT_EVERY_MM for d in drawings for la in d.layers):
        told = shapely.buffer(shapely.union(lines, shapely.union_all(solid)), HUG_MM, quad_segs=2)
        tones = {role: area(role) for role in ("dark", "mid", "light")}
        lights = _highlights(shapely.union_all([d.outline for d in drawings]), [lines, *solid],
                             shapely.union_all(list(tones.values())))
        if lights:
            borders.append((OPEN, shapely.multilinestrings([p.exterior for p in lights])))
            told = shapely.union(told, shapely.buffer(borders[0][1], HUG_MM, quad_segs=2))
            names += [(OPEN, np.array([at])) for p in lights if (at := _room(p)) is not None]
        for role, shade in tones.items():
            if not shade.is_empty:
                borders.append((role, _long(shapely.difference(shapely.boundary(shade), told), 2.0)))
                told = shapely.union(told, shapely.buffer(borders[-1][1], HUG_MM, quad_segs=2))
    if shades and colours:
        crossed = shapely.union_all(shapely.buffer(shapely.points(np.array(spots).reshape(-1, 2)), 1.5))
        told = shapely.buffer(shapely.union_all([lines, *solid, *(g for _, g in borders)]), HUG_MM, quad_segs=2)
        for name, patch in colours.items():
            borders.append((name, _long(shapely.difference(shapely.boundary(patch), told), 2.0)))
            told = shapely.union(told, shapely.buffer(borders[-1][1], HUG_MM, quad_segs=2))
            free = shapely.difference(patch, shapely.union(lines, crossed))
            names += [(name, np.array([at])) for g in shapely.get_parts(areas_of(patch))
                      if (at := _room(shapely.intersection(free, g))) is not None]
    return StencilArt(areas_of(lines), blacks, np.array(spots).reshape(-1, 2), tuple(borders), tuple(names))


def _highlights(outline: BaseGeometry, inked: list[BaseGeometry], shade: BaseGeometry) -> list[Polygon]:
    """Bare skin that lies in shade: patches of the outline without ink, clear of its rim, that shade borders all round
    or nearly so."""
    bare = shapely.difference(outline, shapely.union_all([*inked, shade]))
    parts = shapely.get_parts(areas_of(shapely.buffer(shapely.buffer(bare, -0.3, quad_segs=3), 0.3, quad_segs=3)))
    parts = parts[(shapely.area(parts) >= OPEN_MM2) & (shapely.distance(parts, shapely.boundary(outline)) > 0.8)]
    rims = shapely.get_exterior_ring(parts)
    beside = shapely.length(shapely.intersection(rims, shapely.buffer(shade, 0.4, quad_segs=2)))
    return list(parts[beside > 0.6 * shapely.length(rims)])


def dots(lines: BaseGeometry, every_mm: float) -> np.ndarray:
    """Middles (n, 2) of dots along lines, evenly and as near to `every_mm` as each length allows."""
    out = []
    for line in _lines(lines):
        n = max(2, round(line.length / every_mm) + 1)
        at = np.linspace(0, line.length, n)[: n - 1 if line.is_ring else n]
        out.append(shapely.get_coordinates(shapely.line_interpolate_point(line, at)))
    return np.concatenate(out) if out else np.zeros((0, 2))


def _parted(black: BaseGeometry) -> tuple[np.ndarray, np.ndarray]:
    """The polygons of black that are wide somewhere, and the others."""
    parts = shapely.get_parts(areas_of(black))
    x0, y0, x1, y1 = shapely.bounds(parts).T
    wide = np.minimum(x1 - x0, y1 - y0) >= SOLID_MM
    wide[wide] = ~shapely.is_empty(shapely.buffer(parts[wide], -SOLID_MM / 2, quad_segs=2))
    return parts[wide], parts[~wide]


def _middle(solid: Polygon) -> tuple[float, float] | None:
    """Where a cross goes: the middle of the widest place, None where it is too narrow for one."""
    x0, y0, x1, y1 = solid.bounds
    if min(x1 - x0, y1 - y0) < 2 * CROSS_MM:
        return None
    radius = shapely.maximum_inscribed_circle(shapely.simplify(solid, 0.2), 0.2)
    if radius.length < CROSS_MM + 0.5 and shapely.buffer(solid, -CROSS_MM, quad_segs=2).is_empty:
        return None
    p: Point = radius.interpolate(0)
    return float(p.x), float(p.y)


def _room(free: BaseGeometry) -> tuple[float, float] | None:
    """Where a word goes: the middle of the widest free place, None where there is none wide enough."""
    wide = [p for p in shapely.get_parts(areas_of(free)) if not shapely.buffer(p, -NAME_MM, quad_segs=2).is_empty]
    if not wide:
        return None
    circle = max((shapely.maximum_inscribed_circle(shapely.simplify(p, 0.2), 0.3) for p in wide), key=shapely.length)
    return tuple(circle.coords[0])


def areas_of(g: BaseGeometry) -> BaseGeometry:
    """The polygons of a geometry, out of whatever collections they stand in."""
    parts = shapely.get_parts(g)
    while (shapely.get_type_id(parts) > 3).any():
        parts = shapely.get_parts(parts)
    parts = parts[(shapely.get_dimensions(parts) == 2) & ~shapely.is_empty(parts)]
    return shapely.multipolygons(parts) if len(parts) else shapely.MultiPolygon()


def _lines(g: BaseGeometry) -> list[LineString]:
    merged = shapely.line_merge(g) if g.geom_type == "MultiLineString" else g
    return [p for p in shapely.get_parts(merged) if p.geom_type in ("LineString", "LinearRing") and not p.is_empty]


def _long(g: BaseGeometry, least_mm: float) -> BaseGeometry:
    """Lines that are at least so long."""
    if g.geom_type == "GeometryCollection":
        g = shapely.union_all([p for p in g.geoms if p.geom_type in ("LineString", "MultiLineString")])
    return MultiLineString([p for p in _lines(g) if p.length >= least_mm])
