"""Heron on a mud bank, one leg drawn up, among reed blades."""

# ruff: noqa: RUF005 (an array plus a pair is a sum here, not a list made longer)

from __future__ import annotations

import numpy as np
import shapely
from canvas import ellipse, shape
from tools_a import Table, at, part, ribbon

from composer.art.brush import spline

SHOULDER = np.array([34.0, 91.0])
A = np.array([0.75, -0.66])
B = np.array([0.66, 0.75])


def wing(s: float, v: float) -> np.ndarray:
    """Place on the folded wing: s along it from the shoulder, v across towards the back."""
    return SHOULDER + s * A + v * B


def reed(cv: Table, spine: list, width: float, dark: int, fold: float = 0.0) -> None:
    """Blade with a black half, midrib left open, veins in the lit half."""
    p = spline(spine)
    stops = [(0, width * 0.62), (0.4, width), (0.75, width * 0.7), (1, 0.05)]
    g = cv.form(ribbon(spine, stops), 0.85, 0.45, smooth=False)
    half = ribbon(spine, [(t, v * 0.86) for t, v in stops], [(0, -0.25), (0.8, -0.22), (1, 0)]) if dark > 0 else \
        ribbon(spine, [(0, -0.25), (0.8, -0.22), (1, 0)], [(t, v * 0.86) for t, v in stops])
    cv.fill(half, g, smooth=False)
    for t in (0.12, 0.3, 0.47, 0.62):
        a, b = at(p, t), at(p, t + 0.2)
        d = (b - a) / np.hypot(*(b - a))
        m = np.array([-d[1], d[0]]) * -dark
        cv.line([a + m * width * 0.55, (a + b) / 2 + m * width * 0.5, b + m * width * 0.2], 0.42, 0.3, 0.2, 0, g)


def bank(cv: Table) -> None:
    """Mud bank: a lip of turf, an undercut in black."""
    g = cv.form([(-2, -9.4), (2, -6), (8, -2.6), (14, -2.2), (20, 0.8), (28, 0.2), (34, 1.4), (40, 3.0), (52, 3.6),
        (60, 1.8), (68, 3.4), (78, 1.4),
                 (84, 0.8), (90, -3), (98, -6.2), (103, -10.4), (92, -11), (84, -13), (72, -11.6), (62, -13.8), (50,
                     -11.8), (38, -13.6), (26, -11.4),
                 (14, -12.8), (6, -10.6)], 1.3, 0.7)
    cv.fill([(0, -9.6), (8, -8.2), (16, -9.6), (26, -7.6), (36, -9.8), (48, -7.8), (60, -9.9), (72, -7.6), (84, -9.4),
        (94, -8.6), (102, -10.4), (92, -11.2),
             (84, -13.4), (72, -12), (62, -14.2), (50, -12.2), (38, -14), (26, -11.8), (14, -13.2), (6, -11)], g)
    cv.shade([(1, -9.4), (8, -8.4), (16, -9.8), (26, -7.8), (36, -10), (48, -8), (60, -10.1), (72, -7.8), (84, -9.6),
        (94, -8.8), (101, -10.3)],
             [(0, 1.5), (0.12, 4.5), (0.25, 3), (0.42, 6), (0.6, 3.4), (0.78, 6.6),
                 (1, 1.6)], -38, 1, 0.85, 1.45, inside=g, dots=2)
    for pts, w in (([(9, -4.6), (16, -3.4), (24, -4)], 0.7), ([(30, -1.8), (38, -0.2), (44, -0.8)], 0.6),
                   ([(62, -1.2), (70, 0.4), (80, -1.6)], 0.75), ([(52, -3.4), (57, -2.6), (64, -4.2)], 0.5)):
        cv.line(pts, w, 0.4, 0.1, 0.0, g)


TOE = [(0, 1.0), (0.25, 0.85), (0.42, 1.0), (0.55, 0.75), (0.72, 0.9), (0.84, 0.55), (0.9, 0.4), (1, 0.06)]


def toes(cv: Table, spines: list[list], w: float) -> list[np.ndarray]:
    return [ribbon(s, [(t, v * w) for t, v in TOE]) for s in spines]


