"""What is installed and what is published: requirements are what is imported, an archive is the whole tree."""

import ast
import importlib.metadata
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from hatchling.builders.sdist import SdistBuilder
from hatchling.metadata.core import ProjectMetadata
from hatchling.plugin.manager import PluginManager
from packaging.requirements import Requirement

ROOT = Path(__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
OWN = {"nesting", "vectorize"}


def imported(*folders):
    """Top-level names of all that the sources import, also inside functions."""
    names = set()
    for path in (path for folder in folders for path in (ROOT / folder).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.level == 0:
                names.add(node.module.split(".")[0])
    return names - set(sys.stdlib_module_names) - OWN - {"__future__"}


def providers(name):
    """The distributions that an import comes from, in lower case."""
    return {found.lower() for found in importlib.metadata.packages_distributions().get(name, [])}


def test_what_the_product_imports_is_what_it_requires():
    required = {Requirement(line).name.lower() for line in PROJECT["dependencies"]}
    undeclared = {name for name in imported(*OWN) if not providers(name) & required}
    assert undeclared == set()
    used = {found for name in imported(*OWN) for found in providers(name)}
    assert required - used == set()


@pytest.mark.parametrize("line", PROJECT["dependencies"])
def test_every_requirement_has_a_floor_and_no_ceiling(line):
    assert {bound.operator for bound in Requirement(line).specifier} == {">="}


def test_the_source_archive_holds_the_whole_tree():
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode != 0:
        pytest.skip("not a git checkout")
    packed = {Path(file.relative_path).as_posix() for file in SdistBuilder(str(ROOT)).recurse_included_files()}
    assert {name for name in listed.stdout.splitlines() if (ROOT / name).exists()} - packed == set()


def _licences_of_others():
    found = (path for name in ("nesting", "vectorize") for path in (ROOT / name).rglob("LICENSE*"))
    return {path.relative_to(ROOT).as_posix() for path in found}


def test_the_metadata_names_licences_addresses_and_kinds():
    metadata = ProjectMetadata(str(ROOT), PluginManager()).core
    assert set(metadata.license_files) >= {"LICENSE", *_licences_of_others()}
    assert metadata.license_expression == "MIT AND Bitstream-Vera AND Apache-2.0"
    assert {"Homepage", "Documentation", "Changelog"} <= set(metadata.urls)
    assert "Programming Language :: Python :: 3.11" in metadata.classifiers


def test_the_published_description_shows_its_pictures_from_an_address():
    readme = ProjectMetadata(str(ROOT), PluginManager()).core.readme
    targets = re.findall(r"\]\(([^)\s]+)\)", readme)
    assert [target for target in targets if not re.match(r"https?://|#", target)] == []
    assert any(target.endswith(".png") for target in targets)


@pytest.mark.parametrize("module", ["sheetwood", "nesting"])
def test_the_module_is_the_command(module, tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", module, "--version"], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout.strip()) == (0, f"sheetwood {PROJECT['version']}"), done.stderr
