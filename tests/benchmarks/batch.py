"""Many jobs on a local cluster: against a plain loop, with workers killed on the way, and its memory as jobs go by.

python -m tests.benchmarks.batch --jobs 24 --workers 2 4
python -m tests.benchmarks.batch --jobs 24 --workers 2 --kill-every 6 --rounds 10

Small drawn jobs are taken from the scan to the patterns. The plain loop is one process on one core. Seconds depend on
what else the machine does; the ratios of one run are what is to be compared. Every way begins with a few jobs that are
not counted, so that kernels are loaded.
"""

from __future__ import annotations

import argparse
import os
import pickle
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psutil

from nesting.job.batch.courses import Course, Patience, Task, run_on
from nesting.job.batch.job_bytes import job_files
from nesting.job.batch.job_list import list_orders
from nesting.job.batch.run_batch import run_batch
from nesting.job.batch.stage_task import Load, run_stage
from nesting.job.batch.wish import Wish
from nesting.job.files import digest
from nesting.job.folder import open_job
from nesting.place.cluster import LOCAL, open_cluster
from tests.benchmarks.tiny_jobs import make_tiny_job

WISH = Wish(sweeps=20, time_s=None)
WARM = 2
"""Jobs for each worker before anything is counted."""
_NOTHING = 400


def shelf_of(folder: Path, count: int) -> Path:
    """Make a shelf of small jobs, each of its own name."""
    make_tiny_job(folder / "0000", "png", is_rich=False)
    for number in range(1, count):
        shutil.copytree(folder / "0000", folder / f"{number:04}")
    return folder


def results(shelf: Path) -> dict[str, str]:
    """Return the hash of every outline, layout and pattern of a shelf but PDFs, which carry no other figures."""
    found = [*shelf.glob("*/outlines/*.json"), *shelf.glob("*/out/layout.json"), *shelf.glob("*/out/*.svg")]
    return {path.relative_to(shelf).as_posix(): digest(path.read_bytes()) for path in found}


@dataclass(frozen=True)
class Spent:
    """Seconds that passed, and those of the processor."""

    wall_s: float
    cpu_s: float


