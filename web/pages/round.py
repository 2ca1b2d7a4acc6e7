"""In the round: a part on a turntable, or, where the browser has no WebGL, as eight drawn views."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cached_property
from typing import Any
from urllib.parse import urlencode

import numpy as np
from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from composer.body.flex import posed_limb
from composer.body.joins_wide import WIDE
from composer.body.measures import MeasureError
from composer.body.motion import poses_of
from composer.body.panel import Panel
from composer.plan.flexed import flexed_of
from composer.plan.model import PANELS, PARTS
from composer.plan.twins import surface_of
from composer.sheets.unrolled import thinned
from composer.store.store import Kept
from composer.views.camera import EIGHT, NAMES, view_u
from composer.views.mesh import End, ends, mesh
from composer.views.panel_shape import VIEWS, panel_mesh, parts_beside, shares_seen
from composer.views.seen import Best, best_view
from composer.views.surface import Surface
from composer.views.turned import turned
from composer.views.turned_body import Standing, body_seen
from composer.views.unwrap import LEFT_U, layout, unwrapped
from composer.views.worn import Worn, worn
from web import round_moved
from web.desk import NotMeasured, View
from web.fit import has_poses
from web.page import PART_NAMES, desk_of, page
from web.paint.table import midline
from web.paint.texture import Texture, page_of
from web.paint.turned import body_svg, turned_svg

USUAL = (("view", "front"), ("pose", "relaxed"))
SIDE_NAMES = {n: n if "front" in n or "back" in n else f"{n} side" for n in EIGHT}


@dataclass(frozen=True)
class Round:
    """A part in the round at one revision."""

    view: View
    revision: int

    def surface(self, pose: str = "relaxed") -> Surface:
        """The part's surface in one of its poses; at rest where its shape in it is not foretold."""
        limb = self.view.limb
        posed = None if pose == "relaxed" or isinstance(limb, Panel) else posed_limb(
            limb, pose, self.view.part, flexed_of(self.view.plan.part(self.view.part)))
        return Surface(limb, self.view.part, posed)

    @cached_property
    def art(self) -> tuple[Worn, ...]:
        return worn(self.view.scene, self.view.plan.settings)

    @cached_property
    def texture(self) -> Texture:
        lay = layout(self.view.limb)
        settings = self.view.plan.settings
        return Texture(lay, settings.skin, page_of(lay, unwrapped(lay, self.art), settings))

    @cached_property
    def pieces(self) -> list[dict[str, Any]]:
        """Every piece as the list and the picking need it, back to front."""
        limb, part, out = self.view.limb, self.view.part, []
        laid = {la.piece.id: la for la in self.view.scene.laid}
        for w in self.art:
            best = _best(limb, part, laid[w.piece.id])
            u0, u1, s0, s1 = w.span
            out.append({
                "id": w.piece.id, "title": w.piece.title, "state": w.piece.state, "filler": w.piece.is_filler,
                "u": round((u0 + u1) / 2, 5), "s": round((s0 + s1) / 2, 2), "best": best.name,
                "seen": {n: round(v, 4) for n, v in best.shares.items()}, "rings": _outlines(w)})
        return out

    def shape(self, pose: str) -> dict[str, Any]:
        """The limb in a pose as triangles and lines, with the pieces' outlines."""
        limb, part, lay = self.view.limb, self.view.part, self.texture.layout
        if isinstance(limb, Panel):
            return self._panel_shape(limb, pose)
        surface = self.surface(pose)
        m = mesh(limb, part, surface.posed, around=16 * lay.columns, along=14 * lay.rows, u0=LEFT_U)
        levels = [{"name": lv.name, "s": lv.s_mm} for lv in limb.levels]
        return {
            "revision": self.revision, "part": part, "pose": pose, "level": surface.level,
            "texture": self.texture.name, "skin": self.texture.skin,
            "grid": {"columns": m.columns, "rows": len(m.us) // m.columns, "u0": LEFT_U,
                     "s0": limb.s_min, "s1": limb.s_max, "xyz": _flat(m.xyz, 2), "normals": _flat(m.normals, 4)},
            "tiles": {"columns": lay.columns, "rows": lay.rows, "px": lay.tile_px, "gutter": lay.gutter_px},
            "ends": [_end(e) for e in ends(limb, part, surface.posed, around=48)], "levels": levels,
            "girth": round(lay.girth_mm, 2), "views": {n: view_u(part, n) for n in NAMES}, "pieces": self.pieces,
            "moved": self.moved(m.us, pose)}

    def moved(self, us: np.ndarray, pose: str) -> dict[str, Any] | None:
        """How far skin stretches in a pose at the grid's places, and what is said of it; nothing at rest."""
        return None if pose == "relaxed" else round_moved.moved(self.view, us, pose)

    def _panel_shape(self, panel: Panel, pose: str) -> dict[str, Any]:
        """Chest or back as triangles and lines, and where the arms that are taped hang beside it."""
        part, lay = self.view.part, self.texture.layout
        m = panel_mesh(panel, 16 * lay.columns, 14 * lay.rows)
        grid = {"columns": m.columns, "rows": m.rows, "u0": m.u0, "turns": m.turns, "s0": panel.s_min,
                "s1": panel.s_max, "xyz": _flat(m.xyz, 2), "normals": _flat(m.normals, 4), "drawn": {
                    "xyz": _flat(m.rim_xyz, 2), "normals": _flat(m.rim_normals, 4), "uv": _flat(m.uv, 5),
                    "inside": m.inside.astype(int).tolist()}}
        plan = self.view.plan
        near = {p.name: surface_of(plan, p.name) for p in plan.parts if p.name in (*PANELS, "left_arm", "right_arm")}
        beside = [{"part": b.part, "base": f"/plans/{plan.id}/round/{b.part}", "turned": b.turned,
                   "shift": _flat(b.shift, 2), "pose": round_moved.pose_beside(pose, b.part)}
                  for b in parts_beside(part, near)]
        lines = [panel.outline.tolist(), midline(panel).tolist(), *(ln.us.tolist() for ln in panel.lines)]
        return {"revision": self.revision, "part": part, "pose": pose, "level": False,
                "texture": self.texture.name, "skin": self.texture.skin, "grid": grid,
                "tiles": {"columns": lay.columns, "rows": lay.rows, "px": lay.tile_px, "gutter": lay.gutter_px},
                "ends": [], "levels": [], "lines": lines, "girth": round(lay.girth_mm, 2), "views": VIEWS,
                "words": sides_of(part), "beside": beside, "pieces": self.pieces,
                "moved": self.moved(m.us, pose)}


