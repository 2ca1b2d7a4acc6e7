"""The pilot's daughter: three-quarter face, eyes lowered, hair blown out like water."""

# ruff: noqa: RUF005 (an array plus a pair is a sum here, not a list made longer)

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
import shapely.affinity
from canvas import shape
from tools_a import Arm, Table, arc_length, part, ribbon

from composer.art.brush import spline

TILT = np.radians(7.0)


def F(points: Any) -> np.ndarray:
    """Face points (chin at 0, eyes at 35) bowed a little forward."""
    p = np.array(points, float)
    p[:, 1] = np.where(p[:, 1] > 46, 46 + (p[:, 1] - 46) * 0.88, p[:, 1])
    p = p - (0, 30)
    c, s = np.cos(TILT), np.sin(TILT)
    return np.column_stack([c * p[:, 0] - s * p[:, 1], s * p[:, 0] + c * p[:, 1]]) + (0, 30)


FAR = [(-16.6, 60), (-19.6, 55), (-21.3, 49.6), (-21.6, 44.8), (-20.5, 40.4), (-20.4, 37), (-21.6, 32.4),
    (-21.4, 27.6), (-19.9, 21.6), (-18.2, 16.6),
       (-16.9, 12.6), (-16.2, 9.4), (-15.4, 5.2), (-12.6, 1.2), (-8.4, -0.7)]
JAW = [(-8.4, -0.7), (-3.4, -0.4), (3, 2.2), (9.6, 6.4), (15, 11.8), (18.6, 18.4), (20.6, 26), (21.6, 34)]
HAIRLINE = [(21.6, 34), (18.4, 38.6), (16.4, 44), (14.6, 51), (9.6, 57.4), (2, 61), (-7, 62), (-16.6, 60)]


def lock(cv: Table, a: Arm, dark: float = 0.5, threads: int = 4, hollow: bool = True) -> Any:
    """A lock of hair that runs like a wave: black in the hollow, threads along it."""
    n = len(a.spine)
    g = cv.body(a.geometry(), 1.15, 0.55)
    edge = a.inner if hollow else a.outer
    across = edge - a.spine
    s = arc_length(a.spine)
    m = int(n * 0.96)
    lo = a.spine + across * (1 - dark + 0.15 * np.sin(s / 6.5))[:, None]
    cv.put("black", shape(np.vstack([lo[:m], edge[:m][::-1]]), smooth=False), g)
    lanes = ((0.28, 0.05, 0.66, 1.0), (0.0, 0.12, 0.8, 0.5), (-0.3, 0.03, 0.62, 0.95), (-0.6, 0.16, 0.7, 0.5))
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
    """Rows: points, curl radius, turns, turn, half width, share of black, black in the hollow or on the back."""
    for pts, r, tu, tn, base, dark, hollow in rows:
        lock(cv, Arm(pts, r, tu, tn, base, 0.42, STRAND), dark, 4 if base > 5 else 3, hollow)


def soft(cv: Table, region: np.ndarray, centre: np.ndarray, reach: float, inside: Any) -> None:
    """Pepper that thins with the distance from a point; no two dots closer than the needle allows."""
    area = shape(region).intersection(inside)
    x0, y0, x1, y1 = area.bounds
    kept: list[tuple[np.ndarray, float]] = []
    for p in cv.rng.uniform((x0, y0), (x1, y1), (900, 2)):
        d = float(np.hypot(*(p - centre))) / reach
        if d >= 1 or not shapely.contains_xy(area, *p):
            continue
        room = 0.85 + 1.9 * d**1.2
        if all(np.hypot(*(p - q)) > max(room, 0.0) for q, _ in kept):
            kept.append((p, d))
    rows = [shapely.Point(p).buffer(0.25 - 0.09 * d, quad_segs=2) for p, d in kept]
    if rows:
        cv.put("line", shapely.union_all(rows))


def strand(cv: Table, pts: Any, w: float = 0.9) -> None:
    """A loose hair or two hairs' breadth, standing off from the mass."""
    g = shape(ribbon(pts, [(0, 0.05), (0.4, w / 2), (0.75, w * 0.3), (1, 0.05)]), smooth=False)
    cv.forms.append(g)
    cv.put("black", g)


