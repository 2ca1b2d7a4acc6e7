"""Bring in a picture: silhouette, line work, tones and size, looked at while they change, then onto the shelf."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from composer.art.errors import ArtError
from composer.art.on_skin import said, steps_on_skin
from composer.art.picture_wish import PictureWish, wish_from_json, wish_to_json
from composer.art.raster_child import read_packed
from composer.art.raster_guard import MOST_BYTES, sniff
from composer.art.svg_read import ReadArt
from composer.art.tones import STEPS
from composer.body.measures import MeasureError
from composer.body.units import LengthError, number
from composer.compose.best_place import NoPlace, Placement, best_places
from composer.compose.fit_limits import limits_of
from composer.compose.holds import said_in
from composer.compose.work_time import hours_said, work_of
from composer.plan.errors import PlanError
from composer.plan.model import Plan
from composer.store.motifs import title_of
from composer.store.store import Kept
from web import fit
from web.best import span_of
from web.brought import beside, drawn_of, first_wish, shown_of, wish_of
from web.desk import Desk, NotMeasured, View, new_id
from web.page import desk_of, page
from web.paint.brought import NAMES, as_stencil, on_skin, outline_path
from web.paint.colour import skin_of
from web.places import SHOWN
from web.threads import with_form

SHOWN_SIDE = 1400
STEP_WORDS = {"black": "Black", "dark": "Dark", "mid": "Mid", "light": "Light", "open": "Open skin"}


def _plan_of(request: Request) -> tuple[Desk, Any, str, str]:
    pid, part = request.path_params["pid"], request.path_params["part"]
    if part not in SHOWN:
        raise HTTPException(404, "This part of the body is not planned here.")
    desk = desk_of(request)
    return desk, desk.store.load(pid), pid, part


def show(request: Request) -> Response:
    """The page: empty, or with the picture named by `picture` or that of the motif named by `motif`."""
    desk, kept, pid, part = _plan_of(request)
    beside.warm()
    digest, wish, title = request.query_params.get("picture", ""), None, ""
    if motif_id := request.query_params.get("motif"):
        motif = desk.store.motif(motif_id)
        digest, title = str(motif.side.get("picture") or ""), motif.title
        if not digest:
            raise ArtError("This drawing was not made of a picture, so it can't be drawn anew from one.")
        wish = wish_from_json(motif.side.get("wish") or {})
    context: dict[str, Any] = {
        "plan": kept.plan, "kept": kept, "part": part, "mode": "compose", "skin": skin_of(kept.plan.settings),
        "base": f"/plans/{pid}/bring-in/{part}", "picture": None, "most": MOST_BYTES // 1_000_000,
        "unit": kept.plan.settings.unit}
    if digest:
        about = desk.store.pictures.about(digest)
        wish = wish or first_wish(desk, digest, kept.plan)
        context |= {"picture": about, "wish": wish, "title": title or title_of(about.name), "steps": STEPS,
                    "step_words": STEP_WORDS, "has_alpha": bool(about.about.get("alpha")),
                    "size_by": "scale" if wish.scale else "typed" if wish.long_mm else "file",
                    "long_text": number(wish.long_mm, kept.plan.settings.unit) if wish.long_mm else "",
                    "scale_text": number(wish.scale[4], kept.plan.settings.unit) if wish.scale else "",
                    "drawn": _drawn_json(wish)}
    return page(request, "bring_in.html", context)


def _drawn_json(wish: PictureWish) -> Markup:
    data = wish_to_json(wish)
    keep = {k: data[k] for k in ("lasso", "marks", "regions")} | {"scale": data["scale"][:4] if data["scale"] else None}
    return Markup(json.dumps(keep, separators=(",", ":")).replace("<", "\\u003c"))


@with_form
def take(request: Request, form: dict[str, Any]) -> Response:
    """Take in a file, known by what it holds. Says where to go on, or what is wrong with it."""
    desk, _, pid, part = _plan_of(request)
    file = form.get("file")
    if file is None or not hasattr(file, "read"):
        return JSONResponse({"sentence": "No picture was chosen. Choose one, drop it here, or paste it."}, 422)
    try:
        data = file.file.read(MOST_BYTES + 1)
        name = file.filename or ""
        if sniff(data) == "SVG":
            motif = desk.store.add_motif(data, name)
            desk.gaps.later(motif.digest, desk.store.gallery)
            words = [f"\u201c{motif.title}\u201d is on the shelf.", *motif.side.get("notes", [])]
            return JSONResponse({"to": f"/plans/{pid}/compose/{part}", "sentence": " ".join(words)})
        sheet = str(form.get("page") or "1")
        leaf = int(sheet) if sheet.isdecimal() and len(sheet) < 9 else 1
        kept = desk.store.pictures.keep(read_packed(data, leaf), name)
    except (ArtError, PlanError) as err:
        return JSONResponse({"sentence": str(err)}, 422)
    return JSONResponse({"to": f"/plans/{pid}/bring-in/{part}?picture={kept.digest}"})


def pixels(request: Request) -> Response:
    """The picture as it is shown on the page: small, and the same digest always the same."""
    desk, digest = desk_of(request), request.path_params["digest"]
    try:
        body, kind = shown_of(desk, digest, SHOWN_SIDE)
    except ArtError as err:
        raise HTTPException(404, str(err)) from err
    return Response(body, media_type=kind, headers={"Cache-Control": "private, max-age=31536000, immutable"})


@with_form
def look(request: Request, form: dict[str, Any]) -> Response:
    """What comes of the picture as it is asked for now; quick, or whole with what skin can hold of it."""
    desk, kept, _, _ = _plan_of(request)
    digest, quick = str(form.get("picture") or ""), form.get("whole") != "1"
    try:
        wish = wish_of(form, kept.plan.settings.unit)
        drawn, found = drawn_of(desk, digest, wish, quick)
    except (ArtError, LengthError) as err:
        return page(request, "parts/brought.html", {"fault": str(err)}, status=422)
    drawing = drawn.art.drawing
    marks = form.get("view") == "marks"
    label = "The drawing as a stencil" if marks else "The drawing on the client's skin"
    svg = as_stencil(drawing, label) if marks else on_skin(drawing, found if form.get("holds") else None, label)
    about = desk.store.pictures.about(digest)
    return page(request, "parts/brought.html", {
        "fault": "", "svg": Markup(svg), "quick": quick, "outline": outline_path(drawn.found.area, about.width / 2000),
        "notes": drawn.art.notes, "holds": found,
        "held": said_in(found, kept.plan.settings.unit) if found else (), "hold_names": NAMES,
        "size": _size(drawing, kept.plan),
        "steps": _steps(kept.plan, drawn.art.tones, wish), "marks": marks,
        "hours": "" if quick else _hours(kept.plan, drawn.art),
        "colour_hours": "" if quick or not drawn.colours else _hours(kept.plan, drawn.art, drawn.colours),
        "skin_words": _skin_words(kept.plan, drawn.art.tones), "line_mm": drawn.line_mm, "open": drawn.found.open_holes,
        "unit": kept.plan.settings.unit})


def _hours(plan: Plan, art: ReadArt, colours: dict[str, float] | None = None) -> str:
    return hours_said(work_of(art.drawing, art.tones, colours).hours, limits_of(plan.settings).own_pace)


def _size(drawing: Any, plan: Plan) -> str:
    x0, y0, x1, y1 = drawing.outline.bounds
    unit = plan.settings.unit
    return f"{number(x1 - x0, unit)} by {number(y1 - y0, unit)} {unit}"


def _skin(plan: Plan) -> tuple[int, int, int]:
    text = skin_of(plan.settings)
    return int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16)


def _steps(plan: Plan, tones: dict[str, float], wish: PictureWish) -> list[dict[str, Any]]:
    rows = [{"name": s.step, "words": STEP_WORDS[s.step], "colour": "#{:02x}{:02x}{:02x}".format(*s.rgb),
             "share": tones[s.step], "drop": s.drop, "next": s.from_next, "ratio": s.ratio}
            for s in steps_on_skin(_skin(plan))]
    bare = {"name": "open", "words": STEP_WORDS["open"], "colour": skin_of(plan.settings), "share": tones["open"],
            "drop": None, "next": None, "ratio": None}
    return [*rows, bare]


def _skin_words(plan: Plan, tones: dict[str, float]) -> str:
    return said(steps_on_skin(_skin(plan)), tuple(s for s in STEPS if tones[s] > 0.005))


@with_form
def save(request: Request, form: dict[str, Any]) -> Response:
    """The drawing onto the shelf, and with `place` onto the part as well. Says where to go on."""
    desk, kept, pid, part = _plan_of(request)
    digest = str(form.get("picture") or "")
    try:
        wish = wish_of(form, kept.plan.settings.unit)
        drawn, found = drawn_of(desk, digest, wish, False)
        title = " ".join(str(form.get("title") or "").split())[:60] or "Own drawing"
        motif = desk.store.add_drawn(drawn.art, title, {
            "picture": digest, "wish": wish_to_json(wish), "line_mm": round(drawn.line_mm, 1),
            "colours": drawn.colours,
            "holds_from_mm": round(found.safe_mm, 1) if found and found.safe_mm is not None else None})
    except (ArtError, LengthError) as err:
        return JSONResponse({"sentence": str(err)}, 422)
    to = f"/plans/{pid}/compose/{part}"
    if form.get("place") == "1":
        try:
            to = f"{to}?{_place(desk, kept, pid, part, motif)}"
        except (NotMeasured, MeasureError):  # it is on the shelf, and the part has to be taped first
            to = f"/plans/{pid}/measure/{part}?first=1"
        except PlanError as err:
            return JSONResponse({"sentence": f"“{motif.title}” is on the shelf, but was not laid: {err}"}, 422)
    return JSONResponse({"to": to, "motif": motif.id})


def _place(desk: Desk, kept: Kept, pid: str, part: str, motif: Any) -> str:
    """Lay the motif, upright and at its real size, where it lies best; where nothing is free for it in the middle
    of the part's sheet, with other places on offer. Returns the query by which the desk shows it."""
    view = desk.view(kept.plan, kept.revision, part)
    found = _best_spot(desk, kept, view, motif)
    limb = view.limb
    u, s_mm = (found.u, found.s_mm) if found else (view.sheet.seam_u + 0.5, (limb.s_min + limb.s_max) / 2)
    piece = {"id": new_id(), "part": part, "art": motif.digest, "title": motif.title, "motif": motif.id,
             "u": u, "s_mm": s_mm, "turn_deg": 0.0, "state": "planned", "scale": 1.0}
    desk.store.commit(pid, {"do": "place", "piece": piece})
    offer = "" if found or not limb.closed else f"&goal=best:piece:{piece['id']}"
    return f"sel={piece['id']}{offer}"


