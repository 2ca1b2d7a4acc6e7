"""Start Sleevewright, or test it, from a fresh clone. Standard library only.

    python3 run.py [--port N] [--data DIR]    set up on first use, then start the server
    python3 run.py test [PYTEST OPTIONS]      set up what tests need, then run every test
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
import time
import venv
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent
ENV = ROOT / ".venv"
PYTHON = ENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge")
PLACES = (
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
    r"C:\Program Files\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe",
)


def stamp(extra: str) -> str:
    files = ["pyproject.toml", "package-lock.json", "package.json", "setup_assets/backend.py"]
    parts = [(ROOT / f).read_bytes() for f in files]
    return hashlib.sha256(b"".join([*parts, extra.encode(), sys.version.encode(), str(ROOT).encode()])).hexdigest()


def set_up(extra: str = "") -> None:
    """Make the environment and install into it; nothing is done when it is up to date."""
    mark = ENV / ".sleevewright-stamp"
    done = mark.read_text().split() if mark.exists() else []
    if PYTHON.exists() and (stamp(extra) in done or (not extra and stamp("test") in done)) and assets_there():
        return
    print("Setting up (once; a minute or so) ...", flush=True)
    if not PYTHON.exists():
        make_env()
    goal = f".[{extra}]" if extra else "."
    run = subprocess.run([str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-e", goal],
                         cwd=ROOT, env={**os.environ, "PIP_NO_COMPILE": "1"})       # what is imported compiles itself
    if run.returncode:
        sys.exit("The set-up did not finish; see the lines above. It needs the network once.")
    mark.write_text(" ".join(sorted({stamp(extra), *(done if stamp("") in done or stamp("test") in done else [])})))


def make_env() -> None:
    """The environment with pip; on a bare Debian the module for it is installed, or asked for."""
    try:
        import ensurepip  # noqa: F401
    except ImportError:
        if not apt_install("python3-venv"):
            sys.exit("This Python cannot make environments yet. On Debian: 'sudo apt-get install python3-venv'; "
                     "then run this again.")
        subprocess.run([sys.executable, "-m", "venv", "--clear", str(ENV)], check=True)
        return
    venv.EnvBuilder(with_pip=True).create(ENV)


def apt_install(package: str) -> bool:
    """Install a Debian package where we may; False where we may not or it failed."""
    if not (shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0):
        return False
    print(f"Installing {package} from the distribution ...", flush=True)
    env = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    subprocess.run(["apt-get", "update"], stdout=subprocess.DEVNULL, env=env)
    return subprocess.run(["apt-get", "install", "-y", "--no-install-recommends", package],
                          stdout=subprocess.DEVNULL, env=env).returncode == 0


def assets_there() -> bool:
    fonts = list((ROOT / "composer/sheets/fonts").glob("*.ttf"))
    return (ROOT / "web/static/lib/.stamp").exists() and len(fonts) >= 8      # four faces, two files each


def find_browser() -> str | None:
    named = os.environ.get("SLEEVEWRIGHT_CHROMIUM")
    if named:
        return named if Path(named).exists() else None
    for name in BROWSERS:
        found = shutil.which(name)
        if found:
            return found
    for place in PLACES:
        if Path(place).exists():
            return place
    ask = "from playwright.sync_api import sync_playwright as s\nwith s() as p: print(p.chromium.executable_path)"
    seen = subprocess.run([str(PYTHON), "-c", ask], capture_output=True, text=True).stdout.strip()
    return seen if seen and Path(seen).exists() else None


def get_browser() -> str:
    """A Chromium to test with: found, or installed; ends the run with the way out when there is none."""
    found = find_browser()
    if found:
        return found
    if not apt_install("chromium") or not find_browser():
        print("Fetching a Chromium for the tests ...", flush=True)
        subprocess.run([str(PYTHON), "-m", "playwright", "install", "chromium"])
    found = find_browser()
    if not found:
        sys.exit("The browser tests need Chromium, and none was found or could be installed. Install it (on Debian: "
                 "'apt-get install chromium'), or set SLEEVEWRIGHT_CHROMIUM to its path, and run this again.")
    return found


def every_test(env: dict[str, str]) -> int:
    """The browser tests, one by one; at the same time, on every core, those that need no browser. These give way to
    them, so that a page waits for itself alone, and what they say is shown afterwards. One more than there are cores,
    since tests that wait for a program of their own leave a core idle."""
    pytest = [str(PYTHON), "-m", "pytest"]
    many = [*pytest, "--ignore=tests/browser", "-n", str(min((os.cpu_count() or 1) + 1, 5)), "--dist", "worksteal"]
    low: dict[str, Any] = {"preexec_fn": give_way} if os.name == "posix" else {
        "creationflags": subprocess.BELOW_NORMAL_PRIORITY_CLASS}  # type: ignore[attr-defined]
    with tempfile.TemporaryDirectory() as folder:
        told = Path(folder) / "told"
        with told.open("wb") as end, told.open("rb") as start:
            others = subprocess.Popen(many, cwd=ROOT, env=env, stdout=end, stderr=subprocess.STDOUT, **low)
            try:
                print("In the browser:", flush=True)
                code = subprocess.run([*pytest, "tests/browser"], cwd=ROOT, env=env).returncode
                print("\nWithout it:", flush=True)
                while True:
                    ended = others.poll() is not None
                    sys.stdout.write(start.read().decode(errors="replace"))
                    sys.stdout.flush()
                    if ended:
                        return code or others.returncode
                    time.sleep(0.5)
            finally:
                others.terminate()


def give_way() -> None:
    os.nice(5)


def main() -> int:
    if sys.version_info < (3, 11):  # noqa: UP036  (said in words to whoever has an older one)
        sys.exit(f"Sleevewright needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    args = sys.argv[1:]
    if args[:1] in (["-h"], ["--help"]):
        print(__doc__)
        return 0
    if args[:1] == ["test"]:
        set_up("test")
        if subprocess.run([str(PYTHON), str(ROOT / "setup_assets/backend.py"), "--dev"], cwd=ROOT).returncode:
            return 1
        env = {**os.environ, "SLEEVEWRIGHT_CHROMIUM": get_browser()}
        if args[1:]:
            return subprocess.run([str(PYTHON), "-m", "pytest", *args[1:]], cwd=ROOT, env=env).returncode
        return every_test(env)
    set_up()
    desk = subprocess.Popen([str(PYTHON), "-m", "composer.cli", "serve", *args], cwd=ROOT)
    while True:
        try:
            return desk.wait()
        except KeyboardInterrupt:       # it reaches the desk as well, which ends by itself
            continue


if __name__ == "__main__":
    sys.exit(main())