def _best(limb: Any, part: str, laid: Any) -> Best:
    if not isinstance(limb, Panel):
        return best_view(limb, part, laid)
    shares = shares_seen(limb, laid)
    name = max(shares, key=lambda n: (round(shares[n], 2), n == "front"))
    return Best(name, VIEWS[name], shares[name], shares)


def sides_of(part: str) -> dict[str, str]:
    """What the standpoints of a part are called; chest and back by the client's own left and right."""
    if part not in PANELS:
        return SIDE_NAMES
    left, right = ("outer", "inner") if part == "chest" else ("inner", "outer")
    front, back = ("front", "back") if part == "chest" else ("back", "front")
    return {"front": front, left: "left side", right: "right side", "back": back,
            f"front {left}": f"{front}, left", f"front {right}": f"{front}, right",
            f"back {left}": f"{back}, left", f"back {right}": f"{back}, right"}


def _looks_at(part: str, name: str) -> float:
    """Where (turns) a standpoint looks straight at a part."""
    return view_u("left_arm" if part in PANELS else part, name)   # VIEWS of a panel are named as those of a left limb


def _outlines(w: Worn) -> list[list[float]]:
    """Silhouette rings as u, s, u, s ..., kept to 0.4 mm; crumbs left out."""
    scale = np.array([350.0, 1.0])
    rings = [r / scale for r in thinned([r * scale for r in w.silhouette], 0.4)]
    return [np.column_stack([r[:, 0].round(5), r[:, 1].round(2)]).ravel().tolist() for r in rings]


