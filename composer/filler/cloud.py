"""Clouds: banks with a crest of lobes and a trailing tail, one before the other, the shade between them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
import shapely.ops
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing
from composer.filler.clip_memo import by_identity
from composer.filler.closing import thinned, united
from composer.filler.cloud_crest import Shape, crest
from composer.filler.cloud_ink import Bank, compose
from composer.filler.cloud_lay import Field, Spine, fitted, spines, stagger
from composer.filler.cloud_lines import Pen
from composer.filler.cloud_stage import Stage, rim_of, stage_of
from composer.filler.ground import Ground, Wish
from composer.plan.model import Hand


@dataclass(frozen=True)
class Style:
    """A way of building clouds. Lengths as shares of a bank's thickness, `along` of its length; `fill`: so many banks
    at most are put behind the others where skin would stay empty, in places at least `void` pitches of the pen wide."""

    title: str
    thick: float
    long: float
    lobe: float
    head: float
    puffs: float
    row: float
    along: float
    fill: int
    void: float


STYLES = {
    "bank": Style("Cloud bank, low", 1.0, 3.6, 0.25, 0.3, 0.66, 0.7, 0.74, 16, 0.7),
    "tall": Style("Clouds, heaped up", 1.3, 2.2, 0.22, 0.42, 0.74, 0.6, 0.7, 16, 0.7),
    "wisp": Style("Clouds, long wisps", 0.6, 6.0, 0.36, 0.18, 0.42, 1.12, 0.72, 7, 3.4),
}

BARE = 0.3
"""Share of the open skin that may stay bare at the least density."""
ROUGH_MM = 0.3
"""How roughly it is told what of the open skin banks cover."""
FITS = (1.0, 0.75, 0.5)
"""Sizes of a bank tried over an empty place."""
LIFTS = (0.55, 0.3, 0.8)
"""How high in the bank the empty place lies, in its thickness; tried one after the other."""
LEAST_LOBE, LEAST_THICK = 0.82, 2.4
"""Radius of the smallest lobe and thickness of the thinnest bank, in pitches of the pen."""

SIZES = (1.0, 0.72, 1.12, 0.64, 0.88)
"""Thickness of one bank after the other: no two neighbours alike."""


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "bank") -> Drawing | None:
    """A cloud over the ground, unclipped: it runs on behind what lies in front.

    Deterministic in `rng`. None where the ground is too small to hold one bank.
    """
    look = STYLES[style]
    pen = pen_of(hand, wish, ground.line_gap_mm)
    site = Sky(ground, stage_of(ground, wish), wish, pen, look, Field(ground, ground.free),
               1.0 if rng.uniform() < 0.5 else -1.0)
    loose = 1.3 - 0.5 * wish.density    # a full cloud is of more and smaller banks, and these stand closer
    thick = max(bank_thickness(ground.free) * look.thick * wish.size * loose, 2.6 * pen.pitch_mm)
    shape = site.shape(thick)
    row, along = look.row * thick * loose ** 2, look.along * shape.length_mm * loose ** 2
    noses = stagger(site.field, site.stage.target, shape, site.way, row, along, rng)
    first = int(rng.integers(0, len(SIZES)))
    banks = []
    for k, spine in enumerate(spines(site.field, noses, site.way, shape.length_mm, thick)):
        own = thick * SIZES[(first + k) % len(SIZES)] * float(rng.uniform(0.94, 1.06))
        bank = site.bank(spine, replace(shape, thick_mm=own), rng)
        if bank is not None:
            banks.append(bank)
    banks = [*filled(site, banks, thick, rng), *banks]
    return compose(banks, site.stage, rim_of(ground), pen, hand, ground.line_gap_mm)


@dataclass(frozen=True)
class Sky:
    """What all banks of one cloud share. `way` +1 or -1: from nose to tail along the flow."""

    ground: Ground
    stage: Stage
    wish: Wish
    pen: Pen
    look: Style
    field: Field
    way: float

    def shape(self, thick: float) -> Shape:
        """A bank of this thickness in the cloud's style."""
        look = self.look
        return Shape(look.long * thick, thick, max(look.lobe * thick, 1.25 * self.pen.pitch_mm), look.head, look.puffs)

    def spine_over(self, middle: np.ndarray, shape: Shape, lift: float) -> Spine:
        """The spine on which a bank of this shape has a place (2,) under its crest, `lift` of its thickness high."""
        a = float(self.field.at(middle[None])[0])
        along, up = np.array([np.cos(a), np.sin(a)]), np.array([-np.sin(a), np.cos(a)])
        nose = middle - self.way * along * 0.33 * shape.length_mm - up * lift * shape.thick_mm
        return spines(self.field, nose[None], self.way, shape.length_mm, shape.thick_mm)[0]

    def bank(self, spine: Spine, shape: Shape, rng: np.random.Generator) -> Bank | None:
        """The bank on this spine, fitted to the ground and thinned towards a cuff, lifted off the
        cuff where it would cross it; None where it does not belong."""
        grown = np.random.default_rng(rng.integers(0, 2**63))
        place = fitted(spine, shape.length_mm, shape.thick_mm, self.stage.target)
        if place is None:
            return None
        spine, length = place
        least = LEAST_THICK * self.pen.pitch_mm
        slim = min(shape.thick_mm, max(length / (0.66 * self.look.long), least))
        puff = max(shape.lobe_mm * slim / shape.thick_mm, 0.42 * least)
        own = replace(shape, length_mm=length, thick_mm=slim, lobe_mm=puff)
        own = faded(own, spine.points, self.ground, self.wish, self.pen)
        bank = Bank(spine, crest(own, LEAST_LOBE * self.pen.pitch_mm, grown))
        if shapely.intersects(bank.outline, self.ground.edge):
            away = off_edge(bank.outline, self.ground)
            bank = Bank(Spine(spine.points + away, spine.normals, spine.back_mm), bank.crest)
        ok = at_home(bank.outline, self.ground, self.stage) and not shapely.intersects(bank.outline, self.ground.edge)
        return bank if ok else None


