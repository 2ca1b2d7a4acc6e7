"""Where it sits best: the proposals, one of them on the sheet, and taking one."""

from __future__ import annotations

import logging
from dataclasses import replace
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from composer.plan.errors import PlanError
from composer.plan.model import Piece
from composer.plan.steps import checked
from composer.store.store import Kept
from web import best, wide_best
from web.ask import Ask
from web.desk import Desk, NotMeasured, View, new_id
from web.page import page
from web.pages.desk_steps import Form, acting, number
from web.pages.reading import asked
from web.wide_view import WideView

log = logging.getLogger("sleevewright.web")


def proposals(request: Request) -> Response:
    """Up to five places, or why there is none and what makes room."""
    goal = request.query_params.get("for", "")
    context: dict[str, Any] = {"sentence": "", "answer": None, "want": None}
    try:
        desk, kept, view = asked(request)
        context |= {"want": best.wanted(desk, kept, view, goal), "plan": kept.plan, "part": view.part}
        context["answer"] = (wide_best.answer(desk, kept, view, goal) if isinstance(view, WideView) else
                             best.answer(desk, kept, view, goal))
    except (PlanError, NotMeasured, ValueError) as err:
        context["sentence"] = str(err)
    except Exception:
        log.exception("best place for %s", goal)
        context["sentence"] = "Places could not be looked for on this arrangement; put it in by hand."
    return page(request, "parts/best.html", context)


def _piece(values: Any, base: Piece) -> Piece:
    """The piece as the page says that it should lie. Raises StepError."""
    form = dict(values)
    return checked(replace(base, u=number(form, "u"), s_mm=number(form, "s"), turn_deg=number(form, "turn"),
                           scale=number(form, "scale"), flip=form.get("flip") == "1"))


def group(request: Request) -> Response:
    """A proposal on the sheet (SVG group)."""
    desk, kept, view = asked(request)
    want = best.wanted(desk, kept, view, request.query_params.get("for", ""))
    own = _on(view, request.query_params)
    base = want.piece or Piece("best", own.part, want.drawing.digest, want.title, 0.0, 0.0)
    svg = best.on_sheet(own, want, _piece(request.query_params, base))
    return Response(svg, media_type="image/svg+xml", headers={"Cache-Control": "no-store"})


def _on(view: View, values: Any) -> View:
    """The part that a proposal lies on, on a wide sheet as it hangs there."""
    return view.views.get(str(values.get("on") or ""), view) if isinstance(view, WideView) else view


@acting
def do_take(request: Request, form: Form, desk: Desk, pid: str, part: str, ask: Ask) -> tuple[Kept, list[str] | None]:
    """Lay the motif, or move the piece, as proposed: one step."""
    kept = desk.store.load(pid)
    view = desk.view(kept.plan, kept.revision, part)
    want = best.wanted(desk, kept, view, str(form.get("for") or ""))
    part = _on(view, form).part
    base = want.piece or Piece("best", part, want.drawing.digest, want.title, 0.0, 0.0)
    p = _piece(form, base)
    lies = {"u": p.u, "s_mm": p.s_mm, "turn_deg": p.turn_deg, "scale": p.scale, "flip": p.flip}
    if want.piece is not None:
        step: dict[str, Any] = {"do": "change", "pieces": [{"id": p.id, **lies}]}
        return desk.store.commit(pid, step, _told(want.piece, p)), [p.id]
    new = new_id()
    piece = {"id": new, "part": part, "art": p.art, "title": want.title, "motif": want.motif, "state": "planned",
             **lies}
    return desk.store.commit(pid, {"do": "place", "piece": piece}, f"place {want.title.lower()}"), [new]


def _told(old: Piece, new: Piece) -> str:
    """What was done to make a piece fit, for the undo button."""
    name = new.title.lower()
    if max(abs(old.u - new.u), abs(old.s_mm - new.s_mm)) > 1e-5:
        return f"put {name} where it fits"
    if abs(old.scale - new.scale) > 1e-5:
        return f"make {name} {'larger' if new.scale > old.scale else 'smaller'} to fit"
    return f"turn {name} to fit"


_AT = "/plans/{pid}/desk/{part}/best"
routes = [Route(_AT, proposals), Route(f"{_AT}/group", group), Route(f"{_AT}/take", do_take, methods=["POST"])]
