"""A proposed place as a small picture: the piece of sheet round it, the neighbours, the motif in ink."""

from __future__ import annotations

import numpy as np

from composer.body.sheet import AnySheet
from composer.plan.model import Settings
from composer.plan.scene import Laid, Scene
from composer.sheets.unrolled import shifts
from web.paint.colour import skin_of
from web.paint.paths import path_data
from web.paint.piece import on_sheet

SIZE_PX = 104
LEAST_MM = 130.0
"""So much of the sheet is seen at least."""


def place_picture(laid: Laid, scene: Scene, sheet: AnySheet, settings: Settings) -> str:
    """SVG on the sheet's own mm; the motif on the side of the seam where its anchor lies."""
    shift = int(np.floor(sheet.seam_u + 1.0 - laid.piece.u)) if sheet.limb.closed else 0
    rings = on_sheet(laid.flat.silhouette, shift, laid, sheet)
    xy = np.concatenate(rings)
    (x0, y0), (x1, y1) = xy.min(axis=0), xy.max(axis=0)
    side = max(1.7 * max(x1 - x0, y1 - y0), LEAST_MM)
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    rough = side / SIZE_PX / 2
    others = []
    for la in scene.laid:
        if la.piece.is_filler:
            continue
        for k in shifts(np.concatenate(la.rings)[:, 0], sheet):
            near = on_sheet(la.flat.silhouette, k, la, sheet)
            every = np.concatenate(near)
            if (np.abs(every - (cx, cy)).min(axis=0) < side / 2 + 40).all():
                others.append(path_data(near, rough))
    ink = "".join(f'<path class="{la.role}" d="{path_data(on_sheet(la.rings, shift, laid, sheet), rough / 1.5)}"/>'
                  for la in laid.flat.layers)
    view = f"{(cx - side / 2) * 100:.0f} {-(cy + side / 2) * 100:.0f} {side * 100:.0f} {side * 100:.0f}"
    return (f'<svg class="art place" viewBox="{view}" aria-hidden="true" style="--skin:{skin_of(settings)}">'
            f'<path class="around" d="{path_data([sheet.border(4.0)], rough)}"/>'
            f'<path class="others" d="{"".join(others)}"/>'
            f'<path class="skin own" stroke-width="{side:.0f}" d="{path_data(rings, rough)}"/>'
            f'<g class="ink">{ink}</g></svg>')
