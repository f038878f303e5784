"""Ctrl+C ends the desk at any moment: quickly, with exit code 0 and without a word about its insides."""

import contextlib
import os
import re
import signal
import subprocess
import sys
import threading
from pathlib import Path

import httpx2
import pytest

from tests.nesting.desk.jobs import make_job

LONG_S = 120


@pytest.fixture
def running(tmp_path):
    """Run the desk in a group of its own, as a terminal does, and give (process, opening address)."""
    folder = make_job(tmp_path / "job")
    process = subprocess.Popen(
        [sys.executable, "-m", "nesting", "desk", str(folder), "--no-browser"],
        stderr=subprocess.PIPE, text=True, encoding="utf-8", cwd=Path(__file__).parents[3], start_new_session=True,
    )  # fmt: skip
    yield process, re.search(r"http://\S+", process.stderr.readline())[0]
    if process.poll() is None:
        process.kill()
    process.wait()
    process.stderr.close()


def ctrl_c(process):
    """Press Ctrl+C and return (what the desk said then, its exit code)."""
    os.killpg(process.pid, signal.SIGINT)
    said = process.communicate(timeout=LONG_S)[1]
    return said.partition("as you go.\n")[2], process.returncode


@pytest.mark.skipif(sys.platform == "win32", reason="a group of processes is interrupted otherwise there")
@pytest.mark.parametrize("moment", ["while its workers start", "while a page listens and waits"])
def test_ctrl_c_ends_the_desk_without_a_traceback(running, moment):
    process, address = running
    with httpx2.Client(base_url=address.split("/open")[0], follow_redirects=True, timeout=LONG_S) as client:
        assert client.get(address).status_code == 200
        if moment == "while a page listens and waits":
            heard = threading.Event()
            threading.Thread(target=listen, args=(client, heard), daemon=True).start()
            assert heard.wait(LONG_S)
            threading.Thread(target=ask, args=(client, "/api/1/plans/0/regions"), daemon=True).start()
            threading.Thread(target=ask, args=(client, "/api/1/plans/0/snap?x=100&y=90"), daemon=True).start()

        assert ctrl_c(process) == ("", 0)


def listen(client, heard):
    try:
        with client.stream("GET", "/api/1/events") as answer:
            for _ in answer.iter_text():
                heard.set()
    except httpx2.HTTPError:
        pass


def ask(client, address):
    with contextlib.suppress(httpx2.HTTPError):
        client.get(address)
