"""The drawer in which a sleeve's edges are chosen."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from composer.plan.errors import PlanError
from composer.store.store import Kept
from web import sleeve
from web.ask import Ask
from web.desk import Desk, NotMeasured
from web.page import page
from web.pages.desk_steps import Form, acting
from web.pages.reading import asked


def edges(request: Request) -> Response:
    """Presets and both edges, as they stand."""
    context: dict[str, Any] = {"sentence": ""}
    try:
        _, kept, view = asked(request)
        context |= {"plan": kept.plan, "part": view.part, "unit": kept.plan.settings.unit, **sleeve.context(view)}
    except (PlanError, NotMeasured, ValueError) as err:
        context["sentence"] = str(err)
    return page(request, "parts/sleeve.html", context)


@acting
def do_sleeve(request: Request, form: Form, desk: Desk, pid: str, part: str,
              ask: Ask) -> tuple[Kept, list[str] | None]:
    """One field of the drawer: a preset, or one thing of one edge."""
    plan = desk.store.load(pid).plan
    return desk.store.commit(pid, sleeve.step(plan, part, str(form.get("name") or ""),
                                              str(form.get("value") or ""))), None


_AT = "/plans/{pid}/desk/{part}/sleeve"
routes = [Route(_AT, edges), Route(_AT, do_sleeve, methods=["POST"])]
