"""Moon jellyfish: a domed bell with four horseshoes, lobed margin, frilled arms that trail in the tide."""

# ruff: noqa: RUF005 - points are numpy arrays, so "p + [x, y]" is a sum
from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from canvas import Canvas
from shapely.geometry import Polygon
from tools_c import arc, between, black, crv, even, flick, frill, inked, moved, shares, stipple, thin, tidy, tube, vline

from composer.art.brush import normals, stroke

TILT = 11.0


def B(points: list[tuple[float, ...]] | np.ndarray) -> np.ndarray:
    """Bell coordinates (origin at the middle of the margin) to paper."""
    return moved(points, 2.0, 96.0, TILT)


def draw() -> None:
    c = Canvas(31)
    arm(c, [(15, 97), (22, 86), (20, 73), (27, 60), (25, 48), (31, 37), (30, 26)], 7.0, 14, 3, True)
    arm(c, [(-17, 92), (-22, 83), (-19, 72), (-25, 61), (-22, 50), (-26, 40), (-22, 30)], 6.4, 12, 1, True)
    arm(c, [(3, 90), (5, 80), (2, 68), (7, 56), (4, 43), (9, 31), (7, 19), (11, 10)], 6.4, 16, 0, True)
    arm(c, [(10, 92), (14, 79), (10, 65), (17, 50), (13, 36), (20, 21), (17, 8), (22, -4)], 8.6, 20, 2, False)
    arm(c, [(-7, 91), (-10, 78), (-5, 64), (-13, 49), (-7, 35), (-13, 20), (-8, 6), (-13, -8), (-12, -14)], 9.2, 23,
        0, False)
    bell(c)
    tidy(c)
    c.save("moon_jelly", {
        "title": "Moon jellyfish", "min_mm": 120, "max_mm": 260, "facing": "none", "upright_deg": 0,
        "symmetric": False, "focal": True, "keep_whole": False,
        "tags": ["jellyfish", "moon jelly", "sea", "estuary", "animal"], "licence": "CC0-1.0",
        "about": "A moon jelly drifts in on the flood past the lighthouse steps, arms trailing on the ebb side."})


def arm(c: Canvas, axis: Sequence[tuple[float, float]], wide: float, lobes: int, phase: int, far: bool) -> None:
    """One ribbon: a rib down the middle, a ruffled veil on either side, black in the folds."""
    p = even(crv(axis), 300)
    n = normals(p)
    t = np.linspace(0, 1, 300)
    swing = np.sin(t * np.pi * 4.2 + phase * 1.3)
    veil = wide * np.clip(t * 4, 0.4, 1) * (1 - t ** 1.3) ** 0.75
    left = p + n * (veil * (0.56 + 0.36 * swing))[:, None]
    right = p - n * (veil * (0.56 - 0.36 * swing))[:, None]
    beat = np.array([4.2, 6.4, 3.2, 5.2, 7.0, 3.6, 5.6])
    fall = np.linspace(1.2, 0.7, lobes)
    parts = np.array([beat[(i + phase * 2) % 7] for i in range(lobes)]) * fall
    parts_r = np.array([beat[(i * 2 + phase + 3) % 7] for i in range(lobes)]) * fall
    el = frill(left, shares(parts), _outs(parts), 0.14, 0.75)
    er = frill(right, shares(parts_r), [-o for o in _outs(parts_r)], 0.14, 0.75)
    g = inked(c, Polygon(np.vstack([el, er[::-1]])).buffer(0).buffer(-0.12).buffer(0.12), 0.95, 0.5, 130,
        fine=[(*p[-1], 14, 0.4)], smooth=False)
    # the shaded half: whipped from the rib outwards
    flick(c, p[10:262], (p + (right - p) * 0.78)[26:278], int(4.4 * lobes), 0.8 if not far else 1.15, -0.1, g)
    if far:
        flick(c, p[10:250], (p + (left - p) * 0.7)[24:264], int(4.2 * lobes), 1.0, 0.1, g)
    # folds sweep from every notch of the edge up to the rib
    for side, edge, pr in ((1, left, parts), (-1, right, parts_r)):
        at = shares(pr)
        for i, a in enumerate(at[1:-2]):
            k = int(a * 299)
            up = max(k - 17, 0)
            root = p[up] + (edge[up] - p[up]) * 0.12
            w = (1 - 0.55 * a) * (1.15 if side < 0 else 0.9) * (1.0, 0.7)[i % 2]
            mid = edge[k] + (root - edge[k]) * 0.42 + (p[k] - p[up]) * 0.14
            vline(c, [(*edge[k], 0.8 * w), (*mid, 1.5 * w), (*root, 0.12)], g, "black")
            if far and i % 2:
                continue
            m = int((at[i] + 0.6 * (a - at[i])) * 299)
            q = edge[m] + n[m] * side * 0.7
            v = max(m - 11, 0)
            r2 = p[v] + (edge[v] - p[v]) * (0.55 if i % 2 else 0.36)
            thin(c, [q, (q + r2) / 2 + (p[m] - p[v]) * 0.16, r2], 0.36, g, belly=0.3, start=0.1, end=0)
    rib = veil * 0.07 + 0.08
    a, b = p + n * rib[:, None], p - n * rib[:, None]
    c.erase(Polygon(np.vstack([a[4:282], b[4:282][::-1]])).buffer(0))
    for edge, w in ((a, 0.4), (b, 0.6)):
        thin(c, edge[4:286:7], w, g, belly=0.3, start=0.7, end=0.2)


