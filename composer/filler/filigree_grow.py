"""How filigree grows: branches leave a stem tangentially on its outer side and turn the other
way; each is tested as a whole against wall and ink, for every place and size at once."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from composer.filler.filigree_curves import Form, even
from composer.filler.filigree_room import Room

STEP_MM = 0.4


@dataclass
class Stroke:
    """One stroke of filigree. `z` (n,) complex centre line in mm, `half` (n,) half widths, `what`
    'stem', 'scroll', 'curl', 'tendril' or 'leaf', `side` +1 turns left, -1 right, `level` of
    branching, `parent` and `joint` (index on the parent's centre line), `end` how it finishes,
    `ball` radius in mm or 0, `root_tucked` whether it starts behind a neighbour."""

    z: np.ndarray
    half: np.ndarray
    what: str
    side: int
    level: int
    parent: int = -1
    joint: int = 0
    end: str = "tip"
    ball: float = 0.0
    root: str = ""
    leaf: dict[str, float] = field(default_factory=dict)

    @cached_property
    def tangent(self) -> np.ndarray:
        """Unit tangents (n,) complex."""
        t = np.gradient(self.z)
        return t / np.maximum(np.abs(t), 1e-12)

    def joint_span(self, joint: int, back: int = 4, ahead: int = 45) -> slice:
        """The stretch of the centre line at which a fork's crotch can lie."""
        return slice(max(0, joint - back), min(len(self.z), joint + ahead))


@dataclass
class Sites:
    """Places where a branch may leave: `at`, `heading` (unit), `half` of the parent there, `side`
    it turns to, `owner` index of the stroke, `index` on its centre line, `level` of the parent."""

    at: np.ndarray
    heading: np.ndarray
    half: np.ndarray
    side: np.ndarray
    owner: np.ndarray
    index: np.ndarray
    level: np.ndarray

    @staticmethod
    def none() -> Sites:
        z, f, i = np.zeros(0, complex), np.zeros(0), np.zeros(0, int)
        return Sites(z, z, f, i, i, i, i)

    def plus(self, other: Sites) -> Sites:
        return Sites(*(np.concatenate([getattr(self, k), getattr(other, k)])
                       for k in ("at", "heading", "half", "side", "owner", "index", "level")))

    def take(self, which: np.ndarray) -> Sites:
        return Sites(*(getattr(self, k)[which]
                       for k in ("at", "heading", "half", "side", "owner", "index", "level")))


def sites_of(stroke: Stroke, number: int, every_mm: float = 1.0, skip_mm: float = 2.5) -> Sites:
    """The places along one stroke: all along a stem, on the outer side; of a scroll its first
    three quarters of a turn."""
    z, t = stroke.z, stroke.tangent
    turn = np.concatenate([[0.0], np.angle(t[1:] / t[:-1])])
    run = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(z)))])
    step = max(1, int(round(every_mm / (run[-1] / max(len(z) - 1, 1)))))
    idx = np.arange(0, len(z), step)
    idx = idx[(run[idx] > skip_mm) & (run[idx] < run[-1] - 1.5)]
    if stroke.what != "stem":
        bent = np.abs(np.cumsum(turn))
        idx = idx[bent[idx] < np.radians(300 if stroke.what == "scroll" else 150)]
    curv = np.array([turn[max(0, i - 4) : i + 5].mean() for i in idx]) / (run[-1] / max(len(z) - 1, 1))
    out = []
    for side in (1, -1):
        ok = idx[curv * side < 0.02] if stroke.what == "stem" else idx[np.full(len(idx), side != stroke.side)]
        n = len(ok)
        out.append(Sites(z[ok], t[ok], stroke.half[ok], np.full(n, side), np.full(n, number), ok,
                         np.full(n, stroke.level)))
    return out[0].plus(out[1])


@dataclass
class Pool:
    """Branches that fit. `site` numbers into `sites`, `r` sizes in mm, `form` numbers, `at` (k,)
    starts and `spin` (k,) complex size times heading, `half` (k,) start half widths, `z` (k, m)
    sampled centre lines, `need` (k, m) the clearance from ink that each sample must keep."""

    sites: Sites
    site: np.ndarray
    r: np.ndarray
    form: np.ndarray
    at: np.ndarray
    spin: np.ndarray
    half: np.ndarray
    z: np.ndarray
    need: np.ndarray

    def __len__(self) -> int:
        return len(self.r)

    def take(self, which: np.ndarray) -> Pool:
        return Pool(self.sites, *(getattr(self, k)[which] for k in _POOL))

    def plus(self, other: Pool) -> Pool:
        """Both pools; the sites of the other are appended."""
        n = len(self.sites.at)
        moved = [other.site + n] + [getattr(other, k) for k in _POOL[1:]]
        return Pool(self.sites.plus(other.sites),
                    *(np.concatenate([getattr(self, k), m]) for k, m in zip(_POOL, moved, strict=True)))


_POOL = ("site", "r", "form", "at", "spin", "half", "z", "need")
SAMPLES = 24


