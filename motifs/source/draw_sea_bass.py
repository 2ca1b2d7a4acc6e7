"""Sea bass leaping, body in an S: scale rows with shadow under every scale, fins with rays."""

# ruff: noqa: RUF005 - points are numpy arrays, so "p + [x, y]" is a sum
from __future__ import annotations

import numpy as np
import shapely
from canvas import Canvas
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from tools_c import between, black, crv, even, flick, inked, stipple, thin, tidy, tube, vline

from composer.art.brush import arc_length, normals

SPINE = crv([(10, 87), (24, 88.5), (40, 84), (56, 72), (69, 56), (84, 43), (102, 39.5), (117, 49), (123, 65)], 0.4)
S = arc_length(SPINE)
N = normals(SPINE)
UP = [(0, 6), (6, 9.2), (12, 11.8), (20, 14.4), (30, 16.4), (44, 18), (60, 17.6), (78, 14.6), (95, 10.4), (112, 7),
      (125, 5.8), (138, 6.6)]
DOWN = [(0, 12.2), (6, 14.0), (14, 15.2), (24, 16.2), (36, 17), (50, 17.2), (66, 15.4), (80, 12.6), (95, 9.2),
    (112, 6.4),
        (125, 5.6), (138, 6.6)]
FULL = 34.4


def at(s: float, y: float) -> np.ndarray:
    """Point on the fish: s mm behind the snout, y mm above the spine line."""
    t = np.array([np.interp(s, S, N[:, 0]), np.interp(s, S, N[:, 1])])
    t /= np.hypot(*t)
    p = np.array([np.interp(s, S, SPINE[:, 0]), np.interp(s, S, SPINE[:, 1])])
    if s < 0:
        p = p + s * np.array([t[1], -t[0]])
    if s > S[-1]:
        p = p + (s - S[-1]) * np.array([t[1], -t[0]])
    return p + t * y


def on(points: list[tuple[float, ...]]) -> np.ndarray:
    """Fish coordinates to paper; a width column is kept."""
    return np.array([[*at(p[0], p[1]), *p[2:]] for p in points])


def up(s: float) -> float:
    return float(np.interp(s, *np.array(UP).T))


def down(s: float) -> float:
    return float(np.interp(s, *np.array(DOWN).T))


def fin(c: Canvas, bases: np.ndarray, tips: np.ndarray, bend: np.ndarray, scallop: float, reach: float,
        ray: float = 0.6, split: bool = False, heavy: float = 0.9, spiny: bool = False) -> BaseGeometry:
    """A fan of rays with membrane; each space between two rays carries a black wedge from the root."""
    rays = [crv([b, (b + t) / 2 + m, t], 0.8) for b, t, m in zip(bases, tips, bend, strict=True)]
    edge = [rays[0]]
    for i in range(len(rays) - 1):
        a, b = rays[i][-1], rays[i + 1][-1]
        root = (rays[i][0] + rays[i + 1][0]) / 2
        dip = (a + b) / 2 + (root - (a + b) / 2) * scallop
        if spiny:
            low = even(rays[i + 1], 20)[14]
            edge.append(crv([a, (a + low) / 2 + (root - (a + low) / 2) * scallop, low], 0.8))
            edge.append(np.array([low, b]))
        else:
            edge.append(crv([a, dip, b], 0.8)[1:])
    edge.append(rays[-1][::-1])
    g = shapely.make_valid(Polygon(np.concatenate(edge))).buffer(0)
    inked(c, g, heavy, 0.55, 110, smooth=False)
    for i in range(len(rays) - 1):
        r = reach * (1.0, 0.72, 0.88, 0.62)[i % 4]
        a, b = even(rays[i], 30), even(rays[i + 1], 30)
        k = np.linspace(0, 1, int(30 * r) + 2)
        left = np.array([np.interp(k * r, np.linspace(0, 1, 30), a[:, j]) for j in (0, 1)]).T
        right = np.array([np.interp(k * r, np.linspace(0, 1, 30), b[:, j]) for j in (0, 1)]).T
        close = np.clip(k * 0.85 + 0.05, 0, 1)[:, None]
        black(c, np.vstack([left, (right * (1 - close) + left * close)[::-1]]), g, smooth=False)
        if split:
            m = between(a, b, 0.5, 20)
            thin(c, m[int(20 * r) - 2:19], 0.3, g)
    for k, r in enumerate(rays[:-1] if not spiny else rays):
        thin(c, r[:: 2] if len(r) > 8 else r, ray if k else ray * 1.5, g.buffer(0.5), belly=0.05, start=1.0, end=0.3)
    return g


