"""Rocks: cracked slabs piled up, lit on one side, their shade in planes as a chisel leaves them.

A rock is a rough convex form parted by one ridge; the side away from the light turns black from its outline inwards,
the lit face is parted by an edge, with a few strokes under it, and cracked. Rocks are drawn whole: where no piece hides
their rest they keep within the open skin.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing
from composer.filler.cloud import pen_of
from composer.filler.cloud_lay import Field
from composer.filler.cloud_lines import Line, Pen
from composer.filler.ground import Ground, Wish
from composer.filler.masses import Mass, filled, own_stage, paint, within
from composer.filler.points import clear_tips, loose_ends_thinned, off_along, pointed
from composer.filler.voids import voids
from composer.plan.model import Hand


@dataclass(frozen=True)
class Style:
    """A way of rock: size of the largest as a share of the gap's width, height over width, how rough
    its outline is."""

    title: str
    size: float
    tall: float
    jag: float


STYLES = {
    "crag": Style("Rocks, a crag", 0.86, 1.1, 0.2),
    "slabs": Style("Rocks, flat slabs", 0.8, 0.58, 0.12),
    "boulders": Style("Rocks, boulders", 0.62, 0.84, 0.07),
}


LEAN = 0.35
"""How far (radians) rocks lean with the flow; they stand upright on a hanging limb."""
INSET_MM = 1.0
"""Corners keep so far within where centre lines may run."""
ALONG_MM, GRAZE_MM = 0.9, 3.6
"""An outline that stays so near to the edge of the open skin for longer than the second runs along it."""
LEAST_WHITE_MM2 = 8.0
"""Smaller spots of white in the black read as drips."""
LIGHT = 1.3
"""Light between the black and the ridge is at least so many pitches wide, or there is none."""
DETAIL = 2.6
"""Rocks with a radius of fewer pitches than this are outline and black alone."""


CRACK = 2.6
"""No crack is shorter than so many pitches."""


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "crag") -> Drawing | None:
    """Rocks over the ground, unclipped. Deterministic in `rng`. None where no rock finds room."""
    look = STYLES[style]
    stage, home = own_stage(ground, wish)
    pen = pen_of(hand, wish, ground.line_gap_mm)
    target = shapely.simplify(home, 0.1)
    if target.is_empty:
        return None
    wide = 2 * max(shapely.maximum_inscribed_circle(p, tolerance=1.0).length for p in shapely.get_parts(ground.free))
    most = max(0.5 * look.size * min(wide, 46.0) * wish.size, 2.4 * pen.pitch_mm)
    flow = Field(ground, ground.free).angle
    angle = float(np.clip(flow, -LEAN, LEAN)) if abs(flow) < 1.2 else 0.0
    apart = (0.2 - 0.6 * wish.density) * most
    spots = voids(target, shapely.Polygon(), 2.0 * pen.pitch_mm, most, apart, count=60)
    if not len(spots):
        return None
    up = np.array([-np.sin(angle), np.cos(angle)])
    spots = spots[np.argsort(-(spots[:, :2] @ up), kind="stable")]
    light = 1.0 if rng.uniform() < 0.5 else -1.0
    clear = shapely.buffer(home, -INSET_MM, quad_segs=2)
    hidden = shapely.buffer(ground.front, ground.skin_break_mm, quad_segs=4)
    shapely.prepare(home)
    masses = []
    for x, y, r in spots:
        rock = Rock(np.array([x, y]), 1.22 * r * float(rng.uniform(0.9, 1.15)), angle, look, light, rng)
        rock = rock.settled(clear, ground.free.boundary)
        m = rock.mass(pen, hand)
        m.black = [b for b in shapely.intersection(m.black, home) if not b.is_empty] if m.black else []
        cut = off_along(within(m.lines, home, 3.0), ground.free.boundary)
        cut = loose_ends_thinned(cut, m.black, hidden, 3.0)
        m.lines = pointed(clear_tips(cut, ground.free.boundary), pen)
        m.body = shapely.intersection(m.body, stage.room)
        masses.append(m)
    return paint([m for m in masses if not m.body.is_empty and m.lines], stage, pen, ground.line_gap_mm,
                 LEAST_WHITE_MM2)


propose = draw


class Rock:
    """One rock about `at`: rough outline, a ridge line from the top to the foot. `light` +1: lit from the right of the
    frame that lies at `angle`."""

    def __init__(self, at: np.ndarray, size: float, angle: float, look: Style, light: float,
                 rng: np.random.Generator) -> None:
        self.at, self.size, self.light, self.rng = at, size, light, rng
        self.frame = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
        n = 9
        a = np.pi / 2 + np.linspace(0, 2 * np.pi, n, endpoint=False) + rng.uniform(-0.16, 0.16, n)
        a[0] += light * 0.3
        rho = 1 + look.jag * rng.uniform(-1, 1, n)
        rho[0] = 1.12 + look.jag
        p = np.column_stack([np.cos(a) * rho, np.sin(a) * rho * look.tall])
        p[:, 1] = np.where(p[:, 1] < -0.55 * look.tall, -0.62 * look.tall, p[:, 1])
        self.corners = p
        foot = np.array([-light * 0.4 + rng.uniform(-0.1, 0.1), -0.62 * look.tall])
        mid = (p[0] + foot) / 2 + (light * rng.uniform(-0.02, 0.12), rng.uniform(-0.08, 0.08))
        self.ridge = np.array([p[0], mid, mid - (light * 0.14, 0.16 * look.tall), foot])

    def place(self, p: np.ndarray) -> np.ndarray:
        """Unit rock coordinates (n, 2) to the chart, mm."""
        return np.asarray(p, float) * self.size @ self.frame + self.at

    def settled(self, area: BaseGeometry, edge: BaseGeometry) -> Rock:
        """The rock within an area, a little smaller or larger where its outline would run along the edge of the open
        skin and be half cut away."""
        tries = []
        for share in (1.0, 0.92, 1.07, 0.84, 0.76):
            one = copy(self)
            one.size = self.size * share
            one.keep_in(area)
            ring = one.place(one.corners)
            near = shapely.intersection(shapely.linearrings(ring), shapely.buffer(edge, ALONG_MM, quad_segs=2))
            runs = shapely.length(shapely.get_parts(shapely.line_merge(near)))
            tries.append((float(runs[runs > GRAZE_MM].sum()), one))
            if tries[-1][0] == 0:
                break
        return min(tries, key=lambda t: t[0])[1]

    def keep_in(self, area: BaseGeometry) -> None:
        """Draws corners and ridge in towards the middle until they lie in an area, so that nothing is cut off there."""
        held = np.vstack([self.corners, self.ridge[1:]])
        rays = shapely.linestrings(np.stack([np.broadcast_to(self.at, held.shape), self.place(held)], axis=1))
        for i in np.flatnonzero(~shapely.covers(area, rays)):
            inside = shapely.get_parts(shapely.intersection(area, rays[i]))
            near = inside[shapely.distance(inside, shapely.Point(self.at)) < 0.5] if len(inside) else inside
            far = max((g.length for g in near), default=0.0)
            held[i] *= far / max(float(rays[i].length), 1e-9)
        self.corners, self.ridge = held[:9], np.vstack([held[:1], held[9:]])

    def mass(self, pen: Pen, hand: Hand) -> Mass:
        """Outline, ridge, black in planes, strokes down the lit face, a crack."""
        body = filled(self.place(self.corners))
        ring = np.vstack([self.corners, self.corners[:1]])
        lines = [self._stroke(ring[i : i + 2], pen.outline_mm * (0.9 + 0.25 * (i % 2)))
                 for i in range(len(ring) - 1)]
        room = self.size > DETAIL * pen.pitch_mm
        if room:
            lines += [self._stroke(self.ridge, pen.line_mm), *self._planes(pen), *self._cracks(pen)]
        black = shapely.intersection(self._shade(pen, hand), body) if hand.dark > 0.05 else shapely.Polygon()
        return Mass(body, lines, [] if black.is_empty else [black])

    def _flank(self) -> np.ndarray:
        """The outline (n, 2) on the shaded side, from the peak to the foot."""
        side = self.corners[1:] if self.light > 0 else self.corners[:0:-1]
        return np.array([self.corners[0], *[c for c in side if c[0] * self.light < 0.1][:6], self.ridge[-1]])

    def _shade(self, pen: Pen, hand: Hand) -> BaseGeometry:
        """Black from the shaded outline inwards to a broken line, wider towards the foot: planes of the stone. What of
        the shaded side would be left as a slot beside the ridge is black as well."""
        n = 5
        flank, ridge = (_along(p, np.linspace(0, 1, n + 1)) for p in (self._flank(), self.ridge))
        deep = np.linspace(0.3, 0.92, n + 1) * (0.62 + 0.5 * hand.dark)
        deep[1:-1] += 0.2 * np.array([1, -1, 1, -1]) * self.rng.uniform(0.3, 1.0, n - 1)
        wide = np.hypot(*(ridge - flank).T) * self.size
        deep = np.where((1 - deep) * wide < LIGHT * pen.pitch_mm, 1.0, np.clip(deep, 0.12, 1.0))
        edge = flank + (ridge - flank) * deep[:, None]
        return filled(self.place(np.vstack([self._flank(), edge[::-1]])))

    def _planes(self, pen: Pen) -> list[Line]:
        """An edge from the ridge into the lit face, which parts it, and a few strokes under it, each shorter."""
        s = self.light
        side = self.corners[::-1] if s > 0 else self.corners[1:]
        lit = [c for c in side if c[0] * s > 0.3]
        if len(lit) < 2:
            return []
        root = _along(self.ridge, np.array([self.rng.uniform(0.3, 0.46)]))[0]
        low = root[1] - self.rng.uniform(0.25, 0.5)
        aim = min(lit, key=lambda c: abs(c[1] - low)) - root
        share = np.linspace(0, 1, 9)[:, None]
        bow = np.array([0.0, 0.07]) * share * (1 - share)
        edge = self.place(root + aim * 0.72 * share - bow)
        out = [Line(edge, pen.line_mm * np.linspace(1.3, 0.2, 9), "tucked", "tip", 0)]
        down = np.array([s * 0.06, -1.0]) * 1.35 * pen.pitch_mm / self.size
        for k in range(1, 4):
            at = _along(self.ridge, np.array([0.46 + 0.13 * k]))[0]
            start = np.array([at[0] + s * 1.5 * pen.pitch_mm / self.size, root[1] + (k + 0.2) * down[1]])
            long = 0.72 * (0.62, 0.4, 0.5)[k - 1] * float(self.rng.uniform(0.85, 1.1))
            way = aim * long
            if float(np.hypot(*way)) * self.size < 2.4 * pen.pitch_mm or start[1] + way[1] < 1.1 * self.ridge[-1][1]:
                break
            path = self.place(start + way * share - bow)
            out.append(Line(path, pen.line_mm * 1.2 * np.sin(np.pi * (0.1 + 0.85 * share[:, 0])), "tip", "tip", 0))
        return out

    def _cracks(self, pen: Pen) -> list[Line]:
        """A jagged crack from the lit outline inwards."""
        s = self.light
        side = self.corners[::-1] if s > 0 else self.corners[1:]
        start = next((c for c in side if c[0] * s > 0.5 and c[1] < 0.4), None)
        if start is None:
            return []
        path = np.array([start, start * (0.82, 0.95) + (0, -0.07), start * (0.7, 0.8) + (0, 0.03),
                         start * (0.3, 0.5)])
        if float(np.hypot(*np.diff(path, axis=0).T).sum()) * self.size < CRACK * pen.pitch_mm:
            return []       # a stump
        return [self._stroke(path, 1.4 * pen.line_mm, taper=True)]

    def _stroke(self, p: np.ndarray, width: float, taper: bool = False) -> Line:
        """A broken line with a little tremor, thick in the middle of each leg."""
        legs = []
        for a, b in pairwise(p):
            legs.append(a + (b - a) * np.linspace(0, 1, 4)[:-1, None])
        path = np.vstack([*legs, p[-1:]])
        t = np.linspace(0, 1, len(path))
        w = width * (np.linspace(1.0, 0.2, len(path)) if taper else 0.85 + 0.3 * np.sin(np.pi * t))
        return Line(self.place(path), w, "tucked", "tip" if taper else "tucked", 0)


def _along(path: np.ndarray, share: np.ndarray) -> np.ndarray:
    """Points (n, 2) at shares of the length of a broken line."""
    s = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    return np.column_stack([np.interp(share * s[-1], s, path[:, k]) for k in (0, 1)])
