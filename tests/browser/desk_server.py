"""A desk of its own for each test: a store in a folder, a server on a free port, a Chromium."""

from __future__ import annotations

import os
import shutil
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import uvicorn

from composer.body.measures import TYPICAL_MM
from composer.body.yoke_fields import PANEL_TYPICAL_MM
from composer.demo import bare_demo
from composer.store.store import Store
from web.app import create_app

if TYPE_CHECKING:
    from playwright.sync_api import Page

FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--use-gl=angle", "--use-angle=swiftshader",
         "--enable-unsafe-swiftshader"]


def drawn(page: Page) -> None:
    """Wait until the page has drawn what it was just told, however busy the machine is."""
    page.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => done())))")


def chromium() -> str | None:
    """Path of a Chromium: the one named in SLEEVEWRIGHT_CHROMIUM, the system's, or None for Playwright's own."""
    named = os.environ.get("SLEEVEWRIGHT_CHROMIUM")
    return named or shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


def demo(store: Store) -> str:
    """The demo before anything is tied in."""
    plan, gallery = bare_demo()
    for drawing in gallery.values():
        store.keep_drawing(drawing)
    return store.adopt(plan)


def empty_arm(store: Store) -> str:
    """A plan with the left arm taped and nothing on it."""
    pid = store.create("Empty arm")
    store.commit(pid, {"do": "measure", "part": "left_arm", "measures": dict(TYPICAL_MM)})
    return pid


def with_chest(store: Store) -> str:
    """The demo with a chest and one drawing on it."""
    pid = demo(store)
    store.commit(pid, {"do": "measure", "part": "chest", "measures": PANEL_TYPICAL_MM["chest"]})
    motif = next(m for m in store.shelf() if m.id == "crab")
    store.commit(pid, {"do": "place", "piece": {
        "id": "crab", "part": "chest", "art": motif.digest, "title": motif.title, "motif": motif.id, "u": 0.07,
        "s_mm": 190.0, "scale": 70 / max(motif.width_mm, motif.height_mm)}})
    return pid


def sixty_pieces(store: Store) -> str:
    """60 detailed pieces in rows on the left arm."""
    pid = empty_arm(store)
    rng, shelf = np.random.default_rng(3), store.shelf()
    steps = []
    for i in range(60):
        m = shelf[i % len(shelf)]
        steps.append({"do": "place", "piece": {
            "id": f"p{i}", "part": "left_arm", "art": m.digest, "title": m.title, "motif": m.id,
            "u": -0.5 + (i % 6 + 0.5 + 0.3 * (i // 6 % 2)) / 6, "s_mm": 30 + 430 * (i // 6 + 0.5) / 10,
            "turn_deg": float(rng.uniform(-25, 25)), "scale": 52 / max(m.width_mm, m.height_mm), "state": "planned"}})
    store.commit(pid, {"do": "several", "steps": steps}, "lay 60 pieces")
    return pid


class Served:
    """A running server over a store in `folder`; `make` puts a plan in and gives its id."""

    def __init__(self, folder: Path, make: Callable[[Store], str] | None = demo) -> None:
        self.folder, self.make, self.plan_id = folder, make, ""

    def __enter__(self) -> Served:
        self.store = Store(self.folder)
        if self.make:
            self.plan_id = self.make(self.store)
        config = uvicorn.Config(create_app(store=self.store), host="127.0.0.1", port=0, log_level="warning",
                                timeout_graceful_shutdown=2)
        self.server = uvicorn.Server(config)
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()
        until = time.monotonic() + 20
        while not self.server.started:
            if time.monotonic() > until:
                raise RuntimeError("The server did not start within 20 s.")
            time.sleep(0.02)
        port = self.server.servers[0].sockets[0].getsockname()[1]
        self.url = f"http://127.0.0.1:{port}"
        return self

    def __exit__(self, *_: object) -> None:
        self.server.should_exit = True
        self.thread.join(10)
