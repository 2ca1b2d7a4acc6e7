"""How background runs, drawn over the sheet: short pencil strokes along the flow, the artist's own strokes, and the
points where the flow has no direction."""

from __future__ import annotations

import numpy as np

from composer.compose.chart import chart_of
from composer.compose.flow import Flow
from composer.compose.streams import walk
from composer.compose.whirls import whirls
from composer.sheets.unrolled import shifts
from web.desk import View
from web.paint.paths import line_data

SPACE_MM, LONG_MM, STEPS = 15.0, 9.0, 4


def flow_group(view: View, flow: Flow) -> str:
    """SVG group in mm of the sheet, y down."""
    dashes = "".join(line_data(d) for d in _dashes(view, flow))
    own = "".join(f'<path class="own" d="{line_data(line)}"/>' for s in view.scene.currents.strokes
                  for line in _on_sheet(view, np.array(s)))
    marks = "".join(f'<circle class="whirl" cx="{x:.1f}" cy="{-y:.1f}" r="3.2"/>' for x, y in whirl_places(view, flow))
    return f'<g class="flow-lines" clip-path="url(#skin-edge)"><path class="dash" d="{dashes}"/>{own}{marks}</g>'


def whirl_places(view: View, flow: Flow) -> np.ndarray:
    """The whirls of the flow on the sheet, (n, 2) mm, y up."""
    found = whirls(view.scene, flow)
    if not found:
        return np.zeros((0, 2))
    u = np.array([w.u for w in found])
    if view.limb.closed:
        u = view.sheet.seam_u + (u - view.sheet.seam_u) % 1.0
    return view.sheet.to_flat(np.column_stack([u, [w.s_mm for w in found]]))


def _dashes(view: View, flow: Flow) -> list[np.ndarray]:
    """Short lines along the flow, in rows that are staggered."""
    limb, sheet = view.limb, view.sheet
    rows = np.arange(limb.s_min + SPACE_MM / 2, limb.s_max, SPACE_MM)
    at = []
    for i, s in enumerate(rows):
        n = max(3, int(float(limb.girth(s)) / SPACE_MM))
        u = sheet.seam_u + (np.arange(n) + (0.25 if i % 2 else 0.75)) / n
        at.append(np.column_stack([u, np.full(n, s)]))
    start = np.concatenate(at)
    if not limb.closed:
        start = start[limb.inside(start)]
    back, on = (walk(chart_of(limb), flow, start, np.full(len(start), sense), LONG_MM / 2 / STEPS, STEPS)
                for sense in (-1.0, 1.0))
    lines = np.concatenate([back[:, :0:-1], on], axis=1)
    flat = sheet.to_flat(lines.reshape(-1, 2)).reshape(lines.shape)
    return list(flat)


def _on_sheet(view: View, us: np.ndarray) -> list[np.ndarray]:
    """A way on skin as it lies on the sheet, twice where it crosses the seam."""
    return [view.sheet.to_flat(np.add(us, (k, 0.0))) for k in shifts(us[:, 0], view.sheet)]
