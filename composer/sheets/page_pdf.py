"""Pages of strokes as PDF: vectors at 1:1, fonts embedded, layers that a viewer can switch, no scaling."""

from __future__ import annotations

import io
from collections.abc import Sequence

import numpy as np
import pikepdf
from reportlab.pdfgen.canvas import Canvas

from composer.sheets.leaf_strokes import GROUPS
from composer.sheets.letters import write
from composer.sheets.paper import POINT_MM, Frame
from composer.sheets.pdf_file import new_pdf
from composer.sheets.pdf_path import fill_rings
from composer.sheets.strokes import Fill, Page, Stroke, Thing, Words

MM = 1 / POINT_MM


def pages_pdf(pages: Sequence[Page], title: str) -> bytes:
    """The pages as one PDF; the same pages give the same bytes. Groups named in `leaf_strokes.GROUPS` become
    optional content (ISO 32000-1, 8.11), so a viewer can hide them."""
    canvas, out = new_pdf(Frame(pages[0].width, pages[0].height), title)
    used: list[str] = []
    for page in pages:
        canvas.setPageSize((page.width * MM, page.height * MM))
        for block in page.blocks:
            canvas.saveState()
            if block.clip is not None:
                window = canvas.beginPath()
                window.rect(*(v * MM for v in block.clip))
                canvas.clipPath(window, stroke=0, fill=0)
            (a, b, e), (c, d, f) = block.matrix
            canvas.transform(a, c, b, d, e * MM, f * MM)
            for thing in block.things:
                layer = thing.group in GROUPS
                if layer:
                    if thing.group not in used:
                        used.append(thing.group)
                    canvas._code.append(f"/OC /{thing.group} BDC")
                draw(canvas, thing)
                if layer:
                    canvas._code.append("EMC")
            canvas.restoreState()
        canvas.showPage()
    canvas.save()
    return _layered(out.getvalue(), used)


def draw(canvas: Canvas, thing: Thing) -> None:
    """One thing in the canvas's present frame."""
    if isinstance(thing, Fill):
        fill_rings(canvas, thing.rings, thing.grey)
    elif isinstance(thing, Stroke):
        _stroke(canvas, thing)
    else:
        _words(canvas, thing)


def _stroke(canvas: Canvas, stroke: Stroke) -> None:
    canvas.setStrokeGray(stroke.grey)
    canvas.setLineWidth(stroke.width_mm * MM)
    canvas.setLineCap(1 if stroke.round else 0)
    canvas.setLineJoin(1)
    canvas.setDash([d * MM for d in stroke.dash_mm])
    path = canvas.beginPath()
    for line in stroke.lines:
        xy = (line * MM).tolist()
        shut = len(xy) > 3 and np.array_equal(line[0], line[-1])
        path.moveTo(*xy[0])
        for p in xy[1 : -1 if shut else None]:
            path.lineTo(*p)
        if shut:
            path.close()
    if stroke.lines:
        canvas.drawPath(path, stroke=1, fill=0)


def _words(canvas: Canvas, words: Words) -> None:
    canvas.setFillGray(words.grey)
    canvas.saveState()
    canvas.translate(words.x * MM, words.y * MM)
    canvas.rotate(words.turn_deg)
    write(canvas, 0, 0, words.text, words.face, words.size_pt, words.align)
    canvas.restoreState()


def _layered(data: bytes, used: Sequence[str]) -> bytes:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        layers = {name: pdf.make_indirect(pikepdf.Dictionary(
            Type=pikepdf.Name.OCG, Name=pikepdf.String(GROUPS[name]))) for name in GROUPS if name in used}
        if not layers:
            return data
        for page in pdf.pages:
            page.Resources.Properties = pikepdf.Dictionary({f"/{n}": g for n, g in layers.items()})
        every = pikepdf.Array(list(layers.values()))
        pdf.Root.OCProperties = pikepdf.Dictionary(OCGs=every, D=pikepdf.Dictionary(
            Order=pikepdf.Array(list(layers.values())), ON=pikepdf.Array(list(layers.values()))))
        out = io.BytesIO()
        pdf.save(out, deterministic_id=True, stream_decode_level=pikepdf.StreamDecodeLevel.none)
    return out.getvalue()
