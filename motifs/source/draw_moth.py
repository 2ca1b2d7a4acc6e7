"""Night moth with eyes on its wings: the right half is drawn, the left is its mirror."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from canvas import ellipse
from tools_b import Fan, Table, Tube, at_shares, flip, loop, round_loop, taper

from composer.art.brush import normals, spline, stroke, swell


def scallop(margin: list[tuple[float, float]], veins: np.ndarray, deep: float) -> np.ndarray:
    """Margin drawn in between the veins by `deep` mm, so that each vein ends on a point."""
    path = spline(margin, step_mm=0.2)
    a = np.linspace(0, 1, 400)
    p = at_shares(path, a)
    k = np.zeros_like(a)
    for v0, v1 in pairwise(veins):
        m = (a >= v0) & (a <= v1)
        u = (a[m] - v0) / (v1 - v0)
        k[m] = np.sin(np.pi * u) ** 0.7 * (0.8 + 0.35 * np.sin(5.0 * v0 + 1)) - 0.22 * np.exp(-(((u - 0.5) / 0.1) ** 2))
    return p + normals(p) * (-deep * k)[:, None]


def eye(c: Table, g, x: float, y: float, r: float, turn: float) -> None:
    """Wing eye: black surround, bright ring, black heart with a sickle of light."""
    halo = round_loop(ellipse(x, y, r * 1.3, r * 1.2, turn))
    c.erase(halo.intersection(g))
    for k in range(36):
        a = np.radians(k * 10)
        d = np.array([np.cos(a), np.sin(a)])
        c.put("line", taper(np.array([x, y]) + d * r * 1.05, np.array([x, y]) + d * r * (1.3 + 0.13 * (k % 3)), 0.6), g)
    c.put("black", round_loop(ellipse(x, y, r * 1.12, r * 1.04, turn)), g)
    ring = round_loop(ellipse(x, y, r * 0.9, r * 0.82, turn))
    c.erase(ring)
    c.put("light", ring)
    c.erase(round_loop(ellipse(x - r * 0.1, y + r * 0.1, r * 0.72, r * 0.64, turn)))
    heart = round_loop(ellipse(x + r * 0.06, y - r * 0.04, r * 0.56, r * 0.54, turn))
    c.put("black", heart)
    c.erase(loop([(x - r * 0.36, y + r * 0.04), (x - r * 0.2, y + r * 0.36), (x + r * 0.2, y + r * 0.4),
                  (x + r * 0.2, y + r * 0.4), (x - r * 0.02, y + r * 0.24), (x - r * 0.16, y - r * 0.02)]))


def wing(c: Table, fan: Fan, veins: np.ndarray, zig: float, root: float, band: float, cell: float) -> object:
    g = c.form(fan.form(), 1.5, 0.75)

    def wave(f: float, deep: float, sharp: float = 1.0):
        def at(a: np.ndarray) -> np.ndarray:
            k = np.zeros_like(a)
            for v0, v1 in pairwise(veins):
                m = (a >= v0) & (a <= v1)
                k[m] = np.abs(np.sin(np.pi * (a[m] - v0) / (v1 - v0))) ** sharp
            return f - deep * k
        return at

    # black root, whipped outwards
    c.put("black", fan.between(0.0, wave(root, -0.05)), g)
    c.shade(fan.arc(wave(root, -0.05)), fan.arc(wave(root + 0.2, -0.04)), g, 0.0, 0.9, ends=0, dots=2, smooth=False)
    # outer band: a black zigzag, whipped inwards, and a thin echo outside it
    c.put("black", fan.between(wave(band, zig, 1.6), wave(band + 0.055, zig * 0.7)), g)
    c.shade(fan.arc(wave(band + 0.01, zig, 1.6)), fan.arc(wave(band - 0.17, 0.02)), g, 0.0, 0.85, ends=0, dots=2,
            smooth=False)
    c.line(fan.arc(wave(band + 0.085, zig * 0.55)), 0.42, 0.5, 0.6, 0.6, g, smooth=False)
    c.put("light", fan.between(wave(band + 0.1, zig * 0.55), 1 - 0.3 * (1 - band)), g)
    # veins: drawn on skin, left open through the black
    for i, v in enumerate(veins[1:-1]):
        c.line(fan.ray(v, cell - 0.05 * (i % 2), band - 0.02), 0.6, 0.4, 0.3, 0.4, g)
        path = fan.ray(v, 0.05, root + 0.1)
        c.erase(stroke(path, 0.5, swell(0.3, 0.3, 0.2)))
        c.flick(fan.at(v, 1.0)[0], fan.at(v, band + 0.12)[0], 0.8, 0, g)
    # margin: dark lunules between the veins
    for v0, v1 in pairwise(veins):
        m, w = (v0 + v1) / 2, (v1 - v0) * 0.42
        for k, r in ((-0.7, 0.4), (-0.35, 0.8), (0, 1.0), (0.35, 0.8), (0.7, 0.4)):
            c.flick(fan.at(m + w * k, 1.02)[0], fan.at(m + w * k * 0.6, 1 - 0.085 * r)[0], 1.35, 0, g)
    # rim light along the trailing edge
    rim = fan.at(np.linspace(0.972, 0.985, 40), np.linspace(0.22, 0.95, 40))
    c.erase(stroke(rim, 0.7, swell(0.5, 0.2, 0.2)).intersection(g.buffer(-0.75)))
    return g


def draw() -> None:
    c = Table(seed=11)
    hv = np.array([0, 0.13, 0.27, 0.41, 0.55, 0.69, 0.84, 1.0])
    hind = Fan([(3, 3.5), (3, -4)],
               scallop([(34, 2.5), (39.2, -3.2), (40.4, -10.4), (37.2, -18.2), (30.4, -24.4), (22.4, -27.4),
                       (15.2, -26.6),
                        (10.2, -22.4)], hv, -1.0), lambda a: 0.06 - 0.2 * a)
    g = wing(c, hind, hv, 0.05, 0.15, 0.76, 0.3)
    eye(c, g, 21.2, -9.8, 4.6, -40)
    fv = np.array([0, 0.1, 0.22, 0.35, 0.48, 0.61, 0.74, 0.87, 1.0])
    fore = Fan([(2.4, 11.5), (3.2, 3.2)],
               scallop([(45.2, 33.8), (48.0, 31.0), (47.0, 24.6), (43.8, 17.4), (42.2, 10.0), (40.8, 3.4),
                       (36.6, -1.8)], fv, -0.8),
               lambda a: 0.085 - 0.13 * a)
    c.shade(fore.ray(1.0, 0.25, 1.0),
            hind.at(np.linspace(0.0, 0.12, 24), np.linspace(0.3, 0.92, 24)) - np.array([0, 4.5]),
            hind.form(), 0.3, 0.8, ends=0.1)
    g = wing(c, fore, fv, 0.045, 0.14, 0.79, 0.24)
    eye(c, g, 26.6, 15.2, 5.2, 25)
    # leading edge: a stout double rib
    c.put("black", fan_edge(fore), g)
    body(c)
    c.mirror()
    c.save("moth", {
        "title": "Night moth with eyed wings", "min_mm": 65, "max_mm": 180, "facing": "front", "upright_deg": 0,
        "symmetric": True, "focal": True, "keep_whole": True, "tags": ["moth", "night", "animal", "wings", "eyes"],
        "licence": "CC0-1.0",
        "about": "The moth that circles the lighthouse lamp on still nights and leaves its dust on the glass.",
    })


def fan_edge(f: Fan):
    return shapely_poly(f.ray(0.0, 0.08, 1.0), f.at(np.full(24, 0.035), np.linspace(0.08, 1.0, 24)))


def shapely_poly(a: np.ndarray, b: np.ndarray):
    return loop([*map(tuple, a[::3]), tuple(a[-1]), tuple(a[-1]), tuple(b[-1]), *map(tuple, b[::-3])])


def fur_rank(c: Table, y: float, w: float, n: int, long: float, splay: float, step: int, dark: float) -> None:
    """Locks hung on a shallow arch, from the flank in to the middle line."""
    xs = np.linspace(w, 0.0, n) if step else np.linspace(w, w / (2 * n - 1), n)
    for i, x in enumerate(xs):
        k = x / max(w, 0.1)
        a = np.radians(-90 + 52 * splay * k)
        reach = long * (1 - 0.2 * k) * (1.0, 0.82, 0.94, 0.78, 1.06)[(i * 2 + step) % 5]
        root = np.array([x, y + 1.6 * k * k])
        tip = root + reach * np.array([np.cos(a), np.sin(a)])
        wide = w / n * (2.3 if n > 2 else 2.0)
        bend = -0.12 * k
        c.lock(root, tip, wide, bend, black=0.62 + 0.1 * (i % 2))
        if x > 0.01:
            c.lock(flip([root])[0], flip([tip])[0], wide, -bend, black=0.62 + 0.1 * (i % 2))


def body(c: Table) -> None:
    # feelers, combed
    stem = Tube([(1.4, 17.6), (4.0, 23.0), (8.8, 27.8), (15.0, 30.8), (19.6, 30.8)],
                [(0, 1.6), (0.15, 3.6), (0.45, 5.6), (0.8, 3.4), (1, 0.5)], (0, 0.4))
    g = c.form(stem.form(), 0.55, 0.4)
    for side in (1, -1):
        for t in np.linspace(0.08, 0.95, 20):
            p, q = stem.at(t, 0)[0], stem.at(min(1, t + 0.07), side * 0.95)[0]
            c.flick(p, q, 0.75, 0.12 * side, g)
    c.line(stem.lane(0, 0, 0.97), 1.0, 0.2, 1.0, 0.3)
    # abdomen: locks in ranks, from the tip up; each rank a little out of step with the last
    ranks = ((-19.6, 1.6, 2, 7.6), (-16.4, 2.9, 3, 7.4), (-12.8, 3.9, 4, 7.4), (-9.0, 4.6, 4, 7.2), (-5.2, 5.1, 5,
            7.2), (-1.4, 5.4, 5, 7.0), (2.2, 5.6, 5, 6.6))
    for i, (y, w, n, long) in enumerate(ranks):
        fur_rank(c, y, w, n, long, 0.5 + 0.06 * (i % 3), i % 2, 0.2 + 0.05 * i)
    # thorax: a mane that falls outwards over the wing roots
    for i, (y, w, n, long) in enumerate(((6.2, 6.2, 6, 9.2), (9.6, 6.6, 6, 8.6), (12.6, 5.8, 5, 7.8), (15.2, 4.4, 4,
            6.8))):
        fur_rank(c, y, w, n, long, 0.95 + 0.16 * i, i % 2, 0.5)
    # head
    e = c.form(round_loop(ellipse(2.9, 18.6, 1.7, 1.9)), 0.8, 0.6)
    c.put("black", e.difference(round_loop(ellipse(2.6, 19.3, 0.5, 0.6))))
    for x, y, tx, ty, w in ((2.2, 20.6, 3.0, 16.6, 1.7), (1.2, 21.6, 1.5, 16.2, 1.9), (0.0, 22.0, 0.0, 15.6, 2.0)):
        c.lock((x, y), (tx, ty), w, 0.08)
        if x:
            c.lock((-x, y), (-tx, ty), w, -0.08)


if __name__ == "__main__":
    draw()
