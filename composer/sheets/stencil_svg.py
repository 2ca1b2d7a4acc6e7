"""A stencil as a working file: SVG at true size in plain groups, to be drawn over elsewhere and taken back in.

The art stands in one group a role (silhouette, light, mid, dark, black, line), so that the house's reader and
any drawing program find it; what lines it up stands in groups of its own. Where it lies on the limb is written
twice: in `data-stencil` on the root and in the element `stencil-placement`; three marks tell where the file's
own mm have gone when another program moves or scales everything.
"""

from __future__ import annotations

import json
from html import escape
from typing import Any

import numpy as np
import shapely

from composer.art.drawing import ROLES, Drawing
from composer.sheets.cover import part_name
from composer.sheets.leaf_strokes import leaf_strokes
from composer.sheets.page_svg import path_data, things_svg
from composer.sheets.sheet_art import INK
from composer.sheets.slits import Cut
from composer.sheets.stencil import Stencil
from composer.sheets.strokes import Thing

MARGIN_MM = 12.0
VERSION = 1
OWN = ("lining-up", "stencil-marks")
"""Groups that are no art; they are left out when the file comes back."""
NAMES = {"silhouette": "Silhouette", "light": "Light shade", "mid": "Middle shade", "dark": "Dark shade",
         "black": "Solid black", "line": "Line work"}
CROSS_MM = 3.0


def stencil_svg(stencil: Stencil, cut: Cut) -> bytes:
    """The stencil, uncut, as SVG; 1 user unit is 1 mm."""
    x0, y0, x1, y1 = stencil.outline.bounds
    x0, y0, x1, y1 = x0 - MARGIN_MM, y0 - MARGIN_MM, x1 + MARGIN_MM, y1 + MARGIN_MM
    spots = marks_at(stencil)
    placement = placed(stencil, (x0, y1), spots)
    leaf = cut.leaves[0] if cut.way == "whole" else None
    light: tuple[Thing, ...] = () if leaf is None else tuple(
        t for t in leaf_strokes(leaf, "") if t.group in ("registration", "paper-edge"))
    groups = []
    for role in ("silhouette", *ROLES):
        rings = [r for d in stencil.drawings for r in _rings(d, role)]
        if rings:
            grey = f"{255 if role == 'silhouette' else round(INK[role] * 255):02x}"
            groups.append(f'<g id="{role}" aria-label="{NAMES[role]}"><path d="{path_data(rings, True)}" '
                          f'fill="#{grey * 3}" fill-rule="evenodd"/></g>')
    marks = "".join(f'<path id="place-{k}" d="M{x - CROSS_MM:.3f} {-y:.3f}h{2 * CROSS_MM:g}M{x:.3f} '
                    f'{-y - CROSS_MM:.3f}v{2 * CROSS_MM:g}" fill="none" stroke="#808080" stroke-width="0.2"/>'
                    for k, (x, y) in zip("abc", spots.tolist(), strict=True))
    said = json.dumps(placement, separators=(",", ":"))
    safe = escape(said)
    title = escape(f"{stencil.plan_title}: {stencil.title}, {part_name(stencil.part).lower()}, 1:1")
    body = "\n".join(groups)
    wide, high = f"{x1 - x0:.3f}", f"{y1 - y0:.3f}"
    return (f'<?xml version="1.0" encoding="utf-8"?>\n<svg xmlns="http://www.w3.org/2000/svg" '
            f'width="{wide}mm" height="{high}mm" viewBox="{x0:.3f} {-y1:.3f} {wide} {high}" '
            f'data-stencil="{safe}">\n<title>{title}</title>\n'
            f'<desc id="stencil-placement">{safe}</desc>\n'
            f'<g id="lining-up" aria-label="Lining up, not to be tattooed">{things_svg(light)}</g>\n'
            f'<g id="stencil-marks" aria-label="Marks that put it back; leave them">{marks}</g>\n{body}\n</svg>\n'
            ).encode()


def marks_at(stencil: Stencil) -> np.ndarray:
    """Where the three marks stand, (3, 2) mm: lower left, lower right, upper left of the paper's box."""
    x0, y0, x1, y1 = shapely.bounds(stencil.outline).tolist()
    out = 6.0
    return np.round([(x0 - out, y0 - out), (x1 + out, y0 - out), (x0 - out, y1 + out)], 3)


def placed(stencil: Stencil, corner: tuple[float, float], spots: np.ndarray) -> dict[str, Any]:
    """What is written into the file: part, pieces, the chart, and where marks and corner lie in it (mm)."""
    c = stencil.chart
    return {"version": VERSION, "part": stencil.part, "pieces": [p.id for p in stencil.pieces],
            "title": stencil.title, "chart": [c.u0, c.s0_mm, c.c1_mm, c.b],
            "corner": [round(v, 3) for v in corner], "marks": spots.tolist()}


def _rings(drawing: Drawing, role: str) -> list[np.ndarray]:
    if role == "silhouette":
        return list(drawing.silhouette)
    return [r for la in drawing.layers if la.role == role for r in la.rings]
