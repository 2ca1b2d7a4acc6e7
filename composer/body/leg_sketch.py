"""The standing leg of the tape drawings, seen from the front: contour, muscles, foot, hatching.

Drawn by eye for this project on a page of 240 x 320 units, y down. Points are set along the two
bones, `out` units to the outer side, so that widths can be corrected without redrawing.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from composer.body.sketch import PENCIL, Point, curve, filled, path, pen

_HIP, _KNEE, _ANKLE = np.array([121.0, 52.0]), np.array([117.0, 166.0]), np.array([108.0, 266.0])
Stroke = tuple[list[Point], float]


def _along(a: np.ndarray, b: np.ndarray, t: float, out: float) -> Point:
    d = (b - a) / np.hypot(*(b - a))
    x, y = a + t * (b - a) + out * np.array([-d[1], d[0]])
    return float(x), float(y)


def _up(t: float, out: float) -> Point:
    """A point along the thigh (0 hip, 1 kneecap)."""
    return _along(_HIP, _KNEE, t, out)


def _lo(t: float, out: float) -> Point:
    """A point along the lower leg (0 kneecap, 1 ankle)."""
    return _along(_KNEE, _ANKLE, t, out)


OUTER: list[Point] = [
    (94, 4), (90, 14), (86, 26), _up(-0.06, 38.5), _up(0.05, 40.5), _up(0.18, 40), _up(0.34, 37.5), _up(0.52, 33),
    _up(0.70, 27.5), _up(0.84, 23), _up(0.94, 20.5), _lo(0.04, 20), _lo(0.12, 18.5), _lo(0.22, 20.5), _lo(0.34, 22.5),
    _lo(0.47, 21), _lo(0.64, 15.5), _lo(0.82, 11), _lo(0.97, 9.5), _lo(1.03, 10.5)]
INNER: list[Point] = [
    _up(0.20, -27.5), _up(0.30, -28.5), _up(0.44, -28), _up(0.58, -25), _up(0.72, -22.5), _up(0.83, -22),
    _up(0.93, -19.5), _lo(0.03, -18.5), _lo(0.12, -16.5), _lo(0.22, -19), _lo(0.36, -21.5), _lo(0.50, -19),
    _lo(0.66, -13.5), _lo(0.82, -10), _lo(0.95, -9.5), _lo(1.0, -11.5)]

LEVEL_ENDS: dict[str, tuple[Point, Point]] = {
    "ankle": (_lo(0.93, 9.8), _lo(0.93, -9.6)),
    "fullest calf": (_lo(0.35, 22.4), _lo(0.35, -21.4)),
    "below the knee": (_lo(0.15, 19), _lo(0.15, -17)),
    "knee": (_up(0.995, 20), _up(0.995, -18.8)),
    "mid thigh": (_up(0.58, 31), _up(0.58, -25)),
    "upper thigh": (_up(0.27, 38.8), _up(0.27, -28)),
    "hip": (_up(0.02, 40.2), _up(0.19, -26)),
}
"""Outer and inner end of each level on the contour."""


def _foot() -> list[Stroke]:
    """The foot from the front, turned out a little: ankle bones, instep, toes."""
    return [
        ([_lo(0.985, 9.6), (96.6, 269), (95.8, 274), (97.4, 279)], 2.0),                            # outer ankle bone
        ([(97.4, 279), (92.5, 286), (86.5, 292.5), (81, 298), (78.6, 302)], 2.1),
        ([_lo(1.0, -11.5), (120.6, 271), (119.8, 276.5), (118.4, 281), (118.2, 288), (117.2, 296), (115, 303)], 2.2),
        ([(100.2, 270), (101.8, 273.6), (100.4, 277.4)], 0.9), ([(116.4, 267), (114.6, 270), (116.2, 273.6)], 0.9),
        ([(115, 303), (114.4, 308.5), (110.4, 311.4), (105.4, 310), (103.6, 304.6), (104.8, 300.4)], 2.0),  # big toe
        ([(103.8, 305.6), (101.6, 309.6), (97.8, 308.8), (97.2, 303.6)], 1.7),
        ([(97.4, 305.2), (95.2, 308), (91.6, 306.8), (91.4, 302.2)], 1.6),
        ([(91.6, 303.8), (89.2, 306.2), (86, 304.8), (86, 300.8)], 1.5),
        ([(86, 302.4), (83.4, 304.6), (79.6, 303.8), (78.6, 301)], 1.5),
        ([(107, 308.6), (109.6, 306.8), (112.2, 308)], 0.7), ([(99.2, 307.4), (100.6, 306.6)], 0.6),
        ([(93, 305.8), (94.2, 305)], 0.6),
        ([(109, 277), (108.8, 287), (109.2, 297)], 1.0), ([(106, 281), (102.4, 290), (99.6, 298)], 0.8),
        ([(103.6, 282), (98, 290), (93.4, 297)], 0.7), ([(101, 284), (94, 291), (88, 297)], 0.6)]


def _hatching() -> list[Stroke]:
    """Shade on the inner side, following the form, under the kneecap and on the foot."""
    out: list[Stroke] = []
    for t in np.arange(0.24, 0.95, 0.026):
        edge = float(np.interp(t, (0.20, 0.30, 0.44, 0.58, 0.72, 0.83, 0.95),
                               (-27.4, -28.3, -27.8, -24.8, -22.3, -21.8, -19.4)))
        reach = 10 + 3.5 * np.sin(t * 9)
        out.append(([_up(t, edge), _up(t + 0.020, edge + reach * 0.5), _up(t + 0.028, edge + reach)], 0.85))
    for t in np.arange(0.10, 0.92, 0.033):
        edge = float(np.interp(t, (0.03, 0.12, 0.22, 0.36, 0.50, 0.66, 0.82, 0.95),
                               (-18.4, -16.4, -18.8, -21.3, -18.8, -13.4, -9.9, -9.4)))
        reach = (7.5 + 2.5 * np.sin(t * 8 + 1)) * (1.0 if t < 0.6 else 0.62)
        out.append(([_lo(t, edge), _lo(t + 0.022, edge + reach * 0.5), _lo(t + 0.032, edge + reach)], 0.8))
    for t in np.arange(0.42, 0.80, 0.034):                          # between the long muscles of the thigh
        edge = 21 - 12 * t
        out.append(([_up(t - 0.018, edge + 4), _up(t + 0.012, edge + 1), _up(t + 0.020, edge - 3)], 0.7))
    for k in range(5):
        out.append(([_lo(0.085 + 0.017 * k, 8.0 - 1.1 * k), _lo(0.10 + 0.017 * k, 4.6 - 1.1 * k),
                     _lo(0.10 + 0.017 * k, 1.4 - 1.1 * k)], 0.7))
    for k in range(6):
        out.append(([(117.6, 281 + 3.3 * k), (115.4, 282 + 3.3 * k), (113.6, 282.2 + 3.3 * k)], 0.7))
    for k in range(13):                                             # the other thigh, in shade
        y = 86 + 6.2 * k
        out.append(([(157.8 + 0.35 * k, y), (163 + 0.35 * k, y - 1.2), (168 + 0.3 * k, y - 4)], 0.7))
    return out


@lru_cache(maxsize=1)
def leg_svg() -> str:
    """The leg without any tape: SVG paths in pencil brown."""
    under: list[Stroke] = [    # first loose lines, left standing
        ([(122, 30), _up(0.3, 0), _up(0.7, 0), _up(1.03, 0)], 0.8), ([_up(0.97, 0), _lo(0.5, 0), _lo(1.05, 0)], 0.8),
        ([(84, 24), _up(0.0, 44.5), _up(0.22, 44), _up(0.46, 38)], 0.9),
        ([_lo(0.10, 22), _lo(0.34, 26), _lo(0.6, 19)], 0.9),
        ([_up(0.26, -32), _up(0.44, -31.5), _up(0.66, -26)], 0.9),
        ([_lo(0.14, -19), _lo(0.36, -25), _lo(0.58, -19)], 0.8)]
    contour: list[Stroke] = [
        (OUTER[:4], 2.0), (OUTER[2:8], 2.9), (OUTER[6:12], 2.6), (OUTER[10:16], 2.9), (OUTER[14:], 2.2),
        (INNER[:6], 2.7), (INNER[4:9], 2.4), (INNER[8:13], 2.7), (INNER[11:], 2.1)]
    muscles: list[Stroke] = [
        ([_up(0.06, 30), _up(0.24, 12), _up(0.46, -6), _up(0.66, -14.5), _up(0.84, -17)], 1.4),    # the tailor's muscle
        ([_up(0.30, 24), _up(0.48, 25), _up(0.66, 21.5), _up(0.82, 15.5), _up(0.90, 13)], 1.4),        # outer thigh
        ([_up(0.36, 8), _up(0.54, 11.5), _up(0.70, 9.5), _up(0.84, 5)], 1.0),
        ([_up(0.66, -6), _up(0.76, -4.5), _up(0.86, -6.5), _up(0.92, -12), _up(0.90, -17)], 1.5),    # drop by the knee
        ([_up(0.955, 11), _up(0.915, 8), _up(0.905, 1), _up(0.925, -6), _up(0.96, -9)], 1.6),       # kneecap
        ([_up(0.945, 11), _up(0.99, 10.5), _lo(0.035, 7), _lo(0.065, 1.2), _lo(0.055, -3)], 1.6),
        ([_up(0.95, -9.4), _up(0.995, -8.6), _lo(0.035, -5.6)], 1.2),
        ([_up(0.90, 15.5), _up(0.96, 15), _lo(0.03, 14)], 1.0), ([_up(0.95, -14), _lo(0.02, -13)], 0.9),
        ([_lo(0.09, 4.8), _lo(0.15, 4.2), _lo(0.185, 1), _lo(0.16, -3.4), _lo(0.09, -5)], 1.0),       # bump of the shin
        ([_lo(0.19, 0.6), _lo(0.34, 1.8), _lo(0.54, 2.0), _lo(0.74, 0.2), _lo(0.92, -3.6)], 1.5),         # shin
        ([_lo(0.20, 9.5), _lo(0.34, 12.5), _lo(0.50, 11.5), _lo(0.68, 7.5), _lo(0.88, 3)], 1.1),
        ([_lo(0.22, -11), _lo(0.36, -12), _lo(0.50, -9.5), _lo(0.60, -8.5)], 1.2),
        ([_lo(0.70, -6.4), _lo(0.92, -6)], 0.8),
        ([_lo(0.94, 2), _lo(1.04, 0.4), (108.6, 276)], 0.9)]
    body: list[Stroke] = [
        ([(236, 20), (200, 25), (160, 26), (122, 22), (93, 12)], 1.6),
        ([(236, 13), (198, 18), (158, 19), (122, 15), (95, 6)], 1.2),
        ([_up(-0.20, 36.5), (98, 46), (116, 60), (134, 69.5), (147.5, 74)], 1.9),                    # edge of the cloth
        ([(147.5, 74), (151.4, 76.6), (155.6, 74), (170, 68), (186, 57), (204, 42), (214, 30)], 1.7),
        ([(104, 32), (117, 40), (128, 49)], 0.8), ([(112, 31), (123, 37), (132, 44)], 0.7),
        ([(154.2, 77), (156.6, 92), (158.4, 112), (161.4, 134), (165, 156)], 1.8),
        ([(214, 30), (219.5, 48), (220.5, 68), (217.5, 94), (211, 124)], 1.5),
        ([(202, 62), (203.5, 78), (202, 94)], 0.7)]
    shade = np.concatenate([curve(INNER), curve([
        _lo(1.0, -7.5), _lo(0.82, -6), _lo(0.66, -8), _lo(0.5, -11), _lo(0.36, -12), _lo(0.22, -10.5), _lo(0.10, -10),
        _up(0.94, -12), _up(0.83, -14), _up(0.66, -14), _up(0.44, -16), _up(0.30, -18.5), _up(0.22, -22)])])
    parts = [filled(path(shade, closed=True), PENCIL, 0.1)]
    groups = (under, 0.32, 3.0), (_hatching(), 0.7, 3.0), (muscles, 0.9, 3.0), (body, 0.8, 3.0), (_foot(), 1.0, 1.2), \
        (contour, 1.0, 2.6)
    for strokes, opacity, step in groups:
        parts.append(filled("".join(pen(points, width, step=step) for points, width in strokes), PENCIL, opacity))
    return "".join(parts)
