"""Open oyster with its pearl: two valves on one hinge, broken leaves of shell, flesh and nacre."""

# ruff: noqa: RUF005 - points are numpy arrays, so "p + [x, y]" is a sum
from __future__ import annotations

import numpy as np
import shapely
from canvas import Canvas
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from tools_c import (
    arc,
    black,
    crv,
    even,
    flakes,
    flick,
    frill,
    inked,
    moved,
    rescale,
    shares,
    stipple,
    thin,
    tidy,
    vline,
)

HINGE = (6.0, -28.0)


def cup_at(points: list[tuple[float, ...]]) -> np.ndarray:
    """Left valve: x along the axis from the hinge, y across (left of the axis)."""
    return moved(points, *HINGE, 130)


def lid_at(points: list[tuple[float, ...]]) -> np.ndarray:
    return moved(points, HINGE[0] + 1.0, HINGE[1] + 1.0, 74)


CUP = [(-2, 0.6), (2, 5.4), (9, 11.2), (18, 16.4), (29, 19.6), (40, 19.4), (49, 15), (54.6, 7), (55.4, -2),
    (51.6, -11), (44, -17.4),
       (34, -19), (24, -17.2), (16, -12.2), (10, -7.6), (4, -4.4)]
LID = [(-2, 0), (5, 7.6), (16, 14), (28, 16.6), (40, 16), (50, 11.4), (56, 3.4), (56.4, -5), (51, -12.4), (41, -17),
    (29, -17.6), (17, -13.6), (8, -7.6), (2, -3.8)]


def draw() -> None:
    c = Canvas(5)
    lid(c)
    leaves(c)
    cup(c)
    hinge(c)
    rescale(c, 0.8)
    tidy(c)
    c.save("oyster", {
        "title": "Open oyster with pearl", "min_mm": 60, "max_mm": 110, "facing": "none", "upright_deg": 0,
        "symmetric": False, "focal": False, "keep_whole": True,
        "tags": ["oyster", "shell", "pearl", "estuary", "sea"], "licence": "CC0-1.0",
        "about": "An oyster from the old beds in the creek behind the lighthouse, opened to a single pearl."})


def grown(ring: np.ndarray, mid: tuple[float, float], share: float) -> np.ndarray:
    m = np.array([mid])
    return m + (ring - m) * share


def stepped(ring: np.ndarray, mid: tuple[float, float], share: float, shift: np.ndarray) -> np.ndarray:
    """A leaf of shell set off from the rim; all leaves come together at the hinge."""
    far = np.hypot(*(ring - np.array(HINGE)).T)
    k = (np.clip(far / 34, 0, 1) ** 0.7)[:, None]
    return ring + (grown(ring, mid, share) - ring + shift) * k


def hinge(c: Canvas) -> None:
    """Dark ligament between the two beaks."""
    h = np.array(HINGE)
    g = inked(c, h + np.array([(-3.6, -0.8), (-1.0, 1.4), (1.6, 4.4), (2.6, 2.2), (5.4, 0.4), (3.6, -1.4),
        (2.6, -3.6), (0.6, -2.6), (-1.8, -3.0)]), 1.0, 0.6, 120)
    c.put("black", g.difference(Polygon(crv(h + np.array([(-2.6, -1.0), (-0.6, 0.8), (1.4, 2.6), (1.8, 1.2),
        (3.2, 0.2), (1.6, -0.6), (0, -1.4)]), 0.4, True))))
    for a, b in (((-1.6, -1.6), (-0.4, 0.4)), ((0.2, -2.0), (0.8, 1.6)), ((2.0, -1.6), (1.8, 1.0))):
        thin(c, h + np.array([a, ((a[0] + b[0]) / 2 - 0.3, (a[1] + b[1]) / 2), b]), 0.5, g, start=1, end=0.2)


