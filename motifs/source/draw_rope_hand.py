"""A weathered right hand, palm side, closed on a knotted rope: four fingers across, thumb over, sleeve rolled."""

# ruff: noqa: RUF005 - points are numpy arrays, so "p + [x, y]" is a sum
from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from canvas import Canvas
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from tools_c import arc, black, crv, even, flick, inked, moved, rescale, stipple, thin, tidy, tube, vline

from composer.art.brush import normals

ROPE = [(43, 116), (40, 104), (37, 92), (34.6, 76), (32.8, 60), (31.4, 46), (30.4, 34), (29.4, 22), (27.6, 10)]


def draw() -> None:
    c = Canvas(17)
    palm = arm_and_palm(c)
    rope(c, ROPE, 6.4, 4.6, 0.0, 1.0)
    top_end(c)
    fray(c)
    knot(c)
    sleeve(c, palm)
    fingers(c, palm)
    thumb(c)
    rescale(c, 0.85)
    tidy(c)
    c.save("rope_hand", {
        "title": "Hand on a knotted rope", "min_mm": 95, "max_mm": 200, "facing": "left", "upright_deg": 0,
        "symmetric": False, "focal": True, "keep_whole": True,
        "tags": ["hand", "rope", "knot", "sea", "estuary"], "licence": "CC0-1.0",
        "about": "The ferryman's hand on the mooring rope at the lighthouse landing."})


def arm_and_palm(c: Canvas) -> BaseGeometry:
    ring = [(27, 42), (34, 38.6), (41, 35.4), (48, 32.6), (55, 31.2), (62, 28.6), (70, 21.4), (84, 8), (84, 8),
        (102, 27), (102, 27), (92, 36.6), (82.8, 45.4), (76.8, 52.6),
            (73.0, 61), (71.4, 70), (67, 80), (58, 87), (46, 91.6), (32, 91.8), (22, 89.6), (18, 84), (18, 60)]
    g = inked(c, ring, 1.45, 0.8, 125)
    # heel of the hand and wrist
    low = crv([(41, 35.6), (48, 32.8), (55, 31.4), (62, 28.8), (70, 21.6), (83, 9)])
    flick(c, low, crv([(46, 46), (52, 43.4), (59, 41), (66.4, 37), (75, 29), (88, 16.6)]), 60, 1.1, 0.08, g,
        solid=0.3)
    high = crv([(74, 61), (76.6, 53.2), (82.4, 45.6), (92, 36.8), (101, 28)])
    flick(c, high, crv([(70.4, 59), (72.6, 51.4), (78.4, 43.6), (88.4, 34.6), (97.6, 25.4)]), 44, 0.6, 0.06, g)
    # creases of the wrist bow towards the hand
    vline(c, [(60.4, 31.4, 0.3), (62.6, 35.4, 0.9), (66.8, 40.6, 0.9), (72.4, 46.2, 0.6), (76.4, 49.4, 0.2)], g)
    vline(c, [(63.4, 29.6, 0.2), (65.4, 32.4, 0.7), (67.4, 34.8, 0.2)], g)
    vline(c, [(75.4, 44.6, 0.2), (77.4, 46.4, 0.6), (79.4, 47.4, 0.2)], g)
    # tendons: cords that rise out of the wrist and sink into the arm, lit above, whipped below
    for pts, w in (([(68.6, 37.8), (71.4, 33.0), (76.4, 28.8), (82.8, 22.0), (86.8, 15.8)], 0.95),
        ([(74.6, 43.0), (77.6, 37.6), (83.2, 33.8), (88.4, 27.6), (93.4, 22.4)], 0.75)):
        vline(c, [(*a, w * k) for a, k in zip(pts, (0.2, 0.9, 1.0, 0.7, 0.3), strict=True)], g)
        q = even(crv(pts), 60)
        flick(c, q[9:50], q[14:55] + [-2.9, -2.7], 24, 0.85, 0.15, g, fade=0.7, solid=0.2)
        thin(c, even(q + [1.3, 1.2], 60)[8:40:6], 0.34, g, belly=0.5, start=0.1, end=0.1)
    return g


def lay(path: np.ndarray, s: np.ndarray, rows: Sequence[tuple[float, float]]) -> np.ndarray:
    n = normals(path)
    out = []
    for a, b in rows:
        p = np.array([np.interp(a, s, path[:, 0]), np.interp(a, s, path[:, 1])])
        m = np.array([np.interp(a, s, n[:, 0]), np.interp(a, s, n[:, 1])])
        out.append(p + m * b)
    return np.array(out)


