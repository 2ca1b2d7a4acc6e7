"""What of a piece no cut of a stencil may go through: all of it, or what is painted over it, such as a face."""

from __future__ import annotations

import math

import numpy as np
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry
from starlette.requests import Request
from starlette.routing import Route

from composer.art.drawing import geometry_to_rings
from composer.filler.painted import LEAST_MM, WIDEST_MM
from composer.plan.errors import StepError
from composer.plan.scene import Laid, matrix
from composer.store.store import Kept
from web.ask import Ask
from web.brush import thinned_stroke
from web.desk import Desk
from web.pages.desk_steps import Form, acting

KEY = "keep_whole"
MOST_POINTS = 60


@acting
def do_keep(request: Request, form: Form, desk: Desk, pid: str, part: str, ask: Ask) -> tuple[Kept, list[str] | None]:
    """Keep all of a piece whole, or none of it, or add what was painted."""
    kept = desk.store.load(pid)
    piece = kept.plan.piece(str(form.get("id") or ""))
    if "stroke" in form:
        view = desk.view_of(kept.plan, kept.revision, part, piece.id)
        laid = view.laid(piece.id)
        if laid is None:
            raise StepError("This piece is no longer on this part.")
        skin = thinned_stroke(str(form["stroke"]), view.sheet, MOST_POINTS)
        old = piece.extra.get(KEY)
        new = painted_rings(laid, skin, str(form.get("width") or ""))
        value: object = [*(old if isinstance(old, list) else []), *new]
    else:
        value = form.get("on") == "1"
    words = f"keep {piece.title.lower()} whole" if value else f"let {piece.title.lower()} be cut"
    return desk.store.commit(pid, {"do": "change", "pieces": [{"id": piece.id, KEY: value}]}, words), None


def painted_rings(laid: Laid, skin: np.ndarray, width: str) -> list[list[list[float]]]:
    """A stroke over a piece as rings in the drawing's own mm; `skin` (n, 2) of (u, s). Raises StepError."""
    try:
        mm = float(width)
    except ValueError:
        mm = math.nan
    if not math.isfinite(mm) or not LEAST_MM <= mm <= WIDEST_MM:
        raise StepError(f"The brush must be {LEAST_MM:g} to {WIDEST_MM:g} mm wide.")
    u = skin[:, 0] + np.round(laid.piece.u - skin[:, 0].mean())
    flat = laid.patch.to_flat(np.column_stack([u, skin[:, 1]]))
    m = matrix(laid.piece)
    own = (flat - m[:, 2]) @ np.linalg.inv(m[:, :2]).T
    line = LineString(own) if len(np.unique(own, axis=0)) > 1 else Point(own[0])
    area = line.buffer(mm / 2 / laid.piece.scale, quad_segs=4)
    if not area.intersects(_own_outline(laid, m)):
        raise StepError("The stroke lies beside this piece; paint over what is to stay whole.")
    return [np.round(r, 2).tolist() for r in geometry_to_rings(area)]


def _own_outline(laid: Laid, m: np.ndarray) -> BaseGeometry:
    """Silhouette of a laid piece in its drawing's own mm."""
    inverse = np.linalg.inv(m[:, :2])
    return laid.flat.moved(np.column_stack([inverse, -inverse @ m[:, 2]])).outline


routes = [Route("/plans/{pid}/desk/{part}/keep", do_keep, methods=["POST"])]
