"""Print: the layout sheet, its paper and its page map, before it is taken away as PDF or SVG."""

from __future__ import annotations

import logging
import re
from typing import Any

import numpy as np
from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from composer.body.measures import MeasureError
from composer.plan.model import Plan
from composer.sheets.layout import layout_pdf
from composer.sheets.paper import PAPERS, both_ways
from composer.sheets.svg import layout_svg
from composer.sheets.tiles import Tiling, tile
from composer.sheets.wide_art import parts_of
from composer.store.store import Kept
from web import estimates
from web.beside import beside
from web.desk import Desk, View
from web.page import desk_of, is_part_request, page
from web.pages.start import first_part
from web.paint.ink import ink_css
from web.paint.paths import line_data
from web.paint.table import defs, skin_path
from web.places import PART_NAMES, measured_parts, wide_sheets

log = logging.getLogger("sleevewright.web")
FACES = {"plain": "Plain, to lie over transfer paper", "mirrored": "Mirrored, for ink printed onto the transfer face"}


def choices(request: Request, plan: Plan) -> tuple[list[str], str, bool]:
    """Parts, paper and whether mirrored, as asked for; what can't be had falls back to the usual."""
    q = request.query_params
    measured = measured_parts(plan)
    used = [n for n in measured if plan.on(n)] or measured
    wanted = q.getlist("part")
    parts = [n for n in printable(plan) if n in wanted] or used
    paper = next((n for n in PAPERS if n.lower() == q.get("paper", "A4").lower()), "A4")
    return parts, paper, q.get("face") == "mirrored"


def printable(plan: Plan) -> list[str]:
    """Parts and wide sheets that can be printed."""
    return [*measured_parts(plan), *wide_sheets(plan)]


def show(request: Request) -> Response:
    desk, pid = desk_of(request), request.path_params["pid"]
    kept = desk.store.load(pid)
    part = first_part(kept.plan)
    if part is None:
        return RedirectResponse(f"/plans/{pid}/measure/left_arm?first=1", 303)
    parts, paper, mirrored = choices(request, kept.plan)
    try:
        maps = [_map(desk, kept, name, paper, mirrored) for name in parts]
    except MeasureError as err:
        raise HTTPException(422, f"{err} Measure again, then print.") from err
    _cut_ahead(desk, kept, parts)
    context = {"plan": kept.plan, "kept": kept, "part": part, "mode": "print", "parts": parts, "paper": paper,
               "face": "mirrored" if mirrored else "plain", "faces": FACES, "papers": PAPERS, "maps": maps,
               "measured": printable(kept.plan), "on": {n: _count(kept.plan, n) for n in printable(kept.plan)},
               "guessed": _guessed(kept.plan, parts), "pages": sum(m["pages"] for m in maps),
               "query": "&".join([f"paper={paper}", f"face={'mirrored' if mirrored else 'plain'}",
                                  *(f"part={n}" for n in parts)])}
    return page(request, "parts/print_form.html" if is_part_request(request) else "print.html", context)


def _guessed(plan: Plan, parts: list[str]) -> dict[str, list[str]]:
    """What was estimated and not taped of the parts that are printed, by part."""
    own = dict.fromkeys(p for name in parts for p in parts_of(name, plan))
    found = {p: estimates.guessed(plan.part(p)) for p in own}
    return {p: labels for p, labels in found.items() if labels}


def _count(plan: Plan, name: str) -> int:
    """How many pieces and fillers lie on the parts of a printed sheet."""
    return sum(len(plan.on(p)) for p in parts_of(name, plan))


def _cut(desk: Desk, kept: Kept, parts: list[str]) -> None:
    """Cut what lies behind something in front, which takes longest of a print and is remembered."""
    for part in dict.fromkeys(p for name in parts for p in parts_of(name, kept.plan)):
        view = desk.view(kept.plan, kept.revision, part)
        desk.once(("cut", kept.plan.id, kept.revision, part),
                  lambda view=view: desk.cuts.cut(view.scene, kept.plan.settings, desk.drawers))


def _cut_ahead(desk: Desk, kept: Kept, parts: list[str]) -> None:
    """The same beside the page, so that the file is ready when it is asked for."""
    def work() -> None:
        try:
            _cut(desk, kept, parts)
        except Exception:   # whoever asks for the file is told
            log.exception("cutting ahead")
    beside(work, "cut")


def _tiling(border: np.ndarray, paper: str, mirrored: bool) -> Tiling:
    outline = border * (-1, 1) if mirrored else border
    return min((tile(outline, way) for way in both_ways(paper)), key=lambda t: len(t.tiles))


