"""Pixels made smaller, and fields of numbers turned into outlines."""

from __future__ import annotations

import numpy as np
import shapely
from scipy import ndimage
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import rings_to_geometry
from composer.art.level_rings import level_rings


def reduced(pixels: np.ndarray, most: int) -> tuple[np.ndarray, float]:
    """A uint8 picture (h, w) or (h, w, 3) averaged down to at most `most` pixels, and how many of the old
    pixels one new one is wide (1.0 where nothing was done)."""
    h, w = pixels.shape[:2]
    share = (most / (h * w)) ** 0.5
    if share >= 1:
        return pixels, 1.0
    from PIL import Image

    size = (max(1, round(w * share)), max(1, round(h * share)))
    im = Image.fromarray(np.ascontiguousarray(pixels))
    return np.asarray(im.resize(size, Image.Resampling.BOX, reducing_gap=3.0)), (w / size[0] * h / size[1]) ** 0.5


def stretched(field: np.ndarray, shape: tuple[int, int]) -> np.ndarray:
    """A float field (h, w) drawn out to another shape, straight between its pixels' middles; float32."""
    from PIL import Image

    im = Image.fromarray(np.ascontiguousarray(field, dtype=np.float32))
    return np.asarray(im.resize((shape[1], shape[0]), Image.Resampling.BILINEAR))


def contours(field: np.ndarray, level: float, scale: float = 1.0) -> list[np.ndarray]:
    """Rings (n, 2), x right and y down, implicitly closed, where a field (h, w) crosses the level: marching squares
    (Lorensen and Cline 1987 in two dimensions), so between pixels. Pixel (0, 0) covers 0..1 each way; `scale`
    multiplies the result. What lies beyond the edge counts as below the level."""
    low = min(2 * level - float(field.max(initial=level)), level - 1e-6)  # halfway between pixels lies the edge
    points, sizes = level_rings(np.pad(field, 1, constant_values=low), level)
    rings = np.split((points[:, ::-1] - 0.5) * scale, np.cumsum(sizes)[:-1]) if len(sizes) else []
    return [r for r in rings if len(r) >= 3]


def smooth_ring(ring: np.ndarray, rounds: int = 1) -> np.ndarray:
    """A closed ring with its steps taken out: the filter of Taubin 1995 (0.5 forward, 0.53 back), which does not
    shrink it."""
    return _smooth(ring, np.array([len(ring)]), rounds)


def _smooth(points: np.ndarray, sizes: np.ndarray, rounds: int) -> np.ndarray:
    """`smooth_ring` for many rings laid end to end; rings of eight points or fewer stay as they are."""
    stop = np.cumsum(sizes)
    after, before = np.arange(1, len(points) + 1), np.arange(-1, len(points) - 1)
    after[stop - 1], before[stop - sizes] = stop - sizes, stop - 1
    long = np.repeat(sizes > 8, sizes)[:, None]
    p = points
    for _ in range(rounds):
        for k in (0.5, -0.53):
            p = p + (k * long) * ((p[before] + p[after]) / 2 - p)
    return p


def area_of(field: np.ndarray, level: float, scale: float = 1.0, tolerance: float = 0.15, rounds: int = 2,
            crumb: float = 0.0) -> BaseGeometry:
    """The area where a field is above the level, as polygons with holes in the frame of `contours`. Rings are
    smoothed, thinned by `tolerance` (in the result's unit), and left out where they hold less than `crumb`."""
    rings = contours(field, level, scale)
    if not rings:
        return Polygon()
    sizes = np.array([len(r) for r in rings])
    points = _smooth(np.concatenate(rings), sizes, rounds)
    forms = shapely.polygons(shapely.linearrings(points, indices=np.repeat(np.arange(len(sizes)), sizes)))
    forms = shapely.simplify(forms[shapely.area(forms) >= max(crumb, 1e-12)], tolerance)
    forms = forms[~shapely.is_empty(forms) & (shapely.area(forms) > 0)]
    return rings_to_geometry([shapely.get_coordinates(r)[:-1] for r in shapely.get_exterior_ring(forms)])


