"""The `serve` command: the desk on this machine."""

from __future__ import annotations

import argparse
import socket
from concurrent.futures import ProcessPoolExecutor
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
    p.add_argument("--no-demo", action="store_true", help="do not put the demo plan in on the first start")
    p.set_defaults(run=run)


def run(args: argparse.Namespace) -> tuple[int, Any, str]:
    """Serve until stopped. Raises ValueError with a sentence when the port or the folder can't be had."""
    import uvicorn

    from composer.store.store import Store
    from web.app import create_app
    from web.thrift import few_heaps

    few_heaps()
    folder = args.data or user_data_path("sleevewright", appauthor=False)
    first = not (Path(folder) / "sleevewright.sqlite").exists()
    port = free_port(args.port)
    store = Store(folder)
    if first and not args.no_demo:
        print("Composing the demo plan (first start only) ...", flush=True)
        # In a process of its own, which takes what composing needs of memory with it when it ends.
        with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as beside:
            beside.submit(add_demo_in, store.folder).result()
    print(f"Your plans are kept in {store.folder}")
    print(f"Open http://{HOST}:{port} in a browser; press Ctrl+C here to stop.", flush=True)
    uvicorn.run(create_app(store=store), host=HOST, port=port, log_level="warning", timeout_graceful_shutdown=2)
    return 0, {}, ""


def add_demo(store: Any) -> str:
    """Put the demo plan into a store; returns its id."""
    from composer.demo import demo_plan

    plan, gallery = demo_plan()
    for drawing in gallery.values():
        store.keep_drawing(drawing)
    return store.adopt(plan)


def add_demo_in(folder: Path) -> str:
    """Put the demo plan into the store of a data folder; returns its id."""
    from composer.store.store import Store

    store = Store(folder)
    try:
        return add_demo(store)
    finally:
        store.close()


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