def _flat(a: np.ndarray, digits: int) -> list[float]:
    return (np.round(a, digits) + 0.0).ravel().tolist()


def _end(e: End) -> dict[str, Any]:
    return {"xyz": _flat(e.xyz, 2), "normals": _flat(e.normals, 3), "faces": e.faces.ravel().tolist(),
            "fade": _flat(e.fade, 3)}


def _round(request: Request) -> tuple[Kept, Round]:
    desk, pid, part = desk_of(request), request.path_params["pid"], request.path_params["part"]
    part = WIDE.get(part, part)
    if part not in (*PARTS, *PANELS):
        raise HTTPException(404, "This part of the body is not planned here.")
    kept = desk.store.load(pid)
    view = desk.view(kept.plan, kept.revision, part)
    return kept, desk.once(("round", pid, kept.revision, part), lambda: Round(view, kept.revision))


def show(request: Request) -> Response:
    """The page. `view`, `pose`, `mirror`, `rings`, `piece` and `still` say how it opens."""
    pid, part = request.path_params["pid"], request.path_params["part"]
    try:
        kept, here = _round(request)
    except (NotMeasured, MeasureError):
        return RedirectResponse(f"/plans/{pid}/measure/{WIDE.get(part, part)}?first=1", 303)
    q = request.query_params
    ids = {p["id"] for p in here.pieces}
    how = {"view": q.get("view") if q.get("view") in EIGHT else "front",
           "pose": q.get("pose") if q.get("pose") in _poses(here, q.get("still") == "1") else "relaxed",
           "mirror": q.get("mirror") == "1",
           "rings": q.get("rings") == "1", "piece": q.get("piece") if q.get("piece") in ids else "",
           "still": q.get("still") == "1"}
    part = here.view.part
    base = f"/plans/{pid}/round/{part}"

    def link(**change: Any) -> str:
        """This page's address with something changed."""
        now = {**how, **change}
        words = {k: ("1" if v is True else v) for k, v in now.items() if v and (k, v) not in USUAL}
        return f"{base}?{urlencode(words)}" if words else base

    i = EIGHT.index(how["view"])
    step = 1 if _looks_at(part, "outer") > 0 else -1
    if how["mirror"]:
        step = -step
    still = _still(request, here, how, link) if how["still"] else ""
    measured = [p.name for p in kept.plan.parts if p.name in PART_NAMES]
    return page(request, "round.html", {
        "plan": kept.plan, "kept": kept, "part": part, "mode": "round", "base": base, "how": how, "link": link,
        "views": (EIGHT if how["still"] else tuple(VIEWS)) if part in PANELS else NAMES, "side": sides_of(part),
        "poses": _poses(here, how["still"]),
        "pieces": [p for p in here.pieces if not p["filler"]],
        "chosen": next((p for p in here.pieces if p["id"] == how["piece"]), None),
        "fillers": [p for p in here.pieces if p["filler"]], "measured": measured, "still": still,
        "leftwards": EIGHT[(i + step) % 8], "rightwards": EIGHT[(i - step) % 8],
        "data": Markup(json.dumps({"base": base, "plan": pid, "part": part, "revision": kept.revision, "how": how},
                                  separators=(",", ":")).replace("<", "\\u003c"))})


def _poses(here: Round, still: bool) -> tuple[str, ...]:
    """What can be shown: where zones and motion are known, all of the part's poses; drawn flat, a limb at rest and
    flexed (a bent one can't be drawn so, and what is only coloured is on the turntable and the sheet)."""
    if not has_poses(here.view):
        return ("relaxed",)
    every = poses_of(here.view.part)
    return every if not still else ("relaxed",) if here.view.part in PANELS else every[:2]


