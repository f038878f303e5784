"""The documentation hangs together: every link leads somewhere, every page is in the index."""

import ast
import re
from pathlib import Path
from typing import get_args

import pytest

from fixtures.draw_note_pictures import cases
from nesting.job.note_codes import NoteCode

ROOT = Path(__file__).parent.parent
DOCS = ROOT / "docs"
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted(DOCS.rglob("*.md"))]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_link_leads_to_a_file(page):
    targets = re.findall(r"\]\(([^)#\s]+)[^)]*\)", page.read_text(encoding="utf-8"))
    lost = [target for target in targets if "://" not in target and not (page.parent / target).exists()]
    assert lost == []


def test_every_page_is_in_the_index():
    index = (DOCS / "README.md").read_text(encoding="utf-8")
    pages = [page.relative_to(DOCS).as_posix() for page in DOCS.rglob("*.md") if page.name != "README.md"]
    assert [page for page in pages if f"({page})" not in index] == []


def test_the_walks_through_the_house_pass_functions_that_are_there():
    rows = re.findall(r"^\| `([\w/]+\.py)` \| `(\w+)` \|", (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"), re.M)
    assert len(rows) > 15
    defined = {path: (ROOT / path).read_text(encoding="utf-8") for path, _ in rows}
    assert [(path, name) for path, name in rows if f"def {name}(" not in defined[path]] == []


# Makers of notes and the place of the code among their arguments; those two hand on a code that they are given.
MAKERS = {"Note": 0, "fixed": 0, "to_check": 0}


def _codes_in(path):
    """Codes of all notes that a module makes, where they are written out."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        name = getattr(node.func, "id", getattr(node.func, "attr", None)) if isinstance(node, ast.Call) else None
        if name in MAKERS:
            given = [*node.args[:1], *(word.value for word in node.keywords if word.arg == "code")]
            values = [v for one in given for v in (one.body, one.orelse)] if isinstance(given[0], ast.IfExp) else given
            yield from (v.value for v in values if isinstance(v, ast.Constant))


def test_the_codes_of_all_notes_stand_in_one_list():
    codes = set(get_args(NoteCode))
    sources = [path for name in ("vectorize", "nesting") for path in (ROOT / name).rglob("*.py")]
    made = {code for path in sources for code in _codes_in(path)}
    assert sorted(made - codes) == []
    others = "".join(path.read_text(encoding="utf-8") for path in sources if path.stem != "note_codes")
    assert [code for code in codes if f'"{code}"' not in others] == []
    assert [code for code in codes if not re.fullmatch(r"[a-z]+(-[a-z]+)*", code)] == []


def test_every_code_of_a_note_has_its_way_out():
    page = (DOCS / "how-to" / "when-tracing-fails.md").read_text(encoding="utf-8")
    told = set(re.findall(r"`([a-z]+(?:[-_][a-z]+)*)`", "".join(_first_cells(page))))
    assert told == set(get_args(NoteCode))


def test_each_picture_of_a_note_is_drawn_shown_and_small():
    page = (DOCS / "how-to" / "when-tracing-fails.md").read_text(encoding="utf-8")
    drawn = {path.stem: path for path in (DOCS / "pictures" / "notes").iterdir()}
    assert set(drawn) == set(cases())
    for code, path in drawn.items():
        (row,) = [line for line in page.splitlines() if line.startswith(f"| `{code}`")]
        assert f"](../pictures/notes/{code}.png)" in row
        assert path.stat().st_size < 40_000


def _first_cells(page):
    return [line.split("|")[1] for line in page.splitlines() if line.startswith("| `")]