def neck(cv: Table) -> None:
    g = cv.form(F([(-3, 2), (-0.6, -4), (-0.2, -12), (-2.4, -22), (12, -27), (26, -20), (27, -8), (25, 6), (26, 22),
        (16, 16), (6, 4)]), 1.2, 0.7)
    # throat in the shadow of the jaw
    cv.fill(F([(-4, 0), (3, 2), (9.6, 6.4), (15, 11.8), (20, 20), (22, 40), (30, 36), (29, 10), (25, 2), (16.6, -2.4),
        (11, -2.6), (5, -1.4), (0, -2.6)]), g)
    cv.shade(F([(26, 10), (25, 2), (21.6, 0.4), (16.6, -2.4), (11, -2.6), (5, -1.4), (0, -2.6)]),
        [(0, 12), (0.25, 10), (0.5, 8), (0.75, 4), (1, 1.5)], [(0, -40), (0.3, 0), (1, 18)],
             1, 0.95, 1.7, inside=g, dots=3)
    cv.line(F([(20, -2), (15, -10), (7, -18)]), 0.75, 0.4, 0.2, 0, g)
    cv.line(F([(3.4, -11), (5.4, -15), (5.4, -18.6)]), 0.5, 0.4, 0.2, 0, g)


def cloth(cv: Table, pts: list, stops: list, dark: int, cut: float) -> None:
    """Flying end of the kerchief: a fold of black along one side, a hem, a slanted end."""
    p = spline(pts, step_mm=0.6)
    ring = ribbon(pts, stops)
    n = len(ring) // 2
    lft, rgt = ring[:n], ring[n:][::-1]
    d = p[-1] - p[-4]
    d = d / np.hypot(*d)
    tip = (lft if cut > 0 else rgt)[-1] + d * abs(cut)
    g = cv.form(np.vstack([lft, [tip] if cut > 0 else [p[-1] - d * 0.6, tip], rgt[::-1]]), 1.25, 0.65, smooth=False)
    edge = lft if dark > 0 else rgt
    s = arc_length(p)
    lo = p + (edge - p) * (0.25 + 0.4 * np.sin(s / 5.2))[:, None]
    cv.put("black", shape(np.vstack([lo, edge[::-1]]), smooth=False), g)
    far = rgt if dark > 0 else lft
    hem = p + (far - p) * 0.74
    cv.line(hem[3:], 0.5, 0.5, 0.3, 0.8, g, smooth=False)
    for f, t0, t1, w in ((0.42, 0.02, 0.55, 0.9), (0.12, 0.0, 0.4, 0.6), (0.3, 0.5, 0.9, 0.6)):
        path = p + (far - p) * (f + 0.1 * np.sin(s / 4 + f * 9))[:, None]
        cv.line(path[int(t0 * n): int(t1 * n)], w, 0.35, 0.2, 0.0, g, smooth=False)


