"""The unrolled part as the table shows it: skin, levels, landmark lines, and numbers for the browser."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, cast

import numpy as np
import shapely
from markupsafe import escape

from composer.body.joins_wide import PAIRS, WIDE, WidePart, WideSheet
from composer.body.kinds import side_of
from composer.body.panel import Panel
from composer.body.sheet import AnySheet, Sheet, unroll
from composer.plan.model import PANELS
from web.paint.paths import line_data, ring_data
from web.places import far_word, left_sign

MARGIN_MM = 6.0
MIDLINE_U = 0.012
"""Nearer than this (about 12 mm on a chest) a place counts as on the midline."""
GRID_MM = 20.0


@dataclass(frozen=True)
class WideTable:
    """The wide sheet where a single part's sheet is asked for: its outline and its middle."""

    wide: WideSheet

    @property
    def limb(self) -> Panel:
        """The panel in the middle."""
        panel = self.wide.parts[0].limb
        assert isinstance(panel, Panel)
        return panel

    @property
    def seam_u(self) -> float:
        """A panel has no seam."""
        return -0.5

    def to_flat(self, us: np.ndarray) -> np.ndarray:
        """Skin (n, 2) of the panel in the middle to wide mm."""
        return self.wide.parts[0].to_wide(us)

    def to_skin(self, xy: np.ndarray) -> np.ndarray:
        """Wide mm (n, 2) to skin of the panel in the middle."""
        return self.wide.parts[0].to_skin(xy)

    def border(self, step_mm: float = 4.0) -> np.ndarray:
        """Outline of the whole, (n, 2), wide mm."""
        return self.wide.border


@dataclass(frozen=True)
class Box:
    """Rectangle of the sheet in mm, y downwards."""

    x: float
    y: float
    width: float
    height: float

    @property
    def view(self) -> str:
        return f"{self.x:.2f} {self.y:.2f} {self.width:.2f} {self.height:.2f}"


def box_of(sheet: AnySheet) -> Box:
    """The sheet's rectangle with a small margin."""
    ring = sheet.border()
    (x0, y0), (x1, y1) = ring.min(axis=0) - MARGIN_MM, ring.max(axis=0) + MARGIN_MM
    return Box(float(x0), float(-y1), float(x1 - x0), float(y1 - y0))


def sides(part: str) -> dict[float, str]:
    """Names of the lines along a part by u (u grows to the right seen from outside): the four of a limb, the
    midline of chest and back."""
    if part in PANELS or part in WIDE:
        return {0.0: "midline"}
    outer = 0.25 * side_of(part)
    return {0.0: "front", outer: "outer side", 0.5: "back", -outer: "inner side"}


def side_at(part: str, u: float) -> str:
    """The side of the limb nearest to u; on chest and back the client's left or right side, or the midline."""
    if part in PANELS or part in WIDE:
        left = u * left_sign(part) > 0
        return "midline" if abs(u) < MIDLINE_U else "left side" if left else "right side"
    return min(sides(part).items(), key=lambda it: abs((u - it[0] + 0.5) % 1.0 - 0.5))[1]


def _across(sheet: AnySheet, s: float) -> np.ndarray:
    u = np.linspace(sheet.seam_u, sheet.seam_u + 1, 49)
    return sheet.to_flat(np.column_stack([u, np.full(len(u), s)]))


def _along(sheet: AnySheet, u: float) -> np.ndarray:
    s = np.linspace(sheet.limb.s_min, sheet.limb.s_max, 2)
    return sheet.to_flat(np.column_stack([np.full(len(s), u), s]))


def _on_sheet(sheet: AnySheet, u: float) -> float:
    return sheet.seam_u + (u - sheet.seam_u) % 1.0


def skin_path(sheet: AnySheet) -> str:
    """Border of the sheet as a path in mm."""
    return ring_data([sheet.border(2.0)])


