"""Keeps other web sites from writing into the studio's plans."""

from __future__ import annotations

import ipaddress
from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send

POLICY = ("default-src 'self'; img-src 'self' data: blob:; style-src 'self' 'unsafe-inline'; script-src 'self'; "
          "frame-ancestors 'none'; base-uri 'none'; form-action 'self'")


class Guard:
    """Answers only to names of this machine, and takes changes only from its own pages.

    A host is known when it is an address, 'localhost', ends in '.local' or '.localhost', or was
    named at start (a foreign name that points here is how other sites would reach in). A
    POST with an Origin must come from the same host and port.
    """

    def __init__(self, app: ASGIApp, hosts: tuple[str, ...] = ()) -> None:
        self.app = app
        self.hosts = {h.lower() for h in hosts}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if not self._known(host):
            await self._refuse("This address is not one that the desk answers to. Open it by the address printed "
                               "when it was started.", scope, receive, send)
            return
        origin = headers.get("origin")
        if scope["method"] not in ("GET", "HEAD", "OPTIONS") and not _same(origin, host):
            await self._refuse("This change came from another web site and was not made.", scope, receive, send)
            return

        async def sent(message):  # type: ignore[no-untyped-def]
            if message["type"] == "http.response.start":
                message["headers"] += [
                    (b"content-security-policy", POLICY.encode()), (b"x-content-type-options", b"nosniff"),
                    (b"referrer-policy", b"same-origin")]
            await send(message)

        await self.app(scope, receive, sent)

    def _known(self, host: str) -> bool:
        name = _name(host)
        if name in self.hosts or name in ("localhost", "testserver") or name.endswith((".local", ".localhost")):
            return True
        try:
            ipaddress.ip_address(name)
        except ValueError:
            return False
        return True

    @staticmethod
    async def _refuse(sentence: str, scope: Scope, receive: Receive, send: Send) -> None:
        await PlainTextResponse(sentence, status_code=403)(scope, receive, send)


def _name(host: str) -> str:
    return (urlsplit(f"//{host}").hostname or "").lower() if host else ""


def _same(origin: str | None, host: str) -> bool:
    if origin is None:
        return True
    return urlsplit(origin).netloc.lower() == host.lower()
