"""The `serve` command: the desk on this machine."""

from __future__ import annotations

import argparse
import signal
import socket
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from platformdirs import user_data_path

HOST = "127.0.0.1"
PORT = 8717


def command(sub: argparse._SubParsersAction) -> None:
    """Add `serve` to the commands."""
    text = "Start the desk in the browser, on this machine only."
    p = sub.add_parser("serve", help=text, description=text)
    p.add_argument("--port", type=int, default=None, help=f"port to listen on (default {PORT}, or the next free one)")
    p.add_argument("--data", type=Path, default=None, metavar="DIR", help="data folder (default: the user's own)")
    p.add_argument("--no-demo", action="store_true", help="do not put the demo plan in while there is no plan")
    p.set_defaults(run=run)


def run(args: argparse.Namespace) -> tuple[int, Any, str]:
    """Serve until stopped. Raises ValueError with a sentence when the port or the folder can't be had."""
    import uvicorn

    from composer.store.store import Store
    from web.app import create_app
    from web.thrift import few_heaps

    few_heaps()
    folder = args.data or user_data_path("sleevewright", appauthor=False)
    port = free_port(args.port)
    store = Store(folder)
    if store.unused() and not args.no_demo:
        print("Composing the demo plan (first start only) ...", flush=True)
        if not demo_beside(store.folder):
            print("The demo plan could not be composed; the next start tries again.", flush=True)
    print(f"Your plans are kept in {store.folder}")
    print(f"Open http://{HOST}:{port} in a browser; press Ctrl+C here to stop.", flush=True)
    uvicorn.run(create_app(store=store), host=HOST, port=port, log_level="warning", timeout_graceful_shutdown=2)
    return 0, {}, ""


def demo_beside(folder: Path) -> bool:
    """Compose the demo plan in a process of its own, which takes what composing needs of memory with it when it ends;
    says whether it came through. Interrupted, it ends that process and leaves the store as it was."""
    beside = get_context("spawn").Process(target=_work, args=(folder,))
    beside.start()
    try:
        while beside.is_alive():
            beside.join(0.5)        # a longer wait can not be interrupted everywhere
    except KeyboardInterrupt:
        beside.terminate()
        beside.join()
        raise
    return beside.exitcode == 0


def _work(folder: Path) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)    # Ctrl+C reaches both; who started it ends it
    add_demo_in(folder)


def add_demo(store: Any) -> str:
    """Put the demo plan into a store; returns its id."""
    from composer.demo import demo_plan

    return _keep(store, *demo_plan())


def add_demo_in(folder: Path) -> None:
    """Put the demo plan into the store of a data folder, unless a plan came there meanwhile (from the process that an
    earlier start left behind when it was killed)."""
    from composer.demo import demo_plan
    from composer.store.store import Store

    made = demo_plan()
    store = Store(folder)
    try:
        if store.unused():
            _keep(store, *made)
    finally:
        store.close()


def _keep(store: Any, plan: Any, gallery: dict[str, Any]) -> str:
    for drawing in gallery.values():
        store.keep_drawing(drawing)
    return store.adopt(plan)


def free_port(wanted: int | None) -> int:
    """The port asked for, or the first free one from PORT on."""
    for port in [wanted] if wanted is not None else range(PORT, PORT + 40):
        if not 0 <= port <= 65535:
            raise ValueError(f"{port} is no port; use a number from 1024 to 65535.")
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((HOST, port))
                return int(probe.getsockname()[1])
            except OSError:
                continue
    raise ValueError(f"Port {wanted or PORT} is in use; stop what uses it or choose another with --port.")
