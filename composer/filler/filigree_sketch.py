"""The ink of a sketch of filigree: its strokes and the balls at their ends, drawn together with fewer vertices.

What takes long is uniting parts whose edges all but run into one, so that a stroke and its ball are one ring.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.filler.closing import polygons_of, united
from composer.filler.filigree_grow import Stroke
from composer.filler.filigree_ink import CAP, flat, neck

SKETCHED_MM = 0.025
"""How far a chord of a sketched outline may stand off the curve."""
LONGEST_MM, SWELLING_MM = 1.6, 0.45
"""The longest chord, and that where the width changes."""
_ROUND = np.linspace(0, 1, 18)[1:]


def in_ink(strokes: Sequence[Stroke]) -> BaseGeometry:
    """Strokes with the balls at their ends as one area, without the webs of their forks."""
    z, half = np.concatenate([s.z for s in strokes]), np.concatenate([s.half for s in strokes])
    last = np.cumsum([len(s.z) for s in strokes]) - 1
    first = np.concatenate([[0], last[:-1] + 1])
    t, kept = _tangents(z, first, last), _chosen(z, half, first, last)
    left, right = z + 1j * t * half, z - 1j * t * half
    out, back = (at[:, None] + on[:, None] * CAP for at, on in ((z[last], t[last] * half[last]),
                                                               (z[first], -t[first] * half[first])))
    rings = []
    for n, (a, b, s) in enumerate(zip(first, last, strokes, strict=True)):
        k = kept[kept.searchsorted(a) : kept.searchsorted(b, side="right")]
        if not s.ball:
            rings.append(np.concatenate([left[k], out[n], right[k[::-1]], back[n]]))
            continue
        side = s.eye or s.side
        _, inner = neck(z[a : b + 1], half[a : b + 1], t[a : b + 1], s.ball, side)
        outer, hollow = (right, left) if side > 0 else (left, right)
        ends = _round_to(outer[b], z[b] + 1j * side * t[b] * (s.ball - half[b]), inner, side)
        k_in = k[k <= b - len(inner)]
        rings.append(np.concatenate([outer[k], ends, hollow[k_in[::-1]], back[n] if side < 0 else back[n][::-1]]))
    parts = polygons_of(flat(np.concatenate(rings)), [len(ring) for ring in rings])
    crossed = ~shapely.is_valid(parts)
    parts[crossed] = shapely.make_valid(parts[crossed])
    return united(parts)


def _round_to(start: complex, heart: complex, inner: np.ndarray, side: int) -> np.ndarray:
    """Round a ball about its heart from a place on its edge, in the sense in which a stroke turns to that side, to
    where the inner edge of its neck comes out of it, and back along that."""
    spoke = start - heart
    off = np.flatnonzero(np.abs(inner - heart) > abs(spoke))
    inner = inner[: off[-1] + 1] if len(off) else inner[:1]
    turn = side * float(np.angle((inner[-1] - heart) / spoke)) % (2 * np.pi)
    return np.concatenate([heart + spoke * np.exp(1j * side * turn * _ROUND), inner[::-1]])


def _tangents(z: np.ndarray, first: np.ndarray, last: np.ndarray) -> np.ndarray:
    """As `unit_tangents`, of several paths that stand one after the other in z, each from its first to its last."""
    way = np.append(z[1:] - z[:-1], 1.0)
    step = np.maximum(np.abs(way), 1e-9)
    unit = way / step
    t = unit.copy()
    t[1:] = (unit[1:] * step[:-1] + unit[:-1] * step[1:]) / (step[1:] + step[:-1])
    t[first], t[last] = 2 * unit[first] - t[first + 1], 2 * unit[last - 1] - t[last - 1]
    return t / np.maximum(np.abs(t), 1e-12)


def _chosen(z: np.ndarray, half: np.ndarray, first: np.ndarray, last: np.ndarray) -> np.ndarray:
    """Numbers of the vertices that a sketch of several paths needs, as `filigree_ink.thinned` chooses them for one."""
    way = z[1:] - z[:-1]
    step = np.abs(way)
    turn = np.abs(np.angle(way[1:] * np.conj(way[:-1])))
    chord = np.empty(len(step))
    radius = step[1:] / np.maximum(turn, 1e-4) - half[1:-1] * 1.3
    chord[1:] = np.minimum(np.sqrt(8 * SKETCHED_MM * np.maximum(radius, 0.5)), LONGEST_MM)
    chord[first] = chord[first + 1]
    chord = np.where(np.abs(half[1:] - half[:-1]) > 0.06 * step, np.minimum(chord, SWELLING_MM), chord)
    count = np.floor(np.concatenate([[0.0], np.cumsum(step / chord)]))
    wanted = np.concatenate([[True], count[1:] > count[:-1]])
    wanted[first] = wanted[last] = True
    return np.flatnonzero(wanted)
