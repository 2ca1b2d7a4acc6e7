"""Pictures are worked on in a process beside the server, which starts with the first and ends when none comes.

So the server itself never holds pixels or what handles them, goes on answering meanwhile, and outlives whatever a
picture does. One piece of work at a time, in order.

    python -m web.picture_worker      (started by `Beside`; speaks pickles over its pipes)
"""

from __future__ import annotations

import io
import logging
import pickle
import subprocess
import sys
import threading
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from typing import Any

from composer.art.errors import ArtError
from composer.art.picture_wish import PictureWish, wish_to_json
from composer.art.raster_read import Packed, Picture

log = logging.getLogger("sleevewright.web")
IDLE_S = 90.0
LOST = "The picture could not be worked on to the end; try again, or bring it in smaller."
_ROOT = Path(__file__).resolve().parents[1]
_MISSING = "missing"


class Beside:
    """The process beside, from the server's side; safe to use from threads."""

    def __init__(self, idle_s: float = IDLE_S) -> None:
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._rest: threading.Timer | None = None
        self._idle_s = idle_s

    def ask(self, what: str, digest: str, packed: Callable[[], Packed], **more: Any) -> Any:
        """Have one of WORK done with a picture; `packed` gives the picture where it is not known beside yet. Raises
        ArtError with a sentence, whatever happens there."""
        with self._lock:
            self._calm()
            try:
                found = self._send(what, digest, None, more)
                if found == _MISSING:
                    found = self._send(what, digest, packed(), more)
            except (OSError, EOFError, pickle.UnpicklingError) as err:
                log.warning("the picture process ended: %s", err)
                self._end()
                raise ArtError(LOST) from err
            finally:
                self._wait()
        if isinstance(found, ArtError):
            raise found
        if isinstance(found, str):
            log.error("a picture could not be worked on:\n%s", found)
            raise ArtError(LOST)
        return found[0]

    def warm(self) -> None:
        """Start the process before it is needed."""
        if self._lock.acquire(blocking=False):
            try:
                self._calm()
                self._running()
                self._wait()
            finally:
                self._lock.release()

    def close(self) -> None:
        """End the process."""
        with self._lock:
            self._calm()
            self._end()

    def _running(self) -> subprocess.Popen[bytes]:
        if self._process is None or self._process.poll() is not None:
            self._process = subprocess.Popen([sys.executable, "-m", "web.picture_worker"], stdin=subprocess.PIPE,
                                             stdout=subprocess.PIPE, cwd=_ROOT)
        return self._process

    def _send(self, *request: Any) -> Any:
        process = self._running()
        assert process.stdin and process.stdout
        pickle.dump(request, process.stdin, pickle.HIGHEST_PROTOCOL)
        process.stdin.flush()
        return pickle.load(process.stdout)

    def _wait(self) -> None:
        self._rest = threading.Timer(self._idle_s, self.close)
        self._rest.daemon = True
        self._rest.start()

    def _calm(self) -> None:
        if self._rest is not None:
            self._rest.cancel()

    def _end(self) -> None:
        if self._process is None:
            return
        for pipe in (self._process.stdin, self._process.stdout):
            try:
                if pipe:
                    pipe.close()
            except OSError:
                continue
        try:
            self._process.wait(2)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self._process = None


# ---- in the process beside

class Bench:
    """Pictures at hand, and what was found of them."""

    def __init__(self) -> None:
        self.pictures: OrderedDict[str, Picture] = OrderedDict()
        self.found: OrderedDict[str, Any] = OrderedDict()

    def once(self, key: str, make: Callable[[], Any], most: int = 6) -> Any:
        if key not in self.found:
            self.found[key] = make()
            while len(self.found) > most:
                self.found.popitem(last=False)
        self.found.move_to_end(key)
        return self.found[key]

    def lay(self, digest: str, packed: Packed) -> None:
        from composer.art.raster_read import unpacked

        self.pictures.clear()  # one at a time: a picture takes 40 MB
        self.found.clear()
        self.pictures[digest] = unpacked(packed)


def _shown(bench: Bench, picture: Picture, side: int) -> tuple[bytes, str]:
    """The picture with at most `side` pixels on its longer side, and its media type."""
    from PIL import Image

    im = Image.fromarray(picture.rgb)
    if picture.alpha is not None:
        im.putalpha(Image.fromarray(picture.alpha))
    im.thumbnail((side, side), reducing_gap=2.0)
    out = io.BytesIO()
    if picture.alpha is None:
        im.save(out, "JPEG", quality=86)
        return out.getvalue(), "image/jpeg"
    im.save(out, "PNG", compress_level=3)
    return out.getvalue(), "image/png"


def _first(bench: Bench, picture: Picture) -> PictureWish:
    from composer.art.picture_motif import usual_wish

    return usual_wish(picture)


def _draw(bench: Bench, picture: Picture, wish: PictureWish, quick: bool) -> tuple[Any, Any]:
    """The drawing, and with a whole one what skin can hold of it."""
    import json

    from composer.art.picture_motif import draw_picture, find_silhouette
    from composer.compose.holds import holds

    form = {k: v for k, v in wish_to_json(wish).items()
            if k in ("method", "tolerance", "holes", "lasso", "marks", "fit")}
    found = bench.once(json.dumps([quick, form], sort_keys=True), lambda: find_silhouette(picture, wish, quick))
    drawn = draw_picture(picture, wish, quick, found)
    return drawn, None if quick else holds(drawn.art.drawing)


WORK: dict[str, Callable[..., Any]] = {"shown": _shown, "first": _first, "draw": _draw}


def main() -> None:
    """Answer requests (what, digest, picture or None, more) until the pipe closes: a 1-tuple with what was made, an
    ArtError, 'missing' for a picture that is not at hand, or another text for what went wrong."""
    import traceback

    import PIL.Image  # noqa: F401  (all that the first picture would have to wait for)
    import skimage.morphology  # noqa: F401

    import composer.art.picture_motif  # noqa: F401

    source, out = sys.stdin.buffer, sys.stdout.buffer
    sys.stdout = sys.stderr
    bench = Bench()
    while True:
        try:
            what, digest, packed, more = pickle.load(source)
        except EOFError:
            return
        answer: Any
        try:
            if packed is not None:
                bench.lay(digest, packed)
            picture = bench.pictures.get(digest)
            answer = _MISSING if picture is None else (WORK[what](bench, picture, **more),)
        except ArtError as err:
            answer = err
        except Exception:
            answer = traceback.format_exc()
        pickle.dump(answer, out, pickle.HIGHEST_PROTOCOL)
        out.flush()


if __name__ == "__main__":
    main()
