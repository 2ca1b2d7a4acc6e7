"""The hanging arm of the tape drawings, palm to the front: contour, muscles, hand, hatching.

Drawn by eye for this project on a page of 240 x 320 units, y down. Points are set along the two
bones, `out` units to the outer side, so that widths can be corrected without redrawing.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from composer.body.sketch import Point, Stroke, along, curve, in_pencil

_SHOULDER, _ELBOW, _WRIST = np.array([152.0, 52.0]), np.array([128.0, 150.0]), np.array([92.0, 232.0])


def _up(t: float, out: float) -> Point:
    """A point along the upper arm (0 shoulder, 1 elbow)."""
    return along(_SHOULDER, _ELBOW, t, out)


def _lo(t: float, out: float) -> Point:
    """A point along the forearm (0 elbow, 1 wrist)."""
    return along(_ELBOW, _WRIST, t, out)


def _ha(down: float, out: float) -> Point:
    """A point of the hand, in units below the wrist."""
    return along(_WRIST, _WRIST + np.array([-0.36, 0.933]), 1.12 * down, (0.93 + 0.004 * down) * out)


OUTER: list[Point] = [
    (222, 6), (202, 18), (180, 25), (158, 30), (138, 39), (123, 53), (116.5, 72), _up(0.38, 27), _up(0.48, 25),
    _up(0.62, 24), _up(0.78, 22), _up(0.90, 20.5), _lo(0.02, 22), _lo(0.13, 25), _lo(0.26, 24.5), _lo(0.44, 20),
    _lo(0.66, 14), _lo(0.86, 12), _lo(1.0, 13)]
INNER: list[Point] = [
    _up(0.34, -23), _up(0.44, -25), _up(0.58, -25.5), _up(0.72, -22.5), _up(0.86, -18.5), _up(0.97, -19.5),
    _lo(0.08, -20.5), _lo(0.22, -20.5), _lo(0.40, -17), _lo(0.62, -13), _lo(0.84, -11.5), _lo(1.0, -12)]

LEVEL_ENDS: dict[str, tuple[Point, Point]] = {
    "wrist": (_lo(0.96, 12.6), _lo(0.96, -11.8)),
    "fullest forearm": (_lo(0.20, 25), _lo(0.20, -20.5)),
    "elbow": (_up(0.985, 21.4), _up(0.985, -19.6)),
    "fullest upper arm": (_up(0.62, 24), _up(0.62, -25)),
    "armpit": (_up(0.40, 27), _up(0.37, -23.6)),
    "cap": ((119, 61), _up(0.31, -22)),
}
"""Outer and inner end of each level on the contour."""


def _finger(base: float, tip: float, out: float, width: float, lean: float) -> list[Stroke]:
    """One finger, slightly bent: both sides round a soft tip, a crease at each joint."""
    h = width / 2
    mid, end = (base + tip) / 2, out + lean
    side = [_ha(base, out + h), _ha(mid - 4, out + h - 0.5), _ha(mid, out + h + lean * 0.35),
            _ha(tip - 6, end + h - 0.7), _ha(tip - 1.6, end + h * 0.62), _ha(tip, end), _ha(tip - 1.6, end - h * 0.62),
            _ha(tip - 6, end - h + 0.7), _ha(mid, out - h + lean * 0.35), _ha(base + 2, out - h + 0.5)]
    crease = base + 0.52 * (tip - base)
    return [(side, 1.6), ([_ha(crease, out + h * 0.8 + lean * 0.4), _ha(crease + 1, out + lean * 0.4),
                           _ha(crease, out - h * 0.7 + lean * 0.4)], 0.8)]


def _hand() -> list[Stroke]:
    thumb: list[Stroke] = [
        ([_ha(0, 13), _ha(6, 15.5), _ha(14, 20), _ha(23, 24), _ha(33, 26), _ha(40, 25.5), _ha(43, 23), _ha(41, 20.6),
          _ha(33, 19), _ha(27, 16.5)], 2.0),
        ([_ha(32, 24.5), _ha(33, 22), _ha(32.4, 20)], 0.8),
        ([_ha(5, 2), _ha(13, 5), _ha(20, 11), _ha(27, 16.5)], 1.3)]                       # the ball of the thumb
    palm: list[Stroke] = [
        ([_ha(27, 16.5), _ha(33, 15)], 1.6), ([_ha(0, -12), _ha(9, -14), _ha(22, -15.5), _ha(35, -15)], 2.1),
        ([_ha(25, 12), _ha(25, 4), _ha(28, -4), _ha(31, -13)], 1.0), ([_ha(21, 13), _ha(20, 6), _ha(23, -4)], 0.9),
        ([_ha(1, 9), _ha(2.6, 0), _ha(1.2, -9)], 1.1), ([_ha(4, 6), _ha(5, 0), _ha(4, -5)], 0.7)]
    fingers = [_finger(33, 58, 11.2, 7.6, 0.5), _finger(34, 64, 3.6, 7.6, -0.8), _finger(34.5, 60.5, -4.0, 7.2, -1.4),
               _finger(34, 52, -11.3, 6.6, -1.2)]
    return thumb + palm + [stroke for f in fingers for stroke in f]


def _hatching() -> list[Stroke]:
    """Shade on the inner side, following the form, and under the shoulder muscle."""
    out: list[Stroke] = []
    for t in np.arange(0.40, 0.95, 0.034):
        edge = float(np.interp(t, (0.40, 0.58, 0.72, 0.86, 0.97), (-24.5, -25.5, -22.5, -18.5, -19.5)))
        reach = 8.5 + 3.5 * np.sin(t * 9)
        out.append(([_up(t, edge), _up(t + 0.024, edge + reach * 0.5), _up(t + 0.034, edge + reach)], 0.85))
    for t in np.arange(0.04, 0.92, 0.042):
        edge = float(np.interp(t, (0.0, 0.22, 0.40, 0.62, 0.92), (-20, -20.5, -17, -13, -11.6)))
        reach = 6.5 + 2.5 * np.sin(t * 8 + 1)
        out.append(([_lo(t, edge), _lo(t + 0.03, edge + reach * 0.5), _lo(t + 0.042, edge + reach)], 0.8))
    for t in np.arange(0.20, 0.52, 0.036):
        edge = 10 + 24 * t
        out.append(([_up(t - 0.03, edge + 5), _up(t + 0.02, edge + 1), _up(t + 0.035, edge - 4)], 0.75))
    for t in np.arange(0.60, 0.90, 0.04):
        out.append(([_up(t, 12), _up(t + 0.02, 15), _up(t + 0.022, 19)], 0.7))
    for k in range(7):
        out.append(([_ha(7 + 3.2 * k, -14.6), _ha(8 + 3.2 * k, -12), _ha(8.6 + 3.2 * k, -9.6)], 0.7))
    for k in range(9):
        y = 104 + 5.2 * k
        out.append(([(181.5 + 0.3 * k, y), (187 + 0.3 * k, y - 1.5), (191 + 0.3 * k, y - 4)], 0.7))
    return out


@lru_cache(maxsize=1)
def arm_svg() -> str:
    """The arm without any tape: SVG paths in pencil brown."""
    under: list[Stroke] = [    # first loose lines, left standing
        ([(162, 22), _up(0.2, 0), _up(0.6, 0), _up(1.04, 0)], 0.8), ([_up(0.97, 0), _lo(0.5, 0), _lo(1.06, 0)], 0.8),
        ([(146, 31), (124, 50), (115, 72), _up(0.40, 31), _up(0.56, 26)], 0.9),
        ([_up(0.92, 24), _lo(0.12, 28.5), _lo(0.32, 26), _lo(0.56, 18)], 0.9),
        ([_up(0.38, -27), _up(0.56, -29), _up(0.78, -22)], 0.9), ([_lo(0.0, -22), _lo(0.18, -24), _lo(0.42, -18)], 0.8)]
    contour: list[Stroke] = [
        (OUTER[:5], 2.0), (OUTER[3:9], 2.9), (OUTER[8:13], 2.5), (OUTER[12:17], 2.9), (OUTER[16:], 2.2),
        (INNER[:6], 2.6), (INNER[5:9], 2.7), (INNER[8:], 2.1)]
    muscles: list[Stroke] = [
        ([(172, 33), (166, 50), (156, 72), _up(0.40, 8), _up(0.52, 19)], 1.6),             # front edge of the shoulder
        ([(146, 42), (135, 60), _up(0.28, 19), _up(0.42, 20)], 0.9),
        ([_up(0.45, 9), _up(0.58, 13), _up(0.72, 12), _up(0.85, 7.5), _up(0.95, 2)], 1.5),        # biceps
        ([_up(0.74, -13), _up(0.86, -9), _up(0.98, -3)], 1.2),
        ([_up(0.93, 10), _up(0.995, 3), _up(1.01, -6), _up(0.98, -13)], 1.4),                     # the ditch
        ([_up(0.90, 13), _lo(0.06, 11), _lo(0.26, 9.5), _lo(0.46, 9.5), _lo(0.70, 7.5)], 1.5),
        ([_lo(0.05, -1), _lo(0.20, -1.5), _lo(0.36, 1.5), _lo(0.52, 3.5)], 1.1),
        ([_lo(0.12, -12), _lo(0.30, -10), _lo(0.52, -7)], 1.0),
        ([_lo(0.68, 0.8), _lo(0.84, 0), _lo(0.96, 0)], 1.0), ([_lo(0.74, -4), _lo(0.96, -5)], 0.8)]
    body: list[Stroke] = [
        ([(236, 27), (212, 34), (192, 33), (174, 29)], 1.7), ([(234, 34), (214, 40), (198, 39)], 0.9),   # collarbone
        ([(179, 58), (173, 74), (173, 87), (181, 97), (198, 103), (218, 103), (236, 97)], 2.0),            # chest
        ([_up(0.34, -23), (170, 83), (173, 74)], 1.6),
        ([(177, 92), (182, 108), (185, 130), (182, 156)], 1.9),                                   # side of the body
        ([(212, 60), (202, 72), (192, 84)], 0.8), ([(220, 66), (208, 80), (200, 90)], 0.7),
        ([(194, 118), (198, 128), (197, 142)], 0.9), ([(204, 122), (208, 132), (207, 144)], 0.8)]
    shade = np.concatenate([curve(INNER), curve([
        _lo(1.0, -8), _lo(0.7, -7), _lo(0.4, -8), _lo(0.2, -10), _up(0.98, -10), _up(0.85, -10), _up(0.6, -14),
        _up(0.45, -19), _up(0.34, -23)])])
    return in_pencil(shade, ((under, 0.32, 3.0), (_hatching(), 0.7, 3.0), (muscles, 0.9, 3.0), (body, 0.8, 3.0),
                             (_hand(), 1.0, 1.2), (contour, 1.0, 2.6)))
