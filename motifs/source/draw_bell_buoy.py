"""Tide bell buoy: an old bell in a riveted iron frame, leaning as a wave goes under it."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from canvas import Canvas
from tools_c import arc, between, black, crv, even, flick, inked, moved, stipple, thin, tube, vline

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
    c.save("bell_buoy", {
        "title": "Tide bell buoy", "min_mm": 90, "max_mm": 220, "facing": "none", "upright_deg": 0,
        "symmetric": False, "focal": True, "keep_whole": False,
        "tags": ["bell", "buoy", "iron", "wave", "sea", "estuary"], "licence": "CC0-1.0",
        "about": "The bell buoy on the bar rings itself when the ebb meets the swell below the lighthouse."})


def hull(c: Canvas) -> None:
    deck = arc(0, 20, 27, 5.0, 0, 360, 60)[:-1]
    side = np.vstack([arc(0, 20, 27, 5.0, 180, 360, 40), [(26.4, 10), (23, -4), (16, -14)], [(-16, -14), (-23, -4), (-26.4, 10)]])
    g = inked(c, T(side), 1.6, 0.9, 130, smooth=False)
    # plates: seams follow the round of the drum
    for k in (-0.72, -0.3, 0.2):
        x = 27 * np.sin(np.radians(90 * k))
        y = 20 - 5.0 * np.cos(np.radians(90 * k))
        thin(c, T([(x, y - 6), (x * 0.97, y - 14), (x * 0.86, y - 24)]), 0.55, g)
        for j in range(6):
            c.put("line", shapely.Point(T([(x * (1 - 0.012 * j) + 1.1, y - 8.2 - 2.6 * j)])[0]).buffer(0.3, quad_segs=2), g)
    # right side in black, whipped back round the drum
    black(c, T(np.vstack([arc(0, 12, 26.6, 5, 318, 352, 8), [(25, 2), (20, -14), (16, -16), (17.5, -2)]])), g, smooth=False)
    flick(c, T([(19.8, 8.6), (18.6, -1), (15.4, -14)]), T([(6, 5.6), (6, -4), (5, -15)]), 30, 1.1, 0.05, g)
    flick(c, T([(-26.4, 13), (-25.6, 6), (-22, -6)]), T([(-19, 11), (-18.4, 4), (-16, -7)]), 22, 0.8, -0.05, g)
    # fender belt
    lo, hi = arc(0, 13.6, 26.9, 5.0, 180, 360, 40), arc(0, 17.6, 27.3, 5.0, 360, 180, 40)
    belt = inked(c, T(np.vstack([lo, hi])), 1.2, 0.7, 120, smooth=False)
    flick(c, T(even(lo, 60)[22:]), T(even(hi[::-1], 60)[19:57]), 46, 0.8, 0, belt)
    for a in np.linspace(192, 340, 12):
        p = T(arc(0, 15.6, 27, 5, a, a, 1))[0]
        c.erase(shapely.Point(p).buffer(0.95, quad_segs=4))
        c.put("line", shapely.Point(p).buffer(0.95, quad_segs=4).difference(shapely.Point(p + [-0.15, 0.2]).buffer(0.58, quad_segs=3)))
    d = inked(c, T(deck), 1.2, 0.7, 120, smooth=False)
    pool = Polygon(T(arc(2, 20.2, 22, 3.2, 0, 360, 40)[:-1]))
    c.put("black", pool)
    flick(c, T(arc(0, 20.2, 23, 3.2, 250, 110, 30)), T(arc(-4, 20.0, 24, 4.4, 250, 110, 30)), 24, 0.6, 0, d)


def leg(c: Canvas, a: tuple[float, float], b: tuple[float, float], w: tuple[float, float], dark: bool, heavy: float) -> BaseGeometry:
    mid = ((a[0] + b[0]) / 2 * 1.03, (a[1] + b[1]) / 2)
    g = inked(c, tube(T([a, mid, b]), np.array(w), 2.5), heavy, 0.5, 140, smooth=False)
    path = crv(T([a, mid, b]), 2)
    if dark:
        c.put("black", g.buffer(-0.2).intersection(tube(path + [0.5, -0.1], np.array(w) * 0.72, 3)))
    else:
        thin(c, path + [0.25, 0], 0.45, g, start=0.8, end=0.6)
        q = even(path, 26)
        d = np.array([0.95, -0.1])
        flick(c, q + d, q - d * 0.2, 40, 0.55, 0, g)
    return g


def frame(c: Canvas) -> None:
    # far side
    leg(c, (-11, 23.2), (-4.2, 80), (2.2, 1.7), True, 0.7)
    leg(c, (16, 22.8), (6.4, 80), (2.2, 1.7), True, 0.7)
    ring = Polygon(T(np.vstack([arc(0.6, 63, 13.0, 2.6, 180, 0, 24), arc(0.6, 61.4, 13.0, 2.6, 0, 180, 24)])))
    inked(c, ring, 0.7, 0.5, 120)
    c.put("black", ring.buffer(-0.3).intersection(Polygon(T([(3, 55), (20, 55), (20, 70), (3, 70)]))))
    # yoke and bell
    inked(c, Polygon(T([(-13, 62.6), (13, 62.6), (13, 59.8), (-13, 59.8)])), 0.8, 0.5, 120, smooth=False)
    p, q = plumb(1.5, 60, 33.5, 2.0)
    clapper(c, p, q)
    bell(c)
    # near ring half, legs, hammers
    g = inked(c, Polygon(T(np.vstack([arc(0, 62.6, 13.9, 2.7, 180, 360, 24), arc(0, 60.2, 14.1, 2.7, 360, 180, 24)]))), 0.9, 0.55, 120, smooth=False)
    flick(c, T(arc(0, 60.2, 14.1, 2.7, 270, 360, 12)), T(arc(0, 62.4, 14, 2.7, 265, 355, 12)), 18, 0.6, 0, g)
    hammers(c)
    for x in (-21.4, 22.0):
        foot = inked(c, T([(x - 3.4, 16.6 + abs(x) * 0.03), (x + 3.4, 16.6 + abs(x) * 0.03), (x + 2.2, 20.4), (x - 2.2, 20.4)]), 1.0, 0.6, 120, smooth=False)
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
    flick(c, T(r_in), T([(-1.4, 58.6), (-0.8, 55), (-0.8, 50), (-0.6, 45), (-0.4, 40), (0.4, 36), (0.6, 31)]), 62, 0.75, 0.06, g)
    flick(c, T(left[1:]), T([(-4.0, 57.4), (-4.9, 54.4), (-5.2, 50), (-5.8, 45), (-6.6, 40), (-9, 36), (-9.8, 33)]), 46, 0.55, -0.05, g)
    # beads: three rings that bow with the round of the bell
    for y, half, dip, w in ((55.2, 7.0, 1.5, 0.5), (53.6, 7.3, 1.6, 0.4), (41.6, 9.6, 2.2, 0.5), (39.8, 10.3, 2.3, 0.4), (36.4, 12.9, 3.0, 0.75)):
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
    flick(c, arc(*(q + [-1.1, 1.2]), 2.5, 2.5, -80, 30, 10), arc(*(q + [-1.2, 1.3]), 0.9, 0.9, -80, 30, 10), 10, 0.6, 0, ball)


def top(c: Canvas) -> None:
    plate = inked(c, T(np.vstack([arc(0.4, 80, 12.2, 2.5, 180, 360, 24), arc(0.4, 82.2, 12.2, 2.5, 0, 180, 24)])), 1.2, 0.7, 120, smooth=False)
    thin(c, T(arc(0.4, 82.2, 12.2, 2.5, 180, 360, 24)), 0.5, plate, start=1, end=1)
    c.put("black", Polygon(T(np.vstack([arc(0.4, 80.1, 12, 2.5, 285, 352, 14), arc(0.4, 81.6, 12, 2.5, 352, 285, 14)]))), plate)
    flick(c, T(arc(0.4, 81, 12, 2.5, 290, 250, 8)), T(arc(0.4, 81, 12, 2.5, 262, 225, 8)), 8, 1.2, 0, plate)
    # lantern: glass in a cage, capped
    glass = inked(c, T(np.vstack([arc(0.4, 83, 6.0, 1.4, 180, 360, 16), arc(0.4, 94, 5.6, 1.3, 0, 180, 16)])), 1.1, 0.6, 120, smooth=False)
    black(c, T([(3.0, 82), (6.6, 82.6), (6.2, 95), (2.8, 95)]), glass, smooth=False)
    flick(c, T([(3.0, 82), (2.8, 95)]), T([(-1.6, 82), (-1.4, 95)]), 14, 0.9, 0, glass)
    for x in (-3.6, -0.2, 3.4):
        bar = T([(x + 0.3, 81.8), (x * 0.95 + 0.3, 93)])
        c.erase(tube(bar, 1.5).intersection(glass))
        inked(c, tube(bar, 0.8).intersection(glass), 0.4, 0.3, smooth=False)
    cap = inked(c, T(np.vstack([arc(0.4, 94.2, 7.6, 1.8, 180, 360, 20), crv([(8, 94.4), (5.2, 97.6), (1.9, 100.4), (0.4, 101.2), (-1.1, 100.4), (-4.4, 97.6), (-7.2, 94.4)], 0.8)])), 1.2, 0.7, 120, smooth=False)
    black(c, T([(2.2, 101), (4.6, 97.8), (8.4, 94), (6, 92.6), (3.8, 92.4), (2.4, 96)]), cap, smooth=False)
    flick(c, T([(2.2, 100), (2.6, 96), (3.8, 92.4)]), T([(-0.6, 100), (-1.6, 96), (-2.2, 92.4)]), 12, 0.8, 0, cap)
    p = T([(0.4, 103.2)])[0]
    ball = inked(c, shapely.Point(p).buffer(2.1, quad_segs=8), 1.0, 0.6, 120, smooth=False)
    c.put("black", ball.difference(shapely.Point(p + [-0.7, 0.7]).buffer(1.5, quad_segs=6)))


def wave(c: Canvas) -> None:
    """Sea in front of the hull: a breaking crest on the left, running swells, long tapering wisps below."""
    peaks = [(46.5, 6.6), (28.5, 9.0), (7.5, 10.2)]
    top = [(66, -5), (66, -5), (58, -1.6), (52.4, 0.6)]
    for x, y in peaks:
        top += [(x + 1.6, y - 4.6), (x + 0.8, y - 2.6), (x + 3.4, y), (x + 3.4, y), (x - 1.4, y - 0.8), (x - 6, y - 4.2), (x - 10.5, y - 7.2)]
    top += [(-10, 4.0), (-13.4, 7.4), (-13.6, 9.8), (-10.6, 14.4), (-10.6, 14.4), (-16.4, 12.4), (-20, 7.6), (-26, 5.6), (-32, 8.6), (-35.4, 14.4), (-34.6, 21),
            (-31, 25.4), (-27, 27), (-23, 26), (-23, 26), (-25, 31), (-32, 34.6), (-40, 33.4), (-48.6, 27), (-54.6, 17), (-58.6, 6), (-63, -3.6), (-69, -11), (-69, -11)]
    low = [(-61, -8.6), (-52, -10.6), (-43, -15.4), (-43, -15.4), (-40, -12.6), (-31, -15.6), (-20, -21.4), (-8, -25.4), (6, -26.8), (6, -26.8), (-1, -22.8), (9, -20), (22, -19.8), (36, -21.6),
           (36, -21.6), (30, -16.6), (40, -13.6), (52, -12.6), (62, -12.8), (62, -12.8), (57, -9.6), (66, -5)]
    ring = np.vstack([crv(top, 0.8), crv([top[-1], *low], 0.8)])
    tips = [(66, -5, 9, 0.3), (-69, -11, 9, 0.3), (-43, -15.4, 5, 0.4), (6, -26.8, 8, 0.3), (36, -21.6, 7, 0.3), (62, -12.8, 6, 0.3)]
    tips += [(x + 3.4, y, 4, 0.5) for x, y in peaks]
    g = inked(c, Polygon(ring).buffer(0), 1.6, 0.95, 110, fine=tips, smooth=False)
    # long bands of black that run down the face and out into the wisps
    vline(c, [(-39, 29.6, 0.2), (-44.6, 20, 1.6), (-45.4, 8, 3.0), (-40, -2.6, 3.6), (-29, -10.4, 3.4), (-14, -15.6, 2.6), (2, -18.2, 1.2), (14, -18.6, 0.2)], g, "black")
    vline(c, [(-48.8, 23, 0.2), (-52.6, 12, 1.0), (-52.2, 2, 1.9), (-47, -6.6, 2.3), (-38, -12, 1.8), (-28, -16.4, 1.2), (-16, -21, 0.9), (-4, -24.6, 0.5), (2, -26, 0.2)], g, "black")
    vline(c, [(-57, 5, 0.15), (-58.4, -2, 0.9), (-55.6, -7, 1.0), (-50, -10.4, 0.5), (-46, -12.6, 0.15)], g, "black")
    for pts in ([(-42.2, 25, 0.15), (-48.4, 14, 0.5), (-49, 4, 0.7), (-43.6, -5.4, 0.6), (-33, -12.6, 0.5), (-19, -18.2, 0.4), (-4, -21.6, 0.15)],
                [(-38.4, 24.6, 0.15), (-41, 17, 0.55), (-41, 8, 0.75), (-36.4, -0.6, 0.75), (-27, -6.6, 0.7), (-14, -11, 0.6), (2, -13.6, 0.5), (18, -14.6, 0.4), (32, -15.6, 0.15)],
                [(-12, -6.4, 0.15), (2, -9.2, 0.6), (18, -9.8, 0.8), (34, -9.2, 0.6), (47, -9.6, 0.4), (57, -11.4, 0.15)],
                [(8, -15.8, 0.15), (20, -17, 0.6), (30, -18.6, 0.5), (35, -20.4, 0.15)],
                [(36, -12, 0.15), (47, -11.2, 0.4), (56, -12, 0.15)],
                [(40, -5, 0.15), (50, -4.6, 0.6), (58, -5.4, 0.5), (64, -5.6, 0.15)]):
        vline(c, pts, g)
    vline(c, [(12, -11.6, 0.15), (24, -12.2, 1.3), (36, -11.4, 1.2), (48, -11, 0.5), (54, -11.6, 0.15)], g, "black")
    # hollow under the curl, whipped down the face
    hollow = crv([(-26, 26.8), (-31.4, 24.8), (-34.6, 20.4), (-35.2, 14.4), (-32, 8.6), (-26, 5.6), (-20, 7.4)])
    flick(c, hollow, crv([(-33, 33), (-39, 28.6), (-41, 21), (-40.6, 12), (-36.4, 2.6), (-28, -3), (-18, -4)]), 62, 1.25, 0.16, g)
    # shaded side of every running swell
    for k, (x, y) in enumerate([*peaks, (-14, 14.4)]):
        deep = 1.0 if k < 3 else 1.15
        edge = [(x + 3.0, y - 0.4), (x + 0.7, y - 2.8), (x + 1.5, y - 4.8), (x + 5.4, y - 7.4), (x + 9, y - 8.6)]
        flick(c, crv(edge), crv([(x + 1, y - 0.9), (x - 3.2 * deep, y - 4.2), (x - 2.8 * deep, y - 8.4), (x + 1.4, y - 12.2), (x + 6.6, y - 12.8)]), 26, 1.1, 0.16, g, fade=0.35)
        for q, w in ((1.7, 0.5), (3.3, 0.35)):
            thin(c, [(x + 0.4 - q * 0.7, y - 1.0 - q * 0.8), (x - 3.6 - q * 0.5, y - 3.4 - q), (x - 9 - q * 0.4, y - 7.6 - q * 0.8), (x - 14, y - 9.4 - q)], w, g, belly=0.3, start=0.2, end=0)
    foam(c)


def foam(c: Canvas) -> None:
    """White water on the lip: lobes that drip off the crest, each with its own small curl."""
    over = [(-53, 18.4), (-49.4, 25.6), (-44.6, 31), (-38, 35.2), (-30.6, 36.2), (-24, 33.2), (-19.8, 27.6), (-18.6, 22.6), (-20.2, 19.8), (-22.6, 20.6), (-23.2, 23.4),
            (-24.2, 25.2), (-24.2, 25.2), (-26.2, 22.4), (-28.8, 21.8), (-30, 24), (-29.2, 27.2), (-29.2, 27.2), (-31.6, 26.2), (-33.6, 27), (-33.8, 29), (-33.8, 29), (-36.4, 25.8), (-39.6, 25.2),
            (-40.8, 27.4), (-40.2, 29), (-40.2, 29), (-43.4, 26.6), (-45.6, 27), (-45.8, 27.6), (-45.8, 27.6), (-48.6, 22.6), (-53, 18.4)]
    f = inked(c, Polygon(crv(over, 0.6)).buffer(0), 1.15, 0.7, 110, fine=[(-53, 18.4, 6, 0.3)], smooth=False)
    for pts in ([(-22.4, 22.0), (-21.2, 24.6), (-23, 28.6), (-27, 31.6), (-31.4, 32.4)], [(-29.2, 24.2), (-27.4, 26.6), (-28, 28.8), (-30.6, 30)],
                [(-39.8, 27.2), (-37.6, 29.2), (-37.8, 31.2), (-39.8, 32)], [(-45, 27.8), (-43.2, 29.2), (-43.4, 30.6)]):
        thin(c, pts, 0.6, f, belly=0.3, start=0.4, end=0)
    edge = crv([(-19.4, 26), (-18.8, 22.6), (-20.2, 20), (-22.4, 20.8)])
    flick(c, edge, edge + [-2.2, 2.4], 12, 0.5, 0, f)
    lobes = crv([(-24.4, 25), (-26.4, 22.6), (-28.8, 22), (-30, 24)])
    flick(c, lobes, lobes + [0.6, 2.2], 12, 0.45, 0, f)
    lobes = crv([(-34, 28.6), (-36.6, 26), (-39.6, 25.4), (-40.6, 27.2)])
    flick(c, lobes, lobes + [0.9, 2.2], 13, 0.45, 0, f)


if __name__ == "__main__":
    draw()
