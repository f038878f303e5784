"""Long work in a process of its own, so that the page stays quick and its memory comes back afterwards.

A worker keeps what it loaded (libraries, an open scan) for the next piece of work. Stopping one ends its
process: everything that stages write is written whole or not at all, so nothing is lost.
"""

from __future__ import annotations

import multiprocessing
import signal
import sys
import threading
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import resource_tracker
from multiprocessing.connection import Connection
from typing import Any, Protocol

from vectorize.basics.errors import NothingFoundError, SheetwoodError


class Report(Protocol):
    """What a piece of work may say while it runs."""

    def say(self, text: str, share: float | None = None) -> None:
        """Tell what is going on, and how much of it is done (0 to 1) where that is known."""

    def give(self, partial: object) -> None:
        """Hand over the best result so far."""


Labour = Callable[..., Any]
"""A function at module level that takes a Report and values that can be pickled."""


class StoppedError(NothingFoundError):
    """The work was stopped on request."""


class LabourError(Exception):
    """A bug in the work; its traceback went to the terminal."""


@dataclass(frozen=True, slots=True)
class _PipeReport:
    pipe: Connection

    def say(self, text: str, share: float | None = None) -> None:
        self.pipe.send(("say", (text, share)))

    def give(self, partial: object) -> None:
        self.pipe.send(("give", partial))


def _serve(pipe: Connection) -> None:
    """Do one piece of work after the other until the other end closes."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    report = _PipeReport(pipe)
    while True:
        try:
            labour, values = pipe.recv()
        except EOFError:
            return
        try:
            pipe.send(_answer(labour, report, values))
        except OSError:
            return  # nobody listens any more


def _answer(labour: Labour, report: Report, values: tuple[object, ...]) -> tuple[str, object]:
    try:
        return "done", labour(report, *values)
    except BrokenPipeError:
        raise
    except SheetwoodError as error:
        return "failed", error
    except Exception as error:
        traceback.print_exc(file=sys.stderr)
        return "broken", type(error).__name__


@contextmanager
def _deaf_to_ctrl_c() -> Iterator[None]:
    """Let a process that is started meanwhile never hear Ctrl+C, which a terminal sends to it as well.

    It ends with the desk. Until `_serve` runs, it would tell of an interrupted import instead.
    """
    if sys.platform == "win32":
        yield
        return
    # Started with the first process, and it sets the mask of this thread for itself.
    resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class Worker:
    """One process that does one piece of work at a time; it starts when first needed."""

    def __init__(self) -> None:
        self._context = multiprocessing.get_context("spawn")
        self._process: Any = None
        self._pipe: Connection | None = None
        self._busy = threading.Lock()
        self._is_closed = False

    def run(
        self,
        labour: Labour,
        *values: object,
        on_say: Callable[[str, float | None], None] = lambda text, share: None,
        on_give: Callable[[object], None] = lambda partial: None,
    ) -> Any:  # noqa: ANN401 - whatever the labour returns
        """Do `labour(report, *values)` in the process and return its result; waits while it is busy.

        Raises:
            SheetwoodError: As the labour raised it.
            StoppedError: `stop` was called, or the process was ended from outside.
            LabourError: The labour has a bug.
        """
        with self._busy:
            if self._is_closed:
                raise StoppedError("the desk is being closed.")
            pipe = self._started()
            try:
                pipe.send((labour, values))
                while True:
                    kind, content = pipe.recv()
                    if kind == "say":
                        on_say(*content)
                    elif kind == "give":
                        on_give(content)
                    else:
                        break
            except (EOFError, OSError) as error:
                self._end()
                raise StoppedError("this work was stopped; what it had written is whole.") from error
            except BaseException:
                # What was given could not be taken. The rest of it must not be heard by the next piece of work.
                self._end()
                raise
        if kind == "failed":
            raise content
        if kind == "broken":
            raise LabourError(content)
        return content

    def stop(self) -> bool:
        """End what is being done now, if anything, and the process with it; return whether anything was."""
        process = self._process
        if process is None or not process.is_alive():
            return False
        is_busy = self._busy.locked()
        process.kill()
        return is_busy

    def close(self) -> None:
        """End what is being done, and do nothing more."""
        self._is_closed = True
        self.stop()

    def _started(self) -> Connection:
        if self._pipe is None or self._process is None or not self._process.is_alive():
            self._end()
            ours, theirs = self._context.Pipe()
            self._process = self._context.Process(target=_serve, args=(theirs,), daemon=True)
            with _deaf_to_ctrl_c():
                self._process.start()
            theirs.close()
            self._pipe = ours
        return self._pipe

    def _end(self) -> None:
        if self._pipe is not None:
            self._pipe.close()
        if self._process is not None:
            self._process.kill()
            self._process.join(timeout=5)
        self._pipe = self._process = None
