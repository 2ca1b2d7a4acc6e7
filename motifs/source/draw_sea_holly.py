"""Sea holly: coned heads over a ruff of spined bracts, leaves with open veins."""

# ruff: noqa: RUF005 (an array plus a pair is a sum here, not a list made longer)

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from canvas import shape
from shapely.geometry import Polygon
from tools_a import Table, arc_length, profile, ribbon, tooth

from composer.art.brush import normals, spline, stroke, swell


def bract(cv: Table, spine: list, width: float, spines: int, lit: int, heavy: float = 1.15, tone: float = 0.55,
        shadow: float = 0.0) -> Any:
    """Spined bract along a midrib: each lobe runs out to a needle with a hollow bay between; veins to the needles."""
    p = spline(spine, step_mm=0.4)
    s = arc_length(p)
    n = normals(p)
    d = np.gradient(p, axis=0)
    d /= np.hypot(*d.T)[:, None]

    form = profile([(0, 0.34), (0.18, 0.78), (0.38, 1.0), (0.6, 0.8), (0.8, 0.44), (0.92, 0.2), (1, 0.06)])

    def body(u: float) -> float:
        return width / 2 * float(form(np.array(u)))

    def at(u: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        i = min(len(p) - 1, int(u * (len(p) - 1)))
        return p[i], n[i], d[i]

    def edge(side: int) -> tuple[list[np.ndarray], list[tuple[float, np.ndarray]]]:
        ring: list[np.ndarray] = []
        tips = []
        for k in range(spines):
            u0 = 0.14 + 0.6 * (k / spines) ** 0.9
            u1 = 0.14 + 0.6 * ((k + 1) / spines) ** 0.9
            um = u0 + 0.46 * (u1 - u0)
            c, m, f = at(u0)
            bay = c + side * m * body(u0) * (0.62 if k else 0.8)
            c, m, f = at(um)
            reach = (1.6, 1.32, 1.66, 1.4)[k % 4]
            tip = c + side * m * body(um) * reach + f * body(um) * (0.75 + 0.3 * (k % 2))
            a, b = bay, tip
            v = b - a
            q = np.array([-v[1], v[0]]) * side
            c2, m2, _ = at(u1)
            nxt = c2 + side * m2 * body(u1) * 0.62
            w = tip - nxt
            r = np.array([-w[1], w[0]]) * side
            ring += list(spline([a, a + v * 0.35 - q * 0.16, a + v * 0.72 - q * 0.1, b], step_mm=0.5))
            ring += list(spline([b, nxt + w * 0.55 + r * 0.02, nxt + w * 0.2 - r * 0.14, nxt], step_mm=0.5))[1:]
            tips.append((um - 0.4 * (um - u0), tip))
        return ring, tips

    left, tl = edge(1)
    right, tr = edge(-1)
    end = p[-1] + d[-1] * width * 0.24
    base = [p[0] - n[0] * body(0) * 0.7, p[0] + n[0] * body(0) * 0.7]
    # past the last bay the bract draws out to one long point
    run = [0.76, 0.81, 0.86, 0.91, 0.955]
    tipl = spline([left[-1]] + [at(u)[0] + at(u)[1] * body(u) * (0.66 + 0.2 * np.sin(np.pi * (u - 0.74) / 0.26))
        for u in run] + [end], step_mm=0.5)[1:]
    tipr = spline([end] + [at(u)[0] - at(u)[1] * body(u) * (0.66 + 0.2 * np.sin(np.pi * (u - 0.74) / 0.26))
        for u in run[::-1]] + [right[-1]], step_mm=0.5)
    ring = np.vstack([[base[1]], left, tipl, tipr, right[::-1], [base[0]]])
    whole = shapely.make_valid(Polygon(ring)).buffer(0.02)
    g = max(shapely.get_parts(whole), key=lambda q: q.area)
    g = Polygon(g.exterior)
    cv.erase(g)
    cv.forms.append(g)
    # black: the far half solid from the root, flicked out along the veins; rib and veins stay open
    dark: list[Any] = []
    half = shape(np.vstack([p, p[-1:] + d[-1:] * 3, p[::-1] + (-lit) * n[::-1] * width]), smooth=False)
    keep = shape(np.vstack([p[: int(len(p) * tone)] + (-lit) * n[: int(len(p) * tone)] * width * 0.9,
        p[: int(len(p) * (tone + 0.12))][::-1]]), smooth=False)
    dark.append(half.intersection(keep))
    root = int(len(p) * 0.12)
    dark.append(shape(np.vstack([p[:root] + n[:root] * width, (p[:root] - n[:root] * width)[::-1]]), smooth=False))
    for k in range(int(s[-1] / 1.15)):
        u = 0.12 + 0.64 * k / (s[-1] / 1.15)
        c, m, f = at(u)
        for side in (1, -1):
            w = body(u)
            ln = w * (1.15, 0.6, 0.9, 0.45)[k % 4] * ((1.0 if u < tone + 0.25 else 0.5)
                if side == -lit else 0.42) * (1.1 - 0.55 * u)
            v = side * m * 0.72 + f * 0.7
            dark.append(tooth(c, v * ln, 1.05, 0.05 * side))
    veins = [stroke(p[: int(len(p) * 0.76)], max(0.6, width * 0.055), swell(0.1, 1.0, 0.3))]
    for u, tip in [*tl, *tr]:
        c, m, f = at(max(0.02, u - 0.06))
        mid = c * 0.5 + tip * 0.5 - f * width * 0.03
        veins.append(stroke(spline([c, mid, tip * 0.86 + c * 0.14]), max(0.5, width * 0.04), swell(0.1, 1.0, 0.35)))
    cv.put("black", shapely.union_all([shapely.make_valid(x) for x in dark]).difference(shapely.union_all(veins)), g)
    # on lit skin the veins are drawn instead
    for u, tip in (tl if lit > 0 else tr):
        c, m, f = at(u)
        cv.line([c * 0.45 + tip * 0.55, c * 0.25 + tip * 0.75 - f * 0.15, c * 0.05 + tip * 0.95], 0.42, 0.2, 0.6, 0.1,
            g)
    cv.line(p[int(len(p) * 0.72): int(len(p) * 0.97)], 0.6, 0.1, 0.5, 0.0, g, smooth=False)
    if shadow:
        cut = shape(np.vstack([p[: int(len(p) * shadow)] + n[: int(len(p) * shadow)] * width,
            (p[: int(len(p) * shadow)] - n[: int(len(p) * shadow)] * width)[::-1]]), smooth=False)
        cv.put("black", cut, g)
    # outline: heavy away from the light, drawn out to nothing at every needle
    closed = np.asarray(g.exterior.coords)[:-1]
    closed = np.vstack([closed, closed[:2]])
    nn = normals(closed) * (-1 if g.exterior.is_ccw else 1)
    k = (1 - nn @ np.array([-0.5, 0.87])) / 2
    k = np.convolve(np.pad(k, 4, mode="wrap"), np.ones(9) / 9, "valid")
    needles = np.array([end, *[q for _, q in tl], *[q for _, q in tr]])
    near = np.min(np.hypot(closed[:, None, 0] - needles[None, :, 0], closed[:, None, 1] - needles[None, :, 1]), axis=1)
    cv.put("line", stroke(closed, (0.5 + (heavy - 0.5) * k) * np.clip(0.28 + near / 2.6, 0.28, 1.0), least_mm=0.14))
    return g


def head(cv: Table, c: np.ndarray, rx: float, ry: float, counts: tuple[int, ...], tilt: float) -> None:
    """Cone of florets: ranks of pointed scales round a dome, black between, the right side turned from the light."""
    a = np.radians(tilt)
    rot = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    rows = len(counts)

    def on(u: float, v: float) -> np.ndarray:
        """u round the dome (-1..1), v up it (0..1)."""
        lat = v * np.pi / 2
        x = rx * np.sin(u * np.pi / 2) * np.cos(lat) ** 0.55
        y = ry * (1.75 * np.sin(lat) - 0.75) - 0.3 * ry * np.cos(u * np.pi / 2) * np.cos(lat)
        return c + rot @ np.array([x, y])

    dome = np.vstack([[on(u, 0) for u in np.linspace(-1, 1, 24)], [on(1, v) for v in np.linspace(0.05, 1, 20)],
        [on(-1, v) for v in np.linspace(1, 0.05, 20)]])
    core = shape(dome, smooth=False)
    cv.erase(core)
    cv.forms.append(core)
    cv.put("black", core)
    for r in range(rows - 1, -1, -1):
        v = r / rows * 0.94
        m = counts[r]
        us = np.linspace(-0.98, 0.98, m) if r % 2 else np.linspace(-0.98 + 0.98 / m, 0.98 - 0.98 / m, m)
        for u in sorted(us, key=lambda x: -abs(x)):
            q0, q1 = on(u, v), on(u, min(1.0, v + 1.0 / rows))
            up = q1 - q0
            ln = max(float(np.hypot(*up)), ry * 0.3)
            out = rot @ np.array([np.sin(u * 1.3) * 0.9, 0.55])
            up = up / max(np.hypot(*up), 1e-6) + out * (0.55 if r < rows - 1 else 0.9)
            up = up / np.hypot(*up) * ln * 1.35
            w = rx * np.pi / m * np.cos(np.arcsin(v) * 0.6) * (0.5 + 0.5 * np.cos(u * np.pi / 2))
            ring = ribbon([q0 - up * 0.1, q0 + up * 0.45 + out * 0.1, q0 + up],
                [(0, w * 0.3), (0.3, w * 0.46), (0.6, w * 0.34), (1, 0.06)])
            g = cv.form(ring, 0.7, 0.42, smooth=False)
            side = np.array([up[1], -up[0]]) / np.hypot(*up)
            half = shape(ribbon([q0 - up * 0.1, q0 + up * 0.5, q0 + up],
                [(0, 0.0), (0.3, -w * 0.06), (0.7, -w * 0.04), (1, 0)], [(0, w), (1, w * 0.5)]), smooth=False)
            if u > 0.12:
                cv.put("black", half, g)
            else:
                cv.line([q0, q0 + up * 0.4, q0 + up * 0.74], max(0.5, w * 0.16), 0.02, 1.0, 0.0, g, "black")
                cv.put("black", tooth(q0 + side * w * 0.26 + up * 0.05, up * 0.5, w * 0.3, 0.0), g)


def stem(cv: Table, pts: list, w0: float, w1: float) -> None:
    g = cv.form(ribbon(pts, [(0, w0), (1, w1)]), 1.1, 0.55, smooth=False)
    p = spline(pts, step_mm=0.6)
    ring = ribbon(pts, [(0, w0), (1, w1)])
    n = len(ring) // 2
    lft, rgt = ring[:n], ring[n:][::-1]
    dark = rgt if rgt[:, 0].mean() > lft[:, 0].mean() else lft
    cv.put("black", shape(np.vstack([p * 0.45 + dark * 0.55, dark[::-1]]), smooth=False), g)
    cv.line((p * 0.6 + (lft if dark is rgt else rgt) * 0.4)[4:-4], 0.5, 0.4, 0.2, 0.2, g, smooth=False)


def ruff(cv: Table, c: np.ndarray, scale: float, rows: list) -> None:
    """Bracts round a head: angle, length, width, sag, lit side, tone, spines a side."""
    for ang, ln, wd, sag, lit, tone, sp in rows:
        a = np.radians(ang)
        v = np.array([np.cos(a), np.sin(a) * 0.88]) * ln * scale
        m = np.array([-v[1], v[0]]) * sag
        bract(cv, [c + v * 0.06, c + v * 0.38 + m * 0.7, c + v * 0.72 + m, c + v + m * 0.5], wd * scale, sp, lit,
            1.15, tone, 0.0)


def draw() -> None:
    cv = Table(4)
    cv.least_mm = 0.42
    top, lft, rgt = np.array([1.0, 56.0]), np.array([-29.0, 24.0]), np.array([28.0, 19.0])
    stem(cv, [(-1, 4), (-8, 12), (-19, 15), (-27, 22)], 1.3, 1.0)
    stem(cv, [(-1, -1), (7, 7), (18, 10), (26, 16)], 1.3, 1.0)
    # leaves clasp the stem at the forks
    bract(cv, [(-2.2, 1), (-13, 1.4), (-28, -4), (-42, -17)], 15.5, 4, -1, 1.05, 0.5)
    bract(cv, [(-2.6, -7), (9, -5), (23, -10), (36, -25)], 15.5, 4, 1, 1.05, 0.5)
    stem(cv, [(-7.6, -29), (-2.6, -14), (-2.6, 10), (1, 50)], 1.15, 1.4)
    # buds
    for c, tilt in ((lft, 24), (rgt, -24)):
        ruff(cv, c, 0.66, [(110 + tilt, 28, 8.5, 0.04, -1, 0.5, 1), (70 + tilt, 28, 8.5, -0.04, 1, 0.55, 1),
            (146 + tilt, 30, 9, 0.1, -1, 0.5, 2), (34 + tilt, 30, 9, -0.1, 1, 0.55, 2),
                           (174 + tilt, 31, 9, 0.1, -1, 0.5, 2), (6 + tilt, 31, 9, -0.1, 1, 0.55, 2)])
        head(cv, c + (-0.06 * tilt, 4.6), 5.6, 6.4, (5, 4, 3), tilt)
        ruff(cv, c, 0.66, [(206 + tilt, 28, 9, 0.14, -1, 0.6, 2), (-26 + tilt, 28, 9, -0.14, 1, 0.6, 2),
            (240 + tilt, 21, 8.5, 0.1, -1, 0.6, 1), (-60 + tilt, 21, 8.5, -0.1, 1, 0.6, 1)])
    # the flower: two whorls behind the cone, one in front
    ruff(cv, top, 1.0, [(100, 35, 10, 0.02, -1, 0.6, 2), (76, 34, 10, -0.02, 1, 0.62, 2),
        (126, 37, 11, 0.06, -1, 0.6, 3), (52, 37, 11, -0.06, 1, 0.62, 3),
                       (152, 39, 11.5, 0.09, -1, 0.6, 3), (27, 39, 11.5, -0.09, 1, 0.62, 3), (177, 40, 12, 0.11, -1,
                           0.6, 3), (3, 40, 12, -0.11, 1, 0.64, 3)])
    head(cv, top + (0, 8.0), 9.4, 10.5, (8, 7, 6, 5, 3), 0)
    ruff(cv, top, 1.0, [(201, 38, 12, 0.15, -1, 0.66, 3), (-22, 38, 12, -0.15, 1, 0.68, 3),
        (228, 32, 11.5, 0.15, -1, 0.66, 2), (-50, 32, 11.5, -0.15, 1, 0.68, 2), (258, 25, 10.5, 0.06, -1, 0.68, 2),
                       (-78, 25, 10.5, -0.06, 1, 0.7, 2)])
    cv.save("sea_holly", {
        "title": "Sea holly of the shingle bar", "min_mm": 80, "max_mm": 180, "facing": "none", "upright_deg": 0,
        "symmetric": False, "focal": False, "keep_whole": False,
        "tags": ["flower", "sea holly", "thistle", "spines", "estuary", "filler"], "licence": "CC0-1.0",
        "about": "Sea holly from the shingle bar, tied to the pilot boat's stem on the first trip of the year.",
    }, fine_mm=0.035, scale=0.84)


if __name__ == "__main__":

    draw()
