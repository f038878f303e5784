"""A worker process that runs case after case within limits on time and memory."""

from __future__ import annotations

import contextlib
import faulthandler
import importlib
import math
import multiprocessing
import re
import resource
import signal
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from tests.benchmarks.outcome import ROOT, Failure, Outcome, crash

LIMIT_S = 60.0
HANG_S = 600.0
LIMIT_BYTES = 3 * 1024**3
_START_S = 1200.0
"""A worker loads every library first."""


class Supervisor:
    """One worker process that runs case after case, and is ended and replaced when a case takes too much.

    A case may take `limit_s` of the processor's time, so that a busy machine spoils no figure, and `hang_s` by the
    clock, which only what waits for ever does.

    `cases` names what is run as `module:class`. It is loaded and made in the worker, with the folder that is its own,
    so that this process stays light; making it is not part of any case.
    """

    def __init__(
        self,
        cases: str,
        scratch: Path,
        *,
        limit_s: float = LIMIT_S,
        hang_s: float = HANG_S,
        limit_bytes: int = LIMIT_BYTES,
    ) -> None:
        self._cases, self._scratch = cases, scratch
        self._limit_s, self._hang_s, self._limit_bytes = limit_s, hang_s, limit_bytes
        self._trace = scratch.with_name(f"{scratch.name}.trace")
        self._process: Any = None
        self._pipe: Connection | None = None

    def outcome(self, seed: int, number: int) -> Outcome:
        """Run one case and return what came of it, also where the process did not survive it."""
        pipe = self._started()
        began = time.monotonic()
        pipe.send(("run", seed, number))
        try:
            if pipe.poll(self._hang_s):
                return pipe.recv()
            kind = "time"
        except EOFError:
            self._process.join()
            kind = "time" if self._process.exitcode == -signal.SIGXCPU else "died"
        self.close()
        text = self._trace.read_text(encoding="utf-8", errors="replace")
        outcome = Outcome(number, "?", seconds=time.monotonic() - began)
        outcome.failures.append(Failure(kind, _innermost(text), text))
        return outcome

    def keep(self, out: Path, seed: int, number: int) -> None:
        """Have the job of a case written to `out` as it was before the command."""
        pipe = self._started()
        pipe.send(("keep", str(out), seed, number))
        pipe.recv()

    def close(self) -> None:
        """End the process."""
        if self._process is not None:
            self._process.kill()
            self._process.join()
        self._process = self._pipe = None

    def _started(self) -> Connection:
        if self._pipe is None:
            context = multiprocessing.get_context("spawn")
            self._pipe, theirs = context.Pipe()
            values = (theirs, self._cases, self._scratch, self._trace, self._limit_s, self._hang_s, self._limit_bytes)
            self._process = context.Process(target=_serve, args=values, daemon=True)
            self._process.start()
            theirs.close()
            if not self._pipe.poll(_START_S):
                raise TimeoutError("the worker did not start")
            self._pipe.recv()
        return self._pipe


def _serve(
    pipe: Connection, cases: str, scratch: Path, trace: Path, limit_s: float, hang_s: float, limit_bytes: int
) -> None:
    module, name = cases.split(":")
    made = getattr(importlib.import_module(module), name)(scratch)
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (limit_bytes, hard))
    pipe.send("ready")
    with contextlib.suppress(EOFError):
        while True:
            word, *values = pipe.recv()
            pipe.send(
                _watched(made, trace, limit_s, hang_s, *values)
                if word == "run"
                else made.keep(Path(values[0]), *values[1:])
            )


def _watched(
    made: Callable[[int, int], Outcome], trace: Path, limit_s: float, hang_s: float, seed: int, number: int
) -> Outcome:
    with trace.open("w", encoding="utf-8") as file:
        faulthandler.enable(file)
        faulthandler.dump_traceback_later(hang_s * 0.95, file=file)
        _, hard = resource.getrlimit(resource.RLIMIT_CPU)
        faulthandler.register(signal.SIGXCPU, file=file, chain=True)
        resource.setrlimit(resource.RLIMIT_CPU, (math.ceil(time.process_time() + limit_s), hard))
        try:
            return made(seed, number)
        except Exception as error:
            return Outcome(number, "?", failures=[crash(error)])
        finally:
            resource.setrlimit(resource.RLIMIT_CPU, (hard, hard))
            faulthandler.unregister(signal.SIGXCPU)
            faulthandler.cancel_dump_traceback_later()
            faulthandler.disable()


def _innermost(text: str) -> str:
    """Return the innermost line of ours in what faulthandler wrote (the latest call stands first)."""
    found = re.search(rf'File "{re.escape(str(ROOT))}/((?:nesting|vectorize)[^"]*)", line \d+ in (\w+)', text)
    return f"{found[1]}-{found[2]}" if found else "unknown"
