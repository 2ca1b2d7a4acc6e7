"""What the desk shows of a part, whole for a new page or as the parts that changed."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import numpy as np
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from composer.plan.scene import Laid
from composer.store.store import Kept
from web import findings, panel, shading, sleeve, tint
from web.ask import Ask
from web.desk import View
from web.page import desk_of, page
from web.paint.colour import skin_of
from web.paint.table import box_of, defs, numbers, pencil, side_at, sides, skin_path
from web.wide_view import WideView


def piece_data(laid: Laid, box: list[float], home: str = "") -> dict[str, Any]:
    """A piece as the browser holds it; `box` is the drawing's own (x0, y0, x1, y1) in mm. `home`: the part that it
    lies on, where it only reaches in here; such a piece can be looked at but not moved."""
    p = laid.piece
    if home:
        lo, hi = (f(np.concatenate(laid.flat.silhouette), axis=0).tolist() for f in (np.min, np.max))
        return {"id": p.id, "title": p.title, "u": p.u, "s": p.s_mm, "turn": 0.0, "scale": 1.0, "flip": False,
                "state": p.state, "locked": True, "filler": p.is_filler, "box": [*lo, *hi], "home": home,
                "part": p.part}
    return {"id": p.id, "title": p.title, "u": p.u, "s": p.s_mm, "turn": p.turn_deg, "scale": p.scale,
            "flip": p.flip, "state": p.state, "locked": p.locked, "filler": p.is_filler, "box": box, "part": p.part}


def _home(view: View, laid: Laid) -> str:
    return view.leaning[laid.piece.id].home if laid.piece.id in view.leaning else ""


def window_data(request: Request, kept: Kept, view: View, found: findings.Found | None, first: bool,
                extra: dict[str, Any]) -> Markup:
    """The numbers that go with a page or an answer, as JSON safe inside a script element."""
    data: dict[str, Any] = {"part": view.part, "revision": kept.revision, "sheetName": view.sheet_name, "pieces": [
        piece_data(la, panel.own_box(desk_of(request), la.piece.art), _home(view, la)) for la in view.drawn],
        **({} if found is None else {"labels": found.labels(), "late": found.late}), **extra}
    if first:
        box = box_of(view.sheet)
        data["sheet"] = numbers(view.sheet, view.part)
        data["box"] = {"x": box.x, "y": box.y, "w": box.width, "h": box.height}
    return Markup(json.dumps(data, separators=(",", ":")).replace("<", "\\u003c"))


def shared(request: Request, kept: Kept, view: View, ask: Ask) -> dict[str, Any]:
    """What every desk template needs."""
    for rest in (desk_of(request).ahead, desk_of(request).soon):
        rest.asked(kept.plan.id, view.part)
    ids = {la.piece.id for la in view.scene.laid}
    ask = replace(ask, selected=tuple(i for i in ask.selected if i in ids))
    return {"plan": kept.plan, "kept": kept, "view": view, "part": view.part, "ask": ask,
            "unit": kept.plan.settings.unit, "base": f"/plans/{kept.plan.id}/desk/{view.part}", "mode": ask.mode,
            "skin": skin_of(kept.plan.settings), "sides": sides(view.part),
            "seam_side": side_at(view.part, view.sheet.seam_u), "sleeve_svg": sleeve.overlay(view),
            "shade_svg": shading.overlay(view),
            "sleeve_name": sleeve.name_of(kept.plan, view.part),
            **panel.lists(desk_of(request), kept, view, ask)}


def whole(request: Request, kept: Kept, view: View, ask: Ask) -> Response:
    """The desk as a page."""
    context = shared(request, kept, view, ask)
    context |= panel.context(desk_of(request), kept, view, context["ask"])
    extra = {"select": list(context["ask"].selected), "goal": ask.goal or None,
             "late": context["found"].late or context.get("shelf", ()) is None}
    context |= {"tints": list(tint.choices_of(view)), "tint_words": tint.WHAT}
    context |= {"reaching": (view.guests(True), view.guests(False)) if isinstance(view, WideView) else None}
    context |= {"groups": view.groups(), "box": box_of(view.sheet), "skin_path": skin_path(view.sheet),
                "sheet_defs": defs(view.sheet), "pencil": pencil(view.sheet, view.part),
                "data": window_data(request, kept, view, context["found"], True, extra)}
    return page(request, "desk.html", context)


def soon(request: Request, kept: Kept, part: str, ask: Ask) -> Response:
    """What a hand waits for when it has let go, without gaps, lists and panel: the page asks for those next."""
    view = desk_of(request).view(kept.plan, kept.revision, part)
    fresh = [i for i, k in view.keys().items() if ask.have.get(i) != k]
    data = window_data(request, kept, view, None, False, {"soon": True})
    return page(request, "parts/answer_soon.html", {"kept": kept, "fresh": view.groups(fresh), "data": data})


def changed(request: Request, kept: Kept, part: str, ask: Ask, *, notice: str = "", select: list[str] | None = None,
            status: int = 200) -> Response:
    """The parts of the desk that an act changed, to be put in place by htmx."""
    view = desk_of(request).view(kept.plan, kept.revision, part)
    if select is not None:
        ask = replace(ask, selected=tuple(select))
    context = shared(request, kept, view, ask)
    context |= panel.context(desk_of(request), kept, view, context["ask"])
    keys = view.keys()
    fresh = [i for i, k in keys.items() if ask.have.get(i) != k]
    extra: dict[str, Any] = {"goal": context["ask"].goal or None}
    if select is not None:
        extra["select"] = select
    context |= {"fresh": view.groups(fresh), "notice": notice,
                "overlay": context["found"].overlay if ask.gaps else "",
                "data": window_data(request, kept, view, context["found"], False, extra)}
    return page(request, "parts/answer.html", context, status=status)
