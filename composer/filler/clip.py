"""What of a drawing is seen: everything but what lies behind something in front and its skin break.

Stored art is never clipped; this is a view of it. The cut runs parallel to what lies in front,
so that lines stop at an even break, as tattooers leave it.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, End, Layer, geometry_to_rings, rings_to_geometry
from composer.body.limb import Limb
from composer.body.patch import Patch
from composer.plan.model import Settings
from composer.plan.scene import Laid, Scene

QUAD = 16
"""Segments of a quarter circle in a margin; its chords fall short by 1 - cos(90 / 16 / 2 degrees)."""
SHORT = float(np.cos(np.pi / 4 / QUAD))


def margin(front: BaseGeometry, skin_break_mm: float) -> BaseGeometry:
    """Front silhouettes grown by the skin break. The chords of the growth are made good, so that
    nothing outside it is nearer than the break (GEOS alone falls short of it)."""
    if skin_break_mm <= 0:
        return front
    return shapely.buffer(front, skin_break_mm / SHORT, quad_segs=QUAD)


def visible(drawing: Drawing, front: BaseGeometry, skin_break_mm: float, least_mm: float = 0.3) -> Drawing:
    """The drawing less what `front` (silhouettes in the same chart, no margin) and the skin break hide.

    Only rings that touch the margin are cut; the rest are passed on as they are. Cut ends become
    'tucked'. What is left of a cut shape is opened by `least_mm`, so no sliver thinner than the
    needle and no crumb stays. Returns the same object when nothing is hidden.
    """
    if front.is_empty or not drawing.silhouette:
        return drawing
    return cut(drawing, margin(front, skin_break_mm), least_mm)


def cut(drawing: Drawing, hidden: BaseGeometry, least_mm: float = 0.3) -> Drawing:
    """The drawing less the area `hidden`, with clean ends (see `visible`)."""
    outline = area_of(drawing.silhouette)
    shapely.prepare(hidden)
    if hidden.is_empty or not shapely.intersects(hidden, outline):
        return drawing
    near = shapely.buffer(hidden, 3.0 * least_mm, quad_segs=3)
    layers = []
    for layer in drawing.layers:
        rings = _cut_rings(layer.rings, hidden, near, least_mm)
        if rings:
            layers.append(Layer(layer.role, rings))
    ends = []
    for e, gone in zip(drawing.ends, _within(hidden, drawing.ends), strict=True):
        if not gone:
            ends.append(e)
    ends += [End(x, y, "tucked") for x, y in _cut_ends(drawing, hidden)]
    silhouette = geometry_to_rings(shapely.difference(outline, hidden))
    return Drawing(silhouette, tuple(layers), tuple(ends), drawing.notes)


def _within(hidden: BaseGeometry, ends: tuple[End, ...]) -> np.ndarray:
    if not ends:
        return np.zeros(0, bool)
    xy = np.array([(e.x, e.y) for e in ends])
    return shapely.contains_xy(hidden, xy[:, 0], xy[:, 1])


def area_of(rings: tuple[np.ndarray, ...]) -> BaseGeometry:
    """Rings filled even-odd, as `rings_to_geometry`, but quick where no two rings cross."""
    whole = [r for r in rings if len(r) >= 3]
    if len(whole) < 3:
        return rings_to_geometry(whole)
    lines = np.array([shapely.linearrings(r) for r in whole], dtype=object)
    if not shapely.is_simple(lines).all() or len(shapely.STRtree(lines).query(lines, predicate="crosses")[0]):
        return rings_to_geometry(whole)
    return shapely.build_area(shapely.geometrycollections(lines))


def _cut_rings(rings: tuple[np.ndarray, ...], hidden: BaseGeometry, near: BaseGeometry,
               least: float) -> tuple[np.ndarray, ...]:
    """Rings filled even-odd, less `hidden`. Polygons that do not touch it keep their rings; of the
    others only what lies in `near`, along the cut, is tidied."""
    parts = shapely.get_parts(area_of(rings))
    parts = parts[shapely.get_dimensions(parts) == 2]
    touched = shapely.intersects(hidden, parts)
    if not touched.any():
        return rings
    left = shapely.union_all(shapely.difference(parts[touched], hidden))
    tidy = shapely.union_all([*clean(left, least), shapely.difference(left, near)])
    kept = [*parts[~touched], *no_crumbs(tidy, least)]
    return tuple(r for p in kept for r in geometry_to_rings(p))


def clean(shape: BaseGeometry, least_mm: float) -> np.ndarray:
    """A cut shape's parts without what no needle could put in: opened by `least_mm`, so hairs and
    the sharp corners of a slanting cut go and ends turn round."""
    r = least_mm / 2
    return no_crumbs(shapely.buffer(shapely.buffer(shape, -r, quad_segs=3), r * 1.02, quad_segs=4), least_mm)


def no_crumbs(shape: BaseGeometry, least_mm: float) -> np.ndarray:
    """Polygons of a geometry that are longer than three needles."""
    parts = shapely.get_parts(shape)
    parts = parts[(shapely.get_dimensions(parts) == 2) & ~shapely.is_empty(parts)]
    b = shapely.bounds(parts).reshape(-1, 4)
    return parts[np.hypot(b[:, 2] - b[:, 0], b[:, 3] - b[:, 1]) > 3.0 * least_mm]


def _cut_ends(drawing: Drawing, hidden: BaseGeometry) -> list[tuple[float, float]]:
    """Where the edge of `hidden` crosses line work: the middle of each crossing."""
    ink = shapely.union_all([area_of(la.rings) for la in drawing.layers if la.role in ("line", "black")])
    if ink.is_empty or not shapely.intersects(hidden, ink):
        return []
    cuts = shapely.get_parts(shapely.intersection(hidden.boundary, ink))
    return [(round(float(p.x), 3), round(float(p.y), 3)) for p in shapely.centroid(cuts)]


def in_chart(patch: Patch, laid: Laid, reach: tuple[float, float]) -> list[Polygon]:
    """A piece's outline in another piece's chart, as often as it comes by: each ring at every
    whole turn whose u-range meets `reach` (unwrapped turns). Invalid rings are repaired."""
    out = []
    lo, hi = laid.rings[0][:, 0].min(), laid.rings[0][:, 0].max()
    for ring in laid.rings[1:]:
        lo, hi = min(lo, ring[:, 0].min()), max(hi, ring[:, 0].max())
    for turn in range(int(np.ceil(reach[0] - hi)), int(np.floor(reach[1] - lo)) + 1):
        flat = tuple(patch.to_flat(_dense(r) + np.array([turn, 0.0])) for r in laid.rings)
        out.append(rings_to_geometry(flat))
    return out


def _dense(ring: np.ndarray, most_mm: float = 4.0) -> np.ndarray:
    """A ring on skin with vertices so near that a straight edge stays one in another chart."""
    nxt = np.roll(ring, -1, axis=0)
    n = np.maximum(np.ceil(np.hypot((nxt[:, 0] - ring[:, 0]) * 300, nxt[:, 1] - ring[:, 1]) / most_mm), 1).astype(int)
    if n.max() == 1:
        return ring
    return np.concatenate([a + (b - a) * (np.arange(k) / k)[:, None] for a, b, k in zip(ring, nxt, n, strict=True)])


def silhouettes(limb: Limb, patch: Patch, over: Iterable[Laid], u: tuple[float, float], s: tuple[float, float],
                pad_mm: float = 8.0) -> list[BaseGeometry]:
    """Outlines (no margin) of the pieces `over` in the chart `patch`, where they come within
    `pad_mm` of the stretch u (unwrapped turns) by s (mm)."""
    du = pad_mm / float(limb.girth(sum(s) / 2))
    out: list[BaseGeometry] = []
    for other in over:
        lo, hi = min(r[:, 1].min() for r in other.rings), max(r[:, 1].max() for r in other.rings)
        if lo <= s[1] + pad_mm and hi >= s[0] - pad_mm:
            out += in_chart(patch, other, (u[0] - du, u[1] + du))
    return out


def in_front(scene: Scene, laid: Laid, over: Iterable[Laid]) -> BaseGeometry:
    """Silhouettes (no margin) of the pieces `over`, in the chart of `laid`, where they come near it."""
    us = np.concatenate(laid.rings)
    (u0, s0), (u1, s1) = us.min(axis=0), us.max(axis=0)
    shapes = silhouettes(scene.limb, laid.patch, over, (u0, u1), (s0, s1))
    return shapely.union_all(shapes) if shapes else Polygon()


def covers(front: Laid, back: Laid) -> bool:
    """Whether `front` hides `back`: main pieces lie before every filler, else the greater depth
    (and, at one depth, the later id) lies in front."""
    a, b = front.piece, back.piece
    if a.id == b.id:
        return False
    if a.is_filler != b.is_filler:
        return b.is_filler
    return (a.depth, a.id) > (b.depth, b.id)


def visible_laid(scene: Scene, settings: Settings, only: Iterable[str] | None = None) -> dict[str, Drawing]:
    """What is seen of every piece (or of those named in `only`), each in its own patch chart, mm."""
    wanted = None if only is None else set(only)
    out = {}
    for laid in scene.laid:
        if wanted is not None and laid.piece.id not in wanted:
            continue
        front = in_front(scene, laid, [x for x in scene.laid if covers(x, laid)])
        out[laid.piece.id] = visible(laid.flat, front, settings.skin_break_mm, 0.9 * settings.hand.fine_mm)
    return out


def visible_fillers(scene: Scene, settings: Settings) -> dict[str, Drawing]:
    """What is seen of every filler: id -> drawing in the filler's own patch chart, mm."""
    return visible_laid(scene, settings, [x.piece.id for x in scene.laid if x.piece.is_filler])
