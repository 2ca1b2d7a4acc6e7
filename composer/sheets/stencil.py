"""The stencil of a piece, of several, or of a filler: visible art at 1:1 in the chart that paper makes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.colour_notes import noted_areas
from composer.art.drawing import Drawing, Layer, rings_to_geometry
from composer.body.distort import Distortion, past_the_ends, worst
from composer.body.panel_patch import PanelPatch
from composer.body.patch import Patch, lay_patch
from composer.body.selfmeet import self_meeting
from composer.body.surface import Surface
from composer.filler.seen import visible_laid
from composer.plan.errors import PlanError
from composer.plan.model import Piece, Plan
from composer.plan.scene import Laid, Scene, matrix, scene
from composer.plan.twins import surface_of
from composer.sheets.stencil_art import StencilArt, art_of
from composer.sheets.stencil_marks import Mark, marks_of

MARGIN_MM = 9.0
"""Paper left round the art."""
KEEP = "keep_whole"
"""In `Piece.extra` and in a motif's side file: True, or rings in the drawing's own mm that no cut may cross."""
KeepWhole = Mapping[str, Any]
"""By the id of a piece what its motif says of KEEP."""


class StencilError(PlanError):
    """A stencil that can't be made; the sentence says why."""


@dataclass(frozen=True)
class Tick:
    """A short line (2, 2) across a cut; the same label stands on the other side."""

    line: np.ndarray
    label: str


