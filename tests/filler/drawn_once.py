"""A pool for tests: what was drawn for a job is handed out again where the same job comes once more, so that searches
over the same sleeve differ in what they choose and cost what they draw anew. That the same job gives the same bytes is
tested where nothing is kept."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor
from typing import Any


class DrawnOnce(Executor):
    """Maps in this process, each different row once; stands in for the desk's drawing processes too."""

    ready = free = False

    def __init__(self) -> None:
        self._made: dict[bytes, Any] = {}

    def map(self, fn: Callable[..., Any], *iterables: Iterable[Any], timeout: float | None = None,
            chunksize: int = 1) -> Iterator[Any]:
        for row in zip(*iterables, strict=True):
            key = pickle.dumps((fn, row))
            if key not in self._made:
                self._made[key] = fn(*row)
            yield self._made[key]


ONCE = DrawnOnce()
"""For searches over sleeves that several tests share."""
