"""Ship's lantern, burning: iron cage round a glass, drawn from a little above."""

from __future__ import annotations

import numpy as np
import shapely
from canvas import ellipse
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from tools_b import RHYTHM, Table, Tube, at_shares, flip, loop, round_loop, taper, xy

from composer.art.brush import spline, stroke

R = 0.2  # how far the hoops open to the eye


def hoop(cx: float, y: float, r: float, a0: float = 180.0, a1: float = 360.0, n: int = 40) -> np.ndarray:
    """Part of a level circle seen from above; 180..360 is the near half, left to right."""
    a = np.radians(np.linspace(a0, a1, n))
    return np.column_stack([cx + r * np.cos(a), y + r * R * np.sin(a)])


def drum(c: Table, y0: float, r0: float, y1: float, r1: float, bulge: float = 0.0, lid: bool = True,
         heavy: float = 1.0, dark: float = 300.0, far: float = 262.0) -> BaseGeometry:
    """Turned metal from (y0, r0) up to (y1, r1): black on the right, whipped round along the hoops."""
    side = [(r0, y0), ((r0 + r1) / 2 + bulge, (y0 + y1) / 2), (r1, y1)]
    low, top = hoop(0, y0, r0), hoop(0, y1, r1, 180, 0)
    right = spline(side)
    g = shapely.make_valid(Polygon(np.vstack([flip(right)[::-1], low[1:-1], right, top[::-1][1:-1]])))
    c.form(g, heavy, 0.55)
    rim = round_loop(ellipse(0, y1, r1, r1 * R))
    front = g.difference(rim) if lid else g
    n = max(4, int((y1 - y0) / 0.62))
    for i, (r, y) in enumerate(at_shares(right, np.linspace(0, 1, n))):
        end = dark - (dark - far) * RHYTHM[(i * 3) % 8]
        c.put("line", stroke(hoop(0, y, r, 362, end, 30), lambda t: 0.95 * (1 - t) ** 0.7 + 0.1, None, 0.06), front)
        end = 180 + 34 * RHYTHM[(i * 3 + 2) % 8]
        c.put("line", stroke(hoop(0, y, r, 178, end, 20), lambda t: 0.9 * (1 - t) ** 0.8 + 0.05, None, 0.06), front)
    a0 = min(dark + 22, 345)
    solid = np.vstack([hoop(0, y0 - 1, r0, a0, 361, 14), right + xy(1, 0), hoop(0, y1 + 1, r1, 361, a0, 14)])
    c.put("black", shapely.make_valid(Polygon(solid)), front)
    if lid:
        c.form(rim, 0.6, 0.4)
    return g


