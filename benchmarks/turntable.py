"""Frames per second of the turntable in headless Chromium, at full speed and on a slowed processor.

    .venv/bin/python benchmarks/turntable.py [--sixty | --full]

Turns the part by a drag of 240 steps, one a frame, and times the frames between animation
callbacks. Each run is held against an empty page that does nothing but ask for frames, in the
same browser at the same slowness: the ratio says what the turntable itself costs. Printed, never
asserted. The GL that drew is named, since a software renderer says little about a tablet. Beside the frames stands the
browser's processor time for a frame, page and GL apart, which a busy machine does not change much.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import CDPSession, Page, sync_playwright

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[1] / "tests" / "browser")]
from desk_server import FLAGS, Served, chromium, demo, sixty_pieces  # noqa: E402

from web.serve import add_demo  # noqa: E402

EMPTY = """async (n) => { const t = []; await new Promise(done => { const f = now => { t.push(now);
  if (t.length <= n) requestAnimationFrame(f); else done(); }; requestAnimationFrame(f); });
  return t.slice(1).map((x, i) => x - t[i]); }"""
TURN = """async ([n, zoom]) => { const { shown } = await import("/static/js/round/round.js");
  const t = []; shown.look.set({ zoom, along: 0 }); await new Promise(r => setTimeout(r, 2500));
  await new Promise(done => { const f = now => { t.push(now);
    if (t.length <= n) { shown.look.set({ u: shown.look.u + 1 / n }); requestAnimationFrame(f); } else done(); };
    requestAnimationFrame(f); });
  return { gaps: t.slice(1).map((x, i) => x - t[i]), ratio: shown.stage.at }; }"""
GL = """() => { const gl = document.createElement("canvas").getContext("webgl2");
  const e = gl.getExtension("WEBGL_debug_renderer_info");
  return gl.getParameter(e ? e.UNMASKED_RENDERER_WEBGL : gl.RENDERER); }"""


def processor_ms() -> dict[str, float]:
    """Processor time that this browser's processes have used so far, ms, by what they do."""
    stat, own = {}, {os.getpid()}
    for pid in (int(p.name) for p in Path("/proc").iterdir() if p.name.isdigit()):
        with contextlib.suppress(OSError):
            stat[pid] = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    while more := {pid for pid, words in stat.items() if int(words[1]) in own} - own:
        own |= more
    out = {"page": 0.0, "GL": 0.0}
    for pid in own & stat.keys():
        with contextlib.suppress(OSError):
            words = Path(f"/proc/{pid}/cmdline").read_bytes()
            what = "GL" if b"--type=gpu-process" in words else "page" if b"--type=renderer" in words else ""
            if what:
                out[what] += 1000 * (int(stat[pid][11]) + int(stat[pid][12])) / os.sysconf("SC_CLK_TCK")
    return out


def fps(gaps: list[float]) -> tuple[float, float]:
    """Mean frames per second, and the slowest in twenty frames' (95th percentile), after 20 to warm up."""
    late = sorted(gaps[20:])
    return 1000 * len(late) / sum(late), 1000 / late[int(0.95 * (len(late) - 1))]


def measure(page: Page, cdp: CDPSession, slowness: int, frames: int = 240) -> None:
    cdp.send("Emulation.setCPUThrottlingRate", {"rate": slowness})
    idle, _ = fps(page.evaluate(EMPTY, frames))
    for what, zoom in (("whole part", 1.0), ("close, 6x", 6.0)):
        before = processor_ms()
        run = page.evaluate(TURN, [frames, zoom])
        used = ", ".join(f"{what} {(ms - before[what]) / frames:.1f}" for what, ms in processor_ms().items())
        mean, slow = fps(run["gaps"])
        print(f"  {slowness}x slowed, {what:10}: {mean:5.1f} fps, 95 in 100 frames at {slow:5.1f} fps or more; "
              f"nothing at all: {idle:5.1f} fps; ratio {mean / idle:.2f}; {run['ratio']:.2f} px per CSS px at the end; "
              f"processor ms a frame: {used}")
    cdp.send("Emulation.setCPUThrottlingRate", {"rate": 1})


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--sixty", action="store_true", help="60 pieces instead of the demo's")
    parser.add_argument("--full", action="store_true", help="the demo tied in as a whole sleeve (composes it first)")
    asked = parser.parse_args()
    make = sixty_pieces if asked.sixty else add_demo if asked.full else demo
    with tempfile.TemporaryDirectory() as folder, Served(Path(folder), make) as served, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium(), args=FLAGS)
        for wide, high in ((1440, 900), (1180, 820), (390, 844)):
            page = browser.new_page(viewport={"width": wide, "height": high})
            page.goto(f"{served.url}/plans/{served.plan_id}/round/left_arm")
            page.wait_for_selector("[data-ready]", timeout=120_000)
            if wide == 1440:
                print("GL:", page.evaluate(GL))
                print("pieces:", page.evaluate("document.querySelectorAll('[data-piece]').length"))
            print(f"{wide}x{high}")
            cdp = page.context.new_cdp_session(page)
            for slowness in (1, 4):
                measure(page, cdp, slowness)
            page.close()
        browser.close()


if __name__ == "__main__":
    main()
