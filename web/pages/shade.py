"""Shade lines on the Tie in step: drawn on the sheet or set at a level, changed, deleted; fillers drawn again."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.routing import Route

from composer.body.units import parse_length
from composer.compose.tone_field import larger_side
from composer.plan.currents import MOST_POINTS
from composer.plan.errors import StepError
from composer.plan.model import Piece
from composer.plan.shade_lines import ShadeLine, shade_of
from composer.store.store import Kept
from web import pulling, shading
from web.ask import Ask
from web.brush import thinned_stroke
from web.desk import Desk, View, new_id
from web.pages.desk_steps import Form, acting
from web.wide_view import WideView

BEYOND = "beyond a shade line"
SEEDS = 6
"""So many drawings of a filler are tried, the first with its own seed."""


@acting
def do_shade(request: Request, form: Form, desk: Desk, pid: str, part: str, ask: Ask) -> tuple[Kept, list[str] | None]:
    """One change: a line drawn or set at a level, another side or fall-off, a line deleted, cuffs, contrast."""
    kept = desk.store.load(pid)
    view = _single(desk, kept, part)
    step: dict[str, Any] = {"do": "shade", "part": part}
    if "stroke" in form:
        skin = thinned_stroke(str(form["stroke"]), view.sheet, MOST_POINTS)
        step["add"] = _new(kept, view, [[round(float(u), 4), round(float(s), 1)] for u, s in skin])
    elif "level" in form:
        s = parse_length(str(form["level"]), kept.plan.settings.unit, "The level of the shade line")
        if not view.limb.s_min <= s <= view.limb.s_max:
            raise StepError(f"A shade line at {s:g} mm would lie off the skin; this part runs from "
                            f"{view.limb.s_min:.0f} to {view.limb.s_max:.0f} mm.")
        wide = (-0.5, 0.0, 0.45) if view.limb.closed else (-0.05, 0.05)
        step["add"] = _new(kept, view, [[u, round(s, 1)] for u in wide])
    elif "remove" in form:
        step["remove"] = str(form["remove"])
    elif "swap" in form:
        line = shade_of(kept.plan.part(part)).line(str(form["swap"]))
        step["change"] = {"id": line.id, "side": -line.side}
    elif "line" in form:
        step["change"] = {"id": str(form["line"]), "fall_mm": _number(form.get("fall"), "fall-off of a shade line")}
    elif "cuff" in form:
        step["cuff_mm"] = _number(form["cuff"], "fall-off at the cuffs")
    elif "contrast" in form:
        step["contrast"] = form["contrast"] == "1"
    else:
        raise StepError("The change could not be read; load the page again.")
    return desk.store.commit(pid, step), None


def _new(kept: Kept, view: View, points: list[list[float]]) -> dict[str, Any]:
    """A new line, its shaded side the one with more skin."""
    if len(points) < 2:
        raise StepError("A shade line needs a stroke over the skin; draw it again.")
    line = ShadeLine(new_id("s"), tuple((p[0], p[1]) for p in points))
    others = shade_of(kept.plan.part(view.part)).lines
    return {"id": line.id, "points": points, "side": larger_side(view.limb, line, others)}


@acting
def do_again(request: Request, form: Form, desk: Desk, pid: str, part: str, ask: Ask) -> tuple[Kept, list[str] | None]:
    """Draw the fillers whose tone has changed again, as one step; what lies wholly beyond a line goes."""
    kept = desk.store.load(pid)
    view = _single(desk, kept, part)
    pieces = shading.concerned(desk, kept, view)
    changes, gone, why = [], [], ""
    for piece in pieces:
        try:
            changes.append(_drawn(desk, kept, view, piece))
        except StepError as err:
            why = str(err)
            if BEYOND in why:
                gone.append(piece.id)
    if not changes and not gone:
        raise StepError(why or "Every filler is as dark as it is to be already.")
    steps: list[dict[str, Any]] = [{"do": "change", "pieces": changes}] if changes else []
    steps += [{"do": "remove", "ids": gone}] if gone else []
    n = len(changes) + len(gone)
    return desk.store.commit(pid, steps[0] if len(steps) == 1 else {"do": "several", "steps": steps},
                             f"draw {n} {'filler' if n == 1 else 'fillers'} again for the shading"), None


def _drawn(desk: Desk, kept: Kept, view: View, piece: Piece) -> dict[str, Any]:
    """The filler drawn again as it was or, where that breaks a rule in what is left of its skin, with one of the next
    seeds. Raises StepError with the last sentence."""
    assert piece.recipe is not None
    for seed in [None, *(piece.recipe.seed + k for k in range(1, SEEDS))]:
        try:
            return pulling.redrawn(desk, kept, view, piece, piece.recipe, seed=seed)
        except StepError as err:
            why = err
            if BEYOND in str(err):
                break
    raise why


def _single(desk: Desk, kept: Kept, part: str) -> View:
    view = desk.view(kept.plan, kept.revision, part)
    if isinstance(view, WideView):
        raise StepError("Draw shade lines on the sheet of the arm, the chest or the back itself.")
    return view


def _number(value: object, what: str) -> float:
    try:
        return float(str(value).replace(",", ".").replace("mm", "").strip())
    except ValueError as err:
        raise StepError(f"The {what} must be a number of mm.") from err


_AT = "/plans/{pid}/desk/{part}/shade"
routes = [Route(_AT, do_shade, methods=["POST"]), Route(f"{_AT}/again", do_again, methods=["POST"])]