def rope(c: Canvas, points: Sequence[tuple[float, float]], half: float, pitch: float, start: float,
    stop: float) -> None:
    """Three-strand rope along points: strands slant round it, each drawn whole, over the one before."""
    path = crv(points, 0.5)
    s = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    a, b = s[-1] * start, s[-1] * stop
    w = half
    at = a
    while at < b:
        rows = [(-1.4, -w * 0.86), (0.2, -w * 1.04), (2.4, -w * 1.06), (4.4, -w * 0.66), (7.0, 0.0), (9.4, w * 0.66),
            (10.4, w * 1.0), (9.0, w * 1.07), (6.6, w * 1.0),
                (4.0, w * 0.55), (1.6, -w * 0.12)]
        k = pitch / 4.6
        local = [(min(max(at + (x - 4.6) * k, 0), s[-1]), y) for x, y in rows]
        g = inked(c, lay(path, s, local), 0.95, 0.6, 120)
        edge = [(at + (x - 4.6) * k, y) for x, y in ((2.6, -w), (4.4, -w * 0.62), (7.0, 0.04 * w), (9.4, w * 0.68),
            (10.2, w))]
        deep = [(at + (x - 4.6) * k, y) for x, y in ((0.2, -w * 0.96), (2.0, -w * 0.5), (4.2, 0.1 * w),
            (6.4, w * 0.62), (8.4, w * 1.02))]
        clip = [(min(max(x, 0), s[-1]), y) for x, y in edge]
        clip2 = [(min(max(x, 0), s[-1]), y) for x, y in deep]
        flick(c, crv(lay(path, s, clip)), crv(lay(path, s, clip2)), 15, 0.75, 0.25, g)
        right = [(min(max(at + (x - 4.6) * k, 0), s[-1]), y) for x, y in ((5.4, w * 0.78), (6.6, w * 1.02),
            (9.2, w * 1.06), (10.4, w), (8.9, w * 0.74))]
        black(c, lay(path, s, right), g)
        inn = [(min(max(x - 4.4, 0), s[-1]), y - 0.8 * w) for x, y in right[:4]]
        flick(c, crv(lay(path, s, right[:4])), crv(lay(path, s, inn)), 9, 1.0, 0.1, g)
        thin(c, lay(path, s, [(min(max(at + (x - 4.6) * k, 0), s[-1]), y) for x,
            y in ((0.2, -w * 0.8), (2.4, -w * 0.4), (4.6, w * 0.1))]), 0.34, g, belly=0.5, start=0.1, end=0)
        at += pitch


def top_end(c: Canvas) -> None:
    """Cut end bound with twine."""
    a, d = np.array([43.4, 117.4]), np.array([-0.243, -0.97])
    m = np.array([d[1], -d[0]])
    body = [a + m * 6.2, a + d * 5 + m * 6.7, a + d * 10.5 + m * 6.3, a + d * 10.5 - m * 6.3, a + d * 5 - m * 6.7,
        a - m * 6.2]
    g = inked(c, np.vstack([crv(body[:3]), crv(body[3:])]), 1.1, 0.65, 120, smooth=False)
    for k in np.linspace(1.4, 9.6, 7):
        q = crv([a + d * k + m * 6.4, a + d * (k + 1.5), a + d * k - m * 6.4])
        thin(c, q, 0.65, g, start=1, end=1)
    e = crv([a + d * 0.6 - m * 6, a + d * 6 - m * 6.6, a + d * 10.4 - m * 6.2])
    flick(c, e, e + m * 4.4, 26, 0.75, 0, g)
    face = inked(c, moved(arc(0, 0, 6.3, 2.3, 0, 360, 40)[:-1], a[0], a[1], -14), 1.0, 0.6, 120, smooth=False)
    for k in (30, 150, 270):
        p = a + moved([(2.9 * np.cos(np.radians(k)), 1.0 * np.sin(np.radians(k)))], 0, 0, -14)[0]
        thin(c, moved(arc(0, 0, 2.3, 0.95, 0, 360, 16), p[0], p[1], -14), 0.4, face, start=1, end=1)
        c.put("black", shapely.Point(p + [0.3, -0.2]).buffer(0.55, quad_segs=3), face)


