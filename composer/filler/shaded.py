"""A ground with the field of tone on it: its open skin as far as shading goes, and how dark it may be where."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.compose.tone_field import ToneField, tone_field
from composer.filler.clip_memo import by_identity
from composer.filler.graded import HELD
from composer.filler.tone_grid import SHUT, Field, tone_grid
from composer.plan.model import Recipe, Settings
from composer.plan.scene import Scene

if TYPE_CHECKING:
    from composer.compose.gaps import Gap
    from composer.filler.lay_ground import Site

LEAST_MM2 = 40.0
"""Less open skin than this, where a shade line lets enough for lines to hold on (`graded.HELD`), is left bare."""
CHANGED = 0.06
"""A filler is to be drawn again where its tone has changed by more than this since it was drawn."""
DRAWN_IN_MM = 0.1
KEY = "tone"
MARKS = 16
LET_IN = 0.3
"""A gap of which less than this share is half let or more is left bare by a whole theme."""


@by_identity
def field_of(scene: Scene, settings: Settings) -> ToneField:
    """The field of a scene, kept for as long as it is asked for again."""
    return tone_field(scene, settings)


def shaded(site: Site, scene: Scene, settings: Settings, share: float = 1.0) -> Site:
    """The site with its tone, and its open skin kept to what shade lines leave. `share`: of the hand's darkness. Raises
    ValueError with the sentence to show where nothing is left."""
    return shaded_by(site, field_of(scene, settings), settings, share)


def shaded_by(site: Site, field: Field, settings: Settings, share: float = 1.0) -> Site:
    """The same by a field that is known."""
    ground = site.ground
    grid = tone_grid(field, site.patch, ground.free, ground.region, share)
    marks = _marks(site, field, share)
    if grid.even and grid.darkest == round(settings.hand.dark, 3):
        return replace(site, tones=marks)
    free, region = ground.free, ground.region
    if grid.open.min() < SHUT:
        let = _short_of(field, site, grid.area(grid.open, SHUT))
        free, region = shapely.intersection(free, let), shapely.intersection(region, let)
        if shapely.intersection(ground.free, grid.area(grid.open, HELD)).area < LEAST_MM2:
            raise ValueError("All of this skin lies beyond a shade line or close before it, so nothing is drawn there; "
                             "move the line, or choose a gap on its shaded side.")
    return replace(site, ground=replace(ground, free=free, region=region, tone=grid), tones=marks)


def _short_of(field: Field, site: Site, area: BaseGeometry) -> BaseGeometry:
    """The area, which a grid tells to a part of its step, drawn in until no corner lies on a shade line or beyond."""
    for _ in range(6):
        if (field.open(site.patch.to_skin(shapely.get_coordinates(area))) > 0).all():
            break
        area = area.buffer(-DRAWN_IN_MM)
    return area


def _marks(site: Site, field: Field, share: float) -> tuple[float, ...]:
    """A few places over the open skin with the tone there: u, s, tone, u, s, tone and so on."""
    x0, y0, x1, y1 = site.ground.free.bounds
    n = int(np.sqrt(MARKS)) + 2
    x, y = np.meshgrid(*((np.arange(n) + 0.5) / n * (b - a) + a for a, b in ((x0, x1), (y0, y1))))
    xy = np.column_stack([x.ravel(), y.ravel()])
    xy = xy[shapely.contains_xy(site.ground.free, xy[:, 0], xy[:, 1])][:: max(1, n * n // (2 * MARKS))]
    if not len(xy):
        xy = np.array([[site.ground.free.representative_point().x, site.ground.free.representative_point().y]])
    us = site.patch.to_skin(xy)
    us = np.column_stack([us[:, 0].round(4), us[:, 1].round(1)])
    return tuple(np.column_stack([us, field.tone(us, share).round(3)]).ravel().tolist())


def outdated(recipe: Recipe, field: Field) -> bool:
    """Whether a filler would come out lighter or darker, drawn again on the field as it is now. A recipe that says
    nothing of its tone was drawn when there was no such field: it is only outdated where something gives out now."""
    kept: Any = recipe.params.get(KEY)
    if not isinstance(kept, list | tuple) or len(kept) < 3 or len(kept) % 3:
        return False
    rows = np.array(kept, float).reshape(-1, 3)
    share = float(recipe.params.get("dark", 1.0))
    return bool(np.abs(field.tone(rows[:, :2], share) - rows[:, 2]).max() > CHANGED)


def let_in(field: ToneField, gaps: Sequence[Gap]) -> list[Gap]:
    """The gaps that are worth a filler of their own before shade lines and fading edges."""
    from composer.filler.held import spots_in

    if not field.reaches and not field.fades:
        return list(gaps)
    return [g for g in gaps if (field.open(spots_in(g, 0.02, 6.0)) > 0.5).mean() >= LET_IN]