def claws(cv: Table, spines: list[list], w: float, g: object) -> None:
    for s in spines:
        p = spline(s)
        c = shape(ribbon(part(p, 0.8, 1.0), [(0, w * 0.62), (0.35, w * 0.66), (1, 0.08)], smooth=False), smooth=False)
        cv.forms.append(c)
        cv.put("black", c)
        for t in (0.2, 0.32, 0.45, 0.58, 0.7):
            q, r = at(p, t), at(p, t + 0.02)
            d = (r - q) / np.hypot(*(r - q))
            m = np.array([-d[1], d[0]])
            m = m if m[1] > 0 else -m
            cv.line([q + m * w, q + d * 0.3 + m * 0.2, q - m * 0.2], 0.36, 0.1, 1, 0, g)


def scutes(cv: Table, spine: list, g: object, n: int, lit: int, half: float = 1.5) -> None:
    """Plates down the lit side of a shank, whip shading down the other."""
    p = spline(spine)
    ring = ribbon(spine, [(0, half), (1, half)])
    k = len(ring) // 2
    dark = ring[k:][::-1] if lit > 0 else ring[:k]
    cv.shade(dark, 1.9, -50 * lit, lit, 0.7, 1.1, inside=g, dots=0)
    for t in np.linspace(0.06, 0.96, n):
        q, r = at(p, t), at(p, min(1, t + 0.02))
        d = (r - q) / max(np.hypot(*(r - q)), 1e-6)
        m = np.array([-d[1], d[0]]) * lit
        cv.line([q + m * half * 1.4, q + m * half * 0.5 + d * 0.5, q - m * 0.15], 0.36, 0.1, 1, 0, g)


def legs(cv: Table) -> None:
    f1 = [[(47, 4.5), (54, 4), (61, 2.8), (65, 3), (69, 0.6)], [(46.4, 4.4), (40, 5), (33, 2.8), (29.6, 2.8),
        (26, -0.6)],
          [(46.6, 3.8), (44.4, 1.2), (42, -2.0), (39.6, -2.6), (37, -6)], [(47, 4), (48.6, 1.6), (50.6, -1),
              (52.6, -1.4), (54.6, -4.4)]]
    tib, tar = [(52, 58), (53.2, 48), (53.2, 41), (52, 37.5)], [(52.6, 39.4), (51, 29), (49, 17), (46.9, 4.2)]
    g = cv.limb([*toes(cv, f1, 1.35), ribbon(tib, [(0, 2.4), (0.6, 1.6), (0.9, 2.15), (1, 1.8)]),
                 ribbon(tar, [(0, 2.1), (0.12, 1.6), (0.25, 1.2), (0.8, 1.25), (1, 1.9)])])
    claws(cv, f1, 1.3, g)
    scutes(cv, tib, g, 7, -1)
    scutes(cv, tar, g, 15, -1)
    cv.line([(50.2, 40.4), (52, 38.8), (54.6, 39.8)], 0.5, 0.5, 0.2, 0.2, g)
    # drawn-up leg: toes hang bunched
    f2 = [[(15.6, 33.4), (19.6, 29.4), (21.4, 25.4), (21, 22.4), (18.8, 19)],
        [(14.6, 33), (15.8, 26.6), (14.4, 20.4), (15, 17), (12.6, 12.6)],
          [(14.4, 33), (10.6, 28), (8, 22.4), (8.2, 19), (5.2, 15.4)]]
    tib, tar = [(38, 62), (39.8, 53), (40.6, 46), (39.6, 42)], [(39.8, 43), (31.6, 40), (22.6, 37.2), (14.6, 33)]
    g = cv.limb([*toes(cv, f2, 1.25), ribbon(tib, [(0, 2.4), (0.6, 1.6), (0.9, 2.1), (1, 1.8)]),
                 ribbon(tar, [(0, 2.1), (0.12, 1.6), (0.25, 1.2), (0.8, 1.25), (1, 1.9)])])
    claws(cv, f2, 1.2, g)
    scutes(cv, tib, g, 6, -1)
    scutes(cv, tar, g, 13, -1)