def loop(shelf: Path, warm: Path) -> Spent:
    """Return what a plain loop over a shelf takes, on one core, in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.batch", "--loop", str(warm), str(shelf)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    return Spent(*map(float, done.stdout.split()))


def looped(warm: Path, shelf: Path) -> Spent:
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})
    run_batch(list_orders(warm), WISH)
    return timed(shelf, None)


def cpu_s(client: Any) -> float:
    """Return the seconds of the processor of this process and all workers."""
    return time.process_time() + (sum(client.run(time.process_time).values()) if client is not None else 0.0)


def timed(shelf: Path, client: Any) -> Spent:
    began, cpu = time.monotonic(), cpu_s(client)
    jobs = run_batch(list_orders(shelf), WISH, cluster=None if client is None else nullcontext(client))
    spent = Spent(time.monotonic() - began, cpu_s(client) - cpu)
    assert all(job.state == "done" for job in jobs), [job.as_json() for job in jobs if job.state != "done"]
    return spent


@contextmanager
def killing(client: Any, every_s: float) -> Iterator[list[int]]:
    """Kill one worker of a cluster after the other, chosen by chance."""
    killed: list[int] = []
    stop, chance = threading.Event(), random.Random(1)

    def kill() -> None:
        while not stop.wait(every_s):
            with suppress(Exception):
                pids = sorted(client.run(os.getpid).values())
                os.kill(chance.choice(pids), signal.SIGKILL)
                killed.append(1)

    killer = threading.Thread(target=kill, daemon=True)
    killer.start()
    yield killed
    stop.set()
    killer.join()


def memory_mb(client: Any) -> tuple[float, float]:
    """Return what this process and the largest worker hold."""
    pids = client.run(os.getpid).values()
    return psutil.Process().memory_info().rss / 1e6, max(psutil.Process(pid).memory_info().rss for pid in pids) / 1e6


def per_task_ms(client: Any) -> float:
    """Return what a task that does nothing takes of the way there and back."""

    def nothing(number: int) -> Course:
        yield Task(f"nothing {number}", abs, (number,))

    began = time.monotonic()
    run_on(nullcontext(client), map(nothing, range(_NOTHING)), patience=Patience(), watch=lambda at_work: None)
    return 1000 * (time.monotonic() - began) / _NOTHING


def bytes_moved(job: Path, warm: Path) -> tuple[float, float]:
    """Return the kB that go to workers and come back for all stages of a job without results."""
    out = back = 0
    folder = shutil.copytree(job, warm.with_name("moved"))
    for stage in WISH.stages:
        load = Load(str(folder), folder.name, job_files(open_job(folder)))
        outcome = run_stage(stage, load, WISH)
        out += len(pickle.dumps(load))
        back += len(pickle.dumps(outcome))
        for name, data in outcome.files.items():
            (folder / name).parent.mkdir(exist_ok=True, parents=True)
            (folder / name).write_bytes(data)
    return out / 1e3, back / 1e3


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--jobs", type=int, default=24)
    parser.add_argument("--workers", type=int, nargs="+", default=[2, 4])
    parser.add_argument("--times", type=int, default=2, help="how often cluster and loop take turns")
    parser.add_argument("--kill-every", type=float, default=0.0, help="seconds from one killed worker to the next")
    parser.add_argument("--rounds", type=int, default=0, help="how often all jobs are done again, for memory")
    parser.add_argument("--loop", nargs=2, type=Path, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.loop:
        spent = looped(*asked.loop)
        print(spent.wall_s, spent.cpu_s)
        return
    with tempfile.TemporaryDirectory() as scratch:
        measure(asked, Path(scratch))


def measure(asked: argparse.Namespace, scratch: Path) -> None:
    fresh = shelf_of(scratch / "fresh", asked.jobs)
    numbers = iter(range(1000))

    def copy(count: int = asked.jobs) -> Path:
        shelf = scratch / f"shelf{next(numbers)}"
        for folder in sorted(fresh.iterdir())[:count]:
            shutil.copytree(folder, shelf / folder.name)
        return shelf

    shelf = copy()
    plain = loop(shelf, copy(WARM))
    true = results(shelf)
    print(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores, {asked.jobs} jobs of {len(WISH.stages)} stages")
    print(f"plain loop: {plain.wall_s:.1f} s, {asked.jobs / plain.wall_s:.2f} jobs/s, {plain.cpu_s:.1f} s of processor")
    print(
        "bytes of a job: {:.0f} kB to workers, {:.0f} kB back".format(*bytes_moved(fresh / "0000", copy(1))), flush=True
    )
    for workers in asked.workers:
        with open_cluster(LOCAL, workers=workers) as client:
            timed(copy(min(asked.jobs, WARM * workers)), client)
            spent = [compared(client, workers, copy(), copy(), copy(WARM), true) for _ in range(asked.times)]
            print(f"{per_task_ms(client):.1f} ms for a task that does nothing", flush=True)
            if asked.kill_every:
                killed_on(client, copy(), true, asked.kill_every, min(one.wall_s for one in spent))
            if asked.rounds:
                steady(client, copy(), asked.rounds)


def compared(client: Any, workers: int, ours: Path, theirs: Path, warm: Path, true: dict[str, str]) -> Spent:
    spent = timed(ours, client)
    plain = loop(theirs, warm)
    print(f"{workers} workers: {spent.wall_s:.1f} s, plain loop {plain.wall_s:.1f} s: "
          f"{plain.wall_s / spent.wall_s:.2f} times as many jobs; of the processor {spent.cpu_s:.1f} and "
          f"{plain.cpu_s:.1f} s: {plain.cpu_s / spent.cpu_s:.2f} of it is work on jobs; "
          f"{same(ours, true)}", flush=True)  # fmt: skip
    return spent


def same(shelf: Path, true: dict[str, str]) -> str:
    return "the same results" if results(shelf) == true else "OTHER RESULTS"


def killed_on(client: Any, shelf: Path, true: dict[str, str], every_s: float, unkilled_s: float) -> None:
    began = time.monotonic()
    with killing(client, every_s) as killed:
        jobs = run_batch(list_orders(shelf), WISH, cluster=nullcontext(client), patience=Patience(retries=20))
    lost = sum(note.code == "worker-lost" for job in jobs for note in job.notes)
    stages = sum(stage.state == "done" for job in jobs for stage in job.stages.values())
    print(f"a worker killed every {every_s:g} s: {len(killed)} killed, {lost} tries lost, {stages} of "
          f"{len(jobs) * len(WISH.stages)} stages done once each, {same(shelf, true)}; "
          f"{time.monotonic() - began:.1f} s against {unkilled_s:.1f} s", flush=True)  # fmt: skip


def steady(client: Any, shelf: Path, rounds: int) -> None:
    done = 0
    for number in range(rounds):
        jobs = run_batch(list_orders(shelf), Wish(sweeps=20, time_s=None, is_forced=True), cluster=nullcontext(client))
        done += len(jobs)
        if number in (0, rounds // 2, rounds - 1):
            print("after {} jobs: {:.0f} MB here, {:.0f} MB in the largest worker".format(done, *memory_mb(client)))


if __name__ == "__main__":
    main()