def lid(c: Canvas) -> None:
    """Upper valve behind, seen from inside; its right edge shows the broken leaves."""
    path = crv(lid_at([*LID, LID[0]]), 0.6)
    mid = tuple(lid_at([(20, 0)])[0])
    shift = np.array([0.75, -0.42])
    last, prev = path, Polygon()
    for k, (d, parts, outs, w) in enumerate((
            (7.4, [5, 7, 4, 8, 5, 9, 4, 6, 8, 5], [-1.2, -2.6, -0.9, -1.9, -3.0, -1.3, -2.2], 1.25),
            (4.8, [6, 4, 8, 5, 9, 4, 7, 5, 8], [-1.0, -2.4, -1.6, -0.7, -2.2, -1.2], 0.85),
            (2.2, [4, 8, 5, 6, 9, 5, 8, 4, 6], [-1.8, -0.8, -1.4, -2.0, -0.8], 0.8),
            (0.0, [7, 5, 9, 4, 8, 6, 5, 9], [-0.7, -1.4, -0.5, -1.1, -1.7], 0.85))):
        edge = flakes(stepped(path, mid, 1.0 + 0.012 * d, shift * d), parts, [-o for o in outs])
        g = inked(c, Polygon(edge).buffer(0), w, w * 0.6, 120, smooth=False)
        if k:
            shade = even(edge, 150)
            flick(c, shade[62:140], even(last, 150)[64:142], 60, 0.6, 0.0, prev.difference(g))
        last, prev = edge, g
    inner = grown(path, mid, 0.86)
    bowl = Polygon(inner).buffer(0)
    vline(c, np.column_stack([even(inner, 40), np.interp(np.linspace(0, 1, 40), [0, 0.25, 0.5, 0.8, 1],
        [0.8, 0.9, 0.35, 0.35, 0.8])]), g)
    rim = even(path, 200)
    flick(c, even(inner, 200)[10:190], rim[10:190] * 0.62 + even(inner, 200)[10:190] * 0.38, 118, 0.42, 0, g)
    # shadow thrown by the cup and the depth at the hinge
    fold = crv(lid_at([(4, -7), (9, -3.4), (18, 3.4), (29, 9.4), (40, 12.4), (50, 12)]), 0.6)
    out = crv(lid_at([(0, 4), (8, 12), (18, 17), (30, 18), (42, 17), (50, 13)]), 0.6)
    black(c, np.vstack([fold, out[::-1]]), bowl, smooth=False)
    flick(c, fold, crv(lid_at([(16, -10), (24, -8), (33, -2.6), (40, 4), (47, 8.4), (52.4, 10)]), 0.6), 50, 1.15,
        -0.12, bowl, solid=0.12)
    for s, a, b in ((0.76, 96, 150), (0.7, 108, 134), (0.64, 120, 156), (0.8, 86, 112)):
        thin(c, even(grown(path, mid, s), 200)[a:b:6], 0.4, bowl, belly=0.5, start=0.1, end=0.05)
    # scar of the muscle: a dark kidney with a glint, its edge whipped away along the growth lines
    scar = crv(lid_at([(30.6, -3.4), (33.4, -1.0), (37.4, -1.2), (40.8, -4.0), (41.6, -8.0), (39.4, -11.4),
        (36.4, -11.0), (35.6, -8.4), (33.6, -7.4), (31.0, -6.8)]), 0.4, True)
    sp = Polygon(scar)
    c.erase(sp.buffer(0.55))
    glint = Polygon(crv(lid_at([(33.2, -2.6), (36.8, -2.8), (39.2, -5.0), (37.2, -4.2), (35, -3.6)]), 0.4, True))
    c.put("black", sp.difference(glint))
    ring = even(np.vstack([scar, scar[:1]]), 120)
    for a, b, d in ((0, 40, (-2.6, 1.6)), (70, 112, (-2.8, 0.8))):
        flick(c, ring[a:b], ring[a:b] + list(d), 20, 0.6, 0.1, bowl, fade=0.6)


def leaves(c: Canvas) -> None:
    """Outside of the cup: leaves of shell in layers, stepping down to the left."""
    path = crv(cup_at([*CUP, CUP[0]]), 0.6)
    mid = tuple(cup_at([(22, 0)])[0])
    shift = np.array([-0.46, -0.9])
    table = ((13.0, [4, 8, 5, 9, 4, 7, 10, 5, 8, 6, 9], [0.9, 2.6, 1.2, 3.0, 0.8, 2.0, 1.4], 1.35),
             (9.6, [6, 5, 9, 4, 8, 10, 5, 7, 6, 9], [1.6, 0.8, 2.4, 1.0, 2.8, 1.4], 0.95),
             (6.4, [4, 9, 5, 7, 10, 4, 8, 6, 9], [1.0, 2.2, 0.8, 1.8, 2.6, 0.9], 0.9),
             (3.2, [7, 4, 9, 6, 5, 10, 4, 8], [0.8, 1.6, 2.2, 0.7, 1.8], 0.9))
    last, prev = path, Polygon()
    for d, parts, outs, w in table:
        base = stepped(path, mid, 1.0 - 0.004 * d, shift * d)
        edge = flakes(base, parts, outs)
        g = inked(c, Polygon(edge).buffer(0), w, w * 0.6, 120, smooth=False)
        if not prev.is_empty:
            a, b = even(edge, 200), even(last, 200)
            flick(c, a[4:120], b[6:122], 104, 0.62, 0.03, prev.difference(g))
        # ribs run from the steps back to the rim
        at = shares(parts)[1:-1]
        e = even(base, 500)
        for i, s in enumerate(at):
            p = e[int(s * 499)]
            q = p - shift * (3.4, 2.2, 4.4)[i % 3]
            thin(c, [p, (p + q) / 2 + [0.2, -0.1], q], 0.5, g, belly=0.05, start=1, end=0)
        last, prev = edge, g
    # last shadow under the rim
    a, b = even(path, 200), even(last, 200)
    flick(c, a[4:112], b[6:114], 104, 0.7, 0.03, prev)


