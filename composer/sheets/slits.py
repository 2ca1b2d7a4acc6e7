"""Where flat paper won't lie: redraw it true, slit it, or split it into several papers, along quiet lines."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from composer.body.distort import STRONG, WARN, stretches
from composer.body.gore import Gore, gore_on, tangent_patch
from composer.body.limb import Limb
from composer.body.patch import Patch, lay_patch
from composer.sheets.leaf import Cell, Leaf, Tick, leaf_of, tick_pairs
from composer.sheets.quiet import Field, crossed_mm, field_of, quiet_way
from composer.sheets.stencil import Stencil

WAYS = ("auto", "whole", "true", "slits", "split")
MOST_GORES, MOST_BANDS = 6, 5
GRID_MM = 4.0
OPENS_MM = 4.0
"""A slit that opens wider than this on skin is passed over where there is another way."""
LEAST_MM = 12.0
"""A slit is made only where art reaches this far on both of its sides."""
ASIDE = 0.36
"""How far a cut may stray to either side, in widths of a strip."""
FAR = 40.0
"""Beyond everything, in turns."""


@dataclass(frozen=True)
class Limits:
    """Stretch at which paper is said to wrinkle, and at which cuts are proposed; `error_mm` asks for cuts
    until straight lines over each paper are right to that."""

    warn: float = WARN
    act: float = STRONG
    error_mm: float | None = None

    @classmethod
    def of(cls, extra: dict) -> Limits:
        """The plan's own limits: `Settings.extra["paper"]` = {"warn": 0.05, "act": 0.10}."""
        said = extra.get("paper") if isinstance(extra.get("paper"), dict) else {}
        warn, act = (said.get(k) for k in ("warn", "act"))
        good = [isinstance(v, int | float) and 0.005 <= v <= 0.5 for v in (warn, act)]
        return cls(float(warn) if good[0] else WARN, float(act) if good[1] else STRONG)


@dataclass(frozen=True)
class Cut:
    """A stencil made ready: `way` how ('whole', 'true', 'slits', 'split'), its papers, the worst
    `stretch` that is left (signed), `error_mm` how far a straight line over the paper is off in length,
    `crossed_mm` of ink that cuts run through, `opens_mm` how far slits open on skin, what to say, and the
    `cells` of all papers."""

    way: str
    leaves: tuple[Leaf, ...]
    stretch: float
    error_mm: float
    crossed_mm: float = 0.0
    opens_mm: float = 0.0
    freehand_mm2: float = 0.0
    sentence: str = ""
    cells: tuple[Cell, ...] = ()


@dataclass(frozen=True)
class _Plan:
    """How it could be cut, before any way is looked for: `lines` are turns (gores) or levels (bands)."""

    way: str
    stretch: float
    lines: tuple[float, ...]
    opens_mm: float
    cost: float


@dataclass(frozen=True)
class _Draft:
    """A way of cutting worked out, before the art is carried over: per paper its cells, what each gives up to its
    neighbour, cuts and ticks; `left` the signed stretch at each place."""

    way: str
    papers: tuple[tuple[Cell, ...], ...]
    trims: tuple[BaseGeometry, ...]
    cuts: tuple[np.ndarray, ...]
    ticks: tuple[tuple[Tick, ...], ...]
    left: np.ndarray
    error: Callable[[], float]
    crossed_mm: float = 0.0
    opens_mm: float = 0.0

    @property
    def stretch(self) -> float:
        return _worst(self.left)

    @cached_property
    def error_mm(self) -> float:
        return self.error()


