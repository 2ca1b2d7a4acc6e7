"""The studio's file: plans with their whole history, drawings, the artist's own motifs."""

from __future__ import annotations

import json
import secrets
import time
import zlib
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, func, insert, select, update

from composer.art.drawing import Drawing
from composer.art.shelf import Motif
from composer.art.svg_read import ReadArt
from composer.kept import Kept as Remembered
from composer.plan.errors import PlanError, StepError
from composer.plan.form import plan_from_json, plan_to_json
from composer.plan.model import Plan
from composer.plan.options import arts_of
from composer.plan.steps import apply, label
from composer.store.bundle import pack, unpack
from composer.store.errors import StoreError
from composer.store.gallery import Gallery, Shown
from composer.store.motifs import Motifs
from composer.store.pictures import Pictures
from composer.store.printers import Printers
from composer.store.tables import open_engine, plans, steps


@dataclass(frozen=True)
class Kept:
    """A plan as stored. `revision` grows with every change, undo and redo."""

    plan: Plan
    revision: int
    undo_label: str | None
    redo_label: str | None

    @property
    def can_undo(self) -> bool:
        return self.undo_label is not None

    @property
    def can_redo(self) -> bool:
        return self.redo_label is not None


@dataclass(frozen=True)
class PlanRow:
    """A plan in the list: `changed` is seconds since 1970; `pieces` without background, `background` how many
    drawings of it; `taped` whether any part of it is; `damaged`: what was saved last of it can't be read."""

    id: str
    title: str
    changed: float
    pieces: int
    background: int
    taped: bool
    damaged: bool = False


DAMAGED = ("What was saved last of this plan is damaged in the studio's file. Take it back by one step on the list of "
           "plans, or put back a copy of the file.")


