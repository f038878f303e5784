"""The model put together and read back by another reader: places, volumes, masses."""

import io

import numpy as np
import pytest
import trimesh

from nesting.alter.planks import Planks
from nesting.alter.step import Setting
from nesting.balance.balance_report import BalancePlan
from nesting.balance.entries import Build
from nesting.balance.station import Datum, Seat
from nesting.balance.weights import weigh_parts
from nesting.carve.panel import CarvedPanel
from nesting.carve.planform import Planform
from nesting.carve.section import naca4
from nesting.job.deriving import Carving, carved_part
from nesting.job.model_values import Model
from nesting.job.schema import JobSpec
from nesting.job.solid_model import put_together
from nesting.job.step_tables import CarveTable
from nesting.place.layout_rules import NestRules
from nesting.wood.board import Board
from nesting.wood.density import USUAL
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline

BOARDS = (
    Board("B10", "balsa", 10.0, 1000.0, 100.0, mass_g=150.0, measured_thickness_mm=10.2),
    Board("B8", "balsa", 8.0, 1000.0, 150.0, mass_g=160.0),
    Board("B3", "balsa", 3.0, 1000.0, 100.0, mass_g=36.0),
    Board("P1", "birch ply", 1.0, 600.0, 300.0, mass_g=130.0),
)
WING = Part("wing", Outline.from_points([(0, 1000), (300, 1020), (300, 1080), (0, 1100)]), "balsa", 8.0, hand="pair")


def carved_wing():
    """A wing of two planks carved together, its root at x = 0 and its leading edge at the top, as a pair."""
    planform = Planform(WING.outline, span_deg=0.0, aft_deg=-90.0)
    panel = CarvedPanel(planform, 8.0, naca4("0008"))
    planks = Planks(width_mm=60.0).applied(WING, Setting()).parts
    from nesting.alter.glued_outline import glued_outlines

    glued = glued_outlines(planks)
    pieces = tuple(carved_part(plank, panel, glued=glued[plank.name]) for plank in planks)
    return Carving("wing", panel, CarveTable.model_construct(), pieces)


def a_model():
    carving = carved_wing()
    parts = (
        Part("fuselage", Outline.rectangle(0, -20, 600, 20), "balsa", 10.0),
        Part("doubler", Outline.rectangle(5, -15, 150, 15), "birch ply", 1.0),
        Part("plate", Outline.rectangle(20, -15, 60, 15), "birch ply", 1.0, count=2),
        *carving.pieces,
        Part("fin", Outline.from_points([(540, 18), (600, 18), (600, 80)]), "balsa", 3.0, grain_deg=90.0),
        Part("hook", Outline.rectangle(2000, 0, 2100, 30), "balsa", 3.0),
        Part("former", Outline.rectangle(2000, 100, 2050, 160), "balsa", 3.0),
        Part("lost", Outline.rectangle(0, 0, 20, 20), "spruce", 3.0),
    )
    by_root = Seat(anchor=(0.0, 1100.0), at=(100.0, 10.0), angle_deg=90.0, is_from_above=True)
    seats = {"fuselage": Seat(), "plate": Seat(), "fin": Seat(), "former": Seat(station_mm=90.0)}
    seats |= {piece.name: by_root for piece in carving.pieces}
    return Model(
        parts=parts, boards=BOARDS, wood=USUAL, needs={}, build=Build(), seats=seats, datum=Datum((0.0, 0.0)),
        items=(), readings=(), plan=BalancePlan(limits=None), layout=None, weights=weigh_parts(parts, BOARDS),
        rules=NestRules(), notes=(), carvings=(carving,),
    )  # fmt: skip


SPEC = JobSpec.model_validate(
    {
        "job": {"format": 1, "name": "Mite", "units": "mm"},
        "part": [
            {"name": "fuselage", "pick": [[1, 1]]},
            {"name": "doubler", "from": "fuselage", "step": [{"make": "doubler", "stations": ["0 mm", "150 mm"]}]},
            {
                "name": "wing",
                "pick": [[1, 1]],
                "step": [{"make": "foreshortened", "dihedral": "5 deg", "span": [[0, 0], [9, 0]]}],
            },
            *({"name": name, "pick": [[1, 1]]} for name in ("plate", "fin", "hook", "former", "lost")),
        ],
    }
)


@pytest.fixture(scope="module")
def together():
    return put_together(SPEC, a_model())


@pytest.fixture(scope="module")
def scene(together):
    return trimesh.load(io.BytesIO(together.glb()), file_type="glb")


def body(together, name):
    (found,) = [one for one in together.bodies if one.name == name]
    return found


def box(together, name):
    points = body(together, name).mesh.points
    return points.min(axis=0), points.max(axis=0)


