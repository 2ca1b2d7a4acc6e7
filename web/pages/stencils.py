"""Stencils: choose pieces, see what their paper does and the real pages, print, and bring back what was drawn over."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from starlette.datastructures import QueryParams
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from composer.art.errors import ArtError
from composer.body.distort import worst
from composer.plan.errors import PlanError
from composer.plan.form import piece_to_json
from composer.plan.model import Plan
from composer.plan.sittings import of_sitting, sitting_typed, sittings
from composer.sheets.calibrate import calibration_pdf, corrected, lengths
from composer.sheets.furniture import FACES
from composer.sheets.over_join import apart_mm, side_of, stencils
from composer.sheets.page_pdf import pages_pdf
from composer.sheets.page_svg import page_svg
from composer.sheets.paper import PAPERS
from composer.sheets.paper_limits import FIELDS, KEY, paper_of, typed_of
from composer.sheets.slits import Limits, prepare
from composer.sheets.stencil import KEEP, Stencil
from composer.sheets.stencil_back import read_back
from composer.sheets.stencil_pages import Ready, stencil_pages
from composer.sheets.stencil_png import stencil_png
from composer.sheets.stencil_svg import stencil_svg
from composer.sheets.stencil_twins import Pair, cut_alike, measure_page, pair
from composer.sheets.strokes import Page
from composer.stencil_command import limits_of, long_date
from composer.store.gallery import MISSING
from composer.store.store import Kept
from web.desk import Desk, View, new_id
from web.left_out import Lost, without_lost
from web.page import desk_of, is_part_request, page
from web.pages.printing import as_file, file_name
from web.pages.start import first_part
from web.places import measured_parts
from web.stencil_wish import DPIS, Wish, choosable, wish_of
from web.threads import with_form

WAY_WORDS = {"auto": "As needed", "whole": "Never", "slits": "Slits", "split": "Several papers"}
CHOOSE = "Choose a piece, and its paper is shown here."
BACK_LIMIT = 8_000_000


@dataclass(frozen=True)
class Made:
    """What a wish comes to; `lost` what is left out because its drawing can't be read."""

    ready: tuple[Ready, ...]
    pairs: tuple[Pair, ...]
    pages: tuple[Page, ...]
    fault: str = ""
    lost: tuple[Lost, ...] = ()


def _here(request: Request) -> tuple[Desk, Kept, View]:
    desk = desk_of(request)
    kept = desk.store.load(request.path_params["pid"])
    part = request.path_params["part"]
    if part not in measured_parts(kept.plan):
        raise HTTPException(404, "This part is not measured yet, so there is nothing on it to stencil.")
    return desk, kept, desk.view(kept.plan, kept.revision, part)


def _kept_whole(desk: Desk, plan: Plan, ids: Sequence[str]) -> dict[str, Any]:
    """By id of the pieces what their motifs say that must not be cut."""
    out = {}
    for p in (plan.piece(i) for i in ids):
        try:
            if p.motif and (said := desk.store.motif(p.motif).side.get(KEEP)):
                out[p.id] = said
        except ArtError:      # no longer on the shelf, so nothing is known of it
            continue
    return out


def _one(desk: Desk, plan: Plan, revision: int, lost: tuple[Lost, ...], ids: tuple[str, ...], wish: Wish) -> list[Any]:
    """The stencils of these pieces: one, or two sides of it with their pair. `plan` is without what is `lost`."""
    day = long_date(datetime.date.today())
    gone = tuple(v.piece.id for v in lost)
    key = ("stencil", plan.id, revision, day, ids, wish.way, wish.fine, wish.twins, wish.shades, gone)

    def make() -> list[Any]:
        keep = _kept_whole(desk, plan, ids)
        limits, gallery = limits_of(plan, wish.fine), desk.store.gallery

        def ready(s: Stencil, side: str = "") -> Ready:
            return Ready(s, prepare(s, limits, wish.way), side)

        alone = any(v.piece.twin_of == ids[0] or plan.piece(ids[0]).twin_of == v.piece.id for v in lost)
        if wish.twins and len(ids) == 1 and not alone:
            two = pair(plan, ids[0], gallery, keep, day, wish.shades, apart_mm(limits, wish.way))
            return [*(Ready(*one) for one in cut_alike(two, limits, wish.way)), two]
        every = stencils(plan, ids, gallery, keep, day, wish.shades, apart_mm(limits, wish.way))
        return [ready(s, side_of(s, every)) for s in every]

    return desk.once(key, make)


