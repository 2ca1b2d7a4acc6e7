"""Lighthouse on its rock, a sea breaking over the foot of it."""

# ruff: noqa: RUF005 (an array plus a pair is a sum here, not a list made longer)

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import shapely
import shapely.affinity
from canvas import ellipse, shape
from tools_a import Arm, Table, arc_length, profile, ribbon

from composer.art.brush import spline, stroke, swell

HALF = profile([(0, 22), (0.06, 18.6), (0.16, 15.4), (0.34, 12.8), (0.66, 10.7), (1, 9.4)])
FOOT, TOP = 18.0, 114.0


def half(y: float) -> float:
    return float(HALF(np.array((y - FOOT) / (TOP - FOOT))))


def bow(y: float) -> float:
    """How far a level ring bows up in the middle: more, the higher above the eye."""
    return 0.6 + 3.2 * (y - FOOT) / (TOP - FOOT)


def ring_at(y: float, a: float = -1.0, b: float = 1.0, n: int = 24, w: float | None = None,
        up: float | None = None) -> np.ndarray:
    """Visible half of a level ring between shares a and b of the half width."""
    w = half(y) if w is None else w
    up = bow(y) if up is None else up
    t = np.linspace(a, b, n)
    return np.column_stack([t * w, y + up * np.sqrt(np.clip(1 - t**2, 0, 1))])


def tower(cv: Table) -> None:
    ys = np.linspace(FOOT, TOP, 60)
    side = np.array([[half(y), y] for y in ys])
    ring = np.vstack([side * (-1, 1), ring_at(TOP)[1:-1], side[::-1]])
    g = cv.form(ring, 1.35, 0.75, smooth=False)
    # white bands: courses of stone, staggered joints, black whipped round from the right
    bands = ((43, 59), (74, 89), (101, 112.5))
    level, k = 20.5, 0
    while level < TOP - 2:
        if not any(a - 0.5 < level < b + 0.5 for a, b in bands):
            cv.line(ring_at(level, -0.97, 0.2 + 0.3 * (k % 2), 12), 0.42, 0.4, 0.15, 0.0, g)
            for j, u in enumerate(np.arange(-0.8 + 0.22 * (k % 2), 0.5, 0.44)):
                if (j + k) % 4 != 3:
                    p = ring_at(level, u, u + 0.01, 2)[0]
                    cv.line([p, p + (-0.02 * p[0], 3.6)], 0.38, 0.3, 0.8, 0.1, g)
        level += 3.9
        k += 1
    right = np.array([[half(y) * 1.0, y] for y in np.linspace(FOOT + 1, TOP, 130)])
    w = np.array([half(y) for y in np.linspace(FOOT + 1, TOP, 6)])
    cv.shade(right, [(t, v * 0.92) for t, v in zip(np.linspace(0, 1, 6), w, strict=True)], [(0, -4), (1, -22)], 1,
        0.95, 1.75, -0.06, inside=g, dots=3, smooth=False)
    # black bands: solid, broken towards the light by flicks that run round the tower
    for a, b in bands:
        lo, hi = ring_at(a, -0.62, 1.0), ring_at(b, -0.62, 1.0)
        cv.put("black", shape(np.vstack([lo, hi[::-1]]), smooth=False), g)
        for j, y in enumerate(np.arange(a, b, 0.85)):
            q = ring_at(y, -0.6, -0.62 - (0.3, 0.12, 0.22, 0.06, 0.26, 0.16)[j % 6], 8)
            cv.put("black", stroke(spline(q), 1.4, lambda u: (1 - u) ** 0.8, 0.1), g)
        for y in (a, b):
            cv.line(ring_at(y, -1, 1), 0.7, 0.5, 0.6, 0.8, g)
        # glint: courses left open on the lit side of the band
        for j, y in enumerate(np.arange(a + 3.6, b - 1, 3.9)):
            s = stroke(spline(ring_at(y, -0.66, -0.1 - 0.12 * (j % 2), 8)), 0.5, swell(0.1, 1.0, 0.1))
            cv.ink["black"] = [d for p in cv.ink["black"] if not (d := p.difference(s)).is_empty]
    for x, y, k in ((-3.4, 65.2, 1.0), (1.2, 93.6, 0.88)):
        window(cv, x, y, k)
    door(cv, g)


