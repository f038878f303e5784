"""Work in courses, of which each asks for one task after the other, done by many workers at a time.

A course is a generator: it yields a task and is sent what became of it. So a job is written where it is read as one
plain function, and the workers get whichever task is ready. No more tasks are given out than there are threads: what
waits holds no memory here or at the scheduler, and a worker that dies takes one task with it.
"""

from __future__ import annotations

import itertools
import queue
import time
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping
from contextlib import AbstractContextManager, suppress
from dataclasses import dataclass, field
from typing import Any, TypeAlias

from vectorize.basics.wording import clipped, printable

_LOOK_S = 0.5
"""How often workers and limits are looked at while nothing ends."""
_RESTART_S = 30
_ALONE_S = 600.0
"""So long a batch waits for a cluster that has lost all its workers."""


@dataclass(frozen=True, slots=True)
class Task:
    """Something for a worker: what it is called, and a function of values, all of which travel as bytes."""

    name: str
    work: Callable[..., Any]
    values: tuple[Any, ...] = ()


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of a task: its value, or why there is none; `lost` says what went wrong with earlier tries."""

    value: Any = None
    fault: str | None = None
    lost: tuple[str, ...] = ()


Course: TypeAlias = Generator[Task, Answer, None]


@dataclass(slots=True)
class _Flight:
    course: Course
    task: Task
    since: float = 0.0
    lost: tuple[str, ...] = ()
    future: Any = None


@dataclass(frozen=True, slots=True)
class Patience:
    """How often a task whose worker died is tried again, and how many seconds one may take; None without a limit."""

    retries: int = 2
    limit_s: float | None = None


Watch: TypeAlias = Callable[[Mapping[str, str]], None]
"""Told now and then which task each worker is at, both by name."""


def run_here(courses: Iterable[Course], watch: Watch) -> None:
    """Run courses one after the other in this process."""
    for course in courses:
        answer: Answer | None = None
        while (task := _next(course, answer)) is not None:
            watch({"here": task.name})
            try:
                answer = Answer(task.work(*task.values))
            except (MemoryError, OSError) as error:
                answer = Answer(fault=_in_words(error))


def run_on(
    cluster: AbstractContextManager[Any], courses: Iterable[Course], *, patience: Patience, watch: Watch
) -> None:
    """Run courses on the workers of a cluster until all of them have come to their end.

    `cluster` gives the client; it is not entered where no course has anything to be done.

    A task whose worker dies, or whose machine has no room for it, is tried again `patience.retries` times. One that
    takes longer than the limit is given up, and its worker is started anew. What is left when all workers are gone for
    long is given up. An exception of a course itself, or Ctrl-C, ends all work.
    """
    every = iter(courses)
    begun = next(((course, task) for course in every if (task := _next(course, None)) is not None), None)
    if begun is None:
        return
    with cluster as client:
        bench = _Bench(client, every, patience, watch, ready=deque([_Flight(*begun)]))
        try:
            bench.run()
        finally:
            bench.cancel()


@dataclass(slots=True)
class _Bench:
    client: Any
    courses: Iterator[Course]
    patience: Patience
    watch: Watch
    flights: dict[str, _Flight] = field(default_factory=dict)
    ready: deque[_Flight] = field(default_factory=deque)
    ended: queue.SimpleQueue[str] = field(default_factory=queue.SimpleQueue)
    number: Iterator[int] = field(default_factory=itertools.count)
    threads: int = 1
    seen: float = field(default_factory=time.monotonic)
    looked: float = 0.0
    is_lost: bool = False

    def run(self) -> None:
        self._look()
        while self._fill() or self.flights:
            for key in self._wait():
                self._settle(key)
            self._look()

    def _fill(self) -> bool:
        """Give out what there is room for, and have one more task at hand for the worker that ends first."""
        while True:
            if not self.ready and (course := next(self.courses, None)) is not None:
                self._go_on(course, None)
            elif self.ready and self.is_lost:
                self._give_up(self.ready.popleft(), "the cluster is gone")
            elif self.ready and len(self.flights) < self.threads:
                self._launch(self.ready.popleft())
            else:
                return bool(self.ready)

    def _go_on(self, course: Course, answer: Answer | None) -> None:
        task = _next(course, answer)
        if task is not None:
            # Before jobs that have not begun, so that jobs end and their bytes go.
            self.ready.appendleft(_Flight(course, task))

    def _launch(self, flight: _Flight) -> None:
        flight.since = time.monotonic()
        task = flight.task
        key = f"{task.name}-{next(self.number)}"
        flight.future = self.client.submit(task.work, *task.values, key=key, pure=False)
        self.flights[key] = flight
        flight.future.add_done_callback(lambda _: self.ended.put(key))

    def _wait(self) -> list[str]:
        try:
            ended = [self.ended.get(timeout=_LOOK_S)]
        except queue.Empty:
            return []
        with suppress(queue.Empty):
            while True:
                ended.append(self.ended.get_nowait())
        return ended

    def _settle(self, key: str) -> None:
        flight = self.flights.pop(key, None)
        if flight is None:
            return  # given up before
        try:
            answer = Answer(flight.future.result(), lost=flight.lost)
        except Exception as error:  # whatever a worker or the way to it may raise
            lost = (*flight.lost, _in_words(error))
            # Its worker may be gone: none is given a second task, to go with the first, before that is known.
            self.threads, self.looked = 0, 0.0
            if len(lost) <= self.patience.retries and not self.is_lost:
                flight.lost = lost
                self.ready.append(flight)
                return
            answer = Answer(fault=lost[-1], lost=lost)
        finally:
            flight.future.release()
        if self.ready and len(self.flights) < self.threads:
            self._launch(self.ready.popleft())  # so that the worker need not wait while results are written
        self._go_on(flight.course, answer)

    def _give_up(self, flight: _Flight, why: str) -> None:
        self._go_on(flight.course, Answer(fault=why, lost=flight.lost))

    def _look(self) -> None:
        """See who is there and who is at what, and end what takes too long."""
        now = time.monotonic()
        if now - self.looked < _LOOK_S:
            return
        self.looked = now
        try:
            self.threads = sum(self.client.nthreads().values())
            at_work = self.client.processing()
        except Exception:  # the way to the scheduler is gone
            self.threads, at_work = 0, {}
        self.seen = now if self.threads else self.seen
        if now - self.seen > _ALONE_S or self.client.status == "closed":
            self._lose_all()
            return
        names = {key: flight.task.name for key, flight in self.flights.items()}
        self.watch({worker: names[key] for worker, keys in at_work.items() for key in keys if key in names})
        for key, flight in list(self.flights.items()):
            if self.patience.limit_s is not None and now - flight.since > self.patience.limit_s:
                self._stop(key, at_work)

    def _stop(self, key: str, at_work: Mapping[str, Iterable[str]]) -> None:
        flight = self.flights.pop(key)
        workers = [worker for worker, keys in at_work.items() if key in keys]
        flight.future.cancel()
        with suppress(Exception):  # workers that nobody watches over cannot be started anew
            self.client.restart_workers(workers, timeout=_RESTART_S, raise_for_error=False)
        self._give_up(flight, f"it took longer than {self.patience.limit_s:g} s")

    def _lose_all(self) -> None:
        self.is_lost = True
        for key in list(self.flights):
            self._give_up(self.flights.pop(key), "the cluster is gone")

    def cancel(self) -> None:
        """Have workers stop what is still asked of them."""
        with suppress(Exception):
            self.client.cancel([flight.future for flight in self.flights.values()])


def _next(course: Course, answer: Answer | None) -> Task | None:
    try:
        return next(course) if answer is None else course.send(answer)
    except StopIteration:
        return None


def _in_words(error: BaseException) -> str:
    """Return why there is no result, for people."""
    match type(error).__name__:
        case "KilledWorker":
            return "its worker died or ran out of memory"
        case "CancelledError" | "FutureCancelledError":
            return "the cluster dropped it"
        case "MemoryError":
            return "its worker had not enough memory"
        case kind:
            lines = str(error).splitlines()
            return clipped(printable(f"{kind}: {lines[0] if lines else ''}"), 160)
