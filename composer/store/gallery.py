"""Drawings by content hash, from the database, kept in memory while they are in use."""

from __future__ import annotations

import json
import zlib
from collections import OrderedDict
from collections.abc import Iterator, Mapping
from threading import Lock

from sqlalchemy import Engine, select
from sqlalchemy.dialects.sqlite import insert

from composer.art.drawing import Drawing
from composer.store.errors import DrawingError
from composer.store.tables import drawings

IN_MEMORY_POINTS = 1_500_000
"""About 25 MB of coordinates; the least recently used are let go beyond that."""


class Gallery(Mapping[str, Drawing]):
    """Mapping from digest to Drawing. DrawingError (a KeyError) is the sentence to show."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
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
            raise DrawingError(f"The drawing {digest[:12]} is not in the store; import the plan again with its art.")
        try:
            drawing = Drawing.from_json(json.loads(zlib.decompress(row[0])))
        except (zlib.error, ValueError, KeyError, TypeError) as err:
            raise DrawingError(f"The drawing {digest[:12]} is damaged in the studio's file; import a plan file that "
                               "has it, or put back a copy of the studio's file.") from err
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
        blob = zlib.compress(json.dumps(data, separators=(",", ":")).encode(), 6)
        with self._engine.begin() as c:
            c.execute(insert(drawings).values(digest=digest, data=blob).on_conflict_do_update(
                index_elements=["digest"], set_={"data": blob}))    # so that a damaged one is mended
        self._hold(digest, Drawing.from_json(data))
        return digest

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
