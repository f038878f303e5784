import itertools

import pytest

from nesting.alter.long_joints import Laminate, Scarf, Splice
from nesting.alter.step import Setting
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline, Ring

LONG = Part("spine", Outline.rectangle(0, 0, 1400, 60), "balsa", 10.0)
RACK = (Board("B1", "balsa", 10.0, 915, 100),)


def test_a_scarf_of_one_in_eight_on_ten_mm_overlaps_eighty() -> None:
    change = Scarf().applied(LONG, Setting(boards=RACK))
    fore, aft = change.parts
    assert fore.outline.bounds[2] - aft.outline.bounds[0] == pytest.approx(80.0)
    assert "1:8 over 80.0 mm" in change.notes[0].text


@pytest.mark.parametrize("slope", [8, 10, 12])
def test_pieces_weigh_and_balance_as_the_whole(slope: float) -> None:
    taper = Part("spine", Outline.from_points([(0, 0), (1400, 10), (1400, 40), (0, 60)]), "balsa", 10.0)
    pieces = Scarf(slope=slope).applied(taper, Setting()).parts
    net = [p.outline.area_mm2 * p.finished_share for p in pieces]
    assert sum(net) == pytest.approx(taper.outline.area_mm2)
    for axis in (0, 1):
        moment = sum(n * p.centroid[axis] for n, p in zip(net, pieces, strict=True))
        assert moment == pytest.approx(taper.outline.area_mm2 * taper.outline.centroid[axis])


def test_grain_that_runs_up_is_scarfed_along_itself() -> None:
    upright = Part("spine", Outline.rectangle(0, 0, 60, 1400), "balsa", 10.0, grain_deg=90.0)
    fore, aft = Scarf().applied(upright, Setting(boards=RACK)).parts
    assert fore.outline.bounds[3] - aft.outline.bounds[1] == pytest.approx(80.0)


def test_the_joint_keeps_25_mm_from_slots_and_doubler_ends() -> None:
    slotted = Part("spine", Outline(LONG.outline.exterior, (Ring.rectangle(660, 20, 740, 30),)), "balsa", 10.0)
    doubler = Part("doubler", Outline.rectangle(0, 0, 560, 60), "ply", 0.8)
    change = Scarf(clear_of=("doubler",)).applied(slotted, Setting(boards=RACK, parts={"doubler": doubler}))
    fore, aft = change.parts
    begin, end = aft.outline.bounds[0], fore.outline.bounds[2]
    assert begin >= 740 + 25 or (end <= 660 - 25 and begin >= 560 + 25)
    assert max(p.outline.size_mm[0] for p in change.parts) <= 915 - 12


def test_a_place_asked_for_that_is_not_clear_is_refused_with_the_distance() -> None:
    slotted = Part("spine", Outline(LONG.outline.exterior, (Ring.rectangle(700, 20, 740, 30),)), "balsa", 10.0)
    with pytest.raises(PartError, match=r"middle 650.0 mm .* lies 10.0 mm from a cut-out.*25 mm clear"):
        Scarf(at=(650.0, 30.0)).applied(slotted, Setting())
    with pytest.raises(PartError, match="longest board gives 903 mm"):
        Scarf(at=(300.0, 30.0)).applied(LONG, Setting(boards=RACK))
    with pytest.raises(PartError, match=r"1:5; give a slope from 1:8 to 1:12"):
        Scarf(slope=5).check("spine", Setting())


def test_an_open_slot_counts_as_a_slot() -> None:
    notched = Outline.from_points([(0, 0), (1400, 0), (1400, 60), (706, 60), (706, 40), (700, 40), (700, 60), (0, 60)])
    with pytest.raises(PartError, match="from a slot"):
        Scarf(at=(700.0, 30.0)).applied(Part("spine", notched, "balsa", 10.0), Setting())


def test_a_splice_is_butted_and_gets_its_plates() -> None:
    change = Splice(plate_mm=1.5, plate_material="birch ply").applied(LONG, Setting(boards=RACK))
    assert sum(p.outline.area_mm2 for p in change.parts) == pytest.approx(LONG.outline.area_mm2)
    (plate,) = change.extras
    assert (plate.name, plate.material, plate.count) == ("spine splice plate", "birch ply", 2)
    assert plate.outline.size_mm[0] == pytest.approx(120.0)


def test_layers_have_their_joints_staggered_and_add_up() -> None:
    step = Laminate((5.0, 2.5, 2.5), stagger_mm=60, longest_mm=800)
    pieces = step.applied(LONG, Setting()).parts
    volume = sum(p.outline.area_mm2 * p.thickness_mm for p in pieces)
    assert volume == pytest.approx(LONG.outline.area_mm2 * 10)
    ends = [
        {round(x, 6) for p in pieces if f"layer {n}" in p.name for x in p.outline.bounds[::2]} - {0, 1400}
        for n in (1, 2, 3)
    ]
    for one, other in itertools.pairwise(ends):
        assert min(abs(a - b) for a in one for b in other) >= 60 - 1e-6
    assert max(p.outline.size_mm[0] for p in pieces) <= 800


def test_layers_that_do_not_make_the_thickness_are_refused() -> None:
    with pytest.raises(PartError, match=r"5 \+ 3 = 8 mm do not make its 10 mm"):
        Laminate((5.0, 3.0)).applied(LONG, Setting())
    with pytest.raises(PartError, match="pieces of at most 20 mm"):
        Laminate((5.0, 5.0), stagger_mm=50, longest_mm=20).applied(LONG, Setting())
