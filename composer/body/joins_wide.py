"""Both shoulders with the chest (or the back) as one wide sheet, for looking and for print at 1:1.

The panel lies in the middle on its own sheet, the midline upright; the upper stretch of each arm
is unrolled beside it and hung on at the shoulder, where the seam is truest. What lies on a part is drawn on
that part's own sheet and moved as a whole, so lengths stay those of the parts' sheets. Towards the armpit the sheets
overlap or stand apart, as paper does; `slack_mm` says how far. Nothing is shown twice: half way between the
two edges, and from the armpit on to where the sheets part, one sheet ends and the other takes over (`WidePart.strip`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely

from composer.body.joins import SPOTS, Join, armhole, join_parts
from composer.body.limb import Limb
from composer.body.panel import Panel
from composer.body.patch import lay_patch
from composer.body.sheet import Sheet, unroll
from composer.body.surface import Surface

PAIRS = {"left_side": "left side", "right_side": "right side",
         "left_shoulder": "left shoulder line", "right_shoulder": "right shoulder line"}
"""Wide sheets on which chest and back meet (see `composer.body.joins_pair`), and the seam in the middle of each."""
WIDE = {"shoulders": "chest", "shoulders_back": "upper_back", **dict.fromkeys(PAIRS, "chest")}
"""Names of the wide sheets, and the panel in the middle of each."""
WIDE_NAMES = {"shoulders": "Both shoulders and chest", "shoulders_back": "Both shoulders and back",
              "left_side": "Left side, chest to back", "right_side": "Right side, chest to back",
              "left_shoulder": "Left shoulder, chest to back", "right_shoulder": "Right shoulder, chest to back"}
"""What they are called."""
OVER_MM = 120.0
"""How far above its last tape an arm's own art may still show, where it runs on over the shoulder."""
FAR_MM = 2000.0
HUNG_AT = 0.22
"""Share of the armhole, from the shoulder point, at which an arm's sheet hangs on."""


@dataclass(frozen=True, eq=False)
class WidePart:
    """One part on the wide sheet. `sheet` is its own; `matrix` (2, 3) takes sheet mm to wide mm; `edge` (n, 2)
    its outline and `lines` its levels, as (name, (n, 2)), both wide mm; `s_from_mm` where what shows of it begins."""

    part: str
    sheet: Sheet
    matrix: np.ndarray
    edge: np.ndarray
    lines: tuple[tuple[str, np.ndarray], ...]
    s_from_mm: float
    own_side: shapely.Polygon | None = None
    """All of the wide sheet that is not taken over by another part, wide mm; None: everywhere."""
    half: bool = False
    """Whether only one side of a panel shows."""

    @property
    def limb(self) -> Surface:
        """The part's skin."""
        return self.sheet.limb

    @property
    def seam_u(self) -> float:
        """Where its own sheet is cut, turns."""
        return self.sheet.seam_u

    def border(self, step_mm: float = 4.0) -> np.ndarray:
        """Its outline, (n, 2), wide mm."""
        return self.edge

    def to_flat(self, us: np.ndarray) -> np.ndarray:
        """The same as `to_wide`, so that a part on the wide sheet is drawn as one on its own."""
        return self.to_wide(us)

    @cached_property
    def strip(self) -> shapely.Polygon:
        """Where the part's art may show, wide mm: as far as no other part takes over, an arm's between the two sides
        of its cut."""
        side = self.own_side if self.own_side is not None else shapely.box(-FAR_MM, -FAR_MM, FAR_MM, FAR_MM)
        if not self.limb.closed:
            return side
        u = np.linspace(self.seam_u, self.seam_u + 1, 60)
        low, high = self.s_from_mm, float(self.limb.s_max) + OVER_MM
        ring = np.concatenate([np.column_stack([u, np.full(60, low)]), np.column_stack([u, np.full(60, high)])[::-1]])
        return _largest(shapely.intersection(shapely.make_valid(shapely.Polygon(self.to_wide(ring))), side))

    @cached_property
    def shown(self) -> np.ndarray:
        """Outline of what shows of it, (n, 2), wide mm."""
        skin = shapely.intersection(shapely.make_valid(shapely.Polygon(self.edge)), self.strip)
        return np.asarray(_largest(skin).exterior.coords)[:-1]

    def reached(self, rings: Sequence[np.ndarray]) -> bool:
        """Whether an outline on its skin, rings (n, 2) of (u, s), reaches into what shows of it."""
        if not self.half:
            return bool(max(r[:, 1].max() for r in rings) > self.s_from_mm)
        flat = [shapely.make_valid(shapely.Polygon(self.to_wide(r))) for r in rings if len(r) > 2]
        return any(shapely.intersects(self.strip, f) for f in flat)

    def to_wide(self, us: np.ndarray) -> np.ndarray:
        """Skin (n, 2) of (u, s), u near the sheet's middle, to wide mm (n, 2)."""
        return _moved(self.matrix, self.sheet.to_flat(us))

    def to_skin(self, xy: np.ndarray) -> np.ndarray:
        """Wide mm (n, 2) to skin."""
        return self.sheet.to_skin((np.asarray(xy, float) - self.matrix[:, 2]) @ self.matrix[:, :2])


