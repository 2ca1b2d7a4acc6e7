"""A measured arm as two small pictures side by side: from the front, and unrolled."""

from __future__ import annotations

import numpy as np
from markupsafe import escape

from composer.body.limb import Limb
from composer.body.sheet import Sheet
from web.paint.paths import line_data, ring_data
from web.paint.table import pencil, skin_path

WORDS_MM = 160.0
"""Room for the words below the arm, in the picture's own units."""


def _outline(limb: Limb) -> np.ndarray:
    """The limb seen from the front: half widths at its levels, as a ring (n, 2), mm, y up."""
    s = np.linspace(limb.s_min, limb.s_max, 60)
    right = limb.embed(np.column_stack([np.full(60, 0.25), s]))
    left = limb.embed(np.column_stack([np.full(60, 0.75), s]))
    return np.vstack([right[:, [0, 2]], left[::-1][:, [0, 2]]])


def arm_picture(sheet: Sheet, limb: Limb, part: str, skin: str) -> str:
    """SVG with the arm from the front at the left and its sheet at the right, to one scale."""
    ring = _outline(limb)
    border = sheet.border()
    gap = 70.0
    shift = ring[:, 0].max() + gap - border[:, 0].min()
    low = border[:, 1].min()
    ring = np.add(ring, (0.0, low - ring[:, 1].min()))
    words_mid = (ring[:, 0].min() + ring[:, 0].max()) / 2
    x0, x1 = min(ring[:, 0].min(), words_mid - WORDS_MM / 2) - 6, border[:, 0].max() + shift + 6
    y1 = max(ring[:, 1].max(), border[:, 1].max()) + 6
    lines = []
    for lv in limb.levels[1:-1]:
        at = limb.embed(np.array([[0.25, lv.s_mm], [0.75, lv.s_mm]]))[:, [0, 2]] + (0.0, low)
        a = np.linspace(0, np.pi, 20)
        half = (at[0, 0] - at[1, 0]) / 2
        curve = np.column_stack([half * np.cos(a), at[0, 1] - 0.16 * half * np.sin(a)])
        lines.append(f'<path class="level" d="{line_data(curve)}"/>')
    name = part.replace("_", " ")
    mid = (border[:, 0].min() + border[:, 0].max()) / 2 + shift
    words = (f'<g class="arm-words"><text x="{words_mid:.1f}" y="{-low + 26:.1f}">from '
             f'the front</text><text x="{mid:.1f}" y="{-low + 26:.1f}">unrolled</text></g>')
    return (f'<svg class="arm" viewBox="{x0:.1f} {-y1:.1f} {x1 - x0:.1f} {y1 - low + 34:.1f}" role="img" '
            f'aria-label="The {escape(name)} from the front, and unrolled" style="--skin:{escape(skin)}">'
            f'<path class="skin-sheet" d="{ring_data([ring])}"/><g class="pencil">{"".join(lines)}</g>'
            f'<path class="skin-edge" d="{ring_data([ring])}"/>'
            f'<g transform="translate({shift:.1f} 0)"><path class="skin-sheet" d="{skin_path(sheet)}"/>'
            f'<g class="pencil">{pencil(sheet, part)}</g>'
            f'<path class="skin-edge" d="{skin_path(sheet)}"/></g>{words}</svg>')
