"""What is read of a piece or a part, asked for after the answer that it belongs to."""

from __future__ import annotations

import logging
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from composer.plan.errors import PlanError
from composer.store.store import Kept
from web import board, fit
from web.ask import Ask
from web.desk import Desk, NotMeasured, View
from web.page import desk_of, page
from web.pages.desk_steps import Form, acting

log = logging.getLogger("sleevewright.web")


def asked(request: Request) -> tuple[Desk, Kept, View]:
    """The desk, the plan as it is now and the part as it lies. Raises PlanError, NotMeasured."""
    desk, pid, part = desk_of(request), request.path_params["pid"], request.path_params["part"]
    kept = desk.store.load(pid)
    return desk, kept, desk.view(kept.plan, kept.revision, part)


def piece_fit(request: Request) -> Response:
    """The readings of one piece."""
    piece_id = request.query_params.get("piece", "")
    context: dict[str, Any] = {"sentence": "", "shown": None}
    try:
        desk, kept, view = asked(request)
        view = desk.view_of(kept.plan, kept.revision, view.part, piece_id)
        context |= {"shown": fit.of_piece(desk, kept, view, piece_id), "plan": kept.plan, "part": view.part,
                    "piece_id": piece_id, "movable": not kept.plan.piece(piece_id).locked}
    except (PlanError, NotMeasured) as err:
        context["sentence"] = str(err)
    except Exception:
        # Placing and printing must go on whatever an odd outline does to a reading; the cause is logged.
        log.exception("reading of %s", piece_id)
        context["sentence"] = "How this piece lies could not be worked out."
    return page(request, "parts/fit.html", context)


def whole_part(request: Request) -> Response:
    """The board of the part, for the wide drawer; `short` for the panel."""
    short = "short" in request.query_params
    context: dict[str, Any] = {"sentence": "", "short": short}
    try:
        desk, kept, view = asked(request)
        context |= {"plan": kept.plan, "part": view.part, "unit": kept.plan.settings.unit}
        if short:
            b = board.of(desk, kept, view)
            context |= {"b": b, "tied": board.tied(desk, kept, view, b)}
        else:
            context |= board.context(desk, kept, view)
    except (PlanError, NotMeasured, ValueError) as err:
        context["sentence"] = str(err)
    except Exception:
        log.exception("board of %s", request.path_params["part"])
        context["sentence"] = "Cover, tones and balance could not be worked out for this arrangement."
    return page(request, "parts/board_short.html" if short else "parts/board.html", context)


@acting
def do_threshold(request: Request, form: Form, desk: Desk, pid: str, part: str,
                 ask: Ask) -> tuple[Kept, list[str] | None]:
    """A threshold as typed; empty takes it back to the usual one."""
    step = board.with_limit(desk.store.load(pid).plan, str(form.get("name")), str(form.get("value") or ""))
    return desk.store.commit(pid, step, "change a threshold"), None


_AT = "/plans/{pid}/desk/{part}"
routes = [
    Route(f"{_AT}/fit", piece_fit),
    Route(f"{_AT}/board", whole_part),
    Route(f"{_AT}/threshold", do_threshold, methods=["POST"]),
]