def along(root: list[tuple[float, float]], out: list[tuple[float, float]]) -> tuple[np.ndarray, np.ndarray]:
    """Ray roots on the fish and tips given as (back, up) in the frame of the body at each root."""
    b, t = [], []
    for (s, y), (back, rise) in zip(root, out, strict=True):
        n = np.array([np.interp(s, S, N[:, 0]), np.interp(s, S, N[:, 1])])
        n /= np.hypot(*n)
        b.append(at(s, y))
        t.append(at(s, y) + back * np.array([n[1], -n[0]]) + rise * n)
    return np.array(b), np.array(t)


def scales(c: Canvas, room: BaseGeometry) -> None:
    """Rows of scales; each casts a toothed shadow on the next, deep on the back, none on the belly."""
    s = 33.0
    column = 0
    lines, shadows, pores = [], [], []
    while s < 137:
        pitch = 2.75 * ((up(s) + down(s)) / FULL) ** 0.62
        for k in range(-9, 9):
            y = (k + 0.5 * (column % 2)) * 2 * pitch + 1.0
            if y > up(s) + pitch or y < -down(s) - pitch:
                continue
            v = y / up(s) if y > 0 else y / down(s)
            h, reach = pitch * 1.02, pitch * 1.25
            a = np.radians(np.linspace(84, -84, 7))
            arc = [(s + reach * np.cos(t) - 0.4 * reach, y + h * np.sin(t)) for t in a]
            if k == 0 and column % 2 == 0 and s > 40:
                pores.append(Polygon(on([(s + reach * 0.75, y + 0.28), (s + reach * 1.35, y),
                    (s + reach * 0.75, y - 0.28)])))
            if v > -0.62:
                tone = np.clip(0.27 + 0.86 * v, 0, 0.9) if v > -0.3 else 0.0
                w = 0.42 if v > -0.3 else 0.3
                lines.append([(*p, w * (0.45 + 0.55 * i / 6)) for i, p in enumerate(arc)])
                if tone > 0.02:
                    deep = tone * 2 * pitch * 0.95
                    teeth = [1.0, 0.55, 0.9, 0.5, 0.8]
                    outer = []
                    for i, q in enumerate(np.linspace(0.12, 0.88, 5)):
                        t = np.radians(84 - 168 * q)
                        soft = np.sin(np.pi * q) ** 0.5
                        outer.append((s + reach * np.cos(t) - 0.4 * reach + deep * teeth[i] * soft,
                                      y + h * np.sin(t) * (0.96 - 0.2 * tone)))
                        if i < 4 and tone < 0.62:
                            t2 = np.radians(84 - 168 * (q + 0.095))
                            outer.append((s + reach * np.cos(t2) - 0.4 * reach + deep * 0.34,
                                          y + h * np.sin(t2) * 0.96))
                    shadows.append(Polygon(on(arc + outer[::-1])).buffer(0))
            elif v > -0.86 and (column + k) % 3 == 0:
                lines.append([(*p, 0.24) for p in arc[1:6]])
        s += pitch * 1.28
        column += 1
    c.put("black", shapely.union_all([*shadows, *pores]), room)
    for line in lines:
        vline(c, on(line), room, step=1.2)