def window(cv: Table, x: float, y: float, k: float) -> None:
    hood = [(x - 2.9 * k, y - 3.8 * k), (x - 2.9 * k, y + 1.2 * k), (x - 2 * k, y + 3.8 * k), (x, y + 5 * k),
        (x + 2 * k, y + 3.8 * k), (x + 2.9 * k, y + 1.2 * k), (x + 2.9 * k, y - 3.8 * k)]
    sill = [(x - 3.7 * k, y - 3.6 * k), (x + 3.7 * k, y - 3.8 * k), (x + 3.5 * k, y - 5.2 * k),
        (x - 3.5 * k, y - 5 * k)]
    g = cv.form(spline(hood), 0.8, 0.6, smooth=False)
    pane = shape([(x - 1.6 * k, y - 3.4 * k), (x - 1.6 * k, y - 3.4 * k), (x - 1.6 * k, y + 1.2 * k),
        (x, y + 3.4 * k), (x + 1.9 * k, y + 1.2 * k), (x + 1.9 * k, y - 3.4 * k), (x + 1.9 * k, y - 3.4 * k)])
    bars = shapely.union_all([stroke(np.array([[x + 0.1 * k, y - 4 * k], [x + 0.1 * k, y + 4 * k]]), 0.42),
        stroke(np.array([[x - 2 * k, y + 0.2 * k], [x + 2 * k, y + 0.3 * k]]), 0.42)])
    cv.put("black", pane.difference(bars), g)
    cv.form(np.array(sill), 0.75, 0.6, smooth=False)


def door(cv: Table, g: Any) -> None:
    x, y = 2.4, 27.6
    arch = [(x - 4, y - 7), (x - 4, y + 3), (x - 2.6, y + 6), (x, y + 7.3), (x + 2.6, y + 6), (x + 4, y + 3),
        (x + 4, y - 7)]
    f = cv.form(spline(arch), 0.9, 0.7, smooth=False)
    inner = spline([(x - 2.6, y - 7), (x - 2.6, y + 2.8), (x - 1.6, y + 4.9), (x, y + 5.8), (x + 1.6, y + 4.9),
        (x + 2.6, y + 2.8), (x + 2.6, y - 7)])
    boards = shapely.union_all([stroke(np.array([[x + d, y - 7], [x + d, y + 5.5]]), 0.36) for d in (-1.0, 0.7)])
    cv.put("black", shape(inner, smooth=False).difference(boards), f)
    for a in (20, 55, 90, 125, 160):
        c = np.array([np.cos(np.radians(a)), np.sin(np.radians(a))])
        cv.line([(x, y + 3) + c * 2.8, (x, y + 3) + c * 4.2], 0.4, 0.5, 0.8, 0.8, f)


