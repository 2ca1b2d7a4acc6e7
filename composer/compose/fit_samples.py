"""A piece as points: spread evenly over it, and all along its edge; what readings are taken at."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from threading import Lock
from typing import TypeVar

import numpy as np
import shapely

from composer.art.drawing import Drawing
from composer.body.limb import Limb
from composer.body.panel import Panel
from composer.plan.scene import Laid

INNER, STEP_MM = 110, 1.2
_KEPT = 4096
_lock = Lock()

Found = TypeVar("Found")


class Memo(dict[Hashable, Found]):
    """What was worked out once, by name; it forgets the oldest beyond `most`."""

    def __init__(self, most: int = _KEPT) -> None:
        super().__init__()
        self.most = most

    def get_or(self, key: Hashable, make: Callable[[], Found]) -> Found:
        found = self.get(key)
        if found is None:
            found = make()
            self.put(key, found)
        return found

    def put(self, key: Hashable, value: Found) -> None:
        with _lock:
            while len(self) >= self.most:
                self.pop(next(iter(self)), None)
            self[key] = value


@dataclass(frozen=True, eq=False)
class Samples:
    """Points of a piece in its patch chart, mm: `inner` (k, 2) each for the same area of paper;
    `edge` (n, 2) along the outline at most STEP_MM apart, ring after ring, `ring_start` where each
    ring begins. `size` (width, height), `area_mm2` of paper. `shell`: the ring in which all others are holes, None
    where the piece is made in another way."""

    inner: np.ndarray
    edge: np.ndarray
    ring_start: np.ndarray
    size: tuple[float, float]
    area_mm2: float
    shell: int | None = None


_samples: Memo[Samples] = Memo()


def key_of(laid: Laid) -> Hashable:
    """A name for a piece as it lies: drawing, patch, and where two of its points fall in it (a piece
    that leans in over a join has a turn that its own numbers don't tell)."""
    a, b = laid.flat.silhouette[0][0], laid.flat.silhouette[-1][-1]
    return laid.piece.art, laid.patch, *map(float, a), *map(float, b)


def samples_of(laid: Laid) -> Samples:
    """Points of a laid piece (kept)."""
    key = key_of(laid)
    return _samples.get_or((key[0], *key[2:]), lambda: take_samples(laid.flat))  # type: ignore[index]


def take_samples(drawing: Drawing, inner: int = INNER, step_mm: float = STEP_MM) -> Samples:
    """Points of a drawing as it stands. The inner ones lie on a triangular lattice."""
    rings = [np.asarray(r, float) for r in drawing.silhouette if len(r) >= 3]
    every, start = _walked(rings, step_mm)
    x0, y0, x1, y1 = box_of(every)
    low, high = np.array([x0, y0]), np.array([x1, y1])
    outline = drawing.outline
    area = float(outline.area)
    return Samples(_lattice(outline, area, low, high, inner), every, start,
                   (float(high[0] - low[0]), float(high[1] - low[1])), area, _shell(rings, outline))


def _shell(rings: list[np.ndarray], outline: shapely.Geometry) -> int | None:
    """Which of the rings bounds the outline where the others, as they are, are its holes."""
    if outline.geom_type != "Polygon" or shapely.get_num_interior_rings(outline) + 1 != len(rings):
        return None
    corners = shapely.get_num_coordinates(outline)
    if corners != sum(len(r) + 1 for r in rings):
        return None
    return int(np.argmax([np.ptp(r[:, 0]) for r in rings]))


def _lattice(outline: shapely.Geometry, area: float, low: np.ndarray, high: np.ndarray, count: int) -> np.ndarray:
    step = np.sqrt(max(area, 1.0) / count)
    rows = np.arange(low[1] + step / 2, high[1], step)
    x = np.arange(low[0] - step, high[0] + step, step)
    gx = (x[None, :] + np.where(np.arange(len(rows)) % 2, step / 2, 0.0)[:, None]).ravel()
    gy = np.repeat(rows, len(x))
    shapely.prepare(outline)
    inside = shapely.contains_xy(outline, gx, gy)
    if not inside.any():
        return np.array([shapely.point_on_surface(outline).coords[0]]) if area > 0 else np.array([(low + high) / 2])
    return np.column_stack([gx[inside], gy[inside]])


def box_of(xy: np.ndarray) -> tuple[float, float, float, float]:
    """Bounds x0, y0, x1, y1 of points (n, 2); column by column, which is several times sooner than by rows."""
    x, y = np.ascontiguousarray(xy.T)
    return float(x.min()), float(y.min()), float(x.max()), float(y.max())


def walk(ring: np.ndarray, step_mm: float) -> np.ndarray:
    """The ring (n, 2) with points put in so that none lie further apart than `step_mm`."""
    return _walked([np.asarray(ring, float)], step_mm)[0]


def _walked(rings: list[np.ndarray], step_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """The same of several, one after the other (n, 2), and where each begins."""
    xy = np.concatenate(rings)
    size = np.array([len(r) for r in rings])
    first = np.cumsum(size) - size
    after = np.arange(1, len(xy) + 1)
    after[first + size - 1] = first
    side = xy[after] - xy
    n = np.maximum(1, np.ceil(np.hypot(*side.T) / step_mm)).astype(int)
    at = np.repeat(np.arange(len(xy)), n)
    before = np.cumsum(n) - n
    k = np.arange(len(at)) - before[at]
    return xy[at] + side[at] * (k / n[at])[:, None], before[first]


def inside_limb(limb: Limb | Panel, us: np.ndarray) -> np.ndarray:
    """Which skin points (n, 2) are taped skin; all of them when none is."""
    within = limb.inside(us) if isinstance(limb, Panel) else (us[:, 1] >= limb.s_min) & (us[:, 1] <= limb.s_max)
    return within if within.any() else np.ones(len(us), bool)
