"""Chest and back joined over one seam, as a wide sheet: a side of the trunk, or the top of a shoulder, flat.

The chest lies upright on its own sheet; the back is hung on at the middle of the seam, so that a piece over the seam
lies there as it does on skin. Only the halves beside the seam show, a little beyond chest's and back's midlines: what
lies farther off is on the parts' own sheets. Over the shoulder the back stands on its head. How far the two edges stand
off each other along the seam is `WideSheet.slack_mm`; half way between them one sheet takes over from the other.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from composer.body.joins import SPOTS, Join, join_parts
from composer.body.joins_wide import FAR_MM, PAIRS, WidePart, WideSheet
from composer.body.panel import Panel
from composer.body.sheet import AnySheet, Sheet, unroll
from composer.body.surface import Surface

BEYOND_MM = 12.0
"""So much beyond the midlines shows."""
HUNG_AT = 0.5


def pair_sheet(surfaces: Mapping[str, Surface], name: str) -> WideSheet:
    """The sheet of that name: `parts` are chest and back. Raises ValueError with a sentence when one of them has no
    measures."""
    missing = [p for p in ("chest", "upper_back") if p not in surfaces]
    if missing:
        raise ValueError(f"The {missing[0].replace('_', ' ')} has no measures yet; tape it, then chest and back can be "
                         "shown as one.")
    joins = join_parts({p: surfaces[p] for p in ("chest", "upper_back")})
    join: Join = joins["chest"]["upper_back"][PAIRS[name]]["join"]
    front, back = join.sides("chest")
    sheets = unroll(front.surface), unroll(back.surface)
    a, b = sheets[0].to_flat(front.us), sheets[1].to_flat(back.us)
    matrix = _hung(a, b)
    there = _moved(matrix, b)
    line = (a + there) / 2
    mine, theirs = _sides(line, a, sheets[0], front.surface)
    still = np.column_stack([np.eye(2), np.zeros(2)])
    parts = tuple(_part(p, s, m, seam, side) for p, s, m, seam, side in (
        ("chest", sheets[0], still, front.us, mine), ("upper_back", sheets[1], matrix, back.us, theirs)))
    chest = cast(Panel, front.surface)
    off = float(np.hypot(*(there - a).T).max())
    return WideSheet(parts, np.array([[0.0, chest.midline_low], [0.0, chest.midline_top]]), {"upper_back": off})


def _hung(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """The rigid map (2, 3) that lays the second edge beside the first, met at their middle."""
    k, n = round(HUNG_AT * (SPOTS - 1)), 20
    ta, tb = a[k + n] - a[k - n], b[k + n] - b[k - n]
    turn = np.arctan2(ta[1], ta[0]) - np.arctan2(tb[1], tb[0])
    rot = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    return np.column_stack([rot, a[k] - rot @ b[k]])


def _sides(line: np.ndarray, edge: np.ndarray, sheet: AnySheet, chest: Surface) -> tuple[BaseGeometry, BaseGeometry]:
    """All of the sheet on the chest's side of the seam, and all on the back's; beyond the seam's ends straight on."""
    a, b = line[0], line[-1]
    along = (b - a) / np.hypot(*(b - a))
    out = np.array([-along[1], along[0]])
    run = np.vstack([a - FAR_MM * along, line, b + FAR_MM * along])
    one, two = (shapely.make_valid(Polygon(np.vstack([run, run[-1] + k * FAR_MM * out, run[0] + k * FAR_MM * out])))
                for k in (1.0, -1.0))
    inside = shapely.point_on_surface(shapely.make_valid(Polygon(sheet.border())))
    return (one, two) if shapely.contains(one, inside) else (two, one)


def _part(name: str, sheet: AnySheet, matrix: np.ndarray, seam: np.ndarray, side: BaseGeometry) -> WidePart:
    """One half: what lies on the seam's side of the midline, as far as the other part does not take over."""
    panel = cast(Panel, sheet.limb)
    sign = float(np.sign(seam[:, 0].mean()))
    u = -sign * BEYOND_MM / panel.turn_mm
    far = np.array([[u, -FAR_MM], [u + sign, -FAR_MM], [u + sign, 2 * FAR_MM], [u, 2 * FAR_MM]])
    half = shapely.intersection(Polygon(_moved(matrix, sheet.to_flat(far))), side)
    skin = shapely.make_valid(Polygon(_moved(matrix, sheet.border())))
    edge = _largest(shapely.intersection(skin, Polygon(_moved(matrix, sheet.to_flat(far)))))
    lines = [(ln.name, ln.us) for ln in panel.lines]
    middle = np.array([[0.0, panel.midline_low], [0.0, panel.midline_top]])
    rows = []
    for words, us in [*lines, ("midline", middle)]:
        on = shapely.intersection(LineString(_moved(matrix, sheet.to_flat(us))), edge)
        rows += [(words, np.asarray(g.coords)) for g in shapely.get_parts(on) if isinstance(g, LineString)]
    ring = np.asarray(edge.exterior.coords)[:-1]
    return WidePart(name, cast(Sheet, sheet), matrix, ring, tuple(rows), panel.s_min, _largest(half), True)


def _largest(shape: BaseGeometry) -> Polygon:
    return max((g for g in shapely.get_parts(shape) if isinstance(g, Polygon)), key=lambda g: g.area)


def _moved(matrix: np.ndarray, xy: np.ndarray) -> np.ndarray:
    return np.asarray(xy, float) @ matrix[:, :2].T + matrix[:, 2]