@dataclass(frozen=True)
class Stencil:
    """All in the chart's mm, x right, y up, 1:1. `body` visible silhouettes, `keep` what no cut may
    cross, `outline` the paper to cut out, `notes` sentences worth reading before it is printed,
    `points` (letter, x, y) to be found again on the other side's paper, `drawings` what is
    seen of each piece, `ticks` where it meets another paper, `loose` what is for freehand in any case."""

    title: str
    plan_title: str
    part: str
    unit: str
    date: str
    pieces: tuple[Piece, ...]
    limb: Surface
    chart: Patch | PanelPatch
    art: StencilArt
    body: BaseGeometry
    keep: BaseGeometry
    outline: Polygon
    marks: tuple[Mark, ...]
    notes: tuple[str, ...]
    points: tuple[tuple[str, float, float], ...] = ()
    drawings: tuple[Drawing, ...] = ()
    ticks: tuple[Tick, ...] = ()
    loose: BaseGeometry = field(default_factory=Polygon)

    @cached_property
    def fit(self) -> Distortion:
        """How far this paper, uncut, would have to stretch over its art."""
        return worst(self.limb, self.chart, shapely.get_coordinates(self.body), self.unit)

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the art."""
        x0, y0, x1, y1 = self.body.bounds
        return x1 - x0, y1 - y0


def stencil(plan: Plan, ids: Sequence[str], gallery: Mapping[str, Drawing], keep_whole: KeepWhole | None = None,
            date: str = "", shades: bool = True) -> Stencil:
    """The stencil of these pieces and fillers, which must lie on one part.

    `keep_whole`: by id what of pieces may not be cut, besides what they say themselves (see KEEP). Areas of colour
    are those in the notes of a drawing (`composer.art.colour_notes.noted_areas`).
    Raises StencilError or KeyError with a sentence.
    """
    if not ids:
        raise StencilError("Choose at least one piece; a stencil of nothing can't be made.")
    pieces = [plan.piece(i) for i in dict.fromkeys(ids)]
    parts = {p.part for p in pieces}
    if len(parts) > 1:
        raise StencilError(f"'{pieces[0].title}' and others lie on different parts "
                           f"({', '.join(sorted(p.replace('_', ' ') for p in parts))}); a stencil lies on one.")
    part = pieces[0].part
    limb = surface_of(plan, part)
    here = scene(plan, part, limb, gallery)
    seen = visible_laid(here, plan.settings, [p.id for p in pieces])
    laid = [here.of(p.id) for p in pieces]
    chart = laid[0].patch if len(laid) == 1 else _common(limb, laid)
    flat = [_carried(seen[x.piece.id], x, chart, len(laid) == 1) for x in laid]
    hidden = [x.piece.title for x, d in zip(laid, flat, strict=True) if not d.silhouette]
    if len(hidden) == len(flat):
        raise StencilError(f"Nothing of '{hidden[0]}' is seen: it lies wholly behind other pieces.")
    body = shapely.union_all([d.outline for d in flat])
    outline = paper_round(body)
    keep = shapely.union_all([_keep(x, chart, (keep_whole or {}).get(x.piece.id), len(laid) == 1) for x in laid])
    art = art_of(flat, shades, _coloured(laid, gallery, flat, chart))
    title = pieces[0].title if len(pieces) == 1 else f"{pieces[0].title} and {len(pieces) - 1} more"
    marks = marks_of(here, chart, {p.id for p in pieces}, outline, body, plan.settings.unit)
    notes = [f"Nothing of '{t}' is seen behind the other pieces." for t in hidden]
    notes += _notes(plan, here, chart, body)
    return Stencil(title, plan.title, part, plan.settings.unit, date, tuple(pieces), limb, chart, art, body, keep,
                   outline, marks, tuple(notes), (), tuple(flat))


def paper_round(body: BaseGeometry, margin_mm: float = MARGIN_MM) -> Polygon:
    """Paper to cut out round art: one smooth outline without holes."""
    near = shapely.simplify(body, 0.3)
    for reach in (8.0, 20.0, 60.0):
        form = shapely.buffer(shapely.buffer(near, margin_mm + reach, quad_segs=6), -reach, quad_segs=6)
        if form.geom_type == "Polygon":
            break
    else:
        form = shapely.buffer(shapely.convex_hull(near), margin_mm)
    return Polygon(shapely.simplify(form, 0.1).exterior)


def goes_round(limb: Surface, chart: Patch | PanelPatch, outline: BaseGeometry) -> bool:
    """Whether paper of this outline goes all the way round a limb and would cover itself."""
    rings = [np.asarray(p.exterior.coords)[:-1] for p in shapely.get_parts(outline) if p.geom_type == "Polygon"]
    return limb.closed and self_meeting(limb, chart, rings, 0.0).meets


def _common(limb: Surface, laid: Sequence[Laid]) -> Patch | PanelPatch:
    """One chart for several pieces, laid in the middle of them."""
    first = laid[0].piece.u
    us = np.concatenate([np.concatenate(x.rings) - (round(x.piece.u - first), 0.0) for x in laid])
    (u0, s0), (u1, s1) = us.min(axis=0), us.max(axis=0)
    u, s = (u0 + u1) / 2, (s0 + s1) / 2
    across = (u1 - u0) / 2 * float(limb.girth(s))
    return lay_patch(limb, u, s, s - s0, s1 - s, max(across, (s1 - s0) / 2))


def _carried(drawing: Drawing, laid: Laid, chart: Patch | PanelPatch, own: bool) -> Drawing:
    """A drawing from its own patch into the chart; the same where the chart is its own."""
    if own:
        return drawing
    shift = np.array([round(laid.piece.u - chart.u0), 0.0])

    def go(rings: tuple[np.ndarray, ...]) -> tuple[np.ndarray, ...]:
        return tuple(chart.to_flat(laid.patch.to_skin(r) - shift) for r in rings)

    return Drawing(go(drawing.silhouette), tuple(Layer(la.role, go(la.rings)) for la in drawing.layers))


def _coloured(laid: Sequence[Laid], gallery: Mapping[str, Drawing], flat: Sequence[Drawing], chart: Patch | PanelPatch
              ) -> dict[str, BaseGeometry]:
    """What is seen of the pieces' areas of colour, in the chart."""
    out: dict[str, BaseGeometry] = {}
    for x, seen in zip(laid, flat, strict=True):
        m = matrix(x.piece)
        for name, rings in noted_areas(gallery[x.piece.art].notes).items():
            turned = tuple(r @ m[:, :2].T + m[:, 2] for r in rings)
            own = rings_to_geometry(_carried(Drawing(turned, ()), x, chart, len(laid) == 1).silhouette)
            found = shapely.intersection(own, seen.outline)
            out[name] = shapely.union(out[name], found) if name in out else found
    return {name: g for name, g in out.items() if not g.is_empty}


def _keep(laid: Laid, chart: Patch | PanelPatch, of_motif: Any, own: bool) -> BaseGeometry:
    said = laid.piece.extra.get(KEEP)
    if said is True or of_motif is True:
        rings = laid.flat.silhouette
    else:
        m = matrix(laid.piece)
        rings = tuple(np.asarray(r, float).reshape(-1, 2) @ m[:, :2].T + m[:, 2]
                      for some in (said, of_motif) if isinstance(some, list) for r in some)
    kept = [rings_to_geometry(_carried(Drawing((r,), ()), laid, chart, own).silhouette) for r in rings]
    return shapely.union_all(kept) if kept else Polygon()


def _notes(plan: Plan, here: Scene, chart: Patch | PanelPatch, body: BaseGeometry) -> list[str]:
    us = chart.to_skin(shapely.get_coordinates(body))
    past = past_the_ends(here.limb, us, plan.settings.unit)
    return [past] if past else []
