"""Everything that changes what lies on the desk: one step each, then the parts of the page that changed."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from composer.art.drawing import Drawing
from composer.body.joins_wide import WIDE
from composer.body.surface import Surface
from composer.body.units import LengthError, parse_length
from composer.json_in import read_json
from composer.plan.errors import PlanError, StepError
from composer.plan.model import PANELS, PARTS, Piece, Plan
from composer.plan.sittings import sitting_typed
from composer.sheets.wide_art import parts_of
from composer.store.store import Kept
from web import panel
from web.answer import changed, soon
from web.ask import Ask, ask_of
from web.brush import line_of
from web.desk import Desk, View, new_id
from web.page import desk_of
from web.paint.table import sides
from web.places import far_word, left_sign
from web.threads import with_form
from web.tracing import traced_piece
from web.wide_view import WideView

Form = dict[str, Any]


def acting(fn: Callable[[Request, Form, Desk, str, str, Ask], tuple[Kept, list[str] | None]]) -> Any:
    """An endpoint that does `fn` (plan changed, what to select) and answers; a refusal is a sentence
    over the plan as it is now. A form that says `soon` is answered with the pictures alone."""
    @with_form
    def run(request: Request, form: Form) -> Response:
        desk, ask = desk_of(request), ask_of(form)
        pid, part = request.path_params["pid"], request.path_params["part"]
        try:
            kept, select = fn(request, form, desk, pid, part, ask)
        except (StepError, LengthError) as err:
            return changed(request, desk.store.load(pid), part, ask, notice=str(err), status=422)
        if form.get("soon") and select is None:
            return soon(request, kept, part, ask)
        return changed(request, kept, part, ask, select=select)
    return run


def read_step(form: Form) -> dict[str, Any]:
    """The step in a form. Raises StepError when it can't be read."""
    try:
        step = read_json(form.get("step") or "")
    except ValueError as err:
        raise StepError("The change could not be read; load the page again.") from err
    ids = step.get("ids", []) if isinstance(step, dict) else None
    if not isinstance(ids, list):
        raise StepError("The change could not be read; load the page again.")
    return step


@acting
def do_step(request: Request, form: Form, desk: Desk, pid: str, part: str,
            ask: Ask) -> tuple[Kept, list[str] | None]:
    step = read_step(form)
    select = None
    if step.get("do") == "duplicate":
        step["new_ids"] = [new_id() for _ in step.get("ids", [])]
        select = step["new_ids"]
    try:
        return desk.store.commit(pid, step), select
    except (LookupError, TypeError, AttributeError, ArithmeticError) as err:
        raise StepError(f"The change could not be made as it was sent ({type(err).__name__}); load the page "
                        "again.") from err


@acting
def do_place(request: Request, form: Form, desk: Desk, pid: str, part: str,
             ask: Ask) -> tuple[Kept, list[str] | None]:
    """A motif from the shelf at a place on skin; with `room`, the mm that are free there, as large as does for it and
    clear of the limb's ends."""
    motif = desk.store.motif(str(form.get("motif") or ""))
    least, most = motif.side["min_mm"], motif.side["max_mm"]
    size = float(np.clip(max(motif.width_mm, motif.height_mm), least, most))
    if form.get("room"):
        size = float(np.clip(number(form, "room"), least, size))
    on = str(form.get("on") or "") if part in WIDE else part
    if part in WIDE and on not in parts_of(part, desk.store.load(pid).plan):
        raise StepError("A drawing can't be laid there; drop it on a shoulder, the chest or the back.")
    scale, u, s_mm = size / max(motif.width_mm, motif.height_mm), number(form, "u"), number(form, "s")
    if form.get("room"):
        kept = desk.store.load(pid)
        limb = desk.view(kept.plan, kept.revision, on).limb
        u, s_mm = _centred(limb, desk.store.gallery[motif.digest], scale, u, s_mm)
    piece = {"id": new_id(), "part": on, "art": motif.digest,
             "title": motif.title, "motif": motif.id,
             "u": u, "s_mm": s_mm, "turn_deg": 0.0, "state": "planned", "scale": scale}
    return desk.store.commit(pid, {"do": "place", "piece": piece}), [piece["id"]]


