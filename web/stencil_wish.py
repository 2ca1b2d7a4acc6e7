"""What is asked of the Stencils page, from its form or its address."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlencode

from starlette.datastructures import QueryParams

from composer.plan.model import Piece, Plan
from composer.plan.sittings import of_sitting
from composer.sheets.calibrate import Correction
from composer.sheets.paper import PAPERS
from composer.sheets.slits import WAYS
from composer.sheets.stencil_pages import Print
from composer.store.store import Store

ROLL_MM = 210.0
DPIS = (150, 300, 600)
FEW = 3
"""So many planned pieces are shown without being asked for."""


@dataclass(frozen=True)
class Wish:
    """`pieces` ids in the order of the plan; `paper` a name of PAPERS or 'roll'."""

    pieces: tuple[str, ...]
    together: bool = False
    way: str = "auto"
    fine: bool = False
    twins: bool = False
    shades: bool = True
    face: str = "plain"
    paper: str = "A4"
    roll_mm: float = ROLL_MM
    printer: str = ""

    @property
    def query(self) -> str:
        """The wish as the query of an address."""
        return urlencode([*[("piece", p) for p in self.pieces], *self._rest])

    def for_sitting(self, number: int) -> str:
        """The same for the work of a sitting."""
        return urlencode([("sitting", str(number)), *self._rest])

    @property
    def _rest(self) -> list[tuple[str, str]]:
        pairs = [(k, "1") for k in ("together", "fine", "twins") if getattr(self, k)]
        pairs += [("shades", "1" if self.shades else "0"), ("way", self.way), ("face", self.face),
                  ("paper", self.paper), ("roll", f"{self.roll_mm:g}"), ("printer", self.printer)]
        return [*pairs, ("asked", "1")]

    def how(self, store: Store) -> Print:
        """How to print it, with the printer's own correction."""
        known = store.printers.named(self.printer) if self.printer else None
        fix = Correction(known.name, known.across, known.along) if known else Correction()
        roll = self.roll_mm if self.paper == "roll" else None
        return Print("A4" if roll else self.paper, self.face == "mirrored", roll, fix)


def choosable(plan: Plan, part: str) -> list[Piece]:
    """Pieces of a part that can be stencilled, as a hanging limb shows them from above, then its background."""
    return sorted(plan.on(part), key=lambda p: (p.is_filler, -p.s_mm, p.u))


def wish_of(query: QueryParams, plan: Plan, part: str) -> Wish:
    """What can't be had falls back to the usual: the planned pieces, or the uppermost of many, on A4, plain."""
    known = [p.id for p in choosable(plan, part)]
    asked = query.getlist("piece")
    pieces = tuple(i for i in known if i in asked)
    if query.get("sitting", "").isdecimal():
        sat = {p.id for p in of_sitting(plan, int(query["sitting"]), part)}
        pieces = tuple(i for i in known if i in sat)
    elif not pieces and query.get("asked") != "1":
        planned = [p.id for p in choosable(plan, part) if p.state == "planned" and not p.is_filler] or known
        pieces = tuple(planned if len(planned) <= FEW else planned[:1])
    try:
        roll = float(query.get("roll", "").replace(",", ".") or ROLL_MM)
    except ValueError:
        roll = ROLL_MM
    paper = next((n for n in (*PAPERS, "roll") if n.lower() == query.get("paper", "A4").lower()), "A4")
    way = query.get("way", "auto")
    return Wish(pieces, query.get("together") == "1", way if way in WAYS else "auto", query.get("fine") == "1",
                query.get("twins") == "1", "1" in query.getlist("shades") or not query.getlist("shades"),
                "mirrored" if query.get("face") == "mirrored" else "plain", paper, roll, query.get("printer", "")[:40])
