"""Settings of all tests."""

import os
import shutil
import sys

import pytest
from hypothesis import settings

# Nothing is asserted about time: a slow machine must not fail a property. On a server that checks a change
# the examples are the same every time; elsewhere they are fresh.
settings.register_profile("sheetwood", deadline=None, derandomize=bool(os.environ.get("CI")), print_blob=True)
settings.load_profile("sheetwood")

# Tests start some hundred processes of the program; each would compile all its modules anew where none is kept.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False


@pytest.fixture(scope="session")
def scratch():
    """A folder for jobs, in memory where the machine has such a place."""
    from tests.benchmarks.outcome import scratch_folder

    folder = scratch_folder()
    yield folder
    shutil.rmtree(folder)


@pytest.fixture(scope="session")
def templates(scratch):
    """Whole tiny jobs that have been worked on, by the format of their plan."""
    from tests.benchmarks.commands import Templates

    return Templates(scratch / "templates")
