"""Threads beside the page. The program waits for them when it ends: the geometry library under them crashes when
the interpreter is taken down while one is in it, as it is under daemon threads."""

from __future__ import annotations

import threading
from collections.abc import Callable


def beside(work: Callable[[], object], name: str) -> threading.Thread:
    """Start `work` in a thread of its own; it should end soon, or be told when the desk ends."""
    thread = threading.Thread(target=work, daemon=False, name=name)
    thread.start()
    return thread
