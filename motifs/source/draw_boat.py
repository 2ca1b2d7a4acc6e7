"""Rowing boat drawn up on shingle: a clinker hull built plank by plank, then seen from the bow quarter."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
import shapely.affinity
from canvas import ellipse
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from tools_b import Table, Tube, at_shares, loop, round_loop, xy

from composer.art.brush import resample, spline, stroke

TURN, TIP, HEEL = np.radians(29), np.radians(19), np.radians(5)


def look(x, y, z) -> np.ndarray:
    """Boat to paper: x along the keel to the bow, y to the near side, z up; the hull leans a little to us."""
    x, y, z = np.broadcast_arrays(np.asarray(x, float), np.asarray(y, float), np.asarray(z, float))
    y, z = y * np.cos(HEEL) + z * np.sin(HEEL), -y * np.sin(HEEL) + z * np.cos(HEEL)
    near = x * np.sin(TURN) + y * np.cos(TURN)
    return np.column_stack([-(x * np.cos(TURN) - y * np.sin(TURN)), z * np.cos(TIP) - near * np.sin(TIP)])


def beam(s: np.ndarray) -> np.ndarray:
    return np.interp(s, np.linspace(0, 1, 11), [13.2, 16.0, 18.2, 19.6, 20.2, 20.0, 18.8, 16.2, 12.0, 6.4, 0.4])


def sheer(s: np.ndarray) -> np.ndarray:
    return 22.5 + 30 * (np.asarray(s, float) - 0.42) ** 2


def hull(s, g, side: float = 1.0) -> np.ndarray:
    """Point of the shell: s from transom 0 to stem 1, g from keel 0 to gunwale 1."""
    s, g = np.broadcast_arrays(np.asarray(s, float), np.asarray(g, float))
    keel = 0.4 + 13.0 * np.clip((s - 0.86) / 0.14, 0, 1) ** 2.4 * 0.55 + 2.6 * np.clip((0.14 - s) / 0.14, 0, 1) ** 2
    full = 0.55 + 0.5 * np.clip((s - 0.55) / 0.45, 0, 1)
    y = beam(s) * g ** full
    z = keel + (sheer(s) - keel) * g ** (1.55 - 0.35 * np.clip((s - 0.6) / 0.4, 0, 1))
    x = 112 * (s - 0.5) + 0.34 * z * np.clip((s - 0.7) / 0.3, 0, 1) ** 2 - 0.16 * z * np.clip((0.3 - s) / 0.3, 0, 1)
    x = x - 9 * np.clip((s - 0.72) / 0.28, 0, 1) ** 2 * np.clip(1 - g, 0, 1) ** 2.2
    return look(x, side * y, z)


S = np.linspace(0, 1, 120)


def smooth(path: np.ndarray) -> np.ndarray:
    return resample(spline(np.vstack([path[:-3:6], path[-1:]]) if len(path) > 30 else path), 0.5)


def rope(c: Table, pts, width: float, closed: bool = False, heavy: float = 0.95) -> BaseGeometry:
    """Laid rope: strands as slanting S marks, each dark on its lower bank."""
    path = spline(pts, closed=closed, step_mm=0.4)
    if closed:
        path = np.vstack([path, path[:1]])
    t = Tube(path, [(0, width), (1, width)], (0.0, 0.0) if closed else (0.7, 0.7))
    g = shapely.make_valid(shapely.union(t.form(), shapely.Point(path[0]).buffer(width * 0.5)))
    g = c.form(g, heavy, 0.6)
    step = width * 0.74 / t.length
    for k in np.arange(0, 1 - step, step):
        n = t.n[min(len(t.n) - 1, int(k * len(t.n)))]
        low = -1 if n[1] > 0 else 1
        a, b = t.at(k, 0.95)[0], t.at(min(1, k + step * 1.25), -0.95)[0]
        m1, m2 = t.at(k + step * 0.85, 0.45)[0], t.at(k + step * 0.4, -0.45)[0]
        c.put("line", stroke(spline([a, m1, m2, b]), 0.45), g)
        p = t.at(k + step * 0.62, low)[0]
        c.flick(p, t.at(k + step * 0.62, low * 0.25)[0], 0.9, 0.0, g)
    return g


def plank_shade(c: Table, top: np.ndarray, low: np.ndarray, g: BaseGeometry, i: int) -> None:
    """Under each lap a black line of changing depth, whipped down the plank, deeper towards the keel and aft."""
    u = np.linspace(0, 1, len(top))
    share = 0.34 + 0.06 * i + 0.12 * np.sin(u * 5 + i) + 0.5 * np.clip(0.35 - u, 0, 1) - 0.14 * np.clip(u - 0.5, 0, 1)
    glint = 0.62 + 0.05 * np.sin(i * 2.3)
    share = share * (1 - 0.85 * np.exp(-(((u - glint) / 0.13) ** 2)))
    share = share * (1 - 0.5 * np.exp(-(((u - 0.3 - 0.04 * (i % 2)) / 0.05) ** 2)))
    c.shade(top, top + (low - top) * np.clip(share, 0.02, 0.95)[:, None], g, 0.2 + 0.04 * i, 0.95, ends=0.0,
            smooth=False, bend=0.08)


def draw() -> None:
    c = Table(seed=21)
    ground(c)
    inner(c)
    outer(c)
    c.save("boat", {
        "title": "Rowing boat drawn up, with oars and rope",
        "min_mm": 100, "max_mm": 260, "facing": "left", "upright_deg": 0,
        "symmetric": False, "focal": False, "keep_whole": False, "tags": ["boat", "oars", "rope", "shingle", "clinker"],
        "licence": "CC0-1.0",
        "about": "The lighthouse keeper's boat, hauled above the tide line, oars aboard and painter coiled.",
    })


def shell_form() -> BaseGeometry:
    """What is seen of the near side, from keel to gunwale."""
    g = np.linspace(0, 1, 25)
    quads = [shapely.make_valid(Polygon(np.vstack([hull(S, a), hull(S, b)[::-1]]))) for a, b in pairwise(g)]
    shell = shapely.union_all(quads).buffer(0.3).buffer(-0.3)
    return max(getattr(shell, "geoms", [shell]), key=lambda q: q.area)


def foot_line(shell: BaseGeometry, xs: np.ndarray) -> np.ndarray:
    """Lowest point of the hull at each x."""
    out = []
    for x in xs:
        cut = shell.intersection(shapely.LineString([(x, -99), (x, 99)]))
        out.append((x, cut.bounds[1] if not cut.is_empty else np.nan))
    pts = np.array(out)
    return pts[~np.isnan(pts[:, 1])]


def ground(c: Table) -> None:
    """Shadow and stones under the hull."""
    shell = shell_form()
    x0, _, x1, _ = shell.bounds
    foot = foot_line(shell, np.linspace(x0 + 3, x1 - 3, 60))
    t = np.linspace(0, 1, len(foot))
    drop = 5.2 * np.sin(np.pi * np.clip(t * 0.96 + 0.02, 0, 1)) ** 0.6
    low = foot - np.column_stack([drop * 0.2, drop])
    g = shapely.make_valid(Polygon(np.vstack([foot + xy(0, 2), low[::-1]])))
    c.form(g, 0, 0)
    c.put("black", g)
    rng = np.random.default_rng(3)
    for k, r, dy in ((0.24, 2.2, 0.6), (0.31, 3.0, -0.6), (0.39, 2.3, 0.4), (0.46, 3.3, -0.8), (0.54, 2.6, 0.0),
            (0.6, 3.5, -1.0), (0.68, 2.4, 0.4), (0.74, 3.2, -0.6),
                     (0.82, 2.4, 0.5), (0.88, 2.9, -0.4), (0.95, 2.0, 0.2)):
        x, y = at_shares(low, np.array([k]))[0] + (0, dy)
        w = rng.uniform(0.88, 1.12, 8)
        a = np.linspace(0, 2 * np.pi, 8, endpoint=False)
        s = c.form(round_loop(np.column_stack([x + r * 1.35 * w * np.cos(a), y + r * 0.78 * w * np.sin(a)])), 1.1, 0.55)
        c.shade([(x + r * 1.5, y + 0.2 * r), (x + r * 0.8, y - r * 0.75), (x - r * 0.7, y - r * 0.85)],
                [(x + r * 0.5, y + r * 0.3), (x + r * 0.2, y - 0.1 * r), (x - r * 0.2,
                        y - r * 0.1)], s, 0.35, 0.65, ends=0.15)


def inner(c: Table) -> None:
    far, near = hull(S, 1.0, -1), hull(S, 1.0, 1)
    mouth = whole_poly(np.vstack([far, near[::-1]]))
    g = c.form(mouth, 0.9, 0.7)
    c.put("black", g)
    # far side planking, open skin with laps
    planks = np.linspace(1.0, 0.18, 6)
    for i, (a, b) in enumerate(pairwise(planks)):
        top, low = hull(S, a, -1), hull(S, b, -1)
        strip = whole_poly(np.vstack([top, low[::-1]])).intersection(g)
        c.erase(strip)
        c.put("line", stroke(smooth(low), 0.8), g)
        c.shade(low, low + (top - low) * (0.5 + 0.16 * i), g, 0.2 + 0.06 * i, 0.9, ends=0, smooth=False)
    # floor boards
    for y in (-7.5, -3.5, 0.5, 4.5, 8.5):
        s = np.linspace(0.14, 0.84, 40)
        k = np.clip(1.15 - np.abs(s - 0.45) * 1.5, 0.2, 1)
        a, b = look(112 * (s - 0.5), y * k, 4.0), look(112 * (s - 0.5), (y + 3.3) * k, 4.0)
        board = whole_poly(np.vstack([a, b[::-1]])).intersection(g)
        c.erase(board)
        c.contour(board, 0.6, 0.4)
        c.shade(b, b + (a - b) * 0.7, board, 0.1, 1.0, ends=0, smooth=False)
    # ribs up the far side
    for s in (0.12, 0.22, 0.32, 0.42, 0.52, 0.62, 0.72, 0.81, 0.89):
        gg = np.linspace(0.12, 0.98, 20)
        rib = whole_poly(np.vstack([hull(s - 0.008, gg, -1), hull(s + 0.010, gg, -1)[::-1]])).intersection(g)
        c.erase(rib)
        c.contour(rib, 0.8, 0.5)
        edge = hull(s - 0.008, gg, -1)
        c.shade(edge, edge - (1.6, 0), g.difference(rib), 0.3, 0.8, ends=0.2, smooth=False)
    # transom seen from inside
    gg = np.linspace(0, 1, 24)
    tran = whole_poly(np.vstack([hull(0.0, gg, -1), hull(0.0, gg[::-1], 1)])).intersection(g)
    c.erase(tran)
    c.contour(tran, 0.9, 0.6)
    far_g, near_g = hull(0.0, gg, -1), hull(0.0, gg, 1)
    c.shade(near_g, near_g + (far_g - near_g) * 0.5, tran, 0.3, 0.8, ends=0.1, smooth=False)
    top = Tube(hull(np.zeros(12), 1.0, np.linspace(-1, 1, 12)), [(0, 2.4), (1, 2.6)], (0.1, 0.1))
    r = c.form(top.form(), 1.1, 0.6)
    c.line(top.lane(0.1, 0.05, 0.95), 0.45, 0.5, 0.4, 0.4, r)
    # thwarts with a black underside
    for s0, s1 in ((0.06, 0.17), (0.34, 0.42), (0.6, 0.675), (0.86, 0.93)):
        z = float(sheer(np.array((s0 + s1) / 2))) - 4.2
        x0, x1 = 112 * (s0 - 0.5), 112 * (s1 - 0.5)
        b = float(beam(np.array((s0 + s1) / 2))) * 0.985
        topside = look([x0, x0, x1, x1], [-b, b, b, -b], z)
        front = look([x1, x1, x1, x1], [-b, b, b, -b], [z, z, z - 2.0, z - 2.0])
        shade = shapely.union_all([Polygon(topside), Polygon(front)])
        c.put("black", shapely.affinity.translate(shade, -1.2, -3.6).intersection(g))
        f = c.form(Polygon(front).intersection(g), 0.9, 0.6)
        c.put("black", f)
        t = c.form(Polygon(topside).intersection(g), 0.9, 0.6)
        for k in np.linspace(0.14, 0.86, 5 if s1 - s0 > 0.09 else 4):
            p, q = topside[0] * (1 - k) + topside[3] * k, topside[1] * (1 - k) + topside[2] * k
            c.line([p, p + (q - p) * (0.35 + 0.3 * k)], 0.45, 0.3, 0.6, 0, t)
        c.shade(topside[[1, 2]], topside[[1, 2]] + (topside[[0, 3]] - topside[[1, 2]]) * 0.4, t, 0.25, 0.7, ends=0.0,
                smooth=False)
    # far gunwale
    rail = Tube(smooth(far), [(0, 2.4), (0.5, 2.2), (1, 2.8)], (0.2, 0.2))
    r = c.form(rail.form(), 1.2, 0.7)
    c.line(rail.lane(0.1, 0.03, 0.96), 0.45, 0.5, 0.4, 0.4, r)


def whole_poly(ring: np.ndarray) -> BaseGeometry:
    g = shapely.make_valid(Polygon(ring))
    return max(getattr(g, "geoms", [g]), key=lambda q: q.area)


def oar(c: Table, butt, neck, tip, wide: float, under: BaseGeometry | None = None) -> None:
    a, n, t = (np.asarray(p, float) for p in (butt, neck, tip))
    d = (t - a) / np.hypot(*(t - a))
    side = np.array([-d[1], d[0]])
    loom = Tube([a, a + (n - a) * 0.5 + side * 0.15, n + d * 2], [(0, 1.8), (0.1, 1.8), (0.12, 2.8), (0.4, 2.8),
            (1, 2.0)], (0.9, 0))
    edge = [(0.0, 1.0), (6.0, wide * 0.42)]
    low = [n + d * u - side * v for u, v in edge] + [n + (t - n) * 0.6 - side * wide * 0.5, t - side * wide * 0.46]
    top = [n + d * u + side * v for u, v in edge] + [n + (t - n) * 0.6 + side * wide * 0.5, t + side * wide * 0.46]
    blade = loop([*low, low[-1], top[-1], *top[::-1]])
    if under is not None:
        c.put("black", shapely.affinity.translate(shapely.union(loom.form(), blade), 0.6, -2.2).intersection(under))
    g = c.form(loom.form(), 1.1, 0.6)
    c.shade(loom.lane(-1), loom.lane(0.4), g, 0.4, 0.7, ends=0.02, smooth=False)
    cuff = loom.piece(0.3, 0.4)
    c.erase(cuff)
    for k in np.linspace(0.3, 0.4, 6):
        c.put("line", stroke(loom.across(k, -1, 1, 0.5), 0.5), g)
    for v in (-1, 1):
        c.put("line", stroke(loom.lane(v, 0.295, 0.405), 0.95))
    g = c.form(blade, 1.3, 0.7)
    c.line([n, n + (t - n) * 0.45, n + (t - n) * 0.8], 1.0, 0.15, 1.0, 0, g)
    c.shade([n + d * 3 - side * wide * 0.4, n + (t - n) * 0.6 - side * wide * 0.5, t - side * wide * 0.46],
            [n + d * 6, n + (t - n) * 0.6 - side * 0.3, t - side * 0.8], g, 0.3, 0.75, ends=0.1)
    c.shade([t - side * wide * 0.46, t + side * wide * 0.46], [t - d * 5 - side * wide * 0.3,
            t - d * 3.4 + side * wide * 0.36], g, 0.25, 0.7, ends=0.05)
    for k, f in ((0.22, 0.5), (0.34, 0.7)):
        c.line([n + d * 5 + side * wide * k * 0.7, n + (t - n) * 0.5 + side * wide * k,
                n + (t - n) * f + side * wide * k], 0.45, 0.4, 0.1, 0, g)


def outer(c: Table) -> None:
    near = hull(S, 1.0, 1)
    laps = [1.0, 0.88, 0.76, 0.64, 0.51, 0.37, 0.2, 0.0]
    shell = shell_form()
    oar(c, hull(0.72, 0.98)[0] + (3, 4.6), hull(0.08, 1.0)[0] + (2, 13), hull(0.08, 1.0)[0] + (25, 21), 6.6,
            c.forms[-1])
    oar(c, hull(0.80, 0.98)[0] + (4, 3.2), hull(0.08, 1.0)[0] + (3.4, 7.6), hull(0.08, 1.0)[0] + (27, 12.6), 6.6,
            c.forms[-1])
    g = c.form(shell, 1.7, 0.9)
    for i, (a, b) in enumerate(pairwise(laps)):
        top, low = hull(S, a), hull(S, b)
        plank_shade(c, top, low, g, i)
        if b > 0:
            c.put("line", stroke(smooth(low), lambda t: 0.75 + 0.35 * np.sin(t * 3.1), None), g)
        for j in range(3):
            k0 = (0.08 + 0.31 * j + 0.11 * i) % 0.8
            s = np.linspace(k0, k0 + 0.14 + 0.05 * ((i + j) % 3), 14)
            c.line(hull(s, b + (a - b) * (0.28 + 0.14 * (j % 2))), 0.4, 0.4, 0, 0, g)
        for s in np.linspace(0.06, 0.94, 18):
            c.dot(hull(s, b + (a - b) * 0.2)[0], 0.55, g)
    # keel strip and stem post
    stem = Tube(np.vstack([hull(np.linspace(0.9, 1.0, 8), 0.0), hull(1.0, np.linspace(0.08, 1.06, 12))]), [(0, 2.2),
            (0.4, 3.2), (1, 3.6)], (0.1, 0.5))
    s = c.form(stem.form(), 1.4, 0.8)
    c.shade(stem.lane(1), stem.lane(-0.1), s, 0.35, 0.7, ends=0.05, smooth=False)
    rail = Tube(smooth(near), [(0, 2.8), (0.5, 3.0), (1, 3.2)], (0.2, 0.4))
    r = c.form(rail.form(), 1.4, 0.7)
    c.line(rail.lane(-0.15, 0.02, 0.98), 0.5, 0.5, 0.6, 0.6, r)
    for t0, t1, v in ((0.1, 0.24, -0.5), (0.3, 0.38, -0.55), (0.52, 0.7, -0.5), (0.8, 0.93, -0.55)):
        c.line(rail.lane(v, t0, t1), 0.42, 0.4, 0.1, 0.0, r)
    c.shade(rail.lane(1, 0.0, 0.55), rail.lane(0.2, 0.0, 0.55), r, 0.5, 1.1, ends=0.2, smooth=False, bend=0.3)
    for k in (0.4, 0.66):
        p = hull(k, 1.0)[0]
        pin = c.form(Tube([p + xy(-1.8, 0.2), p + xy(-2.0, 4.2)], [(0, 1.5), (1, 1.5)], (0.3, 0.8)).form(), 0.9, 0.6)
        c.put("black", pin.intersection(shapely.box(p[0] - 1.9, -99, p[0], 99)))
        pin = c.form(Tube([p + xy(1.8, 0.4), p + xy(1.6, 4.4)], [(0, 1.5), (1, 1.5)], (0.3, 0.8)).form(), 0.9, 0.6)
        c.put("black", pin.intersection(shapely.box(p[0] + 1.8, -99, p[0] + 5, 99)))
    coil(c)


def coil(c: Table) -> None:
    shell = shell_form()
    x0 = shell.bounds[0]
    x = x0 + 27
    y = float(foot_line(shell, np.array([x]))[0, 1]) - 7.0
    ring = hull(1.0, 0.78)[0]
    for sx, sy, r in ((x - 17.5, y + 3.6, 2.6), (x - 12.6, y + 6.6, 2.0)):
        s = c.form(round_loop([(sx + r * 1.3 * k, sy + r * 0.8 * m) for k, m in ((-1, 0), (-0.6, 0.9), (0.2, 1),
                (1, 0.5), (1.1, -0.4), (0.3, -1), (-0.7, -0.8))]), 1.1, 0.55)
        c.shade([(sx + r * 1.5, sy + 0.2 * r), (sx + r * 0.8, sy - r * 0.75), (sx - r * 0.7, sy - r * 0.85)],
                [(sx + r * 0.5, sy + r * 0.3), (sx + r * 0.2, sy - 0.1 * r), (sx - r * 0.2,
                        sy - r * 0.1)], s, 0.35, 0.65, ends=0.15)
    rope(c, [ring, ring + xy(-3.4, -8), ring + xy(-1, -17), ring + xy(4, -24), (x - 13, y + 2.0)], 2.6)
    for dx, dy, rx, ry in ((0, -2.0, 16.0, 5.6), (0.8, 0.8, 14.6, 5.0), (-0.4, 3.6, 12.8, 4.2)):
        g = round_loop(ellipse(x + dx, y + dy, rx + 1.6, ry + 1.6))
        c.erase(g)
        c.put("black", round_loop(ellipse(x + dx, y + dy, rx - 1.2, ry - 1.2)))
        c.forms.append(g)
        rope(c, ellipse(x + dx, y + dy, rx, ry)[::4], 3.4, closed=True)
    rope(c, [(x + 8, y + 5.6), (x + 2, y + 3.4), (x - 5, y + 4.4), (x - 10, y + 7.2)], 3.0)
    rope(c, [(x + 14.6, y - 4.6), (x + 20, y - 7.4), (x + 26, y - 6.2), (x + 31.4, y - 8.8)], 3.0)
    whip = Tube([(x + 29.8, y - 8.0), (x + 31.8, y - 9.0)], [(0, 3.2), (1, 3.2)], (0.2, 0.2))
    c.put("black", whip.form())
    eyebolt = c.form(round_loop(ellipse(*ring, 1.7, 1.7)), 0.9, 0.7)
    c.put("black", eyebolt.intersection(round_loop(ellipse(*ring, 0.8, 0.8))))


if __name__ == "__main__":
    draw()
