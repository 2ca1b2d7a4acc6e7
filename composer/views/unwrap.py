"""The skin of a part laid out as a picture: u across, s up, cut at the back, in tiles.

Each row of it is one girth, so a tile's pixels per mm differ along the limb; `least_px_mm` says
how few there are anywhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from composer.body.panel import Panel
from composer.body.surface import Surface
from composer.plan.model import Piece
from composer.views.worn import Worn, turns_over

LEFT_U = -0.5
"""Where the picture begins; art over this line is drawn on both sides of it."""


@dataclass(frozen=True)
class Layout:
    """`columns` x `rows` tiles of `tile_px` square pixels, each with `gutter_px` of its neighbours
    on every side (so that a renderer may smooth over the edges). It begins at `u0` and spans `turns`: all of a limb, a
    panel from edge to edge."""

    s_min: float
    s_max: float
    girth_mm: float
    columns: int
    rows: int
    tile_px: int = 1024
    gutter_px: int = 4
    u0: float = LEFT_U
    turns: float = 1.0

    @property
    def least_px_mm(self) -> float:
        """Pixels for one mm of skin where there are fewest, across or along."""
        return min(self.columns * self.tile_px / (self.girth_mm * self.turns),
                   self.rows * self.tile_px / (self.s_max - self.s_min))

    def place(self, us: np.ndarray) -> np.ndarray:
        """Skin (n, 2) to the picture (n, 2), in tiles: x right from LEFT_U, y up from the far end."""
        return np.column_stack([(us[:, 0] - self.u0) / self.turns * self.columns,
                                (us[:, 1] - self.s_min) / (self.s_max - self.s_min) * self.rows])


def layout(limb: Surface, least_px_mm: float = 9.0, tile_px: int = 1024) -> Layout:
    """Tiles enough for `least_px_mm` everywhere on the limb."""
    girth = float(limb.girth(np.linspace(limb.s_min, limb.s_max, 200)).max())
    turns = 2 * float(np.abs(limb.outline[:, 0]).max()) if isinstance(limb, Panel) else 1.0
    columns = int(np.ceil(girth * turns * least_px_mm / tile_px))
    rows = int(np.ceil((limb.s_max - limb.s_min) * least_px_mm / tile_px))
    u0 = LEFT_U if limb.closed else -turns / 2
    return Layout(limb.s_min, limb.s_max, girth, columns, rows, tile_px, u0=u0, turns=turns)


@dataclass(frozen=True)
class Placed:
    """A piece in the picture: rings (n, 2) in tiles, a copy for every side of the cut it shows on."""

    piece: Piece
    ground: list[np.ndarray]
    layers: tuple[tuple[str, list[np.ndarray]], ...]


def unwrapped(lay: Layout, art: Sequence[Worn]) -> tuple[Placed, ...]:
    """The art in the picture, back to front."""
    out = []
    for w in art:
        u0, u1, _, _ = w.span
        turns = turns_over(u0, u1, LEFT_U, LEFT_U + 1) if lay.turns == 1.0 else range(1)

        def go(rings: tuple[np.ndarray, ...], turns: range = turns) -> list[np.ndarray]:
            if not rings:
                return []
            cuts = np.cumsum([len(r) for r in rings])[:-1]
            flat = lay.place(np.vstack(rings))
            return [r for k in turns for r in np.split(flat + np.array([k * lay.columns, 0.0]), cuts)]

        out.append(Placed(w.piece, go(w.ground), tuple((role, go(r)) for role, r in w.layers)))
    return tuple(out)