def fray(c: Canvas) -> None:
    """The other end has come unlaid."""
    locks = ([(27.8, 14), (24.4, 6), (18, 0.6), (11.4, -1.6)], [(28.2, 14), (27.4, 5), (25.4, -4), (20.6, -10.4)],
        [(28.6, 14), (31.2, 5.6), (34.6, -0.6), (41, -4.6)],
             [(28.4, 14), (29.4, 3), (30.6, -6), (29.6, -13)])
    for k, pts in enumerate(locks):
        path = crv(pts, 0.8)
        w = np.interp(np.linspace(0, 1, len(path)), [0, 0.4, 0.75, 1], [5.2, 5.8, 3.4, 0.4])
        g = inked(c, tube(pts, w, 1.0), 0.95, 0.55, 120, fine=[(*pts[-1], 7, 0.4)], smooth=False)
        n = normals(path)
        for o in (-0.3, 0.0, 0.3):
            q = path + n * (w * o)[:, None]
            thin(c, q[2:-3:4], 0.42, g, belly=0.3, start=0.6, end=0)
        side = path + n * (w * 0.5)[:, None] * (1 if n[0, 0] > 0 else -1)
        flick(c, side[2:-4], (path - n * (w * 0.1)[:, None] * (1 if n[0, 0] > 0 else -1))[5:-1], 18, 0.6, 0.1, g)
        del k


def knot(c: Canvas) -> None:
    """Barrel of three turns under the fist: each turn a fat roll, strands closing up where it goes round."""
    for k, y in enumerate((16.4, 24.2, 32.0)):
        o = (0.0, 1.0, -0.2)[k]
        path = crv([(41.2 + o, y + 3.6), (36.6, y + 1.9), (30, y - 0.2), (23.4, y - 2.0), (18.8 - o, y - 2.4)], 0.5)
        path = even(path, 120)
        t = np.linspace(-1, 1, 120)
        width = 8.7 + 0.5 * np.abs(np.sin(np.arcsin(t * 0.98) * 4.6 + 0.6))
        form = inked(c, tube(path[::2], width[::2], 0.7).buffer(-2).buffer(2, quad_segs=14), 1.15, 0.65, 120,
            smooth=False)
        d0, d1 = path[0] - path[4], path[-1] - path[-5]
        path = even(np.vstack([path[0] + d0 / np.hypot(*d0) * 4.6, path, path[-1] + d1 / np.hypot(*d1) * 4.6]),
            120)[::-1]
        n = normals(path)
        for q in np.sin(np.radians((-80, -55, -33, -12, 9, 30, 52, 76))):
            # a strand climbs from the lower edge to the upper one, leaning to the right of the page
            rows = []
            lean = 0.3 * np.sqrt(max(1 - q * q, 0.05))
            for h in np.linspace(-1.05, 1.05, 9):
                a = np.clip(q + lean * (h + 0.25 * np.sin(h * np.pi)), -0.99, 0.99)
                m = int((a + 1) / 2 * 119)
                rows.append(path[m] + n[m] * 4.5 * h)
            e = crv(rows, 0.6)
            thin(c, e[::2], 0.9, form, belly=0.4, start=0.8, end=0.7)
            size = 2.7 * np.sqrt(max(1 - q * q, 0.08))
            flick(c, even(e, 30)[2:], even(e, 30)[:28] + [size, 0.2], 11, 0.62, 0.12, form)
            thin(c, even(e - [size * 0.6, 0.0], 20)[5:14:2], 0.34, form, belly=0.5, start=0.1, end=0)
        low = path - n * 4.7
        flick(c, low[14:112], (path - n * 2.0)[18:116], 44, 1.0, 0.1, form)
        e = path[-1]
        flick(c, arc(*(e + [-4.4, -1.0]), 4.9, 4.9, -80, 60, 16), arc(*(e + [-6.4, -1.0]), 3.0, 3.6, -80, 60, 16), 18,
            0.95, 0, form)


