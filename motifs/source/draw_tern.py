"""Tern banking home with a sand eel, wings spread, tail streamers out."""

# ruff: noqa: RUF005 (an array plus a pair is a sum here, not a list made longer)

from __future__ import annotations

import numpy as np
import shapely
from canvas import ellipse, shape
from scipy.interpolate import PchipInterpolator
from tools_a import Table, at, part, ribbon

from composer.art.brush import spline, stroke


class Wing:
    """Bone line and trailing edge with a common parameter u from shoulder (0) to wing tip (1)."""

    def __init__(self, bone: list, tips: list, u: list) -> None:
        self.bone = PchipInterpolator(u, np.asarray(bone, float))
        self.tips = PchipInterpolator(u, np.asarray(tips, float))

    def quill(self, u: float, inset: float = 0.0, share: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
        """Root (pushed back from the edge by inset mm) and the point at `share` of the quill."""
        r, q = self.bone(u), self.tips(u)
        d = (q - r) / np.hypot(*(q - r))
        return r + d * inset, r + (q - r) * share


def wing(cv: Table, w: Wing, side: int) -> None:
    """side 1: tip to the right. Flight feathers from the tip in, then the coverts rank by rank."""
    b = 0.05 * side
    for u in np.linspace(0.985, 0.6, 9):
        r, q = w.quill(u, 1.0)
        cv.feather(r, q, 6.6, b * (1.3 if u > 0.7 else 0.6), 0.62, 0.93, 0.42, 1.0, 0.45, solid=u > 0.8,
            dark_side=side, barbs=2, full=0.4)
    for u in np.linspace(0.56, 0.02, 10):
        r, q = w.quill(u, 1.0)
        cv.feather(r, q, 7.0, b * 0.8, 0.15, 0.86, 0.58, 0.95, 0.42, dark_side=side, barbs=3)
    for share_in, share_out, m, wd, start, tone in ((0.66, 0.36, 16, 6.4, 0.5, 0.82),
            (0.44, 0.235, 15, 5.6, 0.44, 0.78), (0.27, 0.14, 14, 4.8, 0.3, 0.7)):
        for i in range(m):
            u = 0.965 - 0.95 * (i + 0.4 * (m % 2)) / m
            share = np.interp(u, [0, 0.5, 0.68, 1], [share_in, share_in, share_out + 0.04, share_out * 0.75])
            r, q = w.quill(u, 0.5, share)
            cv.feather(r, q, wd if u < 0.6 else wd * 0.86, b * 0.5, 0.05, tone, start, 0.8, 0.4, dark_side=side,
                barbs=2)
    # leading edge: a band of close down over the bones, its lower edge in small tufts
    u = np.linspace(0.0, 1.0, 60)
    top = np.array([w.quill(x, -1.6)[0] for x in u])
    low = np.array([w.quill(x, np.interp(x, [0, 0.3, 0.6, 0.9, 1], [3.4, 3.8, 3.6, 2.0, 0.4]) + 0.8
        * abs(np.sin(x * 40)))[0] for x in u])
    g = cv.form(np.vstack([top, low[::-1]]), 0.95, 0.75, smooth=False)
    cv.shade(part(top, 0.02, 0.97), [(0, 2.2), (0.4, 2.6), (0.75, 1.8), (1, 0.8)], 40 * side, -1 if side > 0 else 1,
        0.8, 1.3, inside=g, dots=0)
    # small down on the band, two files
    for f0, off in ((0.36, 0.0), (0.68, 0.5)):
        for k in range(30):
            i = int((k + off + 0.6) / 31 * 59)
            if i > 54:
                break
            p = top[i] + (low[i] - top[i]) * f0
            d = (top[i + 1] - top[i]) / np.hypot(*(top[i + 1] - top[i]))
            m = (low[i] - top[i]) / max(np.hypot(*(low[i] - top[i])), 1e-6)
            cv.line([p - d * 0.55, p + m * 0.75, p + d * 0.75], 0.42, 0.5, 0.2, 0.1, g)


def tail(cv: Table) -> None:
    cv.feather((20, -5), (88, -11), 4.4, 0.09, 1.0, 0.9, 0.3, 0.95, 0.5, barbs=0, full=0.28, solid=True, dark_side=-1)
    cv.feather((20, -8), (78, -33), 4.4, 0.09, 1.0, 0.9, 0.3, 0.95, 0.5, barbs=0, full=0.28, solid=True, dark_side=-1)
    for q, wd in (((62, -14.6), 4.8), ((58, -25.4), 4.8), ((56, -16.4), 5), ((53, -23), 5), ((50, -19), 5.2)):
        cv.feather((22, -8), q, wd, 0.05, 0.5, 0.82, 0.52, 0.9, 0.42, barbs=3)


def body(cv: Table) -> None:
    g = cv.form([(-32, -1.0), (-27, 3.0), (-21, 4.2), (-14, 5.2), (-4, 8.4), (8, 7.6), (20, 2), (31, -5), (37, -10.4),
        (35, -13.4), (25, -14.2),
                 (14, -15.6), (2, -16.2), (-9, -14.4), (-18, -10.8), (-26, -7.2), (-32.4, -5)], 1.35, 0.7)
    belly = [(-24, -8.2), (-18, -10.8), (-9, -14.4), (2, -16.2), (14, -15.6), (25, -14.2), (35, -13.2)]
    cv.shade(belly, [(0, 1), (0.25, 4), (0.55, 7), (0.8, 5.5), (1, 3)], -60, 1, 0.85, 1.45, inside=g, dots=2)
    for x, y, n in ((-17, -4.6, 4), (-11, -7, 4), (-3, -5.6, 4), (4, -8.4, 3), (15, -6.4, 4), (22, -8.6, 3)):
        for k in range(n):
            p = np.array([x + 1.7 * k, y - 1.2 * k + 0.5 * (k % 2)])
            cv.line([p, p + (1.8, -0.1), p + (3.2, -1.2)], 0.45, 0.35, 0.2, 0, g)
    for q, wd in (((45, -11), 4.6), ((44, -17), 4.6), ((47, -14), 4.8)):
        cv.plume((28, -8.6), q, wd, 0.02, 0.85, -1)
    # feet trailed, webs folded: solid, toes parted by a thread of skin
    for r, m, e in (((12, -15.2), (19, -18.4), (27, -20.2)), ((18, -14.4), (25, -16.8), (33, -17.8))):
        shin = cv.form(ribbon([r, (r[0] + 3, r[1] - 2.2), m], [(0, 1.3), (0.5, 0.85), (1, 0.95)]), 0.7, 0.45,
            smooth=False)
        cv.shade([(r[0] + 0.3, r[1] - 1), (r[0] + 3.4, r[1] - 3), (m[0], m[1] - 0.9)], 0.9, 30, 1, 0.7, 0.9,
            inside=shin, dots=0)
        mx, my = m
        web = shape([(mx - 0.6, my + 0.9), (mx + 3, my + 1.2), (e[0], e[1] + 2.0), (e[0], e[1] + 2.0),
            (mx + 6.6, my + 0.1), (e[0] + 1.6, e[1]), (e[0] + 1.6, e[1]), (mx + 6.2, my - 1.6),
                     (e[0] - 0.6, e[1] - 1.9), (e[0] - 0.6, e[1] - 1.9), (mx + 3, my - 1.7), (mx - 0.4, my - 0.9)])
        cv.erase(web.buffer(0.35))
        cv.forms.append(web)
        seams = shapely.union_all([stroke(np.array([[mx + 0.6, my + k * 0.3], [e[0] - 1.6, e[1] + k * 0.95]]),
            0.36) for k in (-0.7, 0.75)])
        cv.put("black", web.difference(seams))


def head(cv: Table) -> None:
    # sand eel held across the bill
    spine = [(-53.5, 7), (-49.4, 1.4), (-46.4, -5), (-46.2, -12), (-49.2, -18.4), (-53.6, -21.6)]
    st = [(0, 0.5), (0.06, 1.3), (0.18, 2.2), (0.45, 2.7), (0.75, 1.7), (0.92, 0.8), (1, 0.8)]
    fin = cv.form([(-52.6, -20.6), (-52.6, -20.6), (-55, -23.6), (-56.4, -28), (-56.4, -28), (-57.6, -25.4),
        (-59, -24.2), (-62.4, -23), (-62.4, -23),
                   (-58.6, -21), (-54, -20)], 0.8, 0.5)
    for q in ((-56.4, -26), (-57.6, -24.4), (-60, -23.2)):
        cv.line([(-53.6, -21.4), q], 0.4, 0.2, 1, 0, fin)
    dorsal = cv.form([(-44.6, 0), (-42.2, -3), (-42.4, -9), (-44.4, -13), (-43.4, -6)], 0.6, 0.4)
    for y in (-2.4, -4.6, -6.8, -9, -11):
        cv.line([(-44.6, y + 1.2), (-42.4, y - 0.6)], 0.34, 0.2, 1, 0.2, dorsal)
    fish = cv.form(ribbon(spine, st), 1.0, 0.55, smooth=False)
    # black back, a scalloped lower edge, open belly
    cv.fill(ribbon(spine, st, [(0, 0.0), (0.12, -0.2), (0.45, -0.5), (0.9, -0.1), (1, 0)]), fish, smooth=False)
    p = spline(spine)
    for t in np.linspace(0.22, 0.86, 13):
        q = at(p, t)
        r = at(p, t + 0.03)
        d = (r - q) / np.hypot(*(r - q))
        m = np.array([d[1], -d[0]])
        cv.put("black", shape(ribbon([q + m * 0.1, q + m * 0.9 + d * 0.5, q + m * 1.5 + d * 1.3],
            [(0, 0.55), (1, 0.05)]), smooth=False), fish)
    cv.erase(shape(ellipse(-51.0, 3.7, 0.85, 0.85), smooth=False).intersection(fish))
    cv.fill(ellipse(-51.0, 3.7, 0.48, 0.48), fish, smooth=False)
    cv.line([(-50.2, 0.4), (-48.9, 1.4), (-48.2, 3)], 0.5, 0.4, 0.3, 0.2, fish)
    lower = cv.form([(-51, -9.8), (-51, -9.8), (-44, -9.2), (-37, -7.6), (-29.6, -6), (-29, -3), (-36, -4.8),
        (-44, -7)], 0.75, 0.5)
    cv.shade([(-49, -9.6), (-44, -9.2), (-37, -7.6), (-31, -6.2)], 1.2, 56, 1, 0.75, 1.0, inside=lower, dots=0)
    upper = cv.form([(-53.6, -10.4), (-53.6, -10.4), (-48, -6.6), (-41, -3.4), (-35, -1.6), (-30, -0.6), (-28, -3.2),
        (-31, -4.2), (-38, -5.4), (-45, -7.6)],
                    0.85, 0.6)
    cv.fill([(-53.4, -10.3), (-48, -6.8), (-44.6, -5.0), (-44.8, -7.4), (-48.4, -8.8)], upper)
    cv.shade([(-45, -5.2), (-45.2, -6.4), (-45.4, -7.6)], 3.4, 24, 1, 0.55, 0.9, inside=upper, dots=0)
    cv.line([(-32.4, -2.4), (-35.6, -3.0), (-39, -4.4)], 0.5, 0.3, 0.4, 0, upper)
    face = shape([(-31.0, -0.6), (-27, 2.8), (-21, 4.3), (-14, 5.2), (-11, 0), (-14, -6), (-20, -8.6), (-27, -7.2),
        (-31, -5.6)])
    cv.erase(face)
    cv.forms.append(face)
    cv.line([(-12, -13.2), (-19, -10.4), (-25, -7.8), (-30.6, -6.4)], 1.15, 0.5, 0.2, 0.5)
    cv.line([(-30.8, -6.2), (-29.4, -5.2), (-28.2, -4.2)], 0.7, 0.4, 0.5, 0.3)
    cv.line([(-33.6, -2.4), (-30, 1.0), (-26.4, 3.2), (-21, 4.8), (-12, 6.2)], 0.95, 0.5, 0.2, 0.4)
    for p, q in (((-31.4, -5.2), (-30, -5.0)), ((-32, -3.8), (-29.6, -3.9))):
        cv.line([q, p], 0.5, 0.1, 1.0, 0.0)
    # the cap: solid, rim under it left open, flicked out at the nape
    cv.fill([(-34, -2.6), (-31, 0.2), (-27.4, 2.6), (-21, 4.6), (-12, 6.4), (-4, 8), (-7, 4.4), (-12, 1.6),
        (-17, -0.6), (-21, -2.4), (-25, -2.7), (-29.6, -3.2)])
    cv.shade([(-2, 8.4), (-7, 4.4), (-12, 1.6), (-17, -0.6), (-21, -2.4)], [(0, 4.6), (0.5, 4), (1, 0.8)], 52, 1, 0.8,
        1.3, dots=1)
    cv.erase(shape(ellipse(-24.6, -0.6, 1.95, 1.75), smooth=False))
    cv.fill(ellipse(-24.6, -0.5, 1.5, 1.4), smooth=False)
    cv.erase(shape(ellipse(-25.1, 0.0, 0.48, 0.44), smooth=False))
    cv.erase(shape([(-28.4, 0.6), (-25, 2.9), (-20, 3.9), (-16, 4.3), (-20, 3.2), (-25, 2.1)]))
    for k in range(5):
        p = np.array([-26 + 2.0 * k, -4.8 - 0.4 * k + 0.6 * (k % 2)])
        cv.line([p, p + (1.6, -0.4), p + (2.8, -1.5)], 0.45, 0.3, 0.2, 0)


def draw() -> None:
    cv = Table(5)
    u = [0, 0.2, 0.42, 0.6, 0.8, 1.0]
    far = Wing([(-2, 6), (-7, 22), (-17, 36), (-25, 42), (-34, 44.6), (-42, 44.6)],
               [(-4, -8), (-18, 4), (-33, 14), (-42, 20), (-59, 32), (-78, 54)], u)
    wing(cv, far, -1)
    tail(cv)
    body(cv)
    near = Wing([(-7, 4), (6, 20), (21, 31), (30, 34.6), (40, 35), (48, 32.6)],
                [(20, -8), (31, 3), (41, 8), (49, 8.4), (67, 5.6), (95, 5)], u)
    wing(cv, near, 1)
    # scapulars close the root of the near wing
    for r, q, w, b in (((-12, 4), (12, -6), 5.4, 0.06), ((-10, 5.4), (18, -4), 5.6, 0.05),
            ((-8, 7.4), (19, 1), 6, 0.03),
                       ((-13, 5.4), (3, -5), 5.2, 0.06), ((-11, 6.6), (8, -0.4), 5.2, 0.05), ((-9, 8), (10, 5), 5,
                           0.0)):
        cv.plume(r, q, w, b, 0.85, -1, 0.55)
    head(cv)
    cv.save("tern", {
        "title": "Tern coming home", "min_mm": 125, "max_mm": 280, "facing": "left", "upright_deg": 0,
        "symmetric": False, "focal": True, "keep_whole": [[[-42, -16], [-42, -6], [-26, -3], [-24, -16]]],
        "tags": ["tern", "bird", "flight", "fish", "estuary", "wide"], "licence": "CC0-1.0",
        "about": "A tern banks over the bar with a sand eel for the colony on the shingle under the light.",
    }, scale=0.9)


if __name__ == "__main__":
    draw()