def kerchief(cv: Table) -> None:
    cloth(cv, [(-9, -25), (-4, -37), (7, -43), (20, -40), (31, -42), (42, -49)],
        [(0, 1.6), (0.3, 4.6), (0.55, 5.4), (0.8, 4.8), (1, 3.6)], -1, 3.4)
    cloth(cv, [(-7, -24), (3, -33), (15, -35), (28, -30), (40, -30), (54, -35)],
        [(0, 1.6), (0.3, 4.6), (0.55, 5.2), (0.8, 4.6), (1, 3.4)], -1, -3.2)
    band = cv.form([(-11.4, -14.4), (-6.6, -13.4), (0, -16.6), (10, -18.4), (20, -16.4), (27, -11), (29.4, -5),
        (32.4, -2.6), (35.4, -5.6), (36, -12.6), (33, -20.6), (25, -27.6),
                    (12, -31), (0, -29.4), (-9, -25), (-13, -19)], 1.3, 0.7)
    # folds run round the neck from the knot: two black ones that swell and close, fine ones between
    for pts, stops in (([(-8, -19.6), (0, -21.6), (10, -22.6), (20, -19.4), (28.6, -12), (32, -6)],
            [(0, 0.1), (0.3, 0.9), (0.6, 1.7), (0.85, 1.2), (1, 0.1)]),
                       ([(-8, -23), (1, -26.6), (12, -27.8), (23, -24.2), (31, -17)],
                           [(0, 0.1), (0.3, 1.3), (0.55, 0.7), (0.8, 1.6), (1, 0.2)])):
        cv.fill(ribbon(pts, stops), band, smooth=False)
    for pts, w in (([(-7, -17.4), (0, -18.8), (9, -20), (17, -18.6)], 0.6),
            ([(12, -20), (20, -17.6), (26, -12.4)], 0.5), ([(-6, -21.6), (3, -24), (13, -25.2), (21, -22.6)], 0.7),
                   ([(18, -21.6), (26, -17), (31.6, -10)], 0.6), ([(0, -28.2), (12, -29.6), (20, -28)], 0.6)):
        cv.line(pts, w, 0.4, 0.3, 0.0, band)
    cv.shade([(12, -31), (25, -27.6), (33, -20.6), (36, -12.6)], [(0, 0.6), (0.4, 2.6), (1, 2)], -60, 1, 1.0, 1.6,
        inside=band, dots=0)
    knot = cv.form([(-15.6, -17.4), (-12.6, -15.4), (-7.4, -16.2), (-4.8, -18.8), (-5.4, -22.2), (-4.6, -25.6),
        (-7.6, -28.2), (-12, -27.6), (-14.4, -25.2), (-14, -21.6)], 1.2, 0.7)
    cv.shade([(-5.8, -19), (-4.6, -23.6), (-7.4, -28), (-12, -28)], [(0, 1.2), (0.5, 3.4), (1, 1.5)], 10, -1, 0.85,
        1.4, inside=knot, dots=0)
    for pts, w in (([(-13.6, -20.4), (-10.6, -22), (-9.6, -26.4)], 0.7), ([(-11, -18.4), (-8.6, -21), (-8, -24)], 0.6)):
        cv.line(pts, w, 0.3, 0.6, 0.0, knot)


def face(cv: Table) -> Any:
    contour = spline(F([*FAR, *JAW[1:]]))
    chin = int(np.argmin(np.hypot(*(contour - F(JAW[:1])[0]).T)))
    ring = np.vstack([contour, spline(F(HAIRLINE))[1:-1]])
    g = shape(ring, smooth=False)
    cv.erase(g)
    cv.forms.append(g)
    cv.line(contour[: chin + 1], 1.15, 0.75, 0.45, 0.95, smooth=False)
    cv.line(contour[chin:], 1.25, 0.15, 0.85, 0.5, smooth=False)
    # cheek and temple under the hair, jaw: close strokes that turn with the form
    cv.shade(F([(19.4, 40), (21.4, 34), (20.9, 28), (19.7, 22.4), (17.6, 16.6)]),
        [(0, 3), (0.3, 6.5), (0.6, 5), (1, 0.8)], [(0, -22), (0.5, -4), (1, -30)], -1,
             0.9, 1.0, inside=g, dots=3)
    # jaw: the edge itself stays lit against the throat, a few strokes tucked under the cheek
    for x, y, ln in ((16.4, 15.6, 4.4), (14.6, 13.0, 3.6), (12.6, 10.6, 3.0), (10.4, 8.6, 2.2)):
        cv.line(F([(x, y), (x - ln * 0.6, y + ln * 0.2), (x - ln, y + ln * 0.55)]), 0.5, 0.2, 0.4, 0, g)
    # fine hair drawn forward from the hairline
    flow = spline(F([(-15, 60.6), (-7, 62), (2, 61), (9.6, 57.4), (14.6, 51), (16.4, 44), (18.4, 38.6)]))
    for i, t in enumerate(np.linspace(0.34, 0.98, 17)):
        p = part(flow, t, min(1, t + 0.01))[0]
        ang = np.radians(np.interp(t, [0, 0.3, 0.6, 0.85, 1], [-118, -142, -166, -196, -214]))
        ln = (2.6, 1.4, 3.4, 1.8, 3.0, 1.2)[i % 6] * np.interp(t, [0, 0.4, 0.7, 1], [0.6, 0.8, 1.4, 1.3])
        v = np.array([np.cos(ang), np.sin(ang)]) * ln
        m = np.array([-v[1], v[0]]) * 0.16
        cv.line([p - v * 0.3, p + v * 0.4 + m, p + v], 0.72, 0.02, 1.0, 0.0, g)
    soft(cv, F([(14.2, 50), (16, 44), (18.4, 38.6), (14, 37), (9.6, 40), (9, 47), (7, 54.6), (11, 55.6)]),
        F([(17.4, 44)])[0], 9.5, g)
    # turn of the far cheek
    cv.shade(F([(-21.2, 28), (-19.9, 21.6), (-18.2, 16.6)]), [(0, 0.6), (0.5, 2.0), (1, 0.6)], 40, 1, 0.8, 0.5,
        inside=g, dots=0)
    nose(cv, g)
    near_eye(cv, g)
    far_eye(cv, g)
    mouth(cv, g)
    # freckles over nose and cheek
    for x, y, r in ((-9, 28.4, 0.26), (-6.2, 27.4, 0.3), (-3.8, 25.6, 0.24), (-1.2, 24.6, 0.3), (2.2, 25.6, 0.26),
            (5.2, 26.4, 0.28), (-5.2, 24.2, 0.22), (3.8, 23.4, 0.24), (0.2, 22.6, 0.2),
                    (6.8, 28.4, 0.22), (-19.6, 29.6, 0.22), (-18.9, 27.4, 0.26), (-20.2, 26.4, 0.2), (-14.4, 28.6,
                        0.22)):
        p = F([(x, y)])[0]
        cv.put("line", shapely.Point(p).buffer(r, quad_segs=3))
    return g