def off_edge(outline: BaseGeometry, ground: Ground) -> np.ndarray:
    """The shift (mm) that takes an outline from beyond the cuff to just within it: along the way
    from the cuff into the open skin, as far as the outline reaches beyond."""
    a, b = (np.asarray(p.coords[0]) for p in shapely.ops.nearest_points(ground.edge, ground.free.centroid))
    into = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
    ring = np.concatenate([np.asarray(p.exterior.coords) for p in shapely.get_parts(outline)])
    return into * (2.0 - float(((ring - a) @ into).min()))


def filled(site: Sky, banks: list[Bank], thick: float, rng: np.random.Generator) -> list[Bank]:
    """Banks behind all others for the widest places that are still empty, back to front, until the
    skin that the style is to cover is covered. They are hardly smaller than the others: of what stands behind only
    the crest is seen."""
    out: list[Bank] = []
    left = shapely.difference(rough(site.ground.free), united(thinned([b.outline for b in banks], ROUGH_MM)))
    least = max(site.look.void * site.pen.pitch_mm, 0.085 * thick)
    full = max(BARE * (1.0 - 1.6 * site.wish.density), 0.0) * site.ground.free.area
    for _ in range(site.look.fill):
        parts = [p for p in shapely.get_parts(left) if p.area > 3 * least * least]
        if not parts or left.area < full:
            break
        middle, r = widest(parts)
        if r < least:
            break
        found = over(site, middle, r, thick, left, rng)
        if found is not None:
            out.insert(0, found)
            left = shapely.difference(left, thinned(found.outline, ROUGH_MM))
        left = shapely.difference(left, shapely.Point(middle).buffer(0.7 * r, quad_segs=4))
    return out


