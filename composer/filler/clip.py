"""What of a drawing is seen: everything but what lies behind something in front and its skin break.

Stored art is never clipped; this is a view of it. The cut runs parallel to what lies in front,
so that lines stop at an even break, as tattooers leave it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, End, Layer
from composer.body.patch import Patch
from composer.body.surface import Surface
from composer.filler.clip_memo import by_identity
from composer.filler.closing import in_one, shut, waists
from composer.kept import Kept
from composer.plan.scene import Laid, Scene

QUAD = 8
"""Segments of a quarter circle in a margin; its chords fall short by 1 - cos(90 / 8 / 2 degrees)."""
SHORT = float(np.cos(np.pi / 4 / QUAD))
LIGHT_MM = 0.05
"""How far the outline that hides things may be from the drawn one."""

SLIVER_MM = 1.0
"""Paper and washes of a filler that a cut leaves narrower than this are left away."""

CRUMB_MM = 3.5
"""Loose bits of a filler's line work shorter than this, left by a cut, are left away."""

GIVE_MM = 0.2
"""Line work of a filler is cut so much short of the break, so that tidying its ends has room."""

ABOUT_MM = 12.0
"""What hides a drawing is looked at no farther about it than to the next so many mm."""

ROUGH_MM = 0.15
"""How roughly the stretch is told within which cuts are tidied."""

HOLE_MM2 = 60.0
"""Holes of a silhouette smaller than this show no background."""


@by_identity
def margin(front: BaseGeometry, skin_break_mm: float) -> BaseGeometry:
    """Front silhouettes grown by the skin break. The chords of the growth are made good, so that
    nothing outside it is nearer than the break (GEOS alone falls short of it)."""
    if skin_break_mm <= 0:
        return front
    grown = shapely.buffer(front, (skin_break_mm + 1.4 * LIGHT_MM) / SHORT, quad_segs=QUAD)
    return shapely.simplify(grown, 0.4 * LIGHT_MM)


def visible(drawing: Drawing, front: BaseGeometry, skin_break_mm: float, least_mm: float = 0.3,
            line_gap_mm: float = 0.0) -> Drawing:
    """The drawing less what `front` (silhouettes in the same chart, no margin) and the skin break hide.

    Only rings that touch the margin are cut; the rest are passed on as they are. Cut ends become
    'tucked'. What is left of a cut shape is opened by `least_mm`, so no sliver thinner than the
    needle and no crumb stays; with `line_gap_mm` slots that the cut leaves narrower than that are
    filled (fillers; a motif's own fine work is left alone). The same object when nothing is hidden.
    """
    if front.is_empty or not drawing.silhouette:
        return drawing
    return cut(drawing, about(front, skin_break_mm, drawing.outline.bounds), least_mm, line_gap_mm)


def about(front: BaseGeometry, skin_break_mm: float, bounds: tuple[float, ...]) -> BaseGeometry:
    """What of the margin round `front` may hide something of a drawing within `bounds`."""
    low, high = (tuple(ABOUT_MM * way(v / ABOUT_MM + off) for v in corner)
                 for way, off, corner in ((math.floor, -0.3, bounds[:2]), (math.ceil, 0.3, bounds[2:])))
    return _about(margin(front, skin_break_mm), *low, *high)


@by_identity
def _about(hidden: BaseGeometry, *box: float) -> BaseGeometry:
    """What of `hidden` may hide something of a drawing in this box."""
    near = shapely.clip_by_rect(hidden, *box)
    return near if shapely.is_valid(near) else shapely.intersection(hidden, shapely.box(*box))


def cut(drawing: Drawing, hidden: BaseGeometry, least_mm: float = 0.3, line_gap_mm: float = 0.0) -> Drawing:
    """The drawing less the area `hidden`, with clean ends (see `visible`)."""
    outline = drawing.outline
    shapely.prepare(hidden)
    if hidden.is_empty or not shapely.intersects(hidden, outline):
        return drawing
    near, slot = _along(hidden, 3.0 * least_mm), 0.51 * line_gap_mm
    give = _along(hidden, GIVE_MM, 0.05) if slot else hidden
    layers, crossed = [], []
    for layer in drawing.layers:
        inked = layer.role in ("line", "black")
        fine = least_mm if inked or not slot else SLIVER_MM
        layer, clear = _beside(layer, hidden, 4.0 * least_mm + 8.0 * slot)
        band = _less(_along(hidden, 3.0 * least_mm + fine), give if inked else hidden)
        left = _cut_layer(layer, (hidden, near, band), fine, slot if inked else 0.0, CRUMB_MM / 3 if slot else fine)
        if inked and layer.rings:
            crossed.append(layer.area)
        if clear:
            left = Layer(layer.role, clear + left.rings)
        if left.rings:
            layers.append(left)
    ends = []
    for e, gone in zip(drawing.ends, _within(hidden, drawing.ends), strict=True):
        if not gone:
            ends.append(e)
    ends += [End(x, y, "tucked") for x, y in _cut_ends(crossed, hidden, near)]
    body = clean(shapely.difference(outline, hidden), SLIVER_MM if line_gap_mm else least_mm)
    return Drawing.of(in_one(body), tuple(layers), tuple(ends), drawing.notes)


