"""Results that took work and stay true as long as what they were made from is the same; a few hundred are kept."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

Result = TypeVar("Result")
Key = TypeVar("Key", bound=Hashable)


class Kept(Generic[Key, Result]):
    """The last ``most`` results by their keys; two threads may make the same one twice, and that does no harm."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._found: OrderedDict[Key, Result] = OrderedDict()
        self._lock = Lock()

    def get(self, key: Key, make: Callable[[], Result]) -> Result:
        """What is kept for ``key``, or what ``make`` gives, which is kept from then on."""
        with self._lock:
            if key in self._found:
                self._found.move_to_end(key)
                return self._found[key]
        made = make()
        with self._lock:
            self._found[key] = made
            while len(self._found) > self._most:
                self._found.popitem(last=False)
        return made

    def forget(self) -> None:
        """Keep nothing of what was made so far."""
        with self._lock:
            self._found.clear()
