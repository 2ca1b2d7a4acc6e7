"""Gores on a panel: strips of paper that are true along their own middle and along every level.

On a limb a gore is the ordinary polyconic (see `composer.body.gore`); here levels and middle lines are those
of the sheet, and the same is done by development: a line of skin is laid on paper with its own lengths
and its own geodesic curvature (do Carmo, "Differential Geometry of Curves and Surfaces", 1976,
section 4-4). The middle line is developed first, then every level from where it meets that line, at the angle
at which they meet on skin. All gores of one field share the level along which they are joined.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from scipy.interpolate import CubicSpline, PPoly

from composer.body.even_spline import EvenSpline, even_spline
from composer.body.panel import Panel
from composer.body.panel_flatten import basis, principal, slope

STEP_MM = 4.0
BACK = np.array([(i, j) for n in range(6) for i in range(n + 1) for j in (n - i,)])
"""Powers of the polynomial from paper back to the sheet."""


@dataclass(frozen=True, eq=False)
class Levels:
    """Levels of a panel developed over a box of its sheet: grid lines `x`, `y` (mm), and there `turn` (radians)
    and `run` (complex, mm), by which a level has turned and where it has come to from x[0] on, `rise` length of
    the middle lines per mm of sheet, `bend` what they turn per mm, `meet` the angle from level to middle line."""

    panel: Panel
    x: np.ndarray
    y: np.ndarray
    turn: np.ndarray = field(repr=False)
    run: np.ndarray = field(repr=False)
    rise: np.ndarray = field(repr=False)
    bend: np.ndarray = field(repr=False)
    meet: np.ndarray = field(repr=False)

    def at(self, x: float) -> tuple[np.ndarray, ...]:
        """turn, run, meet, rise and bend along the middle line at x, at the heights y."""
        weights = self._across(x)
        return tuple(weights @ v for v in (self.turn, self.run, self.meet, self.rise, self.bend))

    @cached_property
    def _across(self) -> CubicSpline:
        """By x the weights (nx,) with which a spline takes what is known at the grid's x."""
        return CubicSpline(self.x, np.eye(len(self.x)))

    @cached_property
    def up(self) -> tuple[CubicSpline, PPoly, np.ndarray]:
        """By y the weights (ny,) of a spline and of its integral from y[0], and those of the integral at the heights y
        (ny, ny)."""
        weights = CubicSpline(self.y, np.eye(len(self.y)))
        total = weights.antiderivative()
        return weights, total, total(self.y)

    @cached_property
    def turn_at(self) -> EvenSpline:
        """turn at sheet mm."""
        return even_spline(self.x, self.y, self.turn)


def levels_on(panel: Panel, low: np.ndarray, high: np.ndarray) -> Levels:
    """Develop the levels over the box between two places (u, s) of a panel."""
    (x0, y0), (x1, y1) = panel.to_mm(np.array([low, high]))
    x = np.linspace(x0, x1, max(6, int((x1 - x0) / STEP_MM) + 2))
    y = np.linspace(y0, y1, max(6, int((y1 - y0) / STEP_MM) + 2))
    us = panel.from_mm(np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2))
    shape = (len(x), len(y))
    tangents = panel.tangents(us)
    along, up = tangents[:, :, 0], tangents[:, :, 1]
    out = np.cross(along, up)
    out /= np.linalg.norm(out, axis=1)[:, None]
    wide, rise = (np.linalg.norm(t, axis=1) for t in (along, up))
    h = 0.5
    bends = []
    for way, t, speed in (((h, 0.0), along, wide), ((0.0, h), up, rise)):
        d = panel.from_mm(np.array([way]))
        second = (panel.embed(us + d) - 2 * panel.embed(us) + panel.embed(us - d)) / (h * h)
        bends.append((second * np.cross(out, t)).sum(axis=1) / speed**2)      # geodesic curvature times speed
    meet = np.arctan2((np.cross(along, up) * out).sum(axis=1), (along * up).sum(axis=1))
    turn = CubicSpline(x, bends[0].reshape(shape), axis=0).antiderivative()(x)
    run = CubicSpline(x, wide.reshape(shape) * np.exp(1j * turn), axis=0).antiderivative()(x)
    return Levels(panel, x, y, turn, run, rise.reshape(shape), bends[1].reshape(shape), meet.reshape(shape))