def prepare(stencil: Stencil, limits: Limits | None = None, way: str = "auto") -> Cut:
    """The stencil's papers. 'auto' leaves it whole up to `limits.act`, and beyond takes what needs the
    fewest cuts to come under `limits.warn`. Raises ValueError for an unknown way."""
    limits = limits or Limits()
    if way not in WAYS:
        raise ValueError(f"A stencil can't be cut by '{way}'; use {', '.join(WAYS)}.")
    us = _places(stencil)
    worst = abs(stencil.fit.stretch)
    kept = _whole(stencil, us, limits)
    fine = limits.error_mm is None or kept.error_mm <= limits.error_mm
    if way == "whole" or not stencil.limb.closed or (way == "auto" and worst < limits.act and fine):
        return kept
    plans = sorted(_plans(stencil, us, limits), key=lambda p: (abs(p.stretch) > limits.warn, p.cost))
    if way != "auto":
        plans = [p for p in plans if p.way == way]
    solid = shapely.union_all([g for g in (stencil.art.blacks,) if not g.is_empty])
    field = field_of(stencil.outline, stencil.art.lines, solid, stencil.keep)
    found: list[_Draft] = []
    for p in plans:
        draft = _true(stencil, us) if p.way == "true" else (
            _slit if p.way == "slits" else _split)(stencil, field, p.lines, us)
        if draft is not None:
            found.append(draft)
            if abs(draft.stretch) < limits.warn and (limits.error_mm is None or draft.error_mm <= limits.error_mm):
                return _made(stencil, draft, us, limits)
    better = [c for c in found if abs(c.stretch) < 0.9 * abs(kept.stretch)]
    if better or (way != "auto" and found):
        return _made(stencil, min(better or found, key=lambda c: abs(c.stretch)), us, limits)
    said = "No cut was found that leaves whole what is marked so" if not stencil.keep.is_empty else (
        "No cut makes it lie better")
    return replace(kept, sentence=f"{said}. {kept.sentence}")


def _places(stencil: Stencil) -> np.ndarray:
    """Places (n, 2) on skin, all over the art; past the ends of what was taped only where all of it is."""
    x0, y0, x1, y1 = stencil.body.bounds
    x, y = np.meshgrid(np.arange(x0, x1 + GRID_MM, GRID_MM), np.arange(y0, y1 + GRID_MM, GRID_MM))
    xy = np.column_stack([x.ravel(), y.ravel()])
    near = shapely.buffer(shapely.simplify(stencil.body, 0.5), 0.5 * GRID_MM, quad_segs=2)
    shapely.prepare(near)
    us = stencil.chart.to_skin(xy[shapely.contains_xy(near, xy[:, 0], xy[:, 1])])
    taped = (us[:, 1] >= stencil.limb.s_min) & (us[:, 1] <= stencil.limb.s_max)
    return us[taped] if taped.any() else us


def _signed(both: np.ndarray) -> np.ndarray:
    """The greater of two principal stretches, less one, with its sign."""
    off = both - 1
    return np.where(np.abs(off[:, 0]) >= np.abs(off[:, 1]), off[:, 0], off[:, 1])


def _worst(values: np.ndarray) -> float:
    return float(values[np.abs(values).argmax()]) if len(values) else 0.0


# ---- what could be done

def _plans(stencil: Stencil, us: np.ndarray, limits: Limits) -> Iterator[_Plan]:
    limb, (u0, s0), (u1, s1) = stencil.limb, us.min(axis=0), us.max(axis=0)
    spine = tangent_patch(limb, (u0 + u1) / 2, (s0 + s1) / 2)
    for n in range(1, MOST_GORES + 1):
        edges = np.linspace(u0, u1, n + 1)
        which = np.clip(np.searchsorted(edges, us[:, 0], side="right") - 1, 0, n - 1)
        left = np.concatenate([_signed(_gore(limb, spine, edges, k).stretches(us[which == k])) for k in range(n)])
        opens = max((_opening(limb, spine, edges, k, s0, s1) for k in range(n - 1)), default=0.0)
        cost = 2 * (n - 1) + (10.0 if opens > OPENS_MM else 0.0)
        yield _Plan("true" if n == 1 else "slits", _worst(left), tuple(edges[1:-1]), opens, cost)
        if limits.error_mm is None and abs(_worst(left)) < limits.warn / 2:
            break
    for lines, stretch in _bands(limb, s0, s1):
        yield _Plan("split", stretch, tuple(lines), 0.0, 3.0 * len(lines))
        if limits.error_mm is None and abs(stretch) < limits.warn / 2:
            break


def _gore(limb: Limb, spine: Patch, edges: np.ndarray, k: int) -> Gore:
    return gore_on(limb, spine, (edges[k] + edges[k + 1]) / 2)


def _opening(limb: Limb, spine: Patch, edges: np.ndarray, k: int, s0: float, s1: float) -> float:
    """How far, mm, the slit between gores k and k + 1 opens on skin at most."""
    s = np.linspace(s0, s1, 24)
    return max(0.0, -float(_gaps(_gore(limb, spine, edges, k), _gore(limb, spine, edges, k + 1),
                                 np.column_stack([np.full(24, edges[k + 1]), s])).min()))


