"""Room to draw in: how far every place is from the wall of the gap and from ink already there.

A raster with sub-cell seeds (each boundary cell remembers the true place and direction of the
boundary there), so that the distances are good to about a tenth of a cell; read bilinearly.
"""

from __future__ import annotations

import numpy as np
import shapely
from scipy import ndimage
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import geometry_to_rings
from composer.filler.clip_memo import by_identity
from composer.filler.ground import Ground

FAR_MM = 60.0


def dense_ring(ring: np.ndarray, step_mm: float) -> np.ndarray:
    """A ring (n, 2) closed implicitly -> samples at most `step_mm` apart, first one repeated last."""
    p = np.vstack([ring, ring[:1]])
    seg = np.hypot(*np.diff(p, axis=0).T)
    s = np.concatenate([[0.0], np.cumsum(seg)])
    t = np.linspace(0, s[-1], max(4, int(np.ceil(s[-1] / step_mm)) + 1))
    return np.column_stack([np.interp(t, s, p[:, 0]), np.interp(t, s, p[:, 1])])


class Room:
    """`x0`, `y0` centre of cell (0, 0); `h` cell size in mm; `wall` (rows, columns) distance to
    the edge of the free skin, negative outside it; `ink` distance to the nearest ink edge. `within`: outside
    it `wall` is one negative figure, which is quicker."""

    def __init__(self, free: BaseGeometry, h: float | None = None,
                 bounds: tuple[float, float, float, float] | None = None, within: bool = False) -> None:
        bx0, by0, bx1, by1 = bounds or free.bounds
        pad = 3.0
        if h is None:
            h = float(np.clip(np.sqrt((bx1 - bx0) * (by1 - by0) / 9000.0), 0.6, 1.1))
        self.h, self.x0, self.y0 = h, bx0 - pad, by0 - pad
        cols, rows = int((bx1 - bx0 + 2 * pad) / h) + 2, int((by1 - by0 + 2 * pad) / h) + 2
        self.shape = (rows, cols)
        parity = np.zeros((rows, cols + 1), np.int32)
        seed = np.full((rows, cols), np.nan, complex)
        along = np.zeros((rows, cols), complex)
        for ring in geometry_to_rings(free):
            p = dense_ring(ring, h / 3)
            r = np.ceil((p[:, 1] - self.y0) / h).astype(int)
            cross = np.flatnonzero(r[1:] != r[:-1])
            row = np.minimum(r[1:], r[:-1])[cross]
            cross, row = cross[(row >= 0) & (row < rows)], row[(row >= 0) & (row < rows)]
            a, b = p[cross], p[cross + 1]
            f = (self.y0 + row * h - a[:, 1]) / np.where(b[:, 1] == a[:, 1], 1.0, b[:, 1] - a[:, 1])
            col = np.ceil((a[:, 0] + f * (b[:, 0] - a[:, 0]) - self.x0) / h).astype(int)
            np.add.at(parity, (row, np.clip(col, 0, cols)), 1)
            i, j = np.rint((p[:, 1] - self.y0) / h).astype(int), np.rint((p[:, 0] - self.x0) / h).astype(int)
            near = (i >= 0) & (i < rows) & (j >= 0) & (j < cols)
            z = p[:, 0] + 1j * p[:, 1]
            t = np.roll(z[:-1], -1) - np.roll(z[:-1], 1)
            t = np.append(t, t[0]) / np.maximum(np.abs(np.append(t, t[0])), 1e-12)
            seed[i[near], j[near]] = z[near]
            along[i[near], j[near]] = t[near]
        inside = np.cumsum(parity[:, :cols], axis=1) % 2 == 1
        gx = self.x0 + h * np.arange(cols)
        gy = self.y0 + h * np.arange(rows)
        self.grid = gx[None, :] + 1j * gy[:, None]
        near = ndimage.distance_transform_edt(np.isnan(seed), return_distances=False, return_indices=True)
        where = np.nonzero(inside) if within else (slice(None), slice(None))
        i, j = near[0][where], near[1][where]
        off = (self.grid[where] - seed[i, j]) * np.conj(along[i, j])
        d = np.hypot(np.maximum(np.abs(off.real) - 0.6 * h, 0.0), off.imag)
        if within:
            self.wall = np.full(self.shape, -h)
            self.wall[where] = d
        else:
            self.wall = np.where(inside, d, -d)
        self.ink = np.full((rows, cols), FAR_MM)

    def bare(self) -> Room:
        """A copy without ink (the wall is shared)."""
        other = object.__new__(Room)
        other.__dict__ = dict(self.__dict__)
        other.ink = np.full(self.shape, FAR_MM)
        return other

    def _corners(self, z: np.ndarray) -> tuple[np.ndarray, ...]:
        rows, cols = self.shape
        fx, fy = (z.real - self.x0) / self.h, (z.imag - self.y0) / self.h
        np.maximum(fx, 0.0, out=fx)
        np.minimum(fx, cols - 1.001, out=fx)
        np.maximum(fy, 0.0, out=fy)
        np.minimum(fy, rows - 1.001, out=fy)
        j, i = fx.astype(np.intp), fy.astype(np.intp)
        fx -= j
        fy -= i
        return i * cols + j, fx, fy

    def _read(self, field: np.ndarray, k: np.ndarray, fx: np.ndarray, fy: np.ndarray) -> np.ndarray:
        a = field.ravel()
        cols = self.shape[1]
        v00, v10 = a.take(k), a.take(k + cols)
        low = v00 + fx * (a.take(k + 1) - v00)
        high = v10 + fx * (a.take(k + (cols + 1)) - v10)
        return low + fy * (high - low)

    def look(self, z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Distances (wall, ink) at complex places of any shape; beyond the raster those of its rim,
        where the wall is negative."""
        k, fx, fy = self._corners(z)
        return self._read(self.wall, k, fx, fy), self._read(self.ink, k, fx, fy)

    def look_wall(self, z: np.ndarray) -> np.ndarray:
        """Distance to the wall alone."""
        return self._read(self.wall, *self._corners(z))

    def look_ink(self, z: np.ndarray) -> np.ndarray:
        """Distance to ink alone."""
        return self._read(self.ink, *self._corners(z))

    def _cells(self, z: np.ndarray) -> np.ndarray:
        """Numbers of the cells in which complex places lie, the nearest for those beyond the raster."""
        rows, cols = self.shape
        j = (z.real * (1 / self.h) + (0.5 - self.x0 / self.h)).astype(np.intp)
        i = (z.imag * (1 / self.h) + (0.5 - self.y0 / self.h)).astype(np.intp)
        np.maximum(j, 0, out=j)
        np.minimum(j, cols - 1, out=j)
        np.maximum(i, 0, out=i)
        np.minimum(i, rows - 1, out=i)
        i *= cols
        i += j
        return i

    def peek(self, z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Distances (wall, ink) of the cells in which complex places lie: for a first sieve."""
        k = self._cells(z)
        return self.wall.ravel().take(k), self.ink.ravel().take(k)

    def inside(self, z: np.ndarray) -> np.ndarray:
        """Whether the cells in which complex places lie are on the free skin."""
        return (self.wall > 0).ravel().take(self._cells(z))

    def stamp(self, z: np.ndarray, half: np.ndarray, reach_mm: float = 7.5) -> None:
        """Lay ink: discs of radius `half` along the complex path `z` (close enough to overlap)."""
        for a in range(0, len(z), 24):
            zz, hh = z[a : a + 24], half[a : a + 24]
            j0 = max(0, int((zz.real.min() - reach_mm - self.x0) / self.h))
            j1 = min(self.shape[1], int((zz.real.max() + reach_mm - self.x0) / self.h) + 2)
            i0 = max(0, int((zz.imag.min() - reach_mm - self.y0) / self.h))
            i1 = min(self.shape[0], int((zz.imag.max() + reach_mm - self.y0) / self.h) + 2)
            if j0 >= j1 or i0 >= i1:
                continue
            g = self.grid[i0:i1, j0:j1]
            gx, gy = g.real[0], g.imag[:, 0]
            dx = (gx - zz.real[:, None]) ** 2
            dy = (gy - zz.imag[:, None]) ** 2
            d = dy[:, :, None] + dx[:, None, :]     # the least of whole rasters is found in a fifth of the time
            np.sqrt(d, out=d)
            d -= hh[:, None, None]
            np.minimum(self.ink[i0:i1, j0:j1], d.min(axis=0), out=self.ink[i0:i1, j0:j1])

    def void(self) -> np.ndarray:
        """Radius of the empty disc about every cell (negative outside the free skin)."""
        return np.minimum(self.wall, self.ink)


def open_edge(ground: Ground) -> BaseGeometry:
    """The stretches of the edge of the free skin where nothing lies in front and no cuff is."""
    return _open_edge(ground.free, ground.front, ground.edge, ground.skin_break_mm)


@by_identity
def _open_edge(free: BaseGeometry, front: BaseGeometry, edge: BaseGeometry, skin_break_mm: float) -> BaseGeometry:
    near = shapely.clip_by_rect(front, *np.add(free.bounds, np.array([-1, -1, 1, 1]) * (skin_break_mm + 2.0)))
    band = shapely.buffer(near if shapely.is_valid(near) else front, skin_break_mm + 1.0, quad_segs=4)
    if not edge.is_empty:
        band = band.union(edge.buffer(1.0))
    return free.boundary.difference(band)


def skin_to_draw(ground: Ground) -> BaseGeometry:
    """The free skin, less half a line gap along its open edge: another gap goes on there, and
    its filler comes as near."""
    return _skin_to_draw(ground.free, open_edge(ground), ground.line_gap_mm)


@by_identity
def _skin_to_draw(free: BaseGeometry, side: BaseGeometry, line_gap_mm: float) -> BaseGeometry:
    if side.length > 2.0:
        kept = free.difference(shapely.buffer(side, line_gap_mm / 2, quad_segs=4))
        if not kept.is_empty:
            free = shapely.union_all([p for p in getattr(kept, "geoms", [kept]) if p.area > 4.0])
    return free


def strength(ground: Ground, z: np.ndarray, fade_mm: float) -> np.ndarray:
    """How strong a filler is at complex places, 0..1: it thins out over `fade_mm` towards a cuff
    or an open edge."""
    if fade_mm <= 0 or not len(z):
        return np.ones(len(z))
    towards = shapely.union_all([ground.edge, open_edge(ground)])
    if towards.is_empty:
        return np.ones(len(z))
    return np.clip(shapely.distance(towards, shapely.points(z.real, z.imag)) / fade_mm, 0.0, 1.0)


def room_of(ground: Ground) -> Room:
    """The empty room of a ground, kept: candidates of one gap share it."""
    return _room(ground.free, open_edge(ground), ground.line_gap_mm)


@by_identity
def _room(free: BaseGeometry, side: BaseGeometry, line_gap_mm: float) -> Room:
    return Room(_skin_to_draw(free, side, line_gap_mm))
