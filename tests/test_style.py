"""The linter, the formatter and the strict type checker pass; light commands stay light."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
HEAVY = ("cv2", "numba", "scipy", "shapely", "skimage")


@pytest.mark.parametrize(
    "check",
    [
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        pytest.param(["mypy", "--no-incremental"], marks=pytest.mark.slow),
    ],
    ids=["ruff check", "ruff format", "mypy"],
)
def test_checker_passes(check):
    done = subprocess.run([sys.executable, "-m", *check], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(
    ("arguments", "exit_code"),
    [(["--help"], 0), (["--version"], 0), (["trace", "--help"], 0), (["trace"], 2), (["no-such-command"], 2)],
)
def test_help_version_and_usage_errors_load_no_heavy_library(arguments, exit_code):
    program = (
        "import sys\n"
        "from nesting.cli import main\n"
        f"sys.argv = ['sheetwood', *{arguments!r}]\n"
        "try:\n    main()\n"
        "except SystemExit as stop:\n"
        f"    heavy = [name for name in {HEAVY!r} if name in sys.modules]\n"
        "    print(stop.code, heavy, file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.stderr.splitlines()[-1] == f"{exit_code} []"


@pytest.mark.parametrize("module", ["nesting.job.stages", "nesting.desk.serve"])
def test_stages_and_desk_load_what_traces_and_searches_only_when_they_do(module):
    program = f"import sys, {module}; print([name for name in {HEAVY!r} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.stdout.splitlines() == ["['shapely']"], done.stderr


def test_top_level_holds_only_what_belongs_there():
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode != 0:
        pytest.skip("not a git checkout")
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    visible = {name for name in top if not name.startswith(".")}
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", "CHANGELOG.md"}
    assert visible <= allowed | {"nesting", "vectorize", "tests", "fixtures", "docs"}


def test_vectorize_never_imports_nesting():
    sources = (ROOT / "vectorize").rglob("*.py")
    guilty = [path.name for path in sources if "nesting" in path.read_text(encoding="utf-8").split()]
    assert guilty == []
