"""Memory is given back once, after work, and never while an answer is on its way."""

from __future__ import annotations

import time

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.routing import Route
from starlette.testclient import TestClient

from web.thrift import WORK_S, Thrift, give_back

BUSY: list[tuple[float, float]] = []


def slow(request: Request) -> PlainTextResponse:
    began = time.monotonic()
    time.sleep(float(request.query_params["s"]))
    BUSY.append((began, time.monotonic()))
    return PlainTextResponse("done")


def client(calls: list[float], quiet: float) -> TestClient:
    def tidy() -> None:
        calls.append(time.monotonic())
    return TestClient(Starlette(routes=[Route("/", slow)], middleware=[
        Middleware(Thrift, tidy=tidy, quiet_s=quiet)]))


def wait_for(calls: list[float], count: int) -> None:
    until = time.monotonic() + 10
    while len(calls) < count and time.monotonic() < until:
        time.sleep(0.02)


def test_several_answers_in_a_row_are_followed_by_one_giving_back() -> None:
    calls: list[float] = []
    c = client(calls, 0.4)
    for _ in range(4):
        assert c.get(f"/?s={2 * WORK_S}").text == "done"
    wait_for(calls, 1)
    time.sleep(0.6)
    assert len(calls) == 1
    c.get(f"/?s={2 * WORK_S}")
    wait_for(calls, 2)
    assert len(calls) == 2


def test_not_while_an_answer_is_on_its_way() -> None:
    calls: list[float] = []
    BUSY.clear()
    c = client(calls, 0.1)
    c.get(f"/?s={2 * WORK_S}")
    c.get("/?s=1.0")
    wait_for(calls, 1)
    until = time.monotonic() + 10
    while calls[-1] < BUSY[-1][1] and time.monotonic() < until:
        time.sleep(0.02)
    assert calls[-1] >= BUSY[-1][1]
    assert not any(a < t < b for t in calls for a, b in BUSY)


def test_giving_back_does_no_harm_on_any_machine() -> None:
    give_back()
