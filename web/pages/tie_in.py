"""Twins, candidates for a gap or a tie, and drawing a filler anew."""

from __future__ import annotations

from dataclasses import asdict, replace
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from composer.body.joins_wide import WIDE
from composer.filler.proposals import Proposal, wish_of
from composer.plan.errors import PlanError, StepError
from composer.plan.model import PANELS
from composer.plan.shape import Shape, with_shape
from composer.plan.twins import OTHER
from composer.store.store import Kept
from web import brush, findings, goals, pulling, wide_stroke
from web.answer import changed
from web.ask import Ask, ask_of
from web.desk import Desk, View, new_id
from web.page import desk_of, page
from web.pages.desk_steps import Form, acting
from web.paint.piece import piece_group
from web.places import PART_NAMES
from web.threads import with_form
from web.wide_found import part_with
from web.wide_view import WideView

AXES = {"front": 0.0, "side": 0.25}


@acting
def do_twin(request: Request, form: Form, desk: Desk, pid: str, part: str,
            ask: Ask) -> tuple[Kept, list[str] | None]:
    """Mirror what is selected over a line of this arm, or onto the other arm."""
    over, linked = str(form.get("over")), bool(form.get("linked"))
    if not ask.selected:
        raise StepError("Nothing is selected; choose a piece on the sheet first.")
    plan = desk.store.load(pid).plan
    steps = [{"do": "twin", "id": i, "new_id": new_id(), "linked": linked, **_over(over, plan.piece(i).part)}
             for i in ask.selected]
    axis = all("axis_u" in s for s in steps) or part in WIDE
    step = steps[0] if len(steps) == 1 else {"do": "several", "steps": steps}
    kept = desk.store.commit(pid, step, None if len(steps) == 1 else f"mirror {len(steps)} pieces")
    return kept, [s["new_id"] for s in steps] if axis else None


def _over(over: str, part: str) -> dict[str, float]:
    """What a twin step says of the line it mirrors over: on chest and back the midline, which takes an arm's pieces
    to the other arm. Raises StepError."""
    if part in PANELS:
        return {"axis_u": 0.0}
    if over not in AXES and over not in ("midline", OTHER.get(part)):
        raise StepError("A piece can be mirrored over a line of its limb or onto the other side.")
    return {"axis_u": AXES[over]} if over in AXES else {}


def _asked(desk: Desk, pid: str, part: str, form: Form) -> tuple[Kept, Any, str, str, Any, int]:
    kept = desk.store.load(pid)
    view = desk.view(kept.plan, kept.revision, part)
    view = part_with(desk, kept, view, str(form.get("for") or ""))
    return (kept, view, str(form.get("for") or ""), str(form.get("kind") or ""), goals.wish_from(form),
            goals.seed_from(form))


@with_form
def candidates(request: Request, form: Form) -> Response:
    """Pictures of what one kind proposes: sketches first where it has them, when `finished` is asked for the
    drawings."""
    desk, pid, part = desk_of(request), request.path_params["pid"], request.path_params["part"]
    context: dict[str, Any] = {"kind": str(form.get("kind") or ""), "picks": [], "sentence": "", "seed": 1,
                               "finished": True}
    try:
        kept, view, key, kind, wish, seed = _asked(desk, pid, part, form)
        first = goals.sketched(desk, kept, view, key, kind, wish, seed)
        if first and not form.get("finished"):
            context |= {"picks": goals.pictures(desk, kept, view, key, first), "seed": seed, "finished": False}
            return page(request, "parts/picks.html", context)
        made = goals.candidates(desk, kept, view, key, kind, wish, seed)
        context |= {"picks": goals.pictures(desk, kept, view, key, made), "seed": seed}
        if made:
            bare = [PART_NAMES[own.part].lower() for own, rows in _beside(desk, kept, part, form) if not rows]
            context["sentence"] = " ".join(s for s in (goals.not_as_sketched(first, made), _left_open(bare)) if s)
        else:
            context["sentence"] = "Nothing of this kind keeps the rules here; try a smaller size, or other drawings."
    except PlanError as err:
        context["sentence"] = str(err)
    return page(request, "parts/picks.html", context)


def _beside(desk: Desk, kept: Kept, part: str, form: Form, drawn: bool = True) -> list[tuple[View, list[Proposal]]]:
    """What is proposed, or as long as it is not `drawn` sketched, for the further parts that a painted stroke runs
    over, each with the part's view. Raises StepError."""
    what, out = goals.candidates if drawn else goals.sketched, []
    for key in brush.keys_of(str(form.get("for") or ""))[1:]:
        _, view, _, kind, wish, seed = _asked(desk, kept.plan.id, part, {**form, "for": key})
        out.append((view, what(desk, kept, view, key, kind, wish, seed)))
    return out


def _left_open(names: list[str]) -> str:
    if not names:
        return ""
    where = " and ".join(f"on the {n}" for n in dict.fromkeys(names))
    return f"Nothing of this kind keeps the rules {where}: there the skin under the stroke stays open."


def _chosen(desk: Desk, pid: str, part: str, form: Form, drawn: bool) -> tuple[Kept, list[tuple[View, Proposal]]]:
    """The chosen drawing with the part it lies on; of a stroke over several parts one for each. While it is not `drawn`
    its sketch, where there is one."""
    kept, view, key, kind, wish, seed = _asked(desk, pid, part, form)
    made = [] if drawn else goals.sketched(desk, kept, view, key, kind, wish, seed)
    drawn = drawn or not made
    made = made or goals.candidates(desk, kept, view, key, kind, wish, seed)
    try:
        index = int(form.get("index", -1))
        first = next(p for p in made if p.number == index)
    except (ValueError, StopIteration) as err:
        raise StepError("This drawing is no longer proposed; choose another.") from err
    rest = [(own, rows[index % len(rows)]) for own, rows in _beside(desk, kept, part, form, drawn) if rows]
    return kept, [(view, first), *rest]


