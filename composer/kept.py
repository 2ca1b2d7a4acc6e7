"""Results that are kept while there is room: least recently used go first, by weight and not by number."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

V = TypeVar("V")


class Kept(Generic[V]):
    """Values by key, safe between threads. The sum of what `weigh` says of them stays within `room`, but
    the `least` used last are kept whatever they weigh."""

    def __init__(self, room: float, weigh: Callable[[V], float], least: int = 1) -> None:
        self.room, self._weigh, self._least = room, weigh, least
        self._held: OrderedDict[Hashable, tuple[V, float]] = OrderedDict()
        self._weight, self._lock = 0.0, Lock()

    def get(self, key: Hashable) -> V | None:
        """The value kept under the key, or None."""
        with self._lock:
            found = self._held.get(key)
            if found is None:
                return None
            self._held.move_to_end(key)
            return found[0]

    def put(self, key: Hashable, value: V) -> V:
        """Keep a value; returns the one that is kept, which is the first where two were made at once."""
        weight = self._weigh(value)
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
                return self._held[key][0]
            self._held[key] = (value, weight)
            self._weight += weight
            while self._weight > self.room and len(self._held) > self._least:
                self._weight -= self._held.popitem(last=False)[1][1]
            return value

    def once(self, key: Hashable, make: Callable[[], V]) -> V:
        """The value kept under the key, made when it is not there (two at once may both make it)."""
        found = self.get(key)
        return self.put(key, make()) if found is None else found

    def clear(self) -> None:
        """Let go of everything."""
        with self._lock:
            self._held.clear()
            self._weight = 0.0

    @property
    def weight(self) -> float:
        """What is kept weighs so much together."""
        return self._weight

    def __len__(self) -> int:
        return len(self._held)