@dataclass(frozen=True, eq=False)
class WideSheet:
    """`parts` by name, the panel first; `midline` (2, 2) wide mm, upright at x = 0; `slack_mm` by arm: how far its edge
    and the panel's stand off each other at most along the upper half of the armhole."""

    parts: tuple[WidePart, ...]
    midline: np.ndarray
    slack_mm: dict[str, float]

    @cached_property
    def form(self) -> shapely.Polygon:
        """All of the parts as one form, wide mm; cracks between them up to 6 mm are closed."""
        every = shapely.union_all([shapely.make_valid(shapely.Polygon(p.edge)) for p in self.parts])
        shut = every.buffer(3.0, join_style="mitre").buffer(-3.0, join_style="mitre")
        return max(shapely.get_parts(shut), key=lambda g: g.area)

    @property
    def border(self) -> np.ndarray:
        """Its outline as one ring (n, 2), counter-clockwise; small holes between the parts are left out."""
        return np.asarray(shapely.geometry.polygon.orient(self.form).exterior.coords)[:-1]

    def part(self, name: str) -> WidePart:
        """The part of that name. Raises KeyError."""
        return next(p for p in self.parts if p.part == name)

    def part_at(self, xy: np.ndarray) -> WidePart | None:
        """The part at a place (2,) of the wide sheet, or None beside all of them."""
        return next((p for p in self.parts if shapely.contains_xy(shapely.Polygon(p.shown), *xy)), None)


def wide_sheet(surfaces: Mapping[str, Surface], panel: str = "chest", arm_mm: float = 200.0) -> WideSheet:
    """The wide sheet of a panel with the arms that are there, each `arm_mm` down from its last tape.

    Raises ValueError with a sentence when the panel is not among the surfaces.
    """
    if panel not in surfaces:
        raise ValueError(
            f"The {panel.replace('_', ' ')} has no measures yet; tape it, then both shoulders can be shown as one."
        )
    middle = surfaces[panel]
    assert isinstance(middle, Panel)
    sheet = unroll(middle)
    still = np.column_stack([np.eye(2), np.zeros(2)])
    edge = sheet.border()
    parts = [
        WidePart(
            panel, sheet, still, edge, tuple((ln.name, sheet.to_flat(ln.us)) for ln in middle.lines), middle.s_min
        )
    ]
    slack = {}
    taken: list[shapely.Polygon] = []
    joins = join_parts(surfaces)
    for arm in ("left_arm", "right_arm"):
        for _, _, data in joins.edges(panel, data=True) if arm in surfaces else ():
            if arm in (data["join"].a.part, data["join"].b.part):
                limb = surfaces[arm]
                assert isinstance(limb, Limb)
                part, off = _arm(data["join"], panel, arm, limb, arm_mm)
                parts.append(part)
                slack[arm] = off
                taken.append(_taken(data["join"], panel, sheet, part))
    parts = [replace(parts[0], own_side=_largest(shapely.difference(parts[0].strip, shapely.union_all(taken)))),
             *(replace(p, own_side=t) for p, t in zip(parts[1:], taken, strict=True))]
    return WideSheet(tuple(parts), np.array([[0.0, middle.s_min], [0.0, middle.s_max]]), slack)


