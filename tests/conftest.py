"""For every test: linear algebra on one thread, as the desk does it, and less collecting of garbage."""

from __future__ import annotations

import gc

import composer  # noqa: F401  (before numpy: it asks for one thread, which is too late once numpy is read)


def pytest_collection_finish() -> None:
    """What was read in stays until the end, so it is not looked through for garbage again and again."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)
