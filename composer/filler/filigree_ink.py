"""Ink of filigree: strokes, ball ends, leaves and the webs of forks, as polygons."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.filler.filigree_curves import even, frond, shares, unit_tangents
from composer.filler.filigree_grow import Stroke, comma_half


def flat(z: np.ndarray) -> np.ndarray:
    """Complex places (n,) as points (n, 2)."""
    return np.column_stack([z.real, z.imag])


SAGITTA_MM = 0.012
"""How far a chord of a drawn outline may stand off the curve."""
CAP = np.exp(1j * np.linspace(np.pi / 2, -np.pi / 2, 7)[1:-1])
"""The round end of a stroke that runs along +x, between its edges at +i and -i."""


def thinned(z: np.ndarray, half: np.ndarray) -> np.ndarray:
    """Numbers of the vertices that are needed: few where the curve is wide, many where it is
    tight (chord = sqrt(8 * radius * sagitta))."""
    d = np.diff(z)
    step = np.abs(d)
    turn = np.abs(np.angle(d[1:] * np.conj(d[:-1])))
    radius = step[1:] / np.maximum(turn, 1e-4)
    radius = np.maximum(radius - half[1:-1] * 1.3, 0.5)
    chord = np.clip(np.sqrt(8 * SAGITTA_MM * np.concatenate([radius[:1], radius])), 0.25, 1.3)
    swell = np.abs(np.diff(half)) / np.maximum(step, 1e-6)
    chord = np.minimum(chord, np.where(swell > 0.06, 0.45, 9.0))
    count = np.concatenate([[0.0], np.cumsum(step / chord)])
    n = max(6, int(np.ceil(count[-1])))
    return np.unique(np.interp(np.linspace(0, count[-1], n + 1), count, np.arange(len(z))).round().astype(int))


def body(z: np.ndarray, half: np.ndarray) -> BaseGeometry:
    """The stroke along complex `z` with half widths `half`, rounded at both ends."""
    t = unit_tangents(z)
    if len(z) > 12:
        k = thinned(z, half)
        z, half, t = z[k], half[k], t[k]
    n = 1j * t * half
    cap_end = z[-1] + t[-1] * half[-1] * CAP
    cap_start = z[0] - t[0] * half[0] * CAP
    poly = shapely.polygons(flat(np.concatenate([z + n, cap_end, (z - n)[::-1], cap_start])))
    return poly if poly.is_valid else shapely.make_valid(poly)


def ball(stroke: Stroke) -> list[BaseGeometry]:
    """The ball at the end: its outer side carries on the outer side of the stroke, so it grows
    inwards like the eye of a volute; a teardrop neck leads into it (disc and neck)."""
    round_ = stroke.ball_at + stroke.ball * np.exp(2j * np.pi * np.arange(28) / 28)
    side = stroke.eye or stroke.side
    outer, inner = neck(stroke.z, stroke.half, stroke.tangent, stroke.ball, side)
    way = shapely.polygons(flat(np.concatenate([outer, inner[::-1]])))
    return [shapely.polygons(flat(round_)), way if way.is_valid else way.buffer(0)]


def neck(z: np.ndarray, half: np.ndarray, tangent: np.ndarray, r: float, side: int) -> tuple[np.ndarray, np.ndarray]:
    """The outer and the inner edge (n,) complex of the neck that leads into a ball of radius r."""
    h = float(half[-1])
    back = max(1, round(1.3 * r / max(float(abs(z[-1] - z[-2])), 1e-6)))
    k = max(0, len(z) - 1 - back)
    z, half, tangent = z[k:], half[k:], tangent[k:]
    inner = z + 1j * side * tangent * (half + (2 * r - 2 * h) * 0.62 * shares(len(z)) ** 2.2)
    return z - 1j * side * tangent * half, inner


def web(child: Stroke, parent: Stroke, k: slice, fill_mm: float, gap_mm: float,
        base: np.ndarray | None = None) -> tuple[BaseGeometry | None, complex, float]:
    """The filled crotch of a fork up to where it is `fill_mm` wide, rounded out tangentially to
    both limbs, as a branch grows out of wood; with the place and radius (mm) of the wedge that
    is left narrower than `gap_mm`. `k`: the stretch of the parent on which the crotch can lie
    (the parent may be a sibling that leaves a little further on; `base` is then the way between
    the two roots along the stem, complex)."""
    side = child.side
    tp = parent.tangent[k]
    edge_p = parent.z[k] + 1j * side * tp * parent.half[k]
    n = min(len(child.z), 64)
    edge_c = child.z[:n] - 1j * side * child.tangent[:n] * child.half[:n]
    if len(edge_p) < 3:
        return None, complex(child.z[0]), 3.0
    d = np.abs(edge_c[:, None] - edge_p[None, :])
    near = d.argmin(axis=1)
    apart = d[np.arange(n), near]
    # the child's edge starts inside the parent; it has come out where it lies to the child's side
    out = ((edge_c - edge_p[near]) * np.conj(1j * side * tp[near])).real > 0.0
    wide = np.flatnonzero((apart > fill_mm) & out)
    if not len(wide):
        return None, complex(child.z[0]), 3.0
    j1 = int(wide[0])
    a, b = edge_c[j1], edge_p[near[j1]]
    ta, tb = child.tangent[j1], tp[near[j1]]
    reach = 0.75 * abs(a - b)
    u = np.linspace(0, 1, 7)[1:-1]
    v = 1 - u
    bow = v**3 * a + 3 * u * v * v * (a - ta * reach) + 3 * u * u * v * (b - tb * reach) + u**3 * b
    ring = np.concatenate([child.z[: j1 + 1], [a], bow, [b], parent.z[k][: near[j1] + 1][::-1],
                           base[::-1] if base is not None else []])
    poly = shapely.polygons(flat(ring))
    if not poly.is_valid:
        poly = poly.buffer(0)
    far = np.flatnonzero((apart > gap_mm + 0.25) & (np.arange(n) >= j1))
    j2 = int(far[0]) if len(far) else n - 1
    mid = (edge_c[j1] + edge_c[j2] + edge_p[near[j1]] + edge_p[near[j2]]) / 4
    return poly, complex(mid), float(max(abs(edge_c[j2] - mid), abs(b - mid), abs(a - mid)) + 0.8)


def lobes_of(spine: np.ndarray, side: int, half: np.ndarray, count: int,
             tip: float = 0.2) -> list[tuple[np.ndarray, np.ndarray]]:
    """Lobes of an acanthus leaf: centre lines with half widths, graded, leaving the spine
    forwards on its convex side and curling out, down to the half width `tip`; smaller ones on the
    hollow side of an open leaf."""
    t = unit_tangents(spine)
    length = float(np.abs(np.diff(spine)).sum())
    out = []
    plan = ((0.10, -side, 0.50), (0.34, -side, 0.40), (0.22, side, 0.34), (0.52, -side, 0.28), (0.46, side, 0.24))
    bent = abs(float(np.angle(t[-1] / t[len(t) // 8])))
    for u, way, share in plan[:count]:
        if way == side and bent > 0.85:
            continue  # the hollow of a curled leaf has no room for a lobe
        k = int(u * (len(spine) - 1))
        grow = share * length
        z = frond(62).z if way > 0 else frond(62).z.conj()
        start = spine[k] + 1j * way * t[k] * 0.35 * half[k]
        line = even(start + t[k] * np.exp(1j * way * np.radians(16)) * grow * z, max(9, int(grow / 0.4)))
        out.append((line, comma_half(np.linspace(0, 1, len(line)), 0.62 * float(half[k]), 0.155 * grow, tip, 0.45)))
    return out