def _best_spot(desk: Desk, kept: Kept, view: View, motif: Any) -> Placement | None:
    """The best free place, quickly: one size, upright. None where there is none, and on chest and back."""
    drawing = desk.store.gallery[motif.digest]
    (x0, y0), (x1, y1) = (f(np.concatenate(drawing.silhouette), axis=0) for f in (np.min, np.max))
    size = float(max(x1 - x0, y1 - y0))
    try:
        found = best_places(view.scene, None, drawing, {**motif.side, "title": motif.title}, (size, size), 1,
                            turns=(0.0,), flips=False, **fit.options_of(kept, view), part=view.part,
                            span=span_of(view))
    except NoPlace:
        return None
    return found[0] if found else None


def begin(request: Request) -> Response:
    """Without a part: the one with most on it."""
    from web.pages.start import first_part

    pid = request.path_params["pid"]
    part = first_part(desk_of(request).store.load(pid).plan) or "left_arm"
    return RedirectResponse(f"/plans/{pid}/bring-in/{part}", 303)


routes = [
    Route("/plans/{pid}/bring-in", begin),
    Route("/plans/{pid}/bring-in/{part}", show),
    Route("/plans/{pid}/bring-in/{part}", take, methods=["POST"]),
    Route("/plans/{pid}/bring-in/{part}/look", look, methods=["POST"]),
    Route("/plans/{pid}/bring-in/{part}/save", save, methods=["POST"]),
    Route("/pictures/{digest}", pixels),
]