def trousers(cv: Table) -> None:
    for spine in ([(53, 60), (54, 54), (53, 46.5)], [(41, 66), (41, 57), (39.6, 49.5)]):
        g = cv.form(ribbon(spine, [(0, 6.5), (0.5, 4.2), (0.85, 2.4), (1, 0.4)]), 0.9, 0.5, smooth=False)
        p = spline(spine)
        for k in range(-3, 4):
            a = at(p, 0.25 + 0.05 * abs(k)) + (k * 1.25, 0)
            b = at(p, 0.95 - 0.08 * abs(k)) + (k * 0.3, 0)
            cv.line([a, (a + b) / 2 + (0.3 * k, 0), b], 0.55 if k > 0 else 0.4, 0.3, 0.2, 0, g)
        cv.shade(part(ribbon(spine, [(0, 6.5), (0.5, 4.2), (0.85, 2.4), (1, 0.4)])[: 30], 0.3, 1), 3.2, -50, -1,
            inside=g, dots=0)


def body(cv: Table) -> None:
    for i, (tx, ty) in enumerate(((95, 40), (92.5, 37.5), (89, 35.6))):
        cv.feather((70 - i, 60 - i * 3), (tx, ty), 6.8, 0.03, 0.15, 0.85, 0.5, 0.9, 0.45, barbs=3)
    g = cv.form([(23, 97), (17.6, 88), (18.6, 78), (24, 69), (32, 62), (43, 56.5), (56, 52.5), (70, 48), (82, 43.5),
                 (86, 47), (78, 62), (66, 79), (54, 91), (44, 97), (33, 100)], 1.35, 0.7)
    # belly in shade, rows of soft plumage turning with the form
    belly = [(24, 69), (32, 62), (43, 56.5), (56, 52.5), (70, 48), (82, 43.5)]
    cv.shade(belly, [(0, 1.5), (0.25, 4), (0.6, 6.5), (1, 4)], -58, 1, 0.62, 1.05, inside=g, dots=1)
    for r, (y0, n) in enumerate(((84, 4), (77, 5), (70.5, 6))):
        for k in range(n):
            p = np.array([21 + r * 2.2 + k * 3.4, y0 - k * 2.3])
            cv.line([p, p + (0.6, -2.2), p + (2.4, -3.2)], 0.45, 0.4, 0.1, 0, g)


def wing_feathers(cv: Table) -> None:
    for v0, v1, s1 in ((-5, -7.5, 84), (-2.5, -3.8, 88), (0, 0.0, 91), (2, 3.2, 89)):
        cv.feather(wing(46, v0), wing(s1, v1), 6.4, 0.02, 0.55, solid=True, heavy=0.9)
    n = 8
    for i in range(n):
        f = i / (n - 1)
        v0, v1 = -13 + 21 * f, -15.5 + 24 * f
        s1 = 53 + 17 * np.sin(np.pi * (0.14 + 0.62 * f))
        cv.feather(wing(27 + 3 * f, v0), wing(s1, v1), 7.6, -0.02 + 0.05 * f, 0.1, 0.82, 0.44, 0.95, 0.45, barbs=3)
    for s0, ln, m, wd, st, tone in ((19.5, 22.5, 7, 7.4, 0.38, 0.8), (12, 15.5, 7, 6.6, 0.4, 0.76),
            (5.5, 12.5, 7, 5.6, 0.4, 0.72),
                                    (-0.5, 10.5, 6, 5.2, 0.36, 0.68)):
        for i in range(m):
            f = i / (m - 1)
            span = 22.5 if s0 > 10 else (20 if s0 > 3 else 15)
            v0 = -13.5 + span * f + (2.5 if s0 < 3 else 0)
            bow = 4.2 * np.sin(np.pi * f)
            cv.feather(wing(s0 + bow * 0.6, v0), wing(s0 + ln + bow, v0 * 1.03 - 0.5), wd, 0.0, 0.0, tone, st, 0.85,
                0.42,
                       barbs=2)
    # edge of the wing at the bend: black shoulder
    sh = cv.form([wing(-6, 3), wing(-3, -6), wing(2, -13), wing(9, -17), wing(14, -17.5), wing(9, -12), wing(4, -6),
                  wing(3, 2), wing(1, 7)], 0.9, 0.5)
    cv.fill([wing(-3, -5), wing(2.3, -12), wing(8.5, -16), wing(12.5, -16.6), wing(8, -12.2), wing(3.2, -6.6),
        wing(0.6, -3)], sh)
    cv.shade([wing(-3, -5), wing(0.6, -3), wing(3.2, -6.6)], 3, 0, 1, inside=sh, dots=0)
    # mantle: black ground, long back plumes drawn out of it over the wing
    mantle = shape([(33, 99), (40, 99.4), (48, 97.2), (56, 91), (63, 83), (69, 75), (66, 73), (58, 80), (49, 85),
        (40, 88), (33, 90)])
    cv.erase(mantle)
    cv.forms.append(mantle)
    cv.put("black", mantle)
    for r, q, w, b in (((50, 96), (92, 48), 4.4, 0.08), ((45, 97), (84, 50), 4.6, 0.05),
            ((52, 93), (79, 62), 4.2, 0.07), ((41, 97), (75, 55), 4.6, 0.04), ((45, 98), (69, 72), 4.2, 0.09),
                       ((36, 97), (65, 62), 4.6, 0.04), ((39, 98.6), (59, 82), 4.2, 0.09), ((33, 97), (55, 68), 4.6,
                           0.03)):
        cv.plume(r, q, w, b, 0.9, -1, 0.5, hidden=0.12)