def draw() -> None:
    c = Table(seed=5)
    # handle behind
    bail = Tube([(-13.6, 57.0), (-14.4, 65.0), (-9.4, 74.4), (0, 78.2), (9.4, 74.4), (14.4, 65.0), (13.6, 57.0)],
                [(0, 1.7), (0.5, 2.1), (1, 1.7)], (0, 0))
    g = c.form(bail.form(), 0.8, 0.5)
    c.shade(bail.lane(-1, 0.42, 1), bail.lane(0.6, 0.42, 1), g, 0.45, 0.6, ends=0.1)
    c.line(bail.lane(-0.1, 0.06, 0.4), 0.4, 0.5, 0.1, 0.0, g)
    # foot
    drum(c, 3.6, 19.0, 6.6, 19.0, heavy=1.2)
    drum(c, 7.2, 16.0, 13.0, 13.6, 1.2)
    drum(c, 13.4, 10.4, 16.0, 10.8)
    drum(c, 16.6, 16.6, 18.6, 16.6)
    # glass, the night in it, and the light
    edge = [(11.4, 18.6), (14.2, 24), (15.6, 32), (14.8, 41), (11.6, 49.4)]
    right = spline(edge)
    glass = shapely.make_valid(Polygon(np.vstack([flip(right)[::-1], hoop(0, 18.6, 11.4)[1:-1], right,
                                                  hoop(0, 49.4, 11.4, 360, 180)[1:-1]])))
    g = c.form(glass, 1.1, 0.8)
    c.put("black", g)
    glow = loop([(-5.6, 20.8), (-9.4, 25.8), (-9.2, 31.4), (-6.2, 36.0), (-4.6, 38.8), (-4.2, 43.0), (-4.2, 43.0),
            (-0.4, 41.6),
                 (3.0, 40.0), (5.6, 37.6), (8.4, 33.0), (9.2, 28.4), (7.8, 23.6), (5.0, 20.8)])
    ring = spline(np.asarray(glow.exterior.coords)[:-1:4], closed=True)
    for k, p in enumerate(at_shares(ring, np.linspace(0, 1, 46, endpoint=False))):
        d = p - (0, 29.5)
        d = d / np.hypot(*d)
        if d[1] > -0.75:
            q = p + d * (1.6, 4.6, 2.6, 6.4, 1.8, 3.6)[k % 6]
            c.erase(taper(p - d * 1.0, q, 0.95).intersection(glass.buffer(-1.0)).intersection(shapely.box(-8.6, 0,
                    8.6, 90)))
    c.erase(glow)
    flame = loop([(-3.8, 21.0), (-6.4, 25.4), (-6.2, 30.0), (-3.8, 33.6), (-2.6, 36.6), (-2.8, 41.4), (-2.8, 41.4),
            (0.6, 38.6),
                  (1.5, 35.4), (2.4, 34.4), (3.4, 37.2), (3.4, 37.2), (5.6, 33.4), (6.4, 28.8), (5.4, 24.4),
                          (3.4, 21.0)])
    g2 = c.form(flame, 0.9, 0.55)
    c.shade([(-4.0, 20.8), (0, 20.2), (3.6, 20.8)], [(-4.0, 25.8), (0.0, 27.0), (3.6, 25.4)], g2, 0.3, 0.6, ends=0.05)
    c.line([(-4.6, 25.6), (-4.4, 29.0), (-2.0, 32.6), (-1.2, 37.4)], 0.6, 0.4, 0.1, 0, g2)
    c.line([(3.9, 25.2), (4.6, 28.4), (3.2, 32.6)], 0.6, 0.4, 0.1, 0, g2)
    c.line([(1.2, 28.6), (2.0, 31.0), (0.4, 34.6)], 0.5, 0.4, 0.1, 0, g2)
    core = loop([(-1.6, 21.0), (-2.2, 24.2), (-0.9, 27.2), (-0.6, 30.0), (-0.6, 30.0), (1.2, 27.6), (1.9, 24.2),
            (1.2, 21.0)])
    c.form(core, 0.7, 0.45)
    burner = c.form(loop([(-6.4, 16.6), (-6.4, 16.6), (-5.4, 19.4), (-3.9, 21.0), (-3.9, 21.0), (0, 20.4),
            (3.9, 21.0), (3.9, 21.0), (5.4, 19.4),
                          (6.4, 16.6), (6.4, 16.6), (0, 15.4)]), 0.9, 0.5, silhouette=False)
    c.shade([(6.6, 16.4), (5.4, 19.4), (3.9, 21.2)], [(0.6, 15.6), (0.6, 18.2), (0.6, 20.4)], burner, 0.4, 0.6, ends=0)
    # gleams
    c.erase(loop([(-12.9, 26.0), (-14.0, 32), (-13.4, 38.6), (-13.4, 38.6), (-12.5, 34.0), (-12.4, 29)]))
    c.erase(loop([(13.5, 30.6), (14.0, 33), (13.5, 36.0), (13.5, 36.0), (13.2, 33)]))
    # cage: bars and hoops before the glass
    for k in (-1.0, -0.58, 0.6, 1.0):
        drop = -R * float(np.sqrt(max(0.0, 1 - k * k)))
        pts = [(k * r, y + r * drop) for r, y in ((14.4, 18.6), (16.2, 25), (17.2, 33), (16.4, 42), (13.6, 50.6))]
        bar = Tube(pts, [(0, 1.5), (0.5, 1.6), (1, 1.5)], (0.4, 0.4))
        c.erase(bar.form().buffer(0.75).intersection(glass))
        gg = c.form(bar.form(), 0.75, 0.5)
        c.put("black", Polygon(np.vstack([bar.lane(-1), bar.lane(-0.1)[::-1]])), gg)
    for y, r in ((23.6, 16.7), (45.4, 16.3)):
        path = hoop(0, y, r)
        hoop_bar = Tube(path, [(0, 1.5), (0.5, 1.7), (1, 1.5)], (0.6, 0.6))
        c.erase(hoop_bar.form().buffer(0.7).intersection(glass))
        gg = c.form(hoop_bar.form(), 0.75, 0.5)
        c.shade(hoop_bar.lane(-1, 0.3, 1), hoop_bar.lane(0.9, 0.3, 1), gg, 0.5, 0.5, ends=0.25)
        for k in (-1.0, -0.58, 0.6, 1.0):
            x, yy = k * r, y - r * R * float(np.sqrt(max(0.0, 1 - k * k)))
            knob = c.form(round_loop(ellipse(x, yy, 1.35, 1.35)), 0.7, 0.5)
            c.put("black", knob.intersection(round_loop(ellipse(x + 0.55, yy - 0.5, 1.0, 0.9))))
    # hood: brim, neck, vents, dome
    drum(c, 50.4, 17.2, 52.2, 16.8, heavy=1.1)
    drum(c, 52.6, 14.0, 58.4, 9.6, 0.4)
    drum(c, 58.6, 8.6, 62.6, 8.6, dark=316, far=300)
    for k in (-0.66, -0.22, 0.24, 0.66):
        x, y = k * 8.6, 60.6 - 8.6 * R * float(np.sqrt(1 - k * k))
        hole = round_loop(ellipse(x, y, 1.1 * float(np.sqrt(1 - k * k)), 1.2))
        c.erase(hole.buffer(0.5))
        c.put("black", hole)
    dome_side = spline([(11.2, 63.0), (9.6, 66.4), (6.2, 69.0), (3.4, 70.4), (2.0, 72.0)])
    dome = shapely.make_valid(Polygon(np.vstack([flip(dome_side)[::-1], hoop(0, 63.0, 11.2)[1:-1], dome_side])))
    g = c.form(dome, 1.1, 0.6)
    c.shade(dome_side + xy(0.3, 0), [(3.4, 60.4), (3.6, 64.2), (2.4, 67.4), (0.6, 71.4)], g, 0.42, 0.7, ends=0, dots=1,
            bend=0.12)
    c.shade(flip(dome_side) - (0.3, 0), [(-7.8, 60.8), (-7.0, 64.4), (-4.4, 67.6), (-1.6, 71.4)], g, 0.2, 0.7,
            ends=0.1, bend=-0.1)
    c.line([(-3.4, 62.2), (-3.0, 66.0), (-1.5, 69.8)], 0.5, 0.3, 0.6, 0, g)
    knob = round_loop(ellipse(0, 72.6, 2.7, 2.1))
    g = c.form(knob, 0.9, 0.5)
    c.put("black", g.intersection(round_loop(ellipse(1.1, 72.0, 1.8, 1.5))))
    for x in (-13.6, 13.6):
        g = c.form(round_loop(ellipse(x, 55.0, 2.1, 2.3)), 0.9, 0.5)
        c.put("black", g.intersection(round_loop(ellipse(x + 0.7, 54.4, 1.5, 1.7))))
    outer, inner = round_loop(ellipse(0, 80.6, 4.6, 5.0)), round_loop(ellipse(0, 80.6, 2.7, 3.1))
    g = c.form(outer.difference(inner), 0.9, 0.5)
    c.put("black", g.difference(round_loop(ellipse(-0.7, 81.2, 4.5, 4.9))))
    c.put("black", g.intersection(round_loop(ellipse(-0.6, 81.0, 2.9, 3.3))).intersection(shapely.box(-6, 70, 0, 90)))
    # the handle's eye passes before the ring
    lip = bail.piece(0.47, 0.53)
    c.erase(lip)
    for v in (-1, 1):
        c.put("line", stroke(bail.lane(v, 0.462, 0.538), 0.7))
    c.save("lantern", {
        "title": "Ship's lantern, burning", "min_mm": 60, "max_mm": 150, "facing": "none", "upright_deg": 0,
        "symmetric": False, "focal": False, "keep_whole": False, "tags": ["lantern", "light", "flame", "ship"],
        "licence": "CC0-1.0",
        "about": "The lantern the pilot hangs out when the fog hides the lighthouse from the estuary.",
    })


if __name__ == "__main__":
    draw()