def _still(request: Request, here: Round, how: dict[str, Any], link: Any) -> Markup:
    part, settings = here.view.part, here.view.plan.settings
    label = f"{PART_NAMES[part]}, {sides_of(part)[how['view']]}{', as in the mirror' if how['mirror'] else ''}"
    links = {w.piece.id: link(piece=w.piece.id) for w in here.art}
    u = _looks_at(part, how["view"])
    if part in PANELS:
        seen = body_seen(_standing(request, here), u, how["mirror"])
        return Markup(body_svg(seen, settings, label, links, how["rings"], how["piece"]))
    return Markup(turned_svg(turned(here.surface(how["pose"]), here.art, u, how["mirror"]), settings, label, links,
                             how["rings"], how["piece"]))


def _standing(request: Request, here: Round) -> list[Standing]:
    """Chest or back, and the parts that are taped beside it, each with its art."""
    desk, plan, part = desk_of(request), here.view.plan, here.view.part
    near = {p.name: surface_of(plan, p.name) for p in plan.parts if p.name in (*PANELS, "left_arm", "right_arm")}
    out = [Standing(part, here.view.limb, here.art)]
    for b in parts_beside(part, near):
        view = desk.view(plan, here.revision, b.part)
        art = desk.once(("worn", plan.id, here.revision, b.part), lambda v=view: worn(v.scene, plan.settings))
        out.append(Standing(b.part, view.limb, art, b.turned, b.shift))
    return out


def shape(request: Request) -> Response:
    _, here = _round(request)
    pose, known = request.query_params.get("pose", "relaxed"), _poses(here, False)
    if pose not in known:
        raise HTTPException(404, f"There is no pose called '{pose[:20]}' here; choose one of {', '.join(known)}.")
    tag = f"{here.revision}-{here.texture.name}-{pose}"
    return _kept_answer(request, tag, lambda: JSONResponse(here.shape(pose)))


def base(request: Request) -> Response:
    _, here = _round(request)
    return _picture(request, here, "base", here.texture.base)


def tile(request: Request) -> Response:
    _, here = _round(request)
    column, row = request.path_params["column"], request.path_params["row"]
    lay = here.texture.layout
    if column >= lay.columns or row >= lay.rows:
        raise HTTPException(404, f"The skin has {lay.columns} by {lay.rows} tiles; there is none at {column}, {row}.")
    return _picture(request, here, f"{column}-{row}", lambda: here.texture.tile(column, row))


def drawn(request: Request) -> Response:
    """One of the eight views as a picture by itself."""
    _, here = _round(request)
    name = request.path_params["name"].replace("-", " ")
    if name not in EIGHT:
        raise HTTPException(404, f"There is no view called '{name}'; choose one of {', '.join(EIGHT)}.")
    how = {"view": name, "pose": "relaxed", "mirror": request.query_params.get("mirror") == "1", "rings": False,
           "piece": ""}
    svg = _still(request, here, how, lambda **_: "")
    return _kept_answer(request, f"{here.texture.name}-{name}-{how['mirror']:d}",
                        lambda: Response(svg, media_type="image/svg+xml"))


def _picture(request: Request, here: Round, which: str, make: Any) -> Response:
    return _kept_answer(request, f"{here.texture.name}-{which}", lambda: Response(make(), media_type="image/png"))


def _kept_answer(request: Request, tag: str, make: Any) -> Response:
    """An answer the browser may keep but asks after; made only when it has not this one."""
    headers = {"ETag": f'"{tag}"', "Cache-Control": "private, no-cache"}
    if f'"{tag}"' in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    response = make()
    response.headers.update(headers)
    return response


routes = [
    Route("/plans/{pid}/round/{part}", show),
    Route("/plans/{pid}/round/{part}/shape.json", shape),
    Route("/plans/{pid}/round/{part}/skin.png", base),
    Route("/plans/{pid}/round/{part}/skin/{column:int}/{row:int}.png", tile),
    Route("/plans/{pid}/round/{part}/{name}.svg", drawn),
]
