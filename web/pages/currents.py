"""How background runs on a part: shown over the sheet, and changed by strokes, rings and a spiral."""

from __future__ import annotations

import math

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from composer.plan.currents import MOST_POINTS
from composer.plan.errors import StepError
from composer.store.store import Kept
from web import findings
from web.ask import Ask
from web.brush import thinned_stroke
from web.desk import Desk
from web.page import desk_of
from web.pages.desk_steps import Form, acting
from web.paint.flow_lines import flow_group


def lines(request: Request) -> Response:
    """The flow as an SVG group over the sheet; empty where gaps could not be worked out."""
    desk, pid, part = desk_of(request), request.path_params["pid"], request.path_params["part"]
    kept = desk.store.load(pid)
    view = desk.view(kept.plan, kept.revision, part)
    found = findings.of(desk, kept, view)
    group = flow_group(view, found.survey.flow) if found.survey is not None else "<g></g>"
    return Response(group, media_type="image/svg+xml", headers={"Cache-Control": "no-store"})


@acting
def do_current(request: Request, form: Form, desk: Desk, pid: str, part: str,
               ask: Ask) -> tuple[Kept, list[str] | None]:
    """One change: a stroke drawn on the sheet, a stroke taken away, rings, the spiral, or all back to its own."""
    step: dict[str, object] = {"do": "currents", "part": part}
    kept = desk.store.load(pid)
    words = "change how background runs"
    if "stroke" in form:
        view = desk.view(kept.plan, kept.revision, part)
        skin = thinned_stroke(str(form["stroke"]), view.sheet, MOST_POINTS)
        step["add"], words = [[round(float(u), 4), round(float(s), 1)] for u, s in skin], "draw a stroke of flow"
    if "remove" in form:
        step["remove"], words = _whole(form["remove"]), "delete a stroke of flow"
    if "rings" in form:
        step["rings"] = form["rings"] == "1"
    if "spiral" in form:
        step["spiral_deg"] = _number(form["spiral"])
    if form.get("clear"):
        step["clear"] = True
    return desk.store.commit(pid, step, words), None


def _whole(value: object) -> int:
    text = str(value)
    return int(text) if text.isdecimal() and len(text) < 9 else -1


def _number(value: object) -> float:
    try:
        out = float(str(value))
    except ValueError:
        out = math.nan
    if not math.isfinite(out):
        raise StepError("The spiral must be a number of degrees.")
    return out


_AT = "/plans/{pid}/desk/{part}"
routes = [Route(f"{_AT}/flow.svg", lines), Route(f"{_AT}/currents", do_current, methods=["POST"])]
