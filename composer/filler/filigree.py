"""Filigree: scrollwork that ties the neighbours of a gap together and fills it evenly."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.art.drawing import Drawing, End, Layer
from composer.filler import filigree_ink as ink
from composer.filler.cloud_ink import on_grid
from composer.filler.filigree_arms import arms
from composer.filler.filigree_fill import Growth
from composer.filler.filigree_grow import Stroke
from composer.filler.filigree_mirror import Axis, HalfGap, chosen_half, half_of
from composer.filler.filigree_roots import axis, backbone, beads, met_by, second_root
from composer.filler.filigree_sketch import in_ink
from composer.filler.filigree_stem import shores
from composer.filler.filigree_white import EVEN, RAGGED, REACHED, White, pruned, white_of
from composer.filler.ground import Ground, Wish
from composer.plan.model import Hand

KIND = "filigree"
FILLED, REFILLS = ((False, True), (False,), (True,)), 3
"""How first passes are filled until the white is as asked (whether into smaller voids than usual: that makes too even
a white more varied, too), and how often each is filled up."""
NEARER = 0.02
"""Another first pass than the one that was sketched has to come so much nearer to it."""
NEIGHBOURS = 2
SPARSE = 0.4
"""Where the artist asks for less density than this, or for fading out, white is as it comes."""
FULLER = 0.75
"""A second drawing fills voids of so much less radius where the first left too much bare."""
LONG_ARM_MM = 5.0
"""Radius of the empty disc above which a symmetric one goes on with smaller scrolls."""
LEFT_OVER_MM = 4.6
"""Radius of the empty disc above which the passes are gone through once more at the end."""
WIDE_VOID_MM = 5.2
"""Radius of the empty disc above which a second root is tried."""
NARROW_MM, SPARED = 8.6, 1.35
"""In a mirrored ground of less than the first to either side small curls want pockets so much wider."""
REST_SHARE, REST_MM = 0.115, (3.3, 7.2)
"""Radius of the place that is left open on purpose: its share of the root of the gap's area, and mm."""
FORK_MM = 0.8
"""How wide the crotch of a fork may be where its filling ends."""