def sleeve(c: Canvas, palm: BaseGeometry) -> None:
    """Rolled cuff of a jersey."""
    u, v = np.array([0.728, -0.686]), np.array([0.686, 0.728])
    o = np.array([89.0, 22.0])

    def at(rows: Sequence[tuple[float, float]]) -> np.ndarray:
        return np.array([o + u * a + v * b for a, b in rows])

    back = inked(c, at([(6, 15.4), (13.6, 15.6), (16.6, 9), (15.4, 3), (17.4, -4), (15.6, -11), (16.8, -16),
        (6, -16.6)]), 1.3, 0.8, 120)
    flick(c, at([(9.4, 14), (10.6, 0), (9.4, -15)]), at([(16.6, 13), (16.6, 0), (16.6, -15)]), 40, 1.1, 0, back)
    g = inked(c, at([(-2.6, 15.8), (2, 17.6), (8, 17), (10.6, 13.6), (11.6, 4), (11.6, -6), (10.4, -14.6),
        (7.4, -17.8), (1.4, -18), (-3, -15.8), (-1.2, -7), (-0.6, 1), (-1.4, 9)]), 1.35, 0.75, 120)
    for k, b in enumerate(np.linspace(14.6, -15.4, 13)):
        bow = 1 - (b / 17) ** 2
        vline(c, [(*at([(-1.9 + bow * 1.2, b * 0.97)])[0], 0.5), (*at([(4.6 + bow * 0.6, b * 1.06)])[0], 0.9),
            (*at([(9.8 + bow * 1.4, b * 0.97)])[0], 0.4)], g)
        if b < 6:
            e = crv(at([(-1.4 + bow * 1.2, b * 0.97), (4.6 + bow * 0.6, b * 1.06), (9.6 + bow * 1.2, b * 0.97)]))
            flick(c, e, e + v * (1.0 + 0.05 * (6 - b)), 10, 0.8, 0, g)
        del k
    inner = crv(at([(-2.4, 15), (-1.3, 8), (-0.7, 0), (-1.2, -8), (-2.8, -15.4)]))
    flick(c, inner + u * 0.4, inner - u * 3.4, 40, 0.8, 0, palm.difference(g))


def finger(c: Canvas, origin: tuple[float, float], turn: float, size: tuple[float, float],
    joints: tuple[float, float], nail: bool, scar: bool = False) -> BaseGeometry:
    """One bent finger seen on its back: middle and end bone, from the knuckle on the left to the tip.

    size = (length, thickness); joints = x of the end joint and of the root of the nail, as shares of the length.
    """
    long, h = size
    r = h / 2
    j, k = joints[0] * long, joints[1] * long

    def at(rows: Sequence[tuple[float, ...]]) -> np.ndarray:
        return moved(rows, *origin, turn)

    ring = [(-1.6, 0.6), (-1.2, r * 0.62), (1.4, r * 0.98), (5, r * 1.06), (j * 0.55, r * 0.93), (j - 2.6, r * 0.97),
        (j + 0.6, r * 1.0), (k, r * 0.84), (long - 4.4, r * 0.74), (long - 1, r * 0.42),
            (long + 0.1, -r * 0.1), (long - 1.2, -r * 0.62), (long - 5, -r * 0.9), (k - 1, -r * 0.96), (j,
                -r * 1.04), (j * 0.55, -r * 0.96), (5, -r * 1.04), (1.2, -r * 0.94), (-1.2, -r * 0.5)]
    g = inked(c, at(ring), 1.25, 0.65, 125)
    # shade from below, round the bone
    low = crv(at([(0.4, -r * 0.96), (5, -r * 1.1), (j * 0.55, -r * 1.02), (j, -r * 1.1), (k, -r * 1.02),
        (long - 4, -r * 0.94)]))
    flick(c, low, crv(at([(2.8, -r * 0.06), (6, -r * 0.26), (j * 0.55 + 1, -r * 0.12), (j + 0.6, -r * 0.3),
        (k + 0.6, -r * 0.3), (long - 3.4, -r * 0.2)])), int(long * 0.95), 1.0, 0.1, g, solid=0.22)
    flick(c, crv(at([(-1.7, 1.4), (-2.0, -r * 0.3), (0.6, -r * 0.98)])),
        crv(at([(2.4, 1.0), (2.6, -r * 0.2), (3.8, -r * 0.6)])), 12, 0.7, 0, g)
    # knuckle: oval folds
    for dx, a, b, w in ((1.6, 0.55, -0.2, 0.45), (3.2, 0.74, -0.34, 0.6), (5.0, 0.6, -0.3, 0.45)):
        bend = 0.8 if dx < 4 else -0.7
        vline(c, at([(dx, r * a, 0.15), (dx - bend, r * (a + b) / 2, w), (dx + 0.1, r * b, 0.15)]), g)
    # end joint: cross folds
    for dx, a, b, w in ((-1.7, 0.66, -0.3, 0.4), (0.0, 0.86, -0.1, 0.65), (1.6, 0.62, -0.26, 0.4)):
        vline(c, at([(j + dx, r * a, 0.15), (j + dx + 0.5 * (1 if dx >= 0 else -1), r * (a + b) / 2, w),
            (j + dx, r * b, 0.15)]), g)
    # tendon line on the middle bone, fine skin lines
    thin(c, at([(7.4, r * 0.3), (j * 0.55, r * 0.22), (j - 3.4, r * 0.3)]), 0.34, g, belly=0.5, start=0.1, end=0.1)
    thin(c, at([(8.6, r * 0.62), (j * 0.6, r * 0.56)]), 0.28, g, belly=0.5, start=0.1, end=0.1)
    if nail:
        e = long - 1.6
        plate = [(k + 0.6, r * 0.02), (k + 1.0, r * 0.44), (k + 2.6, r * 0.58), (e - 1.6, r * 0.5), (e, r * 0.2),
            (e + 0.3, -r * 0.12), (e - 0.4, -r * 0.42), (e - 2.4, -r * 0.6), (k + 2.4, -r * 0.6), (k + 0.9, -r * 0.4)]
        p = inked(c, at(plate), 0.75, 0.5, 125, silhouette=False)
        flick(c, crv(at([(k + 0.8, r * 0.36), (k + 0.5, 0), (k + 0.9, -r * 0.4), (k + 2.4, -r * 0.58),
            (e - 2.4, -r * 0.56)])),
              crv(at([(k + 3.0, r * 0.3), (k + 3.0, 0), (k + 3.2, -r * 0.2), (k + 3.8, -r * 0.24),
                  (e - 2.6, -r * 0.24)])), 20, 0.5, 0, p)
        thin(c, at([(e - 1.2, r * 0.42), (e - 0.7, 0), (e - 1.4, -r * 0.46)]), 0.35, p, start=0.8, end=0.8)
        vline(c, at([(k - 0.3, r * 0.4, 0.15), (k - 0.6, 0, 0.5), (k, -r * 0.46, 0.15)]), g)
    if scar:
        vline(c, at([(j * 0.42, r * 0.66, 0.2), (j * 0.56, r * 0.1, 0.6), (j * 0.66, -r * 0.34, 0.2)]), g)
        for q in (0.44, 0.22, 0.0):
            x = j * (0.60 - q * 0.26)
            thin(c, at([(x - 0.9, r * q - 0.3), (x + 0.9, r * q + 0.3)]), 0.35, g, start=1, end=0.5)
    return g


