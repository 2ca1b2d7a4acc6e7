"""Conger eel wound round an old anchor."""

from __future__ import annotations

import numpy as np
import shapely
from canvas import ellipse
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from tools_b import Table, Tube, loop, moved, round_loop

from composer.art.brush import spline, stroke

PATH = [(-45, 84), (-50.5, 78), (-51, 69), (-45, 58.5), (-35, 50.5), (-23, 46), (-8, 44.4), (8, 45.6), (22, 49),
        (30.5, 58.5), (27, 69.5),
        (14, 74), (-2, 74), (-18, 76.5), (-29, 84), (-30, 93.5), (-21, 99), (-5, 97.4), (12, 94.5),
                (26, 96.5), (33.5, 105),
        (31.6, 116), (24.0, 125), (20.6, 133), (24.6, 140.8), (33.0, 143.6)]
EEL = Tube(PATH, [(0, 0.5), (0.05, 3.4), (0.2, 9.0), (0.4, 13.6), (0.62, 16.2), (0.85, 16.0), (0.94, 14.6),
        (1, 14.2)], (0, 0))


def share_near(x: float, y: float) -> float:
    return float(EEL.t[np.hypot(*(EEL.mid - (x, y)).T).argmin()])


def fin(side: int, t0: float, t1: float, high: float) -> tuple[np.ndarray, np.ndarray]:
    """Edge of the body and edge of the fin between two shares."""
    t = np.linspace(t0, t1, max(8, int(EEL.length * (t1 - t0) / 0.6)))
    half = np.interp(t, EEL.t, EEL.half)
    last = 0.87 if side > 0 else 0.62
    h = high * np.clip(t / 0.06, 0, 1) ** 0.7 * np.clip((last - t) / 0.12, 0, 1) ** 0.6
    h = h * (1 + 0.12 * np.sin(t * 150))
    return EEL.at(t, 0.96 * side), EEL.at(t, side * (1 + h / np.maximum(half, 0.4)))


