"""Clouds: banks of puffs with a nose and a trailing tail, one before the other, drawn as one mass."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.brush import stroke
from composer.art.drawing import Drawing, End, Layer, geometry_to_rings
from composer.filler.cloud_bank import Row, Shape, rows
from composer.filler.cloud_lay import Field, Spine, spines, stagger
from composer.filler.cloud_lines import Line, Pen, bank_lines
from composer.filler.ground import Ground, Wish
from composer.plan.model import Hand


@dataclass(frozen=True)
class Style:
    """A way of building clouds. Lengths as shares of the thickness of a bank."""

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
    "bank": Style("Cloud bank, low", 1.0, 3.6, 0.36, 2, 0.26, 0.6, 1.0, 0.62),
    "tall": Style("Cloud, heaped up", 1.4, 1.9, 0.28, 3, 0.42, 0.66, 0.8, 0.66),
    "wisp": Style("Cloud, long wisps", 0.55, 7.0, 0.45, 1, 0.16, 0.36, 1.3, 0.75),
}


def draw(ground: Ground, wish: Wish, hand: Hand, rng: np.random.Generator, style: str = "bank") -> Drawing:
    """A cloud over the ground, unclipped: it runs on behind what lies in front by `wish.tuck_mm`."""
    look = STYLES[style]
    target = reach(ground, wish)
    pen = pen_of(hand, wish, ground.line_gap_mm)
    thick = bank_thickness(ground.free) * look.thick * wish.size
    thick = max(thick, 2.6 * pen.pitch_mm)
    lobe = max(look.lobe * thick, 1.05 * pen.pitch_mm)
    shape = Shape(look.long * thick, thick, lobe, look.heap if thick > 6.5 * pen.pitch_mm else 1, look.head, look.puffs)
    field = Field(ground, ground.free)
    way = 1.0 if rng.uniform() < 0.5 else -1.0
    loose = 1.35 - 0.6 * wish.density
    noses = stagger(field, target, shape, way, look.row * thick * loose, look.along * shape.length_mm * loose, rng)
    banks = []
    for spine in spines(field, noses, way, shape.length_mm, thick):
        own = replace(shape, thick_mm=shape.thick_mm * float(rng.uniform(0.85, 1.12)))
        chains = rows(own, 1.1 * pen.pitch_mm, rng)
        banks.append(Bank(spine, own, chains))
    shown = [b for b in banks if shapely.intersects(b.outline, target)]
    return compose(shown, target, pen, hand, ground.line_gap_mm)


def reach(ground: Ground, wish: Wish) -> BaseGeometry:
    """What is to be covered: the open skin, and `tuck_mm` of the region behind what lies in front."""
    grown = shapely.buffer(ground.free, ground.skin_break_mm + wish.tuck_mm, quad_segs=3)
    target = shapely.intersection(grown, ground.region)
    return ground.free if target.is_empty else target


def pen_of(hand: Hand, wish: Wish, line_gap_mm: float) -> Pen:
    """The hand's line widths for a cloud, and the pitch that keeps the line gap."""
    w = wish.weight
    return Pen(hand.outline_mm * w, hand.line_mm * w, hand.fine_mm * w, line_gap_mm + 1.05 * hand.line_mm * w + 0.1)


def bank_thickness(free: BaseGeometry) -> float:
    """How thick a bank suits open skin of this width, mm."""
    wide = 2 * max(shapely.maximum_inscribed_circle(p, tolerance=1.0).length for p in getattr(free, "geoms", [free]))
    return float(np.clip(0.55 * wide + 6, 11, 38))


