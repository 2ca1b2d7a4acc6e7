"""Long work beside the page: one job a part at a time, its progress, what came of it."""

from __future__ import annotations

import logging
import threading
import uuid
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field

from web.beside import beside

log = logging.getLogger("sleevewright.web")
KEPT = 40


@dataclass
class Job:
    """`share` done 0..1; `sentence` says what came of it; `failed` when it is not to be kept. `first`: a picture (SVG)
    of the first that was whole, `about` what it is."""

    id: str
    share: float = 0.0
    done: bool = False
    failed: bool = False
    sentence: str = ""
    first: str = ""
    about: str = ""
    stop: bool = False
    lock: threading.Lock = field(default_factory=threading.Lock, repr=False)

    def progress(self, share: float) -> bool:
        """To be called by the work; False when it should stop."""
        self.share = min(max(share, 0.0), 1.0)
        return not self.stop


class Jobs:
    """Jobs by id and by what they work on; a second start on the same thing gives the running one."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._on: dict[tuple[str, str], str] = {}

    def start(self, on: tuple[str, str], work: Callable[[Job], str]) -> Job:
        """Run `work(job)` in a thread of its own; it returns the sentence to show. A ValueError's
        text is shown as it stands."""
        with self._lock:
            running = self._jobs.get(self._on.get(on, ""))
            if running is not None and not running.done:
                return running
            job = Job(uuid.uuid4().hex[:12])
            self._jobs[job.id] = job
            self._on[on] = job.id
            while len(self._jobs) > KEPT:
                self._jobs.popitem(last=False)
        beside(lambda: self._run(job, work), f"job-{job.id}")
        return job

    @staticmethod
    def _run(job: Job, work: Callable[[Job], str]) -> None:
        try:
            job.sentence = work(job)
        except ValueError as err:
            job.failed, job.sentence = True, str(err)
        except Exception as err:
            log.error("job failed", exc_info=err)
            job.failed, job.sentence = True, "This could not be finished; what went wrong was written to the log."
        finally:
            job.share, job.done = 1.0, True

    def end(self) -> None:
        """Ask all running work to stop."""
        with self._lock:
            for job in self._jobs.values():
                job.stop = True

    def get(self, job_id: str) -> Job | None:
        with self._lock:
            return self._jobs.get(job_id)