def _gaps(left: Gore, right: Gore, us: np.ndarray) -> np.ndarray:
    """From the left gore's edge to the right one's on paper, mm, at places on the cut: positive where
    paper is to be taken out, negative where the slit will open on skin."""
    a, b = left.to_flat(us), right.to_flat(us)
    ahead = left.to_flat(us + np.array([1e-4, 0.0])) - a
    return ((b - a) * ahead).sum(axis=1) / np.maximum(np.hypot(*ahead.T), 1e-12)


def _bands(limb: Limb, s0: float, s1: float) -> Iterator[tuple[list[float], float]]:
    """Levels to part at for 2, 3 ... papers, so that the worst of their cones fits best."""
    knots = np.linspace(s0, s1, 21)
    off = np.full((21, 21), np.inf)
    for i in range(20):
        for j in range(i + 3, 21):
            s = np.linspace(knots[i], knots[j], 17)
            c = limb.girth(s)
            fit = np.polyval(np.polyfit(s - s0, c, 1), s - s0)
            off[i, j] = np.abs(c / np.maximum(fit, 1.0) - 1).max()
    best, back = off[0].copy(), []
    for _ in range(2, MOST_BANDS + 1):
        through = np.maximum(best[:, None], off)
        back.append(through.argmin(axis=0))
        best = through.min(axis=0)
        if not np.isfinite(best[20]):
            return
        at, lines = 20, []
        for row in reversed(back):
            at = int(row[at])
            lines.append(float(knots[at]))
        yield lines[::-1], float(best[20])


# ---- doing it

def _whole(stencil: Stencil, us: np.ndarray, limits: Limits) -> Cut:
    left = _signed(stretches(stencil.limb, stencil.chart, stencil.chart.to_flat(us)))
    cell = Cell(stencil.outline, None)
    loose = _freehand(stencil, us, left, limits)
    leaf = leaf_of(stencil, "", [cell], loose)
    error = _error(stencil, [stencil.chart], [us])
    return _told(stencil, Cut("whole", (leaf,), _worst(left), error, freehand_mm2=float(leaf.freehand.area),
                             cells=(cell,)), limits)


def _made(stencil: Stencil, draft: _Draft, us: np.ndarray, limits: Limits) -> Cut:
    """The papers of a draft, with their art on them."""
    loose = _freehand(stencil, us, draft.left, limits)
    several = len(draft.papers) > 1
    trims = list(draft.trims) if draft.trims else None
    leaves = tuple(leaf_of(stencil, "ABCDEFGH"[k] if several else "", list(cells), loose, trims, cuts=draft.cuts,
                           ticks=draft.ticks[k]) for k, cells in enumerate(draft.papers))
    return _told(stencil, Cut(draft.way, leaves, draft.stretch, draft.error_mm, draft.crossed_mm, draft.opens_mm,
                              float(sum(v.freehand.area for v in leaves)),
                              cells=tuple(c for cells in draft.papers for c in cells)), limits)


def _true(stencil: Stencil, us: np.ndarray) -> _Draft:
    (u0, s0), (u1, s1) = us.min(axis=0), us.max(axis=0)
    gore = gore_on(stencil.limb, tangent_patch(stencil.limb, (u0 + u1) / 2, (s0 + s1) / 2), (u0 + u1) / 2)
    return _Draft("true", ((Cell(stencil.outline, gore),),), (), (), ((),), _signed(gore.stretches(us)),
                  lambda: _error(stencil, [gore], [us]))


def _on_skin(stencil: Stencil, g: BaseGeometry) -> BaseGeometry:
    return shapely.make_valid(shapely.transform(shapely.segmentize(g, 2.0), stencil.chart.to_skin))


def _back(stencil: Stencil, g: BaseGeometry) -> BaseGeometry:
    """A region of skin in the stencil's chart."""
    c = float(stencil.limb.girth(stencil.chart.s0_mm))
    fine = shapely.transform(shapely.segmentize(shapely.transform(g, lambda p: p * (c, 1.0)), 2.0),
                             lambda p: p / (c, 1.0))
    return shapely.make_valid(shapely.transform(fine, stencil.chart.to_flat))