def made(desk: Desk, kept: Kept, wish: Wish) -> Made:
    """Stencils and pages of a wish; a `fault` instead of pages where something can't be done."""
    if not wish.pieces:
        return Made((), (), (), CHOOSE)
    how = wish.how(desk.store)

    def stencilled(plan: Plan, lost: tuple[Lost, ...]) -> list[Any]:
        there = tuple(i for i in wish.pieces if i not in {v.piece.id for v in lost})
        groups = [there] if wish.together and there else [(i,) for i in there]
        return [x for ids in groups for x in _one(desk, plan, kept.revision, lost, ids, wish)]

    def make() -> Made:
        lost: tuple[Lost, ...] = ()
        try:
            found, lost = without_lost(kept.plan, stencilled)
            if not found:
                return Made((), (), (), " ".join(v.told(wish.pieces) for v in lost))
            ready = tuple(x for x in found if isinstance(x, Ready))
            pairs = tuple(x for x in found if isinstance(x, Pair))
            pages = [*stencil_pages(ready, how), *(measure_page(pairs, how.paper) if pairs else ())]
        except (ValueError, KeyError) as err:
            return Made((), (), (), str(err.args[0]) if err.args else "This can't be printed.", lost)
        return Made(ready, pairs, tuple(pages), lost=lost)

    return desk.once(("stencil pages", kept.plan.id, kept.revision, wish, how), make)


def fit_words(view: View, laid: Any, limits: Limits) -> str:
    """What flat paper does under a piece, in three words or so."""
    off = abs(worst(view.limb, laid.patch, np.concatenate(laid.flat.silhouette)).stretch)
    if off < limits.warn:
        return f"lies flat to {max(1, round(100 * off))}%"
    percent = f"{100 * off:.0f}%" if np.isfinite(off) else "far"
    return f"pulls by {percent}" if off < limits.act else f"off by {percent}, to be cut"


def _context(desk: Desk, kept: Kept, view: View, wish: Wish, notice: str = "") -> dict[str, Any]:
    plan, part = kept.plan, view.part
    limits = limits_of(plan, wish.fine)
    rows = []
    for p in choosable(plan, part):
        laid = view.laid(p.id)
        if laid is not None:
            words = "its drawing is missing" if MISSING in laid.flat.notes else fit_words(view, laid, limits)
            rows.append({"piece": p, "words": words,
                         "size": np.ptp(np.concatenate(laid.flat.silhouette), axis=0).tolist()})
    got = made(desk, kept, wish)
    fault = got.fault if rows else "Nothing lies on this part yet, so there is no paper to show."
    sat = [{"number": n, "ids": tuple(p.id for p in of_sitting(plan, n, part)), "query": wish.for_sitting(n),
            "elsewhere": [q for q in measured_parts(plan) if q != part and of_sitting(plan, n, q)]}
           for n in sittings(plan)]
    told = [{"title": ", ".join(v for v in (r.stencil.title, r.twin) if v), "sentence": r.cut.sentence,
             "notes": r.stencil.notes} for r in got.ready]
    lost = [v.told(wish.pieces) for v in got.lost]
    return {"plan": plan, "kept": kept, "part": part, "mode": "stencils", "wish": wish, "rows": rows, "told": told,
            "pairs": got.pairs, "pages": got.pages, "fault": fault, "papers": PAPERS, "faces": FACES,
            "ways": WAY_WORDS, "printers": desk.store.printers.all(), "parts": measured_parts(plan),
            "query": wish.query, "base": f"/plans/{plan.id}/stencils/{part}", "notice": notice, "dpis": DPIS,
            "lost": lost,
            "rule": lengths(wish.paper if wish.paper in PAPERS else "A4"), "unit": plan.settings.unit,
            "single": len(got.ready) == 1, "one": len(wish.pieces) == 1 or wish.together, "paper_fields": FIELDS,
            "sittings": sat, "paper": typed_of(limits), "own_paper": bool(plan.settings.extra.get(KEY))}


def _answer(request: Request, context: dict[str, Any], status: int = 200) -> Response:
    alone = is_part_request(request)
    return page(request, "parts/stencils_body.html" if alone else "stencils.html", {**context, "alone": alone}, status)


def show(request: Request) -> Response:
    desk, pid = desk_of(request), request.path_params["pid"]
    kept = desk.store.load(pid)
    first = first_part(kept.plan)
    if first is None:
        return RedirectResponse(f"/plans/{pid}/measure/left_arm?first=1", 303)
    if request.path_params.get("part") not in measured_parts(kept.plan):
        return RedirectResponse(f"/plans/{pid}/stencils/{first}", 303)
    desk, kept, view = _here(request)
    return _answer(request, _context(desk, kept, view, wish_of(request.query_params, kept.plan, view.part)))


def _asked(request: Request) -> tuple[Desk, Kept, Wish, Made]:
    desk, kept, view = _here(request)
    wish = wish_of(request.query_params, kept.plan, view.part)
    got = made(desk, kept, wish)
    if got.fault:
        raise HTTPException(422, got.fault)
    return desk, kept, wish, got


