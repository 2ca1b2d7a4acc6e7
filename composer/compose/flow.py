"""The direction that background follows on skin.

A line field: a and a + 180 degrees are the same. The limb's own axis, leaning on the forearm from
the little-finger side of the wrist to the thumb side of the ditch (common practice, no published
source), is summed with the long axes of the pieces near by and with the strokes that the artist draws
(`composer.plan.currents`) as (cos 2a, sin 2a) with Gaussian weights, so that opposite strokes agree and crossed
ones cancel.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import Polygon

from composer.body.panel import Panel
from composer.body.patch import Patch
from composer.compose.chart import Chart, chart_of
from composer.plan.scene import Scene

LEAN_DEG = 18.0
"""Lean of the forearm's diagonal from the limb's axis (common practice, no published source)."""

FAN_DEG, FAN_MM = 62.0, 190.0
"""Lean of the flow on chest and back, so that it runs up and out to the shoulder as the muscles do, and how far out
from the midline it has come to that (common practice, no published source)."""

STROKE, STROKE_MM, STROKE_STEP_MM = 5.0, 20.0, 8.0
"""Say of a point of a drawn stroke, how far it reaches, how far apart such points are: on the stroke itself the flow
keeps to it within a few degrees whatever lies beside it, and 60 mm off little is left of it."""

PULL = 1.6
"""Say of a piece much longer than wide, at its own middle, against the limb's axis at 1."""


@dataclass(frozen=True, eq=False)
class Flow:
    """Direction field. `lean` (radians) at the levels `lean_s` (mm); pieces as places `at` (m, 2) of
    (u, s), `line` (m, 2) of (cos 2a, sin 2a) times their say, `reach` (m,) mm. With `ring_s` and
    `ring_reach` the flow turns round the limb near that level (rings round elbow and knee). `spiral` (radians) is added
    to the axis all along. With `fan_turn` it leans outwards from
    the midline, by FAN_DEG at so many turns from it (chest and back)."""

    chart: Chart
    lean_s: tuple[float, ...]
    lean: tuple[float, ...]
    at: np.ndarray
    line: np.ndarray
    reach: np.ndarray
    ring_s: float | None = None
    ring_reach: float = 45.0
    fan_turn: float = 0.0
    spiral: float = 0.0

    def angle(self, us: np.ndarray) -> np.ndarray:
        """Direction (n,) in radians, counter-clockwise from the way round the limb (+u), in (-pi/2,
        pi/2], at skin points (n, 2) of (u, s); 0 runs round the limb, pi/2 along it."""
        us = np.asarray(us, float)
        base = np.pi / 2 + self.spiral + np.interp(us[:, 1], self.lean_s, self.lean)
        if self.fan_turn:
            base = base - np.radians(FAN_DEG) * np.clip(us[:, 0] / self.fan_turn, -1, 1)
        x, y = np.cos(2 * base), np.sin(2 * base)
        if self.ring_s is not None:
            w = 3.0 * np.exp(-0.5 * ((us[:, 1] - self.ring_s) / self.ring_reach) ** 2)
            x = x + w
        if len(self.at):
            w = self._weights(us)
            x, y = x + (w * self.line[:, 0]).sum(axis=1), y + (w * self.line[:, 1]).sum(axis=1)
        return np.arctan2(y, x) / 2

    def _weights(self, us: np.ndarray) -> np.ndarray:
        """Say of each piece (m) at each point (n), (n, m); single precision is more than enough."""
        low = np.float32
        du = (us[:, None, 0] - self.at[None, :, 0]).astype(low)
        du -= np.rint(du)
        du *= (self.chart.girth(us[:, 1]).astype(low)[:, None] + self.chart.girth(self.at[:, 1]).astype(low)) / low(2)
        du *= du
        ds = us[:, 1].astype(low)[:, None] - self.at[:, 1].astype(low)
        ds *= ds
        du += ds
        du *= (-0.5 / self.reach**2).astype(low)
        return np.exp(du, out=du)


def flow_of(scene: Scene, rings: bool = False) -> Flow:
    """The scene's flow; `rings` turns it round the limb near elbow or knee, whatever the scene says. Fillers have
    no say."""
    chart = chart_of(scene.limb)
    panel = isinstance(scene.limb, Panel)
    lean_s, lean, joint = ((scene.limb.s_min,), (0.0,), 0.0) if panel else _lean(scene)
    axes = [_axis(x.patch, _Held(x.flat.digest, x.flat.outline)) for x in scene.laid if not x.piece.is_filler]
    axes = [a for a in axes if a is not None]
    got = np.concatenate([np.array(axes).reshape(-1, 5), *(_along(chart, s) for s in scene.currents.strokes)])
    round_joint = (rings or scene.currents.rings) and not panel
    return Flow(chart, lean_s, lean, got[:, :2], got[:, 2:4], got[:, 4], joint if round_joint else None,
                fan_turn=FAN_MM / float(scene.limb.girth(0.0)) if panel else 0.0,
                spiral=np.radians(scene.currents.spiral_deg))