def eel_piece(c: Table, t0: float, t1: float) -> BaseGeometry:
    sun = np.array([-0.5, 0.87])
    for side, high in ((1, 4.6), (-1, 3.0)):
        last = 0.87 if side > 0 else 0.62
        if t0 >= last:
            continue
        a, b = fin(side, t0, min(t1, last), high)
        g = shapely.make_valid(Polygon(np.vstack([a, b[::-1]])))
        c.erase(g)
        c.forms.append(g)
        c.put("line", stroke(b, 0.7))
        n = len(a)
        for i in range(2, n - 2, 2):
            lean = min(n - 1, max(0, i - 3))
            c.flick(a[i], a[i] + (b[lean] - a[i]) * (0.95, 0.6, 0.8)[(i // 2) % 3], 0.7, 0.05, g)
        rim = np.vstack([b, (a + (b - a) * 0.72)[::-1]])
        c.put("black", shapely.make_valid(Polygon(rim)), g)
    g = EEL.piece(t0, t1)
    c.erase(g)
    c.forms.append(g)
    for v in (1, -1):
        edge = EEL.lane(v, t0, t1)
        t = np.linspace(t0, t1, len(edge))
        n = np.column_stack([np.interp(t, EEL.t, EEL.n[:, k]) for k in (0, 1)]) * v
        c.put("line", stroke(edge, 0.62 + 0.55 * (1 - n @ sun) / 2))
    # dark back, pale belly
    c.shade(EEL.lane(1, t0, t1), EEL.lane(lambda t: -0.18 + 0.14 * np.sin(t * 60), t0, t1), g, 0.32, 0.95, ends=0,
            dots=1,
            bend=-0.1, smooth=False)
    c.shade(EEL.lane(-1, t0, t1), EEL.lane(-0.64, t0, t1), g, 0.12, 1.15, ends=0, bend=0.1, smooth=False)
    for t in np.arange(np.ceil(t0 * 110) / 110, t1, 1 / 110):
        if 0.12 < t < 0.985:
            c.dot(EEL.at(t, -0.33)[0], 0.75, g)
    return g


def shadow(c: Table, g: BaseGeometry, on: BaseGeometry, dx: float = 1.6, dy: float = -2.6) -> None:
    c.put("black", affinity.translate(g, dx, dy).intersection(on))


def barnacle(c: Table, x: float, y: float, r: float, turn: float = 0.0) -> None:
    pts = [(-1.3, -0.6), (-0.8, 0.3), (-0.5, 0.8), (0.0, 0.92), (0.5, 0.8), (0.85, 0.3), (1.3, -0.6), (0.5, -0.85),
            (-0.5, -0.85)]
    c.form(loop(moved(pts, x, y, turn, r)), 0.9, 0.6)
    c.put("black", round_loop(moved(ellipse(0, 0.66, 0.36, 0.2), x, y, turn, r)))
    for k in (-0.62, 0.0, 0.62):
        p, q = moved([(k * 1.15, -0.8), (k * 0.55, 0.3)], x, y, turn, r)
        c.flick(p, q, 0.75)


def anchor(c: Table) -> BaseGeometry:
    parts = []
    # ring
    ring = round_loop(ellipse(0, 142.4, 8.6, 9.0)).difference(round_loop(ellipse(0, 142.4, 5.4, 5.8)))
    g = c.form(ring, 1.3, 0.7)
    c.put("black", g.difference(round_loop(ellipse(-1.1, 143.3, 8.5, 8.9))))
    c.put("black", g.intersection(round_loop(ellipse(-1.0, 143.0, 6.0, 6.4))).intersection(shapely.box(-9, 133, 0.6,
            155)))
    parts.append(g)
    # arms, one crescent from bill to bill
    arms = loop([(-42, 40), (-42, 40), (-35, 25), (-24, 12.6), (-11, 6.0), (-4.6, 4.4), (0, 0.8), (0, 0.8),
            (4.6, 4.4), (11, 6.0), (24, 12.6),
                 (35, 25), (42, 40), (42, 40), (37.4, 39.6), (37.4, 39.6), (30, 28.4), (20.6, 20.2),
                         (11, 16.0), (4.4, 17.4),
                 (-4.4, 17.4), (-11, 16.0), (-20.6, 20.2), (-30, 28.4), (-37.4, 39.6), (-37.4, 39.6)])
    g = c.form(arms, 1.7, 0.9)
    c.shade([(-40, 36), (-35.2, 24.6), (-24, 12.2), (-11, 5.6), (-4.6, 4.0), (0, 0.4), (4.6, 4.0), (11, 5.6),
            (24, 12.2), (35.2, 24.6), (42, 39)],
            [(-37.6, 36), (-32.6, 27.2), (-22, 16.6), (-10.6, 11.6), (-4, 10.4), (0, 9.6), (4, 12), (10.6, 12.6),
                    (22, 18), (32.0, 28.4), (39, 38.6)],
            g, 0.4, 0.85, dots=1, ends=0.06)
    c.line([(-34, 32), (-26, 22.6), (-16, 16.4), (-9, 14.2)], 0.6, 0.5, 0, 0, g)
    c.line([(33, 31), (27.6, 24.2), (20, 18.2)], 0.6, 0.5, 0, 0, g)
    parts.append(g)
    for s in (-1, 1):
        palm = loop(np.array([(46.4, 51.6), (46.4, 51.6), (40.6, 49.4), (32.6, 44.4), (26.6, 38.2), (26.6, 38.2),
                (33.4, 37.6), (38.4, 35.6),
                              (42.2, 31.6), (46.4, 25.6), (46.4, 25.6), (48.6, 33.6), (48.8, 42.4)]) * (s, 1))
        g = c.form(palm, 1.6, 0.8)
        if s > 0:
            c.shade([(46.6, 25), (49, 33.6), (49.2, 42.4), (46.6, 52)], [(43.6, 33), (43.4, 38), (43.6, 42),
                    (45, 47)], g, 0.4, 0.8, ends=0.1, dots=1)
        else:
            c.shade([(-46.6, 25), (-42, 32), (-38, 35.4), (-26, 38)], [(-46.6, 33), (-43.4, 37), (-40, 40),
                    (-32, 42)], g, 0.3, 0.8, ends=0.1, dots=1)
        c.line(np.array([(45.6, 49.6), (42.4, 42.6), (40.2, 37.6)]) * (s, 1), 0.7, 0.4, 0.2, 0.2, g)
        c.shade(np.array([(27, 38), (33.4, 37.4), (38.6, 35.2)]) * (s, 1), np.array([(31, 40.6), (35.6, 41),
                (40, 39)]) * (s, 1), g, 0.2, 0.75, ends=0.2)
        parts.append(g)
    # shank, eight-sided
    shank = loop([(-5.4, 14.6), (-5.4, 14.6), (-4.6, 60), (-3.6, 126), (-5.2, 129), (-5.0, 135), (-2.6, 137.6),
            (2.6, 137.6), (5.0, 135), (5.2, 129),
                  (3.6, 126), (4.6, 60), (5.4, 14.6), (5.4, 14.6), (2.6, 11.6), (0, 10.8), (-2.6, 11.6)])
    g = c.form(shank, 1.6, 0.9)
    c.shade([(5.6, 13), (4.9, 60), (3.9, 126), (5.4, 130), (4, 136.6)], [(-0.8, 13), (-0.8, 60), (-0.6, 126),
            (-0.8, 130), (-0.6, 136)], g, 0.5, 0.85,
            ends=0, bend=0.04)
    for y, k in ((20.6, 1.6), (29.4, 1.1), (33.0, 2.0), (38.4, 0.9), (61.0, 1.7), (66.8, 1.0), (86.4, 1.5),
            (90.0, 0.8)):
        x = -5.4 + (y - 14) * 0.0175
        c.put("black", Polygon([(x - 0.4, y + k * 0.8), (x + k * 0.8, y + 0.3), (x + k * 0.5, y - 0.5), (x - 0.4,
                y - k * 0.9)]), g)
    c.line([(-2.6, 18), (-2.1, 60), (-1.6, 118)], 0.55, 0.3, 0.5, 0.3, g)
    eye = round_loop(ellipse(0, 133.2, 2.1, 2.0))
    c.put("black", eye)
    parts.append(g)
    def up(pts):
        return np.asarray(pts, float) * (1.16, 1) + (0, 5)

    # stock: a baulk of oak with iron hoops
    stock = loop(up([(-39.4, 109.4), (-39.4, 109.4), (-39.8, 115.4), (-39.8, 115.4), (-20, 117.2), (-6, 118.4),
            (6, 118.4), (20, 117.2), (39.8, 115.4), (39.8, 115.4),
                  (39.4, 109.4), (39.4, 109.4), (20, 107.4), (6, 106.0), (-6, 106.0), (-20, 107.4)]))
    shadow(c, stock, g, 1.2, -2.4)
    g = c.form(stock, 1.6, 0.9)
    c.shade(up([(-39.6, 109.2), (-20, 107.2), (-6, 105.8), (6, 105.8), (20, 107.2), (39.6, 109.2)]),
            up([(-39.6, 111.2), (-20, 110.4), (-6, 110.4), (6, 110.6), (20, 110.8),
                    (39.6, 111.6)]), g, 0.42, 0.8, ends=0, dots=0)
    for pts, w in (([(-38, 113.4), (-30, 113.8), (-22, 113.4), (-14, 114.0)], 0.6), ([(-33, 111.6), (-24, 112.0),
            (-17, 111.4)], 0.5),
                   ([(-27, 115.6), (-19, 116.0), (-10, 116.2)], 0.5), ([(9, 116.6), (16, 116.2), (25, 115.4)], 0.5),
                   ([(11, 113.2), (18, 113.8), (26, 113.0), (36, 113.4)], 0.6), ([(22, 111.8), (30, 111.6),
                           (37, 111.9)], 0.5),
                   ([(-12, 112.2), (-8, 113.2), (-3, 112.6), (4, 113.6), (9, 112.8)], 0.55)):
        c.line(up(pts), w, 0.4, 0.1, 0, g)
    knot = round_loop(up(ellipse(-20.6, 112.6, 2.2, 1.0)))
    c.erase(knot)
    c.contour(knot, 0.6, 0.4)
    c.put("black", round_loop(up(ellipse(-20.6, 112.6, 0.9, 0.4))))
    parts.append(g)
    for x, lo, hi in ((-31, 108.2, 116.6), (-9, 105.8, 118.8), (9, 105.8, 118.8), (31, 108.2, 116.6)):
        lo, hi, x = lo + 5, hi + 5, x * 1.16
        band = c.form(loop([(x - 2, lo), (x - 2, lo), (x - 2.3, (lo + hi) / 2), (x - 2, hi), (x - 2, hi), (x + 2,
                hi), (x + 2, hi), (x + 1.7, (lo + hi) / 2),
                            (x + 2, lo), (x + 2, lo)]), 1.2, 0.7)
        c.shade([(x - 2.2, lo), (x + 2, lo)], [(x - 2.2, hi - 2.6), (x + 2, hi - 2.6)], band, 0.5, 0.6, ends=0)
        parts.append(band)
    # age: pits and barnacles
    for x, y, r in ((-2.9, 26, 0.9), (-3.2, 34, 0.6), (-2.2, 63, 0.8), (-2.6, 88, 0.7), (-15, 14.6, 0.9), (-22, 17.6,
            0.6), (14, 14.4, 0.7), (-38, 43.4, 0.8),
                    (38.4, 43.0, 0.7)):
        c.put("black", loop(moved([(-1, 0), (-0.2, 0.7), (1, 0.3), (0.6, -0.6), (-0.4, -0.5)], x, y, 20 * x, r)))
    for x, y, r, turn in ((-31.6, 20.4, 1.9, 42), (-27.6, 15.6, 2.5, 36), (-23.2, 14.6, 1.8, 20), (3.2, 27.8, 1.7,
            -70), (3.0, 23.4, 2.2, -60)):
        barnacle(c, x, y, r, turn)
    return shapely.union_all(parts)


def head(c: Table) -> None:
    """The head is drawn lying along +x, then laid on the end of the body."""
    d = EEL.mid[-1] - EEL.mid[-8]
    turn = float(np.degrees(np.arctan2(d[1], d[0]))) - 5

    def put(pts):
        return moved(pts, *EEL.mid[-1], turn)

    c.form(loop(put([(7, -2), (15, 0), (27.4, -1.6), (27.4, -1.6), (24.0, -4.4), (23.0, -7.4), (24.8, -10.2),
            (24.8, -10.2), (15, -8), (7, -5)])), 0.4, 0.4, fill="black")
    tongue = loop(put([(9, -4.6), (15, -4.6), (20.6, -6.6), (20.6, -6.6), (15, -8.2), (9, -7.6)]))
    c.erase(tongue)
    c.shade(put([(9, -7.4), (15, -8.2), (20.6, -6.6)]), put([(9, -5.4), (15, -6), (19, -6)]), tongue, 0.1, 0.7)
    jaw = loop(put([(-3, -7.3), (6, -9.0), (14, -11.4), (21, -13.4), (25.0, -13.4), (26.4, -11.4), (25.4, -9.8),
            (25.4, -9.8), (21, -9.4), (15.4, -7.6),
                    (10, -4.6), (7.4, -2.0), (7.4, -2.0), (2, 2), (-3, 0)]))
    g = c.form(jaw, 1.5, 0.8)
    c.shade(put([(0, -8), (6, -9.4), (14, -11.8), (21, -13.8), (26, -13.2)]), put([(1, -3.6), (6.4, -5.4),
            (13, -8.6), (19, -11), (23.4, -12)]), g, 0.3, 0.8, dots=1, ends=0.1)
    c.line(put([(9.4, -5.8), (15, -9.2), (21, -11.0), (24.8, -11.0)]), 0.6, 0.4, 0.2, 0.1, g)
    top = loop(put([(-3, 7.1), (4, 8.4), (11, 9.7), (17, 9.6), (22.6, 7.6), (27.6, 4.8), (30.2, 1.4), (29.4, -1.6),
            (27.4, -2.4), (27.4, -2.4), (22, -1.0),
                    (15, -0.6), (10.4, -1.8), (7.6, -4.4), (7.6, -4.4), (5, -4.0), (0, -4), (-3, -3)]))
    g = c.form(top, 1.4, 0.8)
    # rub out the seams between body, head and jaw
    strip = loop(put([(-5.0, 6.0), (2.6, 6.6), (2.6, -6.9), (-5.0, -6.2)]))
    c.erase(strip)
    c.erase(loop(put([(1.0, -1.4), (6.6, -2.6), (7.4, -4.6), (6.4, -5.6), (1.0, -6)])))
    c.line(put([(10.4, -1.8), (8.6, -3.0), (7.8, -5.2), (9.2, -7.4)]), 1.1, 0.4, 0.6, 0)
    skin = g.union(strip)
    c.shade([*EEL.lane(1, 0.957, 0.995)[::3], *put([(3, 8.6), (11, 10.0), (17, 10.0), (23.4, 7.6)])],
            [*EEL.lane(-0.1, 0.957, 0.995)[::3], *put([(3.4, 1.2), (9.4, 4.0), (13, 6.2),
                    (19.6, 6.6)])], skin, 0.36, 0.8, dots=1, ends=0.0)
    c.put("black", stroke(spline([*EEL.lane(0.9, 0.955, 0.99)[::3], *put([(-0.5, 6.7), (3.5, 7.6), (8.0, 8.8)])]), 2.0))
    lip = put([(29.2, -0.6), (26.6, -0.2), (21.6, 1.2), (15, 1.6), (9.4, 0.2), (6.4, -3.0)])
    c.line(lip, 0.75, 0.5, 0.3, 0.2, g)
    c.shade(lip[::-1], put([(7.2, 2.0), (10, 2.8), (15.4, 3.4), (21.6, 2.9), (26, 1.4), (28.4, 0.6)]), g, 0.0, 0.8,
            ends=0.2)
    for k in np.linspace(0.08, 0.92, 13):
        e = spline(put([(10.4, -1.9), (15, -0.7), (22, -1.1), (27.4, -2.3)]))
        p = e[int(k * (len(e) - 1))]
        q = p + moved([(-0.2, -1.9)], 0, 0, turn)[0]
        side = moved([(0.52, 0)], 0, 0, turn)[0]
        c.put("line", Polygon([p - side, q, p + side]))
        c.erase(Polygon([p - side * 0.9, q, p + side * 0.9]))
    for k in np.linspace(0.12, 0.9, 11):
        e = spline(put([(11.4, -5.8), (15.4, -7.7), (21, -9.5), (25.2, -9.9)]))
        p = e[int(k * (len(e) - 1))]
        q = p + moved([(-0.3, 1.7)], 0, 0, turn)[0]
        side = moved([(0.5, 0)], 0, 0, turn)[0]
        c.erase(Polygon([p - side, q, p + side]))
    # eye
    x, y = put([(17.4, 4.9)])[0]
    c.form(round_loop(ellipse(x, y, 3.3, 3.0, turn)), 1.0, 0.8)
    c.put("black", round_loop(ellipse(x + 0.2, y - 0.1, 2.0, 1.9, turn)))
    c.erase(round_loop(ellipse(x - 0.5, y + 0.6, 0.65, 0.5, turn)))
    c.line(put([(13.0, 5.2), (15.0, 8.4), (18.4, 8.9), (21.0, 7.0)]), 0.9, 0.5, 0.1, 0.1)
    c.line(put([(13.8, 2.9), (16.2, 1.2), (19.4, 1.6)]), 0.55, 0.5, 0.1, 0.1)
    # nostrils, pores, gill slit and breast fin
    nose = c.form(Tube(put([(27.6, 3.0), (28.6, 4.6), (29.9, 5.2)]), [(0, 1.9), (1, 1.4)], (0.5, 0.5)).form(), 0.8, 0.6)
    c.put("black", nose.intersection(round_loop(ellipse(*put([(29.9, 5.2)])[0], 0.7, 0.6))))
    c.put("black", round_loop(ellipse(*put([(23.0, 4.6)])[0], 0.8, 0.5, turn)))
    for p in put([(10.6, 0.9), (8.4, -0.9), (24.4, 0.9), (12.4, -7.4), (16, -9.6), (20, -11)]):
        c.dot(p, 0.7)
    gill = put([(1.2, 0.2), (-0.8, -2.4), (-0.6, -5.4), (1.0, -7.0)])
    c.line(gill, 1.5, 0.5, 0.1, 0.1)
    for k in range(5):
        p = gill[1] + (gill[2] - gill[1]) * (k - 0.5) / 3.2
        c.flick(p, p + moved([(3.4 - abs(k - 2) * 0.7, 0.5)], 0, 0, turn)[0], 0.8, 0.1)
    finny = loop(put([(-2.0, -1.6), (-2.0, -1.6), (-7, -0.2), (-13, -2.2), (-16.4, -6.8), (-16.4, -6.8), (-12, -7.6),
            (-6, -7.0), (-2.4, -5.0), (-2.4, -5.0)]))
    g = c.form(finny, 1.2, 0.7)
    for q in ((-8, -1.2), (-11.6, -2.6), (-14.4, -5.0), (-13, -6.6), (-9, -6.6)):
        a, b = put([(-2.4, -3.2), q])
        c.flick(a + (b - a) * 0.12, b, 0.8, 0.05, g)
    c.shade(put([(-2.2, -1.6), (-2.6, -5)]), put([(-8.6, -2.0), (-7.6, -5.6)]), g, 0.15, 0.6, ends=0)


def draw() -> None:
    c = Table(seed=3)
    right, left = share_near(30.5, 58.5), share_near(-29.5, 90)
    eel_piece(c, right, left)
    iron = anchor(c)
    low = EEL.piece(0.0, right)
    shadow(c, low, iron)
    eel_piece(c, 0.0, right)
    high = EEL.piece(left, 1.0)
    shadow(c, high, iron)
    eel_piece(c, left, 1.0)
    head(c)
    c.save("eel_anchor", {
        "title": "Conger eel on an old anchor", "min_mm": 105, "max_mm": 280, "facing": "right", "upright_deg": 0,
        "symmetric": False, "focal": True, "keep_whole": True, "tags": ["eel", "conger", "anchor", "animal", "fish"],
        "licence": "CC0-1.0",
        "about": "The conger that took the lost anchor under the lighthouse for its own and has not let go since.",
    })


if __name__ == "__main__":
    draw()
