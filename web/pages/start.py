"""The start page: plans as pictures; new, open, rename, delete, import and export."""

from __future__ import annotations

import re
import time
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from composer.body.measures import MeasureError
from composer.plan.errors import PlanError
from composer.plan.model import Plan
from web.desk import NotMeasured
from web.page import desk_of, page
from web.paint.ink import ink_css
from web.paint.table import thumbnail
from web.places import SHOWN, measured_parts
from web.threads import with_form

IMPORT_LIMIT = 30_000_000


def when(changed: float, now: float | None = None) -> str:
    """How long ago, in words."""
    ago = max(0.0, (time.time() if now is None else now) - changed)
    for size, one, many in ((86400, "yesterday", "{} days ago"), (3600, "an hour ago", "{} hours ago"),
                            (60, "a minute ago", "{} minutes ago")):
        n = int(ago // size)
        if n:
            return one if n == 1 else many.format(n)
    return "just now"


def first_part(plan: Plan) -> str | None:
    """The part to open: the measured one with most on it."""
    measured = measured_parts(plan)
    return max(measured, key=lambda n: (len(plan.on(n)), -SHOWN.index(n))) if measured else None


def home(request: Request) -> Response:
    rows = [{"id": r.id, "title": r.title, "when": when(r.changed), "pieces": r.pieces,
             "background": r.background, "taped": r.taped, "stamp": int(r.changed),
             "damaged": r.damaged}
            for r in desk_of(request).store.plans()]
    return page(request, "start.html", {"rows": rows, "removed": request.query_params.get("removed")})


@with_form
def new(request: Request, form: dict[str, Any]) -> Response:
    store = desk_of(request).store
    pid = store.create(str(form.get("title") or "").strip() or "New plan")
    return RedirectResponse(f"/plans/{pid}/measure/left_arm", 303)


@with_form
def rename(request: Request, form: dict[str, Any]) -> Response:
    desk_of(request).store.commit(request.path_params["pid"], {"do": "rename", "title": str(form.get("title") or "")})
    return RedirectResponse("/", 303)


def remove(request: Request) -> Response:
    pid = request.path_params["pid"]
    desk_of(request).store.remove(pid)
    return RedirectResponse(f"/?removed={pid}", 303)


def restore(request: Request) -> Response:
    desk_of(request).store.restore(request.path_params["pid"])
    return RedirectResponse("/", 303)


def take_back(request: Request) -> Response:
    """From a state that is damaged back to what can be read."""
    desk_of(request).store.take_back(request.path_params["pid"])
    return RedirectResponse("/", 303)


@with_form
def take_in(request: Request, form: dict[str, Any]) -> Response:
    file = form.get("file")
    if not hasattr(file, "read") or not file.filename:
        raise PlanError("No file was chosen. Choose a plan file that was exported from here.")
    data = file.file.read(IMPORT_LIMIT + 1)
    if len(data) > IMPORT_LIMIT:
        raise PlanError("This file is larger than 30 MB; a plan file is not that large.")
    pid = desk_of(request).store.import_plan(data)
    return RedirectResponse(f"/plans/{pid}", 303)


def give_out(request: Request) -> Response:
    store, pid = desk_of(request).store, request.path_params["pid"]
    kept = store.load(pid)
    name = re.sub(r"[^\w-]+", "-", kept.plan.title.lower(), flags=re.ASCII).strip("-") or "plan"
    return Response(store.export_plan(pid), media_type="application/octet-stream",
                    headers={"Content-Disposition": f'attachment; filename="{name}.sleevewright"'})


def opened(request: Request) -> Response:
    pid = request.path_params["pid"]
    part = first_part(desk_of(request).store.load(pid).plan)
    return RedirectResponse(f"/plans/{pid}/compose/{part}" if part else f"/plans/{pid}/measure/left_arm", 303)


def picture(request: Request) -> Response:
    """The fullest part of a plan as a small picture."""
    desk, pid = desk_of(request), request.path_params["pid"]
    kept = desk.store.load(pid)
    part = request.query_params.get("part") or first_part(kept.plan)
    if part is None:
        raise HTTPException(404)
    try:
        view = desk.view(kept.plan, kept.revision, part)
    except (NotMeasured, MeasureError):
        raise HTTPException(404) from None

    def make() -> str:
        return thumbnail(view.sheet, part, view.groups(tolerance_mm=0.4), ink_css(kept.plan.settings))

    svg = desk.once(("thumb", pid, kept.revision, part), make)
    return Response(svg, media_type="image/svg+xml", headers={"Cache-Control": "private, max-age=31536000"})


routes = [
    Route("/", home, name="home"),
    Route("/plans", new, methods=["POST"]),
    Route("/plans/import", take_in, methods=["POST"]),
    Route("/plans/{pid}", opened),
    Route("/plans/{pid}/rename", rename, methods=["POST"]),
    Route("/plans/{pid}/delete", remove, methods=["POST"]),
    Route("/plans/{pid}/restore", restore, methods=["POST"]),
    Route("/plans/{pid}/take-back", take_back, methods=["POST"]),
    Route("/plans/{pid}/export", give_out),
    Route("/plans/{pid}/picture.svg", picture),
]