def gallery(cv: Table) -> None:
    y = TOP
    # corbels under the deck
    neck = cv.form(np.vstack([ring_at(y - 1, w=9.4), ring_at(y + 6, w=14.2, up=4.4)[::-1]]), 1.1, 0.7, smooth=False)
    cv.put("black", neck)
    for u in np.linspace(-0.92, 0.92, 9):
        u = float(np.sin(u * np.pi / 2))
        a, b = ring_at(y - 0.4, u, u + 0.01, 2, 9.4)[0], ring_at(y + 6, u, u + 0.01, 2, 14.2, 4.4)[0]
        wd = 1.9 * np.sqrt(1 - u * u * 0.85)
        br = cv.form(ribbon([a, (a * 0.5 + b * 0.5) + (-0.12 * (b - a)[0], -0.4), b],
            [(0, wd * 0.3), (0.6, wd * 0.5), (1, wd * 0.7)]), 0.6, 0.45, smooth=False)
        if u > 0.1:
            cv.put("black", br.intersection(shapely.affinity.translate(br, wd * 0.55, 0)))
    deck = np.vstack([ring_at(y + 6, w=15.4, up=4.6), ring_at(y + 8.6, w=15.4, up=4.6)[::-1]])
    lantern(cv)
    d = cv.form(deck, 1.1, 0.7, smooth=False)
    cv.shade(ring_at(y + 6, 0.0, 1.0, 30, 15.4, 4.6), 2.2, 0, 1, 0.8, 1.2, inside=d, dots=0, smooth=False)
    # rail in front of the lantern: posts, two rails, open between
    rail_y = y + 15.4
    posts = []
    for u in np.sin(np.linspace(-0.97, 0.97, 10) * np.pi / 2):
        a, b = ring_at(y + 8.6, u, u + 0.01, 2, 15.0, 4.6)[0], ring_at(rail_y, u, u + 0.01, 2, 15.4, 5.0)[0]
        posts.append(stroke(np.array([a, b]), 0.8))
        posts.append(shapely.Point(b + (0, 0.9)).buffer(0.75, quad_segs=4))
    rails = [stroke(ring_at(rail_y, -1, 1, 40, 15.4, 5.0), 0.95), stroke(ring_at(y + 12.0, -1, 1, 40, 15.2, 4.8), 0.6)]
    iron = shapely.union_all(posts + rails)
    halo = iron.buffer(0.55)
    for role in ("black", "line"):
        cv.ink[role] = [q for p in cv.ink[role] if not (q := p.difference(halo.difference(d))).is_empty]
    cv.forms.append(shape(np.vstack([ring_at(y + 8, w=15.6, up=4.6), ring_at(rail_y + 0.6, w=15.8, up=5.0)[::-1]]),
        smooth=False))
    cv.put("line", iron)


