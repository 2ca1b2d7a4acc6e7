"""The skin of a part as pixels: the art on the client's skin, tile by tile.

The layout is written once as a page of vectors; any part of it is then made into pixels at any
fineness by the PDF renderer, even-odd and smoothed. It is not safe between threads, so one lock
guards it.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import threading
from dataclasses import dataclass

import numpy as np
import pypdfium2
from PIL import Image

from composer.plan.model import Settings
from composer.views.unwrap import Layout, Placed
from web.paint.colour import mixed
from web.paint.ink import HEALED, INK, PEN, TONES

UNIT = 100.0
"""Points of the vector page for one tile."""
BASE_PX = 2048
STATE_INK = {"planned": INK, "healed": HEALED, "freehand": PEN}
_lock = threading.Lock()


def ink_of(state: str, role: str, skin: str) -> str:
    """Colour '#rrggbb' of an ink role of a piece in a state, on this skin."""
    ink = STATE_INK.get(state, INK)
    return mixed(ink, skin, TONES[role]) if role in TONES else ink


def _fill(colour: str) -> str:
    return " ".join(f"{int(colour[i:i + 2], 16) / 255:.4f}" for i in (1, 3, 5)) + " rg\n"


def _path(rings: list[np.ndarray]) -> str:
    out = []
    for ring in rings:
        if len(ring) < 3:
            continue
        pts = (ring * UNIT).round(3).tolist()
        out.append(f"{pts[0][0]:g} {pts[0][1]:g} m\n" + "".join(f"{x:.3f} {y:.3f} l\n" for x, y in pts[1:]) + "h\n")
    return "".join(out) + "f*\n" if out else ""


def page_of(lay: Layout, art: tuple[Placed, ...], settings: Settings) -> bytes:
    """The layout as a one-page PDF, a tile being UNIT points square, with a tile's margin all round."""
    w, h = (lay.columns + 2) * UNIT, (lay.rows + 2) * UNIT
    out = [_fill(settings.skin), f"0 0 {w:g} {h:g} re f\n1 0 0 1 {UNIT:g} {UNIT:g} cm\n"]
    for p in art:
        out += [_fill(settings.skin), _path(p.ground)]
        for role, rings in p.layers:
            out += [_fill(ink_of(p.piece.state, role, settings.skin)), _path(rings)]
    import pikepdf  # only when a part is first turned round

    pdf = pikepdf.new()
    pdf.add_blank_page(page_size=(w, h))
    pdf.pages[0].Contents = pdf.make_stream("".join(out).encode())
    data = io.BytesIO()
    pdf.save(data, static_id=True)
    return data.getvalue()


@dataclass
class Texture:
    """A part's skin, ready to be asked for pictures. `name` changes whenever a picture would."""

    layout: Layout
    skin: str
    page: bytes

    def __post_init__(self) -> None:
        self.name = hashlib.sha256(self.page).hexdigest()[:16]
        self._made: dict[tuple[int, int] | None, bytes] = {}

    def base(self) -> bytes:
        """The whole skin, BASE_PX square, as PNG."""
        lay = self.layout
        return self._kept(None, 0, 0, lay.columns, lay.rows, BASE_PX)

    def tile(self, column: int, row: int) -> bytes:
        """One tile with its gutter as PNG; row 0 lies at the far end. Raises ValueError for a tile
        that is not there."""
        lay = self.layout
        if not (0 <= column < lay.columns and 0 <= row < lay.rows):
            raise ValueError(f"The skin has {lay.columns} by {lay.rows} tiles; there is none at {column}, {row}.")
        g = lay.gutter_px / lay.tile_px
        px = lay.tile_px + 2 * lay.gutter_px
        return self._kept((column, row), column - g, row - g, column + 1 + g, row + 1 + g, px)

    def _kept(self, key: tuple[int, int] | None, x0: float, y0: float, x1: float, y1: float, px: int) -> bytes:
        if key not in self._made:
            self._made[key] = self._picture(x0, y0, x1, y1, px, px)
        return self._made[key]

    def _picture(self, x0: float, y0: float, x1: float, y1: float, width: int, height: int) -> bytes:
        """A rectangle of the layout (in tiles, y up) as PNG of so many pixels."""
        sx, sy = width / ((x1 - x0) * UNIT), height / ((y1 - y0) * UNIT)
        top = (self.layout.rows + 2) * UNIT
        # page points, y up from the lower left corner, to pixels, y down; the renderer wants the map of
        # its own y-down page at 1 px per point
        matrix = pypdfium2.PdfMatrix(sx, 0, 0, sy, -(x0 + 1) * UNIT * sx, -(top - (y1 + 1) * UNIT) * sy)
        with _lock, contextlib.closing(pypdfium2.PdfDocument(self.page)) as document:
            page = document[0]
            bitmap = pypdfium2.PdfBitmap.new_native(width, height, 4, rev_byteorder=True)
            clip = pypdfium2.raw.FS_RECTF(0, 0, width, height)
            pypdfium2.raw.FPDF_RenderPageBitmapWithMatrix(
                bitmap, page, matrix.to_raw(), clip, pypdfium2.raw.FPDF_REVERSE_BYTE_ORDER)
            image = Image.frombytes("RGBX", (width, height), bytes(bitmap.buffer), "raw", "RGBX", bitmap.stride)
            bitmap.close()
            page.close()
        out = io.BytesIO()
        image.convert("RGB").save(out, "PNG", compress_level=3)
        return out.getvalue()