def nose(cv: Table, g: Any) -> None:
    # bridge is drawn only where it turns away, then tip, wing and nostril
    cv.line(F([(-14.6, 41.6), (-13.9, 38.6), (-14.2, 35.6), (-15.4, 31.4), (-17.2, 27.2), (-18.3, 25.1),
        (-18.4, 23.6), (-17.4, 22.3), (-15.6, 21.8), (-14.2, 21)]),
            0.85, 0.7, 0.15, 0.25, g)
    cv.line(F([(-9.4, 25.4), (-7.9, 23.8), (-8, 21.7), (-9.4, 20.7), (-10.6, 21.2)]), 0.85, 0.5, 0.1, 0.4, g)
    cv.fill(F([(-13.6, 21.6), (-12, 22.3), (-10.4, 21.8), (-9.8, 21.1), (-11, 21), (-12.4, 21.2)]), g)
    cv.fill(F([(-17, 22.4), (-16, 22.5), (-15, 21.9), (-16, 21.7)]), g)
    cv.line(F([(-14.4, 20.9), (-13.2, 20.4), (-12, 20.9)]), 0.6, 0.5, 0.3, 0.2, g)
    # side plane and wing in pepper
    soft(cv, F([(-13.4, 33.6), (-12, 33), (-10.6, 29), (-8.6, 26), (-11.4, 26), (-14, 29.4)]), F([(-13.6, 33)])[0],
        7.0, g)
    soft(cv, F([(-7.4, 24.6), (-5.2, 22.6), (-5.6, 19.6), (-7.8, 20.8)]), F([(-7.8, 22)])[0], 2.8, g)
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
    # socket: pepper where the brow meets the nose and at its tail
    soft(cv, F([(-10.4, 41.4), (-6, 43.2), (-3, 43.4), (-6, 40), (-9.4, 37.4), (-12, 34.4), (-13.2, 33),
        (-12.2, 37.4)]), F([(-10.6, 40.4)])[0], 6.4, g)
    soft(cv, F([(4.4, 42.6), (8.8, 41.4), (8.4, 38.4), (6.2, 36.8), (4.6, 40)]), F([(8.8, 41)])[0], 5.0, g)
    crease = [(-9.6, 35.4), (-8.2, 37.4), (-4.8, 39.2), (-0.4, 39.2), (3.4, 37.4), (5.4, 35.2)]
    lid = shape(np.vstack([spline(F(crease)), edge[::-1]]), smooth=False)
    cv.erase(lid)
    cv.line(F(crease), 0.95, 0.45, 0.4, 0.5)
    cv.line(F([(-6.4, 39.6), (-2.6, 40.5), (1.6, 39.8), (4.6, 38)]), 0.45, 0.5, 0.1, 0.0)
    # black from the lash line up the lid, thin in the middle where the ball catches light
    cv.shade(edge, [(0, 1.6), (0.2, 0.9), (0.5, 0.5), (0.75, 2.2), (1, 3.4)], [(0, -26), (1, 34)], 1, 0.7, 0.55,
        inside=lid, dots=0, smooth=False)
    cv.line(edge, 1.5, 0.62, 0.35, 0.5, smooth=False)
    lashes(cv, edge, [(0.16, 1.7, -122), (0.26, 2.3, -112), (0.36, 2.9, -103), (0.46, 3.3, -94), (0.56, 3.6, -83),
        (0.65, 3.9, -72), (0.74, 4.1, -60), (0.82, 4.2, -48), (0.9, 4.1, -36), (0.97, 3.8, -22)])
    cv.line(F([(-9.4, 34.2), (-10.3, 33.6), (-10.6, 33.2)]), 0.6, 0.2, 0.9, 0)
    cv.line(F([(-8.4, 30.0), (-5.6, 27.6), (-1.6, 26.9), (1.6, 27.6)]), 0.42, 0.5, 0.0, 0.0, g)
    brow = ribbon(F([(-9.8, 42.2), (-6, 44.6), (-1, 46.4), (4, 46.2), (9.6, 42.6)]),
        [(0, 0.2), (0.07, 0.85), (0.24, 1.3), (0.5, 1.15), (0.8, 0.66), (1, 0.1)])
    cv.fill(brow, g, smooth=False)
    for t, b in ((0.02, 2.2), (0.1, 2.0), (0.2, 1.6), (0.32, 1.4), (0.45, 1.2), (0.6, 1.0)):
        p = part(spline(F([(-9.8, 41.8), (-6, 44.4), (-1, 46.2), (4, 46.2), (9.6, 42.6)])), t, t + 0.02)[0]
        v = F([(0, 0), (0.9 - 0.2 + t, 1.0 - t * 0.7)])
        v = (v[1] - v[0]) * b
        cv.line([p, p + v * 0.6, p + v * 1.05 + (0.2, 0)], 0.5, 0.1, 1, 0, g)


