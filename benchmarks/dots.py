"""100,000 dots of mist on one arm: frames while the sheet is panned and zoomed, and how long the export takes.

    .venv/bin/python benchmarks/dots.py [COUNT]

Bars: 60 frames a second in headless Chromium, and it exports. The dots are laid by the house's own Poisson discs in
eight fillers round the arm. The baseline in the same run is the same page with nothing on the arm.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "browser"), str(ROOT / "benchmarks")]
from desk_server import FLAGS, Served, chromium, empty_arm  # noqa: E402
from drag import glide, in_and_out, line, watched  # noqa: E402

from composer.art.drawing import Drawing, Layer  # noqa: E402
from composer.filler.dots import dot_rings, poisson_dots  # noqa: E402
from composer.store.store import Store  # noqa: E402

FILLERS, WIDE_MM, TALL_MM = 8, 130.0, 105.0


def mist(store: Store, count: int) -> str:
    """A plan with about `count` dots on the left arm."""
    pid = empty_arm(store)
    rng = np.random.default_rng(7)
    each = count / FILLERS
    spacing = float(np.sqrt(WIDE_MM * TALL_MM / each) * 0.79)
    box = (-WIDE_MM / 2, -TALL_MM / 2, WIDE_MM / 2, TALL_MM / 2)
    corners = np.array([[box[0], box[1]], [box[2], box[1]], [box[2], box[3]], [box[0], box[3]]])
    laid = 0
    for i in range(FILLERS):
        xy = poisson_dots(box, lambda p: np.full(len(p), spacing), rng)
        laid += len(xy)
        drawing = Drawing((corners,), (Layer("black", dot_rings(xy, np.full(len(xy), 0.22))),))
        store.commit(pid, {"do": "place", "piece": {
            "id": f"m{i}", "part": "left_arm", "art": store.keep_drawing(drawing), "title": "Mist in dots",
            "u": -0.25 + 0.5 * (i % 2), "s_mm": 60.0 + 110.0 * (i // 2),
            "recipe": {"kind": "stipple", "seed": i, "params": {}, "goal": {"whole": True}}}})
    print(f"{laid} dots, {spacing:.2f} mm apart, in {FILLERS} fillers")
    return pid


def moved(page: Page, name: str) -> None:
    """Pan and zoom with the frames counted."""
    table = page.locator("#table").bounding_box()
    assert table is not None
    cx, cy = table["x"] + table["width"] / 2, table["y"] + table["height"] / 2
    page.mouse.move(table["x"] + 12, table["y"] + 12)
    page.mouse.down()
    watched(page, f"{name}: pan", lambda: glide(page, line((table["x"] + 12, table["y"] + 12), (cx, cy), 120)))
    page.mouse.up()
    page.mouse.move(cx, cy)

    watched(page, f"{name}: zoom", lambda: in_and_out(page))


def main(count: int = 100_000) -> None:
    for name, make in (("empty arm (baseline)", empty_arm), ("mist", lambda store: mist(store, count))):
        with tempfile.TemporaryDirectory() as folder, Served(Path(folder), make) as served, sync_playwright() as p:
            browser = p.chromium.launch(executable_path=chromium(), args=FLAGS)
            page = browser.new_page(viewport={"width": 1440, "height": 900})
            began = time.perf_counter()
            page.goto(f"{served.url}/plans/{served.plan_id}/compose/left_arm", wait_until="commit")
            page.locator("body.ready").wait_for(timeout=120_000)
            print(f"{name}: page usable after {time.perf_counter() - began:.2f} s")
            page.wait_for_timeout(1500)
            watched(page, f"{name}: left alone", lambda page=page: page.wait_for_timeout(1000))
            moved(page, name)
            for kind in ("pdf", "svg"):
                began = time.perf_counter()
                at = "layout.pdf?parts=left_arm" if kind == "pdf" else "layout/left_arm.svg"
                got = page.request.get(f"{served.url}/plans/{served.plan_id}/{at}", timeout=300_000)
                print(f"{name}: sheet as {kind}: {got.status}, {len(got.body()) / 1e6:.1f} MB, "
                      f"{time.perf_counter() - began:.1f} s")
            browser.close()


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
