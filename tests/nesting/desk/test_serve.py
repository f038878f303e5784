"""The server process: on the loopback only, and killed at any moment it leaves a whole job."""

import asyncio
import itertools
import socket
import threading
from contextlib import contextmanager

import httpx2
import pytest

from nesting.desk.history import read_history
from nesting.desk.serve import _listening
from nesting.job.folder import open_job
from tests.nesting.desk.browser import served
from tests.nesting.desk.jobs import make_job


@contextmanager
def _opened(address):
    client = httpx2.Client(base_url=address.split("/open")[0], follow_redirects=True, timeout=300)
    with client:
        assert client.get(address).status_code == 200
        yield client


def _rename(client, name):
    origin = {"origin": str(client.base_url).rstrip("/")}
    return client.post("/api/1/edit", json={"kind": "set", "at": ["job", "name"], "value": name}, headers=origin)


def test_an_answer_in_two_pieces_does_not_wait_for_an_acknowledgement():
    """RFC 896 holds the second piece back, RFC 1122 (4.2.3.2) lets the other side delay: TCP_NODELAY (4.2.3.4)."""
    found = []

    async def ask_once():
        server = await asyncio.start_server(lambda _, out: found.append(out), sock=_listening(0))
        _, ours = await asyncio.open_connection(*server.sockets[0].getsockname())
        while not found:
            await asyncio.sleep(0.01)
        option = found[0].get_extra_info("socket").getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)
        for one in (ours, *found):
            one.close()
            await one.wait_closed()
        server.close()
        await server.wait_closed()
        return option

    assert asyncio.run(ask_once()) != 0


def test_the_desk_listens_on_the_loopback_address_only(tmp_path):
    with served(make_job(tmp_path / "job")) as (_, address):
        port = int(address.split(":")[2].split("/")[0])
        with _opened(address) as client:
            assert client.get("/api/1/state").status_code == 200
        others = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}
        for other in others - {"127.0.0.1", "127.0.1.1"}:
            with pytest.raises(OSError):  # noqa: PT011 - refused or unreachable, by the machine's own words
                socket.create_connection((other, port), timeout=2).close()


def test_a_browser_that_comes_before_the_server_runs_waits_instead_of_being_refused(tmp_path):
    with served(tmp_path / "job") as (_, address):
        port = int(address.split(":")[2].split("/")[0])
        socket.create_connection(("127.0.0.1", port), timeout=300).close()


def test_a_server_killed_while_it_saves_loses_nothing_that_it_confirmed(tmp_path):
    folder = make_job(tmp_path / "job")
    confirmed = []
    for round_number in range(2):
        with served(folder) as (process, address), _opened(address) as client:

            def save(client=client, round_number=round_number):
                for number in itertools.count():
                    try:
                        if _rename(client, f"save {round_number} {number}").status_code == 200:
                            confirmed.append((round_number, number))
                    except httpx2.HTTPError:
                        return

            saving = threading.Thread(target=save)
            saving.start()
            while len([one for one in confirmed if one[0] == round_number]) < 5:
                saving.join(0.05)
            process.kill()
            saving.join()

        text = (folder / "job.toml").read_text(encoding="utf-8")
        _, kept_round, kept_number = open_job(folder).spec.job.name.split()
        assert "# Bench notes survive." in text
        assert (int(kept_round), int(kept_number)) >= confirmed[-1]
        assert read_history(folder).undoable is not None
        assert not [path for path in folder.iterdir() if path.suffix == ".tmp"]
