"""Several papers on a page: a placement search that keeps them apart and the page short.

The no-fit region of a paper is found on a raster: where its shape, grown by half the gap, would touch
what is placed already (a convolution of the two masks). Each paper, the largest first, goes where the
page stays shortest, in any of the allowed turns (bottom-left placement; Hopper and Turton, "An
empirical investigation of meta-heuristic and heuristic algorithms for a 2D packing problem",
European Journal of Operational Research 128, 2001, is where such orders are compared).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy import fft
from shapely import affinity
from shapely.geometry.base import BaseGeometry


@dataclass(frozen=True)
class Placed:
    """Paper `index` on `page` (from 0): turned by `turn_deg` counter-clockwise about its own origin, then
    shifted by (x, y) mm; the page's origin is its upper left corner with y up, so y runs from 0 down."""

    index: int
    page: int
    turn_deg: int
    x: float
    y: float

    def put(self, form: BaseGeometry) -> BaseGeometry:
        """A shape in the paper's mm where it lies on the page."""
        return affinity.translate(affinity.rotate(form, self.turn_deg, origin=(0, 0)), self.x, self.y)


@dataclass(frozen=True)
class _Form:
    index: int
    turn_deg: int
    mask: np.ndarray
    shift: tuple[float, float]


def nest(forms: Sequence[BaseGeometry], width_mm: float, height_mm: float, gap_mm: float = 4.0,
         turns: Sequence[int] = (0, 90, 180, 270), grid_mm: float = 2.0) -> tuple[list[Placed], list[int]]:
    """Places for papers on pages of that size, on as few and as short as the search finds; and those
    (indexes) that no page holds. Shapes on a page are at least `gap_mm` apart.

    Raises ValueError for a page without room.
    """
    if width_mm < 2 * grid_mm or height_mm < 2 * grid_mm:
        raise ValueError("The page leaves no room between its margins; choose a larger paper.")
    shape = (int(height_mm / grid_mm), int(width_mm / grid_mm))
    ready = {i: [f for f in (_form(i, g, t, gap_mm, grid_mm) for t in turns)
                 if f.mask.shape[0] <= shape[0] and f.mask.shape[1] <= shape[1]] for i, g in enumerate(forms)}
    wide = [i for i, fits in ready.items() if not fits]
    able = [i for i in ready if i not in wide]
    size = {i: np.subtract(forms[i].bounds[2:], forms[i].bounds[:2]) for i in able}
    orders = [sorted(able, key=key) for key in (
        lambda i: (-forms[i].area, i), lambda i: (-float(size[i].max()), i), lambda i: (-float(size[i].min()), i),
        lambda i: (-float(size[i].sum()), i))]
    tries = [_fill(order, ready, shape, grid_mm) for order in orders]
    best = min(tries, key=lambda t: t[1:]) if able else ([], 0, 0)
    return sorted(best[0], key=lambda p: p.index), wide


def _form(index: int, form: BaseGeometry, turn: int, gap: float, grid: float) -> _Form:
    """The pixels that a turned shape may touch: no two points of two shapes nearer than the gap share none."""
    turned = affinity.rotate(form, turn, origin=(0, 0))
    grown = shapely.buffer(turned, gap / 2 + grid * 0.7072, quad_segs=3, join_style="mitre", mitre_limit=1.5)
    x0, y0, x1, y1 = np.add(turned.bounds, (-gap / 2, -gap / 2, gap / 2, gap / 2))
    nx, ny = int(np.ceil((x1 - x0) / grid - 1e-6)), int(np.ceil((y1 - y0) / grid - 1e-6))
    x, y = x0 + (np.arange(nx) + 0.5) * grid, y1 - (np.arange(ny) + 0.5) * grid
    shapely.prepare(grown)
    xx, yy = np.meshgrid(x, y)
    return _Form(index, turn, shapely.contains_xy(grown, xx, yy), (-x0, -y1))


def _fill(order: Sequence[int], ready: dict[int, list[_Form]], shape: tuple[int, int], grid: float
          ) -> tuple[list[Placed], int, int]:
    """Placements of one order, how many pages it takes, and how far down the last one is used (rows)."""
    pages: list[np.ndarray] = []
    depth: list[int] = []
    out: list[Placed] = []
    for i in order:
        best = None
        for n in range(len(pages) + 1):
            taken = pages[n] if n < len(pages) else np.zeros(shape, bool)
            for f in ready[i]:
                spot = _spot(taken, f.mask, depth[n] if n < len(pages) else 0)
                if spot is not None and (best is None or spot[0] < best[0]):
                    best = (*spot, n, f)
            if best is not None:
                break
        assert best is not None
        _, row, column, n, f = best
        if n == len(pages):
            pages.append(np.zeros(shape, bool))
            depth.append(0)
        rows, columns = f.mask.shape
        pages[n][row : row + rows, column : column + columns] |= f.mask
        depth[n] = max(depth[n], row + rows)
        out.append(Placed(i, n, f.turn_deg, column * grid + f.shift[0], -row * grid + f.shift[1]))
    return out, len(pages), depth[-1] if depth else 0


def _hits(taken: np.ndarray, mask: np.ndarray) -> np.ndarray:
    """How many taken cells lie under the mask at every place where it lies wholly on the page."""
    shape = [fft.next_fast_len(n, real=True) for n in taken.shape]
    both = fft.rfft2(taken.astype(np.float32), shape) * np.conj(fft.rfft2(mask.astype(np.float32), shape))
    rows, columns = np.subtract(taken.shape, mask.shape) + 1
    return fft.irfft2(both, shape)[:rows, :columns]


def _spot(taken: np.ndarray, mask: np.ndarray, depth: int) -> tuple[tuple[int, int, int], int, int] | None:
    """The best free place of a mask: (score, row, column), or None. Lower is better: how far down the
    page is then used, how far down the paper reaches, how far right it starts."""
    rows, columns = mask.shape
    if taken.any():
        free = _hits(taken, mask) < 0.5
    else:
        free = np.ones((taken.shape[0] - rows + 1, taken.shape[1] - columns + 1), bool)
    any_ = free.any(axis=1)
    if not any_.any():
        return None
    row = int(np.argmax(any_))
    column = int(np.argmax(free[row]))
    return (max(depth, row + rows), row + rows, column), row, column
