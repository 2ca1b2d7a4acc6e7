"""Where the banks of a cloud lie on a ground: staggered along streamlines, and how each is bent.

Flat chart mm throughout. A bank drawn straight (`cloud_crest`) is bent so that its underside
follows the flow; puffs build to the side that is up the limb.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.filler.clip_memo import by_identity
from composer.filler.cloud_crest import Shape
from composer.filler.ground import Ground

BESIDE = 0.3
"""A bank bends from its straight way to either side by so much of its length at most, as a rule."""
FEW = 16
"""So many streamlines are quicker traced one by one than all together."""
STRETCH, LEAN = 1.1, 0.12
"""A lobe is drawn a little wide and leaning to the nose, never as a true circle."""


@dataclass(frozen=True)
class Spine:
    """The underside of a bank: points (n, 2) two mm apart from `back_mm` before the nose on,
    with unit normals to the side that puffs build to."""

    points: np.ndarray
    normals: np.ndarray
    back_mm: float

    def bend(self, xh: np.ndarray) -> np.ndarray:
        """Bank coordinates (n, 2) to the chart."""
        x = (STRETCH * xh[:, 0] + LEAN * xh[:, 1] + self.back_mm) / STEP
        i = np.minimum(np.maximum(x.astype(int), 0), len(self.points) - 2)
        return _beside(self.points, self.normals, i, x - i, xh[:, 1])


def bent(spines: Sequence[Spine], of: np.ndarray, xh: np.ndarray) -> np.ndarray:
    """Bank coordinates (n, 2) to the chart, each of the bank on the spine of that number (n,)."""
    many = np.array([len(s.points) for s in spines])
    back = np.array([s.back_mm for s in spines])
    points, normals = (np.concatenate([getattr(s, k) for s in spines]) for k in ("points", "normals"))
    x = (STRETCH * xh[:, 0] + LEAN * xh[:, 1] + back[of]) / STEP
    i = np.minimum(np.maximum(x.astype(int), 0), many[of] - 2)
    return _beside(points, normals, i + (np.cumsum(many) - many)[of], x - i, xh[:, 1])


def _beside(points: np.ndarray, normals: np.ndarray, i: np.ndarray, f: np.ndarray, h: np.ndarray) -> np.ndarray:
    """Places (n, 2) a share `f` (n,) on from the points `i` (n,) of a spine, `h` (n,) mm to its side."""
    f = f[:, None]
    p = points[i] * (1 - f) + points[i + 1] * f
    g = np.minimum(np.maximum(f, 0.0), 1.0)
    return p + (normals[i] * (1 - g) + normals[i + 1] * g) * h[:, None]


STEP = 3.0


def fitted(spine: Spine, length_mm: float, thick_mm: float, target: BaseGeometry) -> tuple[Spine, float] | None:
    """The spine moved so that its bank begins and ends near the target, and the length left for it;
    None when little more than a tail would be left."""
    mid = spine.points + spine.normals * 0.35 * thick_mm
    inside = np.flatnonzero(shapely.contains_xy(target, mid[:, 0], mid[:, 1]))
    nose, reach = round(spine.back_mm / STEP), STRETCH * length_mm / STEP
    inside = inside[(inside >= nose - 0.3 * thick_mm / STEP) & (inside <= nose + reach)]
    if not len(inside):
        return None
    shift = max(0, int(inside[0] - nose - 0.3 * thick_mm / STEP))
    left = min(reach - shift, inside[-1] - nose - shift + 5 / STEP) * STEP / STRETCH
    if shift > 0.6 * reach or left < 0.9 * thick_mm:
        return None
    return Spine(spine.points[shift:], spine.normals[shift:], spine.back_mm), float(left)


class Field:
    """The flow over a ground, sampled once on a grid and read by bilinear interpolation.

    `angle` is the mean direction in the open skin (radians), pointing right or straight up; `spine` (n, 2) the
    line that the artist pulled the filler along, empty where none was.
    """

    def __init__(self, ground: Ground, target: BaseGeometry, grid_mm: float = 14.0) -> None:
        x0, y0, x1, y1 = target.bounds
        low = np.array([x0 - 60, y0 - 60])
        self._low = low[:, None]
        self._grid = grid_mm
        nx, ny = (int((v + 120) / grid_mm) + 2 for v in (x1 - x0, y1 - y0))
        gx, gy = np.meshgrid(np.arange(nx), np.arange(ny), indexing="ij")
        xy = np.column_stack([gx.ravel(), gy.ravel()]) * grid_mm + low
        a = np.asarray(ground.flow(xy), float)
        table = np.stack([np.cos(2 * a), np.sin(2 * a)], axis=-1)
        self._nodes = (table @ (1, 1j)).ravel()
        self._last, self._along = np.array([[nx - 2], [ny - 2]]), ny
        self._corners = np.array([[0, 1], [ny, ny + 1]])[:, :, None]
        self._rows: list[list[complex]] = self._nodes.reshape(nx, ny).tolist()
        self._origin: tuple[float, float] = (float(low[0]), float(low[1]))
        inside = shapely.contains_xy(target, xy[:, 0], xy[:, 1])
        mean = table[inside if inside.any() else slice(None)].mean(axis=0)
        angle = 0.5 * float(np.arctan2(mean[1], mean[0]))
        self.angle = angle + np.pi if angle <= -np.pi / 2 + 1e-6 else angle
        self.spine = np.array(ground.spine).reshape(-1, 2)
        self._read = self._reader()

    def at(self, xy: np.ndarray) -> np.ndarray:
        """Direction in radians at (n, 2), the sense nearest to the mean direction."""
        return self._at(xy.T)

    def _at(self, xy: np.ndarray) -> np.ndarray:
        """The same at places (2, n)."""
        f = (xy - self._low) / self._grid
        i = np.minimum(np.maximum(f.astype(int), 0), self._last)
        t = np.minimum(np.maximum(f - i, 0.0), 1.0)
        s = 1 - t
        corners = self._nodes.take(i[0] * self._along + i[1] + self._corners)
        low, high = corners[0] * s[0] + corners[1] * t[0]
        v = low * s[1] + high * t[1]
        a = 0.5 * np.arctan2(v.imag, v.real)
        return a - np.round((a - self.angle) / np.pi) * np.pi

    def _reader(self) -> Callable[[float, float], float]:
        """The same at one place (x, y)."""
        rows, (x0, y0), grid, mean = self._rows, self._origin, self._grid, self.angle
        last_i, last_j = len(rows) - 2, len(rows[0]) - 2

        def at(x: float, y: float) -> float:
            fx, fy = (x - x0) / grid, (y - y0) / grid
            i, j = min(max(int(fx), 0), last_i), min(max(int(fy), 0), last_j)
            tx, ty = min(max(fx - i, 0.0), 1.0), min(max(fy - j, 0.0), 1.0)
            low, high = rows[i], rows[i + 1]
            v = (low[j] * (1 - tx) + high[j] * tx) * (1 - ty) + (low[j + 1] * (1 - tx) + high[j + 1] * tx) * ty
            a = 0.5 * math.atan2(v.imag, v.real)
            return a - round((a - mean) / math.pi) * math.pi

        return at

    def trace(self, start: np.ndarray, way: float | np.ndarray, length_mm: float, bend_mm: float,
              most_deg: float = 62.0) -> np.ndarray:
        """Streamlines from (m, 2) starts, `way` +1 or -1 along the mean, for all or (m, 1) for
        each: (m, n, 2), STEP apart.

        Midpoint rule; they never bend tighter than the radius `bend_mm` and keep within
        `most_deg` of the mean direction."""
        most, turn = math.radians(most_deg), STEP / bend_mm
        steps = math.ceil(length_mm / STEP)
        if len(start) <= FEW:
            ways = np.broadcast_to(way, (len(start), 1))[:, 0].tolist()
            return np.array([self._trace_one(x, y, w, steps, most, turn)
                             for (x, y), w in zip(np.asarray(start, float).tolist(), ways, strict=True)])
        p, out = np.array(start, float).T, np.empty((steps + 1, 2, len(start)))
        out[0], on, mean = p, np.empty_like(p), self.angle
        far = np.broadcast_to(way, (len(start), 1))[:, 0] * STEP
        half = far / 2
        last = mean + np.clip(self._at(p) - mean, -most, most)
        np.cos(last, out=on[0])
        np.sin(last, out=on[1])
        for k in range(steps):
            off = np.minimum(np.maximum(self._at(p + half * on) - mean, -most), most)
            last = last + np.minimum(np.maximum(mean + off - last, -turn), turn)
            np.cos(last, out=on[0])
            np.sin(last, out=on[1])
            p = p + far * on
            out[k + 1] = p
        return np.ascontiguousarray(out.transpose(2, 0, 1))

    def _trace_one(self, x: float, y: float, way: float, steps: int, most: float,
                   turn: float) -> list[tuple[float, float]]:
        """One streamline; quicker than many at once where there are FEW."""
        mean, half, out, read = self.angle, way * STEP / 2, [(x, y)], self._read
        last = mean + min(max(read(x, y) - mean, -most), most)
        c, s = math.cos(last), math.sin(last)
        for _ in range(steps):
            off = min(max(read(x + half * c, y + half * s) - mean, -most), most)
            last += min(max(mean + off - last, -turn), turn)
            c, s = math.cos(last), math.sin(last)
            x, y = x + 2 * half * c, y + 2 * half * s
            out.append((x, y))
        return out


@by_identity
def field_of(ground: Ground) -> Field:
    """The flow over a ground's open skin, kept: candidates of one gap share it."""
    return Field(ground, ground.free)


