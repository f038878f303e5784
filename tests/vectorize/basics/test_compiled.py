"""Kernels are kept on disk; where they cannot be, everything runs and says why it is slow."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]

LIGHT = """
import sys, nesting.place, nesting.place.layout_rules, nesting.place.layout, nesting.cli.nest_command
heavy = {"numba", "shapely", "scipy"} & set(sys.modules)
assert not heavy, heavy
"""

UNCACHED = """
import numba.core.caching as caching
caching.CacheImpl._locator_classes = []
from vectorize.basics.compiled import compiled, why_slow
assert why_slow() is None
@compiled
def twice(x):
    return x + x
assert twice(2.0) == 4.0
assert "NUMBA_CACHE_DIR" in why_slow()
"""


@pytest.mark.parametrize("script", [LIGHT, UNCACHED], ids=["light imports", "no folder for kernels"])
def test_in_a_process_of_its_own(script):
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=ROOT,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
