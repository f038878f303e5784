"""The rooms of the house: arrows go one way, no name stands twice, the drawing of them is current."""

import ast
from collections import Counter
from graphlib import TopologicalSorter

from tests.rooms import PACKAGES, PICTURE, ROOT, arrows, drawn, imports, rooms_in_order

ALLOWED = {
    "nesting.alter": "carve wood basics shapes",
    "nesting.balance": "place wood basics shapes",
    "nesting.carve": "patterns basics shapes",
    "nesting.charts": "balance choice patterns wood basics",
    "nesting.choice": "balance place wood basics",
    "nesting.cli": "balance choice desk job place wood basics",
    "nesting.desk": "balance choice job place wood basics page scale shapes trace",
    "nesting.job": ("alter balance carve charts choice patterns place wood basics faces marks page scale shapes trace"),
    "nesting.patterns": "place wood basics shapes",
    "nesting.place": "wood basics shapes",
    "nesting.wood": "basics shapes",
    "vectorize.faces": "basics lines marks page scale shapes",
    "vectorize.fit": "basics scale shapes",
    "vectorize.lines": "basics shapes",
    "vectorize.marks": "basics lines page scale shapes",
    "vectorize.page": "basics shapes",
    "vectorize.scale": "basics lines page shapes",
    "vectorize.shapes": "basics",
    "vectorize.trace": "basics faces fit page scale shapes",
}
"""Which rooms each room may use. An arrow that is gone is struck out here; a new one is weighed before it is added."""


def test_rooms_use_the_rooms_that_they_may_and_no_others():
    used = {room: " ".join(other.split(".")[1] for other in others) for room, others in arrows().items()}
    assert used == ALLOWED


def test_no_module_imports_itself_by_way_of_others():
    tuple(TopologicalSorter(imports()).static_order())


def test_there_are_few_rooms_and_few_arrows_between_them():
    assert len(rooms_in_order(arrows())) <= 22
    assert sum(map(len, arrows().values())) <= 90


def test_tracing_knows_no_wood():
    assert [name for name, used in imports().items() if name.startswith("vectorize") and _of_nesting(used)] == []


def _of_nesting(used):
    return [name for name in used if name.startswith("nesting")]


def test_no_name_of_a_module_stands_twice():
    folders = ("nesting", "vectorize", "fixtures", "tests")
    names = Counter(path.stem for folder in folders for path in (ROOT / folder).rglob("*.py"))
    assert [name for name, count in names.items() if count > 1] == ["__init__", "__main__", "conftest"]


def test_tests_stand_in_the_folder_of_what_they_test():
    folders = {
        path.stem: path.parent for room in ("nesting", "vectorize", "fixtures") for path in (ROOT / room).rglob("*.py")
    }
    astray = {}
    for path in (ROOT / "tests").rglob("test_*.py"):
        mirrored = ROOT / path.parent.relative_to(ROOT / "tests")
        if not mirrored.is_dir() or folders.get(path.stem.removeprefix("test_"), mirrored) != mirrored:
            astray[str(path.relative_to(ROOT))] = str(mirrored)
    assert astray == {}


def test_no_package_gives_a_function_the_name_of_one_of_its_modules():
    shadowed = {}
    for init in (path for folder in PACKAGES for path in (ROOT / folder).rglob("__init__.py")):
        given = {alias.asname or alias.name for node in _imports_in(init) for alias in node.names}
        shadowed[init.parent] = given & {path.stem for path in init.parent.iterdir()}
    assert {folder: names for folder, names in shadowed.items() if names} == {}


def _imports_in(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]


def test_the_drawing_of_the_rooms_is_current():
    assert PICTURE.read_text(encoding="utf-8") == drawn(arrows()), "run `python -m tests.rooms`"
