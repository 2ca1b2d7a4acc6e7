"""The trunk of the tape drawings, from the front and from the back: contour, muscles, hatching.

Drawn by eye for this project on a page of 240 x 320 units, y down. One half is set down as steps out
from the midline and laid over for the other, so both sides stay alike.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from composer.body.sketch import Point, Stroke, curve, in_pencil

_MIDDLE = 120.0
Half = list[tuple[float, float]]
"""Points as (out from the midline, down the page)."""

_NECK: Half = [(25, 6), (22.5, 18), (22, 30), (26, 40), (38, 47), (54, 52), (70, 56)]
_SHOULDER: Half = [(62, 54), (76, 58), (88, 66), (96, 79), (99.5, 96), (100, 116), (101, 138), (104, 160), (106, 184),
                   (105, 206)]
_ARM_IN: Half = [(71, 126), (75, 142), (78.5, 162), (80, 184), (79, 206)]
_SIDE: Half = [(70, 125), (71, 138), (69.5, 156), (65.5, 178), (60.5, 202), (56.5, 226), (55, 246), (57, 268),
               (62, 290), (66, 308)]

ACROMION, CREASE, NOTCH_Y, NAPE_Y, ARMPIT_Y, LOWER_Y = (80.0, 60.0), (69.0, 122.0), 65.0, 44.0, 122.0, 212.0
"""Shoulder point and crease as (out, down); the notch, the nape, the armpits' level and the lower edge."""

LEVEL_ENDS: dict[str, tuple[Point, Point]] = {
    name: ((_MIDDLE - out, y), (_MIDDLE + out, y))
    for name, out, y in (("armpits", 70.5, ARMPIT_Y + 4), ("lower edge", 59.0, LOWER_Y))
}
"""Both ends of each level that is taped round, on the contour of the trunk."""


def spot(out: float, down: float, side: int) -> Point:
    """A place on the page: `side` +1 the viewer's right, -1 the left."""
    return _MIDDLE + side * out, down


def run_of(field_name: str, back: bool) -> list[Point]:
    """The way of the tape for a length on the chest or the back, from its first end to its last; [] for none.

    The client's left is at the viewer's right from the front, at the left from the back.
    """
    base, _, which = field_name.rpartition("_")
    side = (1 if which == "left" else -1) * (-1 if back else 1)
    drop = _crease(back)
    ways: dict[str, list[Point]] = {
        "armpit_to_lower": [spot(33, ARMPIT_Y, 1), spot(32, 168, 1), spot(31, LOWER_Y, 1)],
        "notch_to_armpit": [spot(0, NOTCH_Y, 1), spot(0, 92, 1), spot(0, ARMPIT_Y, 1)],
        "nape_to_armpit": [spot(0, NAPE_Y, 1), spot(0, 84, 1), spot(0, ARMPIT_Y, 1)],
    }
    if field_name in ways:
        return ways[field_name]
    if base in ("midline_to_crease", "spine_to_crease"):
        return [spot(0, ARMPIT_Y, 1), spot(36, ARMPIT_Y + 2.5, side), spot(*drop, side)]
    if base == "notch_to_acromion":
        return [spot(0, NOTCH_Y, 1), spot(24, 63.5, side), spot(52, 60, side), spot(*ACROMION, side)]
    if base == "nape_to_acromion":
        return [spot(0, NAPE_Y, 1), spot(26, 46, side), spot(52, 53, side), spot(*ACROMION, side)]
    if base == "acromion_to_crease":
        return [spot(*ACROMION, side), spot(82, 78, side), spot(79, 100, side), spot(*drop, side)]
    return []


def _crease(back: bool) -> tuple[float, float]:
    return (CREASE[0] + 2, CREASE[1] + 2) if back else CREASE


def _both(strokes: list[tuple[Half, float]]) -> list[Stroke]:
    return [([spot(out, y, side) for out, y in half], width) for half, width in strokes for side in (1, -1)]


def _one(points: Half, width: float) -> Stroke:
    return [spot(out, y, 1) for out, y in points], width


