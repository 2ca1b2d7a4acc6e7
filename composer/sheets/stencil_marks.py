"""What lines a stencil up on the limb: axis, levels, landmark and shade lines, healed neighbours; kept off the art.

Levels are named by their landmark and their tape from the far end (wrist, ankle)."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from composer.body.panel_patch import PanelPatch
from composer.body.patch import Patch
from composer.body.units import format_length
from composer.compose.shade_reach import reach_of
from composer.filler.clip import silhouettes
from composer.plan.scene import Scene

CLEAR_MM = 2.5
"""Marks keep this far from the art, so that no guide is taken for a line to tattoo."""
STUB_MM = 14.0
"""Axis, levels and landmark lines run in from the rim of the paper by so much at most."""
SIDES = {0.0: "front", 0.5: "back"}


@dataclass(frozen=True)
class Mark:
    """A light line: kind 'axis', 'level', 'side', 'shade' or 'healed', what to write at it ('' nothing), and its
    pieces in mm. Words are placed when it is drawn (`composer.sheets.stencil_labels`)."""

    kind: str
    label: str
    lines: BaseGeometry


def marks_of(here: Scene, chart: Patch | PanelPatch, own: Collection[str], outline: Polygon, body: BaseGeometry,
             unit: str) -> tuple[Mark, ...]:
    """Registration for a paper of this outline with this art on it, in the chart's mm."""
    limb = here.limb
    us = chart.to_skin(shapely.get_coordinates(shapely.segmentize(outline, 4.0)))
    (u0, s0), (u1, s1) = us.min(axis=0), us.max(axis=0)
    free = shapely.difference(outline, shapely.buffer(body, CLEAR_MM, quad_segs=3))
    far, rim = limb.levels[0].name, outline.exterior
    out = []

    def along(u: float) -> LineString:
        s = np.linspace(s0 - 5, s1 + 5, max(12, int((s1 - s0) / 4)))
        return LineString(chart.to_flat(np.column_stack([np.full(len(s), u), s])))

    def round_(s: float) -> LineString:
        u = np.linspace(u0 - 0.02, u1 + 0.02, max(24, int((u1 - u0) * 120)))
        return LineString(chart.to_flat(np.column_stack([u, np.full(len(u), s)])))

    axis = _mark("axis", "up", along(chart.u0), free, rim)
    if axis is not None:
        out.append(axis)
    levels = [(lv.name, lv.s_mm) for lv in limb.levels if s0 < lv.s_mm < s1]
    if all(abs(chart.s0_mm - s) > 12.0 for _, s in levels):
        levels.append(("", chart.s0_mm))
    for name, s in levels:
        words = far if name == far else f"{name} {format_length(s, unit)}".strip()
        if (mark := _mark("level", words, round_(s), free, rim)) is not None:
            out.append(mark)
    outer = 0.25 if here.limb.closed else None
    for k in range(int(np.floor(u0 * 4)), int(np.ceil(u1 * 4)) + 1):
        u = k / 4
        name = SIDES.get(u % 1.0, "" if outer is None else "side")
        if u0 < u < u1 and name and abs(u - chart.u0) * float(limb.girth(chart.s0_mm)) > 4.0:
            words = {"side": "quarter line"}.get(name, f"{name} line") if limb.closed else "midline" if u == 0 else ""
            if words and (mark := _mark("side", words, along(u), free, rim)) is not None:
                out.append(mark)
    for line in here.shade.lines:
        for border in reach_of(limb, line).borders:
            shown = [shapely.intersection(LineString(chart.to_flat(np.add(border, (k, 0.0)))), free)
                     for k in _turns(border[:, 0], u0, u1, limb.closed)]
            lines = [p for p in shapely.get_parts(shapely.multilinestrings(_lines(shown))) if p.length > 2.0]
            if lines:
                out.append(Mark("shade", "shade line", shapely.multilinestrings(lines)))
    healed = [x for x in here.laid if x.piece.state == "healed" and x.piece.id not in own]
    near = shapely.intersection(outline, shapely.buffer(free, 0.0))
    for x in healed:
        for shape in silhouettes(limb, chart, [x], (u0, u1), (s0, s1), 2.0):
            lines = shapely.intersection(shapely.boundary(shape), near)
            if not lines.is_empty and lines.length > 4.0:
                out.append(Mark("healed", x.piece.title, lines))
    return tuple(out)


def _turns(u: np.ndarray, u0: float, u1: float, closed: bool) -> range:
    """By how many whole turns a line may be moved to lie between two u."""
    return range(int(np.ceil(u0 - u.max())), int(np.floor(u1 - u.min())) + 1) if closed else range(1)


def _lines(shapes: list[BaseGeometry]) -> list[BaseGeometry]:
    return [p for g in shapes for p in shapely.get_parts(g) if p.geom_type == "LineString"]


def _mark(kind: str, label: str, line: LineString, free: BaseGeometry, rim: BaseGeometry) -> Mark | None:
    """The stubs of a line that lie on free paper and run in from its rim, none longer than STUB_MM."""
    near = shapely.buffer(rim, STUB_MM, quad_segs=2)
    stubs = [p for p in shapely.get_parts(shapely.intersection(line, free)) if p.distance(rim) < 0.1]
    stubs = [q for p in stubs for q in shapely.get_parts(shapely.intersection(p, near))
             if q.length > 2.0 and q.distance(rim) < 0.1]
    return Mark(kind, label, shapely.multilinestrings(stubs)) if stubs else None
