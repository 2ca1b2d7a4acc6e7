"""Shade lines as the desk shows them: on the sheet, in the panel, and which fillers are to be drawn again for them."""

from __future__ import annotations

from typing import Any

import numpy as np
from markupsafe import escape

from composer.compose.over_seam import stretches
from composer.compose.seam_tone import SeamTone
from composer.compose.shade_reach import reach_of
from composer.compose.tone_field import ToneField, tone_field
from composer.filler.shaded import outdated
from composer.plan.model import Piece, Recipe
from composer.plan.over_joins import joins_in
from composer.plan.shade_lines import LEAST_FALL_MM, MOST_CUFF_MM, MOST_FALL_MM, ShadeLine, shade_of
from composer.sheets.shade_marks import shade_marks
from composer.store.store import Kept
from web import sleeve
from web.desk import Desk, View
from web.paint.paths import line_data
from web.paint.table import side_at
from web.wide_view import WideView


def field_of(desk: Desk, kept: Kept, view: View) -> ToneField:
    """The field of tone of a part as it lies now."""
    return desk.once(("tone", kept.plan.id, kept.revision, view.part),
                     lambda: tone_field(sleeve.scene_of(view), kept.plan.settings))


def concerned(desk: Desk, kept: Kept, view: View) -> list[Piece]:
    """Fillers that would come out lighter or darker now, and that may be drawn again."""
    rows = [p for p in kept.plan.on(view.part) if p.recipe is not None and not p.stays
            and not (p.twin_of and p.linked)]
    field = field_of(desk, kept, view) if rows else None
    return [p for p in rows if field is not None and p.recipe is not None
            and (outdated(p.recipe, field) if "seam" not in p.recipe.goal else _outdated_over(desk, kept, p.recipe))]


def _outdated_over(desk: Desk, kept: Kept, recipe: Recipe) -> bool:
    """The same for a filler over a seam, by the fields of both parts."""
    name, share = str(recipe.goal["seam"]), float(recipe.goal.get("share", 0.0))

    def field() -> SeamTone | None:
        join = next((d["join"] for *_, d in joins_in(kept.plan).edges(data=True) if d["join"].name == name), None)
        if join is None:
            return None
        s = min(stretches(join, join.a.part), key=lambda x: abs(x.share - share))
        home, other = (tone_field(sleeve.scene_of(desk.view(kept.plan, kept.revision, part), True), kept.plan.settings)
                       for part in (s.home, s.carried.part))
        return SeamTone(s, home, other)

    both = desk.once(("tone", kept.plan.id, kept.revision, name, share), field)
    return both is not None and outdated(recipe, both)


def shown(desk: Desk, kept: Kept, view: View) -> dict[str, Any]:
    """What the panel says of a part's shade lines."""
    shade = shade_of(kept.plan.part(view.part))
    rows = [{"id": x.id, "where": where(view, x), "side": side_words(view, x), "fall": x.fall_mm} for x in shade.lines]
    return {"lines": rows, "cuff": shade.cuff_mm, "contrast": shade.contrast, "closed": view.limb.closed,
            "falls": (LEAST_FALL_MM, MOST_FALL_MM), "most_cuff": MOST_CUFF_MM,
            "concerned": concerned(desk, kept, view)}


def where(view: View, line: ShadeLine) -> str:
    """Where a line lies, in few words."""
    at = np.array(line.points)
    u, s = (at.min(axis=0) + at.max(axis=0)) / 2
    run = np.abs(at[-1] - at[0]) * (float(view.limb.girth(s)), 1.0)
    if view.limb.closed and run[0] >= run[1]:
        return f"round the {view.part[-3:]}, {s / 10:.0f} cm up"
    return f"{side_at(view.part, float(u))}, {s / 10:.0f} cm up"


def side_words(view: View, line: ShadeLine) -> str:
    """Which side of a line is shaded: 'above', 'below', 'left of it', 'right of it', 'inside', 'outside'."""
    reach = reach_of(view.limb, line)
    at = reach.borders[0]
    girth = float(view.limb.girth(float(at[:, 1].mean())))
    if np.hypot(*((at[-1] - at[0]) * (girth, 1.0))) < 1.0 and len(reach.borders) == 1 and not _goes_round(at):
        return "inside" if reach.inside(at.mean(axis=0)[None])[0] else "outside"
    run = np.abs(at[-1] - at[0]) * (girth, 1.0)
    middle = at[len(at) // 2]
    if run[0] >= run[1]:
        return "above" if reach.inside(np.add(middle, (0.0, 3.0))[None])[0] else "below"
    return "right of it" if reach.inside(np.add(middle, (3.0 / girth, 0.0))[None])[0] else "left of it"


def _goes_round(at: np.ndarray) -> bool:
    return bool(np.ptp(at[:, 0]) > 0.95)


def overlay(view: View) -> str:
    """The lines over the sheet (SVG, mm, y down): dashed, with short ticks on the shaded side."""
    if isinstance(view, WideView):
        return ""
    lines = shade_of(view.plan.part(view.part)).lines
    return "".join(_drawn(view, x, i) for i, x in enumerate(lines, 1))


def _drawn(view: View, line: ShadeLine, number: int) -> str:
    lines, ticks = shade_marks(view.limb, view.sheet, line)
    d, short = "".join(map(line_data, lines)), "".join(map(line_data, ticks))
    title = f"Shade line {number}, shaded {side_words(view, line)}, falls off over {line.fall_mm:g} mm"
    return (f'<g class="shade-line" data-shade="{line.id}" clip-path="url(#skin-edge)"><title>{escape(title)}</title>'
            f'<path class="hit" d="{d}"/><path class="dash" d="{d}"/><path class="tick" d="{short}"/></g>')
