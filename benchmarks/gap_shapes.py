"""Twelve grounds of the shapes that gaps take between tattoo pieces: the test bed of every kind.

Deterministic, drawn by hand as control points; true scale (mm). `python benchmarks/gap_shapes.py
OUT.png` shows them.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from composer.art.brush import spline
from composer.filler.ground import Ground, Port

SKIN_BREAK_MM = 2.0
LINE_GAP_MM = 2.0
PIECE_DEPTH_MM = 26.0

Xy = tuple[float, float]
Flow = Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True)
class _Shape:
    """`outline` control points of the free skin (mm); `cuts` pairs of points: lines of bare skin
    that part one neighbour from the next; `islands` control points of pieces lying inside;
    `open_at` (x, y, radius): passages without a neighbour; `ports` places near which a tie
    meets a neighbour; `edge_below_mm`: y of a cuff."""

    outline: tuple[Xy, ...]
    cuts: tuple[tuple[Xy, Xy], ...]
    ports: tuple[Xy, ...]
    flow: Flow
    islands: tuple[tuple[Xy, ...], ...] = ()
    open_at: tuple[tuple[float, float, float], ...] = ()
    edge_below_mm: float | None = None


def _even(deg: float, bend_deg_per_mm: float = 0.0, along: float = 0.0) -> Flow:
    """A direction that turns slowly along the axis `along` (degrees)."""
    axis = np.array([np.cos(np.radians(along)), np.sin(np.radians(along))])

    def flow(xy: np.ndarray) -> np.ndarray:
        return np.radians(deg + bend_deg_per_mm * (np.asarray(xy, float) @ axis))

    return flow


def _round(x: float, y: float) -> Flow:
    """Circling about a point."""

    def flow(xy: np.ndarray) -> np.ndarray:
        d = np.asarray(xy, float) - (x, y)
        return np.arctan2(d[:, 1], d[:, 0]) + np.pi / 2

    return flow


def _arc(radius: float, width: float, start_deg: float, stop_deg: float, n: int, taper: bool) -> tuple[Xy, ...]:
    """Control points of a bent strip about the origin; with `taper` its ends run thin."""
    a = np.radians(np.linspace(start_deg, stop_deg, n))
    w = width / 2 * (np.sin(np.linspace(0.16, 0.84, n) * np.pi) if taper else np.ones(n))
    out = np.column_stack([(radius + w) * np.cos(a), (radius + w) * np.sin(a)])
    inn = np.column_stack([(radius - w) * np.cos(a), (radius - w) * np.sin(a)])[::-1]
    return tuple(map(tuple, np.round(np.vstack([out, inn]), 2).tolist()))


_SHAPES: dict[str, _Shape] = {
    "wide_pocket": _Shape(
        ((-34, -8), (-27, 12), (-30, 24), (-12, 21), (4, 27), (22, 22), (35, 27), (31, 8), (36, -10), (22, -20),
         (10, -17), (-4, -26), (-20, -19)),
        (((0, 0), (-46, 34)), ((0, 0), (52, 38)), ((0, 0), (56, -18)), ((0, 0), (-6, -52))),
        ((-32, 3), (4, 27), (33, 8), (-20, -19)), _even(12, 0.5)),
    "crescent": _Shape(
        _arc(44, 25, 28, 158, 9, True),
        (((0, 0), (50, 42)), ((0, 0), (-66, 42)), ((20, 40), (28, 80))),
        ((41, 27), (-44, 20), (0, 57), (6, 31)), _round(0, 0)),
    "triangle": _Shape(
        ((-30, -20), (-14, -14), (2, -17), (18, -13), (32, -19), (22, -4), (13, 12), (6, 33), (1, 36), (-3, 18),
         (-13, 3), (-24, -9)),
        (((0, 0), (-58, -40)), ((0, 0), (60, -38)), ((0, 0), (4, 70))),
        ((0, -17), (15, 8), (-12, 4)), _even(70, 0.3, 90)),
    "channel": _Shape(
        ((-66, -6), (-48, -2), (-30, -5), (-14, -9), (2, -17), (16, -15), (28, -4), (44, 1), (62, -3), (64, 8),
         (46, 14), (30, 9), (14, 13), (0, 15), (-16, 10), (-32, 9), (-50, 12), (-66, 6)),
        (((-26, 0), (-24, 44)), ((38, 5), (36, 50)), ((-10, 0), (-14, -48)), ((30, 0), (36, -44))),
        ((-60, -4), (60, -3), (2, -17), (-8, 13)), _even(4, 0.12), open_at=((-84, 0, 20), (82, 3, 20))),
    "hourglass": _Shape(
        ((-22, 38), (-23, 22), (-14, 10), (-6, 2), (-7, -8), (-15, -18), (-22, -34), (-6, -38), (10, -34), (23, -37),
         (20, -20), (10, -9), (7, 1), (9, 11), (17, 22), (23, 36), (8, 41), (-8, 36)),
        (((0, 20), (-54, 66)), ((0, 20), (50, 70)), ((0, -20), (-52, -62)), ((0, -20), (54, -64))),
        ((0, 39), (0, -37), (-20, 16), (16, -15)), _even(88, 0.15, 90)),
    "ring_remnant": _Shape(
        _arc(31, 18, -40, 215, 15, False),
        (((0, 0), (60, 52)), ((0, 0), (-58, 60)), ((0, 0), (-70, -12)), ((0, 0), (70, 4))),
        ((28, -29), (-32, -26), (0, 40), (0, 22), (40, 4)), _round(0, 0)),
    "cuff_strip": _Shape(
        ((-74, -11), (-74, 8), (-56, 12), (-38, 7), (-22, 14), (-4, 18), (14, 10), (30, 6), (48, 13), (64, 9),
         (74, 12), (74, -11), (40, -11), (0, -11), (-40, -11)),
        (((-34, 0), (-38, 50)), ((20, 0), (20, 50)), ((58, 0), (62, 50))),
        ((-56, 12), (0, 17), (48, 13), (-10, -11)), _even(2, 0.05), edge_below_mm=-13.2,
        open_at=((-90, 0, 18), (90, 0, 18))),
    "diamond": _Shape(
        ((0, -17), (8, -7), (15, 1), (7, 8), (1, 18), (-6, 9), (-13, 1), (-7, -7)),
        (((0, 0), (0, -54)), ((0, 0), (48, 2)), ((0, 0), (2, 56)), ((0, 0), (-46, 2))),
        ((9, 7), (-8, -8), (-9, 8)), _even(60)),
    "ell": _Shape(
        ((-36, 38), (-36, 14), (-33, -8), (-35, -27), (-14, -30), (6, -27), (24, -31), (38, -28), (39, -12),
         (24, -8), (6, -10), (-8, -6), (-14, 6), (-12, 22), (-15, 38)),
        (((-24, -18), (-70, -60)), ((-20, 0), (-66, 6)), ((10, -18), (12, -70))),
        ((-25, 39), (39, -20), (-10, -8), (-35, -10)), _even(-45, 0.9, 45), open_at=((-26, 56, 19),)),
    "tall_leaf": _Shape(
        ((2, -58), (8, -44), (16, -26), (18, -6), (15, 14), (10, 34), (2, 54), (-3, 58), (-8, 42), (-15, 22),
         (-17, 2), (-14, -20), (-7, -42)),
        (((0, 0), (4, -96)), ((0, 10), (60, 16)), ((0, 0), (-4, 96)), ((0, -10), (-60, -16))),
        ((14, -32), (-12, 32), (17, 4), (-16, -6)), _even(90, 0.12, 90)),
    "big_field": _Shape(
        ((-58, -36), (-60, -10), (-54, 16), (-58, 40), (-34, 44), (-10, 40), (14, 46), (40, 42), (58, 46), (55, 20),
         (60, -6), (54, -40), (30, -38), (6, -44), (-20, -39), (-42, -44)),
        (((0, 0), (-92, 70)), ((0, 0), (94, 74)), ((0, 0), (90, -66)), ((0, 0), (-90, -70)), ((0, 0), (2, 86))),
        ((-57, 4), (57, 8), (2, 44), (-8, -42), (16, 10), (-16, -6)), _even(24, 0.25, 60),
        islands=(((4, -18), (16, -8), (20, 6), (10, 19), (-6, 17), (-17, 8), (-16, -8), (-8, -15)),)),
    "thin_crooked": _Shape(
        ((-48, -20), (-34, -16), (-22, -6), (-10, -3), (2, -7), (14, -14), (26, -10), (36, 2), (48, 8), (48, 18),
         (34, 13), (24, 2), (15, -3), (4, 4), (-10, 9), (-26, 5), (-38, -5), (-49, -10)),
        (((-28, 0), (-40, 46)), ((16, 0), (8, 46)), ((-6, 0), (-10, -50)), ((30, 0), (48, -40))),
        ((-46, -17), (46, 8), (-10, 9), (14, -14)), _even(14, 0.4), open_at=((-64, -22, 16), (64, 19, 16))),
}


def _front(shape: _Shape, gap: Polygon) -> BaseGeometry:
    """Neighbours: the skin round the gap beyond the skin break, parted at the cuts, rounded off."""
    clear = gap.buffer(SKIN_BREAK_MM + 0.03, quad_segs=24)
    band = gap.buffer(PIECE_DEPTH_MM, quad_segs=12).difference(clear)
    # the outer side is bent a little, so that neighbours are no parallel bands
    x0, y0, x1, y1 = gap.bounds
    knobs = [Point(x, y).buffer(13) for x, y in ((x0 - 14, y1 + 6), (x1 + 16, y0 - 4), ((x0 + x1) / 2, y1 + 17))]
    band = shapely.union_all([band, *knobs]).difference(clear)
    for a, b in shape.cuts:
        band = band.difference(LineString([a, b]).buffer(2.2))
    for x, y, r in shape.open_at:
        band = band.difference(Point(x, y).buffer(r))
    if shape.edge_below_mm is not None:
        band = band.difference(box(-999, -999, 999, gap.bounds[1] + 3.0))
    band = band.buffer(-3.0, quad_segs=12).buffer(3.0, quad_segs=12)
    pieces = [p for p in getattr(band, "geoms", [band]) if p.area > 60]
    return shapely.union_all([*pieces, *(Polygon(spline(i, closed=True)) for i in shape.islands)])


def _ports(shape: _Shape, front: BaseGeometry, free: BaseGeometry) -> tuple[Port, ...]:
    pieces = list(getattr(front, "geoms", [front]))
    out = []
    for x, y in shape.ports:
        near = [p.boundary.distance(Point(x, y)) for p in pieces]
        i = int(np.argmin(near))
        if near[i] > 14.0:
            if shape.edge_below_mm is not None:
                out.append(Port(x, shape.edge_below_mm, 90.0, "border:far"))
            continue
        line = pieces[i].boundary
        at = line.interpolate(line.project(Point(x, y)))
        inward = shapely.shortest_line(at, free)
        a, b = np.asarray(inward.coords)
        deg = float(np.degrees(np.arctan2(b[1] - a[1], b[0] - a[0])))
        out.append(Port(round(at.x, 3), round(at.y, 3), round(deg, 2), f"piece-{i}"))
    return tuple(out)


def _ground(shape: _Shape) -> Ground:
    gap = Polygon(spline(shape.outline, closed=True)).buffer(0)
    edge: BaseGeometry = Polygon()
    if shape.edge_below_mm is not None:
        edge = box(gap.bounds[0] - 20, shape.edge_below_mm - 0.5, gap.bounds[2] + 20, shape.edge_below_mm)
        gap = gap.intersection(box(-999, shape.edge_below_mm, 999, 999))
    front = _front(shape, gap)
    free = gap.difference(front.buffer(SKIN_BREAK_MM + 0.02, quad_segs=24))
    free = max(getattr(free, "geoms", [free]), key=lambda g: g.area)
    region = gap.buffer(18, quad_segs=8)
    if shape.edge_below_mm is not None:
        region = region.intersection(box(-999, shape.edge_below_mm, 999, 999))
    return Ground(free=free, region=region, front=front, skin_break_mm=SKIN_BREAK_MM, line_gap_mm=LINE_GAP_MM,
                  flow=shape.flow, ports=_ports(shape, front, free), edge=edge)


def shapes() -> dict[str, Ground]:
    """Name -> ground, the same in every run."""
    return {name: _ground(shape) for name, shape in _SHAPES.items()}


def svg_path(geometry: BaseGeometry) -> str:
    """An SVG path (y down) of a polygon geometry, holes kept."""
    from composer.art.drawing import geometry_to_rings

    return " ".join("M" + " L".join(f"{x:.2f},{-y:.2f}" for x, y in r) + "Z" for r in geometry_to_rings(geometry))


def ground_svg(ground: Ground, inner: str = "") -> str:
    """One ground as SVG group content: neighbours grey, free skin pale, ports as small arrows."""
    ports = "".join(
        f'<path d="M{p.x:.2f},{-p.y:.2f} l{4 * np.cos(np.radians(p.out_deg)):.2f},'
        f'{-4 * np.sin(np.radians(p.out_deg)):.2f}" stroke="#5b3fa0" stroke-width=".5"/>' for p in ground.ports)
    return (f'<path d="{svg_path(ground.free)}" fill="#faf5ec" fill-rule="evenodd"/>{inner}'
            f'<path d="{svg_path(ground.front)}" fill="#d9d4cc" stroke="#8b8378" stroke-width=".3" '
            f'fill-rule="evenodd"/><path d="{svg_path(ground.edge)}" fill="#b9b0a2"/>{ports}')


def main() -> None:
    """Draw the sheet of grounds."""
    import subprocess
    from pathlib import Path

    out = Path(sys.argv[1] if len(sys.argv) > 1 else "gap_shapes.png")
    cells = []
    for i, (name, g) in enumerate(shapes().items()):
        x0, y0, x1, y1 = g.free.buffer(20).bounds
        cx, cy = (i % 4) * 170 + 85 - (x0 + x1) / 2, (i // 4) * 150 + 75 + (y0 + y1) / 2
        cells.append(f'<g transform="translate({cx:.1f},{cy:.1f})">{ground_svg(g)}</g>'
                     f'<text x="{(i % 4) * 170 + 6}" y="{(i // 4) * 150 + 8}" font-size="6">{name} '
                     f'{g.free.area:.0f} mm2, {len(g.ports)} ports</text>')
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 680 450" width="1700">{"".join(cells)}</svg>'
    made = subprocess.run(["rsvg-convert", "-b", "white", "-o", str(out)], input=svg.encode(), check=False)
    sys.exit(made.returncode)


if __name__ == "__main__":
    main()
