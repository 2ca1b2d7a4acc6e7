"""Clouds: banks of puffs with a nose and a trailing tail, one before the other, drawn as one mass."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing
from composer.filler.cloud_bank import Shape, rows
from composer.filler.cloud_ink import Bank, compose
from composer.filler.cloud_lay import Field, fitted, spines, stagger
from composer.filler.cloud_lines import Pen
from composer.filler.cloud_stage import Stage, stage_of
from composer.filler.ground import Ground, Wish
from composer.plan.model import Hand


@dataclass(frozen=True)
class Style:
    """A way of building clouds. Lengths as shares of a bank's thickness, `along` of its length."""

    title: str
    thick: float
    long: float
    lobe: float
    heap: int
    head: float
    puffs: float
    row: float
    along: float


STYLES = {
    "bank": Style("Cloud bank, low", 1.0, 3.2, 0.38, 2, 0.27, 0.66, 0.84, 0.6),
    "tall": Style("Clouds, heaped up", 1.4, 1.8, 0.29, 3, 0.42, 0.7, 0.72, 0.62),
    "wisp": Style("Clouds, long wisps", 0.6, 6.0, 0.45, 1, 0.17, 0.42, 1.12, 0.7),
}

SIZES = (1.0, 0.72, 1.12, 0.64, 0.88)
"""Thickness of one bank after the other: no two neighbours alike."""


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "bank") -> Drawing | None:
    """A cloud over the ground, unclipped: it runs on behind what lies in front.

    Deterministic in `rng`. None where the ground is too small to hold one bank.
    """
    look = STYLES[style]
    stage = stage_of(ground, wish)
    pen = pen_of(hand, wish, ground.line_gap_mm)
    thick = max(bank_thickness(ground.free) * look.thick * wish.size, 2.6 * pen.pitch_mm)
    lobe = max(look.lobe * thick, 1.05 * pen.pitch_mm)
    heap = look.heap if thick > 6.5 * pen.pitch_mm else 1
    shape = Shape(look.long * thick, thick, lobe, heap, look.head, look.puffs)
    field = Field(ground, ground.free)
    way = 1.0 if rng.uniform() < 0.5 else -1.0
    loose = 1.3 - 0.5 * wish.density
    row, along = look.row * thick * loose, look.along * shape.length_mm * loose
    noses = stagger(field, stage.target, shape, way, row, along, rng)
    first = int(rng.integers(0, len(SIZES)))
    banks = []
    for k, spine in enumerate(spines(field, noses, way, shape.length_mm, thick)):
        own = replace(shape, thick_mm=thick * SIZES[(first + k) % len(SIZES)] * float(rng.uniform(0.94, 1.06)))
        grown = np.random.default_rng(rng.integers(0, 2**63))
        place = fitted(spine, shape.length_mm, own.thick_mm, stage.target)
        if place is None:
            continue
        spine, length = place
        least = 2.4 * pen.pitch_mm
        slim = min(own.thick_mm, max(length / (0.66 * look.long), least))
        puff = max(own.lobe_mm * slim / own.thick_mm, 0.42 * least)
        own = replace(own, length_mm=length, thick_mm=slim, lobe_mm=puff)
        own = faded(own, spine.points, ground, wish, pen)
        bank = Bank(spine, own, rows(own, 1.1 * pen.pitch_mm, grown))
        if at_home(bank.outline, ground, stage) and not shapely.intersects(bank.outline, ground.edge):
            banks.append(bank)
    return compose(banks, stage, pen, hand, ground.line_gap_mm)


def at_home(outline: BaseGeometry, ground: Ground, stage: Stage) -> bool:
    """Whether a bank belongs here: more of it lies over the ground's open skin than over what is
    open beside it."""
    inside = shapely.intersection(outline, ground.free).area
    if inside < 4.0:
        return False
    return shapely.intersection(outline, stage.seen).area - inside < 1.3 * inside + 60.0


def faded(shape: Shape, spine: np.ndarray, ground: Ground, wish: Wish, pen: Pen) -> Shape:
    """The bank thinned out where it comes near a cuff, over `wish.fade_mm`."""
    if wish.fade_mm <= 0 or ground.edge.is_empty:
        return shape
    far = float(shapely.distance(ground.edge, shapely.linestrings(spine)))
    share = float(np.clip((far + 4) / wish.fade_mm, 0.4, 1.0))
    thick = max(shape.thick_mm * share, 2.4 * pen.pitch_mm)
    return replace(shape, thick_mm=thick, lobe_mm=max(shape.lobe_mm * share, 1.05 * pen.pitch_mm),
                   length_mm=min(shape.length_mm, 5.5 * thick), puffs=shape.puffs * (0.55 + 0.45 * share),
                   heap=1 if share < 0.7 else shape.heap)


def pen_of(hand: Hand, wish: Wish, line_gap_mm: float) -> Pen:
    """The hand's line widths for a cloud: a step lighter than a motif's, so that it stays behind.
    The pitch keeps the line gap between two of them."""
    w = wish.weight
    outline, line, fine = 1.2 * hand.line_mm * w, 0.85 * hand.line_mm * w, hand.fine_mm * w
    return Pen(max(outline, hand.fine_mm), max(line, hand.fine_mm), max(fine, hand.fine_mm), line_gap_mm + line + 0.15,
               hand.fine_mm * 0.95)


def bank_thickness(free: BaseGeometry) -> float:
    """How thick a bank suits open skin of this width, mm."""
    parts = [p for p in shapely.get_parts(free) if p.geom_type == "Polygon"]
    wide = 2 * max(shapely.maximum_inscribed_circle(p, tolerance=1.0).length for p in parts)
    return float(np.clip(0.62 * wide + 7, 11, 40))