def _centred(limb: Surface, drawing: Drawing, scale: float, u: float, s_mm: float) -> tuple[float, float]:
    """Anchor (u, s mm) at which an upright drawing has its middle at a place, and lies between the ends of a limb where
    it can."""
    xy = np.concatenate(drawing.silhouette) * scale
    low, high = xy.min(axis=0), xy.max(axis=0)
    x, y = (low + high) / 2
    first, last = limb.s_min - low[1], limb.s_max - high[1]
    level = s_mm - y
    if limb.closed and first < last:
        level = float(np.clip(level, first, last))
    return u - float(x / limb.girth(level)), level


@acting
def do_trace(request: Request, form: Form, desk: Desk, pid: str, part: str,
             ask: Ask) -> tuple[Kept, list[str] | None]:
    """An outline drawn by hand on the sheet becomes a healed piece."""
    kept = desk.store.load(pid)
    view = desk.view(kept.plan, kept.revision, part)
    ring = str(form.get("ring") or "")
    home = _drawn_on(view, ring)
    drawing, u, s_mm = traced_piece(ring, home.sheet)
    count = sum(p.title.startswith("Healed piece") for p in kept.plan.pieces)
    piece = {"id": new_id(), "part": home.part, "art": desk.store.keep_drawing(drawing), "state": "healed",
             "title": f"Healed piece {count + 1}" if count else "Healed piece", "u": u, "s_mm": s_mm}
    return desk.store.commit(pid, {"do": "place", "piece": piece}, "trace a healed piece"), [piece["id"]]


def _drawn_on(view: View, ring: str) -> View:
    """The part that an outline (JSON [[x, y], ...], mm) lies on: on a wide sheet that under its middle."""
    if not isinstance(view, WideView):
        return view
    return view.views[view.holding(line_of(ring).mean(axis=0)).part]


@acting
def do_field(request: Request, form: Form, desk: Desk, pid: str, part: str,
             ask: Ask) -> tuple[Kept, list[str] | None]:
    """A value typed into the panel, for what is selected."""
    plan = desk.store.load(pid).plan
    name, value = str(form.get("name")), str(form.get("value") or "")
    pieces = [_typed(desk, plan, plan.piece(i), name, value) for i in ask.selected]
    if not pieces:
        raise StepError("Nothing is selected; choose a piece on the sheet first.")
    return desk.store.commit(pid, {"do": "change", "pieces": pieces}), None


def _typed(desk: Desk, plan: Plan, piece: Piece, name: str, value: str) -> dict[str, Any]:
    unit = plan.settings.unit
    if name == "title":
        return {"id": piece.id, "title": value}
    if name == "size":
        mm = parse_length(value, unit, f"The size of '{piece.title}'")
        return {"id": piece.id, "scale": piece.scale * mm / max(panel.size_mm(desk, piece))}
    if name == "up":
        what = f"The height of '{piece.title}' above the {far_word(piece.part)}"
        return {"id": piece.id, "s_mm": parse_length(value, unit, what)}
    if name == "across":
        if piece.part not in PANELS:
            raise StepError("Only on chest and back is a piece placed by its distance from the midline.")
        return {"id": piece.id, "u": across_mm(value, unit, piece.title) * left_sign(piece.part)
                / plan.part(piece.part).measures["chest_girth"]}
    if name == "sitting":
        return {"id": piece.id, "sitting": sitting_typed(value, piece.title)}
    if name in ("turn", "around"):
        deg = degrees(value, "turn" if name == "turn" else "place round the limb")
        return {"id": piece.id, "turn_deg": deg} if name == "turn" else {"id": piece.id, "u": deg / 360}
    raise StepError(f"There is no field called '{name}'.")


def across_mm(value: str, unit: str, title: str) -> float:
    """A distance from the midline as typed, mm, to the client's left; with a minus to the right."""
    text = value.strip().replace("\u2212", "-")
    sign = -1.0 if text.startswith("-") else 1.0
    return sign * parse_length(text.removeprefix("-"), unit, f"The distance of '{title}' from the midline")