def page_picture(request: Request) -> Response:
    """One real page as SVG."""
    _, _, _, got = _asked(request)
    n = request.path_params["number"]
    if not 1 <= n <= len(got.pages):
        raise HTTPException(404, "There is no such page; load the Stencils page again.")
    data = page_svg(got.pages[n - 1], f"Page {n} of {len(got.pages)}")
    return Response(data, media_type="image/svg+xml", headers={"Cache-Control": "no-store"})


def pdf(request: Request) -> Response:
    _, kept, wish, got = _asked(request)
    data = pages_pdf(got.pages, f"{kept.plan.title}: stencils")
    paper = f"roll-{wish.roll_mm:g}" if wish.paper == "roll" else wish.paper.lower()
    name = file_name(kept.plan, f"stencils-{paper}{'-mirrored' if wish.face == 'mirrored' else ''}.pdf")
    return Response(data, media_type="application/pdf", headers=as_file(name))


def _single(request: Request, whole: bool = False) -> tuple[Kept, Wish, Ready]:
    """The one stencil that is asked for, with `whole` never cut."""
    desk, kept, wish, got = _asked(request)
    if whole:
        wish = replace(wish, way="whole", twins=False)
        got = made(desk, kept, wish)
    if len(got.ready) != 1:
        raise HTTPException(422, "This file holds one stencil; choose one piece, or all on one paper.")
    return kept, wish, got.ready[0]


def working(request: Request) -> Response:
    """The stencil as a working file, to be drawn over elsewhere."""
    kept, _, ready = _single(request, whole=True)
    try:
        data = stencil_svg(ready.stencil, prepare(ready.stencil, way="whole"))
    except ValueError as err:
        raise HTTPException(422, str(err)) from err
    name = file_name(kept.plan, f"{ready.stencil.title.lower().replace(' ', '-')}.svg")
    return Response(data, media_type="image/svg+xml", headers=as_file(_ascii(name)))


def png(request: Request) -> Response:
    kept, wish, ready = _single(request)
    leaves = ready.cut.leaves
    leaf = next((v for v in leaves if v.name == request.query_params.get("leaf", "")), leaves[0])
    try:
        dpi = int(request.query_params.get("dpi", "300"))
        data = stencil_png(ready, leaf, dpi, wish.face == "mirrored")
    except ValueError as err:
        words = str(err) if "dpi" in str(err) else "The resolution must be a whole number of dpi."
        raise HTTPException(422, words) from err
    name = file_name(kept.plan, f"stencil{leaf.name and '-' + leaf.name.lower()}-{dpi}dpi.png")
    return Response(data, media_type="image/png", headers=as_file(_ascii(name)))


def _ascii(name: str) -> str:
    return name.encode("ascii", "ignore").decode().replace('"', "") or "stencil"


def calibration(request: Request) -> Response:
    paper = request.path_params["paper"]
    try:
        data = calibration_pdf(paper)
    except ValueError as err:
        raise HTTPException(404, str(err)) from err
    return Response(data, media_type="application/pdf", headers=as_file(f"calibration-{paper.lower()}.pdf"))


def _wish_again(request: Request, form: dict[str, Any], plan: Plan, part: str) -> Wish:
    return wish_of(QueryParams(str(form.get("query") or "")), plan, part)


def _measured(form: dict[str, Any], way: str) -> float:
    """A length in mm as it was typed, nan where it is missing. Raises ValueError with a sentence."""
    typed = str(form.get(way) or "").strip().removesuffix("mm").replace(",", ".")
    try:
        return float(typed or "nan")
    except ValueError as err:
        raise ValueError(f"The length {way} the page must be a number of mm, such as 179.5.") from err


@with_form
def keep_printer(request: Request, form: dict[str, Any]) -> Response:
    """Keep what was measured of the calibration page."""
    desk, kept, view = _here(request)
    wish = _wish_again(request, form, kept.plan, view.part)
    try:
        numbers = [_measured(form, k) for k in ("across", "along")]
        fix = corrected(str(form.get("name") or ""), str(form.get("paper") or "A4"), *numbers)
    except ValueError as err:
        raise PlanError(str(err)) from err
    desk.store.printers.keep(fix.printer, fix.across, fix.along)
    words = f"{fix.words} Pages for it are corrected from now on." if fix.words else ""
    return _answer(request, _context(desk, kept, view, replace(wish, printer=fix.printer), words))


