"""One page of a PDF as pixels. Scripts in the file are never run: the page is only painted."""

from __future__ import annotations

import re

import numpy as np

from composer.art.errors import ArtError
from composer.art.raster_guard import KEPT_PIXELS
from composer.art.raster_read import Picture

DPI = 300.0
MOST_PT = 14_400.0
"""200 inches, the largest page of ISO 32000-1, annex C."""


def render_page(data: bytes, number: int = 1) -> Picture:
    """Page `number` (1 is the first) on white, at 300 dpi or as fine as KEPT_PIXELS allows.

    Raises ArtError for a file that is locked, damaged or has no such page.
    """
    import pypdfium2 as pdfium

    try:
        doc = pdfium.PdfDocument(data)
    except pdfium.PdfiumError as err:
        if "password" in str(err).lower():
            raise ArtError("The PDF is locked with a password; save it without one and bring that in.") from err
        raise ArtError("The PDF is damaged or was cut short; save or send it again.") from err
    try:
        count = len(doc)
        if not 1 <= number <= count:
            raise ArtError(f"The PDF has {count} {'page' if count == 1 else 'pages'}; there is no page {number}.")
        notes = []
        if _scripts(doc, data):
            notes.append("The PDF carries scripts; none was run, only the page as it is drawn was read.")
        if count > 1:
            notes.append(f"The PDF has {count} pages; page {number} was taken.")
        page = doc[number - 1]
        try:
            width, height = page.get_size()
            if not (1 <= width <= MOST_PT and 1 <= height <= MOST_PT):
                raise ArtError(f"The PDF page is {width / 72 * 25.4:.3g} by {height / 72 * 25.4:.3g} mm, which no page "
                               "is; save it again at its real size.")
            dpi = min(DPI, 72 * (KEPT_PIXELS / (width * height)) ** 0.5)
            shown = page.render(scale=dpi / 72, may_draw_forms=False, fill_color=(255, 255, 255, 255),
                                rev_byteorder=True)
            rgb = np.array(shown.to_numpy())
        finally:
            page.close()
    except pdfium.PdfiumError as err:
        raise ArtError("The PDF page can't be drawn; it is damaged. Save or send it again.") from err
    finally:
        doc.close()
    rgb = np.repeat(rgb[..., :1], 3, axis=2) if rgb.ndim == 3 and rgb.shape[2] == 1 else rgb
    rgb = np.repeat(rgb[..., None], 3, axis=2) if rgb.ndim == 2 else rgb[..., :3]
    return Picture(np.ascontiguousarray(rgb), None, dpi, "PDF", tuple(notes))


def _scripts(doc: object, data: bytes) -> bool:
    import pypdfium2.raw as raw

    return raw.FPDFDoc_GetJavaScriptActionCount(doc) > 0 or bool(re.search(rb"/(JavaScript|JS)\b", data))