class Store:
    """All that the studio keeps, in `folder`/sleevewright.sqlite. Safe to use from threads."""

    def __init__(self, folder: Path | str) -> None:
        self.folder = Path(folder).expanduser()
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as err:
            raise PlanError(f"The data folder {self.folder} cannot be made ({err.strerror}); "
                            "choose another with --data.") from err
        self.engine = open_engine(self.folder / "sleevewright.sqlite")
        self.gallery = Gallery(self.engine)
        self.shown = Shown(self.gallery)
        self.motifs = Motifs(self.engine, self.gallery)
        self.printers = Printers(self.engine)
        self.pictures = Pictures(self.engine)

    def close(self) -> None:
        """Let go of the file."""
        self.engine.dispose()

    # ---- plans

    def plans(self) -> list[PlanRow]:
        """Every plan that is not removed, the latest changed first."""
        with self.engine.connect().execution_options(reading=True) as c:
            rows = c.execute(
                select(plans.c.id, plans.c.title, plans.c.changed, steps.c.state)
                .outerjoin(steps, (steps.c.plan_id == plans.c.id) & (steps.c.number == plans.c.head))
                .where(plans.c.removed.is_(None)).order_by(plans.c.changed.desc())).all()
        return [_row(r.id, r.title, r.changed, r.state) for r in rows]

    def unused(self) -> bool:
        """Whether no plan was ever kept here, not even one that was removed since."""
        with self.engine.connect().execution_options(reading=True) as c:
            return c.execute(select(plans.c.id).limit(1)).first() is None

    def create(self, title: str) -> str:
        """A new, empty plan; returns its id."""
        title = title.strip() or "New plan"
        return self.adopt(apply(Plan(_new_id(), "New plan"), {"do": "rename", "title": title}))

    def adopt(self, plan: Plan) -> str:
        """Take in a whole plan (its drawings must be in the gallery); a taken id gets a new one."""
        with self.engine.begin() as c:
            if c.execute(select(plans.c.id).where(plans.c.id == plan.id)).first():
                plan = replace(plan, id=_new_id())
            c.execute(insert(plans).values(id=plan.id, title=plan.title, head=0, revision=1, changed=time.time()))
            _write(c, plan, 0, None, "start")
        return plan.id

    def load(self, plan_id: str) -> Kept:
        """The plan as it is now. Raises PlanError when there is none of that id."""
        with self.engine.connect().execution_options(reading=True) as c:
            return _load(c, plan_id)

    def revision(self, plan_id: str) -> int:
        """Counter of changes; cheap enough to be asked every second."""
        with self.engine.connect().execution_options(reading=True) as c:
            row = c.execute(select(plans.c.revision).where(plans.c.id == plan_id, plans.c.removed.is_(None))).first()
        if row is None:
            raise PlanError("This plan is not in the store; it may have been deleted.")
        return int(row[0])

    def commit(self, plan_id: str, step: dict[str, Any], words: str | None = None) -> Kept:
        """Apply a step to the plan as it is now and keep the result as one undoable change.

        Raises StepError or PlanError, with nothing changed, when the step cannot be made.
        """
        with self.engine.begin() as c:
            kept = _load(c, plan_id)
            plan = apply(kept.plan, step)
            missing = set(arts_of(plan)) - set(arts_of(kept.plan))
            for digest in missing:
                try:
                    self.gallery[digest]
                except KeyError as err:
                    raise StepError(err.args[0]) from err
            head = c.execute(select(plans.c.head).where(plans.c.id == plan_id)).scalar_one()
            number = c.execute(select(func.max(steps.c.number)).where(steps.c.plan_id == plan_id)).scalar_one() + 1
            _write(c, plan, number, head, words or label(kept.plan, step))
            _move(c, plan_id, number, kept.revision + 1, plan.title)
            return _load(c, plan_id)

    def undo(self, plan_id: str) -> Kept:
        """Go back one step. Raises StepError when there is none."""
        return self._walk(plan_id, back=True)

    def redo(self, plan_id: str) -> Kept:
        """Go forward to the step last undone. Raises StepError when there is none."""
        return self._walk(plan_id, back=False)

    def _walk(self, plan_id: str, back: bool) -> Kept:
        with self.engine.begin() as c:
            row = _plan_row(c, plan_id)     # not the plan, which may be damaged as it is now
            goal = _parent(c, plan_id, row.head) if back else _child(c, plan_id, row.head)
            if goal is None:
                raise StepError("There is nothing left to undo." if back else "There is nothing to redo.")
            _move(c, plan_id, goal, row.revision + 1, None)
            return _load(c, plan_id)

    def take_back(self, plan_id: str) -> Kept:
        """Go back from a state that is damaged to the last before it that can be read. Raises StepError when there is
        none, or nothing is damaged."""
        with self.engine.begin() as c:
            row = _plan_row(c, plan_id)
            goal: int | None = row.head
            while goal is not None:
                try:
                    kept = _at(c, row, goal)
                except PlanError:
                    before = _parent(c, plan_id, goal)
                    goal = before if before is not None and before < goal else None
                    continue
                if goal == row.head:
                    raise StepError("This plan can be read as it is; Undo on the desk takes a step back.")
                _move(c, plan_id, goal, row.revision + 1, kept.plan.title)
                return _load(c, plan_id)
        raise StepError("Nothing of this plan can be read any more; put back a copy of the studio's file.")

    def remove(self, plan_id: str) -> None:
        """Take a plan off the list; its history stays in the file until `restore`."""
        self._mark(plan_id, time.time())

    def restore(self, plan_id: str) -> None:
        """Put a removed plan back on the list."""
        self._mark(plan_id, None)

    def _mark(self, plan_id: str, when: float | None) -> None:
        with self.engine.begin() as c:
            if not c.execute(update(plans).where(plans.c.id == plan_id).values(removed=when)).rowcount:
                raise PlanError("This plan is not in the store.")

    # ---- drawings and motifs

    def keep_drawing(self, drawing: Drawing) -> str:
        """Store a drawing; returns its digest."""
        return self.gallery.keep(drawing)

    def shelf(self) -> list[Motif]:
        """The artist's own motifs, newest first, then the house's."""
        return self.motifs.shelf()

    def motif(self, motif_id: str) -> Motif:
        """The motif of that id. Raises ArtError when the shelf has none."""
        return self.motifs.motif(motif_id)

    def add_motif(self, svg: bytes, name: str) -> Motif:
        """Take in an artist's SVG. Raises ArtError with a sentence; nothing is kept then."""
        return self.motifs.add(svg, name)

    def add_drawn(self, art: ReadArt, title: str, more: dict[str, Any]) -> Motif:
        """Take in a drawing made of a picture; `more` goes into its side file."""
        return self.motifs.add_drawn(art, title, more)

    def remove_motif(self, motif_id: str) -> None:
        """Take an own motif off the shelf; pieces that use it keep their drawing."""
        self.motifs.remove(motif_id)

    # ---- one file in, one file out

    def export_plan(self, plan_id: str) -> bytes:
        """The plan with its art as one file (see `composer.store.bundle`)."""
        return pack(self.load(plan_id).plan, self.gallery)

    def import_plan(self, data: bytes) -> str:
        """Take in a plan file; returns the plan's id. Raises PlanError, with nothing kept."""
        plan, art = unpack(data)
        needed = arts_of(plan)
        for digest in set(needed) - set(art):
            try:
                self.gallery[digest]
            except KeyError as err:
                raise PlanError(f"The plan file lacks the drawing of '{needed[digest]}'; export it again.") from err
        for drawing in art.values():
            self.gallery.keep(drawing)
        return self.adopt(plan)