def far_eye(cv: Table, g: Any) -> None:
    edge = spline(F([(-20.5, 35.2), (-19.4, 33.4), (-17.6, 32.3), (-16, 32.9), (-15.2, 34)]))
    crease = [(-20.6, 36.2), (-19.4, 38), (-17.4, 38.6), (-15.6, 37.6), (-14.8, 36)]
    soft(cv, F([(-14.9, 41.6), (-18, 43), (-18, 40.4), (-16, 39), (-14.6, 38.4)]), F([(-15, 40.6)])[0], 3.6, g)
    lid = shape(np.vstack([spline(F(crease)), edge[::-1]]), smooth=False)
    cv.erase(lid)
    cv.line(F(crease), 0.8, 0.5, 0.4, 0.4, g)
    cv.shade(edge, [(0, 1.8), (0.5, 0.6), (1, 1.0)], 0, 1, 0.7, 0.5, inside=lid, dots=0, smooth=False)
    cv.line(edge, 1.3, 0.4, 0.6, 0.3, smooth=False)
    lashes(cv, edge, [(0.04, 2.6, -146), (0.16, 2.9, -136), (0.3, 2.9, -124), (0.45, 2.7, -112), (0.6, 2.3, -102),
        (0.75, 1.8, -96)])
    brow = ribbon(F([(-14.6, 42.4), (-16.6, 44.4), (-19.2, 45.4), (-21.4, 43.6)]),
        [(0, 0.2), (0.1, 0.8), (0.35, 1.05), (0.7, 0.75), (1, 0.2)])
    cv.fill(brow, g, smooth=False)


