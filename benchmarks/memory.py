"""Resident memory of the server through a scripted tour, from /proc (Linux).

    .venv/bin/python benchmarks/memory.py [--gaps N] [--trace]

Bar: under 250 MB with the demo open. The server runs as its own process on a store with the demo (a
tied-in sleeve) and three more plans: 60 pieces, the demo bare, and the demo once more to be tied in
anew. The tour opens each, looks at gaps, at candidates of every kind, keeps one, prints, turns the part
round and drags pieces about. Printed 3 s after each stop: resident MB, and the most at
any time (VmHWM).
The baseline is the server just started. `--trace` also lists where Python's own memory went.
"""

from __future__ import annotations

import argparse
import html
import json
import os
import re
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "browser")]

REST_S = 3.0
"""So long after a stop memory is read: by then what was let go has been given back (`web.thrift`)."""
SERVE = """
import os, signal, sys, tracemalloc
if os.environ.get("TRACE"):
    tracemalloc.start(1)
    def tell(*_):
        for line in tracemalloc.take_snapshot().statistics("lineno")[:40]:
            print(line, file=sys.stderr)
        print(tracemalloc.get_traced_memory(), file=sys.stderr, flush=True)
    signal.signal(signal.SIGUSR1, tell)
from composer.cli import main
sys.exit(main(sys.argv[1:]))
"""


class Tour:
    """One person at one browser."""

    def __init__(self, port: int, pid: int) -> None:
        self.base, self.pid, self.bare = f"http://127.0.0.1:{port}", pid, 0.0

    def memory(self, line: str) -> float:
        """'VmRSS' or 'VmHWM' of the server, MB."""
        status = Path(f"/proc/{self.pid}/status").read_text()
        return int(re.search(rf"{line}:\s+(\d+)", status)[1]) / 1024

    def tell(self, what: str) -> None:
        time.sleep(REST_S)
        now = self.memory("VmRSS")
        self.bare = self.bare or now
        print(f"{what:58s} {now:6.0f} MB ({now / self.bare:4.2f} of just started), most {self.memory('VmHWM'):6.0f} MB",
              flush=True)

    def get(self, path: str) -> str:
        with urllib.request.urlopen(self.base + path) as answer:
            return answer.read().decode("utf8", "replace")

    def post(self, path: str, **form: object) -> str:
        data = urllib.parse.urlencode({k: str(v) for k, v in form.items()}).encode()
        try:
            with urllib.request.urlopen(self.base + path, data=data) as answer:
                return answer.read().decode("utf8", "replace")
        except urllib.error.HTTPError as err:   # a refusal is a page too
            return err.read().decode("utf8", "replace")

    def open(self, plan: str) -> str:
        """The desk of a plan as a browser asks for it: page, shelf pictures, gaps; returns the answer with gaps."""
        page = self.get(f"/plans/{plan}/compose/left_arm")
        for picture in sorted(set(re.findall(r'src="(/motifs/[^"]+)"', page))):
            self.get(html.unescape(picture))
        self.get(f"/plans/{plan}/tie-in/left_arm")
        return self.post(f"/plans/{plan}/desk/left_arm/refresh", mode="tie-in", gaps=1)

    def candidates(self, plan: str, answer: str, gaps: int) -> None:
        """Every kind for some gaps; the first of the last is kept, then taken back."""
        from composer.filler.kinds import KINDS

        keys = list(dict.fromkeys(re.findall(r'data-goal="(gap:[^"]+)"', answer)))[:gaps]
        at = f"/plans/{plan}/desk/left_arm"
        for key in keys:
            for kind in KINDS:
                self.post(f"{at}/candidates", **{"for": key, "kind": kind, "seed": 1})
        if keys:
            self.post(f"{at}/accept", **{"for": keys[-1], "kind": "cloud", "seed": 1, "index": 0, "mode": "tie-in"})
            self.post(f"{at}/undo", mode="tie-in")

    def drag(self, plan: str, times: int) -> None:
        """Move pieces about, one change each."""
        at = f"/plans/{plan}/desk/left_arm"
        data = self.post(f"{at}/refresh")
        pieces = json.loads(html.unescape(re.search(r'id="desk-data"[^>]*>(.*?)</script>', data, re.S)[1]))["pieces"]
        main = [p for p in pieces if not p["filler"]]
        have = {p["id"]: "" for p in pieces}
        for n in range(times):
            p = main[n % len(main)]
            step = {"do": "change", "pieces": [{"id": p["id"], "u": p["u"] + 0.002 * (n % 7), "s_mm": p["s"] + n % 5}]}
            self.post(f"{at}/step", step=json.dumps(step), sel=p["id"], have=json.dumps(have), gaps=0)

    def print_out(self, plan: str) -> None:
        self.get(f"/plans/{plan}/print?part=left_arm")
        self.get(f"/plans/{plan}/layout.pdf?part=left_arm")
        self.get(f"/plans/{plan}/layout/left_arm.svg")

    def round(self, plan: str) -> None:
        self.get(f"/plans/{plan}/round/left_arm")
        self.get(f"/plans/{plan}/round/left_arm/shape.json")
        self.get(f"/plans/{plan}/round/left_arm/skin.png")
        for row in range(2):
            self.get(f"/plans/{plan}/round/left_arm/skin/0/{row}.png")
        self.get(f"/plans/{plan}/round/left_arm/front.svg")

    def whole(self, plan: str) -> None:
        """Tie in the whole sleeve and wait for it."""
        at = f"/plans/{plan}/desk/left_arm/whole"
        answer = self.post(at, theme="storm", seed=3)
        job = re.search(rf"{at}/(\w+)", answer)
        while job and "<progress" in answer:
            time.sleep(0.5)
            answer = self.get(f"{at}/{job[1]}")


