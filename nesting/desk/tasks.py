"""Work that goes on in the background: one task of each kind at a time, with progress and a way to stop it."""

from __future__ import annotations

import itertools
import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Literal

from nesting.desk.events import Hub
from nesting.desk.worker import StoppedError
from vectorize.basics.errors import SheetwoodError, disk_refusal
from vectorize.basics.spoken import METRIC, Speech
from vectorize.basics.wording import told

State = Literal["running", "done", "failed", "stopped"]
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Task:
    """What the page is told of a piece of work."""

    number: int
    kind: str
    title: str
    state: State = "running"
    text: str = ""
    share: float | None = None

    def as_json(self) -> dict[str, Any]:
        """Return the task as the API gives it."""
        return {name: getattr(self, name) for name in ("number", "kind", "title", "state", "text", "share")}


Say = Callable[[str, float | None], None]


class Tasks:
    """The tasks of a desk, newest of each kind; what they say is said as the job speaks when they begin."""

    def __init__(self, hub: Hub, *, speech: Callable[[], Speech] = lambda: METRIC) -> None:
        self._hub = hub
        self._speech = speech
        self._tasks: dict[str, Task] = {}
        self._stops: dict[str, Callable[[], object]] = {}
        self._to_stop: set[int] = set()
        self._numbers = itertools.count(1)
        self._lock = threading.Lock()

    def start(self, kind: str, title: str, work: Callable[[Say], None], *, stop: Callable[[], object]) -> Task | None:
        """Begin `work` in a thread and return its task, or None if one of its kind is running.

        `stop` ends what is being done. Where it returns False, nothing was yet, and the work ends when it next says
        something.
        """
        with self._lock:
            running = self._tasks.get(kind)
            if running is not None and running.state == "running":
                return None
            task = Task(next(self._numbers), kind, title)
            self._tasks[kind] = task
            self._stops[kind] = stop
        self._hub.tell("task", task.as_json())
        threading.Thread(target=self._run, args=(task, work), name=f"desk-{kind}", daemon=True).start()
        return task

    def stop(self, kind: str) -> bool:
        """Ask the running task of `kind` to end; return whether there was one."""
        with self._lock:
            task, stop = self._tasks.get(kind), self._stops.get(kind)
        if task is None or stop is None or task.state != "running":
            return False
        if stop() is False:
            self._to_stop.add(task.number)
        return True

    def stop_all(self) -> None:
        """Ask every task to end."""
        for kind in tuple(self._tasks):
            self.stop(kind)

    def is_running(self, kind: str) -> bool:
        """Return whether a task of `kind` is running."""
        task = self.newest(kind)
        return task is not None and task.state == "running"

    def newest(self, kind: str) -> Task | None:
        """Return the newest task of `kind`, None where there was none."""
        return self._tasks.get(kind)

    def as_json(self) -> list[dict[str, Any]]:
        """Return the newest task of each kind."""
        with self._lock:
            return [task.as_json() for task in self._tasks.values()]

    def _run(self, task: Task, work: Callable[[Say], None]) -> None:
        kind, speech = task.kind, self._speech()

        def say(text: str, share: float | None = None) -> None:
            if task.number in self._to_stop:
                self._to_stop.remove(task.number)
                raise StoppedError("this work was stopped before it had begun.")
            self._change(kind, state="running", text=speech.said(text), share=share)

        try:
            work(say)
        except StoppedError:
            self._change(kind, state="stopped", text="stopped", share=None)
        except SheetwoodError as error:
            self._change(kind, state="failed", text=told(speech.said(str(error))), share=None)
        except OSError as error:
            self._change(kind, state="failed", text=told(speech.said(str(disk_refusal(error)))), share=None)
        except Exception:
            _log.exception("a task of the desk failed")
            self._change(kind, state="failed", text="This is a fault in Sheetwood; its details are in the terminal.")
        else:
            self._change(kind, state="done", text="done", share=1.0)

    def _change(self, kind: str, **changes: Any) -> None:  # noqa: ANN401 - fields of Task
        with self._lock:
            task = replace(self._tasks[kind], **changes)
            self._tasks[kind] = task
        self._hub.tell("task", task.as_json())