def cut_to(g: BaseGeometry, area: BaseGeometry) -> BaseGeometry:
    """What of `g` lies in the area; `g` itself, without a look at its edges, where the area is an upright box round
    it, as a whole picture is."""
    x0, y0, x1, y1 = area.bounds
    a, b, c, d = g.bounds if not g.is_empty else (x0, y0, x1, y1)
    boxed = area.geom_type == "Polygon" and area.area >= (1 - 1e-12) * (x1 - x0) * (y1 - y0)
    return g if boxed and a >= x0 and b >= y0 and c <= x1 and d <= y1 else g.intersection(area)


def polygons(area: BaseGeometry) -> list[Polygon]:
    """The polygons of a geometry."""
    return [g for g in getattr(area, "geoms", [area]) if isinstance(g, Polygon) and not g.is_empty]


def outer_first(parts: np.ndarray) -> np.ndarray:
    """Geometries so that what lies in a hole of another comes after it, as painting them with their holes needs."""
    x0, y0, x1, y1 = shapely.bounds(parts).T
    return parts[np.argsort(-(x1 - x0) * (y1 - y0), kind="stable")]


def painted(area: BaseGeometry, shape: tuple[int, int], scale: float = 1.0) -> np.ndarray:
    """Mask (h, w) bool of the pixels whose middle lies in the area; `scale` is the area's units a pixel. Every row of
    middles turns from outside to inside and back where an edge crosses it."""
    h, w = shape
    rings = shapely.get_rings(np.array(polygons(area), dtype=object))
    xy, of = shapely.get_coordinates(rings, return_index=True)
    if not len(xy):
        return np.zeros(shape, bool)
    xy, on = xy / scale - 0.5, of[1:] == of[:-1]
    (ax, ay), (bx, by) = xy[:-1][on].T, xy[1:][on].T
    low, high = np.minimum(ay, by), np.maximum(ay, by)
    first = np.clip(np.ceil(low), 0, h).astype(int)                  # rows whose middle the edge goes past
    number = np.clip(np.ceil(high), 0, h).astype(int) - first
    edge = np.repeat(np.arange(len(ax)), number)
    row = np.arange(len(edge)) - np.repeat(np.cumsum(number) - number, number) + first[edge]
    x = ax[edge] + (row - ay[edge]) * ((bx - ax)[edge] / (by - ay)[edge])
    at, times = np.unique(row * (w + 1) + np.clip(np.ceil(x), 0, w).astype(int), return_counts=True)
    turns = np.zeros((h, w + 1), bool)
    turns.ravel()[at[times % 2 == 1]] = True
    return np.logical_xor.accumulate(turns, axis=1)[:, :w]


def settled_edge(colour: np.ndarray, field: np.ndarray, band: np.ndarray, reach: float) -> np.ndarray:
    """Field (h, w) 0..1 of a subject with its edge set where the colour (h, w, 3) changes over from the subject's
    side to the ground's. Only within `band` (h, w) bool; the two colours come from just beside it, `reach` pixels
    off or so."""
    sure = ~band
    mix = []
    for side in (sure & (field > 0.5), sure & (field <= 0.5)):
        weight = ndimage.gaussian_filter(side.astype(np.float32), reach)
        mean = ndimage.gaussian_filter(colour * side[..., None], (reach, reach, 0))
        mix.append((mean / np.maximum(weight, 1e-6)[..., None], weight))
    (a, wa), (b, wb) = mix
    along = a - b
    size = (along**2).sum(axis=2)
    share = ((colour - b) * along).sum(axis=2) / np.maximum(size, 1e-6)
    clear = band & (wa > 1e-3) & (wb > 1e-3) & (size > 64)
    out = np.where(clear, 0.65 * np.clip(share, 0, 1) + 0.35 * field, field)
    return ndimage.gaussian_filter(out.astype(np.float32), 0.9)
