"""What a stencil's page is made of, before it is PDF, SVG or a picture: fills, strokes and words in mm."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

MM_PER_PT = 25.4 / 72


@dataclass(frozen=True)
class Fill:
    """Closed rings (n, 2), filled even-odd in a grey (0 black to 1 white)."""

    group: str
    rings: tuple[np.ndarray, ...]
    grey: float = 0.0


@dataclass(frozen=True)
class Stroke:
    """Lines (n, 2); a ring repeats its first point. A line of two equal points with round ends is a dot."""

    group: str
    lines: tuple[np.ndarray, ...]
    width_mm: float
    grey: float = 0.0
    dash_mm: tuple[float, ...] = ()
    round: bool = False


@dataclass(frozen=True)
class Words:
    """One line of words; (x, y) on its baseline, turned counter-clockwise."""

    group: str
    text: str
    x: float
    y: float
    size_pt: float = 8.0
    face: str = "text"
    grey: float = 0.1
    align: str = "left"
    turn_deg: float = 0.0


Thing = Fill | Stroke | Words
IDENTITY = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])


@dataclass(frozen=True)
class Block:
    """Things put on a page by an affine map 2x3 of mm; `clip` (x, y, width, height) in the page's mm."""

    things: tuple[Thing, ...]
    matrix: np.ndarray = field(default_factory=lambda: IDENTITY)
    clip: tuple[float, float, float, float] | None = None
    name: str = ""


@dataclass(frozen=True)
class Page:
    """A page of `width` by `height` mm, its origin at the lower left, y up."""

    width: float
    height: float
    blocks: tuple[Block, ...]


def lines_of(g: BaseGeometry, tolerance_mm: float = 0.012) -> tuple[np.ndarray, ...]:
    """All lines of a geometry as points (n, 2), thinned within the tolerance."""
    if g.is_empty:
        return ()
    if hasattr(g, "geoms"):
        return tuple(line for part in g.geoms for line in lines_of(part, tolerance_mm))
    if g.geom_type not in ("LineString", "LinearRing"):
        return ()
    xy = np.asarray(shapely.simplify(g, tolerance_mm).coords)
    return (xy,) if len(xy) > 1 else ()


def combined(outer: np.ndarray, inner: np.ndarray) -> np.ndarray:
    """The affine map 2x3 that does `inner` first."""
    return np.column_stack([outer[:, :2] @ inner[:, :2], outer[:, :2] @ inner[:, 2] + outer[:, 2]])