HABITS = ("dark", "taper", "wobble", "corner", "density")
HAND = ("outline_mm", "line_mm", "fine_mm", *HABITS)
MARGINS = ("skin_break_mm", "line_gap_mm")


@acting
def do_setting(request: Request, form: Form, desk: Desk, pid: str, part: str,
               ask: Ask) -> tuple[Kept, list[str] | None]:
    """A margin or a width of the plan's hand, as typed."""
    name, text = str(form.get("name")), str(form.get("value") or "").replace(",", ".").removesuffix("mm").strip()
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise StepError(f"'{text[:20]}' is no number; write it in mm, such as 2 or 0.7.")
    if name in HABITS and not 0 <= value <= 1:
        raise StepError(f"{value:g} lies outside 0 to 1.")
    if name not in (*HAND, *MARGINS):
        raise StepError(f"There is no setting called '{name}'.")
    change = {name: value} if name in MARGINS else {"hand": {name: value}}
    return desk.store.commit(pid, {"do": "settings", "set": change}, "change how it is drawn"), None


@with_form
def seam(request: Request, form: Form) -> Response:
    """Cut the sheet open along another side; nothing else changes."""
    desk, pid, part = desk_of(request), request.path_params["pid"], request.path_params["part"]
    if part not in PARTS:
        raise StepError("This part of the body is not planned here.")
    u = next((u for u, name in sides(part).items() if name == form.get("side")), None)
    if u is None:
        raise StepError("Choose the side along which the sheet is to be cut.")
    desk.store.commit(pid, {"do": "seam", "part": part, "u": u})
    step = "tie-in" if request.query_params.get("step") == "tie-in" else "compose"
    return RedirectResponse(f"/plans/{pid}/{step}/{part}", 303)


def degrees(text: str, what: str) -> float:
    """An angle as typed. Raises StepError with a sentence."""
    try:
        deg = float(text.replace("\u00b0", "").replace("\u2212", "-").replace(",", ".").strip())
    except ValueError:
        deg = math.nan
    if not math.isfinite(deg) or abs(deg) > 3600:
        raise StepError(f"The {what} is '{text[:20]}', which is no angle; write degrees, such as 15 or -30.")
    return deg


def number(form: Form, name: str) -> float:
    """A number that the page sent. Raises StepError when it is none."""
    try:
        value = float(form[name])
    except (KeyError, TypeError, ValueError):
        value = math.nan
    if not math.isfinite(value):
        raise StepError("The place could not be read; try again.")
    return value


@acting
def do_undo(request: Request, form: Form, desk: Desk, pid: str, part: str,
            ask: Ask) -> tuple[Kept, list[str] | None]:
    return desk.store.undo(pid), None


@acting
def do_redo(request: Request, form: Form, desk: Desk, pid: str, part: str,
            ask: Ask) -> tuple[Kept, list[str] | None]:
    return desk.store.redo(pid), None


@acting
def do_refresh(request: Request, form: Form, desk: Desk, pid: str, part: str,
               ask: Ask) -> tuple[Kept, list[str] | None]:
    """Nothing changed here; show what is so now (another window, another selection)."""
    return desk.store.load(pid), None


def revision(request: Request) -> Response:
    try:
        return JSONResponse({"revision": desk_of(request).store.revision(request.path_params["pid"])},
                            headers={"Cache-Control": "no-store"})
    except PlanError as err:
        return JSONResponse({"gone": str(err)}, headers={"Cache-Control": "no-store"})


_AT = "/plans/{pid}/desk/{part}"
routes = [
    Route(f"{_AT}/step", do_step, methods=["POST"]),
    Route(f"{_AT}/place", do_place, methods=["POST"]),
    Route(f"{_AT}/trace", do_trace, methods=["POST"]),
    Route(f"{_AT}/field", do_field, methods=["POST"]),
    Route(f"{_AT}/undo", do_undo, methods=["POST"]),
    Route(f"{_AT}/redo", do_redo, methods=["POST"]),
    Route(f"{_AT}/refresh", do_refresh, methods=["POST"]),
    Route(f"{_AT}/setting", do_setting, methods=["POST"]),
    Route("/plans/{pid}/seam/{part}", seam, methods=["POST"]),
    Route("/plans/{pid}/revision", revision),
]