def stores(folder: Path) -> dict[str, str]:
    """Four plans: name to id."""
    from desk_server import demo, sixty_pieces

    from composer.store.store import Store
    from web.serve import add_demo

    store = Store(folder)
    out = {"demo": add_demo(store), "sixty": sixty_pieces(store), "bare": demo(store)}
    out["again"] = store.import_plan(store.export_plan(out["bare"]))
    store.close()
    return out


def walk(tour: Tour, plans: dict[str, str], gaps: int) -> None:
    """The tour itself."""
    stops: list[tuple[str, Callable[[], object]]] = [
        ("start page, pictures of four plans", lambda: [tour.get("/"), *(
            tour.get(f"/plans/{p}/picture.svg") for p in plans.values())]),
        ("demo open, gaps looked at", lambda: tour.open(plans["demo"])),
        ("demo: every kind for some gaps", lambda: tour.candidates(plans["demo"], tour.open(plans["demo"]), gaps)),
        ("demo: printed", lambda: tour.print_out(plans["demo"])),
        ("demo: in the round", lambda: tour.round(plans["demo"])),
        ("60 pieces open", lambda: tour.open(plans["sixty"])),
        ("60 pieces: 60 drags", lambda: tour.drag(plans["sixty"], 60)),
        ("60 pieces: printed", lambda: tour.print_out(plans["sixty"])),
        ("demo bare: every kind for some gaps", lambda: tour.candidates(plans["bare"], tour.open(plans["bare"]), gaps)),
        ("fourth plan tied in as a whole", lambda: [tour.open(plans["again"]), tour.whole(plans["again"])]),
        ("fourth plan: opened, printed, in the round", lambda: [
            tour.open(plans["again"]), tour.print_out(plans["again"]), tour.round(plans["again"])]),
        ("demo: 60 drags", lambda: tour.drag(plans["demo"], 60)),
        ("all four opened once more", lambda: [tour.open(p) for p in plans.values()]),
    ]
    tour.tell("just started, shelf read")
    for name, work in stops:
        began = time.perf_counter()
        work()
        tour.tell(f"{name} ({time.perf_counter() - began:.1f} s)")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--trace", action="store_true", help="list where Python's memory went (slower)")
    parser.add_argument("--gaps", type=int, default=3, help="for so many gaps of a plan every kind is asked (3)")
    asked = parser.parse_args()
    from web.serve import free_port

    with tempfile.TemporaryDirectory() as folder:
        plans = stores(Path(folder))
        port = free_port(None)
        server = subprocess.Popen([sys.executable, "-c", SERVE, "serve", "--data", folder, "--port", str(port)],
                                  cwd=ROOT, stdout=subprocess.DEVNULL,
                                  env={**os.environ, **({"TRACE": "1"} if asked.trace else {})})
        try:
            tour = Tour(port, server.pid)
            for _ in range(200):
                try:
                    tour.get("/")
                    break
                except urllib.error.URLError:
                    time.sleep(0.1)
            time.sleep(6.0)
            walk(tour, plans, asked.gaps)
            if asked.trace:
                server.send_signal(10)
                time.sleep(5.0)
        finally:
            server.terminate()
            server.wait(10)


if __name__ == "__main__":
    main()