def fingers(c: Canvas, palm: BaseGeometry) -> None:
    # hollow of the fist: black where the fingertips go into the palm
    black(c, [(24, 44), (40, 43), (49, 47), (53, 56), (54, 66), (54, 78), (44, 84), (26, 84)], None)
    finger(c, (17.6, 46.6), 4.5, (28.6, 10.2), (0.55, 0.72), True)
    finger(c, (13.2, 57.4), 0.5, (35.6, 12.2), (0.56, 0.73), True, scar=True)
    finger(c, (12.2, 69.4), -4.5, (38.0, 12.8), (0.55, 0.73), True)
    finger(c, (15.4, 82.0), -9.0, (34.0, 12.2), (0.56, 0.74), True)


def thumb(c: Canvas) -> None:
    """Ball of the thumb and the thumb laid over the first finger."""
    edge = crv([(25.6, 76), (27.4, 73.6), (31, 71), (37, 70.4), (43, 71.8), (48.6, 72.6)])
    flick(c, edge, edge + [-1.6, -3.4], 34, 1.0, 0.1, None, fade=0.5, solid=0.35)
    ball = [(55.6, 40.4), (50.6, 46), (48.2, 53), (48.6, 61), (50.6, 67.6), (50.4, 71.6), (47.4, 73.6), (42, 72.6),
        (36, 71.2), (30.4, 71.4), (26.4, 74), (26, 78.2), (28.8, 81.6), (34, 84), (39, 85.4), (43, 87.8),
        (47, 89.4), (51.6, 88.8), (57, 88.8), (63, 89.8), (68.4, 87.2), (72.4, 81.2),
        (72.8, 74.6), (72.2, 68), (73.4, 61), (76.8, 52.6), (76.8, 52.6), (70, 50), (63, 43.6), (58.6, 40)]
    g = inked(c, ball, 1.4, 0.75, 125)
    # the ball flows into the wrist: open the outline there
    c.erase(tube([(60.2, 41.4), (63, 43.6), (70, 50), (75.2, 52.4)], 2.4))
    vline(c, [(54.8, 41.4, 1.3), (57.4, 40, 0.9), (60.4, 40.8, 0.4), (63.4, 43.4, 0.12)], None)
    vline(c, [(74.6, 57.4, 0.9), (76.9, 52.5, 1.1), (80, 48.4, 1.0)], None)
    # shade: ball of the thumb rolls under on the left and below
    flick(c, crv([(55.2, 41.2), (50.8, 46.4), (48.4, 53), (48.8, 61), (50.8, 67.4)]),
        crv([(64, 47.6), (60, 51.6), (58, 56.4), (57.4, 61), (58, 65.4)]), 38, 1.15, -0.1, g, solid=0.3)
    flick(c, crv([(72.9, 77), (72.8, 73), (72.4, 67), (73.6, 61), (75.8, 55.2)]),
        crv([(66, 75), (65.6, 70), (65.8, 64.4), (66.6, 58.4), (68.4, 52.4)]), 34, 1.05, 0.1, g, solid=0.3)
    flick(c, crv([(49.8, 72.2), (47.2, 73.2), (42, 72.4), (36, 71), (30.4, 71.4), (27, 73.8)]),
        crv([(51.4, 76.4), (48, 77.6), (42, 76.6), (36.6, 75.4), (32.4, 75.2),
        (29.6, 76)]), 34, 1.0, -0.08, g, solid=0.25)
    # folds: web, end joint, base joint, life line
    vline(c, [(50.6, 71.4, 1.2), (53.6, 73.8, 0.8), (57.6, 74.4, 0.5), (61, 73.2, 0.12)], g)
    vline(c, [(51.8, 68.6, 0.9), (55, 70.2, 0.6), (58.6, 69.8, 0.12)], g)
    for x, y, w in ((43.4, 86.4, 0.45), (45.6, 87.6, 0.7), (48.0, 87.8, 0.45)):
        vline(c, [(x, y, 0.15), (x - 0.3, y - 3.2, w), (x + 0.7, y - 6.4, 0.15)], g)
    for x, y, w in ((45.2, 75.2, 0.5), (47.2, 75.6, 0.35)):
        vline(c, [(x, y - 1.6, 0.5), (x + 0.3, y + 0.6, w), (x + 1.0, y + 2.0, 0.12)], g)
    for k, (x, y) in enumerate(((63.8, 88.0), (66.6, 86.4), (69, 83.8))):
        vline(c, [(x, y, 0.15), (x - 1.8, y - 2.4, (0.45, 0.65, 0.45)[k]), (x - 2.6, y - 5.2, 0.15)], g)
    thin(c, [(52, 86.6), (56.6, 87), (61, 85.4)], 0.36, g, belly=0.5, start=0.1, end=0.1)
    thin(c, [(51.4, 84), (55.6, 83.4), (59.4, 81)], 0.36, g, belly=0.5, start=0.1, end=0.1)
    thin(c, [(57.6, 52.4), (60.6, 57.4), (61.4, 63)], 0.36, g, belly=0.5, start=0.1, end=0.1)
    thin(c, [(61.4, 50.6), (64.4, 55.4), (65.4, 60)], 0.36, g, belly=0.5, start=0.1, end=0.1)
    stipple(c, Polygon([(57, 60), (66, 58), (68, 70), (60, 76), (56, 68)]), lambda x, y: 0.4, 0.4, 130, 2.8)
    # nail
    plate = [(37.4, 79.6), (37.0, 82.0), (34.6, 82.4), (31, 81), (28.2, 79.0), (27.4, 77.2), (28.4, 75.6),
        (31.4, 75.2), (34.6, 75.6), (36.8, 77.2)]
    p = inked(c, plate, 0.85, 0.55, 125, silhouette=False)
    flick(c, crv([(37, 81.8), (37.4, 79.4), (36.6, 77.2), (34.4, 75.8), (31, 75.4)]),
        crv([(33.6, 80.4), (33.6, 79), (33.4, 77.8), (32.4, 77), (30.4, 76.6)]), 22, 0.55, 0, p)
    thin(c, [(29.6, 79.4), (28.8, 77.6), (29.6, 75.8)], 0.4, p, start=0.8, end=0.8)
    vline(c, [(38.4, 82.2, 0.15), (38.8, 79.6, 0.6), (37.8, 76.6, 0.15)], g)


if __name__ == "__main__":
    draw()
