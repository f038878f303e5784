"""The documentation hangs together: every link leads somewhere, every page is in the index."""

import re
from pathlib import Path

import pytest

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