@dataclass(frozen=True, eq=False)
class PanelGore:
    """Flat chart about the sheet line u = `u0` (turns), joined to its neighbours along the level `s0_mm`, which lies
    on paper as the field develops it, its point in the middle of the field at the origin."""

    levels: Levels
    u0: float
    s0_mm: float

    @cached_property
    def _middle(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """At the heights of the field: where the middle line lies on paper (complex), by how much levels are turned
        there (radians), and the run of the level as far as the middle line."""
        lv, x0 = self.levels, self.u0 * self.levels.panel.turn_mm
        turn, run, meet, rise, bend = lv.at(x0)
        weights, total, integral = lv.up
        spine, so_far = weights(self.s0_mm), total(self.s0_mm)
        turn_0, run_0 = (spine @ v for v in lv.at(float(np.mean(lv.x)))[:2])
        up = spine @ (turn + meet) - turn_0                                      # of the middle line, at the spine
        heads = up + integral @ bend - so_far @ bend
        pace = rise * np.exp(1j * heads)
        spot = (spine @ run - run_0) * np.exp(-1j * turn_0)
        return spot + integral @ pace - so_far @ pace, heads - meet - turn, run

    @cached_property
    def _flat(self) -> EvenSpline:
        """Where sheet mm lie on paper (complex)."""
        spot, way, run = self._middle
        return even_spline(self.levels.x, self.levels.y, spot + np.exp(1j * way) * (self.levels.run - run))

    @cached_property
    def _back(self) -> tuple[np.ndarray, float, np.ndarray]:
        """Middle and size of the paper, mm, and by BACK (k, 2) sheet mm from it, near enough to start from."""
        grid = (g[np.unique(np.linspace(0, len(g) - 1, 18).astype(int))] for g in (self.levels.x, self.levels.y))
        x, y = (a.ravel() for a in np.meshgrid(*grid))
        flat = self._flat(x, y)
        flat = np.column_stack([flat.real, flat.imag])
        middle, size = flat.mean(axis=0), float(np.abs(flat - flat.mean(axis=0)).max())
        powers = basis((flat - middle) / size, BACK)
        return middle, size, np.linalg.lstsq(powers, np.column_stack([x, y]), rcond=None)[0]

    def to_flat(self, us: np.ndarray) -> np.ndarray:
        """Skin points (n, 2) of (u, s) to flat mm (n, 2), x right, y up."""
        xy = self.levels.panel.to_mm(us)
        x, y = (np.clip(xy[:, k], g[0], g[-1]) for k, g in ((0, self.levels.x), (1, self.levels.y)))
        flat = self._flat(x, y)
        off = (xy[:, 0] - x) + 1j * (xy[:, 1] - y)          # past the field straight on
        if np.any(off):
            past = np.flatnonzero(off)
            way = self.levels.up[0](y[past]) @ self._middle[1]
            flat[past] += np.exp(1j * (way + self.levels.turn_at(x[past], y[past]))) * off[past]
        return np.column_stack([flat.real, flat.imag])

    def to_skin(self, xy: np.ndarray) -> np.ndarray:
        """Inverse of `to_flat` by Newton's method, from a polynomial and with its slopes as long as that comes
        nearer."""
        xy = np.asarray(xy, float)
        panel = self.levels.panel
        middle, size, coef = self._back
        at = (xy - middle) / size
        inside = np.abs(at).max(axis=1, initial=0.0, keepdims=True) <= 1
        held = np.clip(at, -1, 1)
        sheet = basis(held, BACK) @ coef + np.where(inside, 0.0, (at - held) * size)
        down = np.stack([slope(held, BACK, k) @ coef for k in (0, 1)], axis=2) / size
        miss = xy - self.to_flat(panel.from_mm(sheet))
        for _ in range(6):
            if not len(xy) or np.abs(miss).max() < 1e-7:
                return panel.from_mm(sheet)
            sheet = sheet + np.clip(np.einsum("nij,nj->ni", down, miss), -40.0, 40.0)
            miss = xy - self.to_flat(panel.from_mm(sheet))
        for k in range(60):
            if np.abs(miss).max() < 1e-7:
                break
            if k in (0, 2) or k % 8 == 7:         # the slope hardly changes once it is near
                jac = self._slope(sheet)
            sheet = sheet + np.clip(np.linalg.solve(jac, miss[:, :, None])[:, :, 0], -40.0, 40.0)
            miss = xy - self.to_flat(panel.from_mm(sheet))
        return panel.from_mm(sheet)

    def _slope(self, sheet: np.ndarray, step: float = 0.01) -> np.ndarray:
        """d(paper) / d(sheet), (n, 2, 2), by central differences."""
        aside = step * np.array([[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]])
        there = self.to_flat(self.levels.panel.from_mm((sheet + aside[:, None]).reshape(-1, 2))).reshape(4, -1, 2)
        return np.stack([there[0] - there[1], there[2] - there[3]], axis=2) / (2 * step)

    def stretches(self, us: np.ndarray) -> np.ndarray:
        """Principal stretches (n, 2), larger first, of paper -> skin at skin points (n, 2)."""
        return self.stretches_on(us, self.levels.panel.metric(us))

    def stretches_on(self, us: np.ndarray, metric: np.ndarray) -> np.ndarray:
        """The same where the panel's metric (n, 2, 2) is known there."""
        return principal(self._slope(self.levels.panel.to_mm(us)), metric)
