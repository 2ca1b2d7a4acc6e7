"""What the pages share: the store, and what was worked out for a plan as it stands."""

from __future__ import annotations

import logging
import threading
import uuid
from collections import OrderedDict
from collections.abc import Callable, MutableMapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from composer.body.joins_wide import WIDE
from composer.body.sheet import AnySheet, unroll
from composer.body.surface import Surface, build_surface
from composer.compose.gaps import Survey
from composer.plan.model import Piece, Plan
from composer.plan.over_joins import Leaning, seen_on
from composer.plan.scene import Laid, Scene
from composer.store.store import Store
from web.ahead import SOON_S, Ahead, cut_ahead, know_ahead, wake
from web.beside import beside
from web.cut_files import CutFiles
from web.drawers import SHARED
from web.gap_files import GapFiles
from web.jobs import Jobs
from web.paint.piece import SCREEN_MM, piece_group, piece_key, sheet_key
from web.rush import Rush

log = logging.getLogger("sleevewright.web")
KEPT = {"view": 4, "found": 5, "propose": 10, "sketch": 10, "pull": 4, "part reading": 6, "fit part": 6, "board": 6,
        "thumb": 8, "map art": 3, "round": 2, "stencil": 24, "stencil pages": 3}
"""How many of each kind of result are kept (a survey alone takes some MB); 160 of any other."""
OTHERS = 160
OUTDATED = ("found", "round", "map art")
"""Of these, keyed (kind, plan, revision, ...), only the latest that was asked for stays: each weighs some MB."""


LAST_SURVEYS = 3
"""So many parts are surveyed anew only round what changed; the rest are surveyed whole again."""


class _Last(OrderedDict[Any, Any]):
    """The last so many entries that were set."""

    def __init__(self, most: int) -> None:
        super().__init__()
        self._most = most

    def __setitem__(self, key: Any, value: Any) -> None:
        super().__setitem__(key, value)
        self.move_to_end(key)
        while len(self) > self._most:
            self.popitem(last=False)


class NotMeasured(ValueError):
    """A part that has no measures yet."""


@dataclass(frozen=True)
class View:
    """One part of a plan at one revision, laid and unrolled."""

    plan: Plan
    part: str
    limb: Surface
    sheet: AnySheet
    sheet_name: str
    scene: Scene
    leaning: dict[str, Leaning] = field(default_factory=dict)
    """Pieces of neighbouring parts that reach in here, by id."""
    joined: bool = False
    """Searched as far as the parts that it meets, as on a wide sheet (see `composer.compose.planned`)."""

    @property
    def place(self) -> str:
        """What is searched, for what is kept of it: the part, or the part beside those that it meets."""
        return f"{self.part} joined" if self.joined else self.part

    @cached_property
    def drawn(self) -> tuple[Laid, ...]:
        """Back to front as they are drawn: every filler behind every piece."""
        return tuple(sorted(self.scene.laid, key=lambda la: not la.piece.is_filler))

    def keys(self) -> dict[str, str]:
        """How each piece looks now: id to picture key, back to front."""
        return {la.piece.id: piece_key(la.piece, self.sheet_name) if la.piece.id not in self.leaning else
                piece_key(la.piece, self.sheet_name + la.flat.digest) for la in self.drawn}

    def groups(self, ids: list[str] | None = None, tolerance_mm: float = SCREEN_MM) -> list[str]:
        """SVG groups of the pieces (those with these ids, or all), back to front."""
        wanted = None if ids is None else set(ids)
        keys = self.keys()
        return [piece_group(la, self.sheet, keys[la.piece.id], tolerance_mm) for la in self.drawn
                if wanted is None or la.piece.id in wanted]

    def on(self) -> tuple[Piece, ...]:
        """The pieces and fillers that belong here, back to front; not what only reaches in."""
        return tuple(la.piece for la in self.scene.laid if la.piece.id not in self.leaning)

    def laid(self, piece_id: str) -> Laid | None:
        return next((la for la in self.scene.laid if la.piece.id == piece_id), None)