def lantern(cv: Table) -> None:
    y = TOP + 8
    w = 8.6
    body = cv.form(np.vstack([ring_at(y, w=w, up=3.4), ring_at(y + 29.5, w=w * 0.96, up=3.9)[::-1]]), 1.2, 0.8,
        smooth=False)
    wall = np.vstack([ring_at(y + 0.4, -1, 0.98, 24, w, 3.4), ring_at(y + 5.0, -1, 0.98, 24, w, 3.6)[::-1]])
    cv.put("black", shape(wall, smooth=False), body)
    # panes: black night behind, the lens and its rays left open
    glass = np.vstack([ring_at(y + 5.5, -0.92, 0.92, 24, w, 3.6), ring_at(y + 28, -0.92, 0.92, 24, w, 3.8)[::-1]])
    pane = shape(glass, smooth=False)
    c = np.array([0.0, y + 21.4])
    lens = shape(ellipse(c[0], c[1], 3.4, 5.0), smooth=False)
    rays = [shape(np.array([c, c + 16 * np.array([np.cos(a - k), np.sin(a - k)]),
        c + 16 * np.array([np.cos(a + k), np.sin(a + k)])]), smooth=False)
            for a, k in ((np.pi / 2, 0.12), (np.pi / 2 - 0.62, 0.1), (np.pi / 2 + 0.62, 0.1), (0.16, 0.09),
                    (np.pi - 0.16, 0.09), (-0.5, 0.09), (np.pi + 0.5, 0.09), (-1.1, 0.1), (np.pi + 1.1, 0.1))]
    cv.put("black", pane.difference(shapely.union_all([lens.buffer(0.8), *rays])), body)
    bars = [stroke(np.array([ring_at(y + 5.5, u, u + 0.01, 2, w, 3.6)[0],
        ring_at(y + 28, u, u + 0.01, 2, w, 3.8)[0]]), 1.0) for u in (-0.95, -0.56, 0.56, 0.95)]
    bars += [stroke(ring_at(y + h, -1, 1, 24, w, 3.7), 0.95) for h in (5.2, 28.2)]
    cv.put("line", shapely.union_all(bars).difference(lens.buffer(0.5)), body)
    cv.outline(ellipse(c[0], c[1], 3.4, 5.0), 0.8, 0.6)
    for k in (-3.1, -1.6, 0, 1.6, 3.1):
        r = 3.2 * np.sqrt(1 - (k / 5.0) ** 2)
        cv.line([c + (-r, k), c + (0, k + 0.5), c + (r, k)], 0.4, 0.5, 0.6, 0.6, lens)
    cv.put("black", shape(ellipse(c[0], c[1], 0.7, 1.1), smooth=False))
    # cupola with ribs, black to the right, ball and vane
    e = y + 29.0
    roof = spline([(-11, e + 0.4), (-9.4, e + 4.4), (-6.4, e + 8.2), (-2.6, e + 11), (-1.5, e + 13.4),
        (1.5, e + 13.4), (2.6, e + 11), (6.4, e + 8.2), (9.4, e + 4.4), (11, e + 0.4)])
    eave = ring_at(e + 0.4, -1, 1, 24, 11, 3.6)
    r = cv.form(np.vstack([roof, eave[::-1]]), 1.2, 0.75, smooth=False)
    for u in (-0.78, -0.4, 0.05, 0.5, 0.82):
        a = ring_at(e + 0.4, u, u + 0.01, 2, 11, 3.6)[0]
        cv.line([a, (a[0] * 0.72, e + 6.6 + 0.8 * (1 - abs(u))), (u * 1.2, e + 12)], 0.6, 0.2, 0.9, 0.4, r)
    cv.put("black", shape(np.vstack([ring_at(e + 0.4, 0.5, 1, 12, 11, 3.6),
        [(9.4, e + 4.4), (6.4, e + 8.2), (2.6, e + 11), (1.5, e + 13.4), (0.6, e + 12), (3.4, e + 7.6)]]),
        smooth=False), r)
    cv.shade([(0.6, e + 12), (3.6, e + 7.4), (5.2, e + 3.4)], 4.4, 20, -1, 0.8, 1.3, inside=r, dots=0)
    band = cv.form(np.vstack([ring_at(e - 0.8, w=11.2, up=3.6), ring_at(e + 1.1, w=11.2, up=3.6)[::-1]]), 0.8, 0.6,
        smooth=False)
    cv.shade(ring_at(e - 0.8, 0.1, 1, 20, 11.2, 3.6), 1.6, 0, 1, 0.8, 1.1, inside=band, dots=0, smooth=False)
    ball = cv.form(ellipse(0, e + 15.2, 2.1, 2.1), 0.9, 0.6, smooth=False)
    cv.put("black", ball.difference(shapely.affinity.translate(ball, -0.9, 0.8)))
    rod = stroke(np.array([[0, e + 17], [0, e + 26.6]]), 0.8)
    arrow = shape(np.array([(-6.4, e + 22.6), (-2.6, e + 24.2), (-3.2, e + 23), (4, e + 23), (6.8, e + 24.8),
        (5.8, e + 22.6), (6.8, e + 20.4), (4, e + 22.2), (-3.2, e + 22.2), (-2.6, e + 21)]), smooth=False)
    for iron in (rod, arrow, shapely.Point(0, e + 27).buffer(0.9)):
        cv.forms.append(iron)
        cv.put("line", iron)


