"""Octopus of the harbour wall: eight arms that curl, suckers on the inside of each curl."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
import shapely.affinity
from canvas import ellipse, shape
from shapely.geometry import Polygon
from tools_a import Arm, Table, arc_length, ribbon

from composer.art.brush import spline


def skin(cv: Table, a: Arm, g: Any, phase: float) -> None:
    """Black down the outer side, swelling at the bends; flicked off it along the arm towards the tip."""
    n = len(a.spine)
    t = np.linspace(0, 1, n)
    w = a.width(t)
    seam = a.spine + (a.inner - a.spine) * 0.34
    cv.line(seam[2: int(n * 0.94)], 0.7, 0.2, 0.5, 0.15, g, smooth=False)
    s = arc_length(a.spine)
    swing = 0.52 + 0.17 * np.sin(s / 8.5 + phase) - 0.15 * np.clip((t - 0.7) / 0.3, 0, 1)
    limit = a.spine + (a.outer - a.spine) * swing[:, None]
    m = int(n * 0.95)
    # a rim of skin stays open between outline and black: the light from behind
    f = int(n * 0.6)
    rim = a.spine + (a.outer - a.spine) * 0.83
    glow = shape(ribbon(rim[6:f], [(0, 0.05), (0.12, 0.36), (0.6, 0.3), (1, 0.05)], smooth=False), smooth=False)
    cv.put("black", shape(np.vstack([limit[:m], a.outer[:m][::-1]]), smooth=False).difference(glow), g)
    i, k = 2, 0
    bits = []
    while i < n * 0.66:
        reach = w[i] * (1.5, 0.9, 1.25, 0.7)[k % 4] + 1.0
        j = min(n - 1, i + int(reach / 0.6))
        mix = np.linspace(0, 1, 6)
        idx = np.linspace(i, j, 6).astype(int)
        inward = (0.62, 0.4, 0.52, 0.3)[k % 4] * w[i]
        path = np.array([limit[q] + (a.spine[q] - a.outer[q]) / max(w[q], 0.1) * inward * v**1.3 for q,
            v in zip(idx, mix, strict=True)])
        wide = min(1.7, w[i] * 0.4)
        bits.append(shape(ribbon(path, [(0, wide * 0.5), (0.4, wide * 0.34), (1, 0.04)], smooth=False), smooth=False))
        if k % 4 == 0 and w[i] > 3.8:
            v = path[-1] - path[-2]
            v = v / np.hypot(*v)
            cv.put("line", shapely.union_all([shapely.Point(path[-1] + v * q).buffer(r, quad_segs=2) for q,
                r in ((0.9, 0.24), (1.9, 0.2))]), g)
        i += max(2, int((0.55 + 0.14 * w[i]) / 0.6 * 1.75))
        k += 1
    cv.put("black", shapely.union_all([shapely.make_valid(x) for x in bits]), g)


def oval(c: np.ndarray, rx: float, ry: float, turn_deg: float, n: int) -> Any:
    return shape(ellipse(c[0], c[1], rx, ry, turn_deg)[:: max(1, 72 // n)], smooth=False)


def suckers(cv: Table, a: Arm, t0: float, t1: float = 0.9) -> None:
    """One row, standing proud of the inner edge: rim thin to the light, dark cup, spark left open."""
    n = len(a.spine)
    i = int(t0 * n)
    spots = []
    while i < t1 * n:
        w = float(a.width(np.array(i / n)))
        r = max(0.6, w * 0.5)
        spots.append((i, w, r))
        i += max(2, round(r * 2.45 / 0.6))
    for i, w, r in spots[::-1]:
        out = a.inner[i] - a.spine[i]
        out = out / np.hypot(*out)
        c = a.spine[i] + out * w * 0.82
        ang = float(np.degrees(np.arctan2(out[1], out[0])))
        k = 24 if r > 2 else 12 if r > 1.2 else 9
        if r < 0.9:
            # towards the tip the arm is left plain
            continue
        rim = oval(c, r * 0.88 + 0.3, r + 0.3, ang, k)
        cv.erase(rim)
        cv.forms.append(rim)
        lip = oval(c + np.array([-0.07, 0.1]) * min(1.6, r), r * 0.88 - 0.16 * min(1, r), r - 0.14 * min(1.2, r), ang,
            k)
        hole = c + out * r * 0.08
        ink = rim.difference(lip)
        if r > 1.0:
            cup = oval(hole, r * 0.5, r * 0.6, ang, 12 if r > 1.5 else 8)
            lit = oval(hole + np.array([0.16, -0.2]) * r, r * 0.42, r * 0.48, ang, 9 if r > 1.5 else 7)
            ink = shapely.union(ink, cup.difference(lit))
        cv.put("line", ink)


HEAD = [(-14.6, -2), (-17.8, 3), (-17.8, 9), (-16, 13.4), (-15, 17.6), (-17.4, 26), (-16.6, 38), (-10.6, 50), (1, 60),
    (15, 65.4), (30, 65), (42, 58.4), (48.4, 47),
        (48, 34), (42, 23), (33.4, 15.8), (27, 10.6), (24, 4), (20, -4), (13, -11), (3, -13.4), (-8, -10)]


SPOTS = [(-8.6, 37, 2.9), (-2.6, 48.4, 3.1), (5.6, 39, 3.6), (10.4, 54.4, 3.2), (-6, 26.6, 2.2), (17, 45.4, 3.4),
    (22.6, 57.4, 2.9), (14.6, 33, 2.5), (27.6, 48.6, 2.9),
         (25.4, 36.4, 2.6), (36.4, 42.6, 2.5), (4, 28.4, 1.8), (33.2, 29.6, 2.1), (42, 49.4, 1.7), (20, 25.8,
             1.8), (0.4, 56, 1.7), (-12.4, 30.6, 1.5),
         (16.4, 61.2, 1.7), (-12.6, 44.6, 1.5), (1.4, 34, 1.1), (9.6, 46.8, 1.3), (28.6, 61.6, 1.4), (20.8, 51.8,
             1.2), (31, 40.8, 1.3), (28.2, 25, 1.4), (41.6, 35.6, 1.4),
         (-4.6, 42.2, 1.1), (45, 43, 1.1), (20.4, 38.6, 1.1)]


def head(cv: Table, g: Any) -> None:
    # mantle: black down the right, long flicks that turn with the bulb
    right = [(23.6, 6), (27, 10.6), (33.4, 15.8), (42, 23), (48, 34), (48.4, 47), (42, 58.4), (30, 65), (15, 65.4),
        (4, 62)]
    cv.fill([(25, 8), (33.4, 15.8), (42, 23), (48, 34), (48.4, 47), (42, 58.4), (30, 65), (34, 60), (40.6, 52),
        (41.6, 42), (38.4, 32), (32, 23), (26, 15)], g)
    cv.shade(right, [(0, 4), (0.15, 9), (0.4, 20), (0.58, 18), (0.72, 11), (0.86, 5), (1, 1.2)],
        [(0, 38), (0.3, 26), (0.6, 10), (1, -34)], 1, 1.2, 2.4, 0.14,
             inside=g, dots=2)
    left = [(-15, 17.6), (-17.4, 26), (-16.6, 38), (-10.6, 50), (1, 60)]
    cv.shade(left, [(0, 2), (0.25, 3.6), (0.6, 2.2), (1, 0.6)], -40, -1, 0.95, 1.3, inside=g, dots=1)
    # the bulb rises out of the neck: long flicks that spread with it
    cv.shade([(-14.6, 19.6), (-8, 22.6), (0, 23), (7, 21), (12, 18.4), (19, 18.6), (29, 16)],
        [(0, 2), (0.18, 9), (0.36, 4), (0.55, 11), (0.72, 5), (0.88, 9), (1, 3)],
             [(0, 18), (0.5, -8), (1, -26)], 1, 1.25, 1.7, 0.1, inside=g, dots=1)
    # spots: ringed, open even in the black, each with a heavy lower lip
    for k, (x, y, r) in enumerate(SPOTS):
        turn = 20 + 3.0 * (x - 10) * -0.6 + 11 * (k % 3)
        step = 4 if r > 1.6 else 7
        if x > 32:
            cv.put("black", shape(ellipse(x, y, r * 1.12 + 1.8, r * 0.84 + 1.8, turn)[::4]), g)
        sp = shape(ellipse(x, y, r * 1.12, r * 0.84, turn)[::step])
        wob = shape(ellipse(x - 0.12 * r, y + 0.16 * r, r * 0.92, r * 0.66, turn + 6)[::step])
        cv.erase(sp.buffer(0.2 if x > 32 else 0.6))
        cv.put("black", sp.difference(wob))
        if r > 2:
            cv.line([(x - 0.5 * r, y - 0.1 * r), (x - 0.1 * r, y - 0.34 * r), (x + 0.5 * r, y - 0.3 * r)], 0.36, 0.5,
                0.1, 0.1, sp)
    # neck folds and the hood of the eye
    for pts, w in (([(-15.4, 16), (-9, 19.4), (-1, 20), (6, 17.4), (9.6, 13.4)], 1.0),
            ([(27, 10.8), (20.6, 13.6), (14, 13.6)], 0.9), ([(24.4, 6), (19, 9), (13.4, 9.2)], 0.65),
                   ([(29.6, 13.6), (24, 18), (17, 18.6), (11, 17)], 0.6), ([(-10, 22.6), (-3, 23), (2, 21.6)], 0.5)):
        cv.line(pts, w, 0.4, 0.6, 0, g)
    cv.shade([(-13.6, 17.2), (-9, 19.4), (-1, 20), (6, 17.4), (9.4, 13.8)],
        [(0, 0.8), (0.42, 2.6), (0.74, 1.0), (0.84, 0.0), (1, 0.0)],
        -34, -1, 0.85, 1.2, inside=g, dots=0)
    eye(cv, (-4.2, 7.0), 1.25, g)
    low = [(-14.6, -2), (-8, -10), (3, -13.4), (13, -11), (20, -4)]
    cv.shade(low, [(0, 2), (0.5, 5), (1, 6)], 30, 1, 1.0, 1.7, inside=g, dots=1)
    for pts, w in (([(-15.6, 1.4), (-10, -2), (-3, -3.4), (4, -1.8)], 0.75),
            ([(7, 5.6), (9, -0.4), (7.6, -6.6)], 0.7), ([(12, 4.8), (14.4, -0.8), (13.4, -6.4)], 0.65),
                   ([(17, 3.6), (19, -0.4), (18.4, -4)], 0.5), ([(-9, -4.4), (-4.6, -6.8), (0, -7)], 0.5)):
        cv.line(pts, w, 0.4, 0.1, 0, g)


def eye(cv: Table, c: tuple[float, float], k: float, g: Any) -> None:
    """Raised lids, slit pupil lying level."""
    x, y = c
    lid = cv.form([(x - 7.2 * k, y - 0.6 * k), (x - 5.8 * k, y + 3.4 * k), (x - 1.2 * k, y + 5.8 * k),
        (x + 4 * k, y + 4.6 * k), (x + 7 * k, y + 0.8 * k),
                   (x + 5.6 * k, y - 3.2 * k), (x, y - 4.8 * k), (x - 5 * k, y - 3.6 * k)], 0.9, 0.65)
    cv.shade([(x - 5.8 * k, y + 3.2 * k), (x - 1.2 * k, y + 5.6 * k), (x + 4 * k, y + 4.4 * k),
        (x + 6.8 * k, y + 0.9 * k)], 2.4 * k, 0, -1, 0.7, 1.1, inside=lid, dots=0)
    ball = ellipse(x + 0.2 * k, y, 4.9 * k, 3.1 * k, 6)
    b = cv.form(ball, 1.0, 0.9, smooth=False)
    cv.fill([(x - 4.7 * k, y + 0.2 * k), (x - 3 * k, y + 2.4 * k), (x + 1 * k, y + 3.2 * k),
        (x + 4.8 * k, y + 1.2 * k), (x + 3 * k, y + 1.6 * k), (x, y + 1.9 * k),
             (x - 3 * k, y + 1.2 * k)], b)
    pupil = ribbon([(x - 3 * k, y - 0.5 * k), (x, y + 0.15 * k), (x + 3.3 * k, y + 0.1 * k)],
        [(0, 0.5 * k), (0.25, 1.0 * k), (0.5, 0.85 * k), (0.75, 1.0 * k), (1, 0.5 * k)])
    cv.fill(pupil, b, smooth=False)
    cv.erase(shape(ellipse(x - 1.5 * k, y + 0.5 * k, 0.5 * k, 0.36 * k), smooth=False))
    for q in ((-3.2, -1.5), (-1.4, -2.0), (0.6, -2.1), (2.6, -1.7)):
        cv.line([(x + q[0] * k, y + q[1] * k - 0.5), (x + q[0] * k * 0.8, y + q[1] * k * 0.55)], 0.36, 0.1, 1, 0, b)
    cv.line([(x - 8.6 * k, y - 2.6 * k), (x - 4 * k, y - 6.4 * k), (x + 3 * k, y - 6.2 * k),
        (x + 7.4 * k, y - 3.4 * k)], 0.6, 0.4, 0.1, 0, g)
    cv.line([(x - 4.6 * k, y + 7.2 * k), (x + 0.6 * k, y + 7.6 * k), (x + 6 * k, y + 5.2 * k)], 0.6, 0.4, 0.1, 0, g)


def draw() -> None:
    cv = Table(3)
    arms = [Arm([(14, -2), (30, -8), (46, -2), (55, 12), (55, 28)], 10, 1.55, -1, 8.0),
            Arm([(-8, -2), (-22, 0), (-34, 10), (-37, 26), (-44, 40)], 9, 1.6, 1, 7.6),
            Arm([(-8, -5), (-23, -13), (-40, -13), (-52, -4), (-64, -1)], 9, 1.55, 1, 8.0),
            Arm([(11, -6), (28, -18), (44, -22), (59, -19)], 10.5, 1.6, 1, 8.2),
            Arm([(8, -8), (20, -25), (33, -37), (49, -41), (62, -49)], 9, 1.55, -1, 8.2),
            Arm([(-6, -8), (-19, -22), (-22, -40), (-33, -53), (-48, -55)], 9.5, 1.6, -1, 8.2),
            Arm([(4, -9), (14, -25), (12, -43), (18, -60), (31, -71)], 9, 1.55, 1, 8.2),
            Arm([(-1, -9), (-6, -26), (2, -42), (1, -59), (-12, -70)], 8.5, 1.6, -1, 8.4)]
    hd = shape(HEAD)
    under: Any = Polygon()
    for k, a in enumerate(arms):
        geo = a.geometry()
        # black where this arm lies over another, or the head's own shade falls
        cast = shapely.affinity.translate(geo.buffer(1.0), 0.3, -0.6).intersection(under)
        cv.put("black", cast)
        g = cv.body(geo, 1.2, 0.65)
        skin(cv, a, g, 1.7 * k)
        suckers(cv, a, 0.2)
        under = shapely.union(under, geo)
    neck = spline([(-17, 2), (-14.6, -3), (-8, -9.6), (3, -13), (13, -10.6), (20, -4), (23, 4)])
    cv.shade(neck, [(0, 2), (0.3, 6), (0.7, 6.5), (1, 3)], 0, -1, 1.3, 2.4, inside=under, dots=0)
    pipe = cv.form([(18, 12), (27, 10.6), (34, 7), (38.6, 1.6), (36.6, -2.6), (31.6, -1.6), (26, 2), (19, 3)], 1.1, 0.6)
    cv.shade([(20, 2.6), (26, 2), (31.6, -1.6), (34, -2.4)], 3.6, 30, 1, 1.0, 1.6, inside=pipe, dots=1)
    cv.put("black", shape(ellipse(36.8, -0.4, 1.3, 2.3, -35), smooth=False), pipe)
    for q in (25, 29):
        cv.line([(q, 10.4 - 0.35 * (q - 25)), (q + 1.8, 7), (q + 1.2, 3.4)], 0.5, 0.3, 0.6, 0, pipe)
    g = cv.body(hd, 1.35, 0.7)
    head(cv, g)
    cv.save("octopus", {
        "title": "Octopus of the harbour wall", "min_mm": 125, "max_mm": 280, "facing": "front", "upright_deg": 0,
        "symmetric": False, "focal": True, "keep_whole": [[[-14, 4], [-14, 20], [-8, 22], [8, 20], [8, 4], [0, 2]]],
        "tags": ["octopus", "sea", "arms", "suckers", "estuary"], "licence": "CC0-1.0",
        "about": "It lives in the broken harbour wall, and every spring it has another of the pilots' brass buttons.",
    }, fine_mm=0.062)


if __name__ == "__main__":
    draw()
