"""How a stencil is cut: limits, what comes of it, and what the ways of cutting share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
import shapely
from shapely.geometry import LinearRing
from shapely.geometry.base import BaseGeometry

from composer.body.distort import STRONG, WARN, stretches
from composer.body.even_spline import even_spline
from composer.body.gore import Gore
from composer.body.limb import Limb
from composer.body.panel_gore import PanelGore
from composer.body.panel_patch import PanelPatch
from composer.body.patch import Patch
from composer.body.strips import Strip, strips_over
from composer.body.surface import Surface
from composer.sheets.leaf import Cell, Leaf, Tick
from composer.sheets.stencil import Stencil

GRID_MM = 4.0
"""Stretch is looked at on a grid so wide."""
ASIDE = 0.36
"""How far a cut may stray to either side, in widths of a strip."""
FAR = 40.0
"""Beyond everything, in turns."""
RIM, HASTE = 20, 8
"""Places round a paper between which lines are measured, and while plans are only compared."""
HOPELESS = 0.6
"""Lines of a paper that are off by less than this share of the worst of another are not looked at more closely."""
TABLE_MM = 12.0
"""Where paper lies on skin is worked out on a grid so wide, and by a cubic spline between."""
BOW = 0.04
"""How far ways are bent aside to find the shortest, in shares of their length."""
AIM_MM = 1.0
"""What is aimed at unasked: straight lines over a paper right to this, about the width of a lined line (common
practice, no published source)."""


@dataclass(frozen=True)
class Limits:
    """Stretch at which paper is said to wrinkle, and at which cuts are proposed; `error_mm` asks for cuts
    until straight lines over each paper are right to that; with `few` cuts only, what nobody was asked about."""

    warn: float = WARN
    act: float = STRONG
    error_mm: float | None = None
    few: bool = False

    @classmethod
    def of(cls, extra: dict) -> Limits:
        """The plan's own limits: `Settings.extra["paper"]` = {"warn": 0.05, "act": 0.10, "mm": 1.0}, as far as they
        make sense."""
        said = extra.get("paper") if isinstance(extra.get("paper"), dict) else {}

        def kept(name: str, low: float, high: float, usual: float) -> float:
            v = said.get(name)
            good = isinstance(v, int | float) and not isinstance(v, bool) and low <= v <= high
            return float(v) if good else usual

        warn, act = kept("warn", 0.005, 0.5, WARN), kept("act", 0.005, 0.5, STRONG)
        return cls(warn, max(warn, act), kept("mm", 0.3, 10.0, AIM_MM), True)


@dataclass(frozen=True)
class Cut:
    """A stencil made ready: `way` how ('whole', 'true', 'slits', 'split'), its papers, the worst
    `stretch` that is left (signed), `error_mm` how far a straight line over the paper is off in length,
    `crossed_mm` of ink that cuts run through, `opens_mm` how far slits open on skin, what to say, the `cells`
    of all papers, how many `wedges` are taken out of it, and `uncut_mm` the error of the paper left whole."""

    way: str
    leaves: tuple[Leaf, ...]
    stretch: float
    error_mm: float
    crossed_mm: float = 0.0
    opens_mm: float = 0.0
    freehand_mm2: float = 0.0
    sentence: str = ""
    cells: tuple[Cell, ...] = ()
    wedges: int = 0
    uncut_mm: float | None = None


@dataclass(frozen=True)
class Seams:
    """Where the papers of a draft meet: what each of its cells gives up to its neighbour, lines to cut, ticks for each
    paper, and how many wedges are taken out."""

    trims: tuple[BaseGeometry, ...]
    cuts: tuple[np.ndarray, ...]
    ticks: tuple[tuple[Tick, ...], ...]
    wedges: int = 0


@dataclass(frozen=True)
class Draft:
    """A way of cutting worked out, before the art is carried over: per paper its cells; `left` the signed stretch at
    each place. Most drafts are only weighed, so what it takes to cut by one is worked out by `seams` once it is
    chosen, and so is how much ink the cuts run through, by `crossed` in mm. `opens` tells how far slits open on skin
    through art, mm."""

    way: str
    papers: tuple[tuple[Cell, ...], ...]
    left: np.ndarray
    error: Callable[[], float]
    seams: Callable[[], Seams]
    crossed: Callable[[], float] = lambda: 0.0
    opens: Callable[[], float] = lambda: 0.0

    @property
    def stretch(self) -> float:
        return worst_of(self.left)

    @cached_property
    def error_mm(self) -> float:
        return self.error()


@dataclass(frozen=True, eq=False)
class Spots:
    """Places `us` (n, 2) on the skin of a stencil, all over its art, and what several plans ask of them."""

    stencil: Stencil
    us: np.ndarray

    @classmethod
    def of(cls, stencil: Stencil) -> Spots:
        return cls(stencil, places(stencil))

    @property
    def limb(self) -> Surface:
        return self.stencil.limb

    @cached_property
    def flat(self) -> np.ndarray:
        """The places in the stencil's chart (n, 2), mm."""
        return self.stencil.chart.to_flat(self.us)

    @cached_property
    def form(self) -> BaseGeometry:
        """The stencil's paper on skin."""
        return on_skin(self.stencil, self.stencil.outline)

    @cached_property
    def low(self) -> np.ndarray:
        return self.us.min(axis=0)

    @cached_property
    def high(self) -> np.ndarray:
        return self.us.max(axis=0)

    @property
    def spine(self) -> float:
        """The level along which strips are joined, mm."""
        return float(self.low[1] + self.high[1]) / 2

    @cached_property
    def strip(self) -> Callable[[float], Strip]:
        """From turns to the strip about them; the same one whenever it is asked for again."""
        return cache(strips_over(self.limb, self.us))

    @cached_property
    def _metric(self) -> np.ndarray:
        return self.limb.metric(self.us)

    @cached_property
    def _plain(self) -> BaseGeometry:
        return shapely.simplify(self.stencil.body, 0.5)

    def rim(self, region: BaseGeometry) -> np.ndarray:
        """Places (n, 2) on skin along the rim of the art in a region of the chart. `us` stop up to GRID_MM short of a
        cut, where lines are off most."""
        art = shapely.segmentize(shapely.intersection(region, self._plain), GRID_MM)
        return taped(self.limb, self.stencil.chart.to_skin(shapely.get_coordinates(art)))

    def stretch(self, paper: Strip | Patch, which: np.ndarray) -> np.ndarray:
        """Signed stretch of a paper at some of the places (a mask, or all where it is a slice)."""
        us = self.us[which]
        if isinstance(paper, PanelPatch | PanelGore):
            return signed(paper.stretches_on(us, self._metric[which]))
        if isinstance(paper, Gore):
            return signed(paper.stretches(us))
        return signed(stretches(self.limb, paper, paper.to_flat(us)))