class Desk:
    """The store with a memory of what is costly, keyed by plan, revision and part; thread-safe."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self._lock = threading.Lock()
        self._kept: dict[str, OrderedDict[tuple[Any, ...], Any]] = {}
        self.last_survey: MutableMapping[tuple[str, str], Survey] = _Last(LAST_SURVEYS)
        self.jobs = Jobs()
        self.drawers = SHARED
        self.shelf_ready = False
        self._making: dict[tuple[Any, ...], threading.Lock] = {}
        self.rush = Rush()
        self.gaps = GapFiles(store.folder / "line-gaps", self.rush)
        self.cuts = CutFiles(store.folder / "cuts")
        self.ahead = Ahead(lambda plan_id, part: cut_ahead(self, plan_id, part))
        self.soon = Ahead(lambda plan_id, part: know_ahead(self, plan_id, part), SOON_S)
        self._warming: threading.Thread | None = None
        store.gallery.mended = self.forget

    def forget(self) -> None:
        """Let go of all that is remembered."""
        with self._lock:
            self._kept.clear()

    def warm(self) -> None:
        """Beside the first page read the shelf, which takes some seconds the first time, then lay out the last plan."""
        self.ahead.begin()
        self.soon.begin()

        def read() -> None:
            try:
                self.store.shelf()
            except Exception:
                log.exception("reading the shelf")
            finally:
                self.shelf_ready = True
            try:
                if not self.gaps.ending.is_set():
                    wake(self)
            except Exception:   # whoever opens the plan is told
                log.exception("laying out the last plan")
            self.gaps.measure_all(self.store)
        self._warming = beside(read, "shelf")

    def end(self) -> None:
        """Tell the work beside the page to stop, and wait a moment for what reads the store."""
        self.gaps.ending.set()
        self.ahead.end()
        self.soon.end()
        self.jobs.end()
        if self._warming is not None:
            self._warming.join(3.0)

    def peek(self, key: tuple[Any, ...]) -> Any:
        """The value kept under the key, or None."""
        with self._lock:
            return self._row(key).get(key)

    def _row(self, key: tuple[Any, ...]) -> OrderedDict[tuple[Any, ...], Any]:
        return self._kept.setdefault(str(key[0]), OrderedDict())

    def once(self, key: tuple[Any, ...], make: Callable[[], Any]) -> Any:
        """The value kept under the key, made when it is not there; made once even when two ask."""
        with self._lock:
            row = self._row(key)
            if key in row:
                row.move_to_end(key)
                return row[key]
            gate = self._making.setdefault(key, threading.Lock())
        with gate:
            with self._lock:
                if key in row:
                    return row[key]
            try:
                value = make()
                with self._lock:
                    if key[0] in OUTDATED:
                        for old in [k for k in row if (k[1], *k[3:]) == (key[1], *key[3:])]:
                            del row[old]
                    row[key] = value
                    while len(row) > KEPT.get(str(key[0]), OTHERS):
                        row.popitem(last=False)
            finally:
                with self._lock:
                    self._making.pop(key, None)
            return value

    def view(self, plan: Plan, revision: int, part: str) -> View:
        """The part laid out. Raises NotMeasured when it has no measures."""
        return self.once(("view", plan.id, revision, part), lambda: self._view(plan, part))

    def view_of(self, plan: Plan, revision: int, part: str, piece_id: str) -> View:
        """The view of the part that a piece lies on: on a wide sheet that of its own part."""
        piece = next((p for p in plan.pieces if p.id == piece_id), None)
        home = piece.part if piece is not None and part in WIDE else part
        view = self.view(plan, revision, WIDE.get(home, home))
        beside = piece is not None and piece.recipe is not None and piece.recipe.goal.get("joined")
        return replace(view, joined=True) if beside else view

    def _view(self, plan: Plan, part: str) -> View:
        if part in WIDE:
            from web.wide_view import wide_view
            return wide_view(plan, part, self.store)
        try:
            measures = plan.part(part).measures
        except KeyError:
            raise NotMeasured(part) from None
        limb = build_surface(part, measures)
        sheet = unroll(limb, plan.part(part).seam_u)
        seen = seen_on(plan, part, self.store.shown)
        return View(plan, part, limb, sheet, sheet_key(sheet), seen.scene, seen.leaning)


def new_id(prefix: str = "p") -> str:
    """A fresh id for a piece."""
    return f"{prefix}{uuid.uuid4().hex[:10]}"
