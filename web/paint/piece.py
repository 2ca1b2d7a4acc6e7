"""One piece as it looks on the unrolled sheet: an SVG group, kept by placement."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

import numpy as np
from markupsafe import escape

from composer.art.drawing import Drawing
from composer.body.panel import Panel
from composer.body.sheet import AnySheet
from composer.kept import Kept
from composer.plan.model import Piece
from composer.plan.scene import Laid
from composer.sheets.unrolled import shifts
from web.paint.paths import SCREEN_MM, path_data

KEPT_BYTES = 16_000_000


@dataclass(frozen=True)
class Copy:
    """A piece as seen on one side of the seam: `shift` whole turns, silhouette, ink by role."""

    shift: int
    silhouette: str
    layers: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Drawn:
    """A piece on the sheet; two copies when it lies over the seam."""

    copies: tuple[Copy, ...]

    @property
    def size(self) -> int:
        return sum(len(c.silhouette) + sum(len(d) for _, d in c.layers) for c in self.copies)


_kept: Kept[Drawn] = Kept(KEPT_BYTES, lambda drawn: drawn.size)


def sheet_key(sheet: AnySheet) -> str:
    """Short name of a sheet: the same for the same limb and seam."""
    skin = sheet.limb.key if isinstance(sheet.limb, Panel) else sheet.limb.levels
    return hashlib.sha256(repr((skin, round(sheet.seam_u, 9))).encode()).hexdigest()[:12]


def piece_key(piece: Piece, sheet_name: str) -> str:
    """Short name of how a piece looks on a sheet; changes whenever its picture does."""
    place = (piece.art, round(piece.u, 9), round(piece.s_mm, 6), round(piece.turn_deg, 6), round(piece.scale, 9),
             piece.flip, piece.state, sheet_name)
    return hashlib.sha256(repr(place).encode()).hexdigest()[:12]


def on_sheet(rings: tuple[np.ndarray, ...], shift: int, laid: Laid, sheet: AnySheet) -> list[np.ndarray]:
    """Flat rings of a piece as they appear on the sheet, moved by whole turns."""
    if not rings:
        return []
    skin = laid.patch.to_skin(np.vstack(rings))
    return np.split(sheet.to_flat(np.add(skin, (shift, 0.0))), np.cumsum([len(r) for r in rings])[:-1])


def draw(laid: Laid, sheet: AnySheet, key: str, tolerance_mm: float = SCREEN_MM) -> Drawn:
    """The piece's paths on the sheet; from the store of kept drawings when it lay so before."""
    name = key if tolerance_mm == SCREEN_MM else f"{key}@{tolerance_mm:g}"

    def make() -> Drawn:
        turns = np.concatenate(laid.rings)[:, 0]
        return Drawn(tuple(_copy(laid, sheet, k, tolerance_mm) for k in shifts(turns, sheet)))

    return _kept.once(name, make)


def _copy(laid: Laid, sheet: AnySheet, shift: int, tolerance_mm: float) -> Copy:
    def path(rings: tuple[np.ndarray, ...]) -> str:
        return path_data(on_sheet(rings, shift, laid, sheet), tolerance_mm)

    layers = tuple((la.role, path(la.rings)) for la in laid.flat.layers)
    return Copy(shift, path(laid.flat.silhouette), tuple(la for la in layers if la[1]))


def copies_of(laid: Laid, sheet: AnySheet, key: str, tolerance_mm: float = SCREEN_MM, clip: str = "") -> str:
    """A piece as it lies on a sheet (SVG groups, one for each side of the seam): silhouette in skin colour, then the
    ink. `clip` names a clip path in 1/100 mm that it is kept to."""
    held = f' clip-path="url(#{clip})"' if clip else ""
    return "".join(
        f'<g class="copy" data-shift="{c.shift}"{held}><path class="skin" d="{c.silhouette}"/><g class="ink">'
        + "".join(f'<path class="{role}" d="{d}"/>' for role, d in c.layers) + "</g></g>"
        for c in draw(laid, sheet, key, tolerance_mm).copies)


def piece_group(laid: Laid, sheet: AnySheet, key: str, tolerance_mm: float = SCREEN_MM, clip: str = "",
                more: str = "") -> str:
    """SVG group of a piece: silhouette in skin colour with the skin break round it, then the ink.
    `clip`: see `copies_of`; `more`: how it goes on over a seam, on the sheet of another part."""
    piece = laid.piece
    copies = copies_of(laid, sheet, key, tolerance_mm, clip) + more
    kind = " filler" if piece.is_filler else ""
    return (f'<g class="piece {piece.state}{kind}" id="piece-{escape(piece.id)}" data-id="{escape(piece.id)}" '
            f'data-key="{key}" transform="scale(.01)">{copies}</g>')


def own_picture(drawing: Drawing, size_px: int, tolerance_mm: float, margin_mm: float = 1.5, label: str = "") -> str:
    """A drawing by itself as a small SVG picture (for the shelf and the panel)."""
    xy = np.vstack(drawing.silhouette)
    (x0, y0), (x1, y1) = xy.min(axis=0) - margin_mm, xy.max(axis=0) + margin_mm
    ink = "".join(f'<path class="{la.role}" d="{path_data(la.rings, tolerance_mm)}"/>' for la in drawing.layers)
    view = f"{x0 * 100:.0f} {-y1 * 100:.0f} {(x1 - x0) * 100:.0f} {(y1 - y0) * 100:.0f}"
    spoken = f'role="img" aria-label="{escape(label)}"' if label else 'aria-hidden="true"'
    return (f'<svg xmlns="http://www.w3.org/2000/svg" class="art" viewBox="{view}" width="{size_px}" '
            f'height="{size_px}" {spoken}><path class="skin" d="{path_data(drawing.silhouette, tolerance_mm)}"/>'
            f'<g class="ink">{ink}</g></svg>')
