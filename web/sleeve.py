"""Where a sleeve starts and ends, as the desk shows and changes it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from markupsafe import Markup, escape

from composer.body.correspond import landmarks
from composer.body.joins_wide import WIDE
from composer.body.kinds import kind_of
from composer.body.panel import Panel
from composer.body.units import LengthError, format_length, number, parse_length
from composer.body.yoke import build_panel
from composer.compose import into_chest
from composer.compose.extent import area_mm2, edge_at, faded_area_mm2
from composer.compose.into_chest import inner_edge
from composer.compose.planned import planned
from composer.plan.errors import StepError
from composer.plan.extents import (
    FORMS,
    MOST_DEPTH_MM,
    PRESETS,
    EdgeLine,
    Extent,
    chosen_extent,
    extent_of,
    sleeves_into,
)
from composer.plan.model import PARTS, Plan
from composer.plan.scene import Scene
from web.desk import View
from web.fit import limb_of
from web.paint.colour import skin_of
from web.paint.paths import line_data, ring_data
from web.paint.table import box_of, skin_path

WHOLE = "end_to_end"
BORDERS = {"border:far": "the lower edge", "border:near": "the upper edge"}
FADE_STEPS = 6
SIDES = {"from": "Lower edge", "to": "Upper edge"}


@dataclass(frozen=True)
class Edge:
    """One edge as it is edited: the level it hangs on ('' : none), mm up from it as typed, its form and depth."""

    key: str
    title: str
    at: str
    plus: str
    form: str
    depth: str


def chosen(plan: Plan, part: str) -> Extent | None:
    """The extent that was chosen for a part; None where it is planned from end to end, and on chest and back."""
    return chosen_extent(plan, part)


def scene_of(view: View, joined: bool = False) -> Scene:
    """The part's scene, its skin cut to the sleeve: gaps, ties and background keep to it. `joined`: an arm goes as far
    as the trunk, as it does on a wide sheet."""
    return planned(view.plan, view.part, view.scene, joined)


def name_of(plan: Plan, part: str) -> str:
    """What the extent of an arm or leg is called; '' on chest and back."""
    if part not in PARTS:
        return ""
    extent = chosen(plan, part)
    known = PRESETS[kind_of(part).name]
    if extent is None:
        return f"the whole {kind_of(part).name}"
    return known[extent.name][0][:1].lower() + known[extent.name][0][1:] if extent.name in known else "edges of its own"


def overlay(view: View) -> str:
    """The sleeve on the sheet (SVG): its edges, and the skin beyond them paled; '' from end to end."""
    extent = chosen(view.plan, view.part)
    if isinstance(view.limb, Panel):
        return _on_trunk(view, view.limb) if WIDE.get(view.part, view.part) == "chest" else ""
    if extent is None:
        return ""
    sheet, limb = view.sheet, limb_of(view)
    u = np.linspace(sheet.seam_u, sheet.seam_u + 1.0, 181)
    out = ['<g clip-path="url(#skin-edge)" class="sleeve">']
    for edge, end, inward in ((extent.far, limb.s_min, 1.0), (extent.on_limb.near, limb.s_max, -1.0)):
        at = edge_at(limb, edge, u)
        line = np.column_stack([u, at])
        outer = np.column_stack([u, np.full(len(u), end)])[::-1]
        if np.abs(at - end).max() > 0.5:
            out.append(f'<path class="beyond" d="{ring_data([sheet.to_flat(np.concatenate([line, outer]))])}"/>')
        if edge.form == "fading":
            out += [_fade(view, u, at, edge, inward, k) for k in range(FADE_STEPS)]
        out.append(f'<path class="edge {edge.form}" d="{line_data(sheet.to_flat(line))}"/>')
    return "".join(out) + "</g>"


def _fade(view: View, u: np.ndarray, at: np.ndarray, edge: EdgeLine, inward: float, k: int) -> str:
    """One of the steps in which a fading edge pales, from the edge inwards."""
    a, b = (at + inward * edge.depth_mm * t / FADE_STEPS for t in (k, k + 1))
    return _paled(view, np.column_stack([u, a]), np.column_stack([u, b]), k)


def _paled(view: View, outer: np.ndarray, inner: np.ndarray, k: int) -> str:
    """The skin between two lines (n, 2) of (u, s), paled as the k-th step of a fading edge."""
    strength = 0.62 * (1 + np.cos(np.pi * (k + 0.5) / FADE_STEPS)) / 2
    d = ring_data([view.sheet.to_flat(np.concatenate([outer, inner[::-1]]))])
    return f'<path class="beyond" style="fill-opacity:{strength:.2f}" d="{d}"/>'


def picture(view: View) -> Markup:
    """The sheet with its sleeve, small, for the drawer."""
    style = f"--skin:{skin_of(view.plan.settings)}"
    return Markup(f'<svg class="sleeve-picture" viewBox="{box_of(view.sheet).view}" style="{escape(style)}" '
                  f'aria-hidden="true"><path class="skin-sheet" d="{skin_path(view.sheet)}"/>{overlay(view)}'
                  f'<path class="skin-edge" d="{skin_path(view.sheet)}"/></svg>')


def context(view: View) -> dict[str, Any]:
    """What the drawer shows. Raises StepError on chest and back."""
    if view.part not in PARTS:
        raise StepError("Chest and back have no sleeve edge; choose it on an arm or a leg.")
    part, unit, limb = view.plan.part(view.part), view.plan.settings.unit, limb_of(view)
    extent = chosen(view.plan, view.part)
    shown = extent or extent_of(part)
    known = PRESETS[kind_of(view.part).name]
    low, high = shown.span(limb)
    skin = area_mm2(limb, shown)
    return {"presets": {WHOLE: f"The whole {kind_of(view.part).name}, from end to end"} | {
                n: words for n, (words, _, _) in known.items()},
            "preset": WHOLE if extent is None else extent.name, "forms": FORMS, "picture": picture(view),
            "levels": list(landmarks(limb)),
            "edges": [_edge("to", shown.near, unit), _edge("from", shown.far, unit)],
            "cm2": round(skin / 100), "faded_cm2": round(faded_area_mm2(limb, shown) / 100),
            "arm": kind_of(view.part).name == "arm", "into": number(shown.chest_mm, unit), **_on_chest(view, shown),
            "fades": "fading" in (shown.far.form, shown.on_limb.near.form),
            "fades_on_chest": bool(shown.chest_mm) and shown.near.form == "fading", "long": number(high - low, unit)}


def _on_chest(view: View, extent: Extent) -> dict[str, Any]:
    """Skin that the sleeve takes up on the chest: cm2, or None where the chest is not taped; and with what fades."""
    chest = next((p for p in view.plan.parts if p.name == "chest"), None)
    if not extent.chest_mm or chest is None:
        return {"chest_cm2": None, "chest_faded_cm2": 0}
    panel = build_panel("chest", chest.measures)
    return {"chest_cm2": round(into_chest.area_mm2(panel, view.part, extent) / 100),
            "chest_faded_cm2": round(into_chest.faded_area_mm2(panel, view.part, extent) / 100)}


def _on_trunk(view: View, panel: Panel) -> str:
    """Where the sleeves of both arms end on the chest, and how they fade there (SVG)."""
    out = []
    for arm, extent in sleeves_into(view.plan, "chest"):
        if extent.near.form == "fading":
            steps = [inner_edge(panel, arm, replace(extent, chest_mm=max(
                extent.chest_mm - extent.near.depth_mm * k / FADE_STEPS, 0.0))) for k in range(FADE_STEPS + 1)]
            out += [_paled(view, a, b, k) for k, (a, b) in enumerate(pairwise(steps))]
        line = line_data(view.sheet.to_flat(inner_edge(panel, arm, extent)))
        out.append(f'<path class="edge {extent.near.form}" d="{line}"/>')
    return f'<g clip-path="url(#skin-edge)" class="sleeve">{"".join(out)}</g>' if out else ""


def _edge(key: str, edge: EdgeLine, unit: str) -> Edge:
    plus = ("-" if edge.plus_mm < -0.005 else "") + number(abs(edge.plus_mm), unit)
    return Edge(key, SIDES[key], edge.at, plus, edge.form, number(edge.depth_mm, unit))


def step(plan: Plan, part: str, name: str, value: str) -> dict[str, Any]:
    """The step that a field of the drawer stands for: 'preset', or an edge's at, plus, form or depth ('from.at').
    Raises StepError with a sentence."""
    if name == "into":
        text = value.strip()
        mm = parse_length(text, plan.settings.unit, "How far it runs into the chest") if text.strip("0., ") else 0.0
        top = {"to": {"at": kind_of(part).levels[-1]}} if mm and kind_of(part).name == "arm" else {}
        return {"do": "extent", "part": part, "set": {"chest_mm": mm, **top}}
    if name == "preset":
        return {"do": "extent", "part": part, "set": None if value == WHOLE else {"preset": value}}
    side, _, what = name.partition(".")
    if side not in SIDES or what not in ("at", "plus", "form", "depth"):
        raise StepError(f"There is no field called '{name[:40]}'.")
    if what in ("at", "form"):
        return {"do": "extent", "part": part, "set": {side: {what: value}}}
    text = value.strip().replace("\u2212", "-")
    minus = text.startswith("-")
    where = "distance from its level" if what == "plus" else "depth"
    try:
        mm = parse_length(text.lstrip("-+ ") or "0", plan.settings.unit, f"The {where} of the {SIDES[side].lower()}")
    except LengthError as err:
        if text.strip("-+ ").replace(".", "").replace(",", "").strip("0"):
            raise StepError(str(err)) from err
        mm = 0.0
    if what == "depth" and not (1 <= mm <= MOST_DEPTH_MM) and not minus:
        told, least, most = (format_length(v, plan.settings.unit) for v in (mm, 1.0, MOST_DEPTH_MM))
        raise StepError(f"The {SIDES[side].lower()} can't wave or fade over {told}; use {least} to {most}.")
    key = "plus_mm" if what == "plus" else "depth_mm"
    return {"do": "extent", "part": part, "set": {side: {key: -mm if minus else mm}}}
