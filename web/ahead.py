"""What a print and a search for a place need, made ready while nothing else is asked for: the longest of it is cutting
what lies behind something in front."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

from composer.body.joins_wide import WIDE
from composer.body.panel import Panel
from composer.plan.errors import PlanError
from web.beside import beside

if TYPE_CHECKING:
    from web.desk import Desk

log = logging.getLogger("sleevewright.web")
QUIET_S, SOON_S = 6.0, 0.7
"""So long after the last answer a hand is taken to rest; and to pause, for what takes moments."""

LONGEST_S = 3.0
"""After a start a step of that is begun at the latest so long after the one before."""


class Ahead:
    """Does `work(plan id, part)` for what was asked for last, once nothing more was for `quiet_s`. Asks for nothing
    before it is told to begin, and ends within a moment."""

    def __init__(self, work: Callable[[str, str], object], quiet_s: float = QUIET_S) -> None:
        self._work, self._quiet_s = work, quiet_s
        self._said = threading.Condition()
        self._on: tuple[str, str] | None = None
        self._asked, self._running, self._open = 0, False, False

    def begin(self) -> None:
        """From now on work may be done."""
        self._open = True

    def end(self) -> None:
        """Begin nothing any more."""
        with self._said:
            self._open = False
            self._said.notify_all()

    def asked(self, plan_id: str, part: str) -> None:
        """Something was asked for on a part of a plan."""
        with self._said:
            if not self._open:
                return
            self._on, self._asked = (plan_id, part), self._asked + 1
            self._said.notify_all()
            if not self._running:
                self._running = True
                beside(self._run, "ahead")

    @property
    def resting(self) -> bool:
        """Whether nothing was asked for since the work began."""
        return self._open and self._on is None

    def _run(self) -> None:
        while True:
            with self._said:
                before = self._asked
                self._said.wait_for(lambda before=before: not self._open or self._asked != before, self._quiet_s)
                if self._open and self._asked != before:
                    continue
                on, self._on = self._on, None
                if not self._open or on is None:
                    self._running = False
                    return
            try:
                self._work(*on)
            except Exception:   # whoever prints is told; at the end the processes that draw are gone
                if self._open:
                    log.exception("making a print ready")


def cut_ahead(desk: Desk, plan_id: str, part: str) -> None:
    """Cut a part and keep the cuts in files. A wide sheet is left: its parts are cut when they are opened."""
    if part in WIDE:
        return
    try:
        kept = desk.store.load(plan_id)
    except PlanError:   # removed meanwhile
        return
    view = desk.view(kept.plan, kept.revision, part)
    desk.cuts.ahead(view.scene, kept.plan.settings, desk.drawers)


def know_ahead(desk: Desk, plan_id: str, part: str, quiet: Callable[[], bool] | None = None) -> None:
    """Make ready what the first search for a place on chest or back would wait for, step by step as long as it is
    `quiet`: until something is asked for."""
    from composer.compose.best_place_panel_check import skin_of
    from composer.compose.best_place_panel_field import edge_mm, know_paper, spots_on
    from composer.compose.fit_facts import client_of
    from web import fit, sleeve

    quiet = quiet or (lambda: desk.soon.resting)
    try:
        kept = desk.store.load(plan_id)
        view = desk.view(kept.plan, kept.revision, WIDE.get(part, part))
    except (PlanError, KeyError, ValueError):   # removed meanwhile, or not taped
        return
    if not isinstance(view.limb, Panel):
        return
    panel = sleeve.scene_of(view).limb
    assert isinstance(panel, Panel)
    options = fit.options_of(kept, view)
    know_paper(panel, quiet)
    if quiet():
        spots_on(panel, view.part, client_of(options["zones"], options["flexed_mm"]))
    if quiet():
        edge_mm(panel, skin_of(panel))


def wake(desk: Desk) -> None:
    """After a start: lay out the part of the last plan that is opened first, with the cuts that files hold and, in a
    quiet moment, those that none does, and bring in what printing takes."""
    from composer.sheets.letters import width_mm
    from web.pages.start import first_part

    width_mm("100 mm", "text", 8)
    rows = desk.store.plans()
    kept = None if not rows or rows[0].damaged else desk.store.load(rows[0].id)
    part = first_part(kept.plan) if kept else None
    if kept and part:
        view = desk.view(kept.plan, kept.revision, part)
        desk.cuts.recall(view.scene, kept.plan.settings)
        if not desk.gaps.ending.is_set() and desk.rush.wait_quiet(SOON_S, LONGEST_S):
            cut_ahead(desk, kept.plan.id, part)
        for trunk in ("chest", "upper_back"):
            know_ahead(desk, kept.plan.id, trunk, lambda: not desk.gaps.ending.is_set() and
                       desk.rush.wait_quiet(SOON_S, LONGEST_S))