def _along(chart: Chart, stroke: tuple[tuple[float, float], ...]) -> np.ndarray:
    """Points of a drawn stroke as rows (m, 5): u, s, say times (cos 2a, sin 2a), reach."""
    at = np.array(stroke)
    us = [at[:1]]
    for a, b in pairwise(at):
        n = max(1, int(np.ceil(float(chart.distance(a, b)) / STROKE_STEP_MM)))
        us.append(a + (b - a) * (np.arange(1, n + 1) / n)[:, None])
    us_ = np.concatenate(us)
    d = np.gradient(us_, axis=0) * np.column_stack([chart.girth(us_[:, 1]), np.ones(len(us_))])
    a2 = 2 * np.arctan2(d[:, 1], d[:, 0])
    return np.column_stack([us_, STROKE * np.cos(a2), STROKE * np.sin(a2), np.full(len(us_), STROKE_MM)])


def _lean(scene: Scene) -> tuple[tuple[float, ...], tuple[float, ...], float]:
    limb = scene.limb
    elbow = next((lv.s_mm for lv in limb.levels if "elbow" in lv.name.lower() or lv.name.lower() == "knee"),
                 limb.s_min + 0.5 * (limb.s_max - limb.s_min))
    side = next((1.0 if x.piece.part.startswith("right") else -1.0 for x in scene.laid
                 if x.piece.part.endswith("arm")), 0.0)
    a = side * np.radians(LEAN_DEG)
    start = limb.s_min
    return (start, elbow - 0.15 * (elbow - start), elbow + 40.0), (float(a), float(a), 0.0), float(elbow)


@dataclass(frozen=True)
class _Held:
    digest: str
    outline: shapely.Geometry

    def __hash__(self) -> int:
        return hash(self.digest)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Held) and other.digest == self.digest


@lru_cache(maxsize=1024)
def _axis(patch: Patch, held: _Held) -> tuple[float, float, float, float, float] | None:
    """Where (u, s), say times (cos 2a, sin 2a), reach in mm; None for a piece without area."""
    middle, angle, slender, size = outline_axis(held.outline)
    if size <= 0:
        return None
    u, s = patch.to_skin(np.array([middle]))[0]
    a = angle - np.radians(patch.turn_at(float(u)))
    w = PULL * slender
    return float(u), float(s), w * np.cos(2 * a), w * np.sin(2 * a), float(np.clip(0.55 * size, 18.0, 70.0))


def outline_axis(outline: shapely.Geometry) -> tuple[tuple[float, float], float, float, float]:
    """Middle (x, y), angle of the long axis (radians), slenderness 0..1 (1 - short / long) and length
    in mm of the ellipse with a silhouette's second moments (polygon moments by Green's theorem)."""
    rings: list[tuple[float, np.ndarray]] = []
    for p in shapely.get_parts(outline):
        if isinstance(p, Polygon):
            rings += [(1.0, np.asarray(p.exterior.coords)), *((-1.0, np.asarray(h.coords)) for h in p.interiors)]
    m = np.zeros(6)
    for sign, r in rings:
        m += sign * _ring_moments(r)
    if m[0] <= 1e-9:
        return (0.0, 0.0), 0.0, 0.0, 0.0
    cx, cy = m[1] / m[0], m[2] / m[0]
    xx, yy, xy = m[3] / m[0] - cx * cx, m[4] / m[0] - cy * cy, m[5] / m[0] - cx * cy
    half = np.hypot((xx - yy) / 2, xy)
    big, small = (xx + yy) / 2 + half, max((xx + yy) / 2 - half, 0.0)
    return (float(cx), float(cy)), float(np.arctan2(2 * xy, xx - yy) / 2), float(1 - np.sqrt(small / big)), \
        float(4 * np.sqrt(big))


def _ring_moments(r: np.ndarray) -> np.ndarray:
    x0, y0, x1, y1 = r[:-1, 0], r[:-1, 1], r[1:, 0], r[1:, 1]
    k = x0 * y1 - x1 * y0
    out = np.array([k.sum() / 2, ((x0 + x1) * k).sum() / 6, ((y0 + y1) * k).sum() / 6,
                    ((x0 * x0 + x0 * x1 + x1 * x1) * k).sum() / 12, ((y0 * y0 + y0 * y1 + y1 * y1) * k).sum() / 12,
                    ((x0 * y1 + 2 * x0 * y0 + 2 * x1 * y1 + x1 * y0) * k).sum() / 24])
    return out if out[0] >= 0 else -out
