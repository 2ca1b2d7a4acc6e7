"""The pilot's daughter: three-quarter face, eyes lowered, hair blown out like water."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
import shapely.affinity
from canvas import ellipse, shape
from shapely.geometry import Polygon
from tools_a import Arm, Table, arc_length, part, ribbon

from composer.art.brush import spline

TILT = np.radians(7.0)


def F(points: Any) -> np.ndarray:
    """Face points (chin at 0, eyes at 35) bowed a little forward."""
    p = np.asarray(points, float) - (0, 30)
    c, s = np.cos(TILT), np.sin(TILT)
    return np.column_stack([c * p[:, 0] - s * p[:, 1], s * p[:, 0] + c * p[:, 1]]) + (0, 30)


FAR = [(-16.6, 60), (-19.6, 55), (-21.3, 49.6), (-21.6, 44.8), (-20.5, 40.4), (-20.4, 37), (-21.6, 32.4), (-21.4, 27.6), (-19.9, 21.6), (-18.2, 16.6),
       (-16.9, 12.6), (-16.2, 9.4), (-15.4, 5.2), (-12.6, 1.2), (-8.4, -0.7)]
JAW = [(-8.4, -0.7), (-3.4, -0.4), (3, 2.2), (9.6, 6.4), (15, 11.8), (18.6, 18.4), (20.6, 26), (21.6, 34)]
HAIRLINE = [(21.6, 34), (18.4, 38.6), (16.4, 44), (14.6, 51), (9.6, 57.4), (2, 61), (-7, 62), (-16.6, 60)]


def lock(cv: Table, a: Arm, dark: float = 0.5, threads: int = 4) -> Any:
    """A lock of hair that runs like a wave: black in the hollow, threads along it."""
    n = len(a.spine)
    g = cv.body(a.geometry(), 1.15, 0.55)
    across = a.inner - a.spine
    s = arc_length(a.spine)
    m = int(n * 0.96)
    lo = a.spine + across * (1 - dark + 0.15 * np.sin(s / 6.5))[:, None]
    cv.put("black", shape(np.vstack([lo[:m], a.inner[:m][::-1]]), smooth=False), g)
    lanes = ((0.3, 0.05, 0.66, 1.0), (0.08, 0.12, 0.82, 0.5), (-0.16, 0.03, 0.6, 0.85), (-0.38, 0.2, 0.78, 0.45), (-0.6, 0.08, 0.52, 0.7), (-0.8, 0.25, 0.66, 0.4))
    for k, (f, t0, t1, w) in enumerate(lanes[:threads]):
        path = a.spine + across * (f + 0.05 * np.sin(s / 5 + k))[:, None]
        cv.line(path[int(t0 * n): int(t1 * n)], w, 0.4, 0.05, 0.02, g, smooth=False)
    bits = []
    for k, i in enumerate(range(int(0.08 * n), int(n * 0.62), 5)):
        w = float(np.hypot(*across[i]))
        j = min(n - 1, i + int(w * (2.6, 1.5, 2.0)[k % 3] / 0.6))
        idx = np.linspace(i, j, 6).astype(int)
        up = -across * (0.4, 0.2, 0.3)[k % 3]
        path = np.array([lo[q] + up[q] * v**1.4 for q, v in zip(idx, np.linspace(0, 1, 6), strict=True)])
        bits.append(shape(ribbon(path, [(0, min(0.7, w * 0.2)), (0.4, 0.36), (1, 0.04)], smooth=False), smooth=False))
    cv.put("black", shapely.union_all(bits), g)
    return g


STRAND = [(0, 0.04), (0.1, 0.42), (0.28, 0.95), (0.42, 1.0), (0.56, 0.74), (0.7, 0.42), (0.84, 0.22), (1, 0.05)]


def locks(cv: Table, rows: list) -> None:
    for pts, r, tu, tn, base, dark in rows:
        lock(cv, Arm(pts, r, tu, tn, base, 0.42, STRAND), dark, 5 if base > 5 else 3)


def collar(cv: Table) -> None:
    """Neck and the roll neck of a knitted jersey, ribs turning with it."""
    neck = F([(-3, 2), (-0.6, -4), (-0.4, -12), (-4, -22), (12, -26), (30, -22), (27, -8), (25, 6), (26, 22), (16, 16), (6, 4)])
    g = cv.form(neck, 1.2, 0.7)
    # throat in the shadow of the jaw
    sh = F([(-4, 0), (3, 2), (9.6, 6.4), (15, 11.8), (20, 20), (27, 22), (25.4, 8), (22, 3), (15, -2), (8, -4.4), (1.4, -4)])
    cv.fill(sh, g)
    cv.shade(F([(25.4, 8), (22, 3), (15, -2), (8, -4.4), (1, -4.2)]), [(0, 9), (0.4, 6), (0.8, 3), (1, 1)], [(0, 24), (1, 0)], 1, 0.85, 1.6, inside=g, dots=2)
    cv.line(F([(19, 2), (15, -7), (9, -17)]), 0.7, 0.4, 0.2, 0, g)
    cv.line(F([(3, -12), (6, -16), (7, -19)]), 0.5, 0.4, 0.2, 0, g)
    roll = [(-9, -20), (-3, -15.6), (8, -14.4), (20, -15), (31, -12.6), (38, -14), (40.6, -20), (38, -27.4), (27, -31.6), (12, -33.6), (-2, -32), (-10.4, -27)]
    r = cv.form(roll, 1.35, 0.75)
    top = spline([(-9, -20), (-3, -15.6), (8, -14.4), (20, -15), (31, -12.6), (39, -15)])
    low = spline([(-10.4, -27), (-2, -32), (12, -33.6), (27, -31.6), (38, -27.4), (40.4, -20)])
    n = 17
    for k in range(n):
        t = (k + 0.6) / n
        a, b = part(top, t, min(1, t + 0.01))[0], part(low, t, min(1, t + 0.01))[0]
        v = b - a
        side = np.array([-v[1], v[0]]) * 0.07
        p = [a + v * 0.04, a + v * 0.3 + side * 0.6, a + v * 0.7 + side * 0.7, b - v * 0.03]
        wd = 0.5 + 2.0 * max(0.0, t - 0.42)
        cv.line(p, wd, 0.6, 0.5, 0.6, r, "black")
        cv.line([a + v * 0.02 + side * 2, a + v * 0.16 + side * 2.4], 0.4, 0.3, 0.8, 0, r)
    cv.shade(low, [(0, 1.5), (0.4, 3.4), (0.75, 6), (1, 8)], 12, 1, 0.9, 1.5, inside=r, dots=0, smooth=False)


def face(cv: Table) -> Any:
    ring = np.vstack([spline(F(FAR)), spline(F(JAW))[1:], spline(F(HAIRLINE))[1:-1]])
    g = shape(ring, smooth=False)
    cv.erase(g)
    cv.forms.append(g)
    cv.line(F(FAR), 1.15, 0.75, 0.45, 0.95)
    cv.line(F(JAW), 1.25, 0.15, 0.85, 0.5)
    # cheek and temple under the hair, jaw
    cv.shade(F([(21.4, 33), (20.6, 26), (18.6, 18.4), (15, 11.8), (9.6, 6.4)]), [(0, 7), (0.25, 8.5), (0.6, 5), (1, 0.8)], [(0, 14), (1, 40)], 1, 0.75, 1.25,
             inside=g, dots=3)
    cv.shade(F([(-15, 60.4), (-7, 62), (2, 61), (9.6, 57.4), (14.6, 51), (16.4, 44), (18.4, 38.6)]), [(0, 2.4), (0.3, 4.6), (0.55, 7), (0.8, 5), (1, 5)],
             [(0, 24), (0.5, -8), (1, -34)], -1, 0.75, 1.25, inside=g, dots=2)
    # hollow of the far temple and under the far cheekbone
    cv.shade(F([(-21.2, 28), (-19.9, 21.6), (-18.2, 16.6), (-17, 12.8)]), [(0, 0.4), (0.35, 2.4), (1, 0.5)], 30, 1, 0.65, 0.9, inside=g, dots=0)
    nose(cv, g)
    near_eye(cv, g)
    far_eye(cv, g)
    mouth(cv, g)
    # freckles over nose and cheek
    for x, y, r in ((-9, 28.4, 0.26), (-6.2, 27.4, 0.3), (-3.4, 28.8, 0.24), (-1.2, 26.6, 0.3), (1.6, 28.2, 0.26), (4.2, 26.8, 0.28), (-4.6, 25.2, 0.22), (2.8, 24.8, 0.24), (-1.6, 24, 0.2),
                    (6.8, 28.4, 0.22), (-19.6, 29.6, 0.22), (-18.9, 27.4, 0.26), (-20.2, 26.4, 0.2), (-14.4, 28.6, 0.22)):
        p = F([(x, y)])[0]
        cv.put("line", shapely.Point(p).buffer(r, quad_segs=3))
    return g


def nose(cv: Table, g: Any) -> None:
    # bridge is drawn only where it turns away, then tip, wing and nostril
    cv.line(F([(-14.6, 41.6), (-13.9, 38.6), (-14.2, 35.6), (-15.4, 31.4), (-17.2, 27.2), (-18.3, 25.1), (-18.4, 23.6), (-17.4, 22.3), (-15.6, 21.8), (-14.2, 21)]),
            0.85, 0.7, 0.15, 0.25, g)
    cv.line(F([(-9.4, 25.4), (-7.9, 23.8), (-8, 21.7), (-9.4, 20.7), (-10.6, 21.2)]), 0.85, 0.5, 0.1, 0.4, g)
    cv.fill(F([(-13.6, 21.6), (-12, 22.3), (-10.4, 21.8), (-9.8, 21.1), (-11, 21), (-12.4, 21.2)]), g)
    cv.fill(F([(-17, 22.4), (-16, 22.5), (-15, 21.9), (-16, 21.7)]), g)
    cv.line(F([(-14.4, 20.9), (-13.2, 20.4), (-12, 20.9)]), 0.6, 0.5, 0.3, 0.2, g)
    # side plane: short flicks down from the eye corner, under the tip
    for k in range(5):
        p = F([(-11.2 + 0.25 * k, 37.4 - 1.7 * k), (-12 + 0.1 * k, 35.4 - 1.7 * k), (-12.9 + 0.05 * k, 33.8 - 1.6 * k)])
        cv.line(p, 0.5 - 0.04 * k, 0.1, 0.9, 0, g)
    for x in (-16.4, -15.2, -14.1):
        cv.line(F([(x, 22.6), (x + 0.3, 23.8), (x + 0.2, 24.6)]), 0.36, 0.1, 1, 0, g)
    cv.line(F([(-13.2, 19.4), (-12.8, 18.2), (-12.6, 17.4)]), 0.5, 0.4, 0.2, 0, g)
    cv.line(F([(-11.6, 19.4), (-11.0, 18.4), (-10.9, 17.6)]), 0.4, 0.4, 0.2, 0, g)


def lashes(cv: Table, base: np.ndarray, rows: list) -> None:
    """Lashes off a lid edge: (share, length, degrees)."""
    for t, ln, deg in rows:
        p = part(base, t, min(1.0, t + 0.01))[0]
        a = np.radians(deg) + TILT
        v = np.array([np.cos(a), np.sin(a)]) * ln
        n = np.array([-v[1], v[0]]) * (0.16 if deg > -90 else -0.16)
        cv.line([p - v * 0.08, p + v * 0.5 - n, p + v], 0.62, 0.05, 1.0, 0.0)


def near_eye(cv: Table, g: Any) -> None:
    edge = spline(F([(-9.2, 34.4), (-7.4, 33), (-4.2, 31.7), (-0.6, 31.6), (2.6, 32.9), (4.8, 35)]))
    # socket shade under the brow, lid left open as a lit ball
    cv.shade(F([(-9.8, 40.4), (-6.4, 41.2), (-1, 42.2), (4, 41.2), (7.6, 38)]), [(0, 4.0), (0.25, 2.6), (0.5, 1.2), (0.8, 2.2), (1, 2.4)], [(0, 20), (0.5, -10), (1, -30)], -1, 0.65, 0.95,
             inside=g, dots=1)
    crease = [(-9.6, 35.4), (-8.2, 37.4), (-4.8, 39.2), (-0.4, 39.2), (3.4, 37.4), (5.4, 35.2)]
    lid = shape(np.vstack([spline(F(crease)), edge[::-1]]), smooth=False)
    cv.erase(lid)
    cv.line(F(crease), 0.95, 0.45, 0.4, 0.5)
    cv.line(F([(-6.4, 39.6), (-2.6, 40.5), (1.6, 39.8), (4.6, 38)]), 0.45, 0.5, 0.1, 0.0)
    # black from the lash line up the lid, thin in the middle where the ball catches light
    cv.shade(edge, [(0, 1.4), (0.3, 1.0), (0.5, 0.8), (0.75, 2.2), (1, 2.8)], [(0, -20), (1, 30)], 1, 0.6, 0.95, inside=lid, dots=0, smooth=False)
    cv.line(edge, 1.5, 0.62, 0.35, 0.5, smooth=False)
    lashes(cv, edge, [(0.2, 2.0, -112), (0.3, 2.5, -104), (0.4, 2.8, -98), (0.5, 3.1, -90), (0.6, 3.3, -80), (0.7, 3.5, -68), (0.79, 3.6, -56), (0.88, 3.6, -44), (0.96, 3.4, -30)])
    cv.line(F([(-9.4, 34.2), (-10.3, 33.6), (-10.6, 33.2)]), 0.6, 0.2, 0.9, 0)
    cv.line(F([(-7.6, 30.2), (-3.4, 28.9), (1, 29.4), (3.6, 30.6)]), 0.42, 0.5, 0.0, 0.0, g)
    brow = ribbon(F([(-9.8, 42.2), (-6, 44.6), (-1, 46.4), (4, 46.2), (9.6, 42.6)]), [(0, 0.75), (0.2, 1.35), (0.5, 1.2), (0.8, 0.7), (1, 0.1)])
    cv.fill(brow, g, smooth=False)
    for t, b in ((0.02, 2.2), (0.1, 2.0), (0.2, 1.6), (0.32, 1.4), (0.45, 1.2), (0.6, 1.0)):
        p = part(spline(F([(-9.8, 41.8), (-6, 44.4), (-1, 46.2), (4, 46.2), (9.6, 42.6)])), t, t + 0.02)[0]
        v = F([(0, 0), (0.9 - 0.2 + t, 1.0 - t * 0.7)])
        v = (v[1] - v[0]) * b
        cv.line([p, p + v * 0.6, p + v * 1.05 + (0.2, 0)], 0.5, 0.1, 1, 0, g)


def far_eye(cv: Table, g: Any) -> None:
    edge = spline(F([(-20.5, 35.2), (-19.4, 33.4), (-17.6, 32.3), (-16, 32.9), (-15.2, 34)]))
    crease = [(-20.6, 36.2), (-19.4, 38), (-17.4, 38.6), (-15.6, 37.6), (-14.8, 36)]
    cv.shade(F([(-20.6, 40.6), (-18.4, 41.4), (-15.4, 40.6)]), [(0, 0.6), (0.6, 1.2), (1, 3.0)], 0, -1, 0.6, 0.85, inside=g, dots=0)
    lid = shape(np.vstack([spline(F(crease)), edge[::-1]]), smooth=False)
    cv.erase(lid)
    cv.line(F(crease), 0.8, 0.5, 0.4, 0.4, g)
    cv.shade(edge, [(0, 1.8), (0.5, 0.7), (1, 1.2)], 0, 1, 0.55, 0.85, inside=lid, dots=0, smooth=False)
    cv.line(edge, 1.3, 0.4, 0.6, 0.3, smooth=False)
    lashes(cv, edge, [(0.04, 2.6, -146), (0.16, 2.9, -136), (0.3, 2.9, -124), (0.45, 2.7, -112), (0.6, 2.3, -102), (0.75, 1.8, -96)])
    brow = ribbon(F([(-14.6, 42.4), (-16.6, 44.4), (-19.2, 45.4), (-21.4, 43.6)]), [(0, 0.7), (0.3, 1.1), (0.7, 0.8), (1, 0.2)])
    cv.fill(brow, g, smooth=False)


def mouth(cv: Table, g: Any) -> None:
    line = [(-16.8, 14.3), (-15.4, 13.9), (-13.6, 13.5), (-11.9, 13.9), (-9.6, 13.1), (-6.4, 13.2), (-3.4, 14.3)]
    upper = spline(F([(-3.4, 14.3), (-6, 15.5), (-9, 17), (-10.4, 17.3), (-11.7, 16.6), (-13.1, 17.2), (-14.8, 16), (-16.8, 14.3)]))
    mid = spline(F(line))
    up = shape(np.vstack([upper, mid[1:-1]]), smooth=False)
    cv.put("black", up, g)
    # a little light on the near peak of the lip
    cv.erase(shape(F([(-8.8, 16.2), (-9.8, 16.5), (-10.3, 16.2), (-9.6, 15.6)])))
    low = spline(F([(-16.2, 13.6), (-15, 11.6), (-12.6, 10), (-9.8, 9.7), (-7, 10.8), (-4.6, 13)]))
    cv.line(low, 0.8, 0.5, 0.25, 0.2, g, smooth=False)
    lower = shape(np.vstack([low, mid[::-1]]), smooth=False)
    cv.shade(low, [(0, 0.8), (0.3, 1.4), (0.6, 1.5), (1, 0.8)], [(0, 20), (1, -20)], 1, 0.65, 1.0, inside=lower, dots=0, smooth=False)
    for x in (-14.2, -12.9, -10.2, -8.4, -6.8):
        cv.line(F([(x, 13.2), (x + 0.05, 12.4), (x + 0.2, 11.8)]), 0.4, 0.05, 1, 0, lower)
    cv.line(F(line), 0.85, 0.75, 0.5, 0.6, g)
    cv.line(F([(-3.7, 15.2), (-2.7, 14.3), (-2.8, 13.2)]), 0.55, 0.5, 0.1, 0.0, g)
    # under the lip: solid, flicked down the chin
    cv.shade(F([(-14, 8.6), (-11.4, 8.2), (-8.2, 8.4)]), [(0, 0.5), (0.5, 2.2), (1, 0.5)], 0, -1, 0.6, 1.0, inside=g, dots=1)
    cv.shade(F([(-12.4, 1.2), (-8.4, -0.7), (-3.4, -0.4), (3, 2.2)]), [(0, 0.6), (0.5, 1.7), (1, 1.6)], 24, 1, 0.65, 1.0, inside=g, dots=0)


def ear(cv: Table) -> None:
    lobe = cv.form(F([(21.6, 34), (21, 28), (20.8, 23.4), (22.6, 21.2), (24.8, 22.6), (26.4, 28), (28.6, 35), (26, 40), (22, 39)]), 1.0, 0.6)
    cv.line(F([(23, 36), (24.2, 32), (23.6, 28), (22.6, 26.4)]), 0.7, 0.3, 0.2, 0.1, lobe)
    cv.shade(F([(26.4, 28), (28.6, 35), (26, 40)]), 3, 10, 1, 0.7, 1.1, inside=lobe, dots=0)
    ring = F([(22.7, 21.6)])[0]
    cv.put("line", shapely.Point(ring + (0, -1.2)).buffer(1.35, quad_segs=6).difference(shapely.Point(ring + (0, -1.2)).buffer(0.8, quad_segs=6)))
    d = ring + (0, -5.4)
    drop = spline([d + (0, 3.2), d + (1.1, 0.9), d + (1.9, -1.1), d + (0, -3), d + (-1.9, -1.1), d + (-1.1, 0.9)], closed=True, step_mm=0.3)
    g = cv.form(drop, 0.75, 0.6, smooth=False)
    cv.put("black", g.difference(shapely.affinity.translate(g, -0.8, 0.9)))


def scalp(cv: Table) -> None:
    """The mass under the locks: black, so that every parting is dark."""
    cap = shape(np.vstack([spline(F([(-17.4, 59.4), (-14, 66), (-5, 72.6), (7, 75.6), (20, 74), (31, 67.6), (37.6, 57), (39, 45), (36, 33), (31, 24), (27, 18)])),
                           spline(F([(25.6, 24), (25, 33), (21.6, 38), (16.8, 45), (14.8, 51), (9.6, 57.4), (2, 61), (-7, 62), (-17.4, 59.4)]))]), smooth=False)
    cv.erase(cap)
    cv.forms.append(cap)
    cv.put("black", cap)


def draw() -> None:
    cv = Table(21)
    # behind the head
    locks(cv, [(F([(20, 30), (30, 20), (38, 8), (50, -2), (62, -4)]), 6, 1.3, 1, 6.4, 0.55),
               (F([(24, 20), (28, 8), (33, -4), (42, -13), (52, -14)]), 4.6, 1.3, 1, 5.2, 0.5),
               (F([(22, 60), (40, 60), (56, 54), (70, 56), (80, 64)]), 6, 1.35, 1, 6.8, 0.5),
               (F([(14, 70), (32, 76), (48, 75), (60, 82), (66, 90)]), 5.4, 1.35, 1, 6.4, 0.5),
               (F([(26, 44), (44, 38), (60, 28), (74, 28)]), 6.4, 1.3, 1, 6.4, 0.5)])
    collar(cv)
    ear(cv)
    face(cv)
    scalp(cv)
    locks(cv, [(F([(-17, 59.6), (-13, 68), (-3, 76), (12, 81), (28, 80), (42, 86), (48, 94)]), 5.2, 1.35, 1, 5.2, 0.5),
               (F([(18, 37), (24, 36), (32, 28), (38, 17), (48, 10), (57, 11)]), 4.8, 1.3, 1, 5.2, 0.5),
               (F([(16.4, 43), (26, 43), (38, 36), (50, 24), (62, 18), (70, 20)]), 5.0, 1.3, 1, 5.6, 0.5),
               (F([(14.6, 51), (26, 54), (40, 49), (54, 41), (68, 41), (76, 46)]), 5.4, 1.35, 1, 5.8, 0.5),
               (F([(-13, 61.6), (-4, 68.6), (10, 73), (26, 70), (42, 66), (56, 69), (64, 76)]), 5.2, 1.35, 1, 5.4, 0.5),
               (F([(-4, 62.2), (8, 66), (22, 64), (36, 57), (50, 54), (61, 59)]), 4.8, 1.35, 1, 5.2, 0.5),
               (F([(6, 59.6), (18, 60), (29, 53), (38, 43), (48, 38), (57, 41)]), 4.2, 1.3, 1, 4.4, 0.5)])
    cv.save("pilots_daughter", {
        "title": "The pilot's daughter", "min_mm": 80, "max_mm": 220, "facing": "left", "upright_deg": 0,
        "symmetric": False, "focal": True, "keep_whole": True,
        "tags": ["face", "woman", "hair", "portrait", "estuary"], "licence": "CC0-1.0",
        "about": "The pilot's daughter listens for her father's cutter with her eyes shut, and the wind makes water of her hair.",
    }, fine_mm=0.03)


if __name__ == "__main__":
    draw()
