"""Courses of tasks on workers: every task is done once, whatever becomes of a worker."""

import os
import signal
import time
from contextlib import nullcontext
from pathlib import Path

import pytest

from nesting.job.batch.courses import Patience, Task, run_here, run_on

pytestmark = pytest.mark.filterwarnings("ignore")  # the library warns of its own sockets when it closes


@pytest.fixture(scope="module")
def client():
    """Two workers in this process: quick to start, and all that is no death of a process can be seen with them."""
    from distributed import Client

    with Client(processes=False, n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50) as client:
        yield client


def course(told, name, work, *values, steps=1):
    """A course of equal tasks that writes down what became of each."""
    for number in range(steps):
        answer = yield Task(f"{name} {number}", work, values)
        told.append((name, number, answer.value, answer.fault, len(answer.lost)))
        if answer.fault:
            return


def run(client, courses, **patience):
    run_on(nullcontext(client), courses, patience=Patience(**patience), watch=lambda at_work: None)


def test_courses_go_on_side_by_side_and_each_in_its_own_order(client):
    told = []
    run(client, (course(told, str(k), pow, k, 2, steps=3) for k in range(5)))
    assert sorted(told) == [(str(k), n, k * k, None, 0) for k in range(5) for n in range(3)]
    for k in range(5):
        assert [n for name, n, *_ in told if name == str(k)] == [0, 1, 2]


def test_here_gives_the_same_without_a_worker():
    told = []
    run_here((course(told, str(k), pow, k, 2, steps=2) for k in range(3)), lambda at_work: None)
    assert told == [(str(k), n, k * k, None, 0) for k in range(3) for n in range(2)]


def fails_until(file, times):
    """Raise as a full machine does, so many times; count in a file."""
    with Path(file).open("a", encoding="utf-8") as tries:
        tries.write("x")
    if len(Path(file).read_text(encoding="utf-8")) <= times:
        raise MemoryError
    return "done"


def test_a_try_that_the_machine_spoilt_is_done_again_and_counted(client, tmp_path):
    told = []
    run(client, [course(told, "a", fails_until, str(tmp_path / "tries"), 2)], retries=2)
    assert told == [("a", 0, "done", None, 2)]


def test_after_the_last_try_a_task_is_given_up_and_the_others_go_on(client, tmp_path):
    told = []
    spoilt = course(told, "a", fails_until, str(tmp_path / "tries"), 99, steps=2)
    run(client, [spoilt, course(told, "b", pow, 2, 2)], retries=1)
    assert sorted(told) == [("a", 0, None, "its worker had not enough memory", 2), ("b", 0, 4, None, 0)]
    assert (tmp_path / "tries").read_text(encoding="utf-8") == "xx"


def test_no_more_tasks_are_given_out_than_there_are_threads(client):
    going, most = set(), []

    def counted(name):
        going.add(name)
        most.append(len(going))
        yield Task(name, time.sleep, (0.05,))
        going.remove(name)

    at_once = []
    run_on(
        nullcontext(client),
        (counted(str(k)) for k in range(8)),
        patience=Patience(),
        watch=lambda at_work: at_once.append(len(at_work)),
    )
    assert len(most) == 8
    assert not going
    assert max(most) <= 4  # two at work, one at hand, and one that has ended
    assert max(at_once) <= 2


def test_a_fault_of_a_course_ends_all_work(client):
    def faulty():
        yield Task("a", pow, (1, 1))
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run(client, [faulty(), *(course([], str(k), time.sleep, 0.01) for k in range(4))])


def test_where_nothing_is_to_be_done_no_worker_is_started():
    class Never:
        def __enter__(self):
            raise AssertionError

        def __exit__(self, *error):
            raise AssertionError

    run_on(Never(), [course([], "a", pow, steps=0)], patience=Patience(), watch=lambda at_work: None)


def die_once(file):
    """Take the worker's process along, the first time."""
    if not Path(file).exists():
        Path(file).write_bytes(b"")
        os._exit(1)
    return "done"


def take_memory(most_mb):
    """Take more and more memory, and keep it for long enough to be seen."""
    held = []
    while len(held) * 50 < most_mb:
        held.append(b"x" * 50_000_000)
        time.sleep(0.1)
    time.sleep(5)


@pytest.mark.slow
def test_a_worker_that_dies_or_hangs_costs_its_own_task_only(tmp_path):
    from nesting.place.cluster import LOCAL, open_cluster

    told = []
    with open_cluster(LOCAL, workers=2, memory_bytes=700_000_000) as client:
        assert set(client.run(signal.getsignal, signal.SIGINT).values()) == {signal.SIG_IGN}  # Ctrl-C is the caller's
        run(
            client,
            [
                course(told, "dies once", die_once, str(tmp_path / "died")),
                course(told, "kills", os._exit, 1),
                *(course(told, str(k), pow, k, 2, steps=2) for k in range(6)),
            ],
            retries=1,
        )
        run(client, [course(told, "is large", take_memory, 1200), course(told, "beside", pow, 5, 2)], retries=0)
        run(client, [course(told, "hangs", time.sleep, 600), course(told, "after", pow, 3, 2)], limit_s=1)
    found = {name: (value, fault, lost) for name, _, value, fault, lost in told}
    assert found["dies once"] == ("done", None, 1)
    assert found["kills"] == (None, "its worker died or ran out of memory", 2)
    assert found["is large"] == (None, "its worker died or ran out of memory", 1)
    assert found["beside"][:2] == (25, None)
    assert found["hangs"] == (None, "it took longer than 1 s", 0)
    assert found["after"][:2] == (9, None)
    assert sorted(row[:3] for row in told if row[0].isdigit()) == [(str(k), n, k * k) for k in range(6) for n in (0, 1)]