def near(field: Field, noses: np.ndarray, way: float, shape: Shape, target: BaseGeometry) -> np.ndarray:
    """Which of the noses (n, 2) are worth tracing a bank from: as the flow runs on the whole, the target is not far."""
    ahead = noses + way * STRETCH * shape.length_mm * np.array([np.cos(field.angle), np.sin(field.angle)])
    shapely.prepare(target)
    return shapely.dwithin(target, shapely.linestrings(np.stack([noses, ahead], axis=1)), BESIDE * shape.length_mm)


def spines(field: Field, noses: np.ndarray, way: float, length_mm: float, thick_mm: float) -> list[Spine]:
    """Spines of banks with their noses at (m, 2), running `way` along the flow to the tail."""
    back = STEP * np.ceil((0.3 * thick_mm + 4) / STEP)
    bend = 2.2 * thick_mm
    m, far = len(noses), STRETCH * length_mm + LEAN * thick_mm + 2 * STEP
    both = field.trace(np.concatenate([noses, noses]), np.repeat([way, -way], m)[:, None], max(far, back), bend)
    ahead = both[:m, : int(np.ceil(far / STEP)) + 1]
    behind = both[m:, 1 : int(np.ceil(back / STEP)) + 1][:, ::-1]
    lines = np.concatenate([behind, ahead], axis=1)
    t = np.gradient(lines, axis=1)
    t /= np.hypot(t[:, :, 0], t[:, :, 1])[:, :, None]
    n = np.stack([-t[:, :, 1], t[:, :, 0]], axis=2)
    n *= np.where(n @ (-np.sin(field.angle), np.cos(field.angle)) < 0, -1.0, 1.0)[:, :, None]
    return [Spine(*one, float(back)) for one in zip(lines, n, strict=True)]


