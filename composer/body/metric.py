"""Lengths and areas on skin, measured where they are.

The (u, s) domain is for searching; here is what measures. Between two points the limb is taken
for the cone fitted to it there, on which the shortest way has a closed form; areas use the
girth at each level. Points are (n, 2) of unwrapped (u in turns, s in mm).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from shapely.geometry.base import BaseGeometry

if TYPE_CHECKING:
    from composer.body.surface import Surface


_KNOTS = np.array([-1.0, -0.5, 0.0, 0.5, 1.0])
_GAUSS, _WEIGHT = np.polynomial.legendre.leggauss(5)
_HALF_TURN = np.pi * 0.999


def distance(limb: Surface, a: np.ndarray, b: np.ndarray, nearest_turn: bool = True) -> np.ndarray:
    """Distance on skin, mm, between points `a` and `b`, (n, 2) each or one of them (2,).

    With `nearest_turn` the shorter way round is taken, else u is used as given. The cone
    C = c1 + k (s - mid) is fitted by least squares between the two levels; there the chord is
    d^2 = ds^2 + Ca Cb du^2 sinc^2(k du / 2) (law of cosines in the developed sector).
    """
    a, b = np.broadcast_arrays(np.asarray(a, float).reshape(-1, 2), np.asarray(b, float).reshape(-1, 2))
    du, ds = b[:, 0] - a[:, 0], b[:, 1] - a[:, 1]
    if nearest_turn:
        du = du - np.round(du)
    mid, half = (a[:, 1] + b[:, 1]) / 2, ds / 2
    c = limb.girth(mid[:, None] + half[:, None] * _KNOTS)
    c1 = c.mean(axis=1)
    flat = np.abs(half) < 0.5
    k = np.where(flat, limb.slope(mid), (c @ _KNOTS) / 2.5 / np.where(flat, 1.0, half))
    ca, cb = np.maximum(c1 - k * half, 1.0), np.maximum(c1 + k * half, 1.0)
    turn = np.minimum(np.abs(k * du), _HALF_TURN) / 2
    return np.sqrt(ds * ds + ca * cb * du * du * np.sinc(turn / np.pi) ** 2)


def length(limb: Surface, us: np.ndarray, closed: bool = False) -> float:
    """Length, mm, of a line on skin through points (n, 2), u unwrapped; `closed` adds the way home."""
    us = np.asarray(us, float)
    if len(us) < 2:
        return 0.0
    ends = np.roll(us, -1, axis=0) if closed else us[1:]
    starts = us if closed else us[:-1]
    return float(distance(limb, starts, ends, nearest_turn=False).sum())


def ring_area(limb: Surface, ring: np.ndarray) -> float:
    """Area on skin, mm2, inside one ring (n, 2), positive when it runs counter-clockwise.

    Edges are straight in (u, s), so sample outlines every few mm. By Green's theorem the area is
    -closed integral of F(s) du, F being the integral of C; five Gauss points an edge. The ring
    must come home without going round the limb.
    """
    ring = np.asarray(ring, float)
    if len(ring) < 3:
        return 0.0
    after = np.roll(ring, -1, axis=0)
    t = (_GAUSS + 1) / 2
    s = ring[:, 1:] + (after[:, 1:] - ring[:, 1:]) * t
    below = limb.area_below(s) @ (_WEIGHT / 2)
    return float(-(below * (after[:, 0] - ring[:, 0])).sum())


def area(limb: Surface, shape: BaseGeometry) -> float:
    """Area on skin, mm2, of a polygon or several in (u, s); holes are taken off."""
    if shape.is_empty:
        return 0.0
    if hasattr(shape, "geoms"):
        return sum(area(limb, g) for g in shape.geoms)
    if shape.geom_type != "Polygon":
        return 0.0
    whole = abs(ring_area(limb, np.asarray(shape.exterior.coords)[:-1]))
    return whole - sum(abs(ring_area(limb, np.asarray(i.coords)[:-1])) for i in shape.interiors)


def perimeter(limb: Surface, shape: BaseGeometry) -> float:
    """Length of all edges on skin, mm, of a polygon or several in (u, s), holes included."""
    if shape.is_empty:
        return 0.0
    if hasattr(shape, "geoms"):
        return sum(perimeter(limb, g) for g in shape.geoms)
    if shape.geom_type != "Polygon":
        return 0.0
    rings = [shape.exterior, *shape.interiors]
    return sum(length(limb, np.asarray(r.coords)[:-1], closed=True) for r in rings)
