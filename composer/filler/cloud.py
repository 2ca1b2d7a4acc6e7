"""Clouds: banks with a crest of lobes and a trailing tail, one before the other, the shade between them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
import shapely.ops
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing
from composer.filler.bridged import bridged
from composer.filler.clip_memo import by_identity
from composer.filler.cloud_crest import Shape, crest
from composer.filler.cloud_ink import Bank, compose
from composer.filler.cloud_lay import Field, Spine, Through, field_of, fitted, near, spines, stagger
from composer.filler.cloud_lines import Pen
from composer.filler.cloud_nodes import Nodes, nodes_of
from composer.filler.cloud_sketch import sketched
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
UNFILLED = 0.4
"""Where a cloud thins out towards a cuff, empty skin stays empty over this share of the way."""
FITS = (1.0, 0.75, 0.5)
"""Sizes of a bank tried over an empty place."""
LIFTS = (0.55, 0.3, 0.8)
"""How high in the bank the empty place lies, in its thickness; tried one after the other."""
NOSE = 0.33
"""And how far behind the nose, in the bank's length."""
LEAST_LOBE, LEAST_THICK = 0.82, 2.4
"""Radius of the smallest lobe and thickness of the thinnest bank, in pitches of the pen."""

SIZES = (1.0, 0.72, 1.12, 0.64, 0.88)
"""Thickness of one bank after the other: no two neighbours alike."""


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "bank") -> Drawing | None:
    """A cloud over the ground, unclipped: it runs on behind what lies in front.

    Deterministic in `rng`. None where the ground is too small to hold one bank.
    """
    site, banks = laid(ground, hand, wish, rng, style)
    made = compose(banks, site.stage, rim_of(ground), site.pen, hand, ground.line_gap_mm)
    return None if made is None else bridged(made, site.pen, ground.line_gap_mm)


def sketch(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "bank") -> Drawing | None:
    """The first pass of what `draw` makes of the same: the same banks in outline, with the shade that they throw."""
    site, banks = laid(ground, hand, wish, rng, style)
    return sketched(banks, site.stage, site.pen, hand)


def laid(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str) -> tuple[Sky, list[Bank]]:
    """What all banks of a cloud share, and the banks back to front."""
    look = STYLES[style]
    pen = pen_of(hand, wish, ground.line_gap_mm)
    stage = stage_of(ground, wish)
    shapely.prepare(ground.edge)
    site = Sky(ground, stage, wish, pen, look, field_of(ground), 1.0 if rng.uniform() < 0.5 else -1.0,
               nodes_of(ground.free), nodes_of(stage.seen))
    loose = 1.3 - 0.5 * wish.density    # a full cloud is of more and smaller banks, and these stand closer
    thick = max(bank_thickness(ground.free) * look.thick * wish.size * loose, 2.6 * pen.pitch_mm)
    shape = site.shape(thick)
    row, along = look.row * thick * loose ** 2, look.along * shape.length_mm * loose ** 2
    noses = stagger(site.field, site.stage.target, shape, site.way, row, along, rng)
    first = int(rng.integers(0, len(SIZES)))
    noses = noses[near(site.field, noses, site.way, shape, site.stage.target)]
    banks = []
    for k, spine in enumerate(spines(site.field, noses, site.way, shape.length_mm, thick)):
        own = thick * SIZES[(first + k) % len(SIZES)] * float(rng.uniform(0.94, 1.06))
        bank = site.bank(spine, replace(shape, thick_mm=own), rng)
        if bank is not None:
            banks.append(bank)
    return site, [*filled(site, banks, thick, rng), *banks]


