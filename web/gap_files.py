"""Gaps between the lines of drawings, measured once for a drawing and kept beside the data folder.

Measuring takes 0.1 to 0.5 s a drawing; a file is found again by the drawing's own digest, so it is right for good.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from composer.art.drawing import Drawing
from composer.compose.fit_lines import gaps_of_widths, measure_gaps, remember, remembered
from composer.store.errors import DrawingError
from composer.store.gallery import MISSING
from web.beside import beside
from web.rush import Rush
from web.unreadable import UNREADABLE

if TYPE_CHECKING:
    from composer.store.store import Store

log = logging.getLogger("sleevewright.web")
METHOD = "1"
"""To be raised when gaps are measured otherwise; files of other methods are left alone and measured anew."""
QUIET_S, LONGEST_WAIT_S = 0.6, 6.0
"""The shelf is measured while nothing is asked for; a desk that is never quiet still gets a drawing now and then."""


class GapFiles:
    """The files in `folder`; made when the first is kept. Safe to use from threads."""

    def __init__(self, folder: Path, rush: Rush | None = None) -> None:
        self.folder, self._rush = folder, rush or Rush()
        self.ending = threading.Event()

    def _path(self, art: str) -> Path:
        return self.folder / f"{art}.{METHOD}.npz"

    def ready(self, art: str, gallery: Mapping[str, Drawing]) -> None:
        """See to it that a drawing's gaps are known: from its file, or measured and kept."""
        drawing = gallery[art]
        if remembered(art, drawing):
            return
        try:
            with np.load(self._path(art)) as kept:
                remember(art, drawing, gaps_of_widths(kept["width"].astype(float), float(kept["whole_mm"])))
                return
        except FileNotFoundError:
            pass
        except UNREADABLE:
            log.warning("line gaps of %s could not be read and are measured anew", art)
        found = measure_gaps(drawing)
        remember(art, drawing, found)
        if MISSING in drawing.notes:        # a box that stands in for it
            return
        self._keep(art, found.width, found.whole_mm)

    def _keep(self, art: str, width: np.ndarray, whole_mm: float) -> None:
        """Write the file; where that can't be done it is measured again another time."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            draft = self.folder / f"{art}.{threading.get_ident()}.part"
            with draft.open("wb") as out:
                np.savez_compressed(out, width=width.astype(np.float32), whole_mm=np.float64(whole_mm))
            draft.replace(self._path(art))
        except OSError:
            log.warning("line gaps of %s could not be kept", art)

    def measure(self, arts: Iterable[str], gallery: Mapping[str, Drawing]) -> None:
        """Measure these drawings one after the other, until the desk ends; what goes wrong with one is logged."""
        for art in arts:
            self._wait()
            if self.ending.is_set():
                return
            try:
                self.ready(art, gallery)
            except DrawingError as err:     # said wherever it is shown
                log.warning("line gaps: %s", err)
            except Exception:
                log.exception("line gaps of %s", art)

    def _wait(self) -> None:
        """Until the desk is quiet, has been busy for long, or ends."""
        until = time.monotonic() + LONGEST_WAIT_S
        while not self.ending.is_set() and not self._rush.wait_quiet(QUIET_S, 0.2) and time.monotonic() < until:
            pass

    def measure_all(self, store: Store) -> None:
        """The shelf's drawings, quietly."""
        try:
            arts = [m.digest for m in store.shelf()]
        except Exception:
            log.exception("reading the shelf")
            return
        self.measure(arts, store.gallery)

    def later(self, art: str, gallery: Mapping[str, Drawing]) -> None:
        """Measure a drawing that was just taken in, beside what goes on."""
        beside(lambda: self.measure([art], gallery), "line gaps")