def pencil(sheet: AnySheet, part: str) -> str:
    """Levels across and landmark lines along, as quiet lines (SVG)."""
    if isinstance(sheet, WideTable) and part in PAIRS:
        return _pair_pencil(sheet.wide)
    if isinstance(sheet.limb, Panel):
        return _panel_pencil(sheet, sheet.limb) + _arms_pencil(sheet)
    out = [f'<path class="level" d="{line_data(_across(sheet, lv.s_mm))}"/>'
           for lv in sheet.limb.levels[1:-1]]
    for u, name in sides(part).items():
        at = _on_sheet(sheet, u)
        if at - sheet.seam_u > 1e-6:
            kind = "landmark" if name == "front" else "quarter"
            out.append(f'<path class="{kind}" d="{line_data(_along(sheet, at))}"/>')
    return "".join(out)


def _panel_pencil(sheet: AnySheet, panel: Panel) -> str:
    """Midline, level curves and landmarks of chest or back."""
    out = [f'<path class="level" d="{line_data(sheet.to_flat(line.us))}"/>' for line in panel.lines]
    out.append(f'<path class="landmark" d="{line_data(sheet.to_flat(midline(panel)))}"/>')
    for us in panel.landmarks.values():
        x, y = sheet.to_flat(np.array([us]))[0]
        out.append(f'<path class="mark" d="M{x - 3:.2f} {-y:.2f}h6M{x:.2f} {-y - 3:.2f}v6"/>')
    return "".join(out)


def _arms_pencil(sheet: AnySheet) -> str:
    """Edges and levels of the arms that hang beside a panel on a wide sheet."""
    if not isinstance(sheet, WideTable):
        return ""
    out = [f'<path class="join" d="{ring_data([part.shown])}"/>' for part in sheet.wide.parts]
    return "".join([*out, *(f'<path class="level" d="{line_data(line)}"/>' for part in sheet.wide.parts[1:]
                            for _, line in part.lines)])


def _pair_pencil(wide: WideSheet) -> str:
    """Edges, levels, midlines and landmarks of chest and back that meet on a wide sheet."""
    out = [f'<path class="join" d="{ring_data([part.shown])}"/>' for part in wide.parts]
    for part in wide.parts:
        out += [f'<path class="{"landmark" if name == "midline" else "level"}" d="{line_data(line)}"/>'
                for name, line in part.lines]
        assert isinstance(part.limb, Panel)
        for us in part.limb.landmarks.values():
            x, y = part.to_wide(np.array([us]))[0]
            if shapely.contains_xy(part.strip, x, y):
                out.append(f'<path class="mark" d="M{x - 3:.2f} {-y:.2f}h6M{x:.2f} {-y - 3:.2f}v6"/>')
    return "".join(out)


def midline(panel: Panel) -> np.ndarray:
    """The midline from the lower edge to notch or nape, (2, 2) of (u, s)."""
    return np.array([[0.0, panel.midline_low], [0.0, panel.midline_top]])


def words(sheet: AnySheet, part: str) -> list[dict[str, Any]]:
    """Names at the edge of the sheet: levels at its right, sides along its top; mm, y down."""
    out = []
    if isinstance(sheet.limb, Panel):
        return _panel_words(sheet, sheet.limb)
    for lv in sheet.limb.levels:
        x, y = _across(sheet, lv.s_mm)[-1]
        out.append({"text": lv.name, "x": round(float(x), 2), "y": round(float(-y), 2), "at": "right"})
    for u, name in sides(part).items():
        at = _on_sheet(sheet, u)
        if at - sheet.seam_u < 1e-6:
            continue
        x, y = sheet.to_flat(np.array([[at, sheet.limb.s_max]]))[0]
        out.append({"text": name, "x": round(float(x), 2), "y": round(float(-y), 2), "at": "top"})
    return out


