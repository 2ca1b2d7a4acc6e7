"""The field of tone as a filler is given it: on a grid over its flat ground, so that it can be sent to another process.

`ragged` is a wave that is the same for all fillers of a part: where washes step and lines give out, the steps of
neighbouring fillers meet, and none of them runs straight like a cut.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np
import shapely
from scipy import ndimage
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import rings_to_geometry
from composer.art.pixels import contours
from composer.body.patch import Patch
from composer.body.surface import Surface
from composer.compose.seam_tone import SeamTone
from composer.compose.tone_field import ToneField
from composer.filler.closing import in_one

STEP_MM = 3.0
ASKED = 48
"""So many nodes are asked at once whether they lie beside open skin."""
SHUT = 0.02
"""Where background is let less than this, nothing is drawn."""
WAVES_MM = ((23.0, 61.0, 0.4), (37.0, -53.0, 1.9), (53.0, 71.0, 4.1), (17.0, 97.0, 5.2))
"""Waves of the ragged edge: length round the limb and along it, mm, and phase. Long enough that what falls off over
30 mm or more still falls off steadily."""
RAGGED = 0.7

Field = ToneField | SeamTone
"""The field of a part, or that of paper over a seam between two."""


@dataclass(frozen=True, eq=False)
class ToneGrid:
    """`tone`, `open` (see `compose.tone_field`), `falls` (`open` times what is left towards cuffs) and `ragged` (-1..1)
    at the nodes (rows upwards, STEP_MM apart) from (x0, y0) mm of the ground's chart. `darkest`: the greatest tone on
    the ground's open skin. `base`: the tone where no piece asks for another and nothing falls off; 0 where that is not
    known."""

    x0: float
    y0: float
    tone: np.ndarray
    open: np.ndarray
    falls: np.ndarray
    ragged: np.ndarray
    darkest: float
    base: float = 0.0

    @cached_property
    def share(self) -> np.ndarray:
        """Tone at the nodes as a share, 0..1, of the darkest."""
        return np.clip(self.tone / max(self.darkest, 1e-9), 0.0, 1.0)

    @cached_property
    def let(self) -> np.ndarray:
        """`open` at the nodes with a ragged edge: 0 and 1 stay where they are."""
        return _ragged(self.open, self.ragged)

    @cached_property
    def wash(self) -> np.ndarray:
        """`share` at the nodes with a ragged edge."""
        return _ragged(self.share, self.ragged)

    def __getstate__(self) -> dict[str, object]:
        return {f.name: getattr(self, f.name) for f in fields(self)}

    @property
    def even(self) -> bool:
        """Whether the ground is as dark all over as at its darkest."""
        return bool(self.share.min() > 0.995)

    def at(self, values: np.ndarray, xy: np.ndarray) -> np.ndarray:
        """Values of the nodes between them, at points (n, 2); beyond the grid those of its edge."""
        where = np.stack([(xy[:, 1] - self.y0) / STEP_MM, (xy[:, 0] - self.x0) / STEP_MM])
        return ndimage.map_coordinates(values, where, order=1, mode="nearest")

    def area(self, values: np.ndarray, least: float) -> BaseGeometry:
        """Where values of the nodes reach `least`, within the grid; kept."""
        # the grids that are asked for live as long as this one
        return self.once((id(values), least), lambda: self._area(values, least))

    def once(self, key: Hashable, make: Callable[[], BaseGeometry]) -> BaseGeometry:
        """An area made from this grid alone, kept under the key."""
        if key not in self._areas:
            self._areas[key] = make()
        return self._areas[key]

    @cached_property
    def _areas(self) -> dict[Hashable, BaseGeometry]:
        return {}

    def _area(self, values: np.ndarray, least: float) -> BaseGeometry:
        if values.min() >= least:
            rows, columns = values.shape
            return shapely.box(self.x0 - STEP_MM, self.y0 - STEP_MM, self.x0 + columns * STEP_MM,
                               self.y0 + rows * STEP_MM)
        if values.max() < least:
            return shapely.Polygon()
        rings = contours(values, least, STEP_MM)
        return in_one(rings_to_geometry([r - STEP_MM / 2 + (self.x0, self.y0) for r in rings]))


def tone_grid(field: Field, patch: Patch, free: BaseGeometry, region: BaseGeometry, share: float) -> ToneGrid:
    """The field over a ground, its base the hand's darkness times `share`."""
    x0, y0, x1, y1 = region.bounds
    x, y = np.arange(x0 - STEP_MM, x1 + 2 * STEP_MM, STEP_MM), np.arange(y0 - STEP_MM, y1 + 2 * STEP_MM, STEP_MM)
    gx, gy = np.meshgrid(x, y)
    us = patch.to_skin(np.column_stack([gx.ravel(), gy.ravel()]))
    open_, shape = field.open(us), gx.shape
    falls = open_ * field.cuff(us)
    tone = field.before_falls(us, share) * falls
    darkest = darkest_beside(free, gx.ravel(), gy.ravel(), np.where(open_ > SHUT, tone, 0.0))
    return ToneGrid(float(x[0]), float(y[0]), tone.reshape(shape), open_.reshape(shape), falls.reshape(shape),
                    wave(field.limb, us).reshape(shape), round(darkest, 3),
                    float(np.clip(field.hand_dark * share, 0.0, 1.0)))


def darkest_beside(free: BaseGeometry, x: np.ndarray, y: np.ndarray, tone: np.ndarray) -> float:
    """The greatest tone (n,) of the nodes that lie within a step of open skin, 0 where it is 0 or less at all of them:
    the darkest are asked first, so that few have to be."""
    x0, y0, x1, y1 = free.bounds
    about = (x > x0 - STEP_MM) & (x < x1 + STEP_MM) & (y > y0 - STEP_MM) & (y < y1 + STEP_MM)
    nodes = np.flatnonzero(about & (tone > 0))
    nodes = nodes[np.argsort(-tone[nodes], kind="stable")]
    shapely.prepare(free)
    for some in np.split(nodes, np.arange(ASKED, len(nodes), ASKED)):
        near = shapely.dwithin(free, shapely.points(x[some], y[some]), STEP_MM)
        if near.any():
            return float(tone[some[int(np.argmax(near))]])
    return 0.0


def wave(limb: Surface, us: np.ndarray) -> np.ndarray:
    """A smooth wave (n,) of -1..1 over skin points (n, 2), a whole number of times round the limb."""
    turn = float(limb.girth((limb.s_min + limb.s_max) / 2))
    rows = [np.sin(2 * np.pi * (us[:, 0] * max(1, round(turn / a)) + us[:, 1] / b) + p) for a, b, p in WAVES_MM]
    return np.clip(np.sum(rows, axis=0) / 2.6, -1.0, 1.0)


def _ragged(values: np.ndarray, by: np.ndarray) -> np.ndarray:
    return values + RAGGED * by * values * (1.0 - values)
