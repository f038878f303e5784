"""A desk without a network: the application itself, asked directly."""

import time
from dataclasses import dataclass

import pytest
from starlette.testclient import TestClient

from nesting.desk.guard import Keys
from nesting.desk.routes import application
from nesting.desk.workshop import Workshop
from tests.nesting.desk.jobs import make_job
from tests.nesting.desk.seeing import as_seen

PORT = 4321
HOST = f"127.0.0.1:{PORT}"
ORIGIN = {"origin": f"http://{HOST}"}


@dataclass
class Desk:
    """A job, its workshop, and a browser that opened the one-time address."""

    workshop: Workshop
    keys: Keys
    app: object
    client: TestClient

    @property
    def folder(self):
        return self.workshop.folder

    def get(self, path):
        return self.client.get(f"/api/1/{path}")

    def post(self, path, content=None):
        if path == "edit" and "seen" in (state := self.state()):
            content = as_seen(state, content, self.folder)
        return self.client.post(f"/api/1/{path}", json=content or {}, headers=ORIGIN)

    def edit(self, **edit):
        return self.post("edit", edit)

    def state(self):
        return self.get("state").json()

    def stranger(self):
        """Return a browser that never opened the address."""
        return TestClient(self.app, base_url=f"http://{HOST}", raise_server_exceptions=False)


def open_desk(folder):
    workshop = Workshop(folder)
    keys = Keys(PORT)
    app = application(workshop, keys)
    client = TestClient(app, base_url=f"http://{HOST}", raise_server_exceptions=False)
    assert client.get(f"/open?token={keys.token}").status_code == 200
    return Desk(workshop, keys, app, client)


@pytest.fixture
def desk(tmp_path):
    opened = open_desk(make_job(tmp_path / "job"))
    yield opened
    opened.workshop.close()


def finished(workshop, kind, *, seconds=300.0):
    """Wait until the task of `kind` is no longer running, and return it."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        task = next((task for task in workshop.tasks.as_json() if task["kind"] == kind), None)
        if task is not None and task["state"] != "running":
            return task
        time.sleep(0.05)
    raise AssertionError(f"{kind} did not end")


@pytest.fixture(scope="session")
def followed(tmp_path_factory):
    """Return a desk whose job has been traced and weighed; tests that share it leave it as it was."""
    opened = open_desk(make_job(tmp_path_factory.mktemp("followed") / "job"))
    opened.workshop.follow()
    assert finished(opened.workshop, "follow")["state"] == "done"
    yield opened
    opened.workshop.close()
