"""Tide bell buoy: an old bell in a riveted iron frame, leaning as a wave goes under it."""

# ruff: noqa: RUF005 - points are numpy arrays, so "p + [x, y]" is a sum
from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from canvas import Canvas
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from tools_c import arc, black, crv, even, flick, inked, moved, rescale, stipple, thin, tidy, tube, vline

from composer.art.brush import normals

LEAN = -13.0


def T(points: Any) -> np.ndarray:
    """Upright buoy coordinates to paper: the whole buoy leans about the waterline."""
    return moved(points, 4.0, 4.0, LEAN)


def plumb(x: float, y: float, long: float, swing_deg: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """A hammer on its pivot hangs true while the frame leans."""
    p = T([(x, y)])[0]
    a = np.radians(-90 + swing_deg)
    return p, p + long * np.array([np.cos(a), np.sin(a)])


def draw() -> None:
    c = Canvas(21)
    hull(c)
    frame(c)
    wave(c)
    rescale(c, 0.89)
    tidy(c)
    c.save("bell_buoy", {
        "title": "Tide bell buoy", "min_mm": 100, "max_mm": 220, "facing": "none", "upright_deg": 0,
        "symmetric": False, "focal": True, "keep_whole": False,
        "tags": ["bell", "buoy", "iron", "wave", "sea", "estuary"], "licence": "CC0-1.0",
        "about": "The bell buoy on the bar rings itself when the ebb meets the swell below the lighthouse."})


def hull(c: Canvas) -> None:
    deck = arc(0, 20, 27, 5.0, 0, 360, 60)[:-1]
    side = np.vstack([arc(0, 20, 27, 5.0, 180, 360, 40), [(26.4, 10), (23, -4), (16, -14)],
        [(-16, -14), (-23, -4), (-26.4, 10)]])
    g = inked(c, T(side), 1.6, 0.9, 130, smooth=False)
    # plates: seams follow the round of the drum
    for k in (-0.72, -0.3, 0.2):
        x = 27 * np.sin(np.radians(90 * k))
        y = 20 - 5.0 * np.cos(np.radians(90 * k))
        thin(c, T([(x, y - 6), (x * 0.97, y - 14), (x * 0.86, y - 24)]), 0.55, g)
        for j in range(6):
            c.put("line", shapely.Point(T([(x * (1 - 0.012 * j) + 1.1, y - 8.2 - 2.6 * j)])[0]).buffer(0.3,
                quad_segs=2), g)
    # right side in black, whipped back round the drum
    black(c, T([(17.6, 14), (28, 18), (26, 4), (21, -14), (14.8, -16), (16.4, -4)]), g, smooth=False)
    flick(c, T([(17.6, 14), (16.4, -4), (14.8, -15)]), T([(4, 11), (4, -4), (4, -15)]), 30, 1.15, 0.05, g)
    flick(c, T([(-26.4, 13), (-25.6, 6), (-22, -6)]), T([(-19, 11), (-18.4, 4), (-16, -7)]), 22, 0.8, -0.05, g)
    # fender belt
    lo, hi = arc(0, 13.6, 26.9, 5.0, 180, 360, 40), arc(0, 17.6, 27.3, 5.0, 360, 180, 40)
    belt = inked(c, T(np.vstack([lo, hi])), 1.2, 0.7, 120, smooth=False)
    flick(c, T(even(lo, 60)[22:]), T(even(hi[::-1], 60)[19:57]), 46, 0.8, 0, belt)
    for a in np.linspace(192, 340, 12):
        p = T(arc(0, 15.6, 27, 5, a, a, 1))[0]
        c.erase(shapely.Point(p).buffer(0.95, quad_segs=4))
        c.put("line", shapely.Point(p).buffer(0.95, quad_segs=4).difference(shapely.Point(p + [-0.15,
            0.2]).buffer(0.58, quad_segs=3)))
    d = inked(c, T(deck), 1.2, 0.7, 120, smooth=False)
    pool = Polygon(T(arc(2, 20.2, 22, 3.2, 0, 360, 40)[:-1]))
    c.put("black", pool)
    flick(c, T(arc(0, 20.2, 23, 3.2, 250, 110, 30)), T(arc(-4, 20.0, 24, 4.4, 250, 110, 30)), 24, 0.6, 0, d)


def leg(c: Canvas, a: tuple[float, float], b: tuple[float, float], w: tuple[float, float], dark: bool,
    heavy: float) -> BaseGeometry:
    mid = ((a[0] + b[0]) / 2 * 1.03, (a[1] + b[1]) / 2)
    g = inked(c, tube(T([a, mid, b]), np.array(w), 2.5), heavy, 0.5, 140, smooth=False)
    path = crv(T([a, mid, b]), 2)
    if dark:
        c.put("black", g.buffer(-0.2).intersection(tube(path + [0.5, -0.1], np.array(w) * 0.72, 3)))
    else:
        wide = np.array(w)
        c.put("black", tube(path + [w[0] * 0.24, -0.1], wide * 0.36, 3), g)
        q = even(path, 15)[1:-1]
        for p in q:
            c.put("line", shapely.Point(p + [-w[0] * 0.2, 0]).buffer(0.42, quad_segs=2), g)
    return g


def frame(c: Canvas) -> None:
    # far side
    leg(c, (-11, 23.2), (-4.2, 80), (2.2, 1.7), True, 0.7)
    leg(c, (16, 22.8), (6.4, 80), (2.2, 1.7), True, 0.7)
    ring = Polygon(T(np.vstack([arc(0.6, 63, 13.0, 2.6, 180, 0, 24), arc(0.6, 61.4, 13.0, 2.6, 0, 180, 24)])))
    inked(c, ring, 0.7, 0.5, 120)
    c.put("black", ring.buffer(0.1).intersection(Polygon(T([(3, 55), (20, 55), (20, 70), (3, 70)]))))
    # yoke and bell
    inked(c, Polygon(T([(-13, 62.6), (13, 62.6), (13, 59.8), (-13, 59.8)])), 0.8, 0.5, 120, smooth=False)
    p, q = plumb(1.5, 60, 33.5, 2.0)
    clapper(c, p, q)
    bell(c)
    # near ring half, legs, hammers
    g = inked(c, Polygon(T(np.vstack([arc(0, 62.6, 13.9, 2.7, 180, 360, 24),
        arc(0, 60.2, 14.1, 2.7, 360, 180, 24)]))), 0.9, 0.55, 120, smooth=False)
    flick(c, T(arc(0, 60.2, 14.1, 2.7, 270, 360, 12)), T(arc(0, 62.4, 14, 2.7, 265, 355, 12)), 18, 0.6, 0, g)
    hammers(c)
    for x in (-21.4, 22.0):
        foot = inked(c, T([(x - 3.4, 16.6 + abs(x) * 0.03), (x + 3.4, 16.6 + abs(x) * 0.03), (x + 2.2, 20.4),
            (x - 2.2, 20.4)]), 1.0, 0.6, 120, smooth=False)
        flick(c, T([(x + 3, 17.4), (x + 2.0, 20.2)]), T([(x - 1, 17.4), (x - 1, 20.2)]), 5, 0.6, 0, foot)
    leg(c, (-21.4, 19.2), (-8.2, 79), (3.3, 2.3), False, 1.15)
    leg(c, (22.0, 19.2), (9.2, 79), (3.3, 2.3), False, 1.15)
    for x, y in ((-13.3, 61.2), (13.8, 61.2)):
        p = T([(x, y)])[0]
        k = inked(c, shapely.Point(p).buffer(2.3, quad_segs=8), 0.9, 0.5, 120, smooth=False)
        c.put("line", shapely.Point(p + [0.2, -0.2]).buffer(0.75, quad_segs=4), k)
    top(c)


def bell(c: Canvas) -> None:
    left = [(-2.6, 58.6), (-5.6, 57.6), (-7.2, 54.6), (-7.6, 50), (-8.4, 45), (-10.2, 40), (-13.2, 36), (-14.0, 33.8)]
    right = [(-x, y) for x, y in left]
    lip = arc(0, 33.8, 14.0, 3.2, 180, 360, 30)
    # crown loop
    loop = tube(T([(-3.0, 58), (-3.4, 61.4), (0, 63.6), (3.4, 61.4), (3.0, 58)]), 1.9)
    inked(c, loop, 0.9, 0.5, 120, smooth=False)
    g = inked(c, T(np.vstack([crv(left, 0.8), lip[1:-1], crv(right, 0.8)[::-1]])), 1.5, 0.8, 120, smooth=False)
    # shade: black down the right flank, whipped round the waist, a strip of reflected light left open at the edge
    r_in = [(1.6, 58.2), (4.2, 55), (4.4, 50), (4.8, 45), (6.2, 40), (8.4, 36.2), (8.8, 31.6)]
    r_out = [(3.6, 57.6), (5.9, 55), (6.3, 50), (7.0, 45), (8.8, 40), (11.6, 36.2), (12.2, 32.4)]
    black(c, T(np.vstack([crv(r_in), crv(r_out)[::-1]])), g, smooth=False)
    flick(c, T(r_in), T([(-1.4, 58.6), (-0.8, 55), (-0.8, 50), (-0.6, 45), (-0.4, 40), (0.4, 36), (0.6, 31)]), 62,
        0.75, 0.06, g)
    flick(c, T(left[1:]), T([(-4.0, 57.4), (-4.9, 54.4), (-5.2, 50), (-5.8, 45), (-6.6, 40), (-9, 36), (-9.8, 33)]),
        46, 0.55, -0.05, g)
    # beads: three rings that bow with the round of the bell
    for y, half, dip, w in ((55.2, 7.0, 1.5, 0.5), (53.6, 7.3, 1.6, 0.4), (41.6, 9.6, 2.2, 0.5),
        (39.8, 10.3, 2.3, 0.4), (36.4, 12.9, 3.0, 0.75)):
        band = T(arc(0, y, half, dip, 184, 356, 24))
        c.erase(tube(band + [0, 0.42], 0.6).intersection(g))
        thin(c, band, w, g.buffer(-0.1), start=0.6, end=0.8)
    # worn place, verdigris runs
    for x, y, long in ((-3.4, 52.8, 5.4), (-1.2, 52.4, 3.2), (-5.4, 52.8, 3.0)):
        thin(c, T([(x, y), (x - 0.1, y - long * 0.5), (x - 0.2, y - long)]), 0.5, g, start=1, end=0)
    patch = Polygon(T([(-6, 50), (0, 50), (0, 41), (-7, 42)]))
    stipple(c, patch.intersection(g), lambda x, y: 0.5, 0.38, 120, 2.6)


def hammers(c: Canvas) -> None:
    clapper(c, *plumb(-12.6, 59.4, 23.5, 9.0))


def clapper(c: Canvas, p: np.ndarray, q: np.ndarray) -> None:
    """Iron rod with a ball, lit from the upper left."""
    rod = inked(c, tube([p, q], np.array([1.3, 1.7]), 2), 0.8, 0.5, 120, smooth=False)
    black(c, tube([p + [0.4, 0], q + [0.4, 0]], 0.6, 2), rod)
    ball = inked(c, shapely.Point(q).buffer(3.1, quad_segs=10), 1.1, 0.6, 120, smooth=False)
    c.put("black", ball.difference(shapely.Point(q + [-1.1, 1.2]).buffer(2.5, quad_segs=8)))
    flick(c, arc(*(q + [-1.1, 1.2]), 2.5, 2.5, -80, 30, 10), arc(*(q + [-1.2, 1.3]), 0.9, 0.9, -80, 30, 10), 10, 0.6,
        0, ball)


def top(c: Canvas) -> None:
    plate = inked(c, T(np.vstack([arc(0.4, 80, 12.2, 2.5, 180, 360, 24), arc(0.4, 82.2, 12.2, 2.5, 0, 180, 24)])),
        1.2, 0.7, 120, smooth=False)
    thin(c, T(arc(0.4, 82.2, 12.2, 2.5, 180, 360, 24)), 0.5, plate, start=1, end=1)
    lower, upper = arc(0.4, 80, 12.4, 2.6, 236, 358, 30), arc(0.4, 82.0, 12.1, 2.5, 236, 358, 30)
    k = np.clip(np.linspace(-0.1, 1.3, 30), 0, 0.86)[:, None]
    c.put("black", Polygon(T(np.vstack([lower, (lower + (upper - lower) * k)[::-1]]))).buffer(0), plate)
    deck = inked(c, T(arc(0.4, 82.2, 12.0, 2.4, 0, 360, 50)[:-1]), 0.6, 0.6, 120, smooth=False)
    flick(c, T(arc(0.8, 82.6, 6.4, 1.5, 200, 350, 20)), T(arc(2.2, 81.6, 10.0, 2.2, 215, 345, 20)), 20, 0.7, 0, deck)
    # lantern: glass in a cage, capped
    glass = inked(c, T(np.vstack([arc(0.4, 83, 6.0, 1.4, 180, 360, 16), arc(0.4, 94, 5.6, 1.3, 0, 180, 16)])), 1.1,
        0.6, 120, smooth=False)
    black(c, T([(3.0, 82), (6.6, 82.6), (6.2, 95), (2.8, 95)]), glass, smooth=False)
    flick(c, T([(3.0, 82), (2.8, 95)]), T([(-1.6, 82), (-1.4, 95)]), 14, 0.9, 0, glass)
    lens = inked(c, Polygon(T(arc(-0.1, 88.4, 2.5, 4.1, 0, 360, 40)[:-1])).intersection(glass), 0.7, 0.45, 120,
        smooth=False)
    for k, y in enumerate((85.4, 86.8, 88.2, 89.6, 91.0)):
        half = 2.4 * np.sqrt(max(1 - ((y - 88.4) / 4.1) ** 2, 0))
        thin(c, T(arc(-0.1, y, half, 0.5, 180, 360, 8)), (0.45, 0.4, 0.6, 0.4, 0.4)[k], lens, start=0.7, end=1)
    flick(c, T(arc(-0.1, 88.4, 2.5, 4.1, -80, 80, 20)), T(arc(-0.4, 88.4, 0.6, 3.2, -80, 80, 20)), 14, 0.55, 0, lens)
    for x in (-4.0, 3.6):
        bar = T([(x + 0.3, 81.8), (x * 0.95 + 0.3, 93)])
        c.erase(tube(bar, 1.5).intersection(glass))
        inked(c, tube(bar, 0.8).intersection(glass), 0.4, 0.3, smooth=False)
    cap = inked(c, T(np.vstack([arc(0.4, 94.2, 7.6, 1.8, 180, 360, 20), crv([(8, 94.4), (5.2, 97.6), (1.9, 100.4),
        (0.4, 101.2), (-1.1, 100.4), (-4.4, 97.6), (-7.2, 94.4)], 0.8)])), 1.2, 0.7, 120, smooth=False)
    black(c, T([(2.2, 101), (4.6, 97.8), (8.4, 94), (6, 92.6), (3.8, 92.4), (2.4, 96)]), cap, smooth=False)
    flick(c, T([(2.2, 100), (2.6, 96), (3.8, 92.4)]), T([(-0.6, 100), (-1.6, 96), (-2.2, 92.4)]), 12, 0.8, 0, cap)
    for pts in ([(0.2, 100.6), (-1.6, 96.8), (-2.9, 92.9)], [(-0.3, 100.4), (-3.2, 97.2), (-5.8, 93.3)]):
        thin(c, T(pts), 0.42, cap, belly=0.5, start=0.2, end=0.6)
    rim = inked(c, T(np.vstack([arc(0.4, 93.6, 7.9, 1.9, 180, 360, 24), arc(0.4, 94.9, 7.7, 1.8, 360, 180, 24)])),
        0.8, 0.5, 120,
                smooth=False)
    flick(c, T(arc(0.4, 93.6, 7.9, 1.9, 280, 355, 14)), T(arc(0.4, 95.0, 7.8, 1.9, 272, 350, 14)), 16, 0.7, 0, rim)
    p = T([(0.4, 103.2)])[0]
    ball = inked(c, shapely.Point(p).buffer(2.1, quad_segs=8), 1.0, 0.6, 120, smooth=False)
    c.put("black", ball.difference(shapely.Point(p + [-0.7, 0.7]).buffer(1.5, quad_segs=6)))


def wave(c: Canvas) -> None:
    """Sea in front of the hull: a breaking crest on the left, running swells, long tapering wisps below."""
    peaks = [(46.0, 4.6), (27.0, 10.4), (5.0, 8.6)]
    top = [(65, -6), (65, -6), (58, -2.6), (53.4, 0.2)]
    for x, y in peaks:
        top += [(x + 1.8, y - 5.0), (x + 0.8, y - 2.6), (x + 3.4, y), (x + 3.4, y), (x - 1.4, y - 0.8),
            (x - 6, y - 4.0), (x - 10.5, y - 6.6)]
    top += [(-13, 3.0), (-19, 4.4), (-27, 7.2), (-32.6, 12.4), (-33.6, 19.4), (-29.6, 25.0), (-23.6, 27.6), (-17, 26),
        (-13, 21), (-13, 21),
            (-12.6, 30), (-19, 36.4), (-29, 37.6), (-39, 33.6), (-47, 25.4), (-52.6, 14.6), (-56, 4), (-59.6,
                -4), (-65, -10.4), (-65, -10.4)]
    low = [(-56, -9.4), (-46, -12.2), (-34, -17.4), (-22, -22.2), (-8, -25.6), (8, -27.0), (8, -27.0), (0.6, -23.0),
        (10, -20.6), (23, -20.2), (37, -22),
           (37, -22), (30.6, -17.2), (40, -14.4), (52, -13.4), (62, -13.8), (62, -13.8), (57, -10.4), (65, -6)]
    ring = np.vstack([crv(top, 0.8), crv([top[-1], *low], 0.8)])
    tips = [(65, -6, 9, 0.35), (-65, -10.4, 9, 0.35), (8, -27.0, 8, 0.35), (37, -22, 7, 0.35), (62, -13.8, 6, 0.35)]
    tips += [(x + 3.4, y, 4, 0.5) for x, y in peaks]
    g = inked(c, Polygon(ring).buffer(0), 1.6, 0.95, 110, fine=tips, smooth=False)
    # long bands of black that run down the face and out into the wisps, whipped on their lower side
    bands = ([(-37, 31.6, 0.2), (-43.4, 21, 1.6), (-44.4, 9, 3.0), (-39.6, -1.6, 3.6), (-29, -9.6, 3.4),
        (-14, -14.8, 2.8), (2, -17.6, 1.6), (14, -18.6, 0.2)],
             [(-47, 24, 0.2), (-51.0, 13, 1.0), (-51.2, 3, 1.9), (-46.4, -5.6, 2.3), (-37.6, -11.6, 2.0),
                 (-27, -16.6, 1.6), (-15, -20.8, 1.0), (-2, -24, 0.6), (4, -25.6, 0.2)],
             [(-54.4, 4, 0.15), (-56, -2, 1.0), (-54, -6.6, 1.1), (-48, -10, 0.6), (-44, -11.8, 0.15)],
             [(-8, -9.4, 0.2), (4, -11.8, 1.4), (18, -12.6, 2.0), (33, -12, 1.6), (46, -11.4, 0.9),
                 (58, -12.8, 0.15)],
             [(30, -4.6, 0.15), (40, -6.4, 1.0), (50, -6.4, 1.2), (58, -6.2, 0.6), (63, -6.2, 0.15)])
    for k, pts in enumerate(bands):
        vline(c, pts, g, "black")
        q = even(crv(pts), 80)
        n = normals(q)
        n *= -1 if n[40, 1] > 0 else 1
        depth = (3.4, 2.4, 1.6, 3.0, 2.0)[k]
        flick(c, q[6:70], q[10:74] + n[10:74] * (depth + 1.2), (52, 46, 16, 44, 24)[k], 0.85, 0.14, g, fade=0.7)
    for pts in ([(-41, 27, 0.15), (-47, 15, 0.5), (-47.8, 5, 0.7), (-42.8, -4.4, 0.6), (-33, -11.6, 0.5),
        (-19, -17.4, 0.4), (-4, -20.6, 0.15)],
                [(-37, 27, 0.15), (-40, 18.6, 0.6), (-40, 9, 0.9), (-35.4, 0.4, 0.9), (-26.4, -5.2, 0.8),
                    (-14, -8.8, 0.7), (0, -10, 0.4), (8, -10, 0.15)],
                [(8, -16.2, 0.15), (20, -17.4, 0.6), (30, -19, 0.5), (36, -20.8, 0.15)], [(24, -15.4, 0.15),
                    (36, -14.4, 0.5), (46, -13, 0.4), (54, -13.2, 0.15)],
                [(-12, -3.4, 0.15), (0, -6.6, 0.7), (14, -8.2, 0.8), (28, -8.0, 0.6), (38, -8.8, 0.4),
                    (48, -9.2, 0.15)],
                [(-24, 0.8, 0.15), (-14, -1.6, 0.6), (-4, -3.2, 0.6), (6, -4.6, 0.15)]):
        vline(c, pts, g)
    # hollow under the curl, whipped down the face
    hollow = crv([(-22.6, 27.8), (-29.6, 25.2), (-33.8, 19.6), (-32.8, 12.2), (-27, 7.0), (-19, 4.2), (-13, 2.8),
        (-8, 2.4)])
    flick(c, hollow, crv([(-29, 34), (-37, 29), (-40.4, 20.6), (-39, 10.4), (-33, 2.4), (-24, -2.6), (-15, -4),
        (-6, -3)]), 62, 1.3, 0.16, g, solid=0.22)
    # shaded side of every running swell
    for k, (x, y) in enumerate(peaks):
        deep = (0.9, 1.15, 1.0)[k]
        edge = [(x + 3.0, y - 0.4), (x + 0.7, y - 2.8), (x + 1.5, y - 4.8), (x + 4.6, y - 7.0), (x + 7, y - 8.0)]
        flick(c, crv(edge), crv([(x + 1, y - 0.9), (x - 3.2 * deep, y - 4.2), (x - 2.8 * deep, y - 8.4),
            (x + 0.6, y - 11.6), (x + 5.2, y - 12.4)]), 26, 1.15, 0.16, g, fade=0.35, solid=0.2)
        for q, w in ((1.7, 0.5), (3.3, 0.35)):
            thin(c, [(x + 0.4 - q * 0.7, y - 1.0 - q * 0.8), (x - 3.6 - q * 0.5, y - 3.4 - q),
                (x - 9 - q * 0.4, y - 7.6 - q * 0.8), (x - 14, y - 9.4 - q)], w, g, belly=0.3, start=0.2, end=0)
    foam(c)


def lobed(c: Canvas, pts: list[tuple[float, float]], heavy: float, curls: list[list[tuple[float, float]]],
    fine: tuple[float, float, float, float]) -> None:
    """A cap of white water: lobes with a small curl in each, whipped under the lobes."""
    edge = crv(pts, 0.5)
    f = inked(c, Polygon(edge).buffer(0), heavy, heavy * 0.6, 110, fine=[fine], smooth=False)
    for k in curls:
        thin(c, k, 0.6, f, belly=0.3, start=0.4, end=0)
    ins = f.buffer(-0.1)
    half = len(edge) // 2
    flick(c, edge[half:-6], edge[half:-6] + [-0.4, 2.2], 48, 0.5, 0.1, ins)


def foam(c: Canvas) -> None:
    """White water on the breaking lip and on the running swells."""
    over = [(-52.4, 15.4), (-48.6, 24.6), (-43.4, 31.4), (-36, 37), (-27, 39.6), (-18, 38.4), (-11.4, 33.4),
        (-8.2, 26.6), (-8.4, 20.6), (-11, 18.2), (-13.6, 19.6), (-13.8, 22.8), (-15, 25.0),
            (-15, 25.0), (-16.8, 21.4), (-20.2, 20.6), (-22, 23.4), (-21.4, 27.6), (-21.4, 27.6), (-24.2, 25.6), (-27,
                26.4), (-27.4, 29.2), (-27.4, 29.2), (-30.2, 25.0), (-34.4, 24.0),
            (-36.2, 26.8), (-35.6, 29.6), (-35.6, 29.6), (-38.8, 26.8), (-41.6, 27.2), (-42, 28.4), (-42,
                28.4), (-44.4, 23.8), (-47.4, 22.2), (-48, 23.0), (-48, 23.0), (-50.2, 18.6), (-52.4, 15.4)]
    curls = [[(-13.2, 21.4), (-11.6, 24.6), (-13, 29.2), (-17.4, 33.0), (-22.6, 34.2)],
        [(-21.2, 23.8), (-19.2, 26.6), (-19.8, 29.6), (-23, 31.6)],
             [(-26.8, 27.6), (-25.4, 29.4), (-26.4, 31.4), (-28.6, 32)], [(-35.2, 26.6), (-32.6, 29.0), (-32.8, 32.0),
                 (-35.6, 33.4)], [(-41.4, 28), (-39.2, 29.8), (-39.4, 31.6)], [(-47.4, 23.4), (-45.4, 24.6), (-45.2,
                 26.4)]]
    lobed(c, over, 1.2, curls, (-52.4, 15.4, 6, 0.3))
    cap = [(-9, -5.8), (-5, -2.6), (-0.6, 0.6), (4.0, 1.6), (7.2, 0.0), (7.4, -2.8), (5.2, -3.4), (4.2, -1.8),
        (4.2, -1.8), (3.4, -4.6), (0.8, -5.2), (-0.2, -2.8), (-0.2, -2.8),
           (-2.6, -5.0), (-4.8, -4.4), (-5.0, -3.8), (-5.0, -3.8), (-7, -5.6), (-9, -5.8)]
    for x, y, k in ((46.0, 4.6, 0.85), (27.0, 10.4, 1.2), (5.0, 8.6, 1.0)):
        pts = [(x + a * k + 0.6, y + b * k + 0.6) for a, b in cap]
        curls = [[(x + a * k + 0.6, y + b * k + 0.6) for a, b in q] for q in ([(4.8, -2.4), (5.6, -0.8), (3.6, 0.2)],
            [(0.4, -3.6), (1.6, -2.0), (0.4, -0.8)])]
        lobed(c, pts, 1.0, curls, (x - 9 * k, y - 5.2 * k, 4, 0.3))


if __name__ == "__main__":
    draw()