def neck_and_head(cv: Table) -> None:
    for r, q, w, b in (((33, 142.5), (70, 127), 2.6, 0.11), ((33, 141), (61, 120.5), 2.4, 0.11)):
        cv.feather(r, q, w, b, 1.0, solid=True, heavy=0.6, full=0.25, base=0.9)
    spine = [(29, 141), (34.6, 137.2), (37.4, 130.6), (35.6, 122.4), (30, 115), (25.4, 107.4), (25, 99), (31, 88)]
    stops_l = [(0, 3.6), (0.25, 3.4), (0.5, 3.4), (0.7, 4.6), (0.88, 8.5), (1, 11)]
    stops_r = [(0, 3.6), (0.25, 3.2), (0.5, 3.6), (0.7, 5.0), (0.9, 6.4), (1, 8)]
    ring = ribbon(spine, stops_l, stops_r)
    n = len(ring) // 2
    back, front = ring[:n], ring[n:][::-1]
    skull_ring = spline([(13.6, 143.4), (18, 146.6), (24, 148.6), (30.5, 147.4), (36, 143), (38.6, 137), (37, 131),
        (32, 131),
                         (29.6, 132.6), (26, 134), (20, 134.8), (16.4, 136), (15, 139)], closed=True)
    # bill first, the feathered face comes over its root
    lower = cv.form([(-17.5, 135.4), (-6, 135.9), (4, 135.6), (11, 135), (18, 134.8), (23, 136), (23, 140),
        (10, 139.6), (0, 138.4)], 0.95, 0.6)
    cv.shade([(-15, 135.5), (-6, 135.9), (4, 135.6), (11, 135), (18, 134.6)], [(0, 0.5), (0.5, 1.8), (1, 2.8)], -62,
        1, 0.8, 1.0,
             inside=lower, dots=0)
    upper = cv.form([(-18.6, 135.2), (-18.6, 135.2), (-8, 138.6), (2, 141), (11, 143.2), (17, 144.6), (22, 143),
        (22, 139.6), (14, 139.4),
                     (6, 138.8), (-4, 137.4)], 0.9, 0.6)
    cv.fill([(-18, 135.4), (-8, 138.5), (2, 140.9), (12, 143.2), (11, 142), (0, 139.4), (-8, 137.4)], upper)
    cv.line([(13.5, 141.6), (7, 140.6), (1, 139.2)], 0.6, 0.3, 0.3, 0, upper)
    g = cv.limb([ring, skull_ring], 1.3, 0.7, 1.2)
    cv.line([(20, 138.8), (14, 139.45), (6, 138.85), (-4, 137.45), (-15, 135.8)], 0.95, 0.35, 0.7, 0.3)
    # the face ends on the bill in short feathering, not in a line
    bill = shapely.union(lower, upper).buffer(0.3)
    cv.erase(g.boundary.buffer(0.95).intersection(bill.buffer(-0.9)))
    for x, y, ln in ((16.2, 142.6, 2.6), (16.8, 141.5, 1.6), (16.9, 138.2, 1.8), (16.4, 137.2, 2.6),
            (15.8, 136.3, 2.0)):
        cv.line([(x, y), (x - ln * 0.5, y - 0.05), (x - ln, y - 0.35)], 0.42, 0.1, 1.0, 0.0)
    # bare lore runs back from the bill to the eye
    cv.line([(13.4, 143.2), (16.6, 143.9), (18.4, 143.4)], 0.55, 0.4, 0.6, 0.1, g)
    cv.fill([(17.6, 145.6), (21.6, 145.2), (25.4, 144.4), (30.4, 142.4), (35, 139.4), (38, 135.6), (38.2, 139),
        (35.8, 143.4), (30.6, 147.8), (25, 147.2),
             (20.6, 147)], g)
    cv.shade([(22, 144.9), (25.6, 144.2), (30.4, 142.2), (34.8, 139.2), (37.6, 135.8)],
        [(0, 0.4), (0.4, 2), (0.8, 4.6), (1, 3)],
             -48, -1, 0.75, 1.2, inside=g, dots=1)
    cv.erase(shape([(19.5, 147.1), (24.5, 147.9), (29.5, 146.6), (26, 147), (22, 147)]))
    eye = ellipse(20.4, 142.2, 2.0, 1.75)
    cv.erase(shape(eye, smooth=False))
    cv.outline(eye, 0.75, 0.7)
    cv.fill(ellipse(20.1, 142.3, 1.0, 1.0), smooth=False)
    cv.erase(shape(ellipse(19.75, 142.75, 0.34, 0.34), smooth=False))
    cv.line([(17.4, 142.0), (20, 144.5), (23.8, 142.2)], 0.95, 0.45, 0.2, 0)
    cv.line([(17.4, 141.2), (20.6, 139.9), (23.4, 140.8)], 0.5, 0.4, 0.1, 0)
    for k in range(6):
        p = np.array([23 + 1.7 * k, 138.6 - 0.5 * k])
        cv.line([p, p + (1.6, -0.6), p + (2.7, -1.9)], 0.45, 0.3, 0.2, 0, g)
    cv.line([(17, 136.2), (22, 136.2), (27, 135.2)], 0.4, 0.4, 0.2, 0, g)
    cv.shade(part(back, 0.22, 0.92), [(0, 3.4), (0.3, 3.6), (0.5, 2.6), (0.75, 4.6), (1, 7)], 52, -1, 0.78, 1.3,
        inside=g, dots=2)
    # throat marks: one file of black tears, a lesser one inside it at the bend
    for t in np.linspace(0.2, 0.8, 11):
        for k, off in ((0, 1.25), (1, 3.0)):
            if k == 1 and not t > 0.42:
                continue
            tt = min(0.97, t + 0.027 * k)
            q, r, b = at(front, tt), at(front, tt + 0.02), at(back, tt)
            d = (r - q) / max(np.hypot(*(r - q)), 1e-6)
            m = (b - q) / np.hypot(*(b - q))
            s = (2.6 + 2.2 * np.exp(-((t - 0.68) / 0.24) ** 2)) * (1 if k == 0 else 0.72)
            c = q + m * off
            cv.put("black", shape(ribbon([c - d * s * 0.55, c + m * 0.1, c + d * s * 0.5 + m * 0.3],
                [(0, 0.06), (0.65, 0.62 if k == 0 else 0.45), (0.9, 0.4), (1, 0.1)]), smooth=False), g)


