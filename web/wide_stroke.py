"""A stroke of the brush on a wide sheet, split among the parts that it runs over."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon

from composer.body.joins_wide import WideSheet
from composer.filler.open_skin import LEAST_MM2
from composer.plan.errors import StepError
from composer.store.store import Kept
from web import brush, findings
from web.brush import MOST_POINTS
from web.desk import Desk
from web.findings import GapShown
from web.places import PART_NAMES
from web.wide_found import part_views
from web.wide_view import WideView

STEP_MM = 1.0


def by_part(wide: WideSheet, line: np.ndarray, width_mm: float) -> Iterator[tuple[str, np.ndarray]]:
    """The stretches (n, 2) of a line on the sheet under which a part shows, each with the part; where only the edge of
    the stroke reaches a part, the line beside it. Stretches of a part nearer to each other than the width are one."""
    whole = LineString(line) if len(np.unique(line, axis=0)) > 1 else Point(line[0])
    dense = shapely.get_coordinates(shapely.segmentize(whole, STEP_MM))
    band = shapely.buffer(whole, width_mm / 2)
    for part in wide.parts:
        shown = shapely.make_valid(Polygon(part.shown))
        inside = shapely.contains_xy(shown, dense[:, 0], dense[:, 1])
        if not inside.any() and shapely.intersection(band, shown).area >= LEAST_MM2:
            inside = shapely.dwithin(shown, shapely.points(dense), width_mm / 2)
        runs: list[np.ndarray] = []
        for k in np.split(np.flatnonzero(inside), np.flatnonzero(np.diff(np.flatnonzero(inside)) > 1) + 1):
            if len(k) and runs and np.hypot(*(dense[k[0]] - runs[-1][-1])) <= width_mm:
                runs[-1] = np.vstack([runs[-1], dense[k]])
            elif len(k):
                runs.append(dense[k])
        yield from ((part.part, run) for run in runs)


def painted(desk: Desk, kept: Kept, view: WideView, text: str, width: str) -> str:
    """The goal of a stroke painted on the wide sheet: one for each stretch of it with open skin under it, joined, that
    with most of it first. Raises StepError with a sentence."""
    line, rows, bare = brush.line_of(text), [], None
    stretches = list(by_part(view.wide, line, brush.width_of(width)))
    if not stretches:
        raise StepError("This stroke lies beside the skin; paint on the sheet.")
    every = part_views(desk, kept, view)
    most = MOST_POINTS if len(stretches) == 1 else max(6, 2 * MOST_POINTS // len(stretches))
    for part, stretch in stretches:
        key = brush.key_of(json.dumps(stretch.round(2).tolist()), width, view.wide.part(part), part, most)
        try:
            rows.append((sum(g.area_mm2 for g in brush.gaps(findings.surveyed(desk, kept, every[part])[1], key)), key))
        except brush.Bare as err:
            bare = err
    if not rows:
        assert bare is not None
        raise bare
    return brush.JOINT.join(key for _, key in sorted(rows, key=lambda row: -row[0]))


def shown(desk: Desk, kept: Kept, view: WideView, key: str) -> tuple[GapShown, list[tuple[str, GapShown]]]:
    """A stroke as an open gap in the panel, that with most open skin under the whole key, and what else lies under it,
    each with its part's name. Raises StepError."""
    every, out = part_views(desk, kept, view), []
    for one in brush.keys_of(key):
        own = every.get(brush.part_of(one))
        if own is None:
            raise StepError("The stroke could not be read; paint it again.")
        gap = brush.shown(own, findings.surveyed(desk, kept, own)[1], one)
        out.append((PART_NAMES[own.part].lower(), gap))
    return replace(out[0][1], key=key), out[1:]
