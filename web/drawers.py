"""Two processes that draw background beside the server: started when it may soon be asked for, ended when none is.

So a whole background takes half the time, and the server goes on answering. What they draw is what the server would
draw itself; where they can't be had, it does.
"""

from __future__ import annotations

import logging
import multiprocessing
import os
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from typing import Any

log = logging.getLogger("sleevewright.web")
IDLE_S = 90.0
COUNT = 2


def _ready() -> None:
    """Bring in what drawing needs, in the process that draws."""
    from composer.filler.kinds import every_kind

    every_kind()


class Drawers(Executor):
    """An executor for what can be pickled; safe to use from threads."""

    def __init__(self, count: int = COUNT, idle_s: float = IDLE_S) -> None:
        self._count = min(count, os.cpu_count() or 1)
        self._idle_s = idle_s
        self._lock = threading.Lock()
        self._pool: ProcessPoolExecutor | None = None
        self._rest: threading.Timer | None = None
        self._busy = 0
        self._able: ProcessPoolExecutor | None = None

    def warm(self) -> None:
        """Start the processes before they are needed; returns at once."""
        if self._count > 1:
            with self._lock:
                pool = self._running()
                for _ in range(self._count):
                    pool.submit(_ready).add_done_callback(lambda done: self._answered(pool, done))
                self._wait()

    def start(self) -> None:
        """Return once one of the processes answers."""
        if not self.ready:
            answer = self.submit(_ready)
            pool = self._pool
            answer.result()
            if pool is not None:
                self._answered(pool, answer)

    @property
    def running(self) -> bool:
        """Whether the processes are there."""
        return self._pool is not None

    @property
    def ready(self) -> bool:
        """Whether the processes are there and answer at once."""
        return self._pool is not None and self._able is self._pool

    @property
    def free(self) -> bool:
        """Whether there may be several processes and none of them is known to work."""
        return self._count > 1 and not self._busy

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """As an executor does."""
        with self._lock:
            self._wait()
            pool = self._running()
            try:
                future = pool.submit(fn, *args, **kwargs)
            except BrokenExecutor as err:   # a process was lost while none was asked
                log.warning("a drawing process ended: %s", err)
                self._pool = None
                pool = self._running()
                future = pool.submit(fn, *args, **kwargs)
        future.add_done_callback(lambda done: self._answered(pool, done))
        return future

    def map(self, fn: Callable[..., Any], *iterables: Iterable[Any], timeout: float | None = None,
            chunksize: int = 1) -> Iterator[Any]:
        """Results in order, as they come. What is not asked for any more is not begun; when a process is lost, the
        rest is done here."""
        rows = list(zip(*iterables, strict=False))
        if self._count < 2:
            yield from (fn(*row) for row in rows)
            return
        with self._lock:
            self._busy += 1
        waiting: list[Future[Any]] = []
        try:
            waiting = [self.submit(fn, *row) for row in rows]
            for row, future in zip(rows, waiting, strict=True):
                try:
                    found = future.result(timeout)
                except (BrokenExecutor, OSError) as err:
                    log.warning("a drawing process ended: %s", err)
                    self._drop()
                    found = fn(*row)
                yield found
        finally:
            for future in waiting:
                future.cancel()
            with self._lock:
                self._busy -= 1
                self._wait()

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = True) -> None:
        """End the processes; they start again when they are asked for."""
        with self._lock:
            self._calm()
            pool, self._pool, self._able = self._pool, None, None
        if pool is not None:
            pool.shutdown(wait=wait, cancel_futures=cancel_futures)

    def _running(self) -> ProcessPoolExecutor:
        if self._pool is None:
            self._pool = ProcessPoolExecutor(self._count, multiprocessing.get_context("spawn"), _ready)
        return self._pool

    def _answered(self, pool: ProcessPoolExecutor, done: Future[Any]) -> None:
        if not done.cancelled() and done.exception() is None:
            self._able = pool

    def _drop(self) -> None:
        with self._lock:
            self._pool = None

    def _wait(self) -> None:
        self._calm()
        self._rest = threading.Timer(self._idle_s, self._end_idle)
        self._rest.daemon = True
        self._rest.start()

    def _calm(self) -> None:
        if self._rest is not None:
            self._rest.cancel()

    def _end_idle(self) -> None:
        if not self._busy:
            self.shutdown(wait=False)


SHARED = Drawers()
"""Those of this server, whatever is drawn for."""