def _beside(layer: Layer, hidden: BaseGeometry, clear_mm: float) -> tuple[Layer, tuple[np.ndarray, ...]]:
    """A layer in two: rings that come near `hidden`, and those whose box stays clear of it by more than
    any tidying reaches. Filled even-odd the two together are the layer, whatever lies in what."""
    if len(layer.rings) < 9:
        return layer, ()
    at, cuts = np.concatenate(layer.rings), np.cumsum([0, *map(len, layer.rings)])[:-1]
    low, high = np.minimum.reduceat(at, cuts) - clear_mm, np.maximum.reduceat(at, cuts) + clear_mm
    touch = shapely.intersects(hidden, shapely.box(*low.T, *high.T))
    whole = np.diff([*cuts, len(at)])[touch].sum() > 0.5 * len(at) and "area" in vars(layer)
    if touch.all() or whole:    # an area that is there is quicker to cut than a part of it to build
        return layer, ()
    return (Layer(layer.role, tuple(r for r, t in zip(layer.rings, touch, strict=True) if t)),
            tuple(r for r, t in zip(layer.rings, touch, strict=True) if not t))


@by_identity
def _along(hidden: BaseGeometry, wide_mm: float, rough_mm: float = ROUGH_MM) -> BaseGeometry:
    """What lies hidden or within `wide_mm` of the cut."""
    return shapely.buffer(_roughly(hidden, rough_mm), wide_mm + rough_mm, quad_segs=3)


@by_identity
def _roughly(hidden: BaseGeometry, by_mm: float) -> BaseGeometry:
    return shapely.simplify(hidden, by_mm)


@by_identity
def _less(wide: BaseGeometry, cut_away: BaseGeometry) -> BaseGeometry:
    return shapely.difference(wide, cut_away)


def _within(hidden: BaseGeometry, ends: tuple[End, ...]) -> np.ndarray:
    if not ends:
        return np.zeros(0, bool)
    xy = np.array([(e.x, e.y) for e in ends])
    return shapely.contains_xy(hidden, xy[:, 0], xy[:, 1])


def _cut_layer(layer: Layer, off: tuple[BaseGeometry, ...], least: float, slot: float, crumb: float) -> Layer:
    """A layer less what is hidden. `off`: what hides; what lies along the cut, where ink is tidied; and a
    little more than that, less what is cut away. Polygons that do not touch what hides keep their
    rings; slots of less than twice `slot` that tidying leaves open are filled; nothing shorter than three
    times `crumb` is left."""
    hidden, near, band = off
    parts = shapely.get_parts(layer.area)
    parts = parts[shapely.get_dimensions(parts) == 2]
    touched = shapely.intersects(hidden, parts)
    if not touched.any():
        return layer
    far = in_one(shapely.difference(parts[touched], near))
    edge = in_one(shapely.intersection(parts[touched], band))
    firm = shapely.get_parts(opened(edge, least))
    shapely.prepare(near)
    firm = in_one(firm[longer(firm, 3.0 * least) | ~shapely.covers(near, firm)])
    whole = shapely.union(far, firm)
    if slot:
        whole = _mended(whole, _faulty(shapely.difference(edge, firm), near, whole, slot), hidden, least, slot)
    return Layer.of(layer.role, in_one(np.concatenate([parts[~touched], no_crumbs(whole, crumb)])))


_ROUND = np.exp(2j * np.pi * np.arange(16) / 16)


def _faulty(lost: BaseGeometry, near: BaseGeometry, ink: BaseGeometry, slot: float) -> np.ndarray:
    """What of the ink `lost` along a cut may leave a fault: what runs on beyond `near`, where its rest stays on; what
    parted the ink; and what has ink on more than one side, so that a slot may be open there. Where a disc as wide as
    a slot may be has room, none is. `near` is prepared."""
    gone = shapely.get_parts(lost)
    gone = gone[shapely.area(gone) > 0.012]
    gone = gone[shapely.intersects(near, gone)]
    if not len(gone):
        return gone
    shapely.prepare(ink)
    return gone[~(shapely.covers(near, gone) & leaves_none(gone, np.full(len(gone), ink), slot))]