def rock(cv: Table) -> None:
    """Reef: slabs split along one bedding, each with a lit face, a hatched turn and a black flank."""
    slabs = [
        ([(-15, 0), (-16, 9), (-14.6, 17.6), (-10.6, 25), (-7, 23), (-2.6, 26.4), (3, 23.4), (8.6, 25), (12.4, 22.8),
            (17, 27), (20.6, 24.6), (23, 16), (26, 0)],
         [(12.4, 22.8), (17, 27), (20.6, 24.6), (23, 16), (26, 0), (12, 0), (15, 9), (11, 15)]),
        ([(18, -6), (15.6, 5), (17.4, 13), (22, 17), (25.6, 22.4), (29.6, 19.6), (32.4, 11), (37, -6)],
            [(25.6, 22.4), (29.6, 19.6), (32.4, 11), (37, -6), (25, -6), (27.4, 5), (24, 12)]),
        ([(-36, -6), (-34.6, 6), (-31, 9.6), (-29.6, 16.4), (-24.6, 21.6), (-19.4, 19.6), (-16.4, 11), (-10, -6)],
            [(-24.6, 21.6), (-19.4, 19.6), (-16.4, 11), (-10, -6), (-21, -6), (-18.6, 5), (-23, 12)]),
        ([(-10, -6), (-10.6, 3), (-7.4, 7), (-6.6, 13), (-1, 17), (4.4, 14.4), (8.6, 8), (10, 0), (14, -6)],
            [(-1, 17), (4.4, 14.4), (8.6, 8), (10, 0), (14, -6), (1.6, -6), (4, 3), (-0.6, 9)]),
        ([(9, -8), (10.4, 1), (14, 3.4), (15.4, 9.6), (20, 12.2), (24, 7.4), (25.4, 0), (29, -8)],
            [(20, 12.2), (24, 7.4), (25.4, 0), (29, -8), (18.6, -8), (20.6, 0), (17.4, 6)]),
        ([(-26, -8), (-25.4, -1), (-21.6, 2), (-19, 7.4), (-14.6, 6), (-12.4, 0), (-9, -8)],
            [(-19, 7.4), (-14.6, 6), (-12.4, 0), (-9, -8), (-17, -8), (-16.4, -1)]),
        ([(30, -8), (30.4, 0), (33, 3), (35, 8), (39.4, 4.6), (42, -1), (46, -8)],
            [(35, 8), (39.4, 4.6), (42, -1), (46, -8), (35.6, -8), (37, -1)]),
    ]
    for out, dark in slabs:
        pts = [np.asarray(out[0], float)]
        for i, (a, b) in enumerate(pairwise(out)):
            a, b = np.asarray(a, float), np.asarray(b, float)
            n = np.array([-(b - a)[1], (b - a)[0]]) * (0.07, -0.05, 0.1)[i % 3]
            pts += [a * 0.6 + b * 0.4 + n, b]
        g = cv.form(np.array(pts), 1.35, 0.8, smooth=False)
        d = np.asarray(dark, float)
        flank = shape(d, smooth=False)
        ridge = np.vstack([d[np.flatnonzero(d[:, 1] == d[:, 1].min())[-1]:], d[:1]])
        # a few open cracks keep the flank from closing up
        cuts = [stroke(np.array([d[k] * 0.25 + ridge[1] * 0.75, d[k] * 0.82 + ridge[1] * 0.18 + (0, -1.2)]), 0.5,
            swell(0.3, 1.0, 0.1)) for k in (2, 3)]
        cv.put("black", flank.difference(shapely.union_all(cuts)), g)
        cv.shade(ridge, [(0, 2.5), (0.3, 5.5), (0.6, 3), (0.85, 4.2), (1, 1)], [(0, 24), (1, 34)], 1, 0.95, 1.6, 0.1,
            inside=g, dots=2, smooth=False)
        # bedding: broken lines that drop with the slab, one lip of black under each
        lo, hi = float(np.asarray(out)[:, 1].min()), float(np.asarray(out)[:, 1].max())
        x0 = float(np.asarray(out)[:, 0].min())
        for k, f in enumerate((0.34, 0.56, 0.76)):
            y = lo + (hi - lo) * f
            x = x0 + 0.4 + 0.6 * k
            ln = (hi - lo) * (0.26, 0.18, 0.22)[k]
            cv.line([(x, y), (x + ln * 0.5, y + 0.5 - 0.4 * k), (x + ln, y - 0.9)], 0.85, 0.25, 0.9, 0.0,
                g.difference(flank))
            cv.line([(x + ln * 0.7, y - 1.8), (x + ln * 0.9, y - 3.2), (x + ln * 0.8, y - 4.8)], 0.6, 0.2, 0.7, 0.0,
                g.difference(flank))
    foam(cv, spline([(-30, -4), (-20, -6.4), (-10, -5), (0, -7), (10, -5.6), (20, -7), (34, -4.6)]), 3.4,
        [(0, 0.7), (0.5, 1.0), (1, 0.7)], 1)


