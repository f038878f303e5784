"""The page's scripts are formatted, typed, linted and tested; their types are those of the server's answers."""

import shutil
import subprocess
from pathlib import Path

import pytest

from tests.nesting.desk.page_types import ROOT, TARGET, declared_types

CHECKS = Path(__file__).parent / "static"
TOOLS = CHECKS / "node_modules" / ".bin"
PAGE = ROOT / "nesting" / "desk" / "static"


@pytest.fixture(scope="module")
def node():
    if shutil.which("node") is None:
        pytest.skip("node is missing; install it with npm to check the page's scripts")
    if not TOOLS.is_dir():
        pytest.skip(f"the tools are missing: run `npm --prefix {CHECKS.relative_to(ROOT)} ci`")


@pytest.mark.parametrize(
    "check",
    [
        [TOOLS / "prettier", "--config", CHECKS / "prettier.config.js", "--check", PAGE, CHECKS, "!**/*.min.js"],
        [TOOLS / "tsc", "--project", CHECKS],
        [TOOLS / "eslint", "--config", CHECKS / "eslint.config.js", "--max-warnings", "0", PAGE, CHECKS],
        ["node", "--test", *sorted(CHECKS.glob("*.test.js"))],
    ],
    ids=["prettier", "tsc", "eslint", "node --test"],
)
def test_page_scripts_pass(check, node):
    done = subprocess.run(list(map(str, check)), cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_types_of_the_answers_are_current():
    assert TARGET.read_text(encoding="utf-8") == declared_types(), "run python -m tests.nesting.desk.page_types"


def test_page_needs_nothing_but_itself():
    fetched = ('from "http', 'import("http', 'src="http', 'href="http', "url(http")
    files = [path for path in PAGE.iterdir() if path.suffix in (".js", ".html", ".css")]
    assert len(files) > 40
    guilty = [path.name for path in files for word in fetched if word in path.read_text(encoding="utf-8")]
    assert guilty == []


def test_lock_file_names_no_host_to_install_from():
    text = (CHECKS / "package-lock.json").read_text(encoding="utf-8")
    assert '"resolved"' not in text
    assert '"integrity"' in text
