"""A command that was run before, on a job in which nothing changed, does none of its work again."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
TRACERS = ("cv2", "numba", "scipy", "skimage", "PIL")
"""What reads a scan, traces it or searches a layout; loading it takes longer than all else."""


@pytest.mark.parametrize("command", ["trace", "weigh"])
def test_outlines_and_scales_that_are_kept_load_nothing_that_traces(small_job, command):
    program = (
        "import json, sys\n"
        "from nesting.cli import main\n"
        f"sys.argv = ['sheetwood', {command!r}, {str(small_job.folder)!r}, '--json']\n"
        "try:\n    main()\n"
        "finally:\n"
        f"    print(json.dumps([name for name in {TRACERS!r} if name in sys.modules]), file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=False)
    assert json.loads(done.stdout), done.stderr
    assert json.loads(done.stderr.splitlines()[-1]) == []