def _arm(join: Join, panel: str, arm: str, limb: Limb, arm_mm: float) -> tuple[WidePart, float]:
    mine, theirs = join.sides(panel)
    low = max(limb.s_min, limb.s_max - arm_mm)
    outer = 0.25 if arm.startswith("left") else -0.25
    seam = outer - 0.5  # cut on the inner side, so that the armhole shows whole
    top = float(theirs.us[:, 1].max())
    mid = (low + top) / 2
    sheet = Sheet(limb, seam, lay_patch(limb, seam + 0.5, mid, mid - low, top - mid))
    a = unroll(mine.surface).to_flat(mine.us)
    b = sheet.to_flat(theirs.us)
    k, n = round(HUNG_AT * (SPOTS - 1)), 10
    ta, tb = a[k + n] - a[k - n], b[k + n] - b[k - n]
    turn = np.arctan2(ta[1], ta[0]) - np.arctan2(tb[1], tb[0])
    rot = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    matrix = np.column_stack([rot, a[k] - rot @ b[k]])
    left, right = sorted(armhole(arm, limb).values(), key=lambda h: h[-1, 0])
    over = np.concatenate([right[::-1], left[1:]])
    u = np.linspace(seam, seam + 1, 60)
    ring = np.concatenate([np.column_stack([u, np.full(60, low)]), over])
    lines = tuple(
        (lv.name, _moved(matrix, sheet.to_flat(np.column_stack([u, np.full(60, lv.s_mm)]))))
        for lv in limb.levels
        if low < lv.s_mm <= over[:, 1].min() + 1e-6
    )
    half = np.abs(_moved(matrix, b) - a)[: SPOTS // 2 + 1]
    return WidePart(arm, sheet, matrix, _moved(matrix, sheet.to_flat(ring)), lines, low), float(
        np.hypot(*half.T).max()
    )


def _taken(join: Join, panel: str, sheet: Sheet, arm: WidePart) -> shapely.Polygon:
    """All of the wide sheet on the arm's side of the line at which it takes over from the panel."""
    mine, theirs = join.sides(panel)
    line = (sheet.to_flat(mine.us) + arm.to_wide(theirs.us)) / 2
    rims = [shapely.Polygon(e).exterior for e in (sheet.border(), arm.edge)]
    met = shapely.get_coordinates(shapely.intersection(*rims))
    lowest = met[[met[:, 1].argmin()]] if len(met) and met[:, 1].min() < line[-1, 1] else line[-1:]
    out = np.copysign(FAR_MM, line[:, 0].mean())
    below, above = [lowest[0, 0], -FAR_MM], [line[0, 0], FAR_MM]
    ring = np.vstack([above, line, lowest, below, [out, -FAR_MM], [out, FAR_MM]])
    return _largest(shapely.make_valid(shapely.Polygon(ring)))


def _largest(shape: shapely.Geometry) -> shapely.Polygon:
    return max((g for g in shapely.get_parts(shape) if isinstance(g, shapely.Polygon)), key=lambda g: g.area)


def _moved(matrix: np.ndarray, xy: np.ndarray) -> np.ndarray:
    return np.asarray(xy, float) @ matrix[:, :2].T + matrix[:, 2]
