"""What a filler must pass before it is shown, and the measures by which candidates are ranked.

`findings` are hard rules: a drawing with any is never shown. `measures` are bands. Joints that a
kind declares (`notes["joints"]`: [x, y, radius] in mm) may be narrower than the line gap.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from scipy import ndimage
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import END_KINDS, Drawing
from composer.filler.clip_memo import by_identity
from composer.filler.closing import grown, shrunk, thinned
from composer.filler.filigree_room import Room
from composer.filler.ground import Ground
from composer.plan.model import Hand

TOLERANCE_MM = 0.02
JOINT_LIMIT_MM = 7.0
REACH_MM = 5.0


@dataclass(frozen=True)
class Finding:
    """A broken rule: its short name, a sentence for people, and where (mm)."""

    rule: str
    sentence: str
    x: float
    y: float


def _parts(geometry: BaseGeometry) -> list[BaseGeometry]:
    return [g for g in getattr(geometry, "geoms", [geometry]) if isinstance(g, Polygon) and not g.is_empty]


def _at(geometry: BaseGeometry) -> tuple[float, float]:
    p = geometry.representative_point()
    return float(p.x), float(p.y)


def findings(drawing: Drawing, ground: Ground, hand: Hand) -> list[Finding]:
    """Broken hard rules, worst first; empty when the drawing may be shown."""
    out = _broken_rings(drawing)
    if out:
        return out
    ink = drawing.ink()
    if ink.is_empty:
        return [Finding("empty", "There is no ink in this filler; propose it again with another seed.", 0.0, 0.0)]
    return [*_ends(drawing), *_in_front(drawing, ink, ground), *_outside(drawing, ink, ground),
            *widths(drawing, ink, ground, hand)]


def _broken_rings(drawing: Drawing) -> list[Finding]:
    out = []
    for name, rings in [("silhouette", drawing.silhouette), *((la.role, la.rings) for la in drawing.layers)]:
        if not rings or _all_valid(rings):
            continue
        for ring in rings:
            if len(ring) < 3 or not np.all(np.isfinite(ring)) or not Polygon(ring).is_valid:
                ok = np.all(np.isfinite(ring)) and len(ring)
                x, y = (float(ring[0][0]), float(ring[0][1])) if ok else (0.0, 0.0)
                out.append(Finding("valid", f"A ring of the layer '{name}' crosses itself or has no area.", x, y))
    return out


def _all_valid(rings: Sequence[np.ndarray]) -> bool:
    """Whether every ring (n, 2) is an area by itself; asked for all at once."""
    count = [len(r) for r in rings]
    at = np.concatenate(rings)
    if min(count) < 3 or not np.all(np.isfinite(at)):
        return False
    lines = shapely.linearrings(at, indices=np.repeat(np.arange(len(count)), count))
    return bool(shapely.is_valid(shapely.polygons(lines)).all())


def _ends(drawing: Drawing) -> list[Finding]:
    return [Finding("end", f"A stroke ends '{e.how}' here; it has to end in a tip, in a ball or tucked behind "
                    "what lies in front.", e.x, e.y)
            for e in drawing.ends if e.how == "bare" or e.how not in END_KINDS]


def _near_tucked(drawing: Drawing, part: BaseGeometry, reach: float) -> bool:
    return any(e.how == "tucked" and part.distance(Point(e.x, e.y)) <= reach for e in drawing.ends)


def _in_front(drawing: Drawing, ink: BaseGeometry, ground: Ground) -> list[Finding]:
    """Ink within the skin break of what lies in front, unless it belongs to a tucked end."""
    if ground.front.is_empty:
        return []
    shapely.prepare(ground.front)
    if not shapely.dwithin(ground.front, ink, ground.skin_break_mm - TOLERANCE_MM):
        return []
    zone = _kept_clear(ground.front, ground.skin_break_mm - TOLERANCE_MM)
    out = []
    for part in _parts(ink.intersection(zone)):
        if part.area > 1e-3 and not _near_tucked(drawing, part, 1.0):
            d = part.distance(ground.front)
            out.append(Finding("skin break", f"Ink comes within {d:.1f} mm of what lies in front; "
                               f"{ground.skin_break_mm:.1f} mm of skin have to stay clear.", *_at(part)))
    return out


@by_identity
def _kept_clear(front: BaseGeometry, by_mm: float) -> BaseGeometry:
    return front.buffer(by_mm, quad_segs=12)


def _outside(drawing: Drawing, ink: BaseGeometry, ground: Ground) -> list[Finding]:
    """Ink outside the free skin, unless it runs behind what lies in front to a tucked end."""
    open_skin = _reached(ground.free)
    if shapely.covers(open_skin, ink):
        return []
    over = shapely.difference(ink, open_skin)
    return [Finding("outside", "Ink runs out of the free skin here without being tucked behind a piece.", *_at(p))
            for p in _parts(over) if p.area > 1e-2 and not _near_tucked(drawing, p, 1.0)]


@by_identity
def _reached(free: BaseGeometry) -> BaseGeometry:
    """Free skin and the tolerance round it, prepared."""
    out = free.buffer(TOLERANCE_MM, quad_segs=4)
    shapely.prepare(out)
    return out


def widths(drawing: Drawing, ink: BaseGeometry, ground: Ground, hand: Hand) -> list[Finding]:
    """Slots between ink narrower than the line gap (what a closing of the ink would fill), and ink
    thinner than the finest line (what an opening by nine tenths of it would lose).

    The closing grows corners blunt instead of round, which is quick and never less than round; where
    it finds a slot the round one decides."""
    r, half = ground.line_gap_mm / 2 - TOLERANCE_MM, hand.fine_mm / 2 * 0.88
    rough = thinned(ink, 0.01)
    shut = shapely.buffer(grown(rough, r), -r, quad_segs=6)
    firm = shapely.buffer(thinned(shrunk(rough, half), 0.005), half * 1.12, quad_segs=4)
    off = _large(shapely.difference(shut, firm), min(0.05, 0.12 * hand.fine_mm))
    if not len(off):
        return []
    off = shapely.multipolygons(off)
    return [*_slots(drawing, rough, shapely.difference(off, ink), ground.line_gap_mm),
            *_too_fine(shapely.intersection(off, ink), hand)]


def _large(shape: BaseGeometry, least_mm2: float) -> np.ndarray:
    """Parts of more than this area that are no mere slivers."""
    parts = shapely.get_parts(shape)
    parts = parts[shapely.area(parts) > least_mm2]
    return parts[~shapely.is_empty(shapely.buffer(parts, -0.04, quad_segs=2))] if len(parts) else parts


def _slots(drawing: Drawing, ink: BaseGeometry, empty: BaseGeometry, line_gap_mm: float) -> list[Finding]:
    """Slots among the `empty` places, but for those in declared joints."""
    r = line_gap_mm / 2 - TOLERANCE_MM
    slots = _apart(_large(empty, 0.05), drawing)
    if len(slots):
        near = shapely.intersection(ink, shapely.union_all(shapely.buffer(slots, 2 * r + 0.2, quad_segs=2)))
        shut = shapely.buffer(shapely.buffer(near, r, quad_segs=8), -r, quad_segs=8)
        empty = shapely.difference(shut, shapely.buffer(near, 0.03, quad_segs=2))
        slots = _apart(_large(shapely.intersection(empty, shapely.union_all(slots)), 0.05), drawing)
    out = []
    for part in slots:
        width = 2 * part.area / max(part.length / 2, 1e-6)
        out.append(Finding("line gap", f"Two lines stand closer than {line_gap_mm:.1f} mm here (a slot of about "
                           f"{min(width, line_gap_mm):.1f} mm); healed, they would run together.", *_at(part)))
    return out


def _apart(slots: np.ndarray, drawing: Drawing) -> np.ndarray:
    """What of the slots lies outside the joints that the drawing declares."""
    joints = np.array(drawing.notes.get("joints", ()), float).reshape(-1, 3)
    if not len(slots) or not len(joints):
        return slots
    discs = shapely.buffer(shapely.points(joints[:, :2]), np.minimum(joints[:, 2], JOINT_LIMIT_MM))
    pair = shapely.STRtree(slots).query(discs, predicate="intersects")
    for k in np.unique(pair[1]):
        slots[k] = shapely.difference(slots[k], shapely.union_all(discs[pair[0][pair[1] == k]]))
    return _large(slots, 0.05)


def _too_fine(lost: BaseGeometry, hand: Hand) -> list[Finding]:
    return [Finding("too fine", f"Thinner than the finest line of the hand ({hand.fine_mm:.2f} mm).", *_at(p))
            for p in _parts(lost) if p.area > 0.12 * hand.fine_mm]


def measures(drawing: Drawing, ground: Ground) -> dict[str, Any]:
    """Figures for ranking. `reach`: share of the free skin within 5 mm of ink; `cover`: share
    under the silhouette; `ink_share`; `void_cv`: standard deviation over mean of the void radii
    (peaks of the distance to ink or to the edge of the gap); `widest_void_mm`: diameter of the
    widest empty disc; `loose_parts`; `neighbours_met`: pieces that a tucked end lies behind;
    `ends`: count by class; `flow_off_deg`: mean angle between ink edges and the flow."""
    ink = drawing.ink()
    room = Room(ground.free, 0.6)
    inside = room.wall > 0
    over = Room(ink, 0.6, ground.free.bounds)
    body = Room(drawing.outline, 0.6, ground.free.bounds)
    away = -over.wall
    void = np.where(inside, np.minimum(room.wall, away), -1.0)
    peak = (void >= ndimage.maximum_filter(void, size=7)) & (void > 0.8)
    radii = void[peak]
    met = set()
    pieces = _parts(ground.front)
    for e in drawing.ends:
        if e.how == "tucked":
            met |= {i for i, p in enumerate(pieces) if p.distance(Point(e.x, e.y)) < 0.5}
    return {
        "reach": float((away[inside] <= REACH_MM).mean()),
        "cover": float((body.wall[inside] > 0).mean()),
        "ink_share": float((away[inside] < 0).mean()),
        "void_cv": float(radii.std() / radii.mean()) if len(radii) > 1 else 0.0,
        "widest_void_mm": float(2 * void.max()),
        "loose_parts": len(_parts(ink)),
        "neighbours_met": len(met),
        "ends": {k: sum(e.how == k for e in drawing.ends) for k in END_KINDS},
        "flow_off_deg": _flow_off(ink, ground),
    }


def _flow_off(ink: BaseGeometry, ground: Ground) -> float:
    """Mean angle (degrees, 0..90) between the ink's edges and the flow, by length."""
    at, way = [], []
    for p in _parts(ink):
        for ring in (p.exterior, *p.interiors):
            c = np.asarray(ring.coords)
            at.append((c[1:] + c[:-1]) / 2)
            way.append(np.diff(c, axis=0))
    xy, d = np.concatenate(at), np.concatenate(way)
    off = np.abs((np.arctan2(d[:, 1], d[:, 0]) - ground.flow(xy) + np.pi / 2) % np.pi - np.pi / 2)
    return float(np.degrees(np.average(off, weights=np.maximum(np.hypot(d[:, 0], d[:, 1]), 1e-9))))
