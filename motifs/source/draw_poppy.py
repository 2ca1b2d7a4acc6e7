"""Horned poppy: ruffled petals, sickle pods, lobed leaves."""

from __future__ import annotations

import numpy as np
import shapely
from canvas import ellipse
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from tools_b import Fan, Table, Tube, loop, moved, round_loop, taper, whole

from composer.art.brush import stroke

C = np.array([-3.0, 62.0])


def petal_fan(rim: list[tuple[float, float]], bow: float = 0.0) -> Fan:
    """Petal with its ruffled margin given point by point as (direction, radius)."""
    a, r = np.radians([p[0] for p in rim]), np.array([p[1] for p in rim])
    k = np.radians(np.linspace(rim[0][0], rim[-1][0], 7))
    return Fan(C + 3.2 * np.column_stack([np.cos(k), 0.92 * np.sin(k)]), C + np.column_stack([r * np.cos(a),
            0.92 * r * np.sin(a)]), bow)


def share_at(f: Fan, deg: float) -> float:
    """Share of the margin that lies in a direction from the heart."""
    d = (f.margin - C) / (1, 0.92)
    ang = np.degrees(np.arctan2(d[:, 1], d[:, 0]))
    i = int(np.abs((ang - deg + 180) % 360 - 180).argmin())
    s = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(f.margin, axis=0).T))])
    return float(s[i] / s[-1])


