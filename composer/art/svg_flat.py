"""Shapes of an SVG as points, and strokes as areas."""

from __future__ import annotations

import numpy as np
import shapely
import svgelements as sv
from shapely.geometry.base import BaseGeometry

from composer.art.errors import ArtError

FAR_AWAY = 1e9
STRAY = "The drawing has a point that is no number or lies absurdly far away; delete stray points and save it again."
MOST_CROSSINGS = 30_000
"""Of one shape with itself: a scribble of 500 strokes across all of it. Twice as many take four times as long."""
_PROBES = 300
_MEETINGS = 2_000_000


def flattened(shape: sv.Shape) -> tuple[list[np.ndarray], list[np.ndarray]]:
    """Closed and open subpaths of a shape not reified, as points (n, 2) in px, fine enough for a stencil.

    Points are carried over by the shape's matrix once they are points: arcs stay arcs only while they are not skewed.
    Raises ArtError when a point is no number or lies absurdly far away.
    """
    closed, opened = [], []
    m = shape.transform
    matrix, shift = np.array([[m.a, m.b], [m.c, m.d]], float), np.array([m.e, m.f], float)
    scale = float(np.sqrt(abs(np.linalg.det(matrix))))
    for sub in sv.Path(shape).as_subpaths():
        pts: list[np.ndarray] = []
        shut = False
        for seg in sub:
            if isinstance(seg, sv.Move):
                pts.append(np.array([[seg.end.x, seg.end.y]]))
            elif isinstance(seg, sv.Close):
                shut = True
            elif isinstance(seg, sv.Line):
                pts.append(np.array([[seg.end.x, seg.end.y]]))
            else:
                rough = float(abs(seg.length(error=1e-2))) * scale
                n = int(np.clip(rough / 1.2, 6, 200))
                pts.append(np.asarray(seg.npoint(np.linspace(0, 1, n + 1)[1:]), float).reshape(-1, 2))
        if not pts:
            continue
        with np.errstate(invalid="ignore", over="ignore"):
            p = np.concatenate(pts) @ matrix + shift
        if not np.abs(p).max() < FAR_AWAY:
            raise ArtError(STRAY)
        if not shut and len(p) > 3 and np.hypot(*(p[0] - p[-1])) < 1e-3 * max(np.ptp(p, axis=0).max(), 1e-9):
            shut = True
        (closed if shut and len(p) > 2 else opened).append(p)
    if _crossings([*closed, *opened]) > MOST_CROSSINGS:
        raise ArtError(f"The lines of one shape in the drawing cross more than {MOST_CROSSINGS:,} times, which takes "
                       "too long to untangle; part the shape into several, or simplify it, and save it again.")
    return closed, opened


def _crossings(lines: list[np.ndarray]) -> float:
    """About how often the lines (n, 2) cross, by a few hundred of their pieces."""
    many = sum(map(len, lines))
    if many < 2 * MOST_CROSSINGS ** 0.5:
        return 0.0
    pieces = shapely.linestrings(np.concatenate([np.stack([p[:-1], p[1:]], axis=1) for p in lines if len(p) > 1]))
    count = int(np.clip(_MEETINGS / len(pieces), 20, _PROBES))
    probes = pieces[np.unique(np.linspace(0, len(pieces) - 1, count).astype(int))]
    return len(shapely.STRtree(pieces).query(probes, "crosses")[0]) / len(probes) * len(pieces) / 2


def stroked(shape: sv.Shape, rings: list[np.ndarray], lines: list[np.ndarray]) -> BaseGeometry:
    """What the shape's stroke covers, with its caps and joins (SVG 1.1, 11.4); `rings` and `lines` from `flattened`."""
    width = float(shape.implicit_stroke_width or 0)
    if not width > 0:
        return shapely.Polygon()
    said = shape.values
    look = {"cap_style": {"round": "round", "square": "square"}.get(said.get("stroke-linecap"), "flat"),
            "join_style": {"round": "round", "bevel": "bevel"}.get(said.get("stroke-linejoin"), "mitre"),
            "mitre_limit": 4.0, "quad_segs": 4}
    loops = [shapely.LinearRing(r).buffer(width / 2, **look) for r in rings]
    return shapely.union_all(loops + [shapely.LineString(ln).buffer(width / 2, **look) for ln in lines if len(ln) > 1])