def places(stencil: Stencil) -> np.ndarray:
    """Places (n, 2) on skin, all over the art; past the ends of what was taped, or the edges of the part, only where
    all of it is."""
    x0, y0, x1, y1 = stencil.body.bounds
    x, y = np.meshgrid(np.arange(x0, x1 + GRID_MM, GRID_MM), np.arange(y0, y1 + GRID_MM, GRID_MM))
    xy = np.column_stack([x.ravel(), y.ravel()])
    near = shapely.buffer(shapely.simplify(stencil.body, 0.5), 0.5 * GRID_MM, quad_segs=2)
    shapely.prepare(near)
    return taped(stencil.limb, stencil.chart.to_skin(xy[shapely.contains_xy(near, xy[:, 0], xy[:, 1])]))


def taped(limb: Surface, us: np.ndarray) -> np.ndarray:
    """Those of the places that lie on skin that was taped, all of them where none does."""
    on = (us[:, 1] >= limb.s_min) & (us[:, 1] <= limb.s_max) if isinstance(limb, Limb) else limb.inside(us)
    return us[on] if on.any() else us


def signed(both: np.ndarray) -> np.ndarray:
    """The greater of two principal stretches, less one, with its sign."""
    off = both - 1
    return np.where(np.abs(off[:, 0]) >= np.abs(off[:, 1]), off[:, 0], off[:, 1])


def worst_of(values: np.ndarray) -> float:
    return float(values[np.abs(values).argmax()]) if len(values) else 0.0


def on_skin(stencil: Stencil, g: BaseGeometry) -> BaseGeometry:
    return shapely.make_valid(shapely.transform(shapely.segmentize(g, 2.0), stencil.chart.to_skin))


