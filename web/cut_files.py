"""What is seen of pieces behind others, kept beside the data folder, so that a print after a fresh start need not cut.

A file is found again by all that its cut comes from (`composer.filler.seen.name_of`), so it is right for good; the
folder is bounded, and what was not used for longest goes first.
"""

from __future__ import annotations

import logging
import os
import threading
from collections.abc import Iterable, Mapping
from itertools import pairwise
from pathlib import Path

import numpy as np

from composer.art.drawing import Drawing, End, Layer
from composer.filler import seen
from composer.plan.model import Settings
from composer.plan.scene import Laid, Scene
from web.beside import beside
from web.drawers import Drawers
from web.unreadable import UNREADABLE

log = logging.getLogger("sleevewright.web")
METHOD = "4"
"""To be raised when pieces are cut otherwise; files of other methods go with time."""
ROOM = 48_000_000
"""So many bytes are kept; a full sleeve takes about two million."""


MUCH = 20_000
"""Drawings of so many vertices are cut in the processes that draw; a sleeve has ten times as many."""

TURNS = 4
"""What is cut ahead is cut in so many turns."""

AS_LAID = Drawing((), ())
"""Stands in a file for a piece that nothing hides."""


class CutFiles:
    """The files in `folder`; made when the first is kept. Safe to use from threads."""

    def __init__(self, folder: Path, room: int = ROOM) -> None:
        self.folder, self.room = folder, room
        self._lock = threading.Lock()
        self._turn = threading.Lock()       # held while something is cut
        self._waiting = 0                   # so many wait for cuts

    def recall(self, scene: Scene, settings: Settings) -> int:
        """Take from the files what is not known yet of a scene's pieces; returns how many were."""
        count = 0
        for laid in scene.laid:
            if seen.recalled(scene, laid, settings) is None:
                path = self._path(seen.name_of(scene, laid, settings))
                drawing = _read(path)
                if drawing is not None:
                    seen.remember(scene, laid, settings, drawing if drawing.layers or drawing.silhouette else laid.flat)
                    count += 1
        return count

    def cut(self, scene: Scene, settings: Settings, drawers: Drawers) -> None:
        """See to it that what is seen of a scene's pieces is known, from memory or files or cut now. Much of it is cut
        in the processes that draw, side by side, and only the drawings come back here, not what cutting needs; where
        they are still to be started it is cut here, which takes less than they would to start."""
        with self._lock:
            self._waiting += 1
        try:
            with self._turn:
                self._cut(scene, settings, drawers)
        finally:
            with self._lock:
                self._waiting -= 1

    def _cut(self, scene: Scene, settings: Settings, drawers: Drawers) -> None:
        self.recall(scene, settings)
        new = [x for x in scene.laid if seen.recalled(scene, x, settings) is None]
        much = sum(x.flat.points for x in new) > MUCH
        if much and drawers.free and drawers.ready:
            shares: tuple[list[str], ...] = ([], [])
            weights = [0, 0]
            for x in sorted(new, key=lambda x: -x.flat.points):
                least = weights.index(min(weights))
                shares[least].append(x.piece.id)
                weights[least] += x.flat.points if seen.behind(scene, x) else 0
            list(drawers.map(cut_to_files, *zip(*((self, scene, settings, ids) for ids in shares), strict=True)))
            self.recall(scene, settings)
            new = [x for x in new if seen.recalled(scene, x, settings) is None]
        if new:
            drawings = seen.visible_laid(scene, settings, [x.piece.id for x in new])
            if much:
                seen.forget_cutting()
            beside(lambda: self.keep(scene, settings, drawings), "keep cuts")

    def ahead(self, scene: Scene, settings: Settings, drawers: Drawers) -> bool:
        """Keep the cuts of a scene in files, made by one process that draws, so that a core stays free, in a few turns,
        between which whoever waits for cuts goes first; says whether all that is much is done. Where little is to be
        cut, whoever prints does not wait for it."""
        def unknown(laid: Iterable[Laid]) -> list[Laid]:
            return [x for x in laid if seen.behind(scene, x) and seen.recalled(scene, x, settings) is None
                    and not self._path(seen.name_of(scene, x, settings)).exists()]

        new = sorted(unknown(scene.laid), key=lambda x: -x.flat.points)
        if sum(x.flat.points for x in new) <= MUCH:
            return True
        if not drawers.free:
            return False
        drawers.start()     # whoever prints meanwhile does not wait for it
        for n in range(min(TURNS, len(new))):
            with self._turn:
                if self._waiting or not drawers.free:
                    return False
                ids = [x.piece.id for x in unknown(new[n::TURNS])]
                if ids:
                    drawers.submit(cut_to_files, self, scene, settings, ids).result()
        return True

    def __getstate__(self) -> dict[str, object]:
        return {"folder": self.folder, "room": self.room}

    def __setstate__(self, state: dict[str, object]) -> None:
        self.__init__(**state)  # type: ignore[misc]

    def keep(self, scene: Scene, settings: Settings, drawings: Mapping[str, Drawing]) -> None:
        """Keep what was cut, and of what nothing hides that it is so. Where that can't be done it is cut again another
        time."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            for laid in scene.laid:
                drawing = drawings.get(laid.piece.id)
                if drawing is None:
                    continue
                path = self._path(seen.name_of(scene, laid, settings))
                if not path.exists():
                    _write(path, AS_LAID if drawing is laid.flat else drawing)
            self._bound()
        except OSError:
            log.warning("cut drawings could not be kept")

    def _path(self, name: str) -> Path:
        return self.folder / f"{name}.{METHOD}.npz"

    def _bound(self) -> None:
        """Let those go that were not used for longest, until the rest has room."""
        with self._lock:
            rows = sorted(((s.st_mtime, s.st_size, Path(e.path)) for e in os.scandir(self.folder)
                           for s in [e.stat()]), reverse=True)
            total = 0
            for _, size, path in rows:
                total += size
                if total > self.room:
                    path.unlink(missing_ok=True)


def cut_to_files(files: CutFiles, scene: Scene, settings: Settings, ids: list[str]) -> None:
    """Cut these pieces and keep them in files, for another process."""
    files.keep(scene, settings, seen.visible_laid(scene, settings, ids))


def _write(path: Path, drawing: Drawing) -> None:
    groups = [("silhouette", drawing.silhouette), *((la.role, la.rings) for la in drawing.layers)]
    rings = [r for _, row in groups for r in row]
    draft = path.with_name(f"{path.name}.{threading.get_ident()}.part")
    with draft.open("wb") as out:
        np.savez(out, xy=np.concatenate(rings) if rings else np.zeros((0, 2)), length=[len(r) for r in rings],
                 role=[name for name, _ in groups], count=[len(row) for _, row in groups],
                 ends=np.array([(e.x, e.y) for e in drawing.ends]).reshape(-1, 2),
                 how=np.array([e.how for e in drawing.ends], "U8"))
    draft.replace(path)


def _read(path: Path) -> Drawing | None:
    """The drawing in a file (without notes), None where there is none or it is damaged."""
    try:
        with np.load(path) as kept:
            rings = np.split(kept["xy"], np.cumsum(kept["length"])[:-1].astype(int)) if len(kept["length"]) else []
            at = np.cumsum([0, *kept["count"]]).tolist()
            rows = [tuple(rings[a:b]) for a, b in pairwise(at)]
            layers = tuple(Layer(str(n), r) for n, r in zip(kept["role"][1:], rows[1:], strict=True))
            ends = tuple(End(float(x), float(y), str(h)) for (x, y), h in zip(kept["ends"], kept["how"], strict=True))
            drawing = Drawing(rows[0], layers, ends)
        os.utime(path)
        return drawing
    except FileNotFoundError:
        return None
    except UNREADABLE:
        log.warning("a cut drawing could not be read and is cut anew")
        return None