def _slit(stencil: Stencil, field: Field, lines: tuple[float, ...], us: np.ndarray) -> _Draft | None:
    limb, (u0, s0), (u1, s1) = stencil.limb, us.min(axis=0), us.max(axis=0)
    middle = (s0 + s1) / 2
    spine = tangent_patch(limb, (u0 + u1) / 2, middle)
    edges = np.array([u0, *lines, u1])
    skin = stencil.chart.to_skin(field.middles)
    shape = field.cost.shape
    u, s = skin[:, 0].reshape(shape), skin[:, 1].reshape(shape)
    half = ASIDE * float(np.diff(edges).min())
    form = _on_skin(stencil, stencil.outline)
    cells: list[Cell] = []
    where: list[Gore] = []
    trims: list[BaseGeometry] = []
    cuts, ticks, crossed, opens = [], [], 0.0, 0.0
    for up in (True, False):
        half_form = shapely.intersection(form, shapely.box(-FAR, middle, FAR, 1e5) if up else
                                         shapely.box(-FAR, -1e5, FAR, middle))
        ways: list[np.ndarray | None] = []
        for line in lines:
            ahead = (s >= middle) if up else (s <= middle)
            across = np.where(ahead, (u - line) / half, np.nan)
            ways.append(None)
            if not _parts(stencil, us, line, middle, up):
                continue
            on = s[field.paper & (np.abs(np.nan_to_num(across, nan=9.0)) <= 1)]
            last = on.max() if up else on.min()
            ways[-1] = quiet_way(field, across, np.abs(s - middle) < 1.0, np.abs(s - last) < 1.0,
                                 "up" if up else "down")
            if ways[-1] is None:
                return None
        here, gores, joins = _strips(stencil, half_form, ways, edges, spine, middle, up)
        base = len(cells)
        cells += here
        where += gores
        trims += [Polygon() for _ in here]
        for k, way in joins:
            got = _join(stencil, way, here[k], here[k + 1], gores[k], gores[k + 1], up)
            trims[base + k] = shapely.union(trims[base + k], got[0])
            trims[base + k + 1] = shapely.union(trims[base + k + 1], got[1])
            cuts += got[2]
            ticks += got[3]
            opens = max(opens, got[4])
            crossed += crossed_mm(way, stencil.art.lines)
    if not cuts and not ticks:
        return None
    left, groups = np.zeros(len(us)), []
    flat = stencil.chart.to_flat(us)
    for cell, gore in zip(cells, where, strict=True):
        on = shapely.contains_xy(cell.region, flat[:, 0], flat[:, 1])
        left[on] = _signed(gore.stretches(us[on]))
        groups.append(us[on])
    return _Draft("slits", (tuple(cells),), tuple(trims), tuple(cuts), (tuple(ticks),), left,
                  lambda: _error(stencil, where, groups), crossed, opens)


def _parts(stencil: Stencil, us: np.ndarray, line: float, middle: float, up: bool) -> bool:
    """Whether a slit along u = `line` on one side of the spine has art on both sides of it."""
    here = us[us[:, 1] > middle + 8] if up else us[us[:, 1] < middle - 8]
    if not len(here):
        return False
    c = stencil.limb.girth(here[:, 1])
    aside = (here[:, 0] - line) * c
    return float(-aside.min()) > LEAST_MM and float(aside.max()) > LEAST_MM


def _strips(stencil: Stencil, form: BaseGeometry, ways: list[np.ndarray | None], edges: np.ndarray, spine: Patch,
            middle: float, up: bool) -> tuple[list[Cell], list[Gore], list[tuple[int, np.ndarray]]]:
    """Cells of one side of the spine between its slits; where a slit has nothing to part, none is made."""
    kept = [(e, w) for e, w in zip(edges[1:-1], ways, strict=True) if w is not None]
    bounds = [edges[0], *(e for e, _ in kept), edges[-1]]
    beyond = 1e5 if up else -1e5
    tracks = [np.array([[-FAR, middle], [-FAR, beyond]])]
    for _, way in kept:
        t = stencil.chart.to_skin(way)
        t[0, 1] = middle
        tracks.append(np.vstack([t, [t[-1, 0], beyond]]))
    tracks.append(np.array([[FAR, middle], [FAR, beyond]]))
    cells, gores = [], []
    for k in range(len(tracks) - 1):
        strip = shapely.make_valid(Polygon(np.vstack([tracks[k], tracks[k + 1][::-1]])))
        gore = gore_on(stencil.limb, spine, float(bounds[k] + bounds[k + 1]) / 2)
        cells.append(Cell(_back(stencil, shapely.intersection(form, strip)), gore))
        gores.append(gore)
    return cells, gores, [(k, w) for k, (_, w) in enumerate(kept)]