def _outs(parts: np.ndarray) -> list[float]:
    k = len(parts)
    return [1.9 * float(parts[i]) / 6 * (1.15 - 0.95 * i / k) * (1.0, 1.3, 0.75)[i % 3] for i in range(k)]


def bell(c: Canvas) -> None:
    dome = crv([(-31, 0), (-31.4, 7), (-28.6, 17), (-21.6, 26.4), (-11, 32.6), (0, 34.4), (11, 32.8), (21.4, 26.8),
        (28.4, 17.4), (31.4, 7), (31, 0)])
    front = crv([(31, 0), (26.4, -4.6), (17, -8.2), (6, -9.8), (-6, -9.8), (-17, -8.2), (-26.4, -4.6), (-31, 0)])
    # fringe behind the lobes: fine tentacles, long and short in turn, swept by the drift
    roots = B(even(front, 34)[1:-1])
    for i, a in enumerate(roots):
        long = long_of(len(roots))[i]
        path = crv([a + [0, 0.6], a + [-0.2, -long * 0.35], a + [0.2, -long * 0.7], a + [0.14 * long, -long]], 0.8)
        c.put("line", stroke(path, 0.62 * (1 - np.linspace(0, 1, len(path)) ** 1.4) + 0.1))
    ends = np.array([a + [0.14 * k, -k] for a, k in zip(roots, long_of(len(roots)), strict=True)])
    c.forms.append(Polygon(np.vstack([roots, ends[::-1]])).buffer(0))
    parts = [2.4, 3, 3.8, 4.4, 5, 5.2, 5.4, 5.2, 5, 4.4, 3.8, 3, 2.4]
    lobes = frill(front, shares(parts), [1.7, 2.1, 1.8, 2.2])
    g = inked(c, Polygon(B(np.vstack([dome, lobes[1:-1]]))).buffer(0), 1.5, 0.8, 125, smooth=False)
    # band above the lobes, a notch line up from every cusp
    hem = crv([(30.6, 4.4), (25.6, 0.4), (16.6, -3.2), (6, -4.9), (-6, -4.9), (-16.6, -3.2), (-25.6, 0.4),
        (-30.6, 4.4)])
    thin(c, B(hem[::2]), 0.65, g, belly=0.35, start=0.6, end=0.3)
    at = shares(parts)[1:-1]
    f, h = even(front, 500), even(hem, 500)
    for s in at:
        k = int(s * 499)
        vline(c, [(*B([f[k]])[0], 1.3), (*B([(f[k] + h[k]) / 2])[0], 0.7), (*B([h[k]])[0], 0.15)], g)
    # canals: from the crown to every lobe, forked, bowed by the dome
    centre = np.array([0.0, 20.0])
    for i, s in enumerate(np.linspace(0.04, 0.96, 17)):
        k = int(s * 499)
        end = h[k]
        x = end[0] / 31
        start = centre + np.array([x * 19, -9.4 * np.sqrt(max(1 - x * x, 0.05)) + 0.8])
        mid = (start + end) / 2 + np.array([x * 3.2, 0.6])
        if i % 2 == 0:
            thin(c, B([start, mid, end]), 0.5, g, belly=0.6, start=0.1, end=0.5)
        else:
            a = start + (end - start) * 0.42 + np.array([x * 2.6, 0])
            thin(c, B([a, (a + end) / 2 + [x * 1.4, 0], end]), 0.38, g, belly=0.7, start=0.1, end=0.6)
    # dome in shadow on the right, whipped along the meridians
    rim = crv([(2, 34.2), (11, 32.8), (21.4, 26.8), (28.4, 17.4), (31.2, 7), (30.6, 3.4)])
    inn = crv([(3, 33.4), (9, 30.6), (16.6, 25.4), (22, 17.4), (24.2, 9.6), (24.4, 3)])
    ease = np.clip(np.linspace(0, 3.2, 60), 0, 1)
    black(c, B(np.vstack([rim, between(rim, inn, 0.55 * ease, 60)[::-1]])), g, smooth=False)
    flick(c, B(between(rim, inn, 0.46 * ease, 60)), B(crv([(1.4, 33.8), (4.6, 30), (10, 24.6), (15.6, 18),
        (18.2, 10.6), (18.4, 3)])), 56, 1.15, 0.12, g)
    rim = crv([(-30.8, 4.4), (-31, 7), (-28.2, 17), (-21.4, 26.2), (-13, 31.4)])
    flick(c, B(rim), B(crv([(-29.0, 4.6), (-27, 8.4), (-23.6, 15.4), (-18.4, 22.6), (-11.4, 28.4)])), 44, 0.7, -0.1,
        g)
    # shadow under the hem
    flick(c, B(even(hem, 100)[4:66]), B(even(front, 100)[4:66]), 66, 0.62, 0, g, fade=0.85)
    # four horseshoes
    for ang in (52, 128, 232, 308):
        horseshoe(c, g, centre, ang)
    halo = shapely.Point(0, 0).buffer(1)
    halo = Polygon(B(arc(0, 20, 21, 12, 0, 360, 60)[:-1]))
    stipple(c, halo.difference(shapely.union_all([Polygon(B(_ring(centre, a, 1.25))) for a in (52, 128, 232, 308)])),
            lambda x, y: 0.55, 0.42, 520, 2.3)


