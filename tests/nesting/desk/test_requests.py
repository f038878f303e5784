"""The reference lists every address and every edit that there is, and no other."""

import re
from pathlib import Path
from typing import get_args

import pytest

from nesting.desk.guard import Keys
from nesting.desk.requests import AnyEdit
from nesting.desk.routes import application
from nesting.desk.workshop import Workshop

PAGE = Path(__file__).parents[3] / "docs" / "reference" / "desk-api.md"


@pytest.fixture(scope="module")
def tables():
    """Return the first cells of each table of the page, by the heading above it."""
    parts = re.split(r"^## ", PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE)
    return {part.splitlines()[0]: [line for line in part.splitlines() if line.startswith("| ")] for part in parts}


def test_every_edit_is_listed_with_its_fields(tables):
    listed = {row.split("`")[1]: row for row in tables["Edits"] if "`" in row}
    kinds = {}
    for model in get_args(get_args(AnyEdit)[0]):
        (kind,) = get_args(model.model_fields["kind"].annotation)
        kinds[kind] = set(model.model_fields) - {"kind"}

    assert set(listed) == set(kinds)
    for kind, fields in kinds.items():
        assert fields <= set(re.findall(r"`(\w+)`", listed[kind])), kind


def test_every_address_is_listed(tables, tmp_path):
    listed = {address for row in tables["Addresses"] for address in re.findall(r"`([^`]+)`", row.split("|")[2])}
    app = application(Workshop(tmp_path), Keys(1))._app
    paths = {route.path.removeprefix("/api/1/") for route in app.routes if route.path.startswith("/api/")}

    plain = {re.sub(r"\{\w+(:\w+)?\}", "X", path) for path in paths}
    said = {re.sub(r"[A-Z]{2,}|\bN\b", "X", address.split("?")[0]) for address in listed}
    said = {re.sub(r"^task/(nest|patterns|compare|assign|trial|read)$", "task/X", path) for path in said}
    assert said == plain
