"""The desk in the browser: a Starlette app over one store."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from pathlib import Path

from anyio.to_thread import run_sync
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from composer.store.store import Store
from web import faults
from web.desk import Desk
from web.guard import Guard
from web.pages import (
    best,
    bring_in,
    currents,
    desk_page,
    desk_steps,
    handles,
    keep,
    measure,
    options,
    printing,
    reading,
    round,
    shade,
    shelf,
    sleeve,
    start,
    stencils,
    tie_in,
    tint,
    whole,
)
from web.rush import Counted
from web.thrift import Thrift

HERE = Path(__file__).parent
MAX_BODY = 32_000_000


class Static(StaticFiles):
    """Files of the app itself: may be kept by the browser, asked after each time."""

    def file_response(self, *args, **kwargs):  # type: ignore[no-untyped-def]
        response = super().file_response(*args, **kwargs)
        response.headers["Cache-Control"] = "no-cache"
        return response


def create_app(folder: Path | str | None = None, *, store: Store | None = None, hosts: Iterable[str] = ()) -> Starlette:
    """The app over the store in `folder` (or a store handed in). `hosts`: further names it answers to."""
    if store is None:
        if folder is None:
            raise ValueError("The app needs a data folder or a store.")
        store = Store(folder)
    own = store

    @asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        app.state.desk.warm()
        yield
        await run_sync(app.state.desk.end)
        own.close()

    routes: list[Route | Mount] = [
        *start.routes, *measure.routes, *desk_page.routes, *desk_steps.routes, *tie_in.routes, *handles.routes,
        *whole.routes, *options.routes, *currents.routes, *shade.routes, *keep.routes, *shelf.routes, *printing.routes,
        *stencils.routes, *round.routes, *reading.routes, *best.routes, *tint.routes, *sleeve.routes, *bring_in.routes,
        Mount("/static", Static(directory=HERE / "static"), name="static")]
    desk = Desk(own)
    app = Starlette(
        routes=routes, lifespan=life, exception_handlers=faults.handlers, max_body_size=MAX_BODY,
        middleware=[Middleware(Counted, rush=desk.rush), Middleware(Thrift), Middleware(Guard, hosts=tuple(hosts)),
                    Middleware(GZipMiddleware, minimum_size=2000, compresslevel=3)])
    app.state.desk = desk
    return app
