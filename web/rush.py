"""How long ago anything was asked for, so that work beside the page can wait for a quiet moment."""

from __future__ import annotations

import threading
import time

from starlette.types import ASGIApp, Receive, Scope, Send


class Rush:
    """What is being answered now, and when the last answer was given. Safe to use from threads."""

    def __init__(self) -> None:
        self._said = threading.Condition()
        self._busy, self._last = 0, 0.0

    def begun(self) -> None:
        """Something is asked for."""
        with self._said:
            self._busy += 1

    def ended(self) -> None:
        """It was answered."""
        with self._said:
            self._busy -= 1
            self._last = time.monotonic()
            self._said.notify_all()

    def wait_quiet(self, quiet_s: float, at_most_s: float) -> bool:
        """Wait until nothing was asked for during `quiet_s` seconds, but not longer than `at_most_s`; was it quiet?"""
        until = time.monotonic() + at_most_s
        with self._said:
            while True:
                now = time.monotonic()
                rest = self._last + quiet_s - now if self._last else 0.0
                if not self._busy and rest <= 0:
                    return True
                if now >= until:
                    return False
                self._said.wait(min(until - now, quiet_s if self._busy else rest))


class Counted:
    """Middleware that tells a `Rush` of every request."""

    def __init__(self, app: ASGIApp, rush: Rush) -> None:
        self.app, self._rush = app, rush

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        self._rush.begun()
        try:
            await self.app(scope, receive, send)
        finally:
            self._rush.ended()