def test_every_body_is_closed_and_its_volume_times_density_is_its_mass(together, scene):
    """trimesh reads the file; volume in m³, mass as the weights of the same parts tell it."""
    masses = {(w.part, w.copy): w.mass_g for w in a_model().weights.chosen}
    said_of = {name: scene.graph.transforms.edge_data["world", name]["metadata"] for name in scene.graph.nodes_geometry}
    assert len(scene.graph.nodes_geometry) == len(together.bodies) == 12
    for name in scene.graph.nodes_geometry:
        geometry, said = scene.geometry[scene.graph[name][1]], said_of[name]
        assert geometry.is_watertight, name
        assert geometry.is_winding_consistent, name
        if said["part"] == "lost":
            assert said["mass_g"] is None
            continue
        assert said["mass_g"] == pytest.approx(masses[said["part"], said["copy"]], rel=1e-4), name
        assert geometry.volume * said["density_kg_m3"] * 1e3 == pytest.approx(said["mass_g"], rel=1e-3), name
        board = next(one for one in BOARDS if one.name == said["board"])
        density = board.mass_g / (board.length_mm * board.width_mm * board.true_thickness_mm) * 1e6
        assert said["density_kg_m3"] == pytest.approx(density, rel=1e-3), name


def test_carved_pieces_make_up_the_solid_that_the_carving_leaves(together):
    planks = [one for one in together.bodies if one.part.name.startswith("wing plank") and one.copy == 1]
    exact = a_model().carvings[0].panel.solid().volume_mm3
    assert sum(one.mesh.volume_mm3 for one in planks) == pytest.approx(exact, rel=1e-3)


def test_the_file_is_in_metres_the_nose_towards_z_and_the_fin_up(together, scene):
    where = scene.graph["fuselage"][0][:3, 3]
    assert where == pytest.approx([0.0, 0.0, -0.3], abs=1e-6)
    fin = scene.geometry[scene.graph["fin"][1]].bounds + scene.graph["fin"][0][:3, 3]
    assert fin[:, 1] == pytest.approx([0.018, 0.080], abs=1e-6)
    assert scene.graph.transforms.edge_data["world", "fin"]["metadata"]["grain"] == pytest.approx([0, 1, 0], abs=1e-6)
    right = scene.graph["wing plank 1 1"][0][:3, 3]
    left = scene.graph["wing plank 1 2"][0][:3, 3]
    assert right[0] < 0 < left[0]
    assert right[1:] == pytest.approx(left[1:])


def test_wings_stand_at_their_seat_and_rise_by_their_dihedral(together):
    """5 degrees over a span of 300 mm: 26.1 mm up, 298.9 mm out; the leading edge of the root 100 mm aft."""
    reach = [box(together, f"wing plank {number} {copy}") for number in (1, 2) for copy in (1, 2)]
    low, high = np.min([one[0] for one in reach], axis=0), np.max([one[1] for one in reach], axis=0)
    assert low[0] == pytest.approx(100.0, abs=0.1)
    assert high[0] == pytest.approx(200.0, abs=0.1)
    assert [-low[1], high[1]] == pytest.approx([300 * np.cos(np.radians(5))] * 2, abs=0.3)
    middle = body(together, "wing plank 1 1").stance
    tip = middle.turn @ np.array([300.0, 1050.0, 4.0]) + middle.shift
    assert tip[2] == pytest.approx(10.0 + 300 * np.sin(np.radians(5)), abs=0.01)


def test_a_doubler_lies_on_the_face_that_its_step_says_and_others_on_faces_that_are_free(together):
    assert [end[1] for end in box(together, "fuselage")] == pytest.approx([-5.1, 5.1])
    assert [end[1] for end in box(together, "doubler")] == pytest.approx([-6.1, -5.1], abs=0.01)
    sides = sorted(tuple(end[1] for end in box(together, f"plate {copy}")) for copy in (1, 2))
    assert sides == [pytest.approx((-7.1, -6.1), abs=0.01), pytest.approx((5.1, 6.1), abs=0.01)]
    assert [end[1] for end in box(together, "fin")] == pytest.approx([-1.5, 1.5])
    codes = [(note.code, note.part) for note in together.notes if note.state == "fixed"]
    assert codes == [("shown-on-face", "plate")]


def test_what_has_no_place_lies_beside_the_model_and_says_so(together):
    beside = {one.part.name for one in together.bodies if one.is_beside}
    assert beside == {"hook", "former", "lost"}
    told = {note.part: note.text for note in together.notes if note.state == "open"}
    assert set(told) == beside
    assert "only its station is known" in told["former"]
    assert "does not say where it sits" in told["hook"]
    placed = max(box(together, one.name)[1][1] for one in together.bodies if not one.is_beside)
    boxes = [box(together, name) for name in beside]
    assert min(low[1] for low, _ in boxes) > placed
    for number, (low, high) in enumerate(boxes):
        for other_low, other_high in boxes[number + 1 :]:
            assert (high[:2] < other_low[:2]).any() or (other_high[:2] < low[:2]).any()


def test_the_json_tells_the_same_as_the_file(together, scene):
    told = together.as_json()
    assert told["mass_g"] == pytest.approx(sum(one["mass_g"] or 0 for one in told["bodies"]), abs=0.01)
    assert {one["part"] for one in told["bodies"]} == {one.part.name for one in together.bodies}
