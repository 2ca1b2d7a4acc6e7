"""Where a filler is to be drawn, flattened: the ground that a kind is given.

Everything is in the flat patch chart of the filler (mm, x right, y up the limb, the anchor at
the origin), so that what is drawn is what the paper shows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, fields
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.body.limb import Limb
from composer.body.patch import Patch
from composer.filler.tone_grid import ToneGrid


@dataclass(frozen=True)
class Port:
    """A place on a neighbour's outline where a tie should start or end.

    `x`, `y` in mm on the outline; `out_deg` points from the neighbour into the gap; `owner` is
    the piece's id, or 'border:far' / 'border:near'.
    """

    x: float
    y: float
    out_deg: float
    owner: str


@dataclass(frozen=True)
class Place:
    """Where on which limb a ground lies: for what has to come out even round it."""

    limb: Limb
    patch: Patch


@dataclass(frozen=True)
class Ground:
    """`free`: open skin to be filled, already clear of pieces in front by the skin break.
    `region`: all skin that the background may run over, `free` and what lies behind the pieces
    between. `front`: silhouettes in front (no margin). `edge`: limb borders (cuffs) that bound
    the region, or empty. `flow(xy)`: direction of flow in radians for points (n, 2), a line
    field (a and a + pi mean the same). `ports`: where ties should meet neighbours.
    `symmetry_deg`: direction of the mirror axis through the origin when the filler must be
    symmetric, else None. `place`: where it lies on a closed limb, None elsewhere. `spine`: the line that
    the artist pulled the filler along, points (x, y) a few mm apart, or one point: its centre; `ends`: both ends of
    that line for what runs from place to place, `owner` '' for an end on open skin. Both empty where nothing was
    pulled; `flow` follows the spine already. `tone`: how dark it may be where; None where that is the hand's darkness
    all over.
    """

    free: BaseGeometry
    region: BaseGeometry
    front: BaseGeometry
    skin_break_mm: float
    line_gap_mm: float
    flow: Callable[[np.ndarray], np.ndarray]
    ports: tuple[Port, ...] = ()
    edge: BaseGeometry = field(default_factory=Polygon)
    symmetry_deg: float | None = None
    place: Place | None = None
    spine: tuple[tuple[float, float], ...] = ()
    ends: tuple[Port, ...] = ()
    tone: ToneGrid | None = None

    def __eq__(self, other: object) -> bool:
        """Field by field, those that are quick to tell apart first: what was worked out for a ground is looked up by
        it."""
        if self is other or not isinstance(other, Ground):
            return self is other
        return self._hash == other._hash and all(
            a is b or (shapely.equals_identical(a, b) if isinstance(a, BaseGeometry) else a == b)
            for a, b in ((getattr(self, name), getattr(other, name)) for name in _QUICK_FIRST))

    def __hash__(self) -> int:
        """Worked out once: grounds are looked up often, and the hash of a geometry takes as long as its outline."""
        return self._hash

    @cached_property
    def _hash(self) -> int:
        return hash((self.free, self.front, self.edge, self.skin_break_mm, self.line_gap_mm, self.ports, self.spine,
                     self.ends, self.symmetry_deg))

    def __getstate__(self) -> dict[str, object]:
        return {f.name: getattr(self, f.name) for f in fields(self)}


_QUICK_FIRST = sorted((f.name for f in fields(Ground)), key=lambda name: name in ("free", "region", "front", "edge"))


@dataclass(frozen=True)
class Wish:
    """What the artist asks of a filler; every kind reads all of it.

    `size` scales the elements (1 is the kind's own), `density` 0..1 how full, `weight` scales
    the hand's line widths, `dark` its darkness, `tuck_mm` how far it runs on behind what lies in front, `fade_mm`
    over what length it thins out towards a cuff or an open edge (0: not at all).
    """

    size: float = 1.0
    density: float = 0.6
    weight: float = 1.0
    tuck_mm: float = 6.0
    fade_mm: float = 0.0
    dark: float = 1.0