def mouth(cv: Table, g: Any) -> None:
    line = [(-16.8, 14.3), (-15.4, 13.9), (-13.6, 13.5), (-11.9, 13.9), (-9.6, 13.1), (-6.4, 13.2), (-3.4, 14.3)]
    upper = spline(F([(-3.4, 14.3), (-6, 15.5), (-9, 17), (-10.4, 17.3), (-11.7, 16.6), (-13.1, 17.2), (-14.8, 16),
        (-16.8, 14.3)]))
    mid = spline(F(line))
    up = shape(np.vstack([upper, mid[1:-1]]), smooth=False)
    cv.put("black", up, g)
    # a little light on the near peak of the lip
    cv.erase(shape(F([(-8.8, 16.2), (-9.8, 16.5), (-10.3, 16.2), (-9.6, 15.6)])))
    low = spline(F([(-16.2, 13.6), (-15, 11.6), (-12.6, 10), (-9.8, 9.7), (-7, 10.8), (-4.6, 13)]))
    cv.line(low, 0.8, 0.5, 0.25, 0.2, g, smooth=False)
    lower = shape(np.vstack([low, mid[::-1]]), smooth=False)
    # lower lip: a thin black keel, the light left on its fullness
    keel = np.vstack([low, spline(F([(-4.6, 13), (-7, 11.6), (-9.8, 10.7), (-12.6, 10.9), (-15, 12.2),
        (-16.2, 13.6)]))])
    cv.put("black", shape(keel, smooth=False), lower)
    cv.line(F(line), 0.85, 0.75, 0.5, 0.6, g)
    cv.line(F([(-3.7, 15.2), (-2.7, 14.3), (-2.8, 13.2)]), 0.55, 0.5, 0.1, 0.0, g)
    # under the lip and under the chin
    cv.fill(F([(-14.2, 8.7), (-11.4, 8.5), (-8.2, 8.6), (-9.4, 7.6), (-11.2, 7.1), (-13, 7.6)]), g)
    cv.shade(F([(-12.4, 1.2), (-8.4, -0.7), (-3.4, -0.4), (3, 2.2)]), [(0, 0.4), (0.5, 1.5), (1, 2.4)], 50, 1, 0.8,
        0.6, inside=g, dots=0)


def ear(cv: Table) -> None:
    nape = shape(F([(18, 38), (30, 36), (36, 20), (35, 2), (28, -3), (23, 4), (21, 14)]))
    cv.forms.append(nape)
    cv.put("black", nape)


def lobe(cv: Table) -> None:
    e = cv.form(F([(20.6, 39), (20.3, 33), (20.1, 28), (20, 24.2), (21.4, 22.2), (24, 22.4), (25.6, 26.4),
        (27.4, 31.4), (28.6, 37), (26, 41), (22, 41)]), 1.0, 0.6)
    cv.line(F([(25.6, 38), (24.8, 34.4), (23, 31), (21.8, 30.6), (21.6, 32.4), (22.6, 34)]), 0.75, 0.4, 0.3, 0.1, e)
    cv.fill(F([(22.4, 38), (23.6, 35.6), (22.8, 33.4), (21.6, 34.6), (21.4, 37.6)]), e)
    cv.shade(F([(25.6, 26.4), (27.4, 31.4), (28.6, 37)]), 1.8, 10, 1, 0.7, 0.9, inside=e, dots=0)
    ring = F([(22.4, 22.4)])[0]
    d = ring + (0.3, -5.6)
    drop = spline([d + (0, 3.4), d + (1.0, 1.0), d + (1.9, -1.1), d + (0, -3.1), d + (-1.9, -1.1), d + (-1.0, 1.0)],
        closed=True, step_mm=0.3)
    cv.erase(shape(drop, smooth=False).buffer(0.95))
    cv.erase(shapely.Point(ring + (0.1, -0.9)).buffer(1.3))
    cv.put("line", shapely.Point(ring + (0.1, -0.9)).buffer(1.15, quad_segs=6).difference(shapely.Point(ring + (0.1,
        -0.9)).buffer(0.62, quad_segs=6)))
    g = cv.form(drop, 0.75, 0.6, smooth=False)
    cv.put("black", g.difference(shapely.affinity.translate(g, -0.8, 0.9)))


