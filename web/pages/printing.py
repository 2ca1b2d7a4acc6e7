"""Print: the layout sheet."""

from __future__ import annotations

from starlette.routing import Route

routes: list[Route] = []
