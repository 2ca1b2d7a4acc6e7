"""What the artist asked for when a picture was brought in: kept with the motif, so that it can be drawn again."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from composer.art.errors import ArtError
from composer.art.linework import DETAIL, LineWish, Region
from composer.art.tones import STEPS, ToneWish

METHODS = ("alpha", "background", "lasso", "frame")
DETAILS = (*DETAIL, "none")
MOST_POINTS, MOST_SHAPES = 4000, 40


@dataclass(frozen=True, eq=False)
class PictureWish:
    """`method`: one of METHODS. `tolerance`, `holes` (None: as it seems), `lasso` (n, 2), `marks` [(line (n, 2),
    belongs)], `fit`: see `silhouette`. `scale`: (ax, ay, bx, by, mm), a known length on the picture, or None;
    `long_mm`: the subject's longer side as the artist wants it, or None. `lines`, `tones`: whether they are drawn, and
    how. `outline_mm`: width of the silhouette's line, 0 for none. `least_mm`: thinnest stroke. Points are in pixels of
    the picture as kept."""

    method: str = "background"
    tolerance: float = 0.5
    holes: bool | None = None
    lasso: np.ndarray = field(default_factory=lambda: np.zeros((0, 2)))
    marks: tuple[tuple[np.ndarray, bool], ...] = ()
    fit: bool = True
    scale: tuple[float, float, float, float, float] | None = None
    long_mm: float | None = None
    lines: LineWish | None = field(default_factory=LineWish)
    regions: tuple[Region, ...] = ()
    outline_mm: float = 0.7
    least_mm: float = 0.3
    tones: ToneWish | None = field(default_factory=ToneWish)


def wish_to_json(w: PictureWish) -> dict[str, Any]:
    """Plain JSON, points to a tenth of a pixel."""
    def flat(p: np.ndarray) -> list[float]:
        return np.round(p, 1).ravel().tolist()

    return {"method": w.method, "tolerance": w.tolerance, "holes": w.holes, "lasso": flat(w.lasso), "fit": w.fit,
            "marks": [[flat(p), b] for p, b in w.marks], "scale": None if w.scale is None else list(w.scale),
            "long_mm": w.long_mm, "outline_mm": w.outline_mm, "least_mm": w.least_mm,
            "lines": None if w.lines is None else vars(w.lines).copy(),
            "regions": [[flat(r.ring), r.detail] for r in w.regions],
            "tones": None if w.tones is None else {**vars(w.tones), "steps": list(w.tones.steps)}}


def wish_from_json(data: Any) -> PictureWish:
    """Inverse of `wish_to_json`; what is missing is as usual. Raises ArtError for what can't be."""
    try:
        return _read(dict(data))
    except ArtError:
        raise
    except (TypeError, ValueError, KeyError, AttributeError, OverflowError) as err:
        raise ArtError("What was asked for the picture can't be understood; load the page again and repeat the last "
                       "step.") from err


def _read(d: dict[str, Any]) -> PictureWish:
    method = str(d.get("method", "background"))
    if method not in METHODS:
        raise ArtError(f"A silhouette can't be found by '{method[:20]}'; choose {', '.join(METHODS)}.")
    if len(d.get("marks", ())) > MOST_SHAPES or len(d.get("regions", ())) > MOST_SHAPES:
        raise ArtError(f"More than {MOST_SHAPES} marks or regions are drawn on the picture; take some away.")
    scale = d.get("scale")
    lines, tones = d.get("lines", {}), d.get("tones", {})
    holes = d.get("holes")
    return PictureWish(
        method, _share(d.get("tolerance", 0.5)), None if holes is None else bool(holes), _points(d.get("lasso", ())),
        tuple((_points(p), bool(b)) for p, b in d.get("marks", ()) if len(p) >= 2), bool(d.get("fit", True)),
        None if scale is None else _five(scale),
        None if d.get("long_mm") is None else _within(d["long_mm"], 4, 1200, "The longer side"),
        None if lines is None else LineWish(_share(lines.get("fineness", 0.5)), _share(lines.get("darkness", 0.4)),
                                            _share(lines.get("clean", 0.5)), bool(lines.get("inked", False))),
        tuple(_region(r) for r in d.get("regions", ())),
        _within(d.get("outline_mm", 0.7), 0, 5, "The outline"), _within(d.get("least_mm", 0.3), 0, 3, "The needle"),
        None if tones is None else ToneWish(_share(tones.get("lift", 0.5)), _share(tones.get("thirds", 0.0)),
                                            _share(tones.get("simple", 0.5)),
                                            tuple(s for s in STEPS if s in tones.get("steps", STEPS))))


def _region(r: Any) -> Region:
    ring, detail = r
    if detail not in DETAILS:
        raise ArtError(f"A region can't have '{str(detail)[:20]}' detail; choose {', '.join(DETAILS)}.")
    return Region(_points(ring), str(detail))


def _share(v: Any) -> float:
    return min(max(_number(v), 0.0), 1.0)


def _number(v: Any) -> float:
    x = float(v)
    if not math.isfinite(x):
        raise ValueError("no number")
    return x


def _five(v: Any) -> tuple[float, float, float, float, float]:
    a, b, c, d, e = (_number(x) for x in v)
    return a, b, c, d, e


def _within(v: Any, low: float, high: float, what: str) -> float:
    x = _number(v)
    if not low <= x <= high:
        raise ArtError(f"{what} can't be {x:g} mm; use {low:g} to {high:g} mm.")
    return x


def _points(v: Any) -> np.ndarray:
    if len(v) > 2 * MOST_POINTS:
        raise ArtError(f"A line drawn on the picture has more than {MOST_POINTS} points; draw it simpler.")
    p = np.asarray(v, float).reshape(-1, 2)
    if not np.isfinite(p).all() or np.abs(p).max(initial=0) > 1e6:
        raise ArtError("A line drawn on the picture runs far outside it; draw it again.")
    return p