def _new_id() -> str:
    return secrets.token_hex(6)


def _row(plan_id: str, title: str, changed: float, blob: bytes) -> PlanRow:
    try:
        state = _state(blob)
    except StoreError:
        return PlanRow(plan_id, title, changed, 0, 0, False, damaged=True)
    background = sum(bool(p.get("recipe")) for p in state["pieces"])
    return PlanRow(plan_id, title, changed, len(state["pieces"]) - background, background, bool(state["parts"]))


def _state(blob: bytes) -> dict[str, Any]:
    """What is stored of a step. Raises StoreError when it is damaged."""
    try:
        state = json.loads(zlib.decompress(blob))
        if isinstance(state["pieces"], list) and isinstance(state["parts"], list):
            return state
    except (zlib.error, ValueError, KeyError, TypeError) as err:
        raise StoreError(DAMAGED) from err
    raise StoreError(DAMAGED)


_plans: Remembered[Plan] = Remembered(24, lambda plan: 1.0)
"""Plans that were last read, by what is stored of them: reading one checks all of it against the schema."""


def _load(c: Connection, plan_id: str) -> Kept:
    row = _plan_row(c, plan_id)
    return _at(c, row, row.head)


def _plan_row(c: Connection, plan_id: str) -> Any:
    row = c.execute(select(plans).where(plans.c.id == plan_id, plans.c.removed.is_(None))).first()
    if row is None:
        raise PlanError("This plan is not in the store; it may have been deleted.")
    return row


def _at(c: Connection, row: Any, number: int) -> Kept:
    """The plan of a row as it was after one of its steps. Raises StoreError when that is damaged."""
    plan_id = row.id
    here = c.execute(select(steps).where(steps.c.plan_id == plan_id, steps.c.number == number)).first()
    if here is None:
        raise StoreError(DAMAGED)
    child = _child(c, plan_id, number)
    redo = None if child is None else c.execute(
        select(steps.c.label).where(steps.c.plan_id == plan_id, steps.c.number == child)).scalar_one()
    try:
        plan = _plans.once(here.state, lambda: plan_from_json(_state(here.state), own=True))
    except (KeyError, TypeError, AttributeError) as err:
        raise StoreError(DAMAGED) from err
    return Kept(plan, row.revision, None if here.parent is None else here.label, redo)


def _parent(c: Connection, plan_id: str, number: int) -> int | None:
    """The step that one came from; of a step that is lost, the last before it."""
    row = c.execute(select(steps.c.parent).where(steps.c.plan_id == plan_id, steps.c.number == number)).first()
    if row is not None:
        return row[0]
    return c.execute(select(func.max(steps.c.number)).where(
        steps.c.plan_id == plan_id, steps.c.number < number)).scalar_one()


def _child(c: Connection, plan_id: str, number: int) -> int | None:
    return c.execute(select(func.max(steps.c.number)).where(
        steps.c.plan_id == plan_id, steps.c.parent == number)).scalar_one()


def _write(c: Connection, plan: Plan, number: int, parent: int | None, words: str) -> None:
    blob = zlib.compress(json.dumps(plan_to_json(plan), separators=(",", ":")).encode(), 6)
    c.execute(insert(steps).values(plan_id=plan.id, number=number, parent=parent, label=words, state=blob,
                                   made=time.time()))


def _move(c: Connection, plan_id: str, head: int, revision: int, title: str | None) -> None:
    values: dict[str, Any] = {"head": head, "revision": revision, "changed": time.time()}
    if title is None:
        blob = c.execute(select(steps.c.state).where(steps.c.plan_id == plan_id, steps.c.number == head)).scalar_one()
        title = _state(blob)["title"]
    c.execute(update(plans).where(plans.c.id == plan_id).values(title=title, **values))