def leaves_none(bits: np.ndarray, ink: np.ndarray, slot: float) -> np.ndarray:
    """Which of the bits (n,) of ink that go leave no slot: a disc as wide as one has room beside what stays of the
    `ink` (n,), prepared, and that lies along one stretch of the bit's edge only."""
    disc = 0.97 * slot
    about = (shapely.get_coordinates(shapely.centroid(bits)) @ (1, 1j))[:, None] + disc * _ROUND
    none = (~shapely.dwithin(ink[:, None], shapely.points(about.real, about.imag), disc)).any(axis=1)
    none[none] = _borders(bits[none], ink[none]) < 2
    return none


def _borders(bits: np.ndarray, ink: np.ndarray) -> np.ndarray:
    """How many stretches of each bit's edge (n,) lie on its ink (n,), which is prepared."""
    at, of = shapely.get_coordinates(shapely.get_exterior_ring(bits), return_index=True)
    on = shapely.dwithin(ink[of], shapely.points(at), 1e-6)
    begins = on[1:] & ~on[:-1] & (of[1:] == of[:-1])     # a ring's last point is its first again
    return np.bincount(of[1:][begins], minlength=len(bits))


def _mended(ink: BaseGeometry, gone: np.ndarray, hidden: BaseGeometry, least: float, slot: float) -> BaseGeometry:
    """Ink after tidying, with the slots filled that parts which are `gone` leave open."""
    if not len(gone):
        return ink
    zone = shapely.union_all(shapely.buffer(gone, 3.2 * slot, quad_segs=2))
    core = shapely.union_all(shapely.buffer(gone, 1.6 * slot, quad_segs=2))
    edge = mended(shapely.intersection(ink, zone), core, least, slot)
    return shapely.union(ink, shapely.difference(edge, hidden))


def mended(ink: BaseGeometry, core: BaseGeometry, least: float, slot: float) -> BaseGeometry:
    """Ink with its slots (narrower than twice `slot`) filled; a filling may leave a waist near the `core`, which is
    made good, and the slots beside it are filled again."""
    edge = _filled(ink, slot)
    for _ in range(3):
        thin = waists(edge, 1.05 * least)
        thin = thin[shapely.intersects(core, thin)]
        if not len(thin):
            break
        good = shapely.union_all([edge, *shapely.buffer(thin, 0.5 * least, quad_segs=3)])
        about = shapely.union_all(shapely.buffer(thin, 0.5 * least + 3.2 * slot, quad_segs=2))
        edge = shapely.union(good, _filled(shapely.intersection(good, about), slot))   # elsewhere it is shut
    return edge


def _filled(ink: BaseGeometry, slot: float) -> BaseGeometry:
    """Ink with slots narrower than twice `slot` filled."""
    return shapely.union(ink, shut(ink, slot))


def clean(shape: BaseGeometry, least_mm: float) -> np.ndarray:
    """A cut shape's parts without what no needle could put in, nor crumbs."""
    return no_crumbs(opened(shape, least_mm), least_mm)


def opened(shape: BaseGeometry, least_mm: float) -> BaseGeometry:
    """A shape without what is narrower than `least_mm`: hairs and the sharp corners of a slanting cut go, ends
    turn round."""
    r = least_mm / 2
    return shapely.buffer(shapely.buffer(shape, -r, quad_segs=3), r * 1.02, quad_segs=3)


def no_crumbs(shape: BaseGeometry, least_mm: float) -> np.ndarray:
    """Polygons of a geometry that are longer than three needles."""
    parts = shapely.get_parts(in_one(shape))
    return parts[longer(parts, 3.0 * least_mm)]


def longer(parts: np.ndarray, than_mm: float) -> np.ndarray:
    """Which of the parts are longer than so much, corner to corner of their box."""
    b = shapely.bounds(parts).reshape(-1, 4)
    return np.hypot(b[:, 2] - b[:, 0], b[:, 3] - b[:, 1]) > than_mm


def _cut_ends(inked: list[BaseGeometry], hidden: BaseGeometry, near: BaseGeometry) -> list[tuple[float, float]]:
    """Where the edge of `hidden` crosses line work: the middle of each crossing. `near` is a little more
    than `hidden`."""
    if not inked:
        return []
    ink = inked[0] if len(inked) == 1 else shapely.union_all(shapely.intersection(np.array(inked, object), near))
    cuts = shapely.get_parts(shapely.intersection(hidden.boundary, ink))
    cuts = cuts[~shapely.is_empty(cuts)]
    return [(round(float(p.x), 3), round(float(p.y), 3)) for p in shapely.centroid(cuts)]