def empty_pool() -> Pool:
    z, f, i = np.zeros(0, complex), np.zeros(0), np.zeros(0, int)
    return Pool(Sites.none(), i, f, i, z, z, f, np.zeros((0, SAMPLES), complex), np.zeros((0, SAMPLES)))


@dataclass(frozen=True)
class Nib:
    """How wide branches are drawn, mm: half width `share` of the size at the start but at least
    `least`; swollen by `belly`; `tip` half width at the end."""

    share: float
    least: float
    tip: float
    belly: float = 1.3

    def start(self, r: np.ndarray, parent_half: np.ndarray) -> np.ndarray:
        """Half width at the start: by the size, never wider than the parent there."""
        return np.minimum(np.maximum(self.share * r, self.least), parent_half)

    def profile(self, start: np.ndarray, t: np.ndarray) -> np.ndarray:
        """Half widths along t in [0, 1] (broadcast): swells over the first third, then tapers."""
        swell = 1 + (self.belly - 1) * np.sin(np.pi * np.clip(t / 0.68, 0, 1)) ** 1.2
        fall = 1 - np.clip((t - 0.1) / 0.9, 0, 1) ** 1.15
        return np.maximum(self.tip + (start * swell - self.tip) * fall, self.tip)


def fit(room: Room, sites: Sites, forms: list[Form], sizes: list[np.ndarray], nib: Nib, gap_mm: float,
        most: int = 120, extra: float = 0.0) -> Pool:
    """All branches of these forms that fit, at every site and size (`sizes` one array a form).

    Required: half width (and `extra` mm for what hangs on the branch) from the wall everywhere;
    the line gap from all ink once the branch has come clear of its parent, and before that
    whatever a straight parent would leave.
    """
    pool = empty_pool()
    pool.sites = sites
    parts = [pool]
    ns = len(sites.at)
    for number, (form, rs) in enumerate(zip(forms, sizes, strict=True)):
        if not ns or not len(rs):
            continue
        w0 = nib.start(rs[None, :], sites.half[:, None])
        start = sites.at[:, None] + 1j * sites.side[:, None] * sites.heading[:, None] * (sites.half[:, None] - w0)
        spin = sites.heading[:, None] * rs[None, :]
        left = sites.side[:, None, None] > 0
        zp = form.z[form.probe]
        wall, ink = room.look(start[..., None] + spin[..., None] * np.where(left, zp, zp.conj()))
        ramp = (0.85 * zp.imag * rs[:, None] - 0.55)[None]
        ok = np.all((wall > nib.tip + 0.15 + extra * 0.5) & (ink > np.minimum(ramp, nib.tip + gap_mm)), axis=2)
        s, k = np.nonzero(ok)
        if len(s) > most:
            pick = np.argsort(-rs[k] + 0.003 * (s % 7), kind="stable")[:most]
            s, k = s[pick], k[pick]
        if not len(s):
            continue
        r, w = rs[k], w0[s, k]
        zs = form.z[np.linspace(2, len(form.z) - 1, SAMPLES).round().astype(int)]
        z = start[s, k][:, None] + spin[s, k][:, None] * np.where(sites.side[s][:, None] > 0, zs, zs.conj())
        wall, ink = room.look(z)
        half = nib.profile(w[:, None], np.linspace(0.04, 1, SAMPLES)[None])
        away = np.maximum.accumulate(zs.imag[None] * r[:, None], axis=1) * 0.92 - w[:, None] - 0.35
        full = half + gap_mm
        need = np.where(np.maximum.accumulate(away >= full, axis=1), full, np.minimum(away, full))
        good = np.all((wall > half + 0.12 + extra * np.linspace(0, 1, SAMPLES) ** 0.3) & (ink > need), axis=1)
        s, k = s[good], k[good]
        parts.append(Pool(sites, s, r[good], np.full(len(s), number), start[s, k], spin[s, k], w[good], z[good],
                          need[good]))
    return Pool(sites, *(np.concatenate([getattr(p, k) for p in parts]) for k in _POOL))


def still_fits(room: Room, pool: Pool) -> tuple[np.ndarray, np.ndarray]:
    """Which of a pool's branches still fit, and the mean radius of the void that each would
    run through (mm)."""
    if not len(pool):
        return np.zeros(0, bool), np.zeros(0)
    wall, ink = room.look(pool.z)
    late = slice(SAMPLES // 3, None)
    return np.all(ink > pool.need, axis=1), np.minimum(wall, ink)[:, late].mean(axis=1)


def draw(pool: Pool, i: int, form: Form, nib: Nib, what: str) -> Stroke:
    """The stroke of one branch of a pool."""
    s = pool.site[i]
    side = int(pool.sites.side[s])
    z = form.z if side > 0 else form.z.conj()
    length = form.length * pool.r[i]
    z = pool.at[i] + pool.spin[i] * z
    z = even(z, max(10, int(length / STEP_MM)))
    half = nib.profile(pool.half[i], np.linspace(0, 1, len(z)))
    return Stroke(z, half, what, side, int(pool.sites.level[s]) + 1, int(pool.sites.owner[s]),
                  int(pool.sites.index[s]))