def _panel_words(sheet: AnySheet, panel: Panel) -> list[dict[str, Any]]:
    """Names of the landmarks of chest or back beside them, and of the lines at their ends. `rise`: how far the edges of
    the neck draw apart for each mm of height, `deep` mm of them, so that what stands between them finds room."""
    out: list[dict[str, Any]] = []

    def say(text: str, us: np.ndarray, at: str) -> None:
        x, y = sheet.to_flat(np.atleast_2d(us))[0]
        out.append({"text": text, "x": round(float(x), 2), "y": round(float(-y), 2), "at": at})

    say("nape" if "nape" in panel.landmarks else "notch", np.array([0.0, panel.midline_top]), "top")
    edge = panel.to_mm(panel.outline)
    high, low = edge[edge[:, 1].argmax()], panel.to_mm(np.array([[0.0, panel.midline_top]]))[0]
    deep = float(high[1] - low[1])
    out[0] |= {"rise": round(abs(float(high[0])) / max(deep, 1.0), 3), "deep": round(deep, 1)}
    for name, us in panel.landmarks.items():
        head, _, side = name.rpartition(" ")
        beside = "right" if us[0] > 0 else "left"
        if head == "shoulder point":
            say(head.replace(" ", "\n"), np.array(us), f"{beside} two")
        elif head == "crease":      # where it opens into the armhole: on the skin it would lie over art
            hole = panel.edge(f"armhole_{side}")
            off = np.hypot(*(panel.to_mm(hole) - panel.to_mm(np.array(us))).T)
            say(head, hole[int(off.argmin())], beside)
        elif head == "lower side":
            say(f"client's {side}", np.array(us), "below")
    say("midline", midline(panel)[0], "below")
    return out


def paper_grid(panel: Panel) -> dict[str, Any]:
    """How paper lies in the sheet, over a grid of GRID_MM: a, c, d of the map [[a, 0], [c, d]] from sheet mm to paper
    mm at each node, rows from below, whose product with itself is the metric and which keeps "up" up; beyond the edges
    as at the nearest place on them."""
    (x0, y0), (x1, y1) = panel.to_mm(panel.outline).min(axis=0), panel.to_mm(panel.outline).max(axis=0)
    nx, ny = int((x1 - x0) / GRID_MM) + 2, int((y1 - y0) / GRID_MM) + 2
    xy = np.stack(np.meshgrid(x0 + GRID_MM * np.arange(nx), y0 + GRID_MM * np.arange(ny)), axis=-1).reshape(-1, 2)
    rim, spots = panel.form.exterior, shapely.points(xy)
    near = shapely.get_coordinates(shapely.line_interpolate_point(rim, shapely.line_locate_point(rim, spots)))
    m = panel.metric(panel.from_mm(np.where(panel.inside(panel.from_mm(xy))[:, None], xy, near)))
    d = np.sqrt(m[:, 1, 1])
    c = m[:, 0, 1] / d
    a = np.sqrt(np.maximum(m[:, 0, 0] - c * c, 0.01))
    return {"x": round(float(x0), 3), "y": round(float(y0), 3), "step": GRID_MM, "nx": nx, "ny": ny,
            "p": np.round(np.column_stack([a, c, d]), 4).ravel().tolist()}


