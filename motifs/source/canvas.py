"""The drawing table: paint from back to front, each form hides what it lies over.

Coordinates are mm with y UP while drawing; `save` writes SVG (y down) in mm.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from composer.art.brush import normals, spline, stroke, swell
from composer.art.drawing import ROLES, geometry_to_rings

OUT = Path(__file__).resolve().parents[1]


def shape(points: Any, closed: bool = True, smooth: bool = True) -> BaseGeometry:
    """Filled form from points; smooth unless told. A shapely geometry is passed through."""
    if isinstance(points, BaseGeometry):
        return points
    ring = spline(points, closed=True) if smooth else np.asarray(points, float)
    return shapely.make_valid(Polygon(ring))


def ellipse(cx: float, cy: float, rx: float, ry: float, turn_deg: float = 0.0) -> np.ndarray:
    t = np.linspace(0, 2 * np.pi, 72, endpoint=False)
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    x, y = rx * np.cos(t), ry * np.sin(t)
    return np.column_stack([cx + c * x - s * y, cy + s * x + c * y])


class Canvas:
    """Collects ink by role. `body` puts a form in front of all that was drawn before."""

    def __init__(self, seed: int = 1) -> None:
        self.ink: dict[str, list[BaseGeometry]] = {r: [] for r in ROLES}
        self.forms: list[BaseGeometry] = []
        self.rng = np.random.default_rng(seed)

    def body(self, form: Any, heavy: float = 1.1, light: float = 0.55, sun_deg: float = 120.0,
             smooth: bool = True, silhouette: bool = True) -> BaseGeometry:
        """Open-skin form with a living outline: heavy away from the light, thin towards it."""
        g = shape(form, smooth=smooth)
        self.erase(g)
        if silhouette:
            self.forms.append(g)
        for ring in geometry_to_rings(g):
            self.outline(ring, heavy, light, sun_deg)
        return g

    def erase(self, form: BaseGeometry) -> None:
        """Leave the skin open inside the form."""
        for role, parts in self.ink.items():
            self.ink[role] = [d for p in parts if not (d := p.difference(form)).is_empty]

    def outline(self, ring: np.ndarray, heavy: float, light: float, sun_deg: float = 120.0) -> None:
        closed = np.vstack([ring, ring[:2]])
        n = normals(closed)
        if Polygon(ring).exterior.is_ccw:
            n = -n
        sun = np.array([np.cos(np.radians(sun_deg)), np.sin(np.radians(sun_deg))])
        k = (1 - n @ sun) / 2
        k = np.convolve(np.pad(k, 6, mode="wrap"), np.ones(13) / 13, "valid")
        self.put("line", stroke(closed, light + (heavy - light) * k))

    def put(self, role: str, geometry: BaseGeometry, inside: BaseGeometry | None = None) -> None:
        """Ink of a role, clipped to a form when one is given."""
        if inside is not None:
            geometry = shapely.intersection(shapely.make_valid(geometry), inside)
        if not geometry.is_empty:
            self.ink[role].append(geometry)

    def line(self, points: Any, width: float = 0.6, belly: float = 0.4, start: float = 0.35,
             end: float = 0.0, inside: BaseGeometry | None = None, role: str = "line",
             smooth: bool = True) -> None:
        """One drawn line: swells to `width`, tapers to shares `start` and `end` of it."""
        path = spline(points) if smooth else np.asarray(points, float)
        self.put(role, stroke(path, width, swell(belly, start, end)), inside)

    def whip(self, edge: Any, toward: Any, depth: float, width: float = 0.45, gap: float = 0.75,
             inside: BaseGeometry | None = None, smooth: bool = True) -> None:
        """Whip shading: strokes flicked from an edge towards a point, lengths with rhythm."""
        path = spline(edge, step_mm=gap) if smooth else np.asarray(edge, float)
        goal = np.asarray(toward, float)
        rhythm = (1.0, 0.62, 0.84, 0.5, 0.92, 0.7)
        for i, p in enumerate(path):
            d = goal - p
            length = float(np.hypot(*d))
            if length < 1e-6:
                continue
            reach = depth * rhythm[i % 6] * float(self.rng.uniform(0.9, 1.1))
            d = d / length * min(reach, length)
            bend = np.array([-d[1], d[0]]) * 0.08
            self.line([p, p + d * 0.5 + bend, p + d], width, 0.02, 1.0, 0.0, inside)

    def pepper(self, region: BaseGeometry, density: Any, size: float = 0.38, n: int = 400) -> None:
        """Graded dots: tries n random points, keeps each with chance density(x, y) in [0, 1],
        never closer than 2 dot sizes."""
        x0, y0, x1, y1 = region.bounds
        kept: list[np.ndarray] = []
        for p in self.rng.uniform((x0, y0), (x1, y1), (n, 2)):
            if self.rng.uniform() > density(*p) or not shapely.contains_xy(region, *p):
                continue
            if all(np.hypot(*(p - q)) > 2 * size for q in kept):
                kept.append(p)
        for p in kept:
            self.put("line", shapely.Point(p).buffer(size / 2 * float(self.rng.uniform(0.8, 1.2)), quad_segs=3))

    def save(self, name: str, side: dict[str, Any]) -> Path:
        """Write motifs/NAME.svg and NAME.json; the tone shares are measured, not claimed."""
        form = shapely.union_all([f.buffer(0.35) for f in self.forms]).simplify(0.03)
        x0, y0, x1, y1 = form.bounds
        pad = 1.0
        w, h = x1 - x0 + 2 * pad, y1 - y0 + 2 * pad

        def d(g: BaseGeometry) -> str:
            parts = []
            for r in geometry_to_rings(g):
                q = np.round(np.column_stack([r[:, 0] - x0 + pad, y1 + pad - r[:, 1]]), 2)
                parts.append("M" + "L".join(f"{a:g} {b:g}" for a, b in q) + "Z")
            return "".join(parts)

        fills = {"light": "#dcd8d4", "mid": "#a9a3a0", "dark": "#5d5758", "black": "#17131a", "line": "#17131a"}
        rows = [f'<svg xmlns="http://www.w3.org/2000/svg" width="{w:.2f}mm" height="{h:.2f}mm" '
                f'viewBox="0 0 {w:.2f} {h:.2f}">', f"<title>{side['title']}</title>",
                f'<g id="silhouette" fill="#ffffff"><path fill-rule="evenodd" d="{d(form)}"/></g>']
        seen: BaseGeometry = Polygon()
        shares: dict[str, float] = {}
        for role in reversed(ROLES):
            parts = self.ink[role]
            merged = shapely.union_all([p.buffer(0) for p in parts]).simplify(0.02) if parts else Polygon()
            self.ink[role] = [merged]
            shares[role] = merged.intersection(form).difference(seen).area / form.area
            seen = shapely.union(seen, merged)
        for role in ROLES:
            if not self.ink[role][0].is_empty:
                path_ = f'<path fill-rule="evenodd" d="{d(self.ink[role][0])}"/>'
                rows.append(f'<g id="{role}" fill="{fills[role]}">{path_}</g>')
        rows.append("</svg>\n")
        path = OUT / f"{name}.svg"
        path.write_text("\n".join(rows), encoding="utf-8")
        tones = {"black": round(shares["black"] + shares["line"], 3)}
        tones |= {r: round(shares[r], 3) for r in ("dark", "mid", "light")}
        tones["open"] = round(1 - sum(tones.values()), 3)
        (OUT / f"{name}.json").write_text(json.dumps({**side, "tones": tones}, indent=1) + "\n", encoding="utf-8")
        return path
