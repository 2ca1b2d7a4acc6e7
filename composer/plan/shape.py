"""What the artist pulled of a filler: the line that it follows, where that starts and ends, the edge of its ground.

Kept in `Recipe.params["shape"]`: {"spine": [[u, s], ...], "holds": [hold or null, hold or null],
"edge": [[u, s], ...]}, each only where it was pulled. `spine` has both its ends in it; a spine of one point is a centre
(of rays). A hold, {"on": piece id, "at": [x, y]}, ties an end to a place of a main piece in that drawing's own mm, so
that the end goes where the piece goes. `edge` is a ring. u in turns, unwrapped, s in mm.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from shapely.geometry import Polygon

from composer.plan.errors import StepError
from composer.plan.model import Recipe

KEY = "shape"
MOST_SPINE, MOST_EDGE = 24, 160
Place = tuple[float, float]


@dataclass(frozen=True)
class Hold:
    """An end of a spine tied to a main piece: its id, and where in the drawing's own mm."""

    on: str
    x: float
    y: float


@dataclass(frozen=True)
class Shape:
    """What was pulled (see the module); empty where nothing was. `holds` are those of the first and the last place
    of the spine."""

    spine: tuple[Place, ...] = ()
    holds: tuple[Hold | None, Hold | None] = (None, None)
    edge: tuple[Place, ...] = ()

    def json(self) -> dict[str, Any]:
        """As it is kept; what was not pulled is left out."""
        out: dict[str, Any] = {}
        if self.spine:
            out["spine"] = [[round(u, 5), round(s, 2)] for u, s in self.spine]
        if any(self.holds):
            out["holds"] = [None if h is None else {"on": h.on, "at": [round(h.x, 2), round(h.y, 2)]}
                            for h in self.holds]
        if self.edge:
            out["edge"] = [[round(u, 5), round(s, 2)] for u, s in self.edge]
        return out

    def moved(self, where: Callable[[Hold], Place | None]) -> Shape:
        """The shape with its tied ends where `where` says that they lie now; the rest of the spine goes along by its
        share of the length. An end whose piece is gone stays and is tied no more."""
        if not self.spine or not any(self.holds):
            return self
        at = np.array(self.spine)
        now = [where(h) if h is not None else None for h in self.holds]
        by = [np.zeros(2), np.zeros(2)]
        for k, place in enumerate(now):
            if place is not None:
                by[k] = np.array(place) - at[-k]
                by[k][0] -= np.round(by[k][0])   # a turn further is the same place
        step = np.hypot(*(np.diff(at, axis=0) * (300.0, 1.0)).T) if len(at) > 1 else np.zeros(0)
        share = np.concatenate([[0.0], np.cumsum(step)]) / max(float(step.sum()), 1e-9)
        if len(at) == 1:
            by[1] = by[0]
        at = at + (1 - share)[:, None] * by[0] + share[:, None] * by[1]
        kept = tuple(h if p is not None else None for h, p in zip(self.holds, now, strict=True))
        return replace(self, spine=tuple((float(u), float(s)) for u, s in at), holds=(kept[0], kept[1]))


def shape_of(recipe: Recipe) -> Shape:
    """The shape kept with a recipe. Raises StepError with a sentence when it can't stand."""
    return shape_from(recipe.params.get(KEY))


def with_shape(recipe: Recipe, shape: Shape) -> Recipe:
    """The recipe with that shape; an empty one is taken away."""
    params = {k: v for k, v in recipe.params.items() if k != KEY}
    kept = shape.json()
    return replace(recipe, params={**params, KEY: kept} if kept else params)


def shape_from(data: Any) -> Shape:
    """A shape as it is kept. Raises StepError with a sentence."""
    if data is None:
        return Shape()
    if not isinstance(data, dict):
        raise StepError("What was pulled of this filler can't be read; put it back to how it was proposed.")
    spine, edge = _places(data.get("spine", ()), MOST_SPINE), _places(data.get("edge", ()), MOST_EDGE)
    holds = data.get("holds") or (None, None)
    if not isinstance(holds, list | tuple) or len(holds) != 2:
        raise StepError("Where this filler starts and ends can't be read; put it back to how it was proposed.")
    if edge and (len(edge) < 3 or not Polygon(np.array(edge) * (300.0, 1.0)).is_valid):
        raise StepError("Its edge would cross itself; pull it less far, or from another grip.")
    return Shape(spine, (_hold(holds[0]), _hold(holds[1])), edge)


def _places(data: Any, most: int) -> tuple[Place, ...]:
    try:
        places = tuple((float(u), float(s)) for u, s in data)
    except (TypeError, ValueError) as err:
        raise StepError("What was pulled could not be read; pull it again.") from err
    if len(places) > most:
        raise StepError(f"What was pulled has {len(places)} places; {most} at most can be kept.")
    if not all(math.isfinite(v) for p in places for v in p) or any(abs(u) > 20 or not -2000 <= s <= 4000
                                                                    for u, s in places):
        raise StepError("What was pulled lies off the skin; pull it back onto it.")
    return places


def _hold(data: Any) -> Hold | None:
    if data is None:
        return None
    try:
        x, y = (float(v) for v in data["at"])
        on = data["on"]
    except (KeyError, TypeError, ValueError) as err:
        raise StepError("Where this filler starts and ends can't be read; put it back to how it was proposed.") from err
    if not isinstance(on, str) or not on or not (math.isfinite(x) and math.isfinite(y)):
        raise StepError("Where this filler starts and ends can't be read; put it back to how it was proposed.")
    return Hold(on, x, y)
