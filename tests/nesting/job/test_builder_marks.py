"""Lines that a pattern carries because of what the job says elsewhere."""

import pytest
from shapely.geometry import Point as Spot

from nesting.balance.ballast import Range
from nesting.balance.station import Datum
from nesting.job import builder_marks
from nesting.job.builder_marks import part_marks
from nesting.job.folder import Job, read_spec
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline, Ring

SPEC = """
[[part]]
name = "side"
pick = [[1, 1]]

[[part]]
name = "fin"
pick = [[2, 2]]

[balance]
in_place = ["side"]
"""


def side():
    """Return a side view 100 mm long, 20 high, with its seat cut down to 12 between x = 30 and 60."""
    points = [(10, 5), (110, 5), (110, 25), (70, 25), (70, 17), (40, 17), (40, 25), (10, 25)]
    return Part("side", Outline(Ring.from_points(points)), "balsa", 10.0, plan="sheet")


def marks_of(monkeypatch, tmp_path, parts, datum, limits):
    monkeypatch.setattr(builder_marks, "balance_limits", lambda job, plans: ("sheet", datum, limits))
    return part_marks(Job(tmp_path, read_spec(SPEC), ""), parts, {})


@pytest.mark.parametrize(
    ("datum", "x_mm"),
    [(Datum((10.0, 8.0)), (50.0, 85.0)), (Datum((110.0, 8.0), 180.0), (70.0, 35.0))],
    ids=["aft is right", "aft is left"],
)
def test_the_range_to_balance_in_crosses_the_wood_at_its_two_stations(monkeypatch, tmp_path, datum, x_mm):
    part = side()
    found = marks_of(monkeypatch, tmp_path, [part], datum, Range(40.0, 75.0))["side"]
    assert [mark.kind for mark in found] == ["balance", "balance"]
    assert [mark.text for mark in found] == ["balance, foremost", "balance, rearmost"]
    edge = part.outline.to_polygon().exterior
    for mark, x in zip(found, x_mm, strict=True):
        assert [point[0] for point in mark.points] == pytest.approx([x, x])
        assert all(edge.distance(Spot(point)) < 1e-9 for point in mark.points)


def test_a_part_out_of_place_or_out_of_reach_carries_no_range(monkeypatch, tmp_path):
    fin = Part("fin", Outline.rectangle(40, 0, 60, 20), "balsa", 3.0, plan="sheet")
    elsewhere = Part("side", Outline.rectangle(40, 0, 60, 20), "balsa", 3.0, plan="another sheet")
    datum, limits = Datum((10.0, 8.0)), Range(35.0, 45.0)
    assert not any(marks_of(monkeypatch, tmp_path, [fin, elsewhere], datum, limits).values())
    assert not any(marks_of(monkeypatch, tmp_path, [side()], datum, Range(300.0, 310.0)).values())


MADE = """
[[plan]]
file = "plan.png"

[[part]]
name = "wing"
pick = [[1, 1]]

[[part.mark]]
kind = "fold"
at = [[0, 10], [100, 10]]

[[part.mark]]
kind = "balance"
at = [[30, 5]]

[[part]]
name = "cap"
from = "wing"

[[part.mark]]
kind = "datum"
at = [[7, 8]]
"""


def test_marks_go_with_the_pieces_of_a_divided_part_and_with_parts_made_from_others(monkeypatch, tmp_path):
    class Plan:
        @staticmethod
        def to_mm(pixel):
            return pixel

    monkeypatch.setattr(builder_marks, "plan_of", lambda table, plans: Plan if table.pick else None)
    parts = [
        Part("wing plank 1", Outline.rectangle(0, 0, 60, 20), "balsa", 3.0),
        Part("wing plank 2", Outline.rectangle(60, 0, 90, 20), "balsa", 3.0),
        Part("cap", Outline.rectangle(0, 0, 60, 20), "balsa", 3.0),
    ]
    marks = part_marks(Job(tmp_path, read_spec(MADE), ""), parts, {})
    assert [(mark.kind, mark.points) for mark in marks["wing plank 1"]] == [
        ("fold", ((0.0, 10.0), (60.0, 10.0))),
        ("balance", ((30.0, 5.0),)),
    ]
    assert [(mark.kind, mark.points) for mark in marks["wing plank 2"]] == [("fold", ((60.0, 10.0), (90.0, 10.0)))]
    assert [(mark.kind, mark.points) for mark in marks["cap"]] == [("datum", ((7.0, 8.0),))]


DOUBLED = """
[[plan]]
file = "plan.png"

[[part]]
name = "nose"
pick = [[1, 1]]

[[part]]
name = "side"
from = "nose"
step = [{ make = "doubler", stations = ["0 mm", "60 mm"] }]

[[part]]
name = "side former"
from = "nose"
"""


def test_a_doubler_is_drawn_on_its_parent_and_nothing_else_whose_name_begins_alike(tmp_path):
    edge = Outline.rectangle(0, 0, 60, 20)
    names = ("nose", "side left", "side right", "side former")
    parts = [Part(name, edge, "balsa", 3.0) for name in names]
    marks = part_marks(Job(tmp_path, read_spec(DOUBLED), ""), parts, {})
    assert [mark.text for mark in marks["nose"]] == ["side left", "side right"]
