"""Waves: rows of swell that run along the flow, crests that curl over and break into fingers of foam.

Rows stand one before the other as in Edo-period prints; every row is drawn straight (`waves_row`)
and bent along a streamline.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.brush import arc_length
from composer.art.drawing import Drawing
from composer.filler.behind import run_out
from composer.filler.closing import OVER
from composer.filler.cloud import pen_of
from composer.filler.cloud_ink import PALE, all_sound
from composer.filler.cloud_lay import STEP, Field
from composer.filler.cloud_lines import Line, Pen
from composer.filler.ground import Ground, Wish
from composer.filler.masses import Mass, filled, paint, stage_for, within
from composer.filler.points import LOOSE_MM, off_the_edge, pointed, spaced
from composer.filler.waves_border import combed, open_border, staggered
from composer.filler.waves_row import Crest, Form, Look, heave, row_lines, straight_row
from composer.plan.model import Hand


@dataclass(frozen=True)
class Style:
    """A way of drawing water. `high` the crest as a share of the usual, `long` a wave's length and
    `row` the distance of rows as shares of its height, `curl` how many of the crests break (0..1)."""

    title: str
    high: float
    long: float
    row: float
    curl: float


STYLES = {
    "breaking": Style("Waves, breaking with foam", 1.0, 2.3, 0.78, 0.85),
    "swell": Style("Waves, long swell", 0.72, 3.6, 0.8, 0.35),
    "surge": Style("Waves, high and few", 1.45, 2.0, 0.7, 1.0),
}
SIZES = (1.0, 0.66, 0.84, 0.58, 0.92, 0.74)
"""Heights of neighbouring waves: large, small, medium (common practice, no published source)."""


SOLID_FROM = 0.14
"""Lower down than this share of the largest crest's height none throws shade: there it is one with its row."""
SPACED = 1.05
"""Loose strokes keep so many pitches from others."""
SHADE = (("light", 0.115), ("mid", 0.05), ("dark", 0.018))
"""How far a row throws shade on the one behind it, as shares of the height of its crests, at middling darkness of the
hand."""
LEAST_WHITE_MM2 = 7.0
"""Smaller spots of white in the black read as drips, not as foam."""


def draw(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, style: str = "breaking") -> Drawing | None:
    """Water over the ground, unclipped: it runs on behind what lies in front. Deterministic in `rng`."""
    look = STYLES[style]
    stage = stage_for(ground, wish)
    pen = pen_of(hand, wish, ground.line_gap_mm)
    usual = crest_height(ground.free)
    high = max(min(usual * look.high, 1.3 * usual) * wish.size, 4.2 * pen.pitch_mm)
    field = Field(ground, ground.free)
    way = 1.0 if rng.uniform() < 0.5 else -1.0
    row = max(look.row * high * (1.3 - 0.5 * wish.density), 4.6 * pen.pitch_mm)
    masses = []
    home = shapely.difference(stage.target, shapely.buffer(ground.edge, 1.5))
    shapely.prepare(home)
    open_ = open_border(home, ground, stage.room)
    for k, spine in enumerate(row_spines(field, stage.target, high, row)):
        grown = np.random.default_rng(rng.integers(0, 2**63))
        masses += row_masses(spine, k, way, high, row, look, ground, wish, home, open_, pen, hand, grown)
    return paint(run_out(in_the_open(masses, pen), pen), stage, pen, ground.line_gap_mm, LEAST_WHITE_MM2,
                 [(role, share * high * (0.5 + hand.dark)) for role, share in SHADE if hand.dark > PALE])


propose = draw


def crest_height(free: BaseGeometry) -> float:
    """Height of the largest crest that suits open skin of this width, mm."""
    parts = [p for p in shapely.get_parts(free) if p.geom_type == "Polygon"]
    wide = 2 * max(shapely.maximum_inscribed_circle(p, tolerance=1.0).length for p in parts)
    return float(np.clip(0.5 * wide + 7, 11, 32))