def in_chart(stencil: Stencil, g: BaseGeometry) -> BaseGeometry:
    """A region of skin in the stencil's chart."""
    c = float(stencil.limb.girth(stencil.chart.s0_mm))
    fine = shapely.transform(shapely.segmentize(shapely.transform(g, lambda p: p * (c, 1.0)), 2.0),
                             lambda p: p / (c, 1.0))
    return shapely.make_valid(shapely.transform(fine, stencil.chart.to_flat))


def line_error(limb: Surface, charts: list, groups: list[np.ndarray], haste: bool = False) -> float:
    """Largest difference, mm, between a straight line on one cell's paper and its length on skin. Lines run between
    RIM places evenly round the cell, and then from and to places close by the ends of the worst of them; in `haste`
    between a few places only, and skin is measured along the very line."""
    n = HASTE if haste else RIM
    i, j = np.triu_indices(n, 1)
    straight: list[tuple[float, np.ndarray, LinearRing, Callable]] = []
    for chart, us in zip(charts, groups, strict=True):
        if len(us) < 2:
            continue
        hull = shapely.convex_hull(shapely.linestrings(chart.to_flat(us)))
        if hull.geom_type == "Polygon":
            rim, length = hull.exterior, lengths_on(limb, chart, hull.bounds)
            at = np.arange(n) / n * rim.length
            found = _off(rim, length, at[i], at[j], False)
            straight.append((float(found.max()), found, rim, length))
    if haste:
        return max((most for most, *_ in straight), default=0.0)
    worst = 0.0
    for most, found, rim, length in sorted(straight, key=lambda v: -v[0]):
        if most < HOPELESS * worst:
            break
        bad = found >= 0.5 * most
        a, b = (k[bad] / n * rim.length for k in (i, j))
        found = _off(rim, length, a, b, True)
        k = int(found.argmax())
        near = np.linspace(-0.75, 0.75, 7) * rim.length / n
        close = _off(rim, length, *(v.ravel() for v in np.meshgrid(a[k] + near, b[k] + near)), True)
        worst = max(worst, float(found.max()), float(close.max()))
    return worst


def _off(rim: LinearRing, length: Callable[[np.ndarray, np.ndarray, bool], np.ndarray], a: np.ndarray, b: np.ndarray,
         bent: bool) -> np.ndarray:
    """How far lines between places a, b (n,) mm along a rim are off, mm."""
    a, b = (shapely.get_coordinates(shapely.line_interpolate_point(rim, v % rim.length)) for v in (a, b))
    return np.abs(length(a, b, bent) - np.hypot(*(a - b).T))


def lengths_on(limb: Surface, chart: Strip | Patch, box: tuple[float, float, float, float]
               ) -> Callable[[np.ndarray, np.ndarray, bool], np.ndarray]:
    """From ends a, b (n, 2) of straight lines on paper, within its box x0, y0, x1, y1, to their lengths on skin (n,),
    mm, or where `bent` to those of the shortest ways between their ends: of ways that bow to either side the parabola's
    lowest. Where paper lies is asked for on a grid and run through by a spline: thousands of places are needed."""
    x, y = (np.linspace(a - 1, b + 1, max(6, int((b - a) / TABLE_MM) + 2)) for a, b in zip(box[:2], box[2:],
                                                                                         strict=True))
    there = chart.to_skin(np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2))
    if not limb.closed:
        there = limb.embed(there)
    splines = [even_spline(x, y, v.reshape(len(x), len(y))) for v in there.T]
    t = np.linspace(0, 1, 16)[:, None]

    def along(way: np.ndarray) -> np.ndarray:
        x, y = way[..., 0].ravel(), way[..., 1].ravel()
        at = np.stack([f(x, y) for f in splines], axis=1).reshape(*way.shape[:2], -1)
        d = np.diff(at, axis=1)
        if limb.closed:
            d[..., 0] *= limb.girth((at[:, 1:, 1] + at[:, :-1, 1]) / 2)
        return np.linalg.norm(d, axis=2).sum(axis=1)

    def length(a: np.ndarray, b: np.ndarray, bent: bool) -> np.ndarray:
        way = a[:, None] * (1 - t) + b[:, None] * t
        straight = along(way)
        if not bent:
            return straight
        aside = (BOW * 4 * t * (1 - t)) * np.column_stack([a[:, 1] - b[:, 1], b[:, 0] - a[:, 0]])[:, None]
        left, right = along(way + aside), along(way - aside)
        bow = np.maximum((left + right) / 2 - straight, 1e-9)
        return straight - np.minimum((left - right) ** 2 / (16 * bow), bow)

    return length
