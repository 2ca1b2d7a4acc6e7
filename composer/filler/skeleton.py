"""Ink read back as strokes: centre lines, widths, where strokes meet and how they end.

Nothing that a kind says of itself is used, so that house kinds, other packages' kinds and plain
noise are measured alike. A raster thinning (scikit-image) of 0.2 mm cells; figures are good to
about half a cell.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from scipy import ndimage
from shapely.geometry.base import BaseGeometry
from skimage.morphology import skeletonize

from composer.filler.end_shape import STEP_MM, end_widths, is_tip
from composer.filler.filigree_room import Room

CELL_MM = 0.2
RING = np.ones((3, 3), int)
SMOOTH_DEG = 30.0
"""A branch leaves tangentially when its curve, followed back to the stem, meets it at no more than this."""
THROUGH_DEG = 30.0
"""Two limbs that are opposite to this are one stroke running through."""
TIP, SLIM, BALL = 0.74, 0.95, 1.2
"""An end thinner than this share of the stroke before it is a tip (and already thinner than the next
share a stroke's width further back), one wider than the last a ball. Shorter tips are told by `end_shape`."""
GROWN = 0.86
"""Where strokes meet soon behind an end it is a tip only if it is thinner than this share of half way to there: a stub
on a stem is as thin half way."""
PATCH = 1.5
"""A piece of ink of less area than so many squares of its greatest width is no stroke but a patch (a dot, the heart of
a tile), about as long as it is wide: its corners are no ends. A half round has 1.2, a square 1, a round dot 0.8."""
ASIDE, STRAIGHT_MM, CORNERED_MM = 0.3, 0.1, 1.1
"""An end that lies more than so many widths beside the stroke's own line, where that is straight (root mean square),
is a corner of a cut; strokes finer than the last have no corners in this raster."""
NEAR_MM = 0.8
AXIS_MM = 2.0
"""The axis of a short hook is a parabola through so much of its thinning."""
FINE, GROWS, FALLS, RUN_MM = 1.5, 1.1, 1.3, 9.0
"""An end that is, just behind its rounding, no wider than the first times the needle is as fine as a stroke gets; it
is a tip where the stroke is wider by the second a millimetre back, or by the third anywhere within the last, but for
its root. A stroke or a stub of the needle's own width is not."""
AHEAD, HEAD_MM = (3.0, 1.5), 1.6
"""An end has no more ink ahead than so many times half the width of the stroke, within the last, and so many mm."""
BACK_MM, ROOT_MM = 3.2, 1.4
"""The stroke before its end: so far back; and so much farther, a stroke that it hangs on widens it."""


@dataclass(frozen=True)
class Joint:
    """Where strokes meet: place (mm), how many `limbs`, and the largest angle (degrees) at which a
    branch meets the stem (the two limbs that run on best) when its curve is followed back to it: 0
    for a branch that leaves tangentially, 90 for a T. `crossed`: two strokes run through each other."""

    x: float
    y: float
    limbs: int
    off_deg: float
    crossed: bool = False

    @property
    def smooth(self) -> bool:
        """Whether every branch leaves tangentially."""
        return not self.crossed and self.off_deg <= SMOOTH_DEG


@dataclass(frozen=True)
class StrokeEnd:
    """A free end of a stroke: place (mm), the way out of the stroke (degrees), its shape by width
    alone: 'tip', 'ball' or 'blunt', and how far the ink goes on beyond that place (`ahead_mm`): the thinning of a wide
    stroke ends about half its width before the stroke does."""

    x: float
    y: float
    out_deg: float
    how: str
    ahead_mm: float = 0.0


@dataclass(frozen=True)
class Strokes:
    """`at` (n, 2) mm along all centre lines, `width` (n,) mm of the ink there, `way` (n,) direction in
    radians (a and a + pi mean the same; nan where none is told), joints and ends."""

    at: np.ndarray
    width: np.ndarray
    way: np.ndarray
    joints: tuple[Joint, ...]
    ends: tuple[StrokeEnd, ...]


def strokes_of(ink: BaseGeometry, cell_mm: float = CELL_MM, needle_mm: float = 0.0) -> Strokes:
    """The strokes that an area of ink is made of; empty when there is none. `needle_mm`: the finest line there is, so
    that a stroke which thins out to it ends in a tip."""
    if ink.is_empty:
        return Strokes(np.zeros((0, 2)), np.zeros(0), np.zeros(0), (), ())
    look = _look(ink, cell_mm, needle_mm)
    thin, room = look.thin, look.room
    rows, cols = np.nonzero(thin)
    place = room.grid[rows, cols]
    width = 2 * np.maximum(look.thick[rows, cols], cell_mm / 2)
    nodes, count = ndimage.label(look.forks, structure=RING)
    middles = ndimage.center_of_mass(nodes > 0, nodes, np.arange(1, count + 1)) if count else []
    raw = [j for j in (look.joint(float(r), float(c)) for r, c in middles) if j is not None]
    joints = _merged([Joint(room.x0 + c * cell_mm, room.y0 + r * cell_mm, n, off, x) for r, c, n, off, x in raw])
    return Strokes(np.column_stack([place.real, place.imag]), width, look.ways(rows, cols), tuple(joints),
                   tuple(look.free_ends()))


def ends_of(ink: BaseGeometry, cell_mm: float = CELL_MM, needle_mm: float = 0.0,
            of_note: Callable[[np.ndarray], np.ndarray] | None = None) -> list[StrokeEnd]:
    """The free ends alone of the strokes that an area of ink is made of (see `strokes_of`). `of_note`: which of places
    (n, 2) mm are looked at, if not all."""
    return [] if ink.is_empty else _look(ink, cell_mm, needle_mm).free_ends(of_note)


def _look(ink: BaseGeometry, cell_mm: float, needle_mm: float) -> _Look:
    room = Room(ink, cell_mm, within=True)
    shapely.prepare(ink)
    return _Look(room, _thinned(room.wall), ink, needle_mm)


def _thinned(wall: np.ndarray) -> np.ndarray:
    """The middles of strokes, one cell wide, of a raster of distances to the edge of ink (mm), by Zhang and Suen's
    thinning; it loses slanting strokes two cells wide in places, which are put in as Lee's finds them."""
    out: np.ndarray = skeletonize(wall > 0)
    ridge = (wall > 0) & (wall >= ndimage.maximum_filter(wall, size=3))
    if not (ridge & ~ndimage.binary_dilation(out, structure=RING, iterations=2)).any():
        return out
    other = skeletonize(wall > 0, method="lee") > 0
    lost = other & ~ndimage.binary_dilation(out, structure=RING)
    return out | (other & ndimage.binary_dilation(lost, structure=RING)) if lost.any() else out


def _patches(thick: np.ndarray, cell_mm: float) -> np.ndarray:
    """Where ink is a patch (see PATCH), of a raster of distances to its edge (mm)."""
    named, count = ndimage.label(thick > 0, structure=RING)
    on = named > 0
    area = np.bincount(named[on], minlength=count + 1)[1:] * cell_mm**2
    wide = np.zeros(count + 1)
    np.maximum.at(wide, named[on], 2 * thick[on])
    return np.concatenate([[False], area < PATCH * wide[1:] ** 2])[named]


class _Look:
    """A thinned raster and what is seen round one of its cells."""

    def __init__(self, room: Room, thin: np.ndarray, ink: BaseGeometry, needle_mm: float) -> None:
        beside = ndimage.convolve(thin.astype(np.int8), RING.astype(np.int8), mode="constant") - 1
        self.room, self.thin, self.forks, self.last = room, thin, thin & (beside >= 3), thin & (beside == 1)
        self.thick, self.cell, self.ink = ndimage.maximum_filter(room.wall, size=3), room.h, ink
        self.origin, self.needle_mm = np.array([room.x0, room.y0]), needle_mm

    def free_ends(self, of_note: Callable[[np.ndarray], np.ndarray] | None = None) -> list[StrokeEnd]:
        """Every end of a stroke, or those at places (n, 2) mm of note."""
        out = []
        cells = np.argwhere(self.last & ~_patches(self.room.wall, self.cell))
        places = self.origin + self.cell * cells[:, ::-1]
        if of_note is not None:
            on = of_note(places)
            cells, places = cells[on], places[on]
        for (r, c), (x, y) in zip(cells.tolist(), places.tolist(), strict=True):
            found = self.end(r, c)
            if found is not None:
                way, how = found
                n = round(HEAD_MM / self.cell)
                about = self.thick[max(r - n, 0) : r + n + 1, max(c - n, 0) : c + n + 1]
                most = AHEAD[0] * float(about.max()) + AHEAD[1]
                ahead = _ahead(self.ink, x, y, way, most)
                if ahead < most:    # else the ink goes on: the thinning of a slanting stroke breaks off here and there
                    out.append(StrokeEnd(x, y, float(np.degrees(way)), how, ahead))
        return out

    def window(self, r: float, c: float, reach_mm: float) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """Thinned cells within `reach_mm` that hang together with (r, c): mask, thickness, offsets in mm."""
        n = int(np.ceil(reach_mm / self.cell)) + 1
        i, j = round(r), round(c)
        r0, r1 = max(0, i - n), min(self.thin.shape[0], i + n + 1)
        c0, c1 = max(0, j - n), min(self.thin.shape[1], j + n + 1)
        mask = self.thin[r0:r1, c0:c1]
        y, x = np.meshgrid((np.arange(r0, r1) - r) * self.cell, (np.arange(c0, c1) - c) * self.cell, indexing="ij")
        far = np.hypot(x, y)
        mask = mask & (far <= reach_mm)
        named, _ = ndimage.label(mask, structure=RING)
        near = named[mask][int(np.argmin(far[mask]))] if mask.any() else -1
        return named == near, self.thick[r0:r1, c0:c1], x, y

    def joint(self, r: float, c: float) -> tuple[float, float, int, float, bool] | None:
        """Place, limbs, angle and whether strokes cross, of the joint about (r, c); None where fewer than
        three limbs leave it (a spur of the thinning)."""
        dots = self.limbs(r, c)
        if len(dots) < 3:
            return None
        a = np.array([np.arctan2(z.imag.mean(), z.real.mean()) for z in dots])
        bent = np.abs((a[:, None] - a[None, :] + 2 * np.pi) % (2 * np.pi) - np.pi)
        np.fill_diagonal(bent, np.pi)
        i, j = (int(v) for v in np.unravel_index(int(np.argmin(bent)), bent.shape))
        stem = np.exp(1j * a[i]) - np.exp(1j * a[j])
        stem /= max(abs(stem), 1e-9)
        axis = 0.5 * (dots[i].mean() + dots[j].mean())
        others = [k for k in range(len(a)) if k not in (i, j)]
        off = max(_met_deg(dots[k] - axis, stem) for k in others)
        opposite = len(others) > 1 and float(np.min(bent[np.ix_(others, others)])) < np.radians(THROUGH_DEG)
        return r, c, len(dots), off, bool(opposite and off > SMOOTH_DEG)

    def limbs(self, r: float, c: float) -> list[np.ndarray]:
        """Samples (n,) complex mm, about (r, c), of each limb that runs on from there beyond the ink's own width."""
        near = max(1.5 * float(self.thick[round(r), round(c)]), 0.9)
        mask, _, x, y = self.window(r, c, near + 3.4)
        far = np.hypot(x, y)
        named, count = ndimage.label(mask & (far > near), structure=RING)
        every = (named == k for k in range(1, count + 1))
        return [x[mine] + 1j * y[mine] for mine in every if far[mine].max() > near + 0.9]

    def end(self, r: int, c: int) -> tuple[float, str] | None:
        """The way out (radians) and shape of the end at (r, c); None for a spur shorter than the ink it hangs on is
        wide where that ink runs on to two sides or more: the corner of a knot, not the end of a stroke. (A straight
        cut's corners are no such spurs: from them ink runs on to one side only.)"""
        mask, thick, x, y = self.window(r, c, BACK_MM + ROOT_MM)     # the crevices at a root are wider than the stroke
        far = np.hypot(x, y)
        r0, c0 = r + round(y[0, 0] / self.cell), c + round(x[0, 0] / self.cell)
        forks = np.argwhere(mask & self.forks[r0 : r0 + mask.shape[0], c0 : c0 + mask.shape[1]])
        grows = True
        if len(forks):
            i, j = min(forks.tolist(), key=lambda f: far[f[0], f[1]])
            limbs = len(self.limbs(r + round(y[i, j] / self.cell), c + round(x[i, j] / self.cell)))
            if far[i, j] < 2 * thick[i, j] and limbs > 1:
                return None
            half = mask & (np.abs(far - 0.5 * far[i, j]) < 0.35)
            hangs = far[i, j] <= BACK_MM or limbs > 2
            grows = not hangs or (bool(half.any()) and float(thick[mask & (far < 0.5)].mean())
                                  < GROWN * float(thick[half].mean()))
        mask, thick, x, y = self.window(r, c, BACK_MM)
        far = np.hypot(x, y)
        back = mask & (far > 0.7 * BACK_MM)
        if not back.any():
            return None
        if float(thick[mask].max()) > BACK_MM * 0.6:
            return None
        before = float(np.median(thick[back]))
        head = float(thick[mask & (far < 1.6)].max())
        way = float(np.arctan2(-y[back].mean(), -x[back].mean()))
        here = float(thick[mask & (far < 0.5)].mean())
        if head > max(BALL * before, before + 0.6 * self.cell) and here > 0.6 * head:
            return way, "ball"
        # a short stroke is thin again at its other end: half way counts as well
        half_way = mask & (np.abs(far - 0.5 * float(far[mask].max())) < 0.35)
        before = max(before, float(np.median(thick[half_way])) if half_way.any() else 0.0)
        # the thinning of a straight cut runs into a corner: only what is thin further back as well is a tip
        on = mask & (np.abs(far - before - 0.6) < 0.35)
        inner = float(np.median(thick[on])) if on.any() else here
        body = mask & (far > 1.6 * before + 0.2)
        aside = 2 * before > CORNERED_MM and _aside(np.column_stack([x[body], y[body]])) > ASIDE * 2 * before
        if grows and not aside and here < TIP * before and inner < SLIM * before:
            return way, "tip"
        return way, "tip" if self.pointed(r, c, mask, thick, x, y) else "blunt"

    def pointed(self, r: int, c: int, mask: np.ndarray, thick: np.ndarray, x: np.ndarray, y: np.ndarray) -> bool:
        """Whether the ink itself runs out to a tip at the end (r, c), of which the rest is what `window` gives."""
        far = np.hypot(x, y)
        wide = 2 * float(np.median(thick[mask & (far < 1.6)]))
        end = self.origin + self.cell * np.array([c, r])
        # the middle of the stroke, as far in as it is wide: the thinning of a straight cut runs aside into its corner;
        # and nearer by, for the short points of a small star
        for back, first in ((max(1.3 * wide, 1.1), 0.5 * wide), (NEAR_MM, 0.0)):
            on = mask & (np.abs(far - back) < 0.3)
            if not on.any():
                continue
            middle = end + np.array([x[on].mean(), y[on].mean()])
            out = mask & (far > first) & (far < back + 0.3)
            ahead = _straight(np.column_stack([x[out], y[out]]), end - middle) * float(np.hypot(*(end - middle)))
            if is_tip(self.ink, middle, middle + ahead, wide):
                return True
        return self.needle_mm > 0 and self.fine(r, c)

    def fine(self, r: int, c: int) -> bool:
        """Whether the stroke thins out to the needle's own width at the end (r, c): it is wider further back, and that
        not only where it hangs on another."""
        mask, thick, x, y = self.window(r, c, RUN_MM)
        far = np.where(mask, np.hypot(x, y), np.inf)
        near = far < AXIS_MM
        if near.sum() < 6 or far[mask].max() < 1.2:
            return False
        bow = [np.polyfit(far[near], part[near], 2) for part in (x, y)]
        t = np.arange(0.0, 1.9, STEP_MM)
        axis = np.column_stack([np.polyval(b, t) for b in bow])
        out = axis[0] - axis[1]
        lead = axis[0] + out / max(float(np.hypot(*out)), 1e-9) * np.arange(0.9, 0.0, -STEP_MM)[:, None]
        found = end_widths(self.ink, self.origin + self.cell * np.array([c, r]) + np.vstack([lead, axis]))
        if found is None or found[0] > FINE * self.needle_mm:
            return False
        own = (far > 1.0) & (far < self.run_mm(r, c, far, thick, x, y))
        return found[1] >= GROWS * found[0] or (bool(own.any()) and 2 * float(thick[own].max()) >= FALLS * found[0])

    def run_mm(self, r: int, c: int, far: np.ndarray, thick: np.ndarray, x: np.ndarray, y: np.ndarray) -> float:
        """How far a stroke that ends at (r, c) runs by itself, until what it hangs on widens it: what `window` gives,
        `far` infinite where nothing hangs together."""
        r0, c0 = r + round(y[0, 0] / self.cell), c + round(x[0, 0] / self.cell)
        fork = self.forks[r0 : r0 + far.shape[0], c0 : c0 + far.shape[1]] & np.isfinite(far)
        for i, j in sorted(np.argwhere(fork).tolist(), key=lambda f: far[f[0], f[1]]):
            if len(self.limbs(r0 + i, c0 + j)) > 2:
                return float(far[i, j] - thick[i, j] - ROOT_MM)
        return RUN_MM

    def ways(self, rows: np.ndarray, cols: np.ndarray) -> np.ndarray:
        """Direction of the centre line at its cells, from the structure of the mask about them."""
        line = self.thin.astype(float)
        s = 0.9 / self.cell
        # second moments of the thinned cells in a soft window
        y, x = np.mgrid[: line.shape[0], : line.shape[1]].astype(float)
        w = ndimage.gaussian_filter(line, s)
        mx, my = ndimage.gaussian_filter(line * x, s), ndimage.gaussian_filter(line * y, s)
        xx, yy = ndimage.gaussian_filter(line * x * x, s), ndimage.gaussian_filter(line * y * y, s)
        xy = ndimage.gaussian_filter(line * x * y, s)
        w, mx, my, xx, yy, xy = (v[rows, cols] for v in (w, mx, my, xx, yy, xy))
        w = np.maximum(w, 1e-12)
        cxx, cyy, cxy = xx / w - (mx / w) ** 2, yy / w - (my / w) ** 2, xy / w - mx * my / w**2
        way = 0.5 * np.arctan2(2 * cxy, cxx - cyy)
        clear = np.hypot(cxx - cyy, 2 * cxy) > 0.3 * (cxx + cyy)
        return np.where(clear & (cxx + cyy > 1.0), way, np.nan)


def _ahead(ink: BaseGeometry, x: float, y: float, out: float, most_mm: float) -> float:
    """How far (mm, `most_mm` at the most) the ink (prepared) goes on from a place in the direction `out` (radians)."""
    t = np.arange(0.0, most_mm, STEP_MM)
    gone = ~shapely.contains_xy(ink, x + t * np.cos(out), y + t * np.sin(out))
    return float(t[int(np.argmax(gone))]) if gone.any() else most_mm


def _aside(at: np.ndarray) -> float:
    """How far (mm) the origin lies beside the straight line through places (n, 2); 0 where they lie on a curve."""
    if len(at) < 5:
        return 0.0
    middle = at.mean(axis=0)
    _, spread, axes = np.linalg.svd(at - middle, full_matrices=False)
    return abs(float(axes[1] @ middle)) if spread[1] / np.sqrt(len(at)) < STRAIGHT_MM else 0.0


def _straight(at: np.ndarray, ahead: np.ndarray) -> np.ndarray:
    """The direction (2,) of a line through places (n, 2), to the side of `ahead`; that itself where they are few."""
    unit = ahead / max(float(np.hypot(*ahead)), 1e-9)
    if len(at) < 4:
        return unit
    _, _, axes = np.linalg.svd(at - at.mean(axis=0), full_matrices=False)
    return axes[0] if axes[0] @ unit > 0 else -axes[0]


def _met_deg(branch: np.ndarray, stem: complex) -> float:
    """The angle (degrees, 0..90) at which a branch meets a straight stem through 0 of unit direction
    `stem`, its curve followed back: along an arc of curvature k from the stem on, cos(heading) falls by
    k times the distance from the stem. `branch` (n,) complex mm, samples of it."""
    z = branch / stem
    if z.imag.mean() < 0:
        z = z.conj()
    m = z.mean()
    ax = np.exp(0.5j * np.angle(((z - m) ** 2).mean()))
    ax = ax if (ax * np.conj(m)).real > 0 else -ax
    if ax.real < 0:
        ax, m, z = -ax.conj(), -m.conj(), -z.conj()
    local = (z - m) / ax
    bend = 2 * float(np.polyfit(local.real, local.imag, 2)[0]) if np.ptp(local.real) > 0.8 else 0.0
    heading = float(np.angle(ax))
    back = np.cos(heading) + max(bend, 0.0) * max(float(m.imag), 0.0)
    return float(np.degrees(np.arccos(np.clip(back, -1.0, 1.0))))


def _merged(joints: list[Joint]) -> list[Joint]:
    """Joints that thinning has split (a crossing gives two close forks) as one."""
    out: list[Joint] = []
    for j in sorted(joints, key=lambda j: (-j.limbs, j.off_deg)):
        if all(np.hypot(j.x - k.x, j.y - k.y) > 1.2 for k in out):
            out.append(j)
    return out
