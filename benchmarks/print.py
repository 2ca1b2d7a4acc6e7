"""How long the layout sheet of a full sleeve takes as PDF, from nothing and once more.

    .venv/bin/python benchmarks/print.py

Bar: under 1 s. The demo's sleeve, tied in, on A4. Printed: a process that has just started (the cut of what lies
behind is worked out), the same process again (it is remembered), and a server whose print page was opened before the
file was asked for, one whose desk was opened and then left alone until the cuts were in files (`web.ahead`), and a
server started again on the same data folder. The baseline in the same run draws the art once for each tile with
reportlab's own path calls, without cover and list. Wall and processor time; medians of five.
"""

from __future__ import annotations

import argparse
import io
import json
import pickle
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "browser")]

ROUNDS = 5


def timed(work: Callable[[], object]) -> tuple[float, float]:
    """Wall and processor seconds of one run."""
    wall, cpu = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - wall, time.process_time() - cpu


def middle(work: Callable[[], object]) -> tuple[float, float]:
    runs = [timed(work) for _ in range(ROUNDS)]
    return statistics.median(r[0] for r in runs), statistics.median(r[1] for r in runs)


def plainly(plan, gallery) -> bytes:  # type: ignore[no-untyped-def]
    """The tiles alone, as a straightforward writer would make them: everything drawn on every page."""
    from reportlab.pdfgen.canvas import Canvas

    from composer.sheets.paper import POINT_MM, frame
    from composer.sheets.sheet_art import INK, sheet_art
    from composer.sheets.tiles import tile

    art = sheet_art(plan, "left_arm", gallery)
    tiling = tile(art.border, frame("A4"))
    page, mm = tiling.frame, 1 / POINT_MM
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(page.width * mm, page.height * mm), pageCompression=1)
    for t in tiling.tiles:
        window = canvas.beginPath()
        window.rect(page.left * mm, page.bottom * mm, page.window[0] * mm, page.window[1] * mm)
        canvas.clipPath(window, stroke=0, fill=0)
        canvas.translate((page.left - t.x) * mm, (page.bottom - t.y) * mm)
        for on in art.pieces:
            for role, rings in on.layers:
                path = canvas.beginPath()
                for ring in rings:
                    path.moveTo(*(ring[0] * mm).tolist())
                    for x, y in (ring[1:] * mm).tolist():
                        path.lineTo(x, y)
                    path.close()
                canvas.setFillGray(INK[role])
                canvas.drawPath(path, stroke=0, fill=1, fillMode=0)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def child(file: str) -> None:
    """In a process of its own: first time, again, baseline; as JSON on one line."""
    with open(file, "rb") as f:
        plan, gallery = pickle.load(f)
    from composer.sheets.layout import layout_pdf

    size = 0

    def work() -> None:
        nonlocal size
        size = len(layout_pdf(plan, gallery, ["left_arm"]))

    first, again = timed(work), middle(work)
    plain = timed(lambda: plainly(plan, gallery))
    print(json.dumps({"first": first, "again": again, "plain": plain, "bytes": size,
                      "vertices": sum(gallery[p.art].points for p in plan.on("left_arm")),
                      "pieces": len(plan.on("left_arm"))}))


def get(url: str) -> tuple[float, float]:
    """Seconds (wall, processor) until an answer is there."""
    def ask() -> None:
        with urllib.request.urlopen(url) as answer:
            answer.read()
    return timed(ask)


def restarted(folder: str, plan_id: str) -> None:
    """In a process of its own: a server on a data folder that was printed from before; as JSON on one line."""
    from desk_server import Served

    with Served(Path(folder), lambda store: plan_id) as it:
        time.sleep(3.0)   # the shelf is read beside the first page
        print(json.dumps(get(f"{it.url}/plans/{plan_id}/layout.pdf?part=left_arm")))


def served(plan, gallery) -> list[tuple[str, tuple[float, float]]]:  # type: ignore[no-untyped-def]
    """Seconds (wall, processor) for a server's answers: the print page, the file at once, the file after a moment."""
    from desk_server import Served

    from web.ahead import QUIET_S

    def put(store) -> str:  # type: ignore[no-untyped-def]
        for drawing in gallery.values():
            store.keep_drawing(drawing)
        return store.adopt(plan)

    with tempfile.TemporaryDirectory() as folder, Served(Path(folder), put) as it:
        base = f"{it.url}/plans/{it.plan_id}"
        time.sleep(3.0)   # the shelf is read beside the first page
        rows = [("print page", get(f"{base}/print?part=left_arm")),
                ("file asked for at once", get(f"{base}/layout.pdf?part=left_arm"))]
    with tempfile.TemporaryDirectory() as folder, Served(Path(folder), put) as it:
        base = f"{it.url}/plans/{it.plan_id}"
        time.sleep(3.0)
        get(f"{base}/compose/left_arm")
        until, last, count = time.monotonic() + 90.0, -1, 0
        while time.monotonic() < until and not 0 < last == count:
            last = count
            time.sleep(QUIET_S + 2.0)
            count = len(list(Path(folder, "cuts").glob("*.npz")))
        rows.append(("desk opened, file asked for later", get(f"{base}/layout.pdf?part=left_arm")))
    with tempfile.TemporaryDirectory() as folder, Served(Path(folder), put) as it:
        base = f"{it.url}/plans/{it.plan_id}"
        time.sleep(3.0)
        get(f"{base}/print?part=left_arm")
        time.sleep(4.0)
        rows.append(("file asked for 4 s later", get(f"{base}/layout.pdf?part=left_arm")))
        rows.append(("the same once more", get(f"{base}/layout.pdf?part=left_arm")))
        before = it.plan_id
        time.sleep(2.0)   # cuts are kept beside the page
        again = [sys.executable, __file__, "--restarted", folder, before]
        done = subprocess.run(again, capture_output=True, check=True)
        rows.append(("started again, file at once", tuple(json.loads(done.stdout))))
    return rows


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--child", help=argparse.SUPPRESS)
    parser.add_argument("--restarted", nargs=2, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.restarted:
        restarted(*asked.restarted)
        return
    if asked.child:
        child(asked.child)
        return
    from composer.demo import demo_plan

    plan, gallery = demo_plan()
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "plan.pickle"
        file.write_bytes(pickle.dumps((plan, dict(gallery))))
        done = subprocess.run([sys.executable, __file__, "--child", str(file)], capture_output=True, check=True)
    got = json.loads(done.stdout)
    print(f"{got['pieces']} pieces and fillers, {got['vertices']} vertices, {got['bytes'] / 1e6:.1f} MB of PDF")
    plain = got["plain"]
    for name, (wall, cpu) in (("first in a new process", got["first"]), ("again", got["again"]),
                              ("baseline: tiles alone, path calls", plain)):
        print(f"{name:36s} {wall:6.2f} s wall, {cpu:6.2f} s processor; baseline / this {plain[1] / cpu:5.1f}")
    for name, (wall, cpu) in served(plan, gallery):
        print(f"server: {name:34s} {wall:6.2f} s wall, {cpu:6.2f} s processor")


if __name__ == "__main__":
    main()
