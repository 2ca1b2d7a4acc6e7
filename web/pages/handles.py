"""Grips of a filler: where they lie, what comes of a pull, back to how it was proposed, round its neighbours again."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from composer.body.joins_wide import WIDE
from composer.plan.errors import PlanError, StepError
from composer.store.store import Kept
from web import pulling
from web.answer import changed
from web.ask import Ask, ask_of
from web.desk import Desk
from web.findings import listed
from web.page import desk_of
from web.pages.desk_steps import Form, acting
from web.threads import with_form
from web.wide_view import WideView

NO_STORE = {"Cache-Control": "no-store"}


def handles(request: Request) -> Response:
    """The grips of one filler (JSON); with a sentence alone where it has none."""
    desk, pid, part = desk_of(request), request.path_params["pid"], request.path_params["part"]
    piece_id = str(request.query_params.get("id") or "")
    try:
        kept = desk.store.load(pid)
        kept.plan.piece(piece_id)
        view = desk.view_of(kept.plan, kept.revision, part, piece_id)
        found = pulling.shown(desk, kept, view, piece_id, part in WIDE)
        return JSONResponse(found | {"revision": kept.revision}, headers=NO_STORE)
    except (PlanError, KeyError, ValueError) as err:
        return JSONResponse({"id": piece_id, "note": str(err.args[0] if err.args else err)}, headers=NO_STORE)


def _pull(desk: Desk, kept: Kept, part: str, form: Form) -> tuple[dict[str, Any], str]:
    """The change that a pull makes, and its words. Raises StepError or KeyError with a sentence."""
    piece = pulling.filler_of(kept, str(form.get("id") or ""))
    view = desk.view_of(kept.plan, kept.revision, part, piece.id)
    what = str(form.get("what") or "")
    recipe = pulling.pulled_recipe(desk, kept, view, piece, what, str(form.get("places") or ""))
    return pulling.redrawn(desk, kept, view, piece, recipe), pulling.words(what, recipe, piece.title)


@with_form
def attempt(request: Request, form: Form) -> Response:
    """Draw a filler as it was pulled, without keeping it: so that nothing else waits meanwhile. What was drawn is
    there when it is kept."""
    desk, pid, part = desk_of(request), request.path_params["pid"], request.path_params["part"]
    try:
        _pull(desk, desk.store.load(pid), part, form)
    except (PlanError, KeyError) as err:
        return JSONResponse({"ok": False, "sentence": str(err.args[0])}, headers=NO_STORE)
    return JSONResponse({"ok": True}, headers=NO_STORE)


@acting
def do_keep(request: Request, form: Form, desk: Desk, pid: str, part: str, ask: Ask) -> tuple[Kept, list[str] | None]:
    """Keep what was pulled, as one step."""
    change, words = _pull(desk, desk.store.load(pid), part, form)
    return desk.store.commit(pid, {"do": "change", "pieces": [change]}, words), None


@acting
def do_back(request: Request, form: Form, desk: Desk, pid: str, part: str, ask: Ask) -> tuple[Kept, list[str] | None]:
    """Draw a filler as it was proposed, before anything of it was pulled."""
    kept = desk.store.load(pid)
    piece = pulling.filler_of(kept, str(form.get("id") or ""))
    assert piece.recipe is not None
    view = desk.view_of(kept.plan, kept.revision, part, piece.id)
    change = pulling.redrawn(desk, kept, view, piece, pulling.as_proposed(piece.recipe))
    return desk.store.commit(pid, {"do": "change", "pieces": [change]},
                             f"put {piece.title.lower()} back to how it was proposed"), None


@with_form
def do_around(request: Request, form: Form) -> Response:
    """Draw one filler, or every one on the sheet whose neighbours moved since, again as they lie now; as one step."""
    desk, pid, part = desk_of(request), request.path_params["pid"], request.path_params["part"]
    ask, kept = ask_of(form), desk.store.load(pid)
    try:
        if form.get("id"):
            pieces = [pulling.filler_of(kept, str(form["id"]))]
        else:
            view = desk.view(kept.plan, kept.revision, part)
            parts = tuple(view.views) if isinstance(view, WideView) else (WIDE.get(part, part),)
            pieces = pulling.strayed(kept.plan, parts)
        changes, left, why = [], [], ""
        for piece in pieces:
            view = desk.view_of(kept.plan, kept.revision, part, piece.id)
            try:
                changes.append(pulling.redrawn(desk, kept, view, piece, piece.recipe))
            except StepError as err:
                left, why = [*left, piece.title], str(err)
        if not changes:
            raise StepError(why or "Every filler is drawn round its neighbours as they lie now.")
        who = pieces[0].title.lower() if len(pieces) == 1 else f"{len(changes)} fillers"
        kept = desk.store.commit(pid, {"do": "change", "pieces": changes}, f"draw {who} round the neighbours")
    except (PlanError, KeyError) as err:
        return changed(request, desk.store.load(pid), part, ask, notice=str(err.args[0]), status=422)
    notice = f"Left as it was: {listed(left)}. {why}" if left else ""
    return changed(request, kept, part, ask, notice=notice)


_AT = "/plans/{pid}/desk/{part}/handles"
routes = [
    Route(_AT, handles),
    Route(f"{_AT}/try", attempt, methods=["POST"]),
    Route(f"{_AT}/keep", do_keep, methods=["POST"]),
    Route(f"{_AT}/back", do_back, methods=["POST"]),
    Route(f"{_AT}/around", do_around, methods=["POST"]),
]
