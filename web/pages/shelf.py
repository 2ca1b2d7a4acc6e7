"""Pictures of drawings, and the artist's own drawings taken onto the shelf."""

from __future__ import annotations

from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from composer.art.errors import ArtError
from composer.store.gallery import MISSING
from web.page import desk_of
from web.paint.colour import mixed
from web.paint.ink import INK, TONES
from web.paint.piece import own_picture
from web.threads import with_form

FILE_LIMIT = 8_000_000
PAPER = "#fdfaf3"


def picture(request: Request) -> Response:
    """A drawing by its digest, as a small SVG picture; the same digest is always the same picture."""
    desk, digest = desk_of(request), request.path_params["digest"]
    drawing, lost = desk.store.shown[digest], ""
    if MISSING in drawing.notes:
        if digest not in list(desk.store.gallery):
            raise HTTPException(404, "There is no drawing of that name.")
        lost = "no-store"

    def make() -> str:
        size = max(b - a for a, b in zip(*_corners(drawing), strict=True))
        css = "".join(f".{r}{{fill:{mixed(INK, PAPER, s)}}}" for r, s in TONES.items())
        svg = own_picture(drawing, 240, max(size / 1200, 0.02))
        style = f"<style>path{{fill-rule:evenodd;fill:{INK}}}.skin{{fill:#fffdf8}}{css}</style>"
        return svg.replace("><path", f">{style}<path", 1)

    svg = make() if lost else desk.once(("picture", digest), make)
    return Response(svg, media_type="image/svg+xml",
                    headers={"Cache-Control": lost or "public, max-age=31536000, immutable"})


def _corners(drawing: Any) -> tuple[list[float], list[float]]:
    import numpy as np

    xy = np.concatenate(drawing.silhouette)
    return xy.min(axis=0).tolist(), xy.max(axis=0).tolist()


async def add(request: Request) -> Response:
    """Take in one or more SVG files; says what became of each."""
    from anyio.to_thread import run_sync

    async with request.form(max_files=12, max_part_size=FILE_LIMIT) as form:
        files = [f for f in form.getlist("file") if hasattr(f, "read") and f.filename]
        read = [(f.filename, await f.read(FILE_LIMIT + 1)) for f in files]
    if not read:
        raise ArtError("No file was chosen. Choose an SVG file.")
    return await run_sync(_add, request, read)


def _add(request: Request, files: list[tuple[str, bytes]]) -> Response:
    words, fine = [], 0
    for name, data in files:
        if len(data) > FILE_LIMIT:
            words.append(f"{name}: this file is larger than 8 MB; simplify the drawing and try again.")
            continue
        try:
            motif = desk_of(request).store.add_motif(data, name)
        except ArtError as err:
            words.append(f"{name}: {err}")
        else:
            fine += 1
            desk_of(request).gaps.later(motif.digest, desk_of(request).store.gallery)
            notes = " ".join(motif.side.get("notes", []))
            words.append(f"\u201c{motif.title}\u201d is on the shelf. {notes}".strip())
    return JSONResponse({"sentence": " ".join(words), "taken": fine}, 200 if fine else 422)


@with_form
def remove(request: Request, form: dict[str, Any]) -> Response:
    desk_of(request).store.remove_motif(request.path_params["motif"])
    return JSONResponse({"sentence": "Taken off the shelf."})


routes = [
    Route("/motifs/{digest}.svg", picture),
    Route("/shelf", add, methods=["POST"]),
    Route("/shelf/{motif}/remove", remove, methods=["POST"]),
]
