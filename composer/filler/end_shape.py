"""Whether a stroke's end is a tip, seen on the ink itself: chords across it, from the middle of the stroke outwards."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

STEP_MM = 0.06
NARROW, LONG = 0.8, 0.6
"""A tip stays narrower than the first share of the stroke for longer than the second share of its width. A round end
of a pen does for 0.2, a straight cut for nothing, a point of 60 degrees for 0.7."""
CENTRED = 0.3
"""And it lies no farther beside the middle of the stroke, in widths: the corner of a slanting cut does."""


def is_tip(ink: BaseGeometry, inner: np.ndarray, end: np.ndarray, wide_mm: float) -> bool:
    """Whether ink (prepared) runs out to a tip beyond `inner` (2,), a place in the middle of the stroke, towards
    `end` (2,), near where the stroke ends; `wide_mm` about as wide as it is there."""
    ahead = end - inner
    far = float(np.hypot(*ahead))
    if far < 1e-6:
        return False
    u = ahead / far
    along = np.arange(0.0, far + wide_mm + 1.0, STEP_MM)
    half = np.arange(0.0, 1.2 * wide_mm + 0.8, STEP_MM)
    across = np.concatenate([-half[:0:-1], half])
    at = inner + along[:, None, None] * u + across[None, :, None] * np.array([-u[1], u[0]])
    inside = shapely.contains_xy(ink, at[..., 0], at[..., 1])
    width, middle, last = [], [], len(half) - 1
    for row in inside:
        run = _run(row, last)
        if run is None:
            break
        last = (run[0] + run[1]) // 2
        width.append((run[1] - run[0] + 1) * STEP_MM)
        middle.append(across[run[0]] / 2 + across[run[1]] / 2)
    if len(width) < 4:
        return False
    w, mid = np.array(width), np.array(middle)
    full = float(w.max())
    wide = np.flatnonzero(w >= NARROW * full)
    taper = w[wide[-1] + 1 :]
    if len(taper) * STEP_MM < LONG * full:
        return False
    # a stroke that bends leads its tip aside by itself: a straight line through its middle goes along with it
    till = int(np.flatnonzero(w >= 0.96 * full)[-1])
    body = np.arange(max(0, till - round(full / STEP_MM)), till + 1)
    slope = np.polyfit(body, mid[body], 1) if len(body) > 6 else np.array([0.0, mid[till]])
    off = mid[-1] - float(np.polyval(slope, len(mid) - 1))
    return bool(abs(off) <= CENTRED * full + 0.15 * len(taper) * STEP_MM)


CAP_MM, WITHIN_MM, REACH_MM = 0.3, (0.8, 1.2), 0.9
"""What of an end is rounded off by the pen; how far back it is looked at; how far to either side."""


def end_widths(ink: BaseGeometry, axis: np.ndarray) -> tuple[float, float] | None:
    """How wide (mm) a stroke is at its end, behind the rounding of the pen, and a millimetre back; None where that
    can't be told. `ink` is prepared; `axis` (n, 2): the middle of the stroke, from beyond its end backwards, STEP_MM
    apart: short hooks bend, so chords are taken across the axis as it runs."""
    t = np.gradient(axis, axis=0)
    t /= np.maximum(np.hypot(t[:, 0], t[:, 1]), 1e-9)[:, None]
    step = STEP_MM / 2
    half = np.arange(0.0, REACH_MM, step)
    across = np.concatenate([-half[:0:-1], half])
    at = axis[:, None, :] + across[None, :, None] * np.column_stack([-t[:, 1], t[:, 0]])[:, None, :]
    inside = shapely.contains_xy(ink, at[..., 0], at[..., 1])
    runs = [_run(row, len(half) - 1) for row in inside]
    first = next((i for i, r in enumerate(runs) if r is not None), len(runs))
    width = np.array([np.nan if r is None else (r[1] - r[0] + 1) * step for r in runs[first:]])
    far = STEP_MM * np.arange(len(width))
    end, back = width[(far > CAP_MM) & (far < CAP_MM + 0.25)], width[(far > WITHIN_MM[0]) & (far < WITHIN_MM[1])]
    if not len(end) or len(back) < 4 or np.isnan(end).any() or np.isnan(back).any():
        return None
    return float(end.mean()), float(back.mean())


def _run(row: np.ndarray, at: int) -> tuple[int, int] | None:
    """First and last index of the unbroken run of ink in a chord that is nearest to the index `at`; None where none
    is within a few steps."""
    chord = row.tobytes()      # of bools: searched much quicker than an array
    k = next((i for i in _nearest(at) if 0 <= i < len(chord) and chord[i]), -1)
    if k < 0:
        return None
    right = chord.find(0, k)
    return chord.rfind(0, 0, k) + 1, (right if right >= 0 else len(chord)) - 1


def _nearest(at: int) -> tuple[int, ...]:
    return at, at - 1, at + 1, at - 2, at + 2, at - 3, at + 3, at - 4, at + 4
