"""Overlays of the sheet: the picture, its key, the table that says the same, and a client's own zones."""

from __future__ import annotations

import logging
from typing import Any

import numpy as np
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from composer.body.motion import poses_of
from composer.body.zones import SCALES
from composer.compose.fit_seen import views_of
from composer.plan.errors import PlanError, StepError
from composer.store.store import Kept
from web import fit, shading, tint
from web.ask import Ask
from web.desk import Desk, NotMeasured, View
from web.page import page, templates
from web.pages.desk_steps import Form, acting
from web.pages.reading import asked
from web.paint.table import sides
from web.places import left_sign
from web.wide_view import WideView

log = logging.getLogger("sleevewright.web")


def overlay(request: Request) -> Response:
    """What lies over the sheet, as {svg, tags, legend}; all empty for nothing."""
    q = request.query_params
    nothing = {"svg": "", "tags": [], "legend": "", "choice": ""}
    try:
        desk, kept, view = asked(request)
        got = tint.of(desk, kept, view, q.get("what", ""), q.get("choice", ""), q.get("sel", ""))
    except (PlanError, NotMeasured, ValueError) as err:
        return JSONResponse({**nothing, "sentence": str(err)}, 422)
    except Exception:
        log.exception("overlay of %s", request.path_params["part"])
        return JSONResponse({**nothing, "sentence": "This could not be worked out for this arrangement."}, 422)
    if got is None:
        return JSONResponse(nothing)
    legend = templates.get_template("parts/legend.html").render(t=got, choices=tint.choices_of(view)[got.what])
    return JSONResponse({"svg": got.svg, "tags": [vars(t) for t in got.tags], "legend": legend, "choice": got.choice},
                        headers={"Cache-Control": "no-store"})


def table(request: Request) -> Response:
    """The overlay as a table, for the wide drawer."""
    what = request.query_params.get("what", "")
    context: dict[str, Any] = {"sentence": "", "what": what, "rows": []}
    try:
        desk, kept, view = asked(request)
        context |= {"plan": kept.plan, "part": view.part}
        if what not in tint.choices_of(view):
            raise StepError("There is no such overlay on this part.")
        if isinstance(view, WideView):
            context |= _wide_rows(desk, kept, view, what)
        else:
            context |= _ROWS[what](desk, kept, view)
    except (PlanError, NotMeasured, ValueError) as err:
        context["sentence"] = str(err)
    return page(request, "parts/tint_table.html", context)


def _stretch_rows(desk: Desk, kept: Kept, view: View) -> dict[str, Any]:
    """Each piece with what every pose does to it."""
    rows = []
    for la in reversed(view.drawn):
        if not la.piece.is_filler:
            shown = fit.of_piece(desk, kept, view, la.piece.id)
            least, most = shown.fit.facts.stretch
            rows.append({"id": la.piece.id, "title": la.piece.title, "poses": {p.pose: p for p in shown.poses},
                         "paper": "no cone" if not np.isfinite(most) else
                         f"{fit.signed(least - 1)} to {fit.signed(most - 1)}"})
    return {"rows": rows, "poses": poses_of(view.part)[1:] if fit.has_poses(view) else ()}


def _seen_rows(desk: Desk, kept: Kept, view: View) -> dict[str, Any]:
    """Each piece with the share that shows from each side."""
    titles = {la.piece.id: la.piece.title for la in view.scene.laid}
    views = views_of(view.part)
    rows = [{"id": f.piece_id, "title": titles[f.piece_id], "best": views[f.facts.view],
             "seen": {n: round(100 * v) for n, v in zip(views, f.facts.seen, strict=True)}}
            for f in reversed(fit.of_part(desk, kept, view))]
    return {"rows": rows, "views": views}


def _zone_rows(desk: Desk, kept: Kept, view: View) -> dict[str, Any]:
    """Each zone with its figures and its size."""
    zones = tint.zone_map(view)
    rows = [{"name": z.name, "part": view.part, "label": z.label, "edited": z.edited, "bone": z.over_bone,
             "figures": {s: getattr(z, s) for s in SCALES}, "cm2": round(zones.area_mm2(i) / 100)}
            for i, z in enumerate(zones.zones)]
    return {"rows": rows, "scales": tint.SCALE_WORDS, "sided": not view.limb.closed,
            "edited": any(z.edited for z in zones.zones)}


def _wide_rows(desk: Desk, kept: Kept, view: WideView, what: str) -> dict[str, Any]:
    """The rows of every part that has them; a piece that lies on two parts stands once, with its own part's."""
    own = [desk.view(kept.plan, kept.revision, name) for name in view.views]
    found = [(v, _ROWS[what](desk, kept, v)) for v in own if what in tint.choices_of(v)]
    whole: dict[str, Any] = {k: v for _, one in found for k, v in one.items()}
    if what == "zones":
        every = [r | {"name": f"{v.part}/{r['name']}"} for v, one in found for r in one["rows"]]
        return whole | {"rows": every, "sided": True, "edited": any(one["edited"] for _, one in found)}
    columns = "views" if what == "seen" else "poses"
    homes = {p.id: p.part for p in kept.plan.pieces}
    rows = [r for v, one in found for r in one["rows"] if homes.get(r["id"], v.part) == v.part]
    return whole | {"rows": rows, columns: list(dict.fromkeys(n for _, one in found for n in one.get(columns, ())))}


def _tone_rows(desk: Desk, kept: Kept, view: View) -> dict[str, Any]:
    """How dark background may be at the levels of a limb and along its sides; on chest and back each 40 mm up, left,
    in the middle and right."""
    field, limb = shading.field_of(desk, kept, view), view.limb
    cols = {name: u for u, name in sides(view.part).items()} if limb.closed else {
        "right side": 0.1 * left_sign(view.part) * -1, "midline": 0.0, "left side": 0.1 * left_sign(view.part)}
    s = [(f"{lv.name}, {lv.s_mm / 10:.0f} cm up", lv.s_mm) for lv in limb.levels if lv.name != "between"] \
        if limb.closed else [(f"{v / 10:.0f} cm up", v) for v in np.arange(limb.s_min + 20, limb.s_max, 40.0)]
    tones = field.tone(np.array([[u, v] for _, v in s for u in cols.values()])).reshape(len(s), len(cols))
    rows = [{"name": name, "tones": [round(100 * float(t)) for t in row]}
            for (name, _), row in zip(s, tones, strict=True)]
    return {"rows": rows[::-1], "columns": [c.capitalize() for c in cols]}


_ROWS = {"tone": _tone_rows, "stretch": _stretch_rows, "seen": _seen_rows, "zones": _zone_rows}


@acting
def do_zone(request: Request, form: Form, desk: Desk, pid: str, part: str, ask: Ask) -> tuple[Kept, list[str] | None]:
    """A client's own figure of a zone ('zone:scale', or 'part/zone:scale'); empty takes it back to the table."""
    zone, _, scale = str(form.get("name") or "").partition(":")
    home, _, zone = zone.rpartition("/")
    typed = str(form.get("value") or "").replace(",", ".").strip()
    try:
        figure = float(typed) if typed else None
    except ValueError as err:
        raise StepError(f"'{typed[:20]}' is no number; write 0 to 10.") from err
    return desk.store.commit(pid, {"do": "zones", "part": home or part, "set": {zone: {scale: figure}}}), None


_AT = "/plans/{pid}/desk/{part}"
routes = [
    Route(f"{_AT}/tint", overlay),
    Route(f"{_AT}/table", table),
    Route(f"{_AT}/zone", do_zone, methods=["POST"]),
]
