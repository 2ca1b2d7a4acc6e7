"""Pictures decoded in a process of their own: one that hangs, falls over or eats memory ends only itself.

    python -m composer.art.raster_child PAGE < FILE > ANSWER

The answer is one line of JSON, then the picture as a file of ours, so that whoever asked needs neither the pixels
nor what reads them.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from composer.art.errors import ArtError
from composer.art.raster_guard import READ_SECONDS, sniff
from composer.art.raster_read import Packed, Picture, decode, pack, unpacked

MOST_MEMORY = 1_500_000_000
_ROOT = Path(__file__).resolve().parents[2]


def read_picture(data: bytes, page: int = 1, seconds: float = READ_SECONDS) -> Picture:
    """Decode a picture beside this process. Raises ArtError with one sentence; see `raster_read.decode`."""
    return unpacked(read_packed(data, page, seconds))


def read_packed(data: bytes, page: int = 1, seconds: float = READ_SECONDS) -> Packed:
    """Decode a picture beside this process, and bring it back as a file of ours. Raises ArtError."""
    kind = sniff(data)
    try:
        run = subprocess.run([sys.executable, "-m", "composer.art.raster_child", str(int(page))], input=data,
                             capture_output=True, cwd=_ROOT, timeout=seconds, check=False)
    except subprocess.TimeoutExpired as err:
        raise ArtError(f"The {kind} file takes longer than {seconds:.0f} s to read; save it simpler or "
                       "smaller.") from err
    line, _, rest = run.stdout.partition(b"\n")
    try:
        said = json.loads(line)
    except ValueError as err:
        raise ArtError(f"The {kind} file can't be read: it is damaged, or needs more memory than a picture "
                       "should. Save it again, or smaller.") from err
    if "sentence" in said:
        raise ArtError(said["sentence"])
    if len(rest) != said["bytes"]:
        raise ArtError(f"The {kind} file could not be read to its end; save it again.")
    return Packed(rest, said["width"], said["height"], said["alpha"], said["dpi"], said["kind"], tuple(said["notes"]))


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
        kept = pack(decode(sys.stdin.buffer.read(), int(sys.argv[1])))
    except ArtError as err:
        out.write(json.dumps({"sentence": str(err)}).encode() + b"\n")
        return
    out.write(json.dumps({"bytes": len(kept.data), "width": kept.width, "height": kept.height, "alpha": kept.alpha,
                          "dpi": kept.dpi, "kind": kept.kind, "notes": kept.notes}).encode() + b"\n")
    out.write(kept.data)


if __name__ == "__main__":
    main()
