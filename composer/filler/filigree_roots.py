"""Where a filigree comes from: the backbone between two neighbours, the stem on a mirror axis
with its bud and beads, a second root beside a wide void."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from composer.filler.filigree_curves import smoothed
from composer.filler.filigree_fill import Growth
from composer.filler.filigree_fit import draw, fit
from composer.filler.filigree_grow import STEP_MM, Sites, Stroke, comma_half
from composer.filler.filigree_mirror import HalfGap
from composer.filler.filigree_stem import Foot, feet_of, middle_way, rank_pairs, shores, wave
from composer.filler.filigree_stock import ball_mm, scroll_stock

FAR_MM = 20.0
MET_MM = 0.5
ABOUT_MM = 7.0
"""So far round the heart of a void the nearest places of what lies in front are looked for as well."""
SWELL, BEND_MM = 0.2, 2.4
"""How much heavier and lighter a stem is in and between its bends, and over what length it swells."""


def backbone(g: Growth) -> bool:
    """Tie two ports by a waving stem, or else run one through the gap; False where no way is clear."""
    if _tie(g, feet_of(g.ground, g.room)):
        return True
    return not g.ground.ends and _tie(g, feet_of(replace(g.ground, ports=(), front=shapely.Polygon()), g.room))


def _tie(g: Growth, feet: list[Foot]) -> bool:
    """Tie two of these feet by a waving stem."""
    pairs = rank_pairs(g.ground, feet)
    if not pairs:
        return False
    good = [p for p in pairs if p[0] > 0.72 * pairs[0][0]][:3]
    order = g.rng.permutation(len(good)).tolist() + list(range(len(good), min(len(pairs), 6)))
    lean, pitch = g.rng.uniform(0.45, 0.66), g.rng.uniform(0.92, 1.15)
    first = int(g.rng.choice([-1, 1]))
    turned = g.rng.random(len(pairs)) < 0.5
    for bend in (6.0, 4.0, 2.6):
        for n in order:
            _, i, j = pairs[n]
            a, b = (feet[j], feet[i]) if turned[n] else (feet[i], feet[j])
            way = middle_way(g.ground, a.at, b.at)
            for side in (first, -first):
                z = wave(g.room, way, a, b, g.k, lean, side, pitch, bend)
                if z is not None:
                    g.add(stem(g, z, a, b))
                    g.used |= {a.owner, b.owner}
                    return True
    return False


def stem(g: Growth, z: np.ndarray, a: Foot, b: Foot) -> Stroke:
    """The backbone as a stroke, run on behind the neighbours at both feet."""
    if a.owner:
        z = np.concatenate([tail(g, z[0], z[0] - z[1], a)[::-1], z])
    if b.owner:
        z = np.concatenate([z, tail(g, z[-1], z[-1] - z[-2], b)])
    t = np.linspace(0, 1, len(z))
    full = g.k * float(np.clip(0.62 + 0.028 * g.room.wall.max(), 0.6, 1.15))
    half = full * (0.56 + 0.38 * np.sin(np.pi * t) ** 0.9) * rhythm(z)
    if not a.owner:
        half *= np.clip(0.35 + t * 6, 0, 1)
    if not b.owner:
        half *= np.clip(0.25 + (1 - t) * 5, 0, 1)
    return Stroke(z, np.maximum(half, g.fine), "stem", 1, 0, end="tucked" if b.owner else "tip",
                  root="tucked" if a.owner else "tip", tuck=g.wish.tuck_mm)


def rhythm(z: np.ndarray) -> np.ndarray:
    """Shares (n,) by which a stem is heavier in its bends and lighter where it swings over, as a pen writes it."""
    t = np.diff(z)
    bent = smoothed(np.abs(np.angle(t[1:] / t[:-1])), BEND_MM / STEP_MM)
    bent = np.concatenate([bent[:1], bent, bent[-1:]])
    return 1.0 + SWELL * (2.0 * bent / max(float(bent.max()), 0.02) - 0.8)


def tail(g: Growth, at: complex, on: complex, foot: Foot) -> np.ndarray:
    """The run behind a neighbour: straight on, or square to its outline if that would miss it; short of where it
    would come out again."""
    on /= abs(on)
    run = hidden(g.ground.front, at, on, g.wish.tuck_mm)
    return run if len(run) else hidden(g.ground.front, at, -foot.out, g.wish.tuck_mm, True)


def hidden(front: BaseGeometry, at: complex, on: complex, tuck_mm: float, always: bool = False) -> np.ndarray:
    """The way (complex, from `at` on) that a stroke runs straight on until it lies behind something, as far as it is
    wished to be tucked and does not come out again; empty where it nowhere is (or all of it, with `always`)."""
    way = at + on * np.arange(STEP_MM, max(tuck_mm, 0.8), STEP_MM)
    behind = np.flatnonzero(shapely.contains_xy(front, way.real, way.imag))
    if not len(behind):
        return way if always else way[:0]
    first = np.flatnonzero(np.diff(behind) > 1)
    return way[: behind[int(first[0]) if len(first) else -1] + 1]


def axis(g: Growth, half: HalfGap) -> None:
    """The stem on a mirror axis, ending in a bud; where it isn't, the axis itself keeps
    strokes half a line gap away."""
    length = half.top - half.root
    run = hidden(half.front, 1j * half.root, -1j, g.ground.skin_break_mm + g.wish.tuck_mm) if half.tucked else ()
    tuck = len(run) * STEP_MM
    y = np.arange(half.root - tuck, half.top - 0.3, STEP_MM)
    full = g.k * float(np.clip(0.55 + 0.02 * length, 0.6, 1.0))
    bud = float(np.clip(0.22 * length, 4.0, 11.0))
    u = np.clip((half.top - y) / bud, 0, 1)
    stem = full * (1.0 - 0.4 * np.clip((y - half.root) / length, 0, 1))
    width = np.where(u < 1, comma_half(1 - u, float(stem[-1]), 0.21 * bud, g.fine, 0.38), stem)
    width = np.minimum(width, np.maximum(g.room.look_wall(1j * y) - 0.15, 0) + 99.0 * (y < half.root + 6.0))
    if not half.tucked:
        width *= np.clip(0.2 + (y - half.root) / 6.0, 0, 1)
    line = 1j * np.arange(half.low, half.high, 0.8)
    g.room.stamp(line, np.full(len(line), -g.gap / 2))
    bare = int(bud / STEP_MM)
    g.add(Stroke(1j * y, np.maximum(width, g.fine), "stem", 1, 0, end="tip",
                    root="tucked" if half.tucked else "tip", tuck=tuck, bare=bare))


def beads(g: Growth) -> None:
    """Nodes on the bare stretches of the stem on the axis, where there is room for them."""
    stem = g.strokes[0]
    taken = np.array([stem.z[s.joint].imag for s in g.strokes if s.parent == 0])
    all_z, all_half, owner, _ = g.points
    others, other_half = all_z[owner != 0], all_half[owner != 0]
    half, y = stem.half.copy(), stem.z.imag
    swell, length = 0.62 * g.k, 2.6
    for at in np.arange(y[0] + stem.tuck + 7.0, y[-1] - stem.bare * STEP_MM - 3.0, 0.8):
        wide = swell + float(np.interp(at, y, stem.half))
        if len(taken) and np.abs(taken - at).min() < 6.0:
            continue
        if g.room.look(np.array([1j * at]))[0][0] < wide + 0.3:
            continue
        if len(others) and (np.abs(others - 1j * at) - other_half).min() < wide + g.gap:
            continue
        u = np.clip(np.abs(y - at) / length, 0, 1)
        half += swell * np.cos(u * np.pi / 2) ** 2
        taken = np.append(taken, at + 2.0)
    stem.half = half


def second_root(g: Growth, least_mm: float, largest_mm: float, unmet: bool = False) -> None:
    """Where a wide void is left, one more scroll from behind a neighbour beside it; one that the
    backbone does not meet if there is such a port, or (`unmet`) only such."""
    stock = scroll_stock(round(least_mm, 2), round(largest_mm, 2), g.nib, round(g.k, 4), g.gap)
    sites = _root_sites(g, unmet)
    if not len(sites.at) or not len(stock.r):
        return
    pool = fit(g.room, sites, stock, g.nib, g.gap)
    ok, void = g.wanted(pool)
    pool, void = pool.take(ok), void[ok]
    for i in np.argsort(-(pool.r + void), kind="stable")[:12]:
        s = draw(pool, int(i), stock.forms[pool.form[i]], g.nib, "scroll")
        k = int(pool.site[i])
        on = -pool.sites.heading[k]
        out = s.z[0] + on * np.arange(STEP_MM, pool.sites.index[k] / 10, STEP_MM)
        behind = hidden(g.ground.front, out[-1] if len(out) else s.z[0], on, g.wish.tuck_mm)
        if not len(behind):
            continue
        run = np.concatenate([out, behind])[::-1]
        wall, near = g.room.look(run)
        if np.any((near < s.half[0] + g.gap) & (wall > -3.0)):
            continue
        wall, near = g.room.look(s.z)
        if not (np.all(wall > s.half + 0.1) and np.all(near > s.half + g.gap - 0.06)):
            continue
        half = np.concatenate([np.full(len(run), s.half[0]), s.half])
        g.add(Stroke(np.concatenate([run, s.z]), half, "scroll", s.side, 0, end="ball",
                     ball=ball_mm(float(pool.r[i]), g.k), root="tucked", tuck=len(run) * STEP_MM))
        return


def met_by(g: Growth) -> set[int]:
    """Numbers of the parts of what lies in front behind which a stroke ends."""
    at = [s.z[k] for s in g.strokes for k, how in ((0, s.root), (-1, s.end)) if how == "tucked"]
    parts = shapely.get_parts(g.ground.front)
    if not at or not len(parts):
        return set()
    near = shapely.dwithin(parts[:, None], shapely.points(np.real(at), np.imag(at))[None], MET_MM)
    return set(np.flatnonzero(near.any(axis=1)).tolist())


def _root_sites(g: Growth, unmet: bool = False) -> Sites:
    """Places just inside the gap where a stroke may come out from behind a neighbour: at ports
    that are still free, and at the nearest point to the widest void; or at all neighbours that no stroke meets.
    `index` holds the way from the neighbour's outline in tenths of a millimetre."""
    if unmet:
        met = {f"front-{k}" for k in met_by(g)}
        feet = [f for f in shores(g.ground) if f.owner not in met]
    else:
        feet = [f for f in feet_of(g.ground, g.room) if f.owner and f.owner not in g.used]
    if not g.ground.front.is_empty and not unmet:
        void = g.void()
        far = np.where(void > min(2.5, 0.8 * float(void.max())), np.minimum(g.room.ink, FAR_MM) + void, 0.0)
        heart = complex(g.room.grid.ravel()[int(np.argmax(far))])
        about = heart + np.concatenate([[0.0], ABOUT_MM * np.exp(2j * np.pi * np.arange(6) / 6)])
        lines = shapely.shortest_line(g.ground.front, shapely.points(about.real, about.imag))
        for at in shapely.get_coordinates(lines)[::2] @ (1, 1j):
            if all(abs(at - f.at) > 1.0 for f in feet):
                feet.append(Foot(complex(at), complex((heart - at) / max(abs(heart - at), 1e-9)), "front"))
    half = 0.62 * g.k
    rows = []
    for f in feet:
        for lean in (0.0, 28.0, -28.0):
            out = f.out * np.exp(1j * np.radians(lean))
            for run in np.arange(1.5, 9.0, 0.5):
                if g.room.look_wall(np.array([f.at + out * run]))[0] > half + 0.5:
                    rows += [(f.at + out * run, out, side, round(10 * run)) for side in (1, -1)]
                    break
    if not rows:
        return Sites.none()
    at_, heading, side, tenths = (np.array(v) for v in zip(*rows, strict=True))
    n = len(rows)
    return Sites(at_, heading, np.full(n, half), side.astype(int), np.full(n, -1), tenths.astype(int),
                 np.zeros(n, int))