def breast(cv: Table) -> None:
    """Long plumes from the foot of the neck, hung over breast and wing, nearest last."""
    for r, q, w, b in (((42, 98), (60, 74), 4.6, 0.06), ((38, 95), (51, 69), 4.8, 0.03),
            ((34, 93), (43.6, 64), 4.8, 0.0)):
        cv.plume(r, q, w, b, 0.95, 1, hidden=0.14)
    for r, q, w, b in (((19.4, 103), (13.6, 78), 4.4, -0.12), ((36, 100), (46, 78), 4.4, 0.05),
            ((32, 97), (37.6, 63), 4.8, 0.03), ((21, 101), (17, 66), 4.6, -0.09),
                       ((29, 97), (32, 57), 4.8, -0.01), ((24, 100), (21.2, 57), 4.8, -0.05), ((26.6, 98), (26.6, 51),
                           5.0, -0.03),
                       ((33, 101), (38, 80), 4.2, 0.05), ((21.6, 104), (18.6, 80), 4.0, -0.07), ((29.6, 102),
                           (31, 75), 4.2, 0.02), ((25.4, 103), (23.8, 73), 4.2, -0.03)):
        cv.plume(r, q, w, b, 0.9, 1, hidden=0.14)


def draw() -> None:
    cv = Table(11)
    # rush heads on stems, then blades
    for sx, tx, ty in ((80, 100, 76), (85, 108, 60)):
        st = [(sx, -2), (sx + 3, 24), (tx - 5, ty - 18), (tx, ty)]
        g = cv.form(ribbon(st, [(0, 1.1), (1, 0.6)]), 0.75, 0.45, smooth=False)
        top = spline(st)[-1]
        d = np.array([0.28, 0.96])
        tipq = top + d * 14
        cv.form(ribbon([tipq - d * 1, tipq + d * 4], [(0, 0.5), (1, 0.06)]), 0.5, 0.4, smooth=False)
        hd = [top - d * 1.5, top + d * 3, top + d * 9, top + d * 13.5]
        g = cv.form(ribbon(hd, [(0, 0.6), (0.16, 2.3), (0.5, 2.6), (0.86, 2.2), (1, 0.5)]), 0.9, 0.7, smooth=False)
        cv.fill(ribbon(hd, [(0, -0.1), (0.16, 0.6), (0.5, 0.7), (0.86, 0.5), (1, 0)],
            [(0, 0.6), (0.16, 2.1), (0.5, 2.4), (0.86, 2.0), (1, 0.4)]), g,
                smooth=False)
        cv.shade([top + d * z + np.array([-0.65, 0.2]) for z in (0, 5, 12)], 1.6, 0, 1, 0.8, 1.0, inside=g, dots=0)
    reed(cv, [(72, -2), (74, 18), (72, 36), (74, 48), (78, 56)], 2.3, -1)
    reed(cv, [(88, -3), (91, 14), (100, 27), (112, 31)], 2.3, -1)
    reed(cv, [(67, -2), (65, 14), (67, 30), (63, 46)], 2.0, 1)
    reed(cv, [(17, -3), (13, 9), (3, 19), (-7, 20)], 2.1, 1)
    reed(cv, [(13, -4), (8, 3), (-1, 6), (-9, 3)], 1.8, 1)
    reed(cv, [(20, -2), (19, 9), (14, 21), (12, 27)], 1.6, 1)
    bank(cv)
    legs(cv)
    trousers(cv)
    body(cv)
    wing_feathers(cv)
    neck_and_head(cv)
    breast(cv)
    cv.save("heron", {
        "title": "Heron on the mud bank", "min_mm": 120, "max_mm": 270, "facing": "left", "upright_deg": 0,
        "symmetric": False, "focal": True,
        "keep_whole": [[[-32, 61], [-32, 72], [-18, 76], [-8, 72], [-7, 60], [-16, 58]]],
        "tags": ["heron", "bird", "estuary", "reeds", "standing", "tall"], "licence": "CC0-1.0",
        "about": "The heron that stands every ebb on the mud bank below the lighthouse and moves for nobody.",
    }, scale=0.92)


if __name__ == "__main__":
    draw()