def draw() -> None:
    c = Canvas(7)
    # fins behind the body
    root = [(s, up(s) - 1.5) for s in np.linspace(43, 75, 9)]
    b, t = along(root, [(0, 12), (1.5, 19), (3.5, 22), (5.5, 21.5), (7, 19.5), (8, 17), (8.5, 14), (8.5, 11),
        (8, 7.5)])
    n = t - b
    bend = np.column_stack([-n[:, 1], n[:, 0]]) * 0.05
    fin(c, b, t, bend, 0.12, 0.62, 0.75, spiny=True)
    root = [(s, up(s) - 1.0) for s in np.linspace(80, 103, 11)]
    b, t = along(root, [(2, 14), (3.5, 17.5), (5, 18), (6.5, 17), (7.5, 15.4), (8, 13.6), (8.4, 11.8), (8.6, 10),
        (8.6, 8.4),
                        (8.6, 6.8), (8, 5)])
    n = t - b
    fin(c, b, t, np.column_stack([n[:, 1], -n[:, 0]]) * -0.07, 0.035, 0.6, 0.5, split=True)
    root = [(s, -down(s) + 1.0) for s in np.linspace(88, 102, 9)]
    b, t = along(root, [(3.5, -7), (6, -11.5), (9, -14.5), (10.6, -13), (11, -10.8), (11, -8.8), (10.8, -7),
        (10.6, -5.4),
                        (10, -4)])
    n = t - b
    fin(c, b, t, np.column_stack([n[:, 1], -n[:, 0]]) * 0.08, 0.04, 0.6, 0.5, split=True)
    # far pelvic, then near pelvic
    b, t = along([(50 + i * 1.0, -15) for i in range(6)], [(6, -13), (9, -15), (11.5, -15), (13, -13.4), (13.5, -11),
        (13, -8)])
    fin(c, b + [7, -1.0], t + [9, 0.5], np.zeros((6, 2)) + [0.4, -0.6], 0.08, 0.9, 0.5)
    # tail
    lobe = [(27, 21), (25.5, 17.8), (24, 14.6), (22.6, 11.4), (21, 8.2), (19.4, 5), (18.2, 1.8), (18.2, -1.6),
        (19.4, -5),
            (21, -8.4), (22.6, -11.8), (24.2, -15.2), (25.8, -18.6), (27, -22)]
    b, t = along([(136, y) for y in np.linspace(6, -6, 14)], lobe)
    n = t - b
    side = np.linspace(1, -1, 14)[:, None]
    fin(c, b, t, np.column_stack([-n[:, 1], n[:, 0]]) * 0.1 * side, 0.05, 0.72, 0.55, split=True, heavy=1.2)
    # body
    back = [(s, up(s)) for s in (6, 12, 20, 30, 44, 60, 78, 95, 112, 125, 136)]
    belly = [(s, -down(s)) for s in (136, 125, 112, 95, 80, 66, 50, 36, 24, 14, 6)]
    ring = [(0.5, 7.0)] + back + [(139, 5.2), (139.6, 0), (139, -5.2)] + belly
    ring += [(1, -13.0), (-2.6, -12.2), (-4.2, -10.2), (-3.2, -8.4), (0, -7.8), (4, -7), (9, -5.2), (12.5, -3.4),
        (12.5, -3.4),
             (8, 0.2), (3, 2.6), (-1, 4.4), (-1, 4.4), (-1.2, 5.8)]
    # the far lip and the hollow of the mouth lie behind the near jaw
    hollow = on([(-0.6, 4.6), (-0.2, 0), (-1.4, -5), (-2.6, -9), (4, -8), (13, -4), (12, -2.6), (5, 2.2)])
    g = c.body(on(ring), 1.55, 0.8, 110)
    mouth = Polygon(crv(on([(1.6, 3.0), (3.4, -0.6), (2.6, -4.6), (1.0, -7.9), (5, -6.8), (11, -4.6), (13.4, -3.2),
        (10.5, -0.6), (5, 2.0)]), closed=True))
    c.forms.append(Polygon(hollow))
    c.put("black", mouth.difference(g.buffer(-0.3)))
    gill = crv(on([(27, 14.8), (32.5, 11.5), (36, 7.6), (35.6, 5.2), (39.6, 2.2), (36.2, 0), (35, -4.6), (32, -9.6),
        (27, -13.8), (20, -15.4)]))
    head = Polygon(np.vstack([gill, on([(-4, -16), (-8, 0), (-4, 14), (14, 20), (24, 18)])])).buffer(0)
    room = g.difference(head)
    c.erase(tube(on([(138.6, 4.6), (139.4, 0), (138.6, -4.6)]), 2.4).difference(tube(on([(120, 5.8), (141, 6.9)]),
        1.2)).difference(tube(on([(120, -5.8), (141, -6.9)]), 1.2)))
    root = on([(136.4, 6.2), (138.4, 3), (139, 0), (138.4, -3), (136.4, -6.2)])
    flick(c, crv(root), on([(146, 9.6), (149.6, 4.6), (150.4, 0), (149.6, -4.6), (146, -9.6)]), 26, 0.9, 0.0, None,
        fade=0.2)
    scales(c, room)
    # back goes black, whipped along the scales; the belly is only stippled
    edge = on([(s, up(s)) for s in np.linspace(27, 138, 90)])
    flick(c, edge, on([(s + 3.4, up(s) * 0.5) for s in np.linspace(27, 137, 90)]), 92, 1.5, 0.08, room, solid=0.42)
    low = on([(s, -down(s)) for s in np.linspace(36, 138, 90)])
    flick(c, low, on([(s + 2.5, -down(s) * 0.66) for s in np.linspace(36, 137, 90)]), 84, 0.75, -0.06, room, solid=0.1)
    head_art(c, g, gill, room)
    # pectoral fin lies on the flank
    b, t = along([(40.5 + i * 0.1, -1.0 - i * 0.8) for i in range(9)],
                 [(17, 5.5), (20, 3.0), (21, 0.6), (20.8, -1.6), (19.6, -3.6), (17.6, -5), (15.2, -6), (12.6, -6.2),
                     (10, -5.6)])
    n = t - b
    fin(c, b, t, np.column_stack([n[:, 1], -n[:, 0]]) * 0.09, 0.03, 0.66, 0.5, split=True, heavy=0.85)
    knob = c.body(on([(38.6, -0.4), (41, -0.2), (42.4, -3.6), (42.4, -7.6), (40.4, -8.8), (38.4, -5)]), 0.8, 0.5)
    flick(c, on([(38.6, -0.6), (38.4, -5), (40.2, -9)]), on([(41.4, -1.6), (41.8, -5), (42, -8.4)]), 12, 0.5, 0, knob)
    b, t = along([(46 + i * 1.0, -15.6) for i in range(6)], [(4, -13.5), (7.5, -16.5), (10.5, -17), (13, -15.2),
        (14, -12.4), (13.5, -9)])
    fin(c, b, t, np.zeros((6, 2)) + [0.4, -0.8], 0.08, 0.7, 0.55)
    tidy(c)
    c.save("sea_bass", {
        "title": "Sea bass leaping", "min_mm": 125, "max_mm": 260, "facing": "left", "upright_deg": 0,
        "symmetric": False, "focal": True, "keep_whole": True,
        "tags": ["fish", "sea bass", "estuary", "animal", "leaping"], "licence": "CC0-1.0",
        "about": "A sea bass clears the tide race where the estuary meets the lighthouse bar."})


