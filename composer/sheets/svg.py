"""One part's sheet at 1:1 as SVG, with groups named for people (svgwrite)."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import svgwrite

from composer.art.drawing import Drawing
from composer.body.joins_wide import WIDE
from composer.plan.model import Plan
from composer.sheets.cover import part_name
from composer.sheets.sheet_art import INK, sheet_art
from composer.sheets.wide_art import wide_art

MARGIN_MM = 20.0


def layout_svg(plan: Plan, part: str, gallery: Mapping[str, Drawing], mirrored: bool = False) -> bytes:
    """SVG 1.1 bytes; user unit 1 mm, width and height stated in mm. Raises as `sheet_art` does."""
    art = wide_art(plan, part, gallery) if part in WIDE else sheet_art(plan, part, gallery)
    x0, y0, x1, y1 = art.bounds
    width, height = x1 - x0 + 2 * MARGIN_MM, y1 - y0 + 2 * MARGIN_MM + 12
    out = svgwrite.Drawing(size=(f"{width:.2f}mm", f"{height:.2f}mm"), viewBox=f"0 0 {width:.2f} {height:.2f}",
                           debug=False)
    out.set_desc(title=f"{plan.title}: {part_name(part).lower()}, 1:1{', mirrored' if mirrored else ''}")

    def at(ring: np.ndarray) -> np.ndarray:
        x = (x1 - ring[:, 0] if mirrored else ring[:, 0] - x0) + MARGIN_MM
        return np.column_stack([x, y1 - ring[:, 1] + MARGIN_MM])

    def path(rings: list[np.ndarray], close: bool = True) -> str:
        return "".join("M" + "L".join(f"{x:g},{y:g}" for x, y in np.round(at(r), 3).tolist()) + ("Z" if close else "")
                       for r in rings)

    edge = out.defs.add(out.clipPath(id="edge"))
    edge.add(out.path(d=path([art.border])))
    guides = out.add(out.g(id="guides", fill="none", stroke="#999999", stroke_width=0.2))
    for name, _, line in art.levels:
        guides.add(out.path(d=path([line], close=False), id=f"level {name}".replace(" ", "-")))
    for name, line in art.axes:
        guides.add(out.path(d=path([line], close=False), id=f"line-{name}"))
    body = out.add(out.g(id="composition", clip_path="url(#edge)"))
    for on in art.pieces:
        group = body.add(out.g(id=f"piece-{on.piece.id}"))
        group.set_desc(title=on.piece.title)
        if not on.piece.is_filler and on.silhouette:
            group.add(out.path(d=path(on.silhouette), fill="#ffffff", fill_rule="evenodd"))
        for role, rings in on.layers:
            if rings:
                grey = round(INK[role] * 255)
                group.add(out.path(d=path(rings), fill=f"#{grey:02x}{grey:02x}{grey:02x}", fill_rule="evenodd"))
    if art.shade:
        marks = body.add(out.g(id="shade-lines", fill="none", stroke="#8c8c8c", stroke_width=0.35))
        marks.add(out.path(d=path(list(art.shade), close=False), stroke_dasharray="3 2"))
        marks.add(out.path(d=path(list(art.shade_ticks), close=False)))
    if art.sleeve:
        ends = body.add(out.g(id="sleeve-edges", fill="none", stroke="#555555", stroke_width=0.45))
        ends.add(out.path(d=path(list(art.sleeve), close=False), stroke_dasharray="7 2 1.5 2"))
    out.add(out.path(d=path([art.border]), fill="none", stroke="#777777", stroke_width=0.3, id="border"))
    y = y1 - y0 + 2 * MARGIN_MM + 4
    rule = f"M{MARGIN_MM:g},{y:g}h100M{MARGIN_MM:g},{y - 2:g}v4M{MARGIN_MM + 100:g},{y - 2:g}v4"
    out.add(out.path(d=rule, fill="none", stroke="#000000", stroke_width=0.25, id="check-rule-100-mm"))
    out.add(out.text("100 mm", insert=(MARGIN_MM + 103, y + 1.2), font_size=4, font_family="sans-serif"))
    return ("<?xml version=\"1.0\" encoding=\"utf-8\"?>\n" + out.tostring()).encode()