def propose(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Drawing | None:
    """One filigree for this ground, or None where a stem finds no way. Symmetric about the
    ground's mirror axis if it has one."""
    g = best_of(lambda: begin(ground, hand, wish, rng))
    return finish(g) if g is not None else None


def sketch(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Drawing | None:
    """The first pass of what `propose` draws of the same: stems and the larger scrolls."""
    begun = begin(ground, hand, wish, rng)
    return first_pass(begun) if begun is not None else None


@dataclass(frozen=True)
class Begun:
    """A filigree as far as its first pass goes: stems and the larger scrolls. `half`: of a symmetric one, whose other
    half is not there yet; `axis` about which, where the ground does not say it."""

    g: Growth
    half: HalfGap | None = None
    axis: Axis | None = None

    def grown(self, fuller: bool) -> Growth | None:
        """One filigree that goes on from here, its white as it comes; None where it stays bare."""
        g = self.g.copy()
        fill(g, fuller)
        if self.half is None:
            meet(g)
            return g
        beads(g)
        if len(g.strokes) < 2:
            return None
        g = both_sides(g, self.half)
        if self.axis is not None:
            many = len(g.strokes)
            g.core = self.half
            meet(g)
            outrun(g)
            g.pairs += range(many, len(g.strokes))
            g.mirror = {"at": [self.axis.at.real, self.axis.at.imag], "deg": self.axis.deg, "share": self.axis.share}
        return g


def begin(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator, mirrored: bool = False) -> Begun | None:
    """Stems and the larger scrolls of a filigree; None where a stem finds no way or no axis runs through. `mirrored`:
    about an axis that suits the ground."""
    half: HalfGap | None = None
    about: Axis | None = None
    if mirrored:
        found = chosen_half(ground, rng)
        if found is None:
            return None
        half, about = found
    elif ground.symmetry_deg is not None:
        half = half_of(ground)
        if half is None:
            return None
    g = Growth(ground, hand, wish, rng, half)
    if half is None:
        if not backbone(g):
            return None
    else:
        axis(g, half)
        arms(g, half)
    first_scrolls(g)
    return Begun(g, half, about)


def first_pass(begun: Begun) -> Drawing | None:
    """The sketch of what is begun; None where that is a bare stem on an axis."""
    if begun.half is None:
        strokes = begun.g.strokes
    elif len(begun.g.strokes) < 2:
        return None
    else:
        strokes = images(begun.g.strokes, begun.half)
    line = in_ink(strokes)
    return Drawing.of(line, (Layer.of("line", line),))


def best_of(start: Callable[[], Begun | None]) -> Growth | None:
    """The filigree whose white is as asked, gone on to from a first pass in one or two ways, or from another first pass
    where none of the first comes near; the nearest to it where none is."""
    best: tuple[float, Growth] | None = None
    for k, ways in enumerate(FILLED):
        begun = start()
        for fuller in ways:
            g = begun.grown(fuller) if begun is not None else None
            if g is None:
                break
            g.anew = k > 0
            if not asked(g):
                return g
            white = settled(g)
            if best is None or white.off < best[0] - (NEARER if g.anew else 0.0):
                best = white.off, g
            if white.off == 0:
                return g
        if best is None and k == 0:
            break
    return best[1] if best is not None else None


def asked(g: Growth) -> bool:
    """Whether the usual white is asked for: not where the artist wishes it sparse or fading out."""
    return g.wish.density >= SPARSE and g.wish.fade_mm <= 0


def settled(g: Growth) -> White:
    """Fill up what is left too bare (of a symmetric one beside its core), take away what makes it too even; the figures
    then."""
    white = white_of(g)
    for _ in range(REFILLS):
        if (white.reach >= REACHED and white.cv <= RAGGED) or (g.pairs and g.core is None):
            break
        many = len(g.strokes)
        refill(g)
        if g.pairs:
            g.pairs += range(2 * many, many + len(g.strokes))
        white = white_of(g)
    white = pruned(g) if white.cv < EVEN else white
    return replace(white, unmet=unmet(g))


def unmet(g: Growth) -> int:
    """How many neighbours more there should and could be behind which it runs."""
    most = min(NEIGHBOURS, len(shores(g.ground)))
    return max(most - len(met_by(g)), 0) if most else 0


def refill(g: Growth) -> None:
    """One more round into what is left bare, and from behind a neighbour if there is only the backbone so far."""
    top = float(np.clip(g.room.wall.max() * 0.9, 4.0, 9.0 * g.wish.size))
    if loose(g) < 2:
        second_root(g, 2.7, top)
    g.spare = min(0.8 * g.spare, 0.8)
    g.scrolls(2.7, top, 8, 1.9)
    g.leaves(4.0, 13.0, 8, 2.0)


def loose(g: Growth) -> int:
    """How many parts hang on nothing else; two are enough."""
    return sum(s.parent < 0 for s in g.strokes)


def meet(g: Growth) -> None:
    """One more scroll from behind a neighbour that is not met yet, where two should be and there is room."""
    if loose(g) < 2 and unmet(g):
        second_root(g, 2.7, float(np.clip(g.room.wall.max(), 4.0, 12.0 * g.wish.size)), True)


def mirrored(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Drawing | None:
    """One filigree symmetric about an axis that suits the ground; where the gap has skin without a
    mirror image, scrolls run out into it from the symmetric core. None where no axis runs through."""
    g = best_of(lambda: begin(ground, hand, wish, rng, True))
    if g is None:
        return None
    # a stroke without mirror image that does not lie on the axis runs out into skin that has none
    alone = [n for n, many in Counter(g.pairs).items() if many == 1 and n != 0]
    made = finish(g)
    return replace(made, notes={**made.notes, "mirror": {**g.mirror, "outrunners": len(alone)}})


def sketch_mirrored(ground: Ground, hand: Hand, wish: Wish, rng: np.random.Generator) -> Drawing | None:
    """The first pass of what `mirrored` draws of the same."""
    begun = begin(ground, hand, wish, rng, True)
    return first_pass(begun) if begun is not None else None


def images(strokes: Sequence[Stroke], half: HalfGap) -> list[Stroke]:
    """The strokes of a half and, but for the stem on the axis, their mirror images, in the gap."""
    n = len(strokes)
    return [*(replace(s, z=half.home(s.z)) for s in strokes),
            *(replace(s, z=half.home(-s.z.conj()), side=-s.side, eye=-s.eye, parent=_image(s.parent, n))
              for s in strokes[1:])]


def _image(of: int, n: int) -> int:
    """The number of a stroke's mirror image where a half has `n` strokes."""
    return of if of <= 0 else n + of - 1


def both_sides(g: Growth, half: HalfGap) -> Growth:
    """The strokes of a half and their mirror images, in the gap."""
    whole = Growth(g.ground, g.hand, g.wish, g.rng)
    n = len(g.strokes)
    whole.pairs = [*range(n), *range(1, n)]
    for s in images(g.strokes, half):
        whole.add(s)
    for owner, z, h in g.lobes:
        whole.lobes += [(owner, half.home(z), h), (_image(owner, n), half.home(-z.conj()), h)]
    for _, z, h in whole.lobes:
        whole.room.stamp(z[::2], h[::2])
    return whole


def outrun(g: Growth) -> None:
    """Free scrolls and leaves where the gap has no mirror image."""
    widest = float(g.void().max())
    if widest < LEFT_OVER_MM:
        return
    top = float(np.clip(widest, 4.0, 15.0 * g.wish.size))
    if loose(g) < 2:
        second_root(g, 3.4, top)
    g.scrolls(3.6, top, 8, 2.0)
    g.leaves(6.0, 14.0, 8, 2.2)
    g.scrolls(2.7, 5.2, 10, 1.7)
    g.leaves(4.0, 9.0, 10, 2.0)


def first_scrolls(g: Growth) -> None:
    """Sizes as an artist sets them: one or two large scrolls, a place left open beside them, scrolls of middle
    size."""
    top, middle = sizes(g)
    g.scrolls(max(0.62 * top, 4.6), top, 2)
    area = g.ground.free.area * (1.0 if g.half is None else 0.8)
    g.rest(float(np.clip(REST_SHARE * np.sqrt(area), *REST_MM)) * g.wish.size)
    g.scrolls(5.2, middle, max(2, round(12 / g.spare**2)), 2.6)


def sizes(g: Growth) -> tuple[float, float]:
    """The largest scroll and the largest of the middle ones, mm."""
    top = float(np.clip(g.room.wall.max() * 0.9, 4.0, 17.0 * g.wish.size))
    return top, max(0.62 * top, 5.2)


def fill(g: Growth, fuller: bool) -> None:
    """On from the larger scrolls: leaves, and few small curls in what is left. `fuller`: into smaller voids."""
    wide, (top, middle) = float(g.room.wall.max()), sizes(g)
    if fuller:
        g.spare *= FULLER
        g.scrolls(5.2, middle, max(2, round(12 / g.spare**2)), 2.6)
    if g.half is not None and float(g.room.void().max()) > LONG_ARM_MM:
        # half a gap has no backbone: scrolls walk into its arms before leaves bar the way
        g.scrolls(3.6, middle, 8)
    if g.half is None and float(g.room.void().max()) > WIDE_VOID_MM:
        second_root(g, 4.2, top)
        g.scrolls(5.2, middle, 6, 2.6)
    g.leaves(7.0, 15.0, 8, 2.4)
    if g.half is not None and wide < NARROW_MM:
        # both sides filled to the last pocket are too even a pattern
        g.spare *= SPARED
    g.scrolls(3.0, 5.2, 14, 1.7)
    g.leaves(4.0, 9.0, 16, 2.3)
    g.scrolls(2.7, 4.0, 6, 2.2)
    if float(g.room.void().max()) > LEFT_OVER_MM * g.spare:
        g.scrolls(3.0, top, 3, 2.0)
        g.leaves(5.0, 13.0, 3, 2.3)


def forks(g: Growth) -> list[tuple[BaseGeometry | None, complex, float]]:
    """The webs of all forks: between each branch and its parent, and between neighbours that
    leave the parent close together on one side."""
    out = []
    gap = g.ground.line_gap_mm
    by_parent: dict[tuple[int, int], list[Stroke]] = {}
    for s in g.strokes:
        if s.parent >= 0:
            parent = g.strokes[s.parent]
            out.append(ink.web(s, parent, parent.joint_span(s.joint), FORK_MM, gap))
            by_parent.setdefault((s.parent, s.side), []).append(s)
    for group in by_parent.values():
        group.sort(key=lambda s: s.joint)
        for a, b in itertools.pairwise(group):
            if b.joint - a.joint < 24:
                between = g.strokes[a.parent].z[a.joint : b.joint + 1]
                out.append(ink.web(a, b, slice(0, 48), FORK_MM, gap, between))
    return out


def finish(g: Growth) -> Drawing:
    """Polygons, ends and notes of a growth."""
    lines: list[BaseGeometry] = []
    blacks: list[BaseGeometry] = []
    joints: list[tuple[complex, float]] = []
    ends: list[tuple[complex, str]] = []
    for s in g.strokes:
        (blacks if s.what == "leaf" else lines).append(ink.body(s.z, s.half))
        if s.ball:
            lines += ink.ball(s)
            joints.append((s.ball_at, 1.9 * s.ball + 0.3))
        if s.root:
            ends.append((s.z[0], s.root))
        ends.append((s.z[-1], s.end))
    for fork, at, span in forks(g):
        if fork is not None:
            lines.append(fork)
        joints.append((at, span))
    for _owner, z, h in g.lobes:
        blacks.append(ink.body(z, h))
        ends.append((z[-1], "tip"))
        joints.append((z[len(z) // 3], 0.58 * float(np.abs(np.diff(z)).sum()) + 0.4))
    line, black = shapely.union_all(lines), shapely.union_all(blacks)
    spines = [s.z[::5] for s in g.strokes]
    layers = [Layer("line", on_grid(line))]
    if not black.is_empty:
        layers.insert(0, Layer("black", on_grid(black)))
    notes = {"joints": [[round(float(at.real), 3), round(float(at.imag), 3), round(float(d), 2)] for at, d in joints],
             **({"anew": True} if g.anew else {}),
             "spines": [[round(float(v), 2) for z in spine for v in (z.real, z.imag)] for spine in spines]}
    return Drawing(on_grid(shapely.union_all([line, black])), tuple(layers),
                   tuple(End(float(at.real), float(at.imag), how) for at, how in ends), notes)