LOBES = (1.0, 0.42, 0.66, 0.9, 0.36, 0.74, 0.5)


def foam(cv: Table, path: np.ndarray, size: float, taper: Any, side: int = 1, phase: int = 0) -> None:
    """Foam laid along a path: round lobes with rhythm, each with its own small hook inside."""
    t = arc_length(path)
    total = float(t[-1])
    s, k, spots = 0.0, phase, []
    while s < total:
        share = s / total
        r = max(0.7, size * LOBES[k % 7] * float(profile(taper)(np.array(share))))
        p = np.array([np.interp(s, t, path[:, 0]), np.interp(s, t, path[:, 1])])
        d = np.array([np.interp(s + 0.5, t, path[:, 0]), np.interp(s + 0.5, t, path[:, 1])]) - p
        if np.hypot(*d) < 1e-6:
            break
        d = d / np.hypot(*d)
        spots.append((p, r, d))
        s += r * 1.12
        k += 1
    blob = shapely.union_all([shapely.Point(p + np.array([-d[1], d[0]]) * side * r * 0.25).buffer(r,
        quad_segs=7) for p, r, d in spots])
    cv.body(blob.buffer(0.15).buffer(-0.15), 1.0, 0.6)
    for p, r, d in spots:
        if r < 1.3:
            continue
        m = np.array([-d[1], d[0]]) * side
        c = p + m * r * 0.25
        ang = float(np.degrees(np.arctan2(m[1], m[0])))
        arc = np.array([c + r * f * np.array([np.cos(np.radians(ang + q)), np.sin(np.radians(ang + q))]) for q,
            f in ((-100, 0.95), (-150, 0.62), (150, 0.42), (80, 0.4), (20, 0.3))])
        cv.line(arc, 0.6, 0.15, 0.9, 0.0, blob)


def water(cv: Table, a: Arm, dark: float = 0.5, lobes: float = 2.6, side: int | None = None) -> Any:
    """A sea that rises and curls over: black in the hollow, threads drawn up its face, foam down its back."""
    n = len(a.spine)
    g = cv.body(a.geometry(), 1.3, 0.65)
    m = int(n * 0.96)
    s = arc_length(a.spine)
    across = a.inner - a.spine
    lo = a.spine + across * (1 - dark + 0.16 * np.sin(s / 7))[:, None]
    cv.put("black", shape(np.vstack([lo[:m], a.inner[:m][::-1]]), smooth=False), g)
    # threads: long ones with black between, all running with the water
    for k, (f, t0, t1, w) in enumerate(((0.26, 0.06, 0.7, 1.5), (0.06, 0.16, 0.82, 0.6), (-0.16, 0.1, 0.62, 1.2),
            (-0.38, 0.2, 0.74, 0.55), (-0.6, 0.14, 0.5, 0.9))):
        path = a.spine + across * (f + 0.05 * np.sin(s / 5 + k))[:, None]
        cv.line(path[int(t0 * n): int(t1 * n)], w, 0.35, 0.05, 0.02, g, smooth=False)
    bits = []
    for k, i in enumerate(range(int(0.1 * n), int(n * 0.62), 5)):
        w = float(np.hypot(*across[i]))
        j = min(n - 1, i + int(w * (1.9, 1.1, 1.5)[k % 3] / 0.6))
        idx = np.linspace(i, j, 6).astype(int)
        up = -across * (0.42, 0.22, 0.34)[k % 3]
        path = np.array([lo[q] + up[q] * v**1.4 for q, v in zip(idx, np.linspace(0, 1, 6), strict=True)])
        bits.append(shape(ribbon(path, [(0, min(0.9, w * 0.2)), (0.4, 0.45), (1, 0.04)], smooth=False), smooth=False))
    cv.put("black", shapely.union_all(bits), g)
    if lobes:
        i0, i1 = int(0.3 * n), int(0.8 * n)
        path = a.outer[i0:i1] + (a.spine - a.outer)[i0:i1] * 0.12
        foam(cv, path, lobes, [(0, 0.2), (0.25, 0.55), (0.6, 1.0), (0.85, 0.6), (1, 0.2)], -1 if a.turn > 0 else 1)
    return g