def _join(stencil: Stencil, way: np.ndarray, a: Cell, b: Cell, left: Gore, right: Gore, up: bool
          ) -> tuple[BaseGeometry, BaseGeometry, list[np.ndarray], list, float]:
    """What each of two gores gives up where their papers would overlap, the line to cut there, ticks,
    and how far the slit opens on skin."""
    us = stencil.chart.to_skin(np.asarray(shapely.segmentize(LineString(way), 1.0).coords))
    gap = _gaps(left, right, us)
    pa, pb = left.to_flat(us), right.to_flat(us)
    mid = (pa + pb) / 2
    over = gap < -0.02
    give_a = give_b = Polygon()
    if over.any():
        give_a = shapely.make_valid(Polygon(np.vstack([mid, pa[::-1]])))
        give_b = shapely.make_valid(Polygon(np.vstack([mid, pb[::-1]])))
    wide = np.abs(gap) > 0.3
    cuts, ticks = [], []
    if wide.any():
        first = int(np.argmax(wide))
        if (gap[first:] < 0).any():
            cuts.append(mid[first:])
        tail = stencil.chart.to_flat(us[first:])
        if len(tail) > 2:
            # a way down the limb has the right-hand gore on its left side
            one, two = tick_pairs(stencil, tail, *((a, b) if up else (b, a)), 1, False)
            ticks = [*one, *two]
    xy = stencil.chart.to_flat(us)
    on = gap[shapely.contains_xy(stencil.body, xy[:, 0], xy[:, 1])]
    return give_a, give_b, cuts, ticks, max(0.0, -float(on.min(initial=0.0)))


def _split(stencil: Stencil, field: Field, lines: tuple[float, ...], us: np.ndarray) -> _Draft | None:
    limb, s0, s1 = stencil.limb, float(us[:, 1].min()), float(us[:, 1].max())
    edges = np.array([s0, *lines, s1])
    skin = stencil.chart.to_skin(field.middles)
    shape = field.cost.shape
    u, s = skin[:, 0].reshape(shape), skin[:, 1].reshape(shape)
    half = ASIDE * float(np.diff(edges).min())
    near = 1.0 / float(limb.girth(stencil.chart.s0_mm))
    ways = []
    for line in lines:
        across = (s - line) / half
        on = u[field.paper & (np.abs(across) <= 1)]
        if not len(on):
            return None
        way = quiet_way(field, across, np.abs(u - on.min()) < near, np.abs(u - on.max()) < near, "right")
        if way is None:
            return None
        ways.append(way if way[0, 0] <= way[-1, 0] else way[::-1])
    form = _on_skin(stencil, stencil.outline)
    tracks = [np.array([[-FAR, -1e5], [FAR, -1e5]])]
    for way in ways:
        t = stencil.chart.to_skin(way)
        tracks.append(np.vstack([[-FAR, t[0, 1]], t, [FAR, t[-1, 1]]]))
    tracks.append(np.array([[-FAR, 1e5], [FAR, 1e5]]))
    cells, papers, groups, left = [], [], [], np.zeros(len(us))
    flat = stencil.chart.to_flat(us)
    for k in range(len(tracks) - 1):
        strip = shapely.make_valid(Polygon(np.vstack([tracks[k], tracks[k + 1][::-1]])))
        region = _back(stencil, shapely.intersection(form, strip))
        on = shapely.contains_xy(region, flat[:, 0], flat[:, 1])
        if not on.any():
            return None
        (a0, b0), (a1, b1) = us[on].min(axis=0), us[on].max(axis=0)
        paper = lay_patch(limb, (a0 + a1) / 2, (b0 + b1) / 2, (b1 - b0) / 2, (b1 - b0) / 2)
        left[on] = _signed(stretches(limb, paper, paper.to_flat(us[on])))
        cells.append(Cell(region, paper))
        papers.append(paper)
        groups.append(us[on])
    marks: list[list[Tick]] = [[] for _ in cells]
    for k, way in enumerate(ways):
        above, below = tick_pairs(stencil, way, cells[k + 1], cells[k], 1 + 20 * k, True)
        marks[k] += below
        marks[k + 1] += above
    return _Draft("split", tuple((c,) for c in cells), (), (), tuple(map(tuple, marks)), left,
                  lambda: _error(stencil, papers, groups), sum(crossed_mm(w, stencil.art.lines) for w in ways))


