"""Endpoints that read a form and then work in a thread (plain functions already run in one)."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from functools import wraps
from typing import Any

from anyio.to_thread import run_sync
from starlette.requests import Request
from starlette.responses import Response


def with_form(fn: Callable[[Request, dict[str, Any]], Response]) -> Callable[[Request], Awaitable[Response]]:
    """An async endpoint that reads the form, then runs `fn(request, form)` in a worker thread."""
    @wraps(fn)
    async def run(request: Request) -> Response:
        async with request.form(max_fields=400, max_files=12, max_part_size=8_000_000) as form:
            return await run_sync(fn, request, dict(form))
    return run
