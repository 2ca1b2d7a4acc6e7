"""A 12-megapixel photo from the file to a line drawing with tones: time and memory, against plain Canny on its pixels.

    .venv/bin/python -m benchmarks.intake

Bars: a first look under 1 s, the whole drawing under 6 s on two cores, under 700 MB. Each step in a process of its own;
seconds are of processor time (`time.process_time`, with what children used), so that a busy machine doesn't count.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "art"))

W, H = 4000, 3000
FILE = Path("/tmp/sleevewright-intake.jpg")
STEPS = ("canny", "read", "first look", "first look, busy", "whole", "whole, busy", "holds", "store")


def _photo(busy: bool) -> bytes:
    """The gull before shaded paper; or the estuary's mud with fine grain all over, edge to edge."""
    import numpy as np
    from estuary_pictures import gull, on_mud, on_paper, saved

    rgb, cover = gull(W, H)
    if not busy:
        return saved(on_paper(rgb, cover), "JPEG", quality=92)
    y, x = np.mgrid[:H, :W]
    grain = 22 * np.sin(x / 9 + 8 * np.sin(y / 130)) * np.sin(y / 11 + 5 * np.sin(x / 170))
    return saved(np.clip(on_mud(rgb, cover) + grain[..., None], 0, 255).astype(np.uint8), "JPEG", quality=92)


def _used() -> float:
    child = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + child.ru_utime + child.ru_stime


def _peak_mb() -> float:
    return max(resource.getrusage(w).ru_maxrss for w in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)) / 1024


def step(name: str) -> dict[str, float]:
    """One step, measured; what it needs beforehand is made untimed."""
    from composer.art.linework import LineWish
    from composer.art.picture_motif import draw_picture, usual_wish
    from composer.art.picture_wish import PictureWish
    from composer.art.raster_child import read_picture
    from composer.art.raster_read import decode

    data = FILE.with_suffix(".busy.jpg" if "busy" in name else ".jpg").read_bytes()
    begun = _used()
    if name == "read":
        read_picture(data)
    else:
        picture = decode(data)
        fine = PictureWish("frame", lines=LineWish(0.9, 0.15, 0.3))
        wish = fine if "busy" in name else usual_wish(picture)
        if name == "canny":
            from skimage import color, feature
            begun = _used()
            feature.canny(color.rgb2gray(picture.rgb), sigma=2.0)
        elif name.startswith("first look"):
            import skimage.morphology  # noqa: F401  (as `web/picture_worker.py` has done before a picture comes)
            begun = _used()
            draw_picture(picture, wish if "busy" in name else usual_wish(picture), quick=True)
        elif name.startswith("whole"):
            begun = _used()
            drawn = draw_picture(picture, wish)
            print(f"    {drawn.art.drawing.points} points", file=sys.stderr)
        elif name == "holds":
            from composer.compose.holds import holds
            drawn = draw_picture(picture, wish)
            begun = _used()
            holds(drawn.art.drawing)
        elif name == "store":
            from composer.art.raster_read import packed
            begun = _used()
            packed(picture)
    return {"s": _used() - begun, "mb": _peak_mb()}


def _run(name: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "benchmarks.intake", name], capture_output=True, text=True, check=True)


def make() -> None:
    FILE.write_bytes(_photo(False))
    FILE.with_suffix(".busy.jpg").write_bytes(_photo(True))


def main() -> None:
    _run("make")  # apart: what this process once held would count as the peak of its children
    base = 0.0
    print(f"{'step':18}{'s':>7}{'of Canny':>10}{'peak MB':>9}")
    for name in STEPS:
        run = _run(name)
        found = json.loads(run.stdout)
        base = base or found["s"]
        print(f"{name:18}{found['s']:7.2f}{found['s'] / base:10.2f}{found['mb']:9.0f}{run.stderr.rstrip()}")


if __name__ == "__main__":
    if sys.argv[1:] == ["make"]:
        make()
    elif len(sys.argv) > 1:
        print(json.dumps(step(sys.argv[1])))
    else:
        main()
