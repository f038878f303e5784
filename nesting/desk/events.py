"""News for open pages, as server-sent events."""

from __future__ import annotations

import asyncio
import json
import threading
from collections.abc import AsyncIterator
from typing import Any

HEARTBEAT_S = 15.0
MOST_WAITING = 200
"""A page that reads no news for so long gets a fresh start by connecting again."""


class Hub:
    """Gives every piece of news to every page that listens; may be called from any thread."""

    def __init__(self) -> None:
        self._listeners: set[tuple[asyncio.AbstractEventLoop, asyncio.Queue[str | None]]] = set()
        self._lock = threading.Lock()
        self._is_closed = False

    def tell(self, kind: str, content: dict[str, Any]) -> None:
        """Send an event of `kind` with JSON content."""
        text = f"event: {kind}\ndata: {json.dumps(content, ensure_ascii=False)}\n\n"
        self._send(text)

    def close(self) -> None:
        """End every stream; those that begin later end with their greeting."""
        self._is_closed = True
        self._send(None)

    def _send(self, text: str | None) -> None:
        with self._lock:
            listeners = tuple(self._listeners)
        for loop, queue in listeners:
            if not loop.is_closed():
                loop.call_soon_threadsafe(_put, queue, text)

    async def stream(self, greeting: dict[str, Any]) -> AsyncIterator[str]:
        """Give the greeting, then all news until the page goes away."""
        listener = (asyncio.get_running_loop(), asyncio.Queue[str | None](MOST_WAITING))
        with self._lock:
            self._listeners.add(listener)
        try:
            yield f"event: hello\ndata: {json.dumps(greeting, ensure_ascii=False)}\n\n"
            while not self._is_closed and (text := await _next(listener[1])) is not None:
                yield text
        finally:
            with self._lock:
                self._listeners.discard(listener)


def _put(queue: asyncio.Queue[str | None], text: str | None) -> None:
    if queue.full():
        queue.get_nowait()
        text = None  # too slow: end the stream, the page connects again and asks for everything
    queue.put_nowait(text)


async def _next(queue: asyncio.Queue[str | None]) -> str | None:
    try:
        return await asyncio.wait_for(queue.get(), HEARTBEAT_S)
    except TimeoutError:
        return ": still here\n\n"
