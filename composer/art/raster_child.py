"""Pictures decoded in a process of their own: one that hangs, falls over or eats memory ends only itself.

    python -m composer.art.raster_child PAGE < FILE > PIXELS

The answer is one line of JSON, then the raw pixels.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import numpy as np

from composer.art.errors import ArtError
from composer.art.raster_guard import READ_SECONDS, sniff
from composer.art.raster_read import Picture, decode

MOST_MEMORY = 1_500_000_000
_ROOT = Path(__file__).resolve().parents[2]
_MOST_ANSWER = 80_000_000


def read_picture(data: bytes, page: int = 1, seconds: float = READ_SECONDS) -> Picture:
    """Decode a picture beside this process. Raises ArtError with one sentence; see `raster_read.decode`."""
    kind = sniff(data)
    try:
        run = subprocess.run([sys.executable, "-m", "composer.art.raster_child", str(int(page))], input=data,
                             capture_output=True, cwd=_ROOT, timeout=seconds, check=False)
    except subprocess.TimeoutExpired as err:
        raise ArtError(f"The {kind} file takes longer than {seconds:.0f} s to read; save it simpler or "
                       "smaller.") from err
    line, _, pixels = run.stdout.partition(b"\n")
    try:
        said = json.loads(line)
    except ValueError as err:
        raise ArtError(f"The {kind} file can't be read: it is damaged, or needs more memory than a picture "
                       "should. Save it again, or smaller.") from err
    if "sentence" in said:
        raise ArtError(said["sentence"])
    h, w = said["size"]
    flat = np.frombuffer(pixels, np.uint8)
    if len(flat) != h * w * (4 if said["alpha"] else 3) or len(flat) > _MOST_ANSWER:
        raise ArtError(f"The {kind} file could not be read to its end; save it again.")
    rgb = flat[: h * w * 3].reshape(h, w, 3)
    alpha = flat[h * w * 3:].reshape(h, w) if said["alpha"] else None
    return Picture(rgb, alpha, said["dpi"], said["kind"], tuple(said["notes"]))


def _bounded() -> None:
    """Hold this process to its share of memory and time, where the system can."""
    try:
        import resource
    except ImportError:  # no such limits on this system; the parent's clock still holds
        return
    for what, most in ((resource.RLIMIT_AS, MOST_MEMORY), (resource.RLIMIT_CPU, int(READ_SECONDS) + 5)):
        try:
            resource.setrlimit(what, (most, most))
        except (ValueError, OSError):
            continue


def main() -> None:
    _bounded()
    out = sys.stdout.buffer
    try:
        picture = decode(sys.stdin.buffer.read(), int(sys.argv[1]))
    except ArtError as err:
        out.write(json.dumps({"sentence": str(err)}).encode() + b"\n")
        return
    out.write(json.dumps({"size": picture.rgb.shape[:2], "alpha": picture.alpha is not None, "dpi": picture.dpi,
                          "kind": picture.kind, "notes": picture.notes}).encode() + b"\n")
    out.write(np.ascontiguousarray(picture.rgb).data)
    if picture.alpha is not None:
        out.write(np.ascontiguousarray(picture.alpha).data)


if __name__ == "__main__":
    main()
