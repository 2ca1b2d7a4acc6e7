"""The art as it is worn: every piece and filler as rings on skin, in the order in which they lie."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from composer.art.drawing import geometry_to_rings
from composer.filler.clip import margin
from composer.plan.model import Piece, Settings
from composer.plan.scene import Laid, Scene

EDGE_MM = 5.0
"""Longer edges are broken up, so that what is straight on paper bends as paper does on skin."""


@dataclass(frozen=True)
class Worn:
    """A piece on skin, rings (n, 2) of unwrapped (u turns, s mm), filled even-odd. `ground` is what
    it hides of everything behind it (silhouette and skin break), `layers` its ink by role."""

    piece: Piece
    ground: tuple[np.ndarray, ...]
    silhouette: tuple[np.ndarray, ...]
    layers: tuple[tuple[str, tuple[np.ndarray, ...]], ...]

    @property
    def span(self) -> tuple[float, float, float, float]:
        """Least and most of u (turns) and s (mm) that the piece and its skin break cover."""
        us = np.concatenate(self.ground)
        (u0, s0), (u1, s1) = us.min(axis=0), us.max(axis=0)
        return float(u0), float(u1), float(s0), float(s1)


def worn(scene: Scene, settings: Settings) -> tuple[Worn, ...]:
    """Back to front: every filler behind every piece. Painted in this order, each piece's ground in
    the skin's colour before its ink, this shows what `composer.filler.clip` leaves of each."""
    order = sorted(scene.laid, key=lambda x: (not x.piece.is_filler, x.piece.depth, x.piece.id))
    return tuple(_worn(x, settings) for x in order if x.flat.silhouette)


def _worn(laid: Laid, settings: Settings) -> Worn:
    ground = geometry_to_rings(margin(laid.flat.outline, settings.skin_break_mm))

    def go(rings: tuple[np.ndarray, ...]) -> tuple[np.ndarray, ...]:
        rings = tuple(dense(r) for r in rings if len(r) >= 3)
        if not rings:
            return ()
        return tuple(np.split(laid.patch.to_skin(np.vstack(rings)), np.cumsum([len(r) for r in rings])[:-1]))

    layers = tuple((la.role, go(la.rings)) for la in laid.flat.layers)
    return Worn(laid.piece, go(ground), go(laid.flat.silhouette), layers)


def dense(ring: np.ndarray, most_mm: float = EDGE_MM) -> np.ndarray:
    """The ring (n, 2) mm with no edge longer than `most_mm`."""
    step = np.roll(ring, -1, axis=0) - ring
    n = np.maximum(np.ceil(np.hypot(step[:, 0], step[:, 1]) / most_mm), 1).astype(int)
    if n.max() == 1:
        return ring
    at = np.repeat(np.arange(len(ring)), n)
    part = (np.arange(len(at)) - np.repeat(np.cumsum(n) - n, n)) / n[at]
    return ring[at] + step[at] * part[:, None]


def turns_over(low_u: float, high_u: float, left: float, right: float) -> range:
    """Whole turns by which something that spans low..high must be moved to show between left and right."""
    return range(int(np.ceil(left - high_u)), int(np.floor(right - low_u)) + 1)
