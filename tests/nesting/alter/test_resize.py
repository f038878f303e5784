import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.alter.resize import Foreshortened, Grow, Stretch
from nesting.alter.step import Setting
from nesting.wood.part import Part
from tests.nesting.alter.part_shapes import BODY, FUSELAGE
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline, Ring, check_outline
from vectorize.shapes.segment import Arc, Cubic

HERE = Setting()


def test_a_sanding_allowance_goes_all_round() -> None:
    (part,) = Grow(1.0).applied(Part("p", Outline.rectangle(0, 0, 50, 20), "balsa", 2.0), HERE).parts
    assert part.outline.bounds == pytest.approx((-1, -1, 51, 21))


def test_or_along_the_edge_picked() -> None:
    part = Part("p", Outline.rectangle(0, 0, 50, 20), "balsa", 2.0)
    (grown,) = Grow(1.5, along=((25.0, 21.0),)).applied(part, HERE).parts
    assert grown.outline.bounds == pytest.approx((0, 0, 50, 21.5))
    (shrunk,) = Grow(-1.5, along=((25.0, 21.0), (51.0, 10.0))).applied(part, HERE).parts
    assert shrunk.outline.bounds == pytest.approx((0, 0, 48.5, 18.5))


def test_shrinking_to_nothing_or_to_pieces_is_refused() -> None:
    part = Part("p", Outline.rectangle(0, 0, 50, 20), "balsa", 2.0)
    with pytest.raises(PartError, match="nothing is left after shrinking it by 11 mm"):
        Grow(-11).applied(part, HERE)
    with pytest.raises(PartError, match=r"nearest one is 80\.0 mm away"):
        Grow(1, along=((25.0, 100.0),)).applied(part, HERE)


@settings(max_examples=20, deadline=None)
@given(at=st.floats(1, 119), by=st.floats(0.5, 80))
def test_a_stretched_outline_keeps_its_curvature_away_from_the_cut(at: float, by: float) -> None:
    (part,) = Stretch(at, by).applied(Part("p", BODY, "balsa", 2.0), HERE).parts
    check_outline(part.outline)
    x0, _, x1, _ = part.outline.bounds
    assert (x0, x1) == pytest.approx((-by, 120))
    arcs = [s for s in part.outline.exterior.segments if isinstance(s, Arc)]
    assert all(arc.radius == pytest.approx(20.0, abs=1e-9) for arc in arcs)
    assert math.fsum(arc.length for arc in arcs) == pytest.approx(20 * math.pi, abs=1e-6)
    cubics = sum(s.length for s in part.outline.exterior.segments if isinstance(s, Cubic))
    assert cubics == pytest.approx(BODY.exterior.segments[2].length, abs=1e-6)


def test_what_is_added_is_the_section_at_the_cut_times_the_length() -> None:
    (part,) = Stretch(150.0, 30.0).applied(Part("p", FUSELAGE, "balsa", 2.0), HERE).parts
    from shapely.geometry import LineString

    section = FUSELAGE.to_polygon().intersection(LineString([(150, -50), (150, 80)])).length
    assert part.outline.area_mm2 - FUSELAGE.area_mm2 == pytest.approx(30 * section, rel=1e-4)


def test_behind_can_move_aft_instead_and_a_crossed_cutout_is_said() -> None:
    holed = Outline(FUSELAGE.exterior, (Ring.circle((150, 22), 5),))
    change = Stretch(150.0, 30.0, moves="aft").applied(Part("p", holed, "balsa", 2.0), HERE)
    assert change.parts[0].outline.bounds[2] == pytest.approx(330.0)
    assert [note.code for note in change.notes] == ["stretched", "cutout-stretched"]
    assert change.notes[1].state == "open"


def test_a_station_off_the_part_is_refused_with_its_ends() -> None:
    with pytest.raises(PartError, match=r"station 400\.0 mm is off the part, which runs from 0\.0 to 300\.0 mm"):
        Stretch(400, 10).applied(Part("p", FUSELAGE, "balsa", 2.0), HERE)
    with pytest.raises(PartError, match="more than zero"):
        Stretch(100, -10).check("p", HERE)


@pytest.mark.parametrize("dihedral", [3.0, 7.5, 12.0, 25.0])
def test_a_foreshortened_panel_grows_by_one_over_the_cosine_along_its_span(dihedral: float) -> None:
    panel = Part("wing", Outline.from_points([(10, 0), (300, 20), (300, 80), (10, 100)]), "balsa", 5.0)
    change = Foreshortened(dihedral, span=((10.0, 50.0), (20.0, 50.0))).applied(panel, HERE)
    (part,) = change.parts
    x0, y0, x1, y1 = part.outline.bounds
    assert x0 == pytest.approx(10.0)
    assert x1 - x0 == pytest.approx(290 / math.cos(math.radians(dihedral)))
    assert y1 - y0 == pytest.approx(100.0)
    bevel = 5 * math.tan(math.radians(dihedral))
    assert f"bevelled by {bevel:.2f} mm" in change.notes[0].text


def test_where_the_upper_face_is_drawn_the_root_gets_its_bevel() -> None:
    panel = Part("wing", Outline.from_points([(10, 0), (300, 20), (300, 80), (10, 100)]), "balsa", 5.0)
    (part,) = Foreshortened(10.0, ((10.0, 50.0), (20.0, 50.0)), "upper").applied(panel, HERE).parts
    assert part.outline.bounds[0] == pytest.approx(10 - 5 * math.tan(math.radians(10)))


def test_curves_of_the_panel_stretch_with_it() -> None:
    (part,) = Foreshortened(30.0, ((0.0, 0.0), (1.0, 0.0))).applied(Part("p", BODY, "balsa", 3.0), HERE).parts
    assert part.outline.area_mm2 == pytest.approx(BODY.area_mm2 / math.cos(math.radians(30)), rel=1e-6)
