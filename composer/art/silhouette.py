"""What a picture's subject covers: its silhouette with holes, by alpha, by plain background or inside a lasso.

Areas are in pixels of the picture as kept, x right and y down, the corner at 0, 0. `work`: pixels looked at, most.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy import ndimage
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.errors import ArtError
from composer.art.lightness import lab
from composer.art.pixels import area_of, painted, polygons, reduced, settled_edge
from composer.art.raster_read import Picture

WORK_PIXELS = 1_200_000
LEAST_SHARE = 0.002
"""Of the picture: a subject smaller than this is none."""

CRUMB, PINHOLE = 0.002, 0.006
"""Of the subject: loose bits and holes smaller than these are left out."""

FORM_SHARE = 0.55
"""A subject of which more than this differs from the paper is a painted form, and paper seen through it a hole;
below it is a line drawing, and the paper between its lines belongs to it. From trials, no published source."""

_TRY_LASSO = "Draw a line round the subject instead."


@dataclass(frozen=True)
class Silhouette:
    """`area`: valid polygons in the picture's pixels. `open_holes`: whether paper seen through counts as a hole.
    `sure`: whether the background was plain enough to trust it unseen."""

    area: BaseGeometry
    open_holes: bool = True
    notes: tuple[str, ...] = ()
    sure: bool = True


def by_alpha(picture: Picture, work: int = WORK_PIXELS) -> Silhouette:
    """What is not see-through. Raises ArtError where the picture has no alpha."""
    if picture.alpha is None:
        raise ArtError("The picture has no see-through parts. Choose 'plain background', or draw a line round the "
                       "subject.")
    alpha, scale = reduced(picture.alpha, work)
    field = ndimage.gaussian_filter(alpha.astype(np.float32) / 255, 0.6)
    return Silhouette(_checked(field, scale, picture, True))


def by_frame(picture: Picture) -> Silhouette:
    """The whole picture, edge to edge."""
    return Silhouette(shapely.box(0, 0, picture.width, picture.height))


def by_background(picture: Picture, tolerance: float = 0.5, holes: bool | None = None,
                  work: int = WORK_PIXELS) -> Silhouette:
    """What stands out from a plain background that reaches the edge of the picture.

    The paper is a smooth surface in Lab (quadratic in x and y, fitted to what hangs together with the edge), so
    that light falling off over the sheet does no harm. `tolerance` 0..1: how far a colour may be from the paper and
    still be paper. `holes`: whether paper seen through the subject is a hole; None decides by FORM_SHARE.
    Raises ArtError where there is no plain background, or nothing on it.
    """
    rgb, scale = reduced(picture.rgb, work)
    colour = ndimage.gaussian_filter(lab(rgb), (0.8, 0.8, 0))
    edge = _border(colour.shape[:2])
    fitted = _paper(colour, edge)
    near = 3.0 * 4.0 ** (tolerance - 0.5)
    for _ in range(2):
        off = _far(colour, fitted)
        noise = float(np.median(off[edge]))
        limit = max(near * 2.0, 3.2 * noise * 2.0 ** (tolerance - 0.5))
        paper = _reaching(off < limit, edge)
        if paper[edge].mean() < 0.35 or paper.mean() < 0.02:
            raise ArtError(f"There is no plain background round the subject. {_TRY_LASSO}")
        fitted = _paper(colour, paper)
    off = _far(colour, fitted)
    alike = off < limit
    paper = _reaching(alike, edge)
    filled = ~paper
    if filled.mean() < LEAST_SHARE:
        raise ArtError("Nothing stands out from the background. Lower 'how much counts as paper', or draw a line round "
                       "the subject.")
    solid = ~alike & filled
    if holes is None:
        holes = float(solid.sum() / filled.sum()) > FORM_SHARE
    mask = solid if holes else filled
    mask |= ndimage.binary_closing(mask)
    field = ndimage.gaussian_filter(mask.astype(np.float32), 0.8)
    field = settled_edge(colour, field, ndimage.binary_dilation((field > 0.02) & (field < 0.98)), 3.0)
    notes = []
    if paper[edge].mean() <= 0.97:
        notes.append("The subject runs off the picture's edge; its silhouette ends there.")
    sure = limit <= 1.5 * 2 * near
    if not sure:
        notes.append("The background is not quite plain, so look along the silhouette. Where it went wrong, draw a "
                     "line round the subject instead.")
    return Silhouette(_checked(field, scale, picture, holes), holes, tuple(notes), sure)


def _far(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Colour difference (CIE 1976) of two pictures in Lab, (h, w)."""
    d = a - b
    return np.sqrt(np.einsum("ijk,ijk->ij", d, d))


def _border(shape: tuple[int, int]) -> np.ndarray:
    band = max(2, round(0.012 * min(shape)))
    edge = np.ones(shape, bool)
    edge[band:-band, band:-band] = False
    return edge


def _reaching(alike: np.ndarray, edge: np.ndarray) -> np.ndarray:
    """The part of a mask that hangs together with the picture's edge."""
    label, _ = ndimage.label(alike)
    reach = np.unique(label[edge])
    table = np.zeros(int(label.max()) + 1, bool)
    table[reach[reach > 0]] = True
    return table[label]


