"""A stencil's paper as a picture at true size: black and grey on nothing, at a chosen resolution."""

from __future__ import annotations

import io

import numpy as np
import pypdfium2
from PIL import Image

from composer.sheets.leaf import Leaf
from composer.sheets.leaf_strokes import leaf_strokes
from composer.sheets.page_pdf import pages_pdf
from composer.sheets.stencil_pages import MIRROR, Ready, leaf_name
from composer.sheets.strokes import IDENTITY, Block, Page, combined

DPI = (72, 1200)
MOST_PIXELS = 40_000_000
EDGE_MM = 2.0


def stencil_png(ready: Ready, leaf: Leaf, dpi: int = 300, mirrored: bool = False) -> bytes:
    """PNG bytes of one paper, 2 mm of room round it, its resolution written in. White is see-through: what is
    not drawn has alpha 0, and the darker a line the more it covers.

    Raises ValueError with a sentence for a resolution out of bounds or a picture too large.
    """
    if not DPI[0] <= dpi <= DPI[1]:
        raise ValueError(f"{dpi} dpi can't be used; choose {DPI[0]} to {DPI[1]}.")
    x0, y0, x1, y1 = leaf.outline.bounds
    width, height = x1 - x0 + 2 * EDGE_MM, y1 - y0 + 2 * EDGE_MM
    if width * height * (dpi / 25.4) ** 2 > MOST_PIXELS:
        raise ValueError(f"At {dpi} dpi this paper has more than {MOST_PIXELS // 1_000_000} million pixels; choose "
                         "fewer dpi, or take the PDF, which has no pixels at all.")
    turn = MIRROR if mirrored else IDENTITY
    move = np.array([[1.0, 0.0, EDGE_MM + (x1 if mirrored else -x0)], [0.0, 1.0, EDGE_MM - y0]])
    page = Page(width, height, (Block(leaf_strokes(leaf, leaf_name(ready, leaf)), combined(move, turn)),))
    document = pypdfium2.PdfDocument(pages_pdf([page], leaf_name(ready, leaf)))
    try:
        grey = np.squeeze(document[0].render(scale=dpi / 72, grayscale=True).to_numpy())
    finally:
        document.close()
    picture = Image.fromarray(np.dstack([np.zeros_like(grey), 255 - grey]), "LA")
    out = io.BytesIO()
    picture.save(out, "PNG", dpi=(dpi, dpi))
    return out.getvalue()