def _freehand(stencil: Stencil, us: np.ndarray, left: np.ndarray, limits: Limits) -> BaseGeometry:
    """Where paper can't lie, in the stencil's chart: round the places that stay beyond the limit."""
    bad = stencil.chart.to_flat(us[np.abs(left) >= limits.act])
    if not len(bad):
        return Polygon()
    r = GRID_MM / 2
    grown = shapely.union_all(shapely.box(*(bad - r).T, *(bad + r).T))
    smooth = shapely.buffer(shapely.buffer(shapely.buffer(grown, 2 * r), -3 * r), r)
    return shapely.intersection(smooth, stencil.outline)


def _error(stencil: Stencil, charts: list, groups: list[np.ndarray]) -> float:
    """Largest difference, mm, between a straight line on one cell's paper and its length on skin."""
    most = 0.0
    for chart, us in zip(charts, groups, strict=True):
        if len(us) < 2:
            continue
        flat = chart.to_flat(us)
        hull = shapely.convex_hull(shapely.multipoints(flat))
        if hull.geom_type != "Polygon":
            continue
        rim = np.asarray(shapely.segmentize(hull, 25.0).exterior.coords)[:-1]
        rim = rim[np.linspace(0, len(rim) - 1, min(len(rim), 20)).astype(int)]
        i, j = np.triu_indices(len(rim), 1)
        t = np.linspace(0, 1, 16)[:, None, None]
        way = (rim[i] * (1 - t) + rim[j] * t).transpose(1, 0, 2)
        skin = chart.to_skin(way.reshape(-1, 2)).reshape(way.shape)
        if stencil.limb.closed:
            a, b = skin[:, :-1].reshape(-1, 2), skin[:, 1:].reshape(-1, 2)
            c = stencil.limb.girth((a[:, 1] + b[:, 1]) / 2)
            steps = np.hypot((b[:, 0] - a[:, 0]) * c, b[:, 1] - a[:, 1]).reshape(len(i), -1).sum(axis=1)
        else:
            space = stencil.limb.embed(skin.reshape(-1, 2)).reshape(*skin.shape[:2], 3)
            steps = np.linalg.norm(np.diff(space, axis=1), axis=2).sum(axis=1)
        most = max(most, float(np.abs(steps - np.hypot(*(rim[i] - rim[j]).T)).max()))
    return most


def _percent(share: float) -> str:
    return "less than 1%" if share < 0.0095 else f"{100 * share:.0f}%"


def _told(stencil: Stencil, cut: Cut, limits: Limits) -> Cut:
    off, before = abs(cut.stretch), abs(stencil.fit.stretch)
    n = len(cut.leaves)
    slits = sum(1 for _ in cut.leaves[0].cuts) if cut.way == "slits" else 0
    head = {
        "whole": "Lies flat in one paper" if off < limits.warn else "One paper, uncut",
        "true": "One paper without cuts, redrawn so that it lies true",
        "slits": f"One paper with {slits} slits" if slits else "One paper with wedges to cut out",
        "split": f"{n} papers",
    }[cut.way]
    words = f"{head}: off by {_percent(off)} at most"
    if cut.way != "whole":
        words += f" (uncut {_percent(before)})"
    words += f", {cut.error_mm:.1f} mm across it."
    if cut.opens_mm > 0.5:
        words += f" The slits open by up to {cut.opens_mm:.0f} mm on skin; draw the lines across them by hand."
    if limits.warn <= off < limits.act:
        words += " Stretch the skin a little while you lay it."
    if cut.freehand_mm2 > 1:
        words += (f" On {cut.freehand_mm2 / 100:.0f} cm² paper can't lie; that area is marked freehand.")
    return replace(cut, sentence=words)
