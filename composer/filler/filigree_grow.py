"""How filigree grows: branches leave a stem tangentially on its outer side and turn the other
way; each is tested as a whole against wall and ink, for every place and size at once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.ndimage import uniform_filter1d

from composer.filler.filigree_curves import Form, even
from composer.filler.filigree_room import Room

STEP_MM = 0.4


@dataclass
class Stroke:
    """One stroke of filigree. `z` (n,) complex centre line in mm, `half` (n,) half widths, `what`
    'stem', 'scroll', 'curl', 'tendril' or 'leaf', `side` +1 turns left, -1 right, `level` of
    branching, `parent` and `joint` (index on the parent's centre line), `end` how it finishes,
    `ball` radius in mm or 0, `root` how it starts if it has no parent, `tuck` mm behind neighbours, `bare`
    vertices at its end from which nothing grows."""

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
    tuck: float = 0.0
    bare: int = 0

    @cached_property
    def tangent(self) -> np.ndarray:
        """Unit tangents (n,) complex."""
        t = np.gradient(self.z)
        return t / np.maximum(np.abs(t), 1e-12)

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """Bounds of the ink: x from, x to, y from, y to (mm)."""
        h = float(self.half.max())
        return (float(self.z.real.min()) - h, float(self.z.real.max()) + h,
                float(self.z.imag.min()) - h, float(self.z.imag.max()) + h)

    @property
    def ball_at(self) -> complex:
        """Centre of the ball at the end: drawn in towards the hollow side."""
        return complex(self.z[-1] + 1j * self.side * self.tangent[-1] * (self.ball - self.half[-1]))

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
        """Some of the sites."""
        return Sites(*(getattr(self, k)[which]
                       for k in ("at", "heading", "half", "side", "owner", "index", "level")))

    @staticmethod
    def all(parts: list[Sites]) -> Sites:
        """The sites of several strokes in one."""
        return Sites(*(np.concatenate([getattr(p, k) for p in parts])
                       for k in ("at", "heading", "half", "side", "owner", "index", "level")))


def sites_of(stroke: Stroke, number: int, every_mm: float = 1.0, skip_mm: float = 2.5) -> Sites:
    """The places along one stroke: all along a stem, on the outer side; of a scroll its first
    three quarters of a turn."""
    z, t = stroke.z, stroke.tangent
    turn = np.concatenate([[0.0], np.angle(t[1:] / t[:-1])])
    run = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(z)))])
    step = max(1, round(float(every_mm / (run[-1] / max(len(z) - 1, 1)))))
    idx = np.arange(0, len(z), step)
    idx = idx[(run[idx] > skip_mm) & (run[idx] < run[-1] - 1.5)]
    if stroke.what == "stem":
        # where the stem goes behind a neighbour nothing grows
        idx = idx[(run[idx] > (stroke.tuck + 4.0 if stroke.root == "tucked" else 1.5))
                  & (run[-1] - run[idx] > (stroke.tuck + 4.0 if stroke.end == "tucked" else 1.5))
                  & (idx < len(z) - stroke.bare)]
    else:
        idx = idx[run[idx] > stroke.tuck + 3.0] if stroke.tuck else idx
        bent = np.abs(np.cumsum(turn))
        idx = idx[bent[idx] < np.radians(300 if stroke.what == "scroll" else 150)]
    curv = uniform_filter1d(turn, 9, mode="nearest")[idx] / (run[-1] / max(len(z) - 1, 1))
    out = []
    for side in (1, -1):
        ok = idx[curv * side < 0.06] if stroke.what == "stem" else idx[np.full(len(idx), side != stroke.side)]
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
    `least`; swollen by `belly`; `tip` half width at the end. With `leaf` above 0 the body is a
    leaf whose half width swells to that share of its length."""

    share: float
    least: float
    tip: float
    belly: float = 1.3
    leaf: float = 0.0

    def start(self, r: np.ndarray, parent_half: np.ndarray) -> np.ndarray:
        """Half width at the start: by the size, never wider than the parent there."""
        return np.minimum(np.maximum(self.share * r, self.least), parent_half)

    def profile(self, start: np.ndarray, r: np.ndarray, t: np.ndarray) -> np.ndarray:
        """Half widths along t in [0, 1] (broadcast): swells, then tapers, without a kink."""
        if self.leaf > 0:
            return comma_half(t, start, self.leaf * r, self.tip)
        swell = 1 + (self.belly - 1) * np.sin(np.pi * np.clip(t / 0.68, 0, 1)) ** 1.2
        fall = 1 - np.clip((t - 0.1) / 0.9, 0, 1) ** 1.15
        return np.maximum(self.tip + (start * swell - self.tip) * fall, self.tip)


def comma_half(t: np.ndarray, start: np.ndarray | float, belly: np.ndarray | float, tip: float,
               peak: float = 0.4) -> np.ndarray:
    """Half widths of a comma at t in [0, 1]: from `start`, swelling to `belly` at `peak`, to a needle `tip`."""
    up = np.sin(np.clip(t / peak, 0, 1) * np.pi / 2) ** 1.5
    x = np.clip((t - peak) / (1 - peak), 0, 1)
    down = (1 - x) * (1 + 0.75 * x - 0.35 * x * x)
    return np.maximum(np.where(t < peak, start + (belly - start) * up, tip + (belly - tip) * down), tip)


class Stock:
    """The branches on offer: every form at every size, as arrays. `r` (f,) sizes in mm, `form`
    (f,) numbers, `probe` (f, p) and `z` (f, SAMPLES) complex offsets at size and heading +x; `ball` (f,) radius
    of the ball at the end and `eye` (f,) its centre, if there are balls (one size a form)."""

    def __init__(self, forms: list[Form], sizes: list[np.ndarray], balls: list[float] | None = None,
                 tip: float = 0.0) -> None:
        self.forms = forms
        self.form = np.concatenate([np.full(len(s), i) for i, s in enumerate(sizes)])
        self.r = np.concatenate(sizes)
        pick = [np.linspace(2, len(f.z) - 1, SAMPLES).round().astype(int) for f in forms]
        if not len(self.r):
            return
        self.z = np.stack([forms[f].z[pick[f]] * r for f, r in zip(self.form, self.r, strict=True)])
        self.probe = np.stack([forms[f].z[forms[f].probe] * r for f, r in zip(self.form, self.r, strict=True)])
        self.ball = np.array(balls) if balls else None
        if self.ball is not None:
            last = np.array([forms[f].tangents()[-1] for f in self.form])
            self.eye = self.z[:, -1] + 1j * last * (self.ball - tip)
        self.away = np.maximum.accumulate(self.z.imag, axis=1) * 0.92


_SHARE = np.linspace(0.04, 1, SAMPLES)[None]
_HANG = _SHARE**0.3


def fit(room: Room, sites: Sites, stock: Stock, nib: Nib, gap_mm: float, most: int = 240, extra: float = 0.0) -> Pool:
    """All branches of the stock that fit, at every site.

    Required: half width (and `extra` mm for what hangs on the branch) from the wall everywhere;
    the line gap from all ink once the branch has come clear of its parent, and before that
    whatever a straight parent would leave.
    """
    if not len(sites.at) or not len(stock.r):
        return empty_pool()
    w0 = nib.start(stock.r[None, :], sites.half[:, None])
    left = sites.side > 0
    start = sites.at[:, None] + (1j * sites.side * sites.heading)[:, None] * (sites.half[:, None] - w0)
    probe = np.where(left[:, None, None], stock.probe[None], stock.probe.conj()[None])
    wall, ink = room.peek(start[..., None] + sites.heading[:, None, None] * probe)
    slack = 0.5 * room.h
    ramp = np.minimum(0.85 * stock.probe.imag - 0.55, nib.tip + gap_mm) - slack
    ok = np.all((wall > nib.tip + extra * 0.5 - slack) & (ink > ramp[None]), axis=2)
    s, k = np.nonzero(ok)
    if len(s) > most:
        pick = np.argsort(-stock.r[k] + 0.003 * (s % 7), kind="stable")[:most]
        s, k = s[pick], k[pick]
    if not len(s):
        return empty_pool()
    r, w = stock.r[k], w0[s, k]
    z = start[s, k][:, None] + sites.heading[s][:, None] * np.where(left[s][:, None], stock.z[k], stock.z[k].conj())
    wall, ink = room.look(z)
    half = nib.profile(w[:, None], r[:, None], _SHARE)
    away = stock.away[k] - w[:, None] - 0.35
    full = half + gap_mm
    need = np.where(np.maximum.accumulate(away >= full, axis=1), full, np.minimum(away, full))
    good = np.all((wall > half + 0.12 + extra * _HANG) & (ink > need), axis=1)
    if stock.ball is not None:
        eye = start[s, k] + sites.heading[s] * np.where(left[s], stock.eye[k], stock.eye[k].conj())
        wall, ink = room.look(eye)
        good &= (wall > stock.ball[k] + 0.12) & (ink > stock.ball[k] + gap_mm - 0.05)
    s, k = s[good], k[good]
    return Pool(sites, s, r[good], stock.form[k], start[s, k], sites.heading[s] * stock.r[k], w[good], z[good],
                need[good])


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
    half = nib.profile(pool.half[i], pool.r[i], np.linspace(0, 1, len(z)))
    return Stroke(z, half, what, side, int(pool.sites.level[s]) + 1, int(pool.sites.owner[s]),
                  int(pool.sites.index[s]))