_lights: Kept[tuple[Drawing, tuple[tuple[np.ndarray, ...], ...]]] = Kept(
    100_000, lambda kept: sum(len(r) for p in kept[1] for r in p), least=100)
"""Light silhouettes, with the drawings they are of, so that their ids stand."""


def _light(laid: Laid) -> tuple[tuple[np.ndarray, ...], ...]:
    """A silhouette made light for hiding things: polygons as rings on skin, outside first; within
    LIGHT_MM of the drawn one, small holes filled, vertices at most 4 mm apart."""
    def make() -> tuple[Drawing, tuple[tuple[np.ndarray, ...], ...]]:
        outline = shapely.simplify(laid.flat.outline, LIGHT_MM)
        out = []
        for p in shapely.get_parts(outline):
            if p.geom_type == "Polygon" and p.area > 0.5:
                rings = [p.exterior, *(i for i in p.interiors if Polygon(i).area > HOLE_MM2)]
                flat = [np.asarray(shapely.segmentize(r, 4.0).coords)[:-1] for r in rings]
                out.append(tuple(laid.patch.to_skin(r) for r in flat))
        return laid.flat, tuple(out)
    return _lights.once((id(laid.flat), laid.patch), make)[1]


def in_chart(patch: Patch, laid: Laid, reach: tuple[float, float]) -> list[BaseGeometry]:
    """A piece's outline (within LIGHT_MM) in another piece's chart, as often as it comes by: at
    every whole turn whose u-range meets `reach` (unwrapped turns)."""
    return [shape for turn in turns_by(laid, reach) for shape in at_turn(patch, laid, turn)]


def turns_by(laid: Laid, reach: tuple[float, float]) -> range:
    """The whole turns by which a piece has to be moved to come by a stretch (unwrapped turns)."""
    polygons = _light(laid)
    if not polygons:
        return range(0)
    lo, hi = min(p[0][:, 0].min() for p in polygons), max(p[0][:, 0].max() for p in polygons)
    return range(int(np.ceil(reach[0] - hi)), int(np.floor(reach[1] - lo)) + 1)


def at_turn(patch: Patch, laid: Laid, turn: int) -> list[BaseGeometry]:
    """A piece's outline in another piece's chart, moved by so many turns."""
    out: list[BaseGeometry] = []
    for rings in _light(laid):
        flat = [patch.to_flat(r + np.array([turn, 0.0])) for r in rings]
        shape = Polygon(flat[0], flat[1:])
        out.append(shape if shape.is_valid else shapely.make_valid(shape))
    return out


def silhouettes(limb: Surface, patch: Patch, over: Iterable[Laid], u: tuple[float, float], s: tuple[float, float],
                pad_mm: float = 8.0) -> list[BaseGeometry]:
    """Outlines (no margin) of the pieces `over` in the chart `patch`, where they come within
    `pad_mm` of the stretch u (unwrapped turns) by s (mm)."""
    du = pad_mm / float(limb.girth(sum(s) / 2))
    out: list[BaseGeometry] = []
    for other in over:
        _, lo, _, hi = other.box
        if lo <= s[1] + pad_mm and hi >= s[0] - pad_mm:
            out += in_chart(patch, other, (u[0] - du, u[1] + du))
    return out


def near(limb: Surface, laid: Laid, over: Iterable[Laid], pad_mm: float = 8.0) -> list[Laid]:
    """Those of the pieces `over` whose box on skin comes within `pad_mm` of the piece's."""
    u0, s0, u1, s1 = laid.box
    du = pad_mm / float(limb.girth((s0 + s1) / 2))
    out = []
    for other in over:
        v0, t0, v1, t1 = other.box
        turns = np.floor(u1 + du - v0) - np.ceil(u0 - du - v1)
        if t0 <= s1 + pad_mm and t1 >= s0 - pad_mm and turns >= 0:
            out.append(other)
    return out


def in_front(scene: Scene, laid: Laid, over: Iterable[Laid]) -> BaseGeometry:
    """Silhouettes (no margin) of the pieces `over`, in the chart of `laid`, where they come near it."""
    u0, s0, u1, s1 = laid.box
    shapes = silhouettes(scene.limb, laid.patch, over, (u0, u1), (s0, s1))
    return shapely.union_all(shapes) if shapes else Polygon()


def covers(front: Laid, back: Laid) -> bool:
    """Whether `front` hides `back`: main pieces lie before every filler, else the greater depth
    (and, at one depth, the later id) lies in front."""
    a, b = front.piece, back.piece
    if a.id == b.id:
        return False
    if a.is_filler != b.is_filler:
        return b.is_filler
    return (a.depth, a.id) > (b.depth, b.id)
