"""A PDF to be filled page by page: compressed lightly, told to print at its own size."""

from __future__ import annotations

import io
import zlib

from reportlab import rl_config
from reportlab.pdfbase.pdfdoc import PDFStreamFilterZCompress
from reportlab.pdfgen.canvas import Canvas

from composer.sheets.paper import POINT_MM, Frame

LEVEL = 2
"""How hard streams are pressed, 1 to 9: 6 takes four times as long and saves a tenth."""
rl_config.useA85 = 0


class _Lightly(PDFStreamFilterZCompress):
    def encode(self, text: str | bytes) -> bytes:
        return zlib.compress(text.encode("utf8") if isinstance(text, str) else text, LEVEL)


def new_pdf(page: Frame, title: str) -> tuple[Canvas, io.BytesIO]:
    """A canvas with a first page of this size and where its `save` writes; the same strokes give the same bytes.

    Viewers are told not to scale it when they print (ISO 32000-1, table 150).
    """
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(page.width / POINT_MM, page.height / POINT_MM), invariant=1, pageCompression=0)
    canvas._doc.defaultStreamFilters = [_Lightly()]   # for every stream that names none: pages and forms
    canvas.setTitle(title)
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas, out
