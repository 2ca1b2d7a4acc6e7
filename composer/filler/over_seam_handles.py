"""Grips of a filler over a seam, and what comes of a pull: as on a part, in the paper that hangs over the seam."""

from __future__ import annotations

from collections.abc import Sequence

from composer.compose.over_seam import Joined
from composer.filler.handles import Handles, grips_of, pulled
from composer.filler.kinds import every_kind
from composer.filler.lay_ground import Site
from composer.filler.over_seam import gap_of, shaded_site
from composer.filler.seam_skin import seam_scene
from composer.plan.model import Plan, Recipe, Settings
from composer.plan.scene import Laid
from composer.plan.shape import Shape, shape_of


def handles_over(laid: Laid, plan: Plan, joined: Joined, settings: Settings) -> Handles:
    """What can be pulled of a filler over a seam, laid on the part where its paper hangs; places are those of that
    part, run on beyond its edge. Raises ValueError with a sentence when its gap is gone."""
    recipe = laid.piece.recipe
    if recipe is None:
        return Handles()
    gap = gap_of(joined, recipe.goal)

    def ground(recipe: Recipe, shape: Shape, way: str) -> Site:
        return shaded_site(joined, gap, recipe.kind, settings, 1.0, (), shape, way)

    return grips_of(laid, plan, seam_scene(joined, gap.stretch), ground)


def pulled_over(joined: Joined, recipe: Recipe, what: str, places: Sequence[Sequence[float]]) -> Shape:
    """The shape of a filler over a seam after a pull (see `composer.filler.handles.pulled`). Raises ValueError with a
    sentence."""
    known = every_kind().get(recipe.kind)
    kinds = known.handles_of(str(recipe.params.get("way", ""))) if known else ()
    scene = seam_scene(joined, gap_of(joined, recipe.goal).stretch)
    return pulled(scene, shape_of(recipe), what, places, kinds)