@dataclass(frozen=True)
class Stream:
    """A streamline (n, 2), STEP apart, with normals to the side that is up the limb."""

    points: np.ndarray
    normals: np.ndarray

    def bend(self, xh: np.ndarray) -> np.ndarray:
        """Row coordinates (x along, h up; (n, 2) mm) to the chart."""
        x = xh[:, 0] / STEP
        i = np.clip(x.astype(int), 0, len(self.points) - 2)
        f = (x - i)[:, None]
        g = np.clip(f, 0, 1)
        p = self.points[i] * (1 - f) + self.points[i + 1] * f
        return p + (self.normals[i] * (1 - g) + self.normals[i + 1] * g) * xh[:, 1:]

    @property
    def length_mm(self) -> float:
        return (len(self.points) - 1) * STEP


def row_spines(field: Field, target: BaseGeometry, high: float, row: float) -> list[Stream]:
    """Base lines of the rows that cover the target, back (top) to front."""
    c, s = np.cos(field.angle), np.sin(field.angle)
    hull = np.asarray(target.envelope.exterior.coords)
    outline = np.asarray(target.convex_hull.exterior.coords) if target.convex_hull.geom_type == "Polygon" else hull
    a, b = outline @ (c, s), outline @ (-s, c)
    half = (a.max() - a.min()) / 2 + 1.2 * high
    mid = (a.max() + a.min()) / 2
    count = int(np.ceil((b.max() - b.min() + 0.5 * high) / row)) + 1
    first = b.max() - 0.8 * high
    if len(field.spine):   # a row lies on the line that the artist pulled
        at = field.spine[len(field.spine) // 2]
        mid = float(at @ (c, s))
        half = max(a.max() - mid, mid - a.min()) + 1.2 * high
        first += (float(at @ (-s, c)) - first) % row
        count += 1
    base = first - row * np.arange(count)
    start = np.column_stack([mid * c - base * s, mid * s + base * c])
    back, on = field.trace(start, -1.0, half, 2.4 * high), field.trace(start, 1.0, half, 2.4 * high)
    out = []
    up = np.array([-s, c])
    for line in np.concatenate([back[:, :0:-1], on], axis=1):
        t = np.gradient(line, axis=0)
        t /= np.maximum(np.hypot(t[:, 0], t[:, 1]), 1e-9)[:, None]
        n = np.column_stack([-t[:, 1], t[:, 0]])
        n *= np.where(n @ up < 0, -1.0, 1.0)[:, None]
        out.append(Stream(line, n))
    return out


def row_masses(stream: Stream, k: int, way: float, high: float, row: float, look: Style, ground: Ground, wish: Wish,
               home: BaseGeometry, open_: BaseGeometry, pen: Pen, hand: Hand, rng: np.random.Generator) -> list[Mass]:
    """One row: the swell first, its crests before it. `open_`: where other water may go on (see `open_border`)."""
    if way < 0:
        stream = Stream(stream.points[::-1], stream.normals[::-1])
    crests = []
    x = -high * look.long * float((0.618 * k + rng.uniform(0, 0.2)) % 1.0)
    first = int(rng.integers(0, 6))
    j = 0
    while x < stream.length_mm:
        h = high * SIZES[(first + j) % 6] * float(rng.uniform(0.94, 1.06))
        h = max(h * fade(stream, x + h, ground, wish), 3.9 * pen.pitch_mm)
        length = h * look.long * float(rng.uniform(0.94, 1.08))
        crests.append(Crest(x, length, h, bool(rng.uniform() < look.curl or SIZES[(first + j) % 6] == 1.0)))
        x += length
        j += 1
    settings = Look(pen, row, hand.dark, wish.density)
    body = filled(stream.bend(straight_row(crests, stream.length_mm, settings)))
    raised = Raised(stream, crests)
    out: list[Mass] = []

    def tips(lines: list[Line]) -> list[Line]:
        drawn = pointed(off_the_edge(spaced(lines, SPACED * pen.pitch_mm), ground.free.boundary), pen)
        return [p for p in drawn if not p.start == p.end == "tip" or arc_length(p.path)[-1] >= LOOSE_MM]

    if not shapely.intersects(body, home):
        return out
    rows = within(bent(stream, row_lines(crests, stream.length_mm, settings, rng)), home)
    swell = tips(staggered(rows, open_, rng))
    if swell:   # nothing would be seen that cuts what lies behind
        # its top has no outline: its shade would lie there with a bare edge, so crests alone throw shade
        body = shapely.intersection(body, home)
        out.append(Mass(body, swell, solid=Polygon(), hides=combed(body, swell, open_, pen)))
    for crest in crests:
        near = shapely.multipoints(raised.bend(BOX * (crest.length, crest.height) + (crest.x, 0.0))).convex_hull
        if not shapely.intersects(near, home):
            continue
        form = crest.form(settings)
        shape = filled(raised.bend(form.body))
        if not shapely.intersects(home, shapely.centroid(shape)) or shapely.intersects(shape, ground.edge):
            continue
        white = merged([filled(raised.bend(r)) for r in form.white])
        black = all_sound([filled(raised.bend(r)) for r in form.black])
        lines = tips(bent(raised, form.lines))
        clear = OVER * ground.line_gap_mm + 0.15
        out += [Drop(shapely.buffer(dot, clear, quad_segs=6), black=[dot], solid=Polygon())
                for dot in drops(form, raised)]
        out.append(Mass(shapely.union(shape, white), lines, list(black), white, pen.line_mm,
                        solid=shapely.union_all([white, *(filled(raised.bend(r)) for r in
                                                          above(form.body, SOLID_FROM * high))])))
    return out


def above(ring: np.ndarray, least: float) -> list[np.ndarray]:
    """Rings of what of a crest lies higher than `least` mm; its foot is one with the row that it grows from."""
    (x0, _), (x1, y1) = ring.min(axis=0), ring.max(axis=0)
    parts = shapely.get_parts(shapely.clip_by_rect(filled(ring), x0, least, x1, max(y1, least)))
    return [np.asarray(p.exterior.coords) for p in parts if p.geom_type == "Polygon"]


class Drop(Mass):
    """A free drop of foam and the skin kept clear round it."""


def in_the_open(masses: list[Mass], pen: Pen) -> list[Mass]:
    """The masses (back to front) without drops that would hang on the ink of something before them or be cut by it, or
    whose clear skin would bite into foam or black behind them."""
    tree = shapely.STRtree([m.body for m in masses])
    solid = shapely.STRtree([g for m in masses if not isinstance(m, Drop) for g in (m.white, *m.black)])

    def clear(i: int, drop: Mass) -> bool:
        before = tree.query(drop.body, "dwithin", pen.outline_mm) > i
        return not before.any() and not len(solid.query(drop.body, "dwithin", 0.5 * pen.outline_mm))

    return [m for i, m in enumerate(masses) if not isinstance(m, Drop) or clear(i, m)]


@dataclass(frozen=True)
class Raised:
    """A stream whose water is lifted under its crests."""

    stream: Stream
    crests: list[Crest]

    def bend(self, xh: np.ndarray) -> np.ndarray:
        """Row coordinates (n, 2) mm to the chart, crests and troughs heaved."""
        return self.stream.bend(xh + np.column_stack([np.zeros(len(xh)), heave(self.crests, xh[:, 0])]))


def drops(form: Form, raised: Raised) -> np.ndarray:
    """Free drops as discs."""
    if not form.drops:
        return np.zeros(0, object)
    at = raised.bend(np.array([p for p, _ in form.drops]))
    return shapely.buffer(shapely.points(at), np.array([r for _, r in form.drops]), quad_segs=5)


BOX = np.array([(-0.2, -0.2), (1.2, -0.2), (1.2, 1.25), (-0.2, 1.25)])
"""What a crest takes up, in shares of its length and height."""


def merged(areas: list[BaseGeometry]) -> BaseGeometry:
    """Areas as one, without holes."""
    if not areas:
        return shapely.Polygon()
    parts = shapely.get_parts(shapely.union_all(areas))
    return shapely.union_all([shapely.Polygon(p.exterior) for p in parts if p.geom_type == "Polygon"])


def bent(stream: Stream | Raised, lines: list[Line]) -> list[Line]:
    """Lines of a straight row laid along its stream."""
    return [replace(line, path=stream.bend(line.path)) for line in lines]


def fade(stream: Stream, x: float, ground: Ground, wish: Wish) -> float:
    """Share of the height that is left where a wave comes near a cuff."""
    if wish.fade_mm <= 0 or ground.edge.is_empty:
        return 1.0
    at = stream.bend(np.array([[x, 0.0]]))[0]
    return float(np.clip((shapely.distance(ground.edge, shapely.Point(at)) + 4) / wish.fade_mm, 0.4, 1.0))