def head_art(c: Canvas, g: BaseGeometry, gill: np.ndarray, room: BaseGeometry) -> None:
    """Jaw, eye, cheek plates; black under the gill cover."""
    # shadow cast by the gill cover on the first scales
    far = gill + on([(0, 0)])[0] * 0
    flick(c, gill, far + (at(44, -2) - at(37, 0)), 40, 1.0, 0.0, room, fade=0.5)
    vline(c, np.column_stack([gill[::3], np.interp(np.linspace(0, 1, len(gill[::3])), [0, 0.4, 1], [0.5, 1.2, 0.6])]),
        g)
    # cover plate, inner edge and second spine
    vline(c, on([(29, 9.5, 0.2), (32, 6.8, 0.5), (36.8, 3.0, 0.3)]), g)
    vline(c, on([(29.2, 5.6, 0.2), (33, 3.2, 0.45), (37, 2.0, 0.2)]), g)
    # cheek plate with its saw edge
    saw = crv(on([(21.6, 12.4), (24.6, 8), (25.2, 2), (24.4, -4), (21, -9), (15, -11)]), 0.5)
    m = even(saw, 29)
    tooth = m.copy()
    nn = normals(m)
    tooth[1::2] += nn[1::2] * 0.8
    c.put("line", Polygon(np.vstack([tooth, m[::-1] - nn[::-1] * 0.35])).buffer(0), g)
    flick(c, m, m + (at(30, -1.5) - at(24.6, 1)), 34, 0.62, 0.03, g, fade=0.6)
    thin(c, on([(19, 9.6), (21.4, 5), (21.6, 0), (20.4, -4), (17, -7.4)]), 0.4, g)
    # crown: black whipped down from the outline
    top = on([(s, up(s)) for s in np.linspace(0.5, 30, 30)])
    flick(c, top, on([(s + 2.2, up(s) - np.interp(s, [0, 12, 30], [2.0, 4.4, 7.0])) for s in np.linspace(0.5, 30,
        30)]), 46, 0.85, 0.04, g)
    # maxilla over the mouth corner
    jaw = c.body(on([(-0.4, 4.6), (4, 4.2), (9, 1.6), (13.6, -1.4), (16.4, -5.6), (14.6, -7.2), (12, -5.2),
        (8.4, -1.4), (4, 1.4), (-0.6, 3.4)]), 0.95, 0.6)
    flick(c, on([(4, 1.4), (8.4, -1.4), (12, -5.2), (14.6, -7.2)]), on([(5, 3.4), (9.6, 0.6), (13.6, -2.8),
        (15.8, -5.6)]), 18, 0.55, 0, jaw)
    # lower jaw: lip and throat
    vline(c, on([(-2.6, -10.2, 0.3), (3, -9.6, 0.7), (9, -8.2, 0.6), (13.4, -8.0, 0.2)]), g)
    under = on([(s, -down(s)) for s in np.linspace(2, 26, 20)])
    flick(c, under, on([(s + 1.5, -down(s) + 2.4) for s in np.linspace(2, 26, 20)]), 30, 0.6, 0, g)
    for s in (3.2, 6.4, 9.6):
        c.put("black", shapely.Point(at(s, -11.2 - s * 0.03)).buffer(0.32, quad_segs=2))
    # eye
    e = at(14.6, 6.2)
    rim = c.body(shapely.Point(e).buffer(4.3, quad_segs=12), 1.1, 0.6, smooth=False, silhouette=False)
    iris = shapely.Point(e).buffer(3.1, quad_segs=12)
    c.put("black", iris.difference(shapely.Point(e + [-0.5, 0.35]).buffer(2.25, quad_segs=10)), rim)
    c.put("black", shapely.Point(e + [0.1, 0.0]).buffer(1.75, quad_segs=10).difference(shapely.Point(e + [-0.75,
        0.75]).buffer(0.62, quad_segs=6)))
    brow = inked(c, on([(9.4, 7.8), (12, 8.5), (15, 9.0), (18.4, 9.6), (20.8, 9.0), (20.4, 10.8), (15.4, 11.0),
        (11.4, 9.2)]), 0.05, 0.05, silhouette=False)
    vline(c, on([(8.8, 7.4, 0.2), (11, 8.3, 0.9), (14.6, 8.9, 1.3), (18.2, 9.5, 1.1), (21.2, 8.6, 0.2)]), g)
    flick(c, on([(9.6, 8.5), (14.6, 9.2), (19.6, 9.7)]), on([(11.2, 9.4), (15.6, 11.0), (20.4, 10.8)]), 14, 0.7, 0.1,
        brow, fade=0.5)
    # nostrils, cheek stipple
    c.put("black", shapely.Point(at(6.4, 7.2)).buffer(0.55, quad_segs=4))
    c.put("black", shapely.Point(at(8.4, 8.0)).buffer(0.4, quad_segs=4))
    cheek = Polygon(on([(17, 3), (23, 4), (23, -4), (19, -8.5), (16.5, -6)])).intersection(g)
    stipple(c, cheek, lambda x, y: 0.5, 0.4, 160, 2.4)
    plate = Polygon(on([(27, 3), (34, -1), (33, -7), (27, -11.5), (25, -8)])).intersection(g)
    stipple(c, plate, lambda x, y: 0.6, 0.42, 160, 2.4)


if __name__ == "__main__":
    draw()