@with_form
def keep_paper(request: Request, form: dict[str, Any]) -> Response:
    """Keep what the artist's paper puts up with, or go back to what is usual."""
    desk, kept, view = _here(request)
    usual = form.get("usual") == "1"
    try:
        own = {} if usual else paper_of(form)
    except ValueError as err:
        raise PlanError(str(err)) from err
    words = "go back to the usual paper" if usual else "change what paper puts up with"
    kept = desk.store.commit(kept.plan.id, {"do": "settings", "set": {KEY: own}}, words)
    view = desk.view(kept.plan, kept.revision, view.part)
    wish = _wish_again(request, form, kept.plan, view.part)
    said = "What is usual counts again." if usual else "These limits count for every stencil of this plan."
    return _answer(request, _context(desk, kept, view, wish, f"{said} Undo on the desk takes it back."))


@with_form
def keep_sitting(request: Request, form: dict[str, Any]) -> Response:
    """Put what is ticked into a sitting, or take it out of any."""
    desk, kept, view = _here(request)
    wish = _wish_again(request, form, kept.plan, view.part)
    if not wish.pieces:
        raise PlanError("Tick a piece first, then say in which sitting it is done.")
    typed = "" if form.get("none") == "1" else str(form.get("sitting") or "")
    if not typed.strip() and form.get("none") != "1":
        raise PlanError("Type the number of the sitting, such as 1.")
    pieces = [{"id": i, "sitting": sitting_typed(typed, kept.plan.piece(i).title)} for i in wish.pieces]
    kept = desk.store.commit(kept.plan.id, {"do": "change", "pieces": pieces})
    view = desk.view(kept.plan, kept.revision, view.part)
    n = len(pieces)
    said = f"{n} {'piece is' if n == 1 else 'pieces are'} " + (
        f"in sitting {typed.strip()} now." if typed else "in no sitting now.")
    return _answer(request, _context(desk, kept, view, wish, f"{said} Undo on the desk takes it back."))


@with_form
def forget_printer(request: Request, form: dict[str, Any]) -> Response:
    desk, kept, view = _here(request)
    name = str(form.get("name") or "")
    desk.store.printers.forget(name)
    return _answer(request, _context(desk, kept, view, _wish_again(request, form, kept.plan, view.part),
                                     f"{name} is forgotten; pages for it are no longer corrected."))


@with_form
def back(request: Request, form: dict[str, Any]) -> Response:
    """Take back a working file that was drawn over."""
    desk, kept, view = _here(request)
    file: Any = form.get("file")
    if not hasattr(file, "read") or not file.filename:
        raise ArtError("No file was chosen. Choose the SVG that was saved after drawing over it.")
    data = file.file.read(BACK_LIMIT + 1)
    if len(data) > BACK_LIMIT:
        raise ArtError("This file is larger than 8 MB; simplify its paths and save it again.")
    try:
        found = read_back(data, kept.plan, desk.store.gallery)
    except KeyError as err:
        raise ArtError(str(err.args[0])) from err
    digest = desk.store.keep_drawing(found.drawing)
    if found.replaces:
        step: dict[str, Any] = {"do": "change", "pieces": [{"id": found.piece.id, "art": digest}]}
        words, pid = f"draw over {found.piece.title.lower()}", found.piece.id
    else:
        pid = new_id()
        step = {"do": "place", "piece": {**_bare(piece_to_json(found.piece)), "id": pid, "art": digest}}
        words = f"take in {found.piece.title.lower()}, drawn over"
    kept = desk.store.commit(kept.plan.id, step, words)
    part = kept.plan.piece(pid).part
    view = desk.view(kept.plan, kept.revision, part)
    wish = Wish((pid,), face=_wish_again(request, form, kept.plan, part).face)
    said = " ".join([f"\u201c{found.piece.title}\u201d is back in its place.", *found.notes, "Undo on the desk takes "
                     "it out again."])
    return _answer(request, _context(desk, kept, view, wish, said))


def _bare(data: dict[str, Any]) -> dict[str, Any]:
    return {k: v for k, v in data.items() if k != "depth"}


_AT = "/plans/{pid}/stencils/{part}"
routes = [
    Route("/stencils/calibration-{paper}.pdf", calibration),
    Route("/plans/{pid}/stencils", show),
    Route(_AT, show),
    Route(f"{_AT}/page-{{number:int}}.svg", page_picture),
    Route(f"{_AT}/stencils.pdf", pdf),
    Route(f"{_AT}/working.svg", working),
    Route(f"{_AT}/picture.png", png),
    Route(f"{_AT}/paper", keep_paper, methods=["POST"]),
    Route(f"{_AT}/sitting", keep_sitting, methods=["POST"]),
    Route(f"{_AT}/printer", keep_printer, methods=["POST"]),
    Route(f"{_AT}/printer/forget", forget_printer, methods=["POST"]),
    Route(f"{_AT}/back", back, methods=["POST"]),
]
