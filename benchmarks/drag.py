"""Frames while a hand moves a piece, with 60 detailed pieces on the sheet (headless Chromium).

Run by hand: `python benchmarks/drag.py`. Prints how many frames were dropped out of how many
while pieces are dragged, turned and sized, the sheet is panned and zoomed, and how long it takes
from letting go until the answer is in place. The baseline in the same run is the same page left alone.
Processor time of the browser for each move of the hand (sending the move included) can be compared where the
machine has other work.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "browser")]
from desk_server import FLAGS, Served, chromium, sixty_pieces  # noqa: E402

FRAME_MS = 1000 / 60
WATCH = """() => { const t = window.frames60 = []; let last = performance.now(); window.watching = true;
 const tick = (now) => { t.push(now - last); last = now; if (window.watching) requestAnimationFrame(tick); };
 requestAnimationFrame((now) => { last = now; requestAnimationFrame(tick); }); }"""


def browser_seconds() -> float:
    """Processor seconds of all processes that this one has started, from /proc (0 where there is none)."""
    parents: dict[int, int] = {}
    spent: dict[int, int] = {}
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            rest = (folder / "stat").read_text().rpartition(")")[2].split()
        except OSError:
            continue
        parents[int(folder.name)], spent[int(folder.name)] = int(rest[1]), int(rest[11]) + int(rest[12])
    total = 0
    for pid, ticks in spent.items():
        at = pid
        while at in parents and parents[at] != os.getpid():
            at = parents[at]
        total += ticks if at in parents else 0
    return total / os.sysconf("SC_CLK_TCK")


def watched(page: Page, name: str, act, moves: int = 0) -> None:  # type: ignore[no-untyped-def]
    """Do `act`, so many moves of the hand, with the frames counted, and print what came of it."""
    page.evaluate(WATCH)
    spent = browser_seconds()
    act()
    spent = browser_seconds() - spent
    gaps = page.evaluate("() => { window.watching = false; return window.frames60; }")
    dropped = sum(max(0, round(g / FRAME_MS) - 1) for g in gaps)
    total = len(gaps) + dropped
    print(f"{name:34s} {dropped:4d} of {total:4d} frames dropped ({dropped / max(total, 1):5.1%}), "
          f"median {statistics.median(gaps):5.1f} ms, worst {max(gaps):5.1f} ms, "
          f"browser's processor {1000 * spent / (moves or len(gaps)):5.1f} ms a {'move' if moves else 'frame'}")


def glide(page: Page, path: list[tuple[float, float]], every_ms: float = 8.0) -> None:
    """Move the mouse along points at a steady pace."""
    start = time.perf_counter()
    for i, (x, y) in enumerate(path):
        page.mouse.move(x, y)
        wait = start + (i + 1) * every_ms / 1000 - time.perf_counter()
        if wait > 0:
            time.sleep(wait)


def line(a: tuple[float, float], b: tuple[float, float], n: int) -> list[tuple[float, float]]:
    return [(a[0] + (b[0] - a[0]) * i / n, a[1] + (b[1] - a[1]) * i / n) for i in range(1, n + 1)]


def in_and_out(page: Page) -> None:
    """Zoom in and out again with the wheel."""
    for k in range(60):
        page.mouse.wheel(0, -60 if k < 30 else 60)
        time.sleep(0.016)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, Served(Path(folder), sixty_pieces) as served, sync_playwright() as p:
        browser = p.chromium.launch(executable_path=chromium(), args=FLAGS)
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        began = time.perf_counter()
        page.goto(f"{served.url}/plans/{served.plan_id}/compose/left_arm", wait_until="commit")
        page.locator("body.ready").wait_for()
        print(f"page usable after {time.perf_counter() - began:.2f} s (first time, nothing kept yet)")
        began = time.perf_counter()
        page.goto(f"{served.url}/plans/{served.plan_id}/compose/left_arm", wait_until="commit")
        page.locator("body.ready").wait_for()
        print(f"page usable after {time.perf_counter() - began:.2f} s (again)")
        page.wait_for_timeout(800)
        table = page.locator("#table").bounding_box()
        assert table is not None
        cx, cy = table["x"] + table["width"] / 2, table["y"] + table["height"] / 2
        watched(page, "left alone (baseline)", lambda: page.wait_for_timeout(1500))

        def grab(k: int) -> tuple[float, float]:
            box = page.locator("#pieces > .piece").nth(k).bounding_box()
            assert box is not None
            return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

        spot = page.evaluate("""() => { for (const g of [...document.querySelectorAll('#pieces > .piece')].reverse()) {
            const r = g.getBoundingClientRect(), x = r.x + r.width / 2, y = r.y + r.height / 2;
            if (r.width < 200 && document.elementFromPoint(x, y)?.closest('.piece') === g) return [x, y]; } }""")
        page.mouse.move(*spot)
        page.mouse.down()
        ring = [*line(tuple(spot), (cx - 150, cy - 150), 60), *line((cx - 150, cy - 150), (cx + 150, cy - 120), 60),
                *line((cx + 150, cy - 120), (cx + 80, cy + 200), 60), *line((cx + 80, cy + 200), (cx, cy), 60)]
        watched(page, "drag one of 60", lambda: glide(page, ring), len(ring))
        t = time.perf_counter()
        page.mouse.up()
        page.locator("#lift > *").first.wait_for(state="detached")
        print(f"{'from letting go to the answer':34s} {1000 * (time.perf_counter() - t):.0f} ms")
        page.wait_for_timeout(400)

        for name in ("turn", "size"):
            box = page.locator(f"#grip-{name}").bounding_box()
            assert box is not None
            x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
            page.mouse.move(x, y)
            page.mouse.down()
            watched(page, name, lambda x=x, y=y: glide(page, line((x, y), (x + 90, y + 60), 120)), 120)
            page.mouse.up()
            page.wait_for_timeout(600)

        page.keyboard.press("Control+a")
        page.wait_for_timeout(500)
        spot = page.evaluate("""() => { for (const g of [...document.querySelectorAll('#pieces > .piece')].reverse()) {
            const r = g.getBoundingClientRect(), x = r.x + r.width / 2, y = r.y + r.height / 2;
            if (r.width < 200 && document.elementFromPoint(x, y)?.closest('.piece') === g) return [x, y]; } }""")
        page.mouse.move(*spot)
        page.mouse.down()
        watched(page, "drag all 60 at once", lambda: glide(page, line(tuple(spot), (spot[0] + 60, spot[1] - 40), 120)),
                120)
        page.keyboard.press("Escape")
        page.mouse.up()
        page.wait_for_timeout(600)

        page.mouse.move(table["x"] + 20, table["y"] + 20)
        page.mouse.down()
        watched(page, "pan the sheet", lambda: glide(page, line((table["x"] + 20, table["y"] + 20), (cx, cy), 120)),
                120)
        page.mouse.up()
        page.mouse.move(cx, cy)

        watched(page, "zoom in and out", lambda: in_and_out(page))
        browser.close()


if __name__ == "__main__":
    main()