_FRONT: list[tuple[Half, float]] = [
    ([(4, 66), (14, 62.5), (28, 62), (44, 58), (58, 54), (74, 57)], 1.7),  # collarbone
    ([(6, 70), (18, 67), (32, 66), (48, 62), (62, 59)], 0.9),
    ([(3, 64), (6, 54), (12, 38), (19, 22)], 1.2),  # neck muscle
    ([(60, 62), (65, 76), (68, 92), (70, 108), (70, 124)], 1.6),  # front of the shoulder
    ([(82, 64), (88, 78), (90, 96), (88, 112)], 0.9),
    ([(70, 124), (66, 140), (54, 152), (36, 158), (18, 158), (5, 150)], 2.0),  # lower edge of the chest
    ([(60, 148), (48, 157), (32, 161)], 0.8),
    ([(66, 112), (56, 100), (46, 92)], 0.8), ([(68, 118), (56, 110), (48, 104)], 0.7),
    ([(7, 166), (24, 176), (38, 194), (45, 212)], 1.1),  # edge of the ribs
    ([(64, 160), (56, 166), (50, 168)], 0.9), ([(62, 174), (53, 180), (47, 182)], 0.9),
    ([(59, 190), (51, 195), (46, 197)], 0.9),
    ([(28, 176), (29, 206), (27, 240), (24, 272), (20, 300)], 0.9),
    ([(60, 270), (48, 286), (32, 302), (20, 312)], 1.2),
    ([(96, 128), (92, 150), (94, 172), (98, 190)], 0.9),
]
_BACK: list[tuple[Half, float]] = [
    ([(20, 28), (24, 44), (34, 54), (52, 60), (70, 61)], 1.3),  # edge of the hood muscle
    ([(66, 66), (52, 76), (36, 94), (22, 122), (10, 156), (2, 180)], 1.2),
    ([(24, 92), (22, 112), (27, 132), (36, 148), (44, 138), (54, 118), (62, 100)], 1.5),        # shoulder blade
    ([(26, 90), (42, 84), (60, 80), (74, 72)], 1.3),
    ([(30, 98), (28, 114), (32, 130)], 0.8),
    ([(69, 92), (74, 108), (71, 124)], 1.6), ([(84, 66), (88, 84), (88, 104)], 0.9),
    ([(44, 146), (56, 140), (68, 136)], 1.0), ([(36, 152), (50, 150), (66, 146)], 0.8),
    ([(68, 150), (56, 190), (38, 222), (16, 250), (4, 262)], 1.2),  # broad back muscle
    ([(10, 186), (12, 220), (14, 250), (12, 284)], 1.2), ([(20, 214), (22, 244), (19, 276)], 0.8),
    ([(54, 268), (40, 284), (22, 300), (6, 310)], 1.2),
    ([(95, 130), (90, 152), (92, 174), (97, 192)], 0.9),
]


def _hatching(back: bool) -> list[Stroke]:
    """Shade on the viewer's right flank and under the arm, following the form."""
    out: list[Stroke] = []
    for y in np.arange(142, 300, 5.6):
        edge = float(np.interp(y, [p[1] for p in _SIDE], [p[0] for p in _SIDE]))
        reach = 13 + 3.5 * np.sin(y * 0.11)
        out.append(([spot(edge - 0.5, y, 1), spot(edge - reach * 0.5, y + 3, 1), spot(edge - reach, y + 4, 1)], 0.8))
    for y in np.arange(140, 202, 5.2):
        edge = float(np.interp(y, [p[1] for p in _ARM_IN], [p[0] for p in _ARM_IN]))
        for side in (1, -1):
            out.append(([spot(edge + 0.6, y, side), spot(edge + 4, y + 2.4, side), spot(edge + 8, y + 3, side)], 0.75))
    if not back:
        for k in range(9):
            x = 60 - 6.2 * k
            y = float(np.interp(x, (5, 18, 36, 54, 66), (151, 159, 159, 153, 142)))
            out.append(([spot(x, y - 1, 1), spot(x - 2.4, y - 6, 1), spot(x - 2.8, y - 11 + 0.5 * k, 1)], 0.75))
    else:
        for k in range(8):
            y = 100 + 5.6 * k
            out.append(([spot(22.5 + 0.06 * k * k, y, 1), spot(18, y + 2.6, 1), spot(13, y + 3.2, 1)], 0.75))
    for k in range(7):
        y = 20 + 4.0 * k
        out.append(([spot(21.6, y, 1), spot(17, y + 1.6, 1), spot(12.5, y + 1.4, 1)], 0.7))
    return out


@lru_cache(maxsize=2)
def trunk_svg(back: bool = False) -> str:
    """The trunk without any tape: SVG paths in pencil brown."""
    under = _both([([(24, 4), (25, 34), (40, 43), (78, 52), (100, 70)], 0.9), ([(74, 130), (70, 172), (59, 226)], 0.9)])
    under += [_one([(0, 50), (0, 150), (0, 310)], 0.8), _one([(-74, 59), (0, 58), (74, 59)], 0.8)]
    middle: list[Stroke] = [_one([(0, 70), (0.8, 100), (0, 150)], 1.2), _one([(0, 172), (0.6, 214), (0, 250)], 1.1),
                            _one([(-3, 256), (0, 260.5), (3, 256)], 1.4), _one([(-5, 65), (0, 68.5), (5, 65)], 1.6)]
    if back:
        middle = [_one([(0, 47), (0.7, 120), (0, 200), (0.5, 306)], 1.4), _one([(-4, 42), (0, 45.5), (4, 42)], 1.5),
                  _one([(-3, 50), (0, 52.5), (3, 50)], 1.0)]
    contour = _both([(_NECK, 2.4), (_SHOULDER[:6], 2.9), (_SHOULDER[4:], 2.4), (_ARM_IN, 2.2), (_SIDE[:6], 2.8),
                     (_SIDE[4:], 2.4)])
    muscles = _both(_BACK if back else _FRONT) + middle
    inside = [(out - 15 + 4 * np.sin(y / 40), y) for out, y in _SIDE]
    shade = curve([spot(out, y, 1) for out, y in _SIDE + inside[::-1]])
    return in_pencil(shade, ((under, 0.32, 3.0), (_hatching(back), 0.7, 3.0), (muscles, 0.9, 3.0), (contour, 1.0, 2.6)))