def scalp(cv: Table) -> None:
    """The mass under the locks: black, so that every parting is dark."""
    cap = shape(np.vstack([spline(F([(-17.2, 59.6), (-14, 66), (-5, 72), (7, 74.6), (20, 73), (31, 67), (37.6, 57),
        (39, 45), (36, 33), (31, 24), (28, 19)])),
                           spline(F([(26.4, 25), (27.2, 32), (24.6, 37.6), (21.8, 36), (18.2, 38.8), (16.2, 44),
                               (14.4, 50.8), (9.4, 57.2), (2, 60.8), (-7, 61.8), (-17.2, 59.6)]))]),
                smooth=False)
    cv.erase(cap)
    cv.forms.append(cap)
    cv.put("black", cap)


def draw() -> None:
    cv = Table(21)
    cv.least_mm = 0.46
    # behind the head
    locks(cv, [(F([(24, 18), (27, 6), (34, -5), (44, -10), (56, -7)]), 4.4, 1.3, 1, 5.0, 0.5, False),
               (F([(20, 30), (30, 19), (39, 6), (52, 0), (66, 3), (75, 0)]), 5.0, 1.3, -1, 6.6, 0.5, True),
               (F([(26, 44), (44, 40), (60, 31), (74, 26), (86, 30)]), 5.6, 1.35, 1, 7.0, 0.5, False),
               (F([(22, 60), (42, 60), (58, 54), (74, 57), (87, 52)]), 6.0, 1.35, -1, 7.4, 0.5, True),
               (F([(14, 70), (32, 76), (48, 74), (62, 80), (71, 91)]), 6.8, 1.4, 1, 7.4, 0.5, False)])
    ear(cv)
    neck(cv)
    face(cv)
    # the dark strip of sideburn between cheek and ear
    cv.fill(F([(18.8, 39), (21.2, 34), (20.6, 27), (19.4, 21.6), (22, 22), (23, 30), (23, 40), (20, 41)]), smooth=True)
    lobe(cv)
    kerchief(cv)
    scalp(cv)
    locks(cv, [(F([(-17, 59.6), (-13.4, 67), (-3, 75), (12, 80), (28, 80), (41, 87), (44, 97)]), 5.4, 1.4, 1, 5.0,
        0.42, False),
               (F([(19.4, 37), (25, 36.4), (32, 28), (38, 17), (47, 9), (58, 12)]), 4.2, 1.3, 1, 5.0, 0.5, False),
               (F([(16.8, 42), (26, 43), (38, 37), (50, 25), (63, 18), (74, 14)]), 4.6, 1.35, -1, 5.4, 0.5, True),
               (F([(30, 53.6), (36, 52.4), (43, 48.6), (55, 40), (70, 40), (79, 46)]), 5.0, 1.4, 1, 5.8, 0.46, False),
               (F([(-13, 61), (-4, 68), (10, 73), (26, 71), (42, 67), (57, 70), (66, 66)]), 4.6, 1.4, -1, 5.6, 0.46,
                   True),
               (F([(-4, 61.8), (8, 66), (22, 65), (37, 58), (52, 55), (62, 62)]), 4.8, 1.4, 1, 5.2, 0.46, False),
               (F([(6, 59.2), (18, 60), (30, 54), (40, 44), (51, 38), (60, 35)]), 3.6, 1.35, -1, 4.4, 0.46, True)])
    for pts, w in ((F([(-2, 75), (14, 84), (27, 87), (33, 94)]), 1.0), (F([(19.4, 39), (18.2, 31), (19, 24),
            (16.8, 17), (18.6, 11), (17.4, 6)]), 0.9),
                   (F([(62, 74), (74, 80), (84, 78), (92, 82)]), 1.0), (F([(66, 22), (78, 20), (88, 22), (95, 19)]),
                       1.0), (F([(50, -9), (60, -12), (70, -9)]), 0.9)):
        strand(cv, pts, w)
    cv.save("pilots_daughter", {
        "title": "The pilot's daughter", "min_mm": 100, "max_mm": 210, "facing": "left", "upright_deg": 0,
        "symmetric": False, "focal": True, "keep_whole": True,
        "tags": ["face", "woman", "hair", "portrait", "estuary"], "licence": "CC0-1.0",
        "about": "The pilot's daughter listens for her father's cutter with her eyes shut,"
                 " and the wind makes water of her hair.",
    }, fine_mm=0.035, scale=0.73, speck_mm2=0.3)


if __name__ == "__main__":
    draw()
