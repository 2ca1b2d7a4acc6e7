"""Twins, candidates for a gap or a tie, and drawing a filler anew."""

from __future__ import annotations

from dataclasses import asdict, replace
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from composer.filler.proposals import rebuild, wish_of
from composer.plan.errors import PlanError, StepError
from composer.plan.twins import OTHER
from composer.store.store import Kept
from web import brush, findings, goals
from web.answer import changed
from web.ask import Ask, ask_of
from web.desk import Desk, new_id
from web.page import desk_of, page
from web.pages.desk_steps import Form, acting
from web.paint.piece import piece_group
from web.threads import with_form

AXES = {"front": 0.0, "side": 0.25}


@acting
def do_twin(request: Request, form: Form, desk: Desk, pid: str, part: str,
            ask: Ask) -> tuple[Kept, list[str] | None]:
    """Mirror what is selected over a line of this arm, or onto the other arm."""
    over, linked = str(form.get("over")), bool(form.get("linked"))
    axis = AXES.get(over)
    if axis is None and over != OTHER.get(part):
        raise StepError("A piece can be mirrored over a line of its limb or onto the other side.")
    if not ask.selected:
        raise StepError("Nothing is selected; choose a piece on the sheet first.")
    steps = []
    for piece_id in ask.selected:
        on = {} if axis is None else {"axis_u": axis}
        steps.append({"do": "twin", "id": piece_id, "new_id": new_id(), "linked": linked, **on})
    step = steps[0] if len(steps) == 1 else {"do": "several", "steps": steps}
    kept = desk.store.commit(pid, step, None if len(steps) == 1 else f"mirror {len(steps)} pieces")
    return kept, [s["new_id"] for s in steps] if axis is not None else None


def _asked(desk: Desk, pid: str, part: str, form: Form) -> tuple[Kept, Any, str, str, Any, int]:
    kept = desk.store.load(pid)
    view = desk.view(kept.plan, kept.revision, part)
    return (kept, view, str(form.get("for") or ""), str(form.get("kind") or ""), goals.wish_from(form),
            goals.seed_from(form))


@with_form
def candidates(request: Request, form: Form) -> Response:
    """Pictures of what one kind proposes."""
    desk, pid, part = desk_of(request), request.path_params["pid"], request.path_params["part"]
    context: dict[str, Any] = {"kind": str(form.get("kind") or ""), "picks": [], "sentence": "", "seed": 1}
    try:
        kept, view, key, kind, wish, seed = _asked(desk, pid, part, form)
        made = goals.candidates(desk, kept, view, key, kind, wish, seed)
        context |= {"picks": goals.pictures(view, findings.of(desk, kept, view), key, made), "seed": seed}
        if not made:
            context["sentence"] = "Nothing of this kind keeps the rules here; try a smaller size, or other drawings."
    except PlanError as err:
        context["sentence"] = str(err)
    return page(request, "parts/picks.html", context)


def _chosen(desk: Desk, pid: str, part: str, form: Form) -> tuple[Kept, Any, Any]:
    kept, view, key, kind, wish, seed = _asked(desk, pid, part, form)
    made = goals.candidates(desk, kept, view, key, kind, wish, seed)
    try:
        return kept, view, made[int(form.get("index", -1))]
    except (ValueError, IndexError) as err:
        raise StepError("This drawing is no longer proposed; choose another.") from err


@with_form
def on_sheet(request: Request, form: Form) -> Response:
    """One candidate as it would lie on the sheet (SVG group)."""
    desk, pid, part = desk_of(request), request.path_params["pid"], request.path_params["part"]
    _, view, chosen = _chosen(desk, pid, part, form)
    group = piece_group(goals.laid_proposal(view, chosen), view.sheet, f"proposed-{chosen.drawing.digest[:12]}", 0.15)
    return Response(group, media_type="image/svg+xml", headers={"Cache-Control": "no-store"})


@with_form
def do_brush(request: Request, form: Form) -> Response:
    """A stroke painted on the sheet is opened like a gap."""
    desk, pid, part = desk_of(request), request.path_params["pid"], request.path_params["part"]
    ask, kept = ask_of(form), desk.store.load(pid)
    view = desk.view(kept.plan, kept.revision, part)
    try:
        key = brush.key_of(str(form.get("stroke") or ""), str(form.get("width") or ""), view.sheet)
        found = findings.of(desk, kept, view)
        if found.survey is None:
            raise StepError(found.fault)
        brush.gaps(found.survey, key)
    except StepError as err:
        return changed(request, kept, part, ask, notice=str(err), status=422)
    return changed(request, kept, part, replace(ask, goal=key, selected=()))


@acting
def do_accept(request: Request, form: Form, desk: Desk, pid: str, part: str,
              ask: Ask) -> tuple[Kept, list[str] | None]:
    """Keep a candidate: it becomes a piece like any other."""
    _, _, chosen = _chosen(desk, pid, part, form)
    piece_id = new_id("f")
    piece = goals.piece_json(chosen, part, piece_id, desk.store.keep_drawing(chosen.drawing))
    kept = desk.store.commit(pid, {"do": "place", "piece": piece}, f"tie in with {chosen.title.lower()}")
    return kept, [piece_id]


@acting
def do_remake(request: Request, form: Form, desk: Desk, pid: str, part: str,
              ask: Ask) -> tuple[Kept, list[str] | None]:
    """Draw a filler anew, with other wishes or another seed; it goes back to its gap."""
    kept = desk.store.load(pid)
    view = desk.view(kept.plan, kept.revision, part)
    piece = kept.plan.piece(str(form.get("id") or ""))
    if piece.recipe is None:
        raise StepError(f"'{piece.title}' is not background, so it cannot be drawn anew.")
    if piece.locked:
        raise StepError(f"'{piece.title}' is locked; unlock it to draw it anew.")
    found = findings.of(desk, kept, view)
    if found.survey is None:
        raise StepError(found.fault)
    wish = goals.wish_from(form, wish_of(piece.recipe))
    seed = piece.recipe.seed + 1 if form.get("another") else piece.recipe.seed
    try:
        new = rebuild(piece.recipe, view.scene, found.survey, kept.plan.settings, wish, seed)
    except ValueError as err:
        raise StepError(str(err)) from err
    change = {"id": piece.id, "art": desk.store.keep_drawing(new.drawing), "recipe": asdict(new.recipe),
              "u": new.u, "s_mm": new.s_mm, "turn_deg": 0.0, "scale": 1.0, "flip": False}
    return desk.store.commit(pid, {"do": "change", "pieces": [change]}, f"draw {piece.title.lower()} anew"), None


_AT = "/plans/{pid}/desk/{part}"
routes = [
    Route(f"{_AT}/twin", do_twin, methods=["POST"]),
    Route(f"{_AT}/candidates", candidates, methods=["POST"]),
    Route(f"{_AT}/candidate", on_sheet, methods=["POST"]),
    Route(f"{_AT}/brush", do_brush, methods=["POST"]),
    Route(f"{_AT}/accept", do_accept, methods=["POST"]),
    Route(f"{_AT}/remake", do_remake, methods=["POST"]),
]