def _map(desk: Desk, kept: Kept, part: str, paper: str, mirrored: bool) -> dict[str, Any]:
    """Where the pages fall on a part's sheet."""
    view = desk.view(kept.plan, kept.revision, part)
    tiling = _tiling(view.sheet.border(), paper, mirrored)
    way = tiling.frame
    return {"part": part, "name": PART_NAMES[part], "pages": len(tiling.tiles),
            "upright": way.height >= way.width, "picture": Markup(_map_svg(desk, kept, view, tiling, mirrored))}


def _map_svg(desk: Desk, kept: Kept, view: View, tiling: Tiling, mirrored: bool) -> str:
    w, h = tiling.frame.window
    corners = np.array([(t.x, t.y) for t in tiling.tiles])
    (x0, y0), (x1, y1) = corners.min(axis=0) - 4, np.add(corners.max(axis=0), (w + 4, h + 4))
    key = ("map art", kept.plan.id, kept.revision, view.part)
    art = desk.once(key, lambda: "".join(view.groups(tolerance_mm=0.4)))
    pages, size = [], 0.11 * min(w, h)
    for t in tiling.tiles:
        pages.append(f'<path class="page" d="M{t.x:.1f} {-t.y:.1f}h{w:.1f}v{-h:.1f}h{-w:.1f}z"/>'
                     f'<circle class="number" cx="{t.x + w / 2:.1f}" cy="{-t.y - h / 2:.1f}" r="{0.85 * size:.1f}"/>'
                     f'<text x="{t.x + w / 2:.1f}" y="{-t.y - h / 2 + 0.35 * size:.1f}" '
                     f'font-size="{size:.1f}">{t.number}</text>')
    crosses = "".join(f'<path class="cross" d="{line_data(np.array([[x - 4, y], [x + 4, y]]))}'
                      f'{line_data(np.array([[x, y - 4], [x, y + 4]]))}"/>' for x, y in tiling.marks)
    turn = ' transform="scale(-1 1)"' if mirrored else ""
    name = PART_NAMES[view.part].lower()
    own = f".map-{view.part}"
    css = ink_css(kept.plan.settings).replace("svg{", f"{own}{{").replace(".piece", f"{own} .piece")
    return (f'<svg class="map map-{view.part}" viewBox="{x0:.1f} {-y1:.1f} {x1 - x0:.1f} {y1 - y0:.1f}" role="img" '
            f'aria-label="{len(tiling.tiles)} pages over the sheet of the {name}"><style>{css}</style>'
            f'<g{turn}>{defs(view.sheet).replace("skin-edge", f"edge-{view.part}")}'
            f'<path class="skin-sheet" d="{skin_path(view.sheet)}"/>'
            f'<g clip-path="url(#edge-{view.part})">{art.replace("id=", "data-was=")}</g></g>'
            f'{"".join(pages)}{crosses}</svg>')


def file_name(plan: Plan, what: str) -> str:
    stem = re.sub(r"[^\w-]+", "-", plan.title.lower(), flags=re.ASCII).strip("-") or "plan"
    return f"{stem}-{what}"


def as_file(name: str) -> dict[str, str]:
    return {"Content-Disposition": f'attachment; filename="{name}"'}


def pdf(request: Request) -> Response:
    desk = desk_of(request)
    kept = desk.store.load(request.path_params["pid"])
    parts, paper, mirrored = choices(request, kept.plan)
    if not parts:
        raise HTTPException(422, "The plan has no part yet; measure an arm first, then print.")
    try:
        _cut(desk, kept, parts)
        data = layout_pdf(kept.plan, desk.store.gallery, parts, paper, mirrored)
    except MeasureError as err:
        raise HTTPException(422, f"{err} Measure again, then print.") from err
    name = file_name(kept.plan, f"{paper.lower()}{'-mirrored' if mirrored else ''}.pdf")
    return Response(data, media_type="application/pdf", headers=as_file(name))


def svg(request: Request) -> Response:
    desk = desk_of(request)
    kept = desk.store.load(request.path_params["pid"])
    part = request.path_params["part"]
    if part not in printable(kept.plan):
        raise HTTPException(404, "This part is not measured yet, so there is nothing of it to print.")
    mirrored = request.query_params.get("face") == "mirrored"
    _cut(desk, kept, [part])
    data = layout_svg(kept.plan, part, desk.store.gallery, mirrored)
    name = file_name(kept.plan, f"{part.replace('_', '-')}{'-mirrored' if mirrored else ''}.svg")
    return Response(data, media_type="image/svg+xml", headers=as_file(name))


routes = [
    Route("/plans/{pid}/print", show),
    Route("/plans/{pid}/layout.pdf", pdf),
    Route("/plans/{pid}/layout/{part}.svg", svg),
]