def long_of(n: int) -> list[float]:
    """Lengths of the fringe in mm: long and short in turn."""
    return [(10.0, 7.0, 12.5, 8.0, 11.0, 6.4)[i % 6] for i in range(n)]


def _ring(centre: np.ndarray, ang: float, k: float) -> np.ndarray:
    a = np.radians(ang)
    m = centre + np.array([11.2 * np.cos(a), 6.6 * np.sin(a)])
    return arc(*m, 6.6 * k, 4.4 * k, 0, 360, 40)[:-1]


def horseshoe(c: Canvas, g: object, centre: np.ndarray, ang: float) -> None:
    """One gonad: a fat loop open towards the crown, black inside, lit on its upper left."""
    a = np.radians(ang)
    m = centre + np.array([11.2 * np.cos(a), 6.6 * np.sin(a)])
    face = np.degrees(np.arctan2(-np.sin(a), -np.cos(a)))
    path = arc(*m, 5.0, 3.3, face + 46, face + 314, 26)
    c.put("black", Polygon(B(arc(*m, 4.6, 3.0, 0, 360, 30)[:-1])).difference(Polygon(B(arc(*(centre), 4.4, 2.6, 0,
        360, 30)[:-1]))))
    width = np.interp(np.linspace(0, 1, 26), [0, 0.2, 0.5, 0.8, 1], [2.9, 2.3, 2.7, 2.3, 2.9])
    form = inked(c, tube(B(path), width, 0.8), 0.95, 0.55, 125, smooth=False, silhouette=False)
    lo = arc(*m, 6.4, 4.6, -130, 10, 20)
    flick(c, B(lo), B(arc(*m, 4.4, 2.9, -130, 10, 20)), 22, 0.6, 0, form)
    hump = arc(*m, 5.0, 3.3, face + 80, face + 280, 9)
    for q in hump[1:-1:2]:
        d = (q - m) / np.hypot(*(q - m))
        thin(c, B([q - d * 1.0, q + d * 0.2]), 0.35, form, start=1, end=0.2)


if __name__ == "__main__":
    draw()
