"""The unrolled part as the table shows it: skin, levels, landmark lines, and numbers for the browser."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from markupsafe import escape

from composer.body.kinds import side_of
from composer.body.sheet import Sheet
from web.paint.paths import line_data, ring_data
from web.places import far_word

MARGIN_MM = 6.0


@dataclass(frozen=True)
class Box:
    """Rectangle of the sheet in mm, y downwards."""

    x: float
    y: float
    width: float
    height: float

    @property
    def view(self) -> str:
        return f"{self.x:.2f} {self.y:.2f} {self.width:.2f} {self.height:.2f}"


def box_of(sheet: Sheet) -> Box:
    """The sheet's rectangle with a small margin."""
    ring = sheet.border()
    (x0, y0), (x1, y1) = ring.min(axis=0) - MARGIN_MM, ring.max(axis=0) + MARGIN_MM
    return Box(float(x0), float(-y1), float(x1 - x0), float(y1 - y0))


def sides(part: str) -> dict[float, str]:
    """Names of the four lines along a limb by u (u grows to the right seen from outside)."""
    outer = 0.25 * side_of(part)
    return {0.0: "front", outer: "outer side", 0.5: "back", -outer: "inner side"}


def side_at(part: str, u: float) -> str:
    """The side of the limb nearest to u."""
    return min(sides(part).items(), key=lambda it: abs((u - it[0] + 0.5) % 1.0 - 0.5))[1]


def _across(sheet: Sheet, s: float) -> np.ndarray:
    u = np.linspace(sheet.seam_u, sheet.seam_u + 1, 49)
    return sheet.to_flat(np.column_stack([u, np.full(len(u), s)]))


def _along(sheet: Sheet, u: float) -> np.ndarray:
    s = np.linspace(sheet.limb.s_min, sheet.limb.s_max, 2)
    return sheet.to_flat(np.column_stack([np.full(len(s), u), s]))


def _on_sheet(sheet: Sheet, u: float) -> float:
    return sheet.seam_u + (u - sheet.seam_u) % 1.0


def skin_path(sheet: Sheet) -> str:
    """Border of the sheet as a path in mm."""
    return ring_data([sheet.border(2.0)])


def pencil(sheet: Sheet, part: str) -> str:
    """Levels across and landmark lines along, as quiet lines (SVG)."""
    out = [f'<path class="level" d="{line_data(_across(sheet, lv.s_mm))}"/>'
           for lv in sheet.limb.levels[1:-1]]
    for u, name in sides(part).items():
        at = _on_sheet(sheet, u)
        if at - sheet.seam_u > 1e-6:
            kind = "landmark" if name == "front" else "quarter"
            out.append(f'<path class="{kind}" d="{line_data(_along(sheet, at))}"/>')
    return "".join(out)


def words(sheet: Sheet, part: str) -> list[dict[str, Any]]:
    """Names at the edge of the sheet: levels at its right, sides along its top; mm, y down."""
    out = []
    for lv in sheet.limb.levels:
        x, y = _across(sheet, lv.s_mm)[-1]
        out.append({"text": lv.name, "x": round(float(x), 2), "y": round(float(-y), 2), "at": "right"})
    for u, name in sides(part).items():
        at = _on_sheet(sheet, u)
        if at - sheet.seam_u < 1e-6:
            continue
        x, y = sheet.to_flat(np.array([[at, sheet.limb.s_max]]))[0]
        out.append({"text": name, "x": round(float(x), 2), "y": round(float(-y), 2), "at": "top"})
    return out


def numbers(sheet: Sheet, part: str) -> dict[str, Any]:
    """What the browser needs to follow a hand: the sheet's chart, girths each 2 mm, levels, sides."""
    limb, p = sheet.limb, sheet.patch
    s = np.linspace(limb.s_min, limb.s_max, max(2, int((limb.s_max - limb.s_min) / 2) + 1))
    return {"patch": {"u0": p.u0, "s0": p.s0_mm, "c1": p.c1_mm, "b": p.b}, "seam": sheet.seam_u,
            "s": [limb.s_min, limb.s_max], "girth": np.round(limb.girth(s), 4).tolist(),
            "levels": [{"name": lv.name, "s": lv.s_mm} for lv in limb.levels],
            "sides": [{"name": n, "u": u} for u, n in sides(part).items()],
            "far": far_word(part), "words": words(sheet, part)}


def defs(sheet: Sheet) -> str:
    """The clip that keeps art on the skin."""
    return f'<defs><clipPath id="skin-edge"><path d="{skin_path(sheet)}"/></clipPath></defs>'


def thumbnail(sheet: Sheet, part: str, groups: list[str], css: str) -> str:
    """The sheet with its pieces as one standing SVG picture (start page, previews)."""
    box = box_of(sheet)
    return (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box.view}" role="img" '
            f'aria-label="Sheet of the {escape(part.replace("_", " "))}"><style>{css}</style>{defs(sheet)}'
            f'<path d="{skin_path(sheet)}" fill="var(--skin)" stroke="#6d6250" stroke-width="1"/>'
            f'<g clip-path="url(#skin-edge)">{"".join(groups)}</g></svg>')
