"""Which branches fit: every form at every size at every site, tested at once against wall and ink."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from composer.filler.filigree_curves import Form
from composer.filler.filigree_grow import STEP_MM, Nib, Sites, Stroke
from composer.filler.filigree_room import Room

SAMPLES = 24
_SHARE = np.linspace(0.04, 1, SAMPLES)[None]
_HANG = _SHARE**0.3
_LATE = slice(SAMPLES // 3, SAMPLES)
_GUARD_MM = 1.9
_FIRST = 2
"""The one of the probes of a form that lets the fewest branches through."""


@dataclass
class Pool:
    """Branches that fit. `site` numbers into `sites`, `r` sizes in mm, `form` numbers, `at` (k,)
    starts and `spin` (k,) complex size times heading, `half` (k,) start half widths. `z` (k, m)
    places that must stay clear of ink by `need` (k, m): the sampled centre line, then a place
    beside the root, then the eye. `wall` (k, SAMPLES) distances to the wall."""

    sites: Sites
    site: np.ndarray
    r: np.ndarray
    form: np.ndarray
    at: np.ndarray
    spin: np.ndarray
    half: np.ndarray
    z: np.ndarray
    need: np.ndarray
    wall: np.ndarray

    def __len__(self) -> int:
        return len(self.r)

    def take(self, which: np.ndarray) -> Pool:
        """Some of the branches (mask or numbers)."""
        which = np.flatnonzero(which) if which.dtype == bool else which
        if len(which) == len(self.r):
            return self
        return Pool(self.sites, *(getattr(self, k).take(which, axis=0) for k in _POOL))

    def plus(self, other: Pool) -> Pool:
        """Both pools; the sites of the other are appended."""
        if not len(other):
            return self
        n = len(self.sites.at)
        moved = [other.site + n] + [getattr(other, k) for k in _POOL[1:]]
        return Pool(self.sites.plus(other.sites),
                    *(np.concatenate([getattr(self, k), m]) for k, m in zip(_POOL, moved, strict=True)))


_POOL = ("site", "r", "form", "at", "spin", "half", "z", "need", "wall")


def empty_pool() -> Pool:
    """A pool without branches."""
    z, f, i = np.zeros(0, complex), np.zeros(0), np.zeros(0, int)
    return Pool(Sites.none(), i, f, i, z, z, f, np.zeros((0, SAMPLES + 2), complex), np.zeros((0, SAMPLES + 2)),
                np.zeros((0, SAMPLES)))


class Stock:
    """The branches on offer: every form at every size, as arrays. `r` (f,) sizes in mm, `form`
    (f,) numbers, `z` (f, SAMPLES) complex offsets at size and heading +x; `first` (2, f) and `others` (p, 2f) such
    offsets of the places that are tested first, turning left and then right, `ramp` (1 + p, f) mm that a straight
    parent leaves there; `ball` (f,) radius of the ball at the end and `eye` (f,) its centre, if there are balls (one
    size a form)."""

    def __init__(self, forms: list[Form], sizes: list[np.ndarray], balls: list[float] | None = None,
                 tip: float = 0.0) -> None:
        self.forms = forms
        self.form = np.concatenate([np.full(len(s), i) for i, s in enumerate(sizes)])
        self.r = np.concatenate(sizes)
        pick = [np.linspace(0.03 * len(f.z), len(f.z) - 1, SAMPLES).round().astype(int) for f in forms]
        if not len(self.r):
            return
        self.z = np.stack([forms[f].z[pick[f]] * r for f, r in zip(self.form, self.r, strict=True)])
        probe = np.stack([forms[f].z[forms[f].probe] * r for f, r in zip(self.form, self.r, strict=True)], axis=1)
        probe[[0, _FIRST]] = probe[[_FIRST, 0]]
        self.ramp = 0.85 * probe.imag - 0.55
        self.first = np.stack([probe[0], probe[0].conj()])
        self.others = np.concatenate([probe[1:], probe[1:].conj()], axis=1)
        self.ball = np.array(balls) if balls else None
        if self.ball is not None:
            last = np.array([forms[f].tangents()[-1] for f in self.form])
            self.eye = self.z[:, -1] + 1j * last * (self.ball - tip)
        self.away = np.maximum.accumulate(self.z.imag, axis=1) * 0.92


def fit(room: Room, sites: Sites, stock: Stock, nib: Nib, gap_mm: float, most: int = 110, extra: float = 0.0) -> Pool:
    """All branches of the stock that fit, at every site.

    Required: half width (and `extra` mm for what hangs on the branch) from the wall everywhere;
    the line gap from all ink once the branch has come clear of its parent, and before that
    whatever a straight parent would leave.
    """
    if not len(sites.at) or not len(stock.r):
        return empty_pool()
    # a place beside the root has to be free, or nothing can come clear of the parent there
    beside = sites.at + sites.heading * (1.5 + 1j * sites.side * (sites.half + _GUARD_MM))
    wall, ink = room.peek(beside)
    sites = sites.take((wall > 0.0) & (ink > _GUARD_MM - 0.5 - 0.5 * room.h))
    if not len(sites.at):
        return empty_pool()
    beside = sites.at + sites.heading * (1.5 + 1j * sites.side * (sites.half + _GUARD_MM))
    w0 = nib.start(stock.r[None, :], sites.half[:, None])
    start = sites.at[:, None] + (1j * sites.side * sites.heading)[:, None] * (sites.half[:, None] - w0)
    s, k = _sieved(room, sites, start, stock, nib.tip + gap_mm, nib.tip + extra * 0.5)
    if len(s) > most:
        # of every site the few largest, then the largest of all
        order = np.lexsort((-stock.r[k], s))
        first = np.searchsorted(s[order], s[order])
        order = order[np.arange(len(s)) - first < 5]
        order = order[np.argsort(-stock.r[k[order]] + 0.003 * (s[order] % 7), kind="stable")[:most]]
        s, k = s[order], k[order]
    if not len(s):
        return empty_pool()
    r, w = stock.r[k], w0[s, k]
    turned = sites.side[s] > 0
    at, on, shape = start[s, k], sites.heading[s], stock.z[k]
    np.conjugate(shape, out=shape, where=~turned[:, None])
    z = at[:, None] + on[:, None] * shape
    if stock.ball is not None:
        eye = at + on * np.where(turned, stock.eye[k], stock.eye[k].conj())
        clear = stock.ball[k] + gap_mm - 0.05
    else:
        eye, clear = z[:, -1], np.full(len(s), -9.0)
    z = np.concatenate([z, beside[s][:, None], eye[:, None]], axis=1)
    wall, ink = room.look(z)
    half = nib.profile(w[:, None], r[:, None], _SHARE)
    away = stock.away[k] - w[:, None] - 0.35
    full = half + gap_mm
    need = np.where(np.maximum.accumulate(away >= full, axis=1), full, np.minimum(away, full))
    need = np.concatenate([need, np.full((len(s), 1), _GUARD_MM - 0.5), clear[:, None]], axis=1)
    good = (wall[:, :SAMPLES] > half + 0.12 + extra * _HANG).all(axis=1) & (ink > need).all(axis=1)
    if stock.ball is not None:
        good &= wall[:, -1] > stock.ball[k] + 0.12
    s, k = s[good], k[good]
    return Pool(sites, s, r[good], stock.form[k], start[s, k], sites.heading[s] * stock.r[k], w[good], z[good],
                need[good], wall[good, :SAMPLES])


def _sieved(room: Room, sites: Sites, start: np.ndarray, stock: Stock, clear: float,
            half: float) -> tuple[np.ndarray, np.ndarray]:
    """Numbers (of the sites, of the branches) of what a coarse look at a few places of each branch lets through: at
    one of them first, then at the others of what is left. `start` (sites, branches) complex; `clear` mm from ink and
    `half` mm from the wall are asked at the least."""
    slack = 0.5 * room.h
    ramp, least_wall = np.minimum(stock.ramp, clear) - slack, half - slack
    right = (sites.side < 0).astype(np.intp)
    wall, ink = room.peek(start + sites.heading[:, None] * stock.first[right])
    s, k = ((wall > least_wall) & (ink > ramp[0])).nonzero()
    if not len(s):
        return s, k
    few = stock.others.take(k + len(stock.r) * right[s], axis=1)
    few *= sites.heading[s]
    few += start[s, k]
    wall, ink = room.peek(few)
    ok = ((wall > least_wall) & (ink > ramp[1:].take(k, axis=1))).all(axis=0)
    return s[ok], k[ok]


def still_fits(room: Room, pool: Pool) -> tuple[np.ndarray, np.ndarray]:
    """Which of a pool's branches still fit, and the mean radius of the void that each would
    run through (mm)."""
    if not len(pool):
        return np.zeros(0, bool), np.zeros(0)
    ink = room.look_ink(pool.z)
    return np.all(ink > pool.need, axis=1), np.minimum(pool.wall[:, _LATE], ink[:, _LATE]).mean(axis=1)


def draw(pool: Pool, i: int, form: Form, nib: Nib, what: str) -> Stroke:
    """The stroke of one branch of a pool."""
    s = pool.site[i]
    side = int(pool.sites.side[s])
    length = form.length * pool.r[i]
    z, t = form.cut(min(max(10, int(length / STEP_MM)), len(form.z)))
    z = pool.at[i] + pool.spin[i] * (z if side > 0 else z.conj())
    half = nib.profile(pool.half[i], pool.r[i], t)
    return Stroke(z, half, what, side, int(pool.sites.level[s]) + 1, int(pool.sites.owner[s]),
                  int(pool.sites.index[s]))
