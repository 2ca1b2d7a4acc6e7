"""How long choosing a whole background takes: the first whole one, and the best of three options.

    python benchmarks/whole.py [THEME]

Bars, on two cores: the first full result under 2 s, the best within 10 s. The demo's arm without its background; two
warm drawing processes, as the server has. Printed: wall time until the first is whole and until all is chosen, with
what each option was weighed at; the same serial with the processor time of this process; the survey of the same
arm is the baseline.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))


def main() -> None:
    from composer.compose.gaps import survey
    from composer.demo import bare_demo
    from composer.filler.ground import Wish
    from composer.filler.whole import Whole, compose_whole
    from composer.plan.over_joins import scene_with_neighbours
    from web.drawers import Drawers
    from web.pages.options import BEST_S, COUNT, ROUNDS, Clock

    plan, gallery = bare_demo()
    scene = scene_with_neighbours(plan, "left_arm", gallery)
    start = time.process_time()
    found = survey(scene, plan.settings.skin_break_mm)
    base = time.process_time() - start
    name = sys.argv[1] if len(sys.argv) > 1 else "storm"

    def run(themes: list[str], rounds: int, pool: Drawers | None, seconds: float) -> tuple[float, float, float,
                                                                                         list[Whole]]:
        wall, cpu, first = time.monotonic(), time.process_time(), [0.0]

        def told(whole: Whole) -> None:
            first[0] = time.monotonic() - wall

        out = compose_whole(scene, found, themes, plan.settings.hand, Wish(), 3, rounds, settings=plan.settings,
                            pool=pool, more=Clock(seconds).more, first=told)
        return first[0], time.monotonic() - wall, time.process_time() - cpu, out

    print(f"survey {base:.2f} s of one core; load average {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    first, _, cpu, out = run([name], 0, None, 1e9)
    print(f"serial: first whole after {first:.2f} s wall; {cpu:.2f} s of one core, {cpu / base:.1f} surveys")
    _, wall, cpu, _ = run([name] * COUNT, 1, None, 1e9)
    print(f"serial: {COUNT} options and one round {wall:.2f} s wall; {cpu:.2f} s of one core, {cpu / base:.1f} surveys")
    drawers = Drawers()
    list(drawers.map(abs, range(8)))
    first, wall, cpu, out = run([name] * COUNT, ROUNDS, drawers, BEST_S)
    drawers.shutdown()
    print(f"two warm processes: first whole after {first:.2f} s wall (bar 2 s), best after {wall:.2f} s wall "
          f"(bar 10 s); {cpu:.2f} s of this process; weighed at {', '.join(str(w.figures['total']) for w in out)}")


if __name__ == "__main__":
    main()