def over(site: Sky, middle: np.ndarray, r: float, thick: float, left: BaseGeometry,
         rng: np.random.Generator) -> Bank | None:
    """A bank over an empty place (2,) of radius `r` that covers much of what is `left` there: the first that does, else
    the one that covers most; None where none covers the place."""
    wide = float(np.clip(3.0 * r, 0.62 * thick, 1.05 * thick))
    best, most = None, 1.2 * r * r
    for size in FITS:
        shape = site.shape(max(wide * size, 4.2 * site.pen.pitch_mm))
        for lift in LIFTS:
            bank = site.bank(site.spine_over(middle, shape, lift), shape, rng)
            covers = 0.0 if bank is None else shapely.intersection(thinned(bank.outline, ROUGH_MM), left).area
            if covers > most:
                best, most = bank, covers
            if most > 2.2 * r * r:
                return best
    return best


@by_identity
def rough(free: BaseGeometry) -> BaseGeometry:
    """Open skin as roughly as it takes to tell where banks go; prepared."""
    out = shapely.simplify(free, ROUGH_MM)
    shapely.prepare(out)
    return out


def widest(parts: list[BaseGeometry]) -> tuple[np.ndarray, float]:
    """Middle (2,) and radius of the widest circle within any of the parts."""
    middle, r = np.zeros(2), 0.0
    for part in sorted(parts, key=lambda p: -p.area):
        if part.area < np.pi * r * r:
            break                       # no circle of that area fits into it or a smaller one
        circle = shapely.maximum_inscribed_circle(part, tolerance=0.8)
        if circle.length > r:
            middle, r = np.asarray(circle.coords[0]), circle.length
    return middle, r


def at_home(outline: BaseGeometry, ground: Ground, stage: Stage) -> bool:
    """Whether a bank belongs here: more of it lies over the ground's open skin than over what is
    open beside it."""
    outline = thinned(outline, ROUGH_MM)
    if not outline.is_valid:
        outline = shapely.buffer(outline, 0.0)
    inside = shapely.intersection(outline, rough(ground.free)).area
    if inside < 4.0:
        return False
    most = 2.3 * inside + 60.0
    return outline.area < most or shapely.intersection(outline, rough(stage.seen)).area < most


def faded(shape: Shape, spine: np.ndarray, ground: Ground, wish: Wish, pen: Pen) -> Shape:
    """The bank thinned out where it comes near a cuff, over `wish.fade_mm`."""
    if wish.fade_mm <= 0 or ground.edge.is_empty:
        return shape
    far = float(shapely.distance(ground.edge, shapely.linestrings(spine)))
    share = float(np.clip((far + 4) / wish.fade_mm, 0.66, 1.0))
    thick = max(shape.thick_mm * share, 2.4 * pen.pitch_mm)
    return replace(shape, thick_mm=thick, lobe_mm=max(shape.lobe_mm * share, 1.05 * pen.pitch_mm),
                   length_mm=min(shape.length_mm, 5.5 * thick), puffs=shape.puffs * (0.55 + 0.45 * share))


def pen_of(hand: Hand, wish: Wish, line_gap_mm: float) -> Pen:
    """The hand's line widths for a cloud: a step lighter than a motif's, so that it stays behind.
    The pitch keeps the line gap between two of them."""
    w = wish.weight
    outline, line, fine = 1.2 * hand.line_mm * w, 0.85 * hand.line_mm * w, hand.fine_mm * w
    return Pen(max(outline, hand.fine_mm), max(line, hand.fine_mm), max(fine, hand.fine_mm), line_gap_mm + line + 0.15,
               hand.tip_mm * 0.95)


def bank_thickness(free: BaseGeometry) -> float:
    """How thick a bank suits open skin of this width, mm."""
    wide = 2 * widest([p for p in shapely.get_parts(free) if p.geom_type == "Polygon"])[1]
    return float(np.clip(0.62 * wide + 7, 11, 40))