@with_form
def on_sheet(request: Request, form: Form) -> Response:
    """One candidate as it would lie on the sheet (SVG group): its sketch until it is `finished`."""
    desk, pid, part = desk_of(request), request.path_params["pid"], request.path_params["part"]
    kept, rows = _chosen(desk, pid, part, form, bool(form.get("finished")))
    whole, groups = desk.view(kept.plan, kept.revision, part), []
    for n, (view, chosen) in enumerate(rows):
        sheet = whole.views[view.part].sheet if isinstance(whole, WideView) else view.sheet
        laid = goals.laid_proposal(view, chosen, f"proposed-{n}" if len(rows) > 1 else "proposed")
        groups.append(piece_group(laid, sheet, f"proposed-{chosen.drawing.digest[:12]}", 0.15))
    group = groups[0] if len(groups) == 1 else f'<g class="piece" id="piece-proposed">{"".join(groups)}</g>'
    return Response(group, media_type="image/svg+xml", headers={"Cache-Control": "no-store"})


@with_form
def do_brush(request: Request, form: Form) -> Response:
    """A stroke painted on the sheet is opened like a gap."""
    desk, pid, part = desk_of(request), request.path_params["pid"], request.path_params["part"]
    ask, kept = ask_of(form), desk.store.load(pid)
    view = desk.view(kept.plan, kept.revision, part)
    try:
        text, width = str(form.get("stroke") or ""), str(form.get("width") or "")
        if isinstance(view, WideView):
            key = wide_stroke.painted(desk, kept, view, text, width)
        else:
            key = brush.key_of(text, width, view.sheet)
            brush.gaps(findings.surveyed(desk, kept, view)[1], key)
    except StepError as err:
        return changed(request, kept, part, ask, notice=str(err), status=422)
    return changed(request, kept, part, replace(ask, goal=key, selected=()))


@acting
def do_accept(request: Request, form: Form, desk: Desk, pid: str, part: str,
              ask: Ask) -> tuple[Kept, list[str] | None]:
    """Keep a candidate: it becomes a piece like any other, under a stroke over several parts one on each."""
    _, rows = _chosen(desk, pid, part, form, True)
    pieces = [goals.piece_json(p, view.part, new_id("f"), desk.store.keep_drawing(p.drawing)) for view, p in rows]
    steps = [{"do": "place", "piece": piece} for piece in pieces]
    step: dict[str, Any] = steps[0] if len(steps) == 1 else {"do": "several", "steps": steps}
    kept = desk.store.commit(pid, step, f"tie in with {rows[0][1].title.lower()}")
    return kept, [piece["id"] for piece in pieces]


@acting
def do_remake(request: Request, form: Form, desk: Desk, pid: str, part: str,
              ask: Ask) -> tuple[Kept, list[str] | None]:
    """Draw a filler anew: other wishes, another seed, another way of its kind, or another ground, painted by hand."""
    kept = desk.store.load(pid)
    piece = pulling.filler_of(kept, str(form.get("id") or ""))
    assert piece.recipe is not None
    view = desk.view_of(kept.plan, kept.revision, part, piece.id)
    wish = goals.wish_from(form, wish_of(piece.recipe))
    seed = piece.recipe.seed + 1 if form.get("another") else piece.recipe.seed
    recipe = piece.recipe
    if form.get("stroke"):
        whole = desk.view(kept.plan, kept.revision, part)
        wide = whole.wide.part(view.part) if isinstance(whole, WideView) else None
        goal = brush.goal_of(brush.key_of(str(form["stroke"]), str(form.get("width") or ""), wide or view.sheet,
                                          view.part if wide else ""))
        view = replace(view, joined=True) if goal.get("joined") else view
        recipe = with_shape(replace(recipe, goal=goal, params={**recipe.params, "try": 0}), Shape())
    if form.get("way") and form["way"] != recipe.params.get("way"):
        recipe = replace(recipe, params={**recipe.params, "way": str(form["way"]), "try": 0})
    change = pulling.redrawn(desk, kept, view, piece, recipe, wish, seed)
    return desk.store.commit(pid, {"do": "change", "pieces": [change]}, f"draw {piece.title.lower()} anew"), None


@acting
def do_fix(request: Request, form: Form, desk: Desk, pid: str, part: str, ask: Ask) -> tuple[Kept, list[str] | None]:
    """Fix a filler as a drawing, or let it be drawn anew again."""
    piece = desk.store.load(pid).plan.piece(str(form.get("id") or ""))
    if piece.recipe is None:
        raise StepError(f"'{piece.title}' is a drawing already.")
    on = form.get("on") == "1"
    params = {k: v for k, v in piece.recipe.params.items() if k != "fixed"} | ({"fixed": True} if on else {})
    change = {"id": piece.id, "recipe": asdict(replace(piece.recipe, params=params))}
    words = f"fix {piece.title.lower()} as a drawing" if on else f"let {piece.title.lower()} be drawn anew"
    return desk.store.commit(pid, {"do": "change", "pieces": [change]}, words), None


_AT = "/plans/{pid}/desk/{part}"
routes = [
    Route(f"{_AT}/twin", do_twin, methods=["POST"]),
    Route(f"{_AT}/candidates", candidates, methods=["POST"]),
    Route(f"{_AT}/candidate", on_sheet, methods=["POST"]),
    Route(f"{_AT}/brush", do_brush, methods=["POST"]),
    Route(f"{_AT}/accept", do_accept, methods=["POST"]),
    Route(f"{_AT}/fix", do_fix, methods=["POST"]),
    Route(f"{_AT}/remake", do_remake, methods=["POST"]),
]