def numbers(sheet: AnySheet, part: str) -> dict[str, Any]:
    """What the browser needs to follow a hand: the sheet's chart, girths each 2 mm, levels, sides."""
    if isinstance(sheet, WideTable):
        rows = {p.part: numbers(p.sheet, p.part) | {"matrix": p.matrix.ravel().tolist(), "words": [],
                                                    "outline": ring_data([p.shown])} for p in sheet.wide.parts}
        main = sheet.wide.parts[0].part
        return {"wide": rows, "main": main, "words": _wide_words(sheet.wide, rows[main])}
    limb = sheet.limb
    if isinstance(limb, Panel):
        return {"patch": {"u0": 0.0, "s0": 0.0, "c1": limb.turn_mm, "b": 0.0}, "seam": -0.5, "closed": False,
                "s": [limb.s_min, limb.s_max], "girth": [limb.turn_mm, limb.turn_mm], "grid": paper_grid(limb),
                "levels": [], "sides": [{"name": n, "u": u} for u, n in sides(part).items()],
                "midline": midline(limb)[:, 1].round(2).tolist(), "marks": [
                    {"name": n, "u": u, "s": s} for n, (u, s) in limb.landmarks.items()],
                "far": far_word(part), "part": part, "words": words(sheet, part)}
    assert isinstance(sheet, Sheet)
    p = sheet.patch
    s = np.linspace(limb.s_min, limb.s_max, max(2, int((limb.s_max - limb.s_min) / 2) + 1))
    return {"patch": {"u0": p.u0, "s0": p.s0_mm, "c1": p.c1_mm, "b": p.b}, "seam": sheet.seam_u,
            "s": [limb.s_min, limb.s_max], "girth": np.round(limb.girth(s), 4).tolist(),
            "levels": [{"name": lv.name, "s": lv.s_mm} for lv in limb.levels],
            "sides": [{"name": n, "u": u} for u, n in sides(part).items()],
            "far": far_word(part), "part": part, "closed": True, "words": words(sheet, part)}


def _wide_words(wide: WideSheet, main: dict[str, Any]) -> list[dict[str, Any]]:
    """Notch and midline, and the name of each arm at its far end."""
    panel = WideTable(wide).limb
    if not wide.parts[-1].limb.closed:
        return [_name_of(part) for part in wide.parts]
    out = [w for w in _panel_words(unroll(panel), panel) if w["text"] in ("notch", "nape", "midline")]
    for part in wide.parts[1:]:
        middle = part.seam_u + 0.5
        out.append(_beyond(part.part.replace("_", " "), *part.to_wide(np.array([
            [middle, part.s_from_mm], [middle, part.s_from_mm + 10.0]]))))
    return out


def _name_of(part: WidePart) -> dict[str, Any]:
    """The name of a panel that shows by half, beside the end of its midline that lies out on the sheet."""
    ends = part.to_wide(midline(cast(Panel, part.limb)))
    return _beyond("chest" if part.part == "chest" else "back", ends[0], ends[1])


def _beyond(text: str, end: np.ndarray, inner: np.ndarray) -> dict[str, Any]:
    """A word that stands beyond an end (2,) of the sheet, on the way there from a place (2,) further in."""
    dx, dy = (end - inner) / np.hypot(*(end - inner))
    return {"text": text, "x": round(float(end[0]), 2), "y": round(float(-end[1]), 2), "at": "mid",
            "way": [round(float(dx), 3), round(float(-dy), 3)]}


def defs(sheet: AnySheet) -> str:
    """The clip that keeps art on the skin; on a wide sheet also those that keep a part's art to what shows of it."""
    if isinstance(sheet, WideTable):
        strips = "".join(f'<clipPath id="strip-{p.part}"><path transform="scale(100)" d="'
                         f'{ring_data([np.asarray(p.strip.exterior.coords)])}"/></clipPath>'
                         for p in sheet.wide.parts)
        return f'<defs><clipPath id="skin-edge"><path d="{skin_path(sheet)}"/></clipPath>{strips}</defs>'
    return f'<defs><clipPath id="skin-edge"><path d="{skin_path(sheet)}"/></clipPath></defs>'


def thumbnail(sheet: AnySheet, part: str, groups: list[str], css: str) -> str:
    """The sheet with its pieces as one standing SVG picture (start page, previews)."""
    box = box_of(sheet)
    return (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box.view}" role="img" '
            f'aria-label="Sheet of the {escape(part.replace("_", " "))}"><style>{css}</style>{defs(sheet)}'
            f'<path d="{skin_path(sheet)}" fill="var(--skin)" stroke="#6d6250" stroke-width="1"/>'
            f'<g clip-path="url(#skin-edge)">{"".join(groups)}</g></svg>')
