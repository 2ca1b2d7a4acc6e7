"""Chain along a line: links by turns seen flat and on edge, the edge ones over the wires of their neighbours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from composer.filler.cloud_lines import Line, Pen
from composer.filler.masses import Mass


@dataclass(frozen=True)
class Links:
    """Sizes in mm: `wire`, outer `long` and `wide` of a link; `dark` -1 or +1: the side in shade."""

    wire: float
    long: float
    wide: float
    dark: float

    @property
    def apart(self) -> float:
        """From the middle of a link to the next: drawn tight, each end lies in the other's eye."""
        return self.long - 2 * self.wire

    def laid(self, path: np.ndarray, pen: Pen, whole: tuple[bool, bool], solid: bool) -> list[Mass]:
        """The chain on a path (n, 2) mm, close-set, as masses back to front. `whole`: whether it starts and
        ends in the open, with a flat link; `solid`: its wire is one line of ink."""
        at = _pacing(path, self.apart)
        if len(at) < 3:
            return []
        ks = list(range(int(whole[0]), len(at) - int(whole[1])))
        if whole[1] and len(ks) > 1 and (ks[-1] - ks[0]) % 2:
            ks.pop()
        flat, edge = [], []
        for k in ks:
            d = at[min(k + 1, len(at) - 1)] - at[max(k - 1, 0)]
            spin = d / abs(d)
            if (k - ks[0]) % 2 == 0:
                flat.append(self.flat(at[k], spin, pen, solid))
            else:
                edge.append(self.edge(at[k], spin, pen, solid))
        return [*flat, *edge]

    def flat(self, at: complex, spin: complex, pen: Pen, solid: bool) -> Mass:
        """A link seen flat: a ring with its eye, washed on the shaded side of the wire."""
        outer, inner = _stadium(self.long, self.wide), _stadium(self.long - 2 * self.wire, self.wide - 2 * self.wire)
        body = Polygon(_go(outer, at, spin), [_go(inner, at, spin)])
        if solid:
            return Mass(body, [], [body])
        lines = [_closed(outer, at, spin, pen.outline_mm * self._weight(outer)),
                 _closed(inner, at, spin, pen.outline_mm * self._weight(-inner))]
        wash = []
        for deep, role in ((0.6, "light"), (0.34, "mid")):
            off = 1j * self.dark * deep * self.wire
            rim = shapely.difference(Polygon(_go(outer, at, spin)), Polygon(_go(outer - off, at, spin)))
            eye = shapely.difference(Polygon(_go(inner - off, at, spin)), Polygon(_go(inner, at, spin)))
            wash.append((role, shapely.intersection(body, shapely.union(rim, eye))))
        return Mass(body, lines, wash=wash)

    def edge(self, at: complex, spin: complex, pen: Pen, solid: bool) -> Mass:
        """A link seen on edge: a bar with round ends, waisted a little."""
        t = np.linspace(-1, 1, 25)
        half = self.wire / 2 * (1.06 - 0.12 * np.cos(np.pi * t / 2)) * np.sqrt(np.clip(1 - np.abs(t) ** 9, 0, 1))
        x = t * self.long / 2
        ring = np.concatenate([x + 1j * half, (x - 1j * half)[::-1][1:-1]])
        body = Polygon(_go(ring, at, spin))
        if solid:
            return Mass(body, [], [body])
        lines = [_closed(ring, at, spin, pen.outline_mm * self._weight(ring))]
        wash = [(role, shapely.intersection(body, Polygon(_go(ring + 1j * self.dark * f * self.wire, at, spin))))
                for f, role in ((0.4, "light"), (0.66, "mid"))]
        return Mass(body, lines, wash=wash)

    def _weight(self, ring: np.ndarray) -> np.ndarray:
        """Outline: heavy towards the shade."""
        return 1.0 + 0.35 * self.dark * np.sin(np.angle(ring))


def _pacing(path: np.ndarray, apart: float) -> np.ndarray:
    """Places (complex) on a path, `apart` mm from each other as the crow flies."""
    z = path[:, 0] + 1j * path[:, 1]
    out, k = [z[0]], 0
    while True:
        ahead = np.flatnonzero(np.abs(z[k:] - out[-1]) >= apart)
        if not len(ahead):
            return np.array(out)
        k += int(ahead[0])
        out.append(z[k])


def _stadium(long: float, wide: float) -> np.ndarray:
    """A ring with round ends, a little fuller in the middle than a stadium, complex, counter-clockwise."""
    a = np.linspace(0, 2 * np.pi, 56, endpoint=False)
    c, s = np.cos(a), np.sin(a)
    x = np.sign(c) * np.abs(c) ** 0.85 * long / 2
    return x + 1j * np.sign(s) * np.abs(s) ** 0.78 * wide / 2


def _go(ring: np.ndarray, at: complex, spin: complex) -> np.ndarray:
    z = ring * spin + at
    return np.column_stack([z.real, z.imag])


def _closed(ring: np.ndarray, at: complex, spin: complex, width: np.ndarray | float) -> Line:
    p = _go(np.append(ring, ring[:1]), at, spin)
    w = np.broadcast_to(np.asarray(width, float), len(ring))
    return Line(p, np.append(w, w[0]), "tucked", "tucked", 0)
