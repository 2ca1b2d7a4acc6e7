"""Drawings by content hash, from the database, kept in memory while they are in use."""

from __future__ import annotations

import json
import zlib
from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from threading import Lock
from typing import Any

import numpy as np
from sqlalchemy import Engine, select
from sqlalchemy.dialects.sqlite import insert

from composer.art.drawing import Drawing, Layer
from composer.store.errors import DrawingError
from composer.store.tables import drawings, motifs

IN_MEMORY_POINTS = 1_500_000
"""About 25 MB of coordinates; the least recently used are let go beyond that."""
STAND_IN_MM = 60.0
MISSING = "missing"
"""In the notes of a drawing that stands in for one that can't be read: why, for the artist, as `DrawingError.how`."""


class Gallery(Mapping[str, Drawing]):
    """Mapping from digest to Drawing. DrawingError (a KeyError) is the sentence to show."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._lost: set[str] = set()
        self.mended: Callable[[], None] = lambda: None
        """Called when a drawing that could not be read is there again."""
        self._held: OrderedDict[str, Drawing] = OrderedDict()
        self._points = 0
        self._lock = Lock()

    def __getitem__(self, digest: str) -> Drawing:
        with self._lock:
            if digest in self._held:
                self._held.move_to_end(digest)
                return self._held[digest]
        with self._engine.connect().execution_options(reading=True) as c:
            row = c.execute(select(drawings.c.data).where(drawings.c.digest == digest)).first()
        if row is None:
            self._lost.add(digest)
            raise DrawingError(digest, "is not in the store; import the plan again with its art.")
        try:
            drawing = Drawing.from_json(json.loads(zlib.decompress(row[0])))
        except (zlib.error, ValueError, KeyError, TypeError) as err:
            self._lost.add(digest)
            raise DrawingError(digest, "is damaged in the studio's file; import a plan file that has it, or put back a "
                               "copy of the studio's file.") from err
        drawing.__dict__["digest"] = digest     # as it was kept under; working it out takes as long as reading it
        self._hold(digest, drawing)
        return drawing

    def keep(self, drawing: Drawing) -> str:
        """Store a drawing; returns its digest."""
        digest = drawing.digest
        with self._lock:
            if digest in self._held:
                return digest
        data = drawing.to_json()
        self._write(digest, data)       # over what is there, so that a damaged one is mended
        self._hold(digest, Drawing.from_json(data))
        if digest in self._lost:
            self._lost.discard(digest)
            self.mended()
        return digest

    def note(self, digest: str, more: dict[str, Any]) -> None:
        """Add to the notes of a drawing that is kept; it keeps its name. Raises DrawingError."""
        drawing = self[digest]
        self._write(digest, replace(drawing, notes={**drawing.notes, **more}).to_json())
        with self._lock:
            if self._held.pop(digest, None) is not None:
                self._points -= drawing.points

    def _write(self, digest: str, data: dict[str, Any]) -> None:
        blob = zlib.compress(json.dumps(data, separators=(",", ":")).encode(), 6)
        with self._engine.begin() as c:
            c.execute(insert(drawings).values(digest=digest, data=blob).on_conflict_do_update(
                index_elements=["digest"], set_={"data": blob}))

    def box_of(self, digest: str) -> tuple[float, float]:
        """Width and height, mm, of a drawing that can't be read: as its motif on the shelf has it, else STAND_IN_MM."""
        with self._engine.connect().execution_options(reading=True) as c:
            row = c.execute(select(motifs.c.width_mm, motifs.c.height_mm).where(motifs.c.digest == digest)).first()
        return (float(row[0]), float(row[1])) if row else (STAND_IN_MM, STAND_IN_MM)

    def _hold(self, digest: str, drawing: Drawing) -> None:
        with self._lock:
            if digest in self._held:
                return
            self._held[digest] = drawing
            self._points += drawing.points
            while self._points > IN_MEMORY_POINTS and len(self._held) > 1:
                _, gone = self._held.popitem(last=False)
                self._points -= gone.points

    def __iter__(self) -> Iterator[str]:
        with self._engine.connect().execution_options(reading=True) as c:
            return iter([r[0] for r in c.execute(select(drawings.c.digest))])

    def __len__(self) -> int:
        return sum(1 for _ in self)


class Shown(Mapping[str, Drawing]):
    """The gallery for looking and laying: what can't be read is a plain crossed box, so that a part with such a piece
    opens all the same. Nothing of it is stored or exported."""

    def __init__(self, gallery: Gallery) -> None:
        self._gallery = gallery

    def __getitem__(self, digest: str) -> Drawing:
        try:
            return self._gallery[digest]
        except DrawingError as err:
            return stand_in(*self._gallery.box_of(digest), err.how)

    def __iter__(self) -> Iterator[str]:
        return iter(self._gallery)

    def __len__(self) -> int:
        return len(self._gallery)


def stand_in(width_mm: float, height_mm: float, why: str) -> Drawing:
    """A box of that size, its edge and both diagonals drawn."""
    x, y = width_mm / 2, height_mm / 2
    pen = min(1.0, 0.05 * min(width_mm, height_mm))
    box = np.array([(-x, -y), (x, -y), (x, y), (-x, y)])
    inner = box * ((x - pen) / x, (y - pen) / y)
    bars = [np.array([(-sx * (x - pen), pen - y), (-sx * (x - 3 * pen), pen - y), (sx * (x - pen), y - pen),
                      (sx * (x - 3 * pen), y - pen)]) for sx in (1, -1)]
    return Drawing((box,), (Layer("light", (inner,)), Layer("line", (box, inner, bars[0])), Layer("black", (bars[1],))),
                   notes={MISSING: why})