def tongue(cv: Table, pts: list, w: float, turn: int, size: float = 4.0) -> None:
    """A tongue of spray: its foot lost in the mass, foam round its back and head, drops flung on."""
    stops = [(0, w * 0.8), (0.3, w), (0.6, w * 0.8), (0.85, w * 0.5), (1, w * 0.3)]
    ring = ribbon(pts, stops)
    p = spline(pts, step_mm=0.6)
    n = len(ring) // 2
    lft, rgt = ring[:n], ring[n:][::-1]
    inner, outer = (lft, rgt) if turn > 0 else (rgt, lft)
    g = shape(ring, smooth=False)
    cut = int(0.22 * n)
    cv.erase(shape(np.vstack([lft[cut:], rgt[cut:][::-1]]), smooth=False))
    cv.forms.append(g)
    cv.line(inner[int(0.1 * n):], 1.15, 0.6, 0.05, 0.6, smooth=False)
    cv.line(outer[int(0.2 * n):], 0.8, 0.6, 0.05, 0.6, smooth=False)
    # black in the hollow, coming to a point at both ends
    lo = p + (inner - p) * 0.3
    core = np.vstack([lo[int(0.12 * n): int(0.86 * n)], inner[int(0.06 * n): int(0.9 * n)][::-1]])
    cv.put("black", shape(core, smooth=False), g)
    for f, t0, t1, wd in ((0.05, 0.05, 0.7, 1.0), (-0.28, 0.0, 0.8, 0.5), (-0.55, 0.12, 0.6, 0.75)):
        path = p + (inner - p) * f
        cv.line(path[int(t0 * n): int(t1 * n)], wd, 0.5, 0.05, 0.0, g, smooth=False)
    d = p[-1] - p[-6]
    d = d / np.hypot(*d)
    q = (inner[-1] - p[-1]) / np.hypot(*(inner[-1] - p[-1]))
    head = spline([*outer[int(0.6 * n):: 4], p[-1] + d * w * 0.45 - q * w * 0.1, p[-1] + d * w * 0.4 + q * w * 0.45,
        p[-1] - d * w * 0.3 + q * w * 0.75])
    foam(cv, head, size, [(0, 0.25), (0.4, 0.7), (0.72, 1.0), (1, 0.55)], -turn, 1)
    ang = float(np.degrees(np.arctan2(d[1], d[0])))
    spots = [(p[-1] + d * 8.0 - q * 0.6, 1.0, ang + 4 * turn), (p[-1] + d * 6.4 - q * 5.2, 1.3, ang - 14 * turn),
        (p[-1] + d * 11.6 - q * 3.4, 0.85, ang - 4 * turn)]
    # the skin between the drops belongs to the piece, so nothing is laid through the spray
    cv.forms.append(shapely.union_all([shapely.Point(p[-1]).buffer(2), *[shapely.Point(c).buffer(2.6) for c, _,
        _ in spots]]).convex_hull)
    for c, r, a in spots:
        drop(cv, c, r, a)


