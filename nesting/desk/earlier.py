"""What was made of earlier states of a job, each under a word for the content of all files that it follows from.

Undo and redo go back to such a state: it is shown at once, and nothing of it is made anew.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from nesting.balance.weights import WeightTable
from nesting.job.laid import Laid

Kept = TypeVar("Kept")
MOST_STATES = 12
"""So many states are kept, the newest: a dozen steps back and forth."""


class Earlier(Generic[Kept]):
    """The newest few values, each under a word; any thread may ask."""

    def __init__(self, most: int = MOST_STATES) -> None:
        self._most = most
        self._kept: dict[str, Kept] = {}
        self._lock = threading.Lock()

    def of(self, word: str) -> Kept | None:
        """Return what was kept under a word, which makes it the newest; None where there is nothing."""
        with self._lock:
            found = self._kept.pop(word, None)
            if found is not None:
                self._kept[word] = found
            return found

    def keep(self, word: str, value: Kept) -> None:
        """Keep a value under a word, and forget the oldest."""
        with self._lock:
            self._kept.pop(word, None)
            self._kept[word] = value
            while len(self._kept) > self._most:
                self._kept.pop(next(iter(self._kept)))


@dataclass(frozen=True, slots=True)
class Shown:
    """What the page is shown of a state and does not follow from result files, with what the rest is made from."""

    view: dict[str, Any]
    laid: Laid | None
    is_current: bool
    weights: WeightTable | None