@dataclass(frozen=True)
class Sky:
    """What all banks of one cloud share. `way` +1 or -1: from nose to tail along the flow. `skin` is the open skin,
    `seen` whatever skin is in view."""

    ground: Ground
    stage: Stage
    wish: Wish
    pen: Pen
    look: Style
    field: Field
    way: float
    skin: Nodes
    seen: Nodes

    def shape(self, thick: float) -> Shape:
        """A bank of this thickness in the cloud's style."""
        look = self.look
        return Shape(look.long * thick, thick, max(look.lobe * thick, 1.25 * self.pen.pitch_mm), look.head, look.puffs)

    def bank(self, spine: Spine, shape: Shape, rng: np.random.Generator) -> Bank | None:
        """The bank on this spine, fitted to the ground and thinned towards a cuff, lifted off the
        cuff where it would cross it; None where it does not belong."""
        number = rng.integers(0, 2**63)
        place = fitted(spine, shape.length_mm, shape.thick_mm, self.stage.target)
        if place is None:
            return None
        spine, length = place
        least = LEAST_THICK * self.pen.pitch_mm
        slim = min(shape.thick_mm, max(length / (0.66 * self.look.long), least))
        puff = max(shape.lobe_mm * slim / shape.thick_mm, 0.42 * least)
        own = replace(shape, length_mm=length, thick_mm=slim, lobe_mm=puff)
        own = faded(own, spine.points, self.ground, self.wish, self.pen)
        bank = Bank(spine, crest(own, LEAST_LOBE * self.pen.pitch_mm, np.random.default_rng(number)))
        if not self.ground.edge.is_empty and shapely.intersects(self.ground.edge, bank.outline):
            away = off_edge(bank.outline, self.ground)
            bank = Bank(Spine(spine.points + away, spine.normals, spine.back_mm), bank.crest)
            if shapely.intersects(self.ground.edge, bank.outline):
                return None
        return bank if at_home(bank, self.skin, self.seen) else None


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
    skin = site.skin
    left = np.ones(len(skin.x), bool)
    if site.wish.fade_mm > 0 and not site.ground.edge.is_empty:
        shapely.prepare(site.ground.edge)
        left = ~shapely.dwithin(site.ground.edge, shapely.points(skin.x, skin.y), UNFILLED * site.wish.fade_mm)
    for bank in banks:
        left &= ~bank.over(skin)
    least = max(site.look.void * site.pen.pitch_mm, 0.085 * thick)
    full = max(BARE * (1.0 - 1.6 * site.wish.density), 0.0) * len(skin.x)
    for _ in range(site.look.fill):
        if left.sum() <= full:
            break
        middle, r = skin.widest(left)
        if r < least:
            break
        found = over(site, middle, r, thick, left, rng)
        if found is not None:
            out.insert(0, found)
            left &= ~found.over(skin)
        left &= np.hypot(skin.x - middle[0], skin.y - middle[1]) > 0.7 * r
    return out


def over(site: Sky, middle: np.ndarray, r: float, thick: float, left: np.ndarray,
         rng: np.random.Generator) -> Bank | None:
    """A bank over an empty place (2,) of radius `r` that covers much of what is `left` of the skin there: the first
    that does, else the one that covers most; None where none covers the place."""
    wide = float(np.clip(3.0 * r, 0.62 * thick, 1.05 * thick))
    best, most = None, 1.2 * r * r
    shapes = [site.shape(max(wide * size, 4.2 * site.pen.pitch_mm)) for size in FITS]
    through = Through(site.field, middle, site.way, shapes[0].length_mm, shapes[0].thick_mm)
    for shape in shapes:
        for lift in LIFTS:
            bank = site.bank(through.spine(NOSE, lift, shape.length_mm, shape.thick_mm), shape, rng)
            covers = 0.0 if bank is None else float((left & bank.over(site.skin)).sum()) * site.skin.cell_mm2
            if covers > most:
                best, most = bank, covers
            if most > 2.2 * r * r:
                return best
    return best


def widest(parts: list[BaseGeometry]) -> float:
    """Radius of the widest circle within any of the parts."""
    r = 0.0
    for part in sorted(parts, key=lambda p: -p.area):
        if part.area < np.pi * r * r:
            break                       # no circle of that area fits into it or a smaller one
        r = max(r, shapely.maximum_inscribed_circle(part, tolerance=0.8).length)
    return r


def at_home(bank: Bank, skin: Nodes, seen: Nodes) -> bool:
    """Whether a bank belongs here: more of it lies over the ground's open skin than over what is
    open beside it."""
    inside = bank.over(skin).sum() * skin.cell_mm2
    if inside < 4.0:
        return False
    most = 2.3 * inside + 60.0
    return bool(bank.outline.area < most or seen.within(bank.outline).sum() * seen.cell_mm2 < most)


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


@by_identity
def bank_thickness(free: BaseGeometry) -> float:
    """How thick a bank suits open skin of this width, mm."""
    wide = 2 * widest([p for p in shapely.get_parts(free) if p.geom_type == "Polygon"])
    return float(np.clip(0.62 * wide + 7, 11, 40))


