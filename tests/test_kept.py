"""What is kept, against a plain list that is gone through from the end."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

from hypothesis import given
from hypothesis import strategies as st

from composer.kept import Kept


@given(st.lists(st.tuples(st.integers(0, 8), st.integers(0, 30)), max_size=60), st.integers(0, 60), st.integers(1, 4))
def test_last_used_stay_within_the_room_and_a_few_in_any_case(asked, room: int, least: int) -> None:
    kept: Kept[tuple[int, int]] = Kept(room, lambda v: v[1], least)
    plain: list[tuple[int, tuple[int, int]]] = []
    for key, weight in asked:
        was = dict(plain).get(key)
        value = kept.once(key, lambda key=key, weight=weight: (key, weight))
        assert value == (was or (key, weight))
        plain = [(k, v) for k, v in plain if k != key] + [(key, value)]
        while was is None and sum(v[1] for _, v in plain) > room and len(plain) > least:
            plain.pop(0)
        assert kept.weight == sum(v[1] for _, v in plain) and len(kept) == len(plain)
    for key, value in plain:
        assert kept.get(key) == value
    assert kept.get(99) is None
    kept.clear()
    assert kept.weight == 0 == len(kept) and all(kept.get(key) is None for key, _ in plain)


def test_two_that_make_at_once_share_the_first() -> None:
    kept: Kept[list[int]] = Kept(10, len)
    with ThreadPoolExecutor(8) as pool:
        made = list(pool.map(lambda n: kept.once("one", lambda: [n]), range(200)))
    assert len({id(v) for v in made}) == 1 and kept.weight == 1