def drop(cv: Table, c: np.ndarray, r: float, deg: float) -> None:
    """Drop of spray, round end outwards."""
    d = np.array([np.cos(np.radians(deg)), np.sin(np.radians(deg))])
    m = np.array([-d[1], d[0]])
    ring = spline([c - d * r * 2.4, c - d * r * 0.6 + m * r * 0.75, c + d * r * 0.5 + m * r * 0.85, c + d * r * 1.15,
        c + d * r * 0.5 - m * r * 0.85,
                   c - d * r * 0.6 - m * r * 0.75], closed=True, step_mm=0.3)
    g = cv.form(ring, 0.6, 0.42, smooth=False)
    cv.put("black", g.difference(shapely.affinity.translate(g, -0.4 * r, 0.45 * r)))


def draw() -> None:
    cv = Table(8)
    cv.least_mm = 0.4
    tower(cv)
    gallery(cv)
    for pts, w in (([(-14, 4), (-17, 26), (-17, 44), (-20, 58), (-28, 66)], 5.0),
            ([(-18, 2), (-24, 24), (-28, 40), (-36, 52), (-46, 54)], 5.4),
                   ([(-24, 0), (-33, 18), (-42, 30), (-53, 36), (-61, 33)],
                       5.4), ([(-16, 2), (-20, 20), (-22, 34), (-28, 43), (-36, 43)], 5.0),
                   ([(-20, 0), (-28, 14), (-35, 24), (-45, 27)], 5.0), ([(-15, 0), (-19, 12), (-22, 23), (-30, 28)],
                       4.4)):
        tongue(cv, pts, w, 1)
    for pts, w in (([(18, 2), (23, 20), (25, 34), (31, 45), (40, 47)], 4.8),
            ([(25, 0), (34, 14), (42, 24), (52, 27), (58, 22)], 4.8),
                   ([(20, 0), (27, 13), (31, 23), (39, 28)], 4.5)):
        tongue(cv, pts, w, -1)
    rock(cv)
    wave = [(0, 0.03), (0.1, 0.5), (0.26, 0.98), (0.4, 0.95), (0.55, 0.66), (0.7, 0.36), (0.85, 0.2), (1, 0.05)]
    for pts, r, tu, tn, base in (([(6, -10), (-14, -10), (-30, -4), (-42, 7), (-50, 18)], 6.4, 1.35, 1, 9.0),
                                 ([(-6, -10), (16, -10), (32, -5), (43, 5), (50, 14)], 5.8, 1.35, -1, 8.6)):
        water(cv, Arm(pts, r, tu, tn, base, 0.42, wave), 0.5, 4.4)
    long = [(0, 0.02), (0.1, 0.2), (0.24, 0.72), (0.38, 1.0), (0.54, 0.72), (0.7, 0.38), (0.85, 0.2), (1, 0.05)]
    for pts, r, tu, tn, base in (([(22, -22), (8, -22.5), (-10, -20), (-30, -14), (-46, -6)], 6.0, 1.35, 1, 9.4),
                                 ([(-48, -15), (-26, -24), (2, -25), (26, -19), (44, -11)], 5.8, 1.35, -1, 9.4)):
        water(cv, Arm(pts, r, tu, tn, base, 0.42, long), 0.46, 4.2)
    cv.save("lighthouse", {
        "title": "Light on the outer reef", "min_mm": 145, "max_mm": 320, "facing": "none", "upright_deg": 0,
        "symmetric": False, "focal": True, "keep_whole": False,
        "tags": ["lighthouse", "sea", "rock", "waves", "estuary", "tall"], "licence": "CC0-1.0",
        "about": "The light on the outer reef, first thing seen by whoever comes home over the bar.",
    }, fine_mm=0.048, scale=0.84)


if __name__ == "__main__":
    draw()
