"""Settings of all tests."""

import os

from hypothesis import settings

# Nothing is asserted about time: a slow machine must not fail a property. On a server that checks a change
# the examples are the same every time; elsewhere they are fresh.
settings.register_profile("sheetwood", deadline=None, derandomize=bool(os.environ.get("CI")), print_blob=True)
settings.load_profile("sheetwood")