class Through:
    """The streamline through one place (2,), traced once: spines of several banks over that place lie beside it.
    `length_mm` and `thick_mm` are those of the largest."""

    def __init__(self, field: Field, middle: np.ndarray, way: float, length_mm: float, thick_mm: float) -> None:
        far, bend = STRETCH * length_mm + (LEAN + 0.3) * thick_mm + 4 + 3 * STEP, 2.2 * thick_mm
        both = field.trace(np.stack([middle, middle]), np.array([[way], [-way]]), far, bend)
        line = np.concatenate([both[1][:0:-1], both[0]])
        t = np.gradient(line, axis=0)
        n = np.column_stack([-t[:, 1], t[:, 0]]) / np.hypot(t[:, 0], t[:, 1])[:, None]
        self._line, self._normals = line, n * np.where(n @ (-np.sin(field.angle), np.cos(field.angle)) < 0, -1.0,
                                                       1.0)[:, None]
        self._middle = len(both[1]) - 1

    def spine(self, behind: float, lift: float, length_mm: float, thick_mm: float) -> Spine:
        """The spine on which a bank of this length and thickness has the place so far behind its nose (as a share of
        the length) and so high (of the thickness)."""
        beside = self._line - self._normals * lift * thick_mm
        s = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(beside, axis=0).T))])
        nose = s[self._middle] - behind * length_mm
        back = STEP * math.ceil((0.3 * thick_mm + 4) / STEP)
        steps = np.arange(-round(back / STEP), math.ceil((STRETCH * length_mm + LEAN * thick_mm) / STEP) + 3)
        at = np.clip(nose + STEP * steps, 0.0, s[-1])
        points = np.column_stack([np.interp(at, s, beside[:, k]) for k in (0, 1)])
        n = np.column_stack([np.interp(at, s, self._normals[:, k]) for k in (0, 1)])
        return Spine(points, n / np.hypot(n[:, 0], n[:, 1])[:, None], float(back))


def stagger(field: Field, target: BaseGeometry, shape: Shape, way: float, row_mm: float, along_mm: float,
            rng: np.random.Generator) -> np.ndarray:
    """Noses (m, 2) of the banks that cover the target, back to front: rows from the top down,
    each begun at another place (golden section), banks in a row from nose to tail."""
    c, s = np.cos(field.angle), np.sin(field.angle)
    hull = np.asarray(target.convex_hull.exterior.coords) if target.convex_hull.geom_type == "Polygon" \
        else np.asarray(target.envelope.exterior.coords)
    a, b = hull @ (c, s), hull @ (-s, c)
    rows = max(1, int(np.ceil((b.max() - b.min() - 0.35 * shape.thick_mm) / row_mm)))
    slack = rows * row_mm - (b.max() - b.min() - 0.35 * shape.thick_mm)
    first = b.max() - 0.72 * shape.thick_mm + 0.3 * slack
    if len(field.spine):   # a row of undersides lies on the line that the artist pulled
        first += (float(field.spine[len(field.spine) // 2] @ (-s, c)) - first) % row_mm
    shift = float(rng.uniform(0, 1))
    out = []
    for k in range(rows + 1):
        base = first - k * row_mm
        if base < b.min() - 0.5 * shape.thick_mm:
            break
        span = a.max() - a.min()
        share = (shift + 0.618 * k) % 1.0
        count = int(np.ceil(span / along_mm)) + 2
        for j in range(-1, count):
            nose = (j - share) * along_mm + 0.1 * along_mm * float(rng.uniform(-1, 1))
            at = a.min() + nose if way > 0 else a.max() - nose
            lift = 0.1 * row_mm * float(rng.uniform(-1, 1))
            out.append(((at * c - (base + lift) * s), (at * s + (base + lift) * c)))
    return np.array(out).reshape(-1, 2)
