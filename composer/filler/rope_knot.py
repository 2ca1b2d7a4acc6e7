"""A knot in a rope: the overhand knot where there is room, a round turn where there is less.

Each gives the rope's new path and, for every place on it, which stretch lies over which.
"""

from __future__ import annotations

import numpy as np
from scipy.ndimage import gaussian_filter1d

from composer.art.brush import resample, spline
from composer.filler.filigree_room import Room
from composer.filler.rope_cross import passages
from composer.filler.rope_path import STEP_MM

_T = np.linspace(np.pi + 0.95, 3 * np.pi - 0.95, 13)
_TREFOIL = np.column_stack([-(np.sin(_T) + 2 * np.sin(2 * _T)), 0.6 + np.cos(_T) - 2 * np.cos(2 * _T)])
_IN = np.array([(-6.0, -0.5), (-4.7, -1.25), (-3.2, -1.7), (-1.85, -1.05)])
OVERHAND = np.vstack([_IN, _TREFOIL, _IN[::-1] * (-1, 1)])
"""The trefoil (sin t + 2 sin 2t, cos t - 2 cos 2t), cut open at its lowest lobe: an overhand knot."""
_A = np.linspace(-0.42 * np.pi, 1.42 * np.pi, 11)
LOOP = np.vstack([[(-4.4, -0.2), (-2.4, -0.9)], np.column_stack([1.5 * np.cos(_A), 0.75 + 1.5 * np.sin(_A)]),
                  [(2.4, -0.9), (4.4, -0.2)]])
"""A round turn: the rope crosses itself once."""


def knotted(path: np.ndarray, half_mm: float, room: Room, side: float) -> tuple[np.ndarray, np.ndarray, float | None]:
    """The path (n, 2) with a knot at its roomiest place, and the level of each place: 0, or 1 where it
    passes over. Without room for one the path comes back as it was, with the place along it (mm) where
    it is to be wrapped."""
    z = path[:, 0] + 1j * path[:, 1]
    wall = room.look_wall(z)
    for form, unit in ((OVERHAND, 2.3 * half_mm), (LOOP, 2.2 * half_mm)):
        span = round(-form[0, 0] * unit / STEP_MM)
        if len(z) < 2 * span + 8:
            continue
        inner = wall[span + 4 : len(z) - span - 4]
        for i in np.argsort(-inner, kind="stable")[::5][:14] + span + 4:
            for way in (side, -side):
                new, a, b = _put(z, int(i), span, form * (1.0, way) * unit)
                if room.look_wall(new[a:b]).min() > half_mm + 0.8:
                    flat = np.column_stack([new.real, new.imag])
                    return flat, levels_of(flat), None
    k = len(z) // 4
    most = k + int(np.argmax(wall[k:-k]))
    return path, np.zeros(len(path)), most * STEP_MM


def _put(z: np.ndarray, i: int, span: int, form: np.ndarray) -> tuple[np.ndarray, int, int]:
    """The path with the stretch of `span` steps on either side of place i replaced by the form; from and
    to which place it is new."""
    ahead = z[i + span] - z[i - span]
    ahead /= abs(ahead)
    knot = z[i] + (form[:, 0] + 1j * form[:, 1]) * ahead
    lead, rest = z[: i - span + 1], z[i + span :]
    k = min(len(lead), len(rest), 30) - 1
    ctrl = np.concatenate([lead[[-1 - k, -1 - k // 2, -1]], knot[1:-1], rest[[0, k // 2, k]]])
    mid = spline(np.column_stack([ctrl.real, ctrl.imag]), step_mm=STEP_MM)
    flat = np.vstack([np.column_stack([lead[: -1 - k].real, lead[: -1 - k].imag]), mid,
                      np.column_stack([rest[k + 1 :].real, rest[k + 1 :].imag])])
    new = resample(gaussian_filter1d(resample(flat, STEP_MM), 5.0, axis=0, mode="nearest"), STEP_MM)
    return new[:, 0] + 1j * new[:, 1], len(lead) - 1, len(new) - len(rest) + 1


def levels_of(path: np.ndarray) -> np.ndarray:
    """Over and under by turns along the path: at each crossing one passage is 1, the other 0; what lies
    between two crossings belongs to the nearer."""
    at = passages(path)
    if not len(at):
        return np.zeros(len(path))
    level = np.arange(len(at)) % 2
    where = np.arange(len(path))
    return level[np.abs(where[:, None] - at[None, :]).argmin(axis=1)].astype(float)
