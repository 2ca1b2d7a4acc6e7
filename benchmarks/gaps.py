"""After one of 40 pieces moves: gaps and ties anew, against a plain full recompute.

Run by hand: `python benchmarks/gaps.py [moves]`. The baseline is written the plain way on a 1 mm raster
of the unrolled arm, all round: polygon fill, distance transform, peaks, watershed and contours of
scikit-image and SciPy, and a Voronoi graph of the outlines. It measures with one girth for the
whole arm and finds no necks, so it does less than the survey it is held against. Prints medians in
ms of wall and of processor time, the ratio in the same run, and whether every update equalled a
full survey. Bars: under 50 ms, equal, at least 5 times faster.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import networkx as nx
import numpy as np
from scipy.ndimage import distance_transform_edt
from scipy.spatial import Voronoi
from skimage.draw import polygon
from skimage.feature import peak_local_max
from skimage.measure import find_contours, regionprops
from skimage.segmentation import watershed

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "compose")]
from skin_cases import ARM, random_scene  # noqa: E402

from composer.compose.gaps import Survey, resurvey, survey  # noqa: E402
from composer.plan.scene import Scene, lay  # noqa: E402

GIRTH, PAD = 400, 60
"""Columns of a turn (1 mm where the arm is widest) and of what is repeated beyond the seam, which must
exceed the radius of the widest gap."""


def plain(scene: Scene) -> tuple[int, int]:
    """Gaps and links by raster and Voronoi graph from scratch; how many of each."""
    limb = scene.limb
    high, wide = int(limb.s_max), GIRTH + 2 * PAD
    free = np.ones((high, wide), bool)
    points, owner = [], []
    for n, laid in enumerate(scene.laid):
        for ring in laid.rings:
            x, y = ring[:, 0] * GIRTH, ring[:, 1]
            for k in (-1, 0, 1, 2):
                rr, cc = polygon(y, x + k * GIRTH + PAD, free.shape)
                free[rr, cc] = False
                near = (x + k * GIRTH > -PAD) & (x + k * GIRTH < GIRTH + PAD)
                points.append(np.column_stack([x + k * GIRTH, y])[near])
                owner.append(np.full(near.sum(), n))
    field = distance_transform_edt(np.pad(free, ((1, 1), (0, 0))))[1:-1]
    peaks = peak_local_max(field, min_distance=6, threshold_abs=5.0)
    marks = np.zeros(free.shape, int)
    marks[tuple(peaks.T)] = np.arange(1, len(peaks) + 1)
    labels = watershed(-field, marks, mask=free & (field > 2.0))
    gaps = 0
    for region in regionprops(labels, intensity_image=field):
        if 0 <= region.centroid[1] - PAD < GIRTH and region.intensity_max >= 5.0:
            find_contours(np.pad(region.image, 1).astype(float), 0.5)
            gaps += 1
    who, at = np.concatenate(owner), np.concatenate(points)
    ridges = Voronoi(at)
    a, b = who[ridges.ridge_points].T
    graph = nx.MultiGraph()
    length = np.hypot(*(at[ridges.ridge_points[:, 0]] - at[ridges.ridge_points[:, 1]]).T)
    for i in np.flatnonzero(a != b):
        pair = (int(a[i]), int(b[i]))
        if not graph.has_edge(*pair) or graph.edges[(*pair, 0)]["clearance"] > length[i]:
            graph.add_edge(*pair, key=0, clearance=float(length[i]))
    return gaps, graph.number_of_edges()


def timed(act: Callable[[], object]) -> tuple[float, float, object]:
    """Wall and processor time in ms, and what came of it."""
    wall, cpu = time.perf_counter(), time.process_time()
    out = act()
    return 1e3 * (time.perf_counter() - wall), 1e3 * (time.process_time() - cpu), out


def equal(a: Survey, b: Survey) -> bool:
    """Same gaps, outlines and ties, to the last bit."""
    rings = [[r for g in s.gaps for r in g.rings] for s in (a, b)]
    return a.gaps == b.gaps and a.ties == b.ties and all(map(np.array_equal, *rings))


def main(moves: int = 30) -> None:
    rng = np.random.default_rng(7)
    scene = random_scene(rng, 40, 30, 80)
    found = survey(scene)
    plain(scene)
    rows, same = [], True
    for _ in range(moves):
        i = int(rng.integers(len(scene.laid)))
        p = scene.laid[i].piece
        s_mm = float(np.clip(p.s_mm + rng.normal() * 12, 10, 480))
        there = replace(p, u=p.u + rng.normal() * 0.04, s_mm=s_mm, turn_deg=0.0)
        scene = replace(scene, laid=(*scene.laid[:i], lay(ARM, there, scene.laid[i].flat), *scene.laid[i + 1 :]))
        w1, c1, new = timed(lambda f=found, s=scene: resurvey(f, s))  # type: ignore[misc]
        w2, c2, full = timed(lambda s=scene: survey(s))  # type: ignore[misc]
        w3, c3, _ = timed(lambda s=scene: plain(s))  # type: ignore[misc]
        assert isinstance(new, Survey) and isinstance(full, Survey)
        same &= equal(new, full)
        rows.append((w1, c1, w2, c2, w3, c3))
        found = new
    m = [statistics.median(x) for x in zip(*rows, strict=True)]
    print(f"40 pieces, {len(found.gaps)} gaps, {len(found.ties)} ties; {moves} moves; "
          f"the plain way finds {plain(scene)[0]} basins")
    print(f"update          {m[0]:6.1f} ms wall  {m[1]:6.1f} ms processor   (bar: under 50 ms)")
    print(f"full survey     {m[2]:6.1f} ms wall  {m[3]:6.1f} ms processor")
    print(f"plain recompute {m[4]:6.1f} ms wall  {m[5]:6.1f} ms processor")
    print(f"ratio           {m[4] / m[0]:6.1f} wall     {m[5] / m[1]:6.1f} processor      (bar: 5 or more)")
    print(f"every update equal to a full survey: {'yes' if same else 'NO'}")
    graph = timed(lambda: found.graph)
    print(f"graph on demand {graph[0]:6.1f} ms wall  {graph[1]:6.1f} ms processor")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 30)
