"""Pictures by content hash: stored once, read back as they were, let go when nothing is made of them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from sqlalchemy import func, select, update

from composer.art.errors import ArtError
from composer.art.raster_read import Packed, Picture, pack, unpacked
from composer.art.svg_read import finish_art
from composer.store.motifs import title_of
from composer.store.store import Store
from composer.store.tables import pictures


@pytest.fixture
def store(tmp_path: Path):
    made = Store(tmp_path)
    yield made
    made.close()


def picture(seed: int = 1, alpha: bool = False) -> Packed:
    return pack(pixels(seed, alpha))


def pixels(seed: int = 1, alpha: bool = False) -> Picture:
    rng = np.random.default_rng(seed)
    rgb = rng.integers(0, 255, (40, 60, 3)).astype(np.uint8)
    return Picture(rgb, rgb[..., 0].copy() if alpha else None, 300.0, "PNG", ("The file holds 3 frames.",))


@pytest.mark.parametrize("alpha", [False, True])
def test_kept_once_and_read_back(store: Store, alpha: bool) -> None:
    own = pixels(alpha=alpha)
    kept = store.pictures.keep(pack(own), "pier.png")
    assert store.pictures.keep(pack(own), "pier again.png").digest == kept.digest
    with store.engine.connect() as c:
        assert c.execute(select(func.count()).select_from(pictures)).scalar_one() == 1
    again = unpacked(store.pictures.packed(kept.digest))
    assert np.array_equal(again.rgb, own.rgb) and again.dpi == 300 and again.notes == own.notes and again.kind == "PNG"
    assert (again.alpha is None) is not alpha
    assert store.pictures.about(kept.digest).name == "pier again.png"
    with pytest.raises(ArtError, match="bring it in again"):
        store.pictures.packed("0" * 64)


def test_let_go_when_nothing_was_made_of_it(store: Store) -> None:
    from shapely.geometry import box

    used, unused = (store.pictures.keep(picture(s), "a").digest for s in (1, 2))
    art = finish_art(box(0, 0, 50, 50), {}, 1.0, [])
    motif = store.add_drawn(art, "Pier", {"picture": used})
    assert motif.side["title"] == "Pier" and store.motif(motif.id).side["picture"] == used
    with store.engine.begin() as c:
        c.execute(update(pictures).values(added=1.0))
    store.pictures.keep(picture(3), "b")
    assert store.pictures.about(used).digest == used
    with pytest.raises(ArtError):
        store.pictures.about(unused)


def test_titles() -> None:
    assert title_of("C:\\scans\\North_pier 3.HEIC") == "North pier 3" and title_of(".png") == "Own drawing"
