"""Memory that was let go is given back to the machine once nothing is asked for.

A part of a plan is worked out in many small blocks; the C library keeps what is freed between them, more
of it for every thread. Where that library is glibc it is told to use two heaps for all threads, to keep large
blocks apart and, a moment after work, to give back whole pages that are free. Elsewhere this does nothing.
"""

from __future__ import annotations

import ctypes
import gc
import threading
import time
from collections.abc import Callable

from starlette.types import ASGIApp, Receive, Scope, Send

WORK_S = 0.03
"""An answer that took so long was work; polls and static files are not."""
QUIET_S = 1.5
"""So long after the last work memory is given back."""
BLOCK_BYTES = 65_536
"""Blocks from this size on (path strings, coordinates of a drawing) are given back one by one when they are
freed, and so never lie among smaller ones that stay; it costs a step some 7% of its time."""
M_ARENA_MAX, M_MMAP_THRESHOLD = -8, -3   # malloc.h of glibc


def _library() -> ctypes.CDLL | None:
    try:
        library = ctypes.CDLL("libc.so.6")
        return library if hasattr(library, "malloc_trim") else None
    except OSError:
        return None


_LIBC = _library()


def few_heaps() -> None:
    """To be called before threads are started."""
    if _LIBC is not None:
        _LIBC.mallopt(M_ARENA_MAX, 2)
        _LIBC.mallopt(M_MMAP_THRESHOLD, BLOCK_BYTES)


def give_back() -> None:
    """Collect what only points at itself, then give free pages back."""
    gc.collect()
    if _LIBC is not None:
        _LIBC.malloc_trim(0)


class Thrift:
    """Middleware that calls `tidy` a moment after work has ended, from a thread of its own."""

    def __init__(self, app: ASGIApp, tidy: Callable[[], None] = give_back, quiet_s: float = QUIET_S) -> None:
        self.app, self._tidy, self._quiet = app, tidy, quiet_s
        self._last, self._busy = 0.0, 0
        self._lock, self._waiting = threading.Lock(), False

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        began = time.monotonic()
        with self._lock:
            self._busy += 1
        try:
            await self.app(scope, receive, send)
        finally:
            self._ended(time.monotonic() - began)

    def _ended(self, took: float) -> None:
        with self._lock:
            self._busy -= 1
            if took < WORK_S:
                return
            self._last = time.monotonic()
            if self._waiting:
                return
            self._waiting = True
        threading.Thread(target=self._rest, daemon=True, name="thrift").start()

    def _rest(self) -> None:
        while True:
            with self._lock:
                left = self._last + self._quiet - time.monotonic()
                if left <= 0 and not self._busy:
                    self._waiting = False
                    break
            time.sleep(max(left, 0.1))
        self._tidy()