def petal(c: Table, f: Fan, dents: list[tuple[float, float]], lips: list[tuple[float, float, float]],
        heart: float = 0.2) -> BaseGeometry:
    """Ruffles read from tone: long flicks in the valleys that end at a dent, short ones on the swells."""
    g = c.form(whole(f.form()), 1.4, 0.65)
    at = [(share_at(f, d), deep) for d, deep in dents]

    def valley(a: np.ndarray) -> np.ndarray:
        v = np.zeros_like(a)
        for x, deep in at:
            v = np.maximum(v, deep * np.exp(-(((a - x) / 0.034) ** 2)))
        return v

    c.put("black", f.between(0.0, heart), g)
    c.shade(f.arc(heart), f.arc(lambda a: 0.42 + 0.22 * valley(a) + 0.06 * np.sin(a * 19) + 0.05 * np.sin(a * 43)),
            g, 0.06, 0.8, ends=0.03, dots=2, smooth=False,
            bend=0.02)
    n = int(np.hypot(*np.diff(f.margin, axis=0).T).sum() / 0.8)
    for i, a in enumerate(np.linspace(0.015, 0.985, n)):
        k = 0.05 + 0.42 * float(valley(np.array([a]))[0])
        k *= (1.0, 0.6, 0.85, 0.5, 0.75)[i % 5]
        c.flick(f.at(a, 1.01)[0], f.at(a, 1 - k)[0], 0.85 if k > 0.12 else 0.6, 0.02, g)
    for x, deep in at:
        low = 1 - deep * 0.95
        ray = f.ray(x, low, 1.0) + np.column_stack([np.zeros(24), np.zeros(24)])
        c.line(ray, 1.0, 0.85, 0.0, 0.8, g, smooth=False)
    for i, a in enumerate(np.linspace(0.09, 0.91, 9)):
        if min(abs(a - x) for x, _ in at) > 0.035:
            f0, f1 = ((0.5, 0.78), (0.62, 0.9), (0.46, 0.68))[i % 3]
            c.line(f.ray(a, f0, f1), 0.42, 0.4, 0.0, 0.0, g, smooth=False)
    for d0, d1, deep in lips:
        a0, a1 = sorted((share_at(f, d0), share_at(f, d1)))
        a, t = np.linspace(a0, a1, 30), np.linspace(0, 1, 30)
        under = f.at(a, 1 - deep * np.sin(np.pi * t) ** 0.8 * (1 + 0.25 * np.sin(t * 9)))
        over = f.at(a, 1.015 + 0.05 * np.sin(np.pi * t))
        c.shade(under, f.at(a, 1 - (deep + 0.26) * np.sin(np.pi * t) ** 0.7), g, 0.3, 0.75, ends=0.12, smooth=False)
        lip = c.form(whole(Polygon(np.vstack([over, under[::-1]])).buffer(0)), 1.0, 0.6)
        for i in range(2, 29, 2):
            c.flick(over[i], over[i] + (under[i] - over[i]) * (0.75, 0.4, 0.6)[i // 2 % 3], 0.7, 0.04, lip)
    return g


def cast(c: Table, f: Fan, on: BaseGeometry, a0: float = 0.0, a1: float = 1.0, reach: float = 0.28) -> None:
    """Shadow of a petal's margin on what lies behind."""
    a = np.linspace(a0, a1, 120)
    c.shade(f.at(a, 0.99), f.at(a, 1 + reach), on, 0.3, 0.8, ends=0.06, smooth=False)


def side_cast(c: Table, f: Fan, a: float, step: float, on: BaseGeometry) -> None:
    s = np.linspace(0.2, 0.97, 60)
    c.shade(f.at(np.full(60, a), s), f.at(np.full(60, a), s) + (f.at(np.full(60, a), s) - f.at(np.full(60, 0.5),
            s)) * step, on, 0.28, 0.8,
            ends=0.32, smooth=False)


def heart(c: Table) -> None:
    rng = np.random.default_rng(4)
    for rank, (n, r0, r1) in enumerate(((21, 8.2, 10.2), (15, 5.6, 7.2))):
        for i in range(n):
            a = 2 * np.pi * (i + 0.5 * rank) / n + float(rng.uniform(-0.1, 0.1))
            r = float(rng.uniform(r0, r1))
            d = np.array([np.cos(a), np.sin(a) * 0.86])
            p, q = C + d * 2.4, C + d * r
            c.erase(taper(q, p, 0.55, 0.06, 0.3).buffer(0.05))
            head = moved(ellipse(0, 0, 1.15, 0.72), *q, float(np.degrees(a)) + 70 + 25 * (i % 2))
            g = c.form(round_loop(head), 0.55, 0.45, silhouette=False)
            c.put("black", g.intersection(round_loop(head - (0.0 - 0.25, 0.42))))
    pod(c, [(C[0], C[1] - 2.0), (C[0] + 0.4, C[1] + 1.4), (C[0] + 1.6, C[1] + 4.6)], 3.6, -1)


def pod(c: Table, pts: list[tuple[float, float]], wide: float, shade_side: int) -> BaseGeometry:
    """Sickle pod with a two-lobed tip; rough, so peppered."""
    t = Tube(pts, [(0, wide * 0.7), (0.06, wide), (0.6, wide * 1.05), (0.93, wide * 0.62), (1, wide * 0.7)], (0.5, 0.2))
    d = t.mid[-1] - t.mid[-5]
    turn = float(np.degrees(np.arctan2(d[1], d[0])))
    horn = moved([(-0.8, 0.9), (0.8, 2.0), (2.6, 2.2), (2.6, 2.2), (2.1, 0.6), (3.0, 0), (2.1, -0.6), (2.6, -2.2),
            (2.6, -2.2), (0.8, -2.0), (-0.8, -0.9)],
                 *t.mid[-1], turn)
    g = c.form(t.form(), 1.2, 0.6)
    c.shade(t.lane(shade_side), t.lane(-shade_side * 0.4), g, 0.26, 0.85, ends=0.02, smooth=False, bend=0.16)
    c.line(t.lane(-shade_side * 0.45, 0.03, 0.97), 0.42, 0.5, 0.2, 0.1, g)
    for i, k in enumerate(np.linspace(0.04, 0.94, int(t.length / 2.1))):
        c.dot(t.at(k, -shade_side * (0.1, 0.7, 0.25, 0.75)[i % 4])[0], 0.5, g)
    h = c.form(loop(horn), 0.9, 0.6)
    c.flick(moved([(2.4, -0.1)], *t.mid[-1], turn)[0], moved([(-0.4, 0)], *t.mid[-1], turn)[0], 0.8, 0, h)
    return g


LOBE = ((-0.44, 0.2), (-0.44, 0.2), (-0.36, 0.44), (-0.3, 0.66), (-0.3, 0.66), (-0.14, 0.66), (0.02, 0.82),
        (0.14, 1.06), (0.14, 1.06),
        (0.26, 0.88), (0.42, 0.86), (0.56, 0.96), (0.56, 0.96), (0.58, 0.7), (0.48, 0.44))


def leaf(c: Table, spine: list[tuple[float, float]], left: list[float], right: list[float], dark: int = -1,
        sun: float = 120.0) -> BaseGeometry:
    """Lobed leaf, glaucous: each lobe with three teeth, lengths in mm given by hand from stalk to tip."""
    rib = Tube(spine, [(0, 2.4), (0.5, 1.5), (1, 0.3)], (0, 0))
    mid, n = rib.mid, rib.n
    tang = np.column_stack([n[:, 1], -n[:, 0]])

    def at(t: float, side: float, fore: float = 0.0) -> np.ndarray:
        i = min(len(mid) - 1, max(0, round(t * (len(mid) - 1))))
        return mid[i] + n[i] * side + tang[i] * fore

    def bank(lobes: list[float], s: int) -> tuple[list[np.ndarray], list[tuple[np.ndarray, np.ndarray, np.ndarray]]]:
        pts: list[np.ndarray] = []
        ribs = []
        step = 0.84 / len(lobes)
        for i, w in enumerate(lobes):
            t = 0.12 + step * (i + 0.3)
            pts += [at(t, s * w * v, w * u) for u, v in LOBE]
            ribs.append((at(t - step * 0.45, 0), at(t, s * w * 0.9, w * 0.12), at(t, s * w * 0.2, w * 0.5)))
        return pts, ribs

    lp, lr = bank(left, 1)
    rp, rr = bank(right, -1)
    w = left[-1]
    crown = [at(1, w * 0.36, -0.1 * w), at(1, w * 0.5, 0.24 * w), at(1, w * 0.5, 0.24 * w), at(1, w * 0.24,
            0.42 * w), at(1, 0, 0.85 * w), at(1, 0, 0.85 * w),
             at(1, -w * 0.24, 0.4 * w), at(1, -w * 0.5, 0.22 * w), at(1, -w * 0.5, 0.22 * w), at(1, -w * 0.34,
                     -0.12 * w)]
    ring = [at(0, 0.9), *lp, *crown, *rp[::-1], at(0, -0.9)]
    g = c.form(whole(loop([tuple(p) for p in ring])), 1.25, 0.6, sun)
    k = np.linspace(0.02, 1.0, len(mid))
    ext = np.vstack([mid, at(1, 0, 0.3 * w), at(1, 0, 0.62 * w)])
    for s, lobes, ribs in ((1, left, lr), (-1, right, rr)):
        wide = np.interp(k, np.linspace(0.1, 1.0, len(lobes)), lobes)
        if s == dark:
            # the half in shade: black to a thin lit rim, veins left open, tips whipped light
            far = mid + n * (s * 2.0 * wide)[:, None] + tang * (wide * 0.4)[:, None]
            half = shapely.make_valid(Polygon(np.vstack([ext, at(1, 0, w), at(1, s * w, w), far[::-1]])))
            c.put("black", half.intersection(g.buffer(-0.95)))
            for p, q, low in ribs:
                c.erase(taper(p, p + (q - p) * 1.02, 0.8, -0.06 * s).intersection(g.buffer(-0.6)))
                for j, f in ((-0.5, 0.34), (-0.22, 0.5), (0.12, 0.6), (0.4, 0.46), (0.7, 0.36)):
                    b = q + (low - p) * j * 0.9 + (q - p) * 0.12
                    c.erase(taper(b, b + (p - q) * f, 1.0, 0.03).intersection(g.buffer(-0.6)))
            continue
        out = mid + n * (s * wide * 0.36)[:, None] + tang * (wide * 0.3)[:, None]
        c.shade(mid, out, g, 0.06, 0.85, ends=0.08, smooth=False)
        for p, q, low in ribs:
            c.line([p + (q - p) * 0.04, (p + q) / 2 - (low - p) * 0.05, q], 0.6, 0.3, 0.8, 0.0, g)
            for u, f in ((0.3, 0.42), (0.44, 0.55), (0.58, 0.46), (0.72, 0.34)):
                b = p + (q - p) * u - (low - p) * 0.05 * (1 - abs(2 * u - 1))
                c.flick(b, b + (low - p) * f + (q - p) * 0.16, 0.8, 0.05, g)
    c.erase(rib.form().intersection(g))
    for v in (-1, 1):
        c.put("line", stroke(rib.lane(v, 0, 0.97), 0.5), g)
    c.line(ext[-12:], 0.6, 0.3, 0.6, 0.0, g, smooth=False)
    return g


def stalk(c: Table, pts: list[tuple[float, float]], w0: float, w1: float) -> BaseGeometry:
    t = Tube(pts, [(0, w0), (1, w1)], (0.3, 0.3))
    g = c.form(t.form(), 1.2, 0.6)
    c.shade(t.lane(-1), t.lane(0.55), g, 0.3, 0.85, ends=0, smooth=False, bend=0.16)
    return g


def bud(c: Table, x: float, y: float, turn: float) -> None:
    g = c.form(loop(moved([(0, -1), (-3.6, 0.6), (-4.8, 4.6), (-3.9, 9.4), (-1.2, 13.8), (0.6, 15.2), (0.6, 15.2),
            (3.2, 11.4), (4.8, 6.4), (4.2, 1.8)], x, y, turn)), 1.3, 0.65)
    c.line(moved([(0.4, 0.2), (-0.8, 5), (-0.2, 10), (0.6, 14.6)], x, y, turn), 0.8, 0.4, 0.5, 0.1, g)
    c.shade(moved([(0, -1.2), (4.4, 1.6), (5.0, 6.4), (3.4, 11.6)], x, y, turn), moved([(-0.4, 3.6), (0.6, 5),
            (1.0, 7.4), (1.0, 11)], x, y, turn), g, 0.4, 0.7, ends=0.1, dots=1)
    c.shade(moved([(-0.4, 1), (-1.0, 5), (-0.4, 10)], x, y, turn), moved([(-2.6, 3), (-2.8, 6), (-1.8, 10)], x, y,
            turn), g, 0.0, 0.8, ends=0.1)
    for px, py, qx, qy in ((-4.3, 2.4, -6.0, 2.0), (-4.9, 5.4, -6.8, 5.6), (-4.2, 8.6, -5.9, 9.5), (4.9, 4.4, 6.6,
            4.2), (4.5, 8, 6.1, 8.8), (-2.4, 12, -3.6, 13.4), (2.9, 11.8, 4.3, 13.2)):
        p, q = moved([(px, py), (qx, qy)], x, y, turn)
        c.flick(p, q, 0.75)


def draw() -> None:
    c = Table(seed=9)
    # behind: pods and bud
    stalk(c, [(0.4, 20), (7, 31), (17, 37.0)], 2.8, 2.4)
    pod(c, [(16.4, 36.8), (28, 41.4), (38.6, 50.0), (44.6, 63), (44.6, 77), (39.6, 88.4)], 4.6, -1)
    stalk(c, [(0.6, 14), (10, 22.4), (22, 24)], 2.8, 2.4)
    pod(c, [(21.4, 24), (34, 25.4), (45.6, 32.6), (52.6, 45.0), (54.0, 60)], 4.4, -1)
    stalk(c, [(0.0, 20), (-8, 31.5), (-20, 38.4), (-33.6, 37.8)], 2.6, 2.0)
    bud(c, -33.6, 38.2, 138)
    # leaves low down
    leaf(c, [(0, 7), (-12, 7.6), (-26, 15.4), (-38, 17.4)], [5.0, 8.6, 9.4, 7.4], [5.6, 9.2, 9.6, 7.0], 1)
    leaf(c, [(0.6, 4), (13, 1.6), (27, 6.0), (40, 6.4)], [5.4, 9.0, 9.4, 7.2], [5.0, 8.4, 9.0, 7.0], -1)
    leaf(c, [(0, 3), (-6, -6.0), (-17, -10.6), (-28, -9.6)], [4.6, 7.6, 7.8, 6.0], [4.8, 7.8, 7.6, 6.0], 1)
    leaf(c, [(0.4, 25), (-8, 24.0), (-17, 27.0), (-24, 26)], [4.2, 5.8, 4.6], [4.6, 6.2, 4.8], 1)
    stalk(c, [(4.0, -12), (0.6, 4), (-0.8, 20), (2.0, 34), (-0.4, 47), C], 3.6, 2.8)
    # flower, back to front
    top = petal_fan([(163, 19), (156, 26.5), (150, 28.4), (145, 27.2), (141, 28.8), (134, 31.4), (127, 31.0),
            (123, 29.4), (118, 31.6), (109, 33.2), (101, 32.4),
                     (97, 30.8), (93, 32.4), (84, 34.0), (76, 32.6), (72, 31.0), (67, 32.8), (58, 33.4),
                             (51, 31.2), (47, 29.4), (42, 30.8), (34, 30.6), (26, 27.4), (18, 20)])
    left = petal_fan([(256, 17), (250, 23.6), (243, 26.0), (237, 25.4), (233, 24.2), (228, 26.6), (219, 29.6),
            (210, 29.6), (206, 28.2), (201, 30.2), (192, 32.4), (184, 31.6),
                      (180, 30.0), (175, 31.6), (166, 32.4), (160, 30.0), (157, 28.6), (152, 30.0),
                              (144, 30.2), (136, 27.0), (129, 21)], 0.02)
    right = petal_fan([(54, 21), (48, 27.8), (41, 30.4), (35, 29.8), (31, 28.4), (26, 30.6), (17, 33.2), (8, 32.8),
            (4, 31.2), (-1, 32.8), (-10, 33.8), (-18, 32.0),
                       (-22, 30.4), (-27, 31.6), (-36, 31.2), (-43, 28.6), (-47, 27.2), (-53, 28.0),
                               (-61, 26.0), (-68, 22.4), (-73, 16)], -0.02)
    front = petal_fan([(218, 13), (224, 19.4), (231, 22.4), (237, 22.2), (241, 20.8), (246, 22.4), (254, 25.2),
            (261, 25.2), (265, 23.8), (270, 25.4), (279, 26.0), (286, 24.4),
                       (289, 23.0), (294, 24.2), (302, 23.8), (309, 21.2), (316, 18.6), (322, 12)])
    gt = petal(c, top, [(145, 0.34), (123, 0.46), (97, 0.36), (72, 0.48), (47, 0.4)], [(119, 98, 0.17), (67, 47.5,
            0.14)])
    side_cast(c, left, 1.0, 0.35, gt)
    gl = petal(c, left, [(233, 0.36), (206, 0.48), (180, 0.38), (157, 0.46)], [(204, 180.5, 0.18), (151, 135, 0.12)])
    side_cast(c, right, 0.0, 0.35, gt)
    gr = petal(c, right, [(31, 0.36), (4, 0.46), (-22, 0.4), (-47, 0.46)], [(28, 4.5, 0.18), (-26, -46, 0.14)])
    for g in (gl, gr):
        cast(c, front, g)
        side_cast(c, front, 0.0 if g is gl else 1.0, 0.4, g)
    petal(c, front, [(241, 0.34), (265, 0.44), (289, 0.36)], [(264, 242, 0.2)], 0.26)
    heart(c)
    c.save("poppy", {
        "title": "Horned poppy with pods", "min_mm": 80, "max_mm": 200, "facing": "none", "upright_deg": 0,
        "symmetric": False, "focal": True, "keep_whole": False, "tags": ["poppy", "flower", "plant", "shingle"],
        "licence": "CC0-1.0",
        "about": "The horned poppy that flowers on the shingle bank below the lighthouse, long pods and all.",
    })


if __name__ == "__main__":
    draw()
