"""How long work tells what it is doing: to whoever watches, or to nobody."""

from __future__ import annotations

from typing import Protocol


class Watcher(Protocol):
    """Told what begins now, and what share of the whole (0 to 1) is done where that is known."""

    def __call__(self, stage: str, share: float | None = None, /) -> None:
        """Take note of a stage. Called from the thread that does the work; it should be quick."""


def unwatched(stage: str, share: float | None = None, /) -> None:
    """Take a stage and do nothing with it."""


def portion(watch: Watcher, start: float, end: float) -> Watcher:
    """Return a watcher for a piece of the work, which goes from share `start` to share `end` of the whole."""

    def told(stage: str, share: float | None = None, /) -> None:
        watch(stage, None if share is None else start + (end - start) * share)

    return told
