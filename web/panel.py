"""What stands beside the sheet: the lists at its left, and the panel that suits what is selected."""

from __future__ import annotations

from typing import Any

import numpy as np

from composer.art.colour_notes import noted_areas
from composer.body.joins_wide import WIDE
from composer.filler.kinds import every_kind
from composer.filler.proposals import wish_of
from composer.plan.model import Piece
from composer.plan.shape import Shape, shape_of
from composer.plan.twins import OTHER
from composer.store.gallery import MISSING
from composer.store.store import Kept
from web import best, brush, estimates, findings, goals, pulling, readings, wide_goal
from web.ask import Ask
from web.desk import Desk, View
from web.paint.body import body_svg
from web.paint.colour import skin_of
from web.paint.table import side_at
from web.places import PART_NAMES, left_sign, measured_parts
from web.wide_view import WideView


def own_box(desk: Desk, digest: str) -> list[float]:
    """A drawing's own rectangle (x0, y0, x1, y1), mm."""
    def make() -> list[float]:
        xy = np.concatenate(desk.store.shown[digest].silhouette)
        return np.round([*xy.min(axis=0), *xy.max(axis=0)], 3).tolist()
    return desk.once(("box", digest), make)


def size_mm(desk: Desk, piece: Piece) -> tuple[float, float]:
    """Width and height of a piece as it lies, before its turn, mm."""
    x0, y0, x1, y1 = own_box(desk, piece.art)
    return (x1 - x0) * piece.scale, (y1 - y0) * piece.scale


def lists(desk: Desk, kept: Kept, view: View, ask: Ask) -> dict[str, Any]:
    """Body drawing, pieces, background and gaps at the left."""
    on = view.on()[::-1]
    found = findings.for_page(desk, kept, view, ask.early)
    measured = set(measured_parts(view.plan))
    other = OTHER.get(view.part, "")
    return {"body": body_svg(view.plan.id, view.part, ask.mode, measured, skin_of(view.plan.settings)),
            "pieces": [p for p in on if not p.is_filler], "fillers": [p for p in on if p.is_filler],
            "mirrored": readings.mirrored(desk, kept, [p.id for p in on]),
            "guests": [g for g in view.leaning.values() if not g.laid.piece.is_filler],
            "missing": [la.piece.title for la in view.scene.laid if MISSING in la.flat.notes],
            "guessed": estimates.guessed(view.plan.part(WIDE.get(view.part, view.part))),
            "found": found, "other": other if other in measured else None, "other_name": PART_NAMES.get(other, "")}


def context(desk: Desk, kept: Kept, view: View, ask: Ask) -> dict[str, Any]:
    """Which panel, and what it needs."""
    if best.is_asked(ask.goal) and not ask.early:
        return best.panel(desk, kept, view, ask.goal)
    chosen = [p for p in view.on() if p.id in ask.selected]
    guests = [g for i, g in view.leaning.items() if i in ask.selected]
    if guests and not chosen:
        return {"panel": "guest", "guest": guests[0]}
    if len(chosen) == 1:
        return _one(desk, kept, view, chosen[0])
    if chosen:
        return {"panel": "several", "chosen": chosen,
                "all_locked": all(p.locked for p in chosen), "any_locked": any(p.locked for p in chosen)}
    if ask.mode == "tie-in" and isinstance(view, WideView):
        return wide_goal.panel(desk, kept, view, ask)
    if ask.mode == "tie-in":
        return goals.panel(desk, kept, view, ask)
    if ask.early and not desk.shelf_ready:
        return {"panel": "shelf", "shelf": None}
    return {"panel": "shelf", "shelf": desk.store.shelf()}


def _across(kept: Kept, view: View) -> float:
    """What one unit of u is worth towards the client's left, mm, on chest and back; 0 on limbs."""
    return 0.0 if view.limb.closed else left_sign(view.part) * float(view.limb.girth(0.0))


def _one(desk: Desk, kept: Kept, view: View, piece: Piece) -> dict[str, Any]:
    view = desk.view_of(kept.plan, kept.revision, view.part, piece.id)
    other = OTHER.get(piece.part, "")
    width, height = size_mm(desk, piece)
    original = next((p for p in kept.plan.pieces if p.id == piece.twin_of), None)
    twins = [p for p in kept.plan.pieces if p.twin_of == piece.id]
    more: dict[str, Any] = {}
    if piece.recipe is not None:
        known = every_kind().get(piece.recipe.kind)
        more = {"sliders": goals.SLIDERS, "wish": wish_of(piece.recipe), "ways": known.ways if known else (),
                "brush_mm": brush.USUAL_MM, "pulled": shape_of(piece.recipe) != Shape(),
                "moved_beside": pulling.moved_titles(kept.plan, piece) if piece.recipe and not piece.stays else []}
    noted = desk.store.shown[piece.art].notes
    how = noted.get(MISSING)
    lost = how and f"The drawing of '{piece.title}' {how}"
    return {"panel": "piece", "piece": piece, "lost": lost, "width": width, "height": height,
            "longest": max(width, height), "side": side_at(view.part, piece.u),
            "colours": ", ".join(noted_areas(noted)),
            "around": (round(piece.u * 360) + 180) % 360 - 180, "across": piece.u * _across(kept, view),
            "other": other if other in measured_parts(kept.plan) else None, "other_name": PART_NAMES.get(other, ""),
            "twin_of": original, "twins": twins, "readings": readings.of(desk, kept, view, piece), **more}
