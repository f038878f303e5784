"""What a job says of its wood and its rule reaches every place that reckons with them."""

import ast
import inspect
from collections import defaultdict
from pathlib import Path

import pytest

import nesting
from nesting.balance.weights import weigh_parts
from nesting.charts.bench_card import bench_card_pdf
from nesting.desk.rack_view import boards_view
from nesting.patterns.papers import find_paper
from nesting.wood.board import Board
from nesting.wood.density import Accuracy, Wood
from nesting.wood.material import with_overrides
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline

SOURCES = sorted(Path(inspect.getfile(nesting)).parent.rglob("*.py"))
FACTS = ("wood", "materials", "accuracy")
PAULOWNIA = with_overrides([{"name": "paulownia", "density_kg_m3": 270.0, "density_spread": 0.1}])


def test_every_call_hands_on_what_the_job_says_of_its_wood():
    """A default would be taken silently; how sure a thing is does not matter where only its value is taken."""
    trees = {file: ast.parse(file.read_text(encoding="utf-8")) for file in SOURCES}
    wanted = defaultdict(set)
    for tree in trees.values():
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef):
                wanted[node.name] |= {arg.arg for arg in node.args.kwonlyargs} & set(FACTS)
    assert len([name for name, facts in wanted.items() if facts]) > 10
    silent = []
    for file, tree in trees.items():
        only_values = {
            node.value for node in ast.walk(tree) if isinstance(node, ast.Attribute) and node.attr == "value"
        }
        for node in ast.walk(tree):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
                continue
            said = {keyword.arg for keyword in node.keywords}
            missing = wanted[node.func.id] - said - ({"accuracy"} if node in only_values else set())
            if missing and None not in said:
                silent.append(f"{file.name}:{node.lineno} {node.func.id} without {', '.join(sorted(missing))}")
    assert silent == []


def test_the_rack_at_the_desk_goes_by_the_jobs_own_wood_and_rule():
    weighed = Board("P1", "paulownia", 3.0, 900.0, 100.0, mass_g=80.0)
    unweighed = Board("P2", "paulownia", 3.0, 900.0, 100.0)

    def view(accuracy):
        return boards_view([weighed, unweighed], units="mm", wood=Wood(PAULOWNIA, accuracy))

    assert view(Accuracy())[1]["density_kg_m3"] == pytest.approx(270.0)
    rough, fine = view(Accuracy())[0], view(Accuracy(nominal_thickness_sigma_mm=0.01))[0]
    assert fine["sigma_kg_m3"] < 0.5 * rough["sigma_kg_m3"]


def test_a_board_of_the_jobs_own_wood_that_nobody_weighed_stands_on_the_bench_card():
    board = Board("P2", "paulownia", 3.0, 900.0, 100.0)
    part = Part("rib", Outline.rectangle(0, 0, 80, 20), "paulownia", 3.0)
    table = weigh_parts([part], [board], wood=Wood(PAULOWNIA))
    card = bench_card_pdf("Plover", [part], [board], table, None, paper=find_paper("A4"), wood=Wood(PAULOWNIA))
    assert card.startswith(b"%PDF")
