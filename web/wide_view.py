"""Both shoulders with chest or back as one desk: every piece on the sheet of its own part, all of them side by side."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace

import numpy as np

from composer.body.joins_wide import PAIRS, WIDE, WidePart, WideSheet
from composer.body.panel import Panel
from composer.plan.model import Plan
from composer.plan.over_joins import seen_on
from composer.plan.scene import Laid, Scene
from composer.sheets.wide_art import parts_of, wide_of
from composer.store.store import Store
from web.desk import NotMeasured, View
from web.paint.piece import SCREEN_MM, copies_of, piece_group, piece_key, sheet_key
from web.paint.table import WideTable


@dataclass(frozen=True)
class WideView(View):
    """The wide sheet at one revision. `views` has each part with its own pieces; `scene` all pieces together, for
    lists and order alone (each lies on its own part's skin)."""

    wide: WideSheet = field(kw_only=True)
    views: dict[str, View] = field(kw_only=True)
    beyond: dict[str, list[tuple[str, Laid]]] = field(kw_only=True, default_factory=dict)
    """Of pieces that lie over a seam, the parts that they reach into and how they lie there, by id."""

    def keys(self) -> dict[str, str]:
        """How each piece looks now: id to picture key, back to front."""
        return {la.piece.id: piece_key(la.piece, self.views[la.piece.part].sheet_name + "".join(
            self.views[part].sheet_name for part, _ in self.beyond.get(la.piece.id, []))) for la in self.drawn}

    def groups(self, ids: list[str] | None = None, tolerance_mm: float = SCREEN_MM) -> list[str]:
        """SVG groups of the pieces (those with these ids, or all), back to front; what lies over a seam is drawn on
        each part as far as that part shows."""
        keys, out = self.keys(), []
        for la in self.drawn:
            if ids is None or la.piece.id in ids:
                key = keys[la.piece.id]
                more = "".join(copies_of(over, self.views[part].sheet, f"{key}-{part}", tolerance_mm, f"strip-{part}")
                               for part, over in self.beyond.get(la.piece.id, []))
                part = la.piece.part
                out.append(piece_group(la, self.views[part].sheet, key, tolerance_mm, f"strip-{part}", more))
        return out

    def over(self, part: str) -> list[Laid]:
        """What reaches into a part from its neighbours, as it lies there."""
        return [la for rows in self.beyond.values() for name, la in rows if name == part]

    def guests(self, filler: bool) -> str:
        """What reaches in from parts that this sheet does not show, a picture only (SVG): background, or the rest."""
        rows = [(part, la) for rows in self.beyond.values() for part, la in rows
                if la.piece.is_filler == filler and la.home is not None and la.home.part not in self.views]
        rows.sort(key=lambda row: (row[1].piece.depth, row[1].piece.id))
        return "".join(f'<g class="piece {la.piece.state}{" filler" if filler else ""}" transform="scale(.01)">'
                       + copies_of(la, self.views[part].sheet, f"guest-{la.flat.digest}-{self.views[part].sheet_name}",
                                   SCREEN_MM, f"strip-{part}") + "</g>" for part, la in rows)

    def lowest(self) -> dict[str, float]:
        """Above which level each arm shows, mm."""
        return {p.part: p.s_from_mm for p in self.wide.parts if p.limb.closed}

    def holding_at(self, x: float, y: float) -> str | None:
        """Name of the part that shows at a place of the sheet, mm, y up; None beside all of them."""
        found = self.wide.part_at(np.array([x, y]))
        return found.part if found is not None else None

    def holding(self, xy: np.ndarray) -> WidePart:
        """The part at a place (2,) of the wide sheet, mm; the middle one beside all of them."""
        return self.wide.part_at(xy) or self.wide.parts[0]


def wide_view(plan: Plan, name: str, store: Store) -> WideView:
    """The wide sheet of that name. Raises NotMeasured when its middle, of chest and back either, is not taped."""
    if not any(p.name == WIDE[name] for p in plan.parts):
        raise NotMeasured(WIDE[name])
    if name in PAIRS and "upper_back" not in parts_of(name, plan):
        raise NotMeasured("upper_back")
    wide = wide_of(plan, name)
    views: dict[str, View] = {}
    every: list[Laid] = []
    beyond: dict[str, list[tuple[str, Laid]]] = {}
    for part in wide.parts:
        seen = seen_on(plan, part.part, store.shown)
        for la in seen.scene.laid:
            if la.piece.id in seen.leaning:
                beyond.setdefault(la.piece.id, []).append((part.part, la))
        own = tuple(la for la in seen.scene.laid if la.piece.id not in seen.leaning
                    and part.reached(la.rings))
        name_ = hashlib.sha256((sheet_key(part.sheet) + repr(part.matrix.round(6).tolist())).encode()).hexdigest()[:12]
        views[part.part] = View(plan, part.part, part.limb, part, name_, replace(seen.scene, laid=own))
        every += own
    every.sort(key=lambda la: (la.piece.depth, la.piece.id))
    middle = wide.parts[0].limb
    assert isinstance(middle, Panel)
    sheet_name = hashlib.sha256("".join(v.sheet_name for v in views.values()).encode()).hexdigest()[:12]
    return WideView(plan, name, middle, WideTable(wide), sheet_name, Scene(middle, -0.5, tuple(every)), wide=wide,
                    views=views, beyond=beyond)
