"""Compose and Tie in: the desk as a page."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from composer.body.joins_wide import WIDE
from composer.body.measures import MeasureError
from web.answer import whole
from web.ask import Ask
from web.desk import NotMeasured
from web.page import desk_of
from web.places import SHOWN


def _desk(request: Request, mode: str) -> Response:
    pid, part = (request.path_params[k] for k in ("pid", "part"))
    if part not in SHOWN and part not in WIDE:
        raise HTTPException(404, "This part of the body is not planned here.")
    kept = desk_of(request).store.load(pid)
    try:
        view = desk_of(request).view(kept.plan, kept.revision, part)
    except NotMeasured as err:
        return RedirectResponse(f"/plans/{pid}/measure/{err}?first=1", 303)
    except MeasureError:
        return RedirectResponse(f"/plans/{pid}/measure/{WIDE.get(part, part)}?first=1", 303)
    chosen = tuple(request.query_params.get("sel", "").split())
    return whole(request, kept, view, Ask(chosen, mode, request.query_params.get("goal", ""), early=True))


def desk_compose(request: Request) -> Response:
    return _desk(request, "compose")


def desk_tie_in(request: Request) -> Response:
    desk_of(request).drawers.warm()
    return _desk(request, "tie-in")


routes = [Route("/plans/{pid}/compose/{part}", desk_compose), Route("/plans/{pid}/tie-in/{part}", desk_tie_in)]