class Bank:
    """A bank laid on its spine."""

    def __init__(self, spine: Spine, shape: Shape, chains: list[Row]) -> None:
        self.spine, self.shape, self.chains = spine, shape, chains
        turn = np.linspace(0, 2 * np.pi, 32, endpoint=False)
        ring = np.column_stack([np.cos(turn), np.sin(turn)])
        self.rows: list[BaseGeometry] = []
        for row in chains:
            discs = [Polygon(spine.bend(ring * r + (x, h))) for x, h, r in row.lobes]
            body = Polygon(spine.bend(row.outline()))
            body = body if body.is_valid else shapely.make_valid(body)
            self.rows.append(shapely.union_all([body, *discs]))
        self.outline = shapely.union_all(self.rows)

    def lines(self, pen: Pen) -> list[Line]:
        """The bank's strokes in the chart."""
        return [replace(line, path=self.spine.bend(line.path)) for line in bank_lines(self.shape, self.chains, pen)]


def compose(banks: list[Bank], target: BaseGeometry, pen: Pen, hand: Hand, line_gap_mm: float) -> Drawing:
    """Banks back to front as one drawing: hidden lines taken away, crevices blacked, shadows washed."""
    cover: BaseGeometry = Polygon()
    ink, light, mid, ends = [], [], [], []
    wash = 0.11 * max((b.shape.thick_mm for b in banks), default=10.0) * (0.5 + hand.dark)
    for bank in reversed(banks):
        seen = shapely.difference(bank.outline, cover)
        if not shapely.intersects(seen, target):
            continue
        lines = bank.lines(pen)
        polys = ribbons(lines)
        ink.append(shapely.difference(shapely.union_all(polys), cover))
        for line in lines:
            ends += [End(float(line.path[0, 0]), float(line.path[0, 1]), line.start),
                     End(float(line.path[-1, 0]), float(line.path[-1, 1]), line.end)]
        for k in range(len(bank.rows) - 1):
            front = shapely.union_all(bank.rows[k + 1 :])
            body = shapely.difference(shapely.intersection(bank.rows[k], seen), front)
            light.append(shapely.intersection(shapely.buffer(front, wash, quad_segs=4), body))
            mid.append(shapely.intersection(shapely.buffer(front, wash * 0.45, quad_segs=4), body))
        if not cover.is_empty:
            light.append(shapely.intersection(shapely.buffer(cover, wash * 1.3, quad_segs=4), seen))
            mid.append(shapely.intersection(shapely.buffer(cover, wash * 0.6, quad_segs=4), seen))
        cover = shapely.simplify(shapely.union(cover, bank.outline), 0.02)
    black = close_slots(shapely.union_all(ink), line_gap_mm)
    layers = [Layer(role, geometry_to_rings(shapely.simplify(shapely.union_all(g), 0.04)))
              for role, g in (("light", light), ("mid", mid)) if g]
    layers.append(Layer("line", geometry_to_rings(black)))
    outline = shapely.simplify(shapely.buffer(cover, pen.outline_mm / 2, quad_segs=4), 0.02)
    return Drawing(geometry_to_rings(outline), tuple(layers), tuple(ends), {})


def close_slots(ink: BaseGeometry, line_gap_mm: float) -> BaseGeometry:
    """Ink with every slot narrower than the line gap filled black: a morphological closing, which
    is also what a tattooer does in the crevice between two arcs."""
    r = line_gap_mm / 2
    shut = shapely.buffer(shapely.buffer(shapely.simplify(ink, 0.02), r * 1.04, quad_segs=5), -r * 1.04, quad_segs=3)
    return shapely.simplify(shapely.union(shut, ink), 0.015)


def ribbons(lines: list[Line]) -> list[BaseGeometry]:
    """Strokes as polygons."""
    out = []
    for line in lines:
        p, w = line.path, np.maximum(line.width, 0.16)
        t = np.gradient(p, axis=0)
        t /= np.maximum(np.hypot(t[:, 0], t[:, 1]), 1e-9)[:, None]
        n = np.column_stack([-t[:, 1], t[:, 0]]) * (w / 2)[:, None]
        cap = [p[-1] + t[-1] * w[-1] / 2]
        tail = [p[0] - t[0] * w[0] / 2]
        poly = Polygon(np.vstack([p + n, cap, (p - n)[::-1], tail]))
        out.append(poly if poly.is_valid else stroke(p, w))
    return out
