"""A PDF to be filled page by page: compressed lightly, told to print at its own size."""

from __future__ import annotations

import io
import zlib
from concurrent.futures import Future, ThreadPoolExecutor

from reportlab import rl_config
from reportlab.pdfbase.pdfdoc import PDFStreamFilterZCompress, xObjectName
from reportlab.pdfgen.canvas import Canvas

from composer.sheets.paper import POINT_MM, Frame

LEVEL = 2
"""How hard streams are pressed, 1 to 9: 6 takes four times as long and saves a tenth."""
rl_config.useA85 = 0


class _Lightly(PDFStreamFilterZCompress):
    def __init__(self) -> None:
        self._begun: dict[int, tuple[bytes, Future[bytes]]] = {}    # by id, with the text, so that the id stands

    def begin(self, text: bytes) -> None:
        """Press a text that is to be encoded later, beside what is done meanwhile."""
        pool = ThreadPoolExecutor(1, "press")
        self._begun[id(text)] = text, pool.submit(zlib.compress, text, LEVEL)
        pool.shutdown(wait=False)

    def encode(self, text: str | bytes) -> bytes:
        if id(text) in self._begun:
            return self._begun.pop(id(text))[1].result()
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


def end_form(canvas: Canvas, name: str) -> None:
    """End the form of this name on a canvas of `new_pdf`; it is pressed beside what is drawn next."""
    text = "\n".join(canvas._code)
    plain = text.isascii()
    if plain:       # reportlab would look up every letter
        canvas._code = []
    canvas.endForm()
    form = canvas._doc.idToObject[xObjectName(name)]
    if plain:
        form.stream += b"\n" + text.encode("ascii")
    canvas._doc.defaultStreamFilters[0].begin(form.stream)
