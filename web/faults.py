"""Whatever goes wrong ends as a sentence on the page."""

from __future__ import annotations

import logging
from contextlib import suppress

from anyio.to_thread import run_sync
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from composer.art.errors import ArtError
from composer.plan.errors import PlanError
from composer.plan.options import arts_of
from composer.sheets.letters import PrintFontsMissing
from composer.store.errors import DrawingError, StoreError
from composer.store.store import Store
from web.desk import NotMeasured
from web.page import desk_of, is_part_request, page
from web.places import PART_NAMES

log = logging.getLogger("sleevewright.web")

_WORDS = {
    403: "This is not allowed from here.",
    404: "There is no such page. The plan may have been deleted; the list of plans has what is there.",
    405: "This address can't be used in that way.",
    413: "This is more than 32 MB, which is more than is taken here. Make it smaller and try again.",
}


def say(request: Request, sentence: str, status: int) -> Response:
    """The sentence: in the notice line of the page that asked, or as a page of its own."""
    if is_part_request(request):
        return page(request, "parts/notice.html", {"sentence": sentence}, status=status)
    return page(request, "fault.html", {"sentence": sentence}, status=status)


async def known(request: Request, err: Exception) -> Response:
    """A plan, step, piece of art or value that can't be used; its text is for the artist."""
    return say(request, str(err), 404 if "not in the store" in str(err) else 422)


async def lost(request: Request, err: Exception) -> Response:
    """A drawing that can't be read, by the name of a piece that shows it."""
    assert isinstance(err, DrawingError)
    words = await run_sync(_by_name, desk_of(request).store, request.path_params.get("pid", ""), err)
    return say(request, words, 404 if "not in the store" in words else 422)


def _by_name(store: Store, plan_id: str, err: DrawingError) -> str:
    titles = {m.digest: m.title for m in store.shelf()}
    with suppress(PlanError):       # no plan is at hand
        titles |= arts_of(store.load(plan_id).plan)
    return err.of(titles[err.digest]) if err.digest in titles else str(err)


async def untaped(request: Request, err: Exception) -> Response:
    """A part without measures: not on the plan yet, or taken back in another window."""
    part = PART_NAMES.get(str(err))
    if part is None:
        return say(request, _WORDS[404], 404)
    return say(request, f"The {part.lower()} has no measures. They may have been taken back in another window: put "
                        "them back there with Redo, or tape it first.", 409)


async def http(request: Request, err: Exception) -> Response:
    status = err.status_code if isinstance(err, HTTPException) else 500
    detail = err.detail if isinstance(err, HTTPException) and " " in (err.detail or "") else None
    plain = {"Not Found", "Method Not Allowed", "Content Too Large", "Bad Request"}
    words = detail if detail and detail not in plain else _WORDS.get(status, "This could not be done.")
    return say(request, words, status)


async def no_store(request: Request, err: Exception) -> Response:
    """The studio's file can't be read or written; its text says why."""
    log.error("%s", err)
    return say(request, str(err), 503)


async def unset(request: Request, err: Exception) -> Response:
    """Something of the set-up is missing; its text says what to run."""
    log.error("%s", err)
    return say(request, str(err), 503)


async def unknown(request: Request, err: Exception) -> Response:
    log.error("%s %s failed", request.method, request.url.path, exc_info=err)
    return say(request, "Something went wrong here and was written to the log. Nothing that was saved is lost; "
                        "load the page again.", 500)


handlers = {StoreError: no_store, PlanError: known, ArtError: known, DrawingError: lost, NotMeasured: untaped,
            HTTPException: http, PrintFontsMissing: unset, Exception: unknown}