def _terms(y: np.ndarray, x: np.ndarray, shape: tuple[int, int]) -> np.ndarray:
    v, u = y / shape[0] - 0.5, x / shape[1] - 0.5
    return np.stack([np.ones_like(u), u, v, u * u, u * v, v * v], axis=-1)


def _paper(colour: np.ndarray, where: np.ndarray, most: int = 6_000) -> np.ndarray:
    """Smooth surface (h, w, 3) through the pixels of a mask, by weighted least squares with Tukey's biweight (1974)."""
    shape = colour.shape[:2]
    at = np.flatnonzero(where)
    at = at[:: max(1, len(at) // most)]
    y, x = np.divmod(at, shape[1])
    terms, value = _terms(y.astype(float), x.astype(float), shape), colour[y, x].astype(float)
    weight = np.ones(len(at))
    fit: np.ndarray = np.zeros((6, 3))
    for _ in range(8):
        w = terms * (weight**2)[:, None]
        fit = np.linalg.solve(w.T @ terms + 1e-9 * np.eye(6), w.T @ value)
        off = np.sqrt(((value - terms @ fit) ** 2).sum(axis=1))
        spread = 4.7 * max(float(np.median(off)), 0.4)
        weight = np.clip(1 - (off / spread) ** 2, 0, 1)
    v, u = (np.arange(n, dtype=np.float32) / n - np.float32(0.5) for n in shape)
    f = fit.astype(np.float32)
    along = f[0] + np.outer(u, f[1]) + np.outer(u * u, f[3])
    down = np.outer(v, f[2]) + np.outer(v * v, f[5])
    out = np.multiply.outer(v, np.outer(u, f[4]))
    out += along[None]
    out += down[:, None]
    return out


def by_lasso(picture: Picture, lasso: np.ndarray, holes: bool = False,
             marks: Sequence[tuple[np.ndarray, bool]] = (), fit: bool = True, work: int = WORK_PIXELS) -> Silhouette:
    """The subject inside a line drawn round it, fitted to its edge.

    `lasso` (n, 2) in pixels of the picture, implicitly closed. `marks`: lines (n, 2) drawn over what surely belongs
    to the subject (True) or surely does not (False). With `fit` False, or where nothing in it differs from what is
    outside, the line is taken as it was drawn. Raises ArtError where it is no area.
    """
    from composer.art.lasso_fit import fit_inside

    ring = np.asarray(lasso, float).reshape(-1, 2)
    if len(ring) < 3 or not np.isfinite(ring).all():
        raise ArtError("The line round the subject is too short to close; draw once all round it.")
    inside = shapely.make_valid(Polygon(ring)).intersection(shapely.box(0, 0, picture.width, picture.height))
    if inside.area < LEAST_SHARE * picture.width * picture.height:
        raise ArtError("The line drawn holds hardly any of the picture; draw once all round the subject.")
    if not fit:
        return Silhouette(inside, holes)
    x0, y0, x1, y1 = inside.bounds
    room = 0.12 * max(x1 - x0, y1 - y0) + 4
    left, top = max(0, int(x0 - room)), max(0, int(y0 - room))
    right, low = min(picture.width, int(x1 + room) + 1), min(picture.height, int(y1 + room) + 1)
    rgb, scale = reduced(picture.rgb[top:low, left:right], work // 2)
    moved = shapely.transform(inside, lambda xy: np.subtract(xy, (left, top)))
    h, w = rgb.shape[:2]
    said = np.zeros((h, w), int)
    pen = 0.008 * max(x1 - x0, y1 - y0)
    for line, belongs in marks:
        stroke = shapely.LineString(np.vstack([line, line[-1:]])).buffer(pen)
        stroke = shapely.transform(stroke, lambda xy: np.subtract(xy, (left, top)))
        said[painted(stroke, (h, w), scale)] = 1 if belongs else -1
    field = fit_inside(lab(rgb), painted(moved, (h, w), scale), holes, said)
    if field is None:
        return Silhouette(inside, holes, ("Nothing inside the line differs from what is outside it, so the line was "
                                          "taken as it was drawn.",))
    area = _checked(field, scale, picture, holes)
    return Silhouette(shapely.transform(area, lambda xy: np.add(xy, (left, top))), holes)


def _checked(field: np.ndarray, scale: float, picture: Picture, holes: bool) -> BaseGeometry:
    """The area of a field above a half, without crumbs and pinholes. Raises ArtError when it is empty."""
    area = area_of(field, 0.5, scale, tolerance=0.25 * scale, rounds=3)
    parts = polygons(area)
    whole = sum(p.area for p in parts)
    if whole < LEAST_SHARE * picture.width * picture.height * 0.25:
        raise ArtError(f"No subject was found. {_TRY_LASSO}")
    most = max(p.area for p in parts)
    kept = [Polygon(p.exterior, [i for i in p.interiors if holes and Polygon(i).area > PINHOLE * most])
            for p in parts if p.area > CRUMB * most]
    return shapely.union_all(kept)