def cup(c: Canvas) -> None:
    path = crv(cup_at([*CUP, CUP[0]]), 0.6)
    mid = tuple(cup_at([(27, 0)])[0])
    edge = flakes(path, [6, 9, 5, 8, 10, 6, 9, 5, 8, 7, 9], [0.5, 1.2, 0.7, 1.6, 0.6, 1.3])
    g = inked(c, Polygon(edge).buffer(0), 1.15, 0.65, 120, smooth=False)
    lip = grown(path, mid, 0.87)
    bowl = Polygon(lip).buffer(0)
    vline(c, np.column_stack([even(np.vstack([lip, lip[:1]]), 50), np.interp(np.linspace(0, 1, 50), [0, 0.3, 0.6, 1],
        [0.5, 0.8, 0.45, 0.5])]), g)
    ring = even(grown(path, mid, 0.935), 200)
    for a, b in ((14, 46), (54, 84), (96, 118), (128, 160), (170, 186)):
        thin(c, ring[a:b:5], 0.36, g, belly=0.5, start=0.1, end=0.1)
    # the wall towards the light lies in shadow
    far, near = even(lip, 200), even(grown(path, mid, 0.74), 200)
    deep = np.interp(np.arange(200), [8, 40, 78, 118, 150], [0, 0.55, 1.0, 0.5, 0])[:, None]
    black(c, np.vstack([far[8:150], (far + (near - far) * deep)[8:150][::-1]]), bowl, smooth=False)
    tip = even(grown(path, mid, 0.55), 200)
    flick(c, (far + (near - far) * deep * 0.9)[14:144], (far + (tip - far) * (0.25 + 0.75 * deep))[12:142], 92, 0.8,
        0.06, bowl, solid=0.12)
    flick(c, far[150:196], even(grown(path, mid, 0.75), 200)[148:194], 44, 0.45, -0.05, bowl)
    flesh(c, bowl)


def flesh(c: Canvas, bowl: BaseGeometry) -> None:
    """Frilled mantle with gill pleats that follow the axis; the pearl lies on it."""
    outer = crv(cup_at([(6, 1.4), (12, 5.8), (20, 9.6), (30, 11.6), (39, 9.4), (43.6, 2.6), (42.4, -5), (36.4, -10.8),
        (28, -11.6), (19, -8.8), (11, -4.4)]), 0.5, True)
    ring = np.vstack([outer, outer[:1]])
    f = frill(ring, shares([3, 5, 3.6, 5.6, 3, 4.4, 6, 3.4, 5, 4, 3, 5.4, 3.6, 4.6]), [0.9, 1.7, 1.1, 1.5, 0.8], 0.1)
    g = inked(c, Polygon(f).buffer(0).intersection(bowl), 0.95, 0.55, 120, smooth=False)
    inner = crv(cup_at([(11, 1.2), (18, 4.8), (27, 7.2), (35, 6.0), (38.4, 1.0), (36.6, -4.4), (30, -7.4), (21, -5.2),
        (14, -2.2)]), 0.5, True)
    ring2 = np.vstack([inner, inner[:1]])
    f2 = frill(ring2, shares([4, 3, 5, 3.4, 4.6, 3, 5, 3.6, 4.4, 3]), [0.7, 1.2, 0.9], 0.1)
    flick(c, even(f2, 120), even(f, 120), 84, 0.42, 0.0, g)
    h = inked(c, Polygon(f2).buffer(0), 0.75, 0.45, 120, smooth=False, silhouette=False)
    for b in (-3.2, -1.2, 1.0, 3.2):
        thin(c, cup_at([(13 + abs(b) * 0.9, b * 0.5 + 0.2), (18, b * 0.95), (23, b * 1.1), (27, b * 1.05)]), 0.42, h,
            belly=0.3, start=0.2, end=0)
    p = cup_at([(31.4, 0.6)])[0]
    sh = p + [2.4, -2.6]
    black(c, shapely.Point(sh).buffer(6.0), h)
    flick(c, arc(*sh, 5.6, 5.6, -130, 40, 30), arc(*(sh + [1.4, -1.6]), 8.8, 8.8, -130, 40, 30), 30, 0.7, 0.05,
        g.difference(h).union(h))
    r = 6.0
    ball = inked(c, shapely.Point(p).buffer(r, quad_segs=14), 1.05, 0.55, 120, smooth=False, silhouette=False)
    moon = ball.difference(shapely.Point(p + [-1.6, 1.8]).buffer(r - 0.2,
        quad_segs=14)).intersection(shapely.Point(p).buffer(r - 0.85))
    c.put("black", moon)
    flick(c, arc(*(p + [-1.6, 1.8]), r - 0.2, r - 0.2, -86, -4, 26), arc(*(p + [-1.3, 1.4]), 2.6, 2.6, -86, -4, 26),
        24, 0.55, 0.1, ball)
    stipple(c, ball.buffer(-0.8), lambda x, y: np.clip(((x - p[0]) - (y - p[1])) / 8 + 0.2, 0, 0.9), 0.34, 240, 2.2)
    thin(c, arc(*p, r - 1.5, r - 1.5, 100, 165, 12), 0.55, ball, belly=0.5, start=0.1, end=0.1)


if __name__ == "__main__":
    draw()
