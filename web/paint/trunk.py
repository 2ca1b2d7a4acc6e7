"""Chest or back as two small pictures, one above the other: as it is seen, and unrolled."""

from __future__ import annotations

import numpy as np
from markupsafe import escape

from composer.body.panel import Panel
from composer.body.sheet import Sheet
from web.paint.paths import line_data, ring_data
from web.paint.table import midline, pencil, skin_path

APART_MM, WORDS_MM = 34.0, 30.0


def panel_picture(sheet: Sheet, panel: Panel, part: str, skin: str) -> str:
    """SVG with the panel from the front (the back from behind) above its sheet, to one scale."""
    side = "from behind" if part == "upper_back" else "from the front"
    flat = sheet.border()
    (x0, y0), (x1, y1) = flat.min(axis=0), flat.max(axis=0)
    middle = np.linspace(*midline(panel), 24)
    ring, armpits, line = (panel.embed(us)[:, [0, 2]] for us in (panel.outline, panel.lines[0].us, middle))
    up = y1 + APART_MM + WORDS_MM - ring[:, 1].min()
    ring, armpits, line = (np.add(xy, (0.0, up)) for xy in (ring, armpits, line))
    top = ring[:, 1].max()

    def words(text: str, y: float) -> str:
        return f'<text x="0" y="{-y + 22:.1f}">{text}</text>'

    return (f'<svg class="arm" viewBox="{x0 - 6:.1f} {-top - 6:.1f} {x1 - x0 + 12:.1f} {top - y0 + WORDS_MM + 12:.1f}" '
            f'role="img" aria-label="The {escape(part.replace("_", " "))} {side}, and unrolled" '
            f'style="--skin:{escape(skin)}"><path class="skin-sheet" d="{ring_data([ring])}"/>'
            f'<g class="pencil"><path class="level" d="{line_data(armpits)}"/>'
            f'<path class="landmark" d="{line_data(line)}"/></g><path class="skin-edge" d="{ring_data([ring])}"/>'
            f'<path class="skin-sheet" d="{skin_path(sheet)}"/><g class="pencil">{pencil(sheet, part)}</g>'
            f'<path class="skin-edge" d="{skin_path(sheet)}"/>'
            f'<g class="arm-words">{words(side, ring[:, 1].min())}{words("unrolled", y0)}</g></svg>')
