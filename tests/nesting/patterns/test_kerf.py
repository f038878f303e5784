from __future__ import annotations

import math

import numpy as np
import pyclipper
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from nesting.patterns.kerf import cut_path, left_by_cut_on_line
from nesting.patterns.pattern_settings import PatternSettings
from tests.nesting.patterns.pattern_shapes import rounded
from vectorize.basics.errors import ToleranceError
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Arc, Cubic, Line

# Lines and arcs are exact, areas of curves are those of cubics within 0.0005 mm.
SAME_MM = 1e-4


# Cutting services' published guidance: a rectangle 2.0 × 4.0 with a kerf of 0.2, in any unit.
def test_a_rectangle_cut_on_its_line_comes_out_1_8_by_3_8_as_a_part():
    left = left_by_cut_on_line(Outline.rectangle(0, 0, 2, 4), kerf_mm=0.2).outlines[0]
    assert left.size_mm == pytest.approx((1.8, 3.8), abs=SAME_MM)
    assert left.area_mm2 == pytest.approx(1.8 * 3.8, abs=SAME_MM)


def test_a_rectangle_cut_on_its_line_comes_out_2_2_by_4_2_as_an_opening():
    around = Outline(Ring.rectangle(-10, -10, 12, 14), (Ring.rectangle(0, 0, 2, 4),))
    opening = left_by_cut_on_line(around, kerf_mm=0.2).outlines[0].cutouts[0]
    assert Outline(opening).size_mm == pytest.approx((2.2, 4.2), abs=SAME_MM)


def test_for_a_part_of_2_by_4_the_path_is_2_2_by_4_2():
    path = cut_path(Outline.rectangle(0, 0, 2, 4), kerf_mm=0.2).outlines[0]
    assert path.size_mm == pytest.approx((2.2, 4.2), abs=SAME_MM)
    assert path.area_mm2 == pytest.approx(2.2 * 4.2, abs=SAME_MM)


def test_for_an_opening_of_2_by_4_the_path_is_1_8_by_3_8():
    around = Outline(Ring.rectangle(-10, -10, 12, 14), (Ring.rectangle(0, 0, 2, 4),))
    opening = cut_path(around, kerf_mm=0.2).outlines[0].cutouts[0]
    assert Outline(opening).size_mm == pytest.approx((1.8, 3.8), abs=SAME_MM)


# Another service's guidance: a 40 mm square cut on its line with a kerf of 0.2 measures 39.8.
def test_a_40_mm_square_cut_on_its_line_measures_39_8():
    left = left_by_cut_on_line(Outline.rectangle(0, 0, 40, 40), kerf_mm=0.2).outlines[0]
    assert left.size_mm == pytest.approx((39.8, 39.8), abs=SAME_MM)


def test_arcs_and_round_holes_stay_arcs_with_their_radius_changed_by_half_the_kerf():
    path = cut_path(rounded().outline, kerf_mm=0.2).outlines[0]
    arcs = [segment for segment in path.exterior.segments if isinstance(segment, Arc)]
    assert [arc.radius for arc in arcs] == pytest.approx([10.1], abs=0.001)
    assert math.degrees(arcs[0].sweep) == pytest.approx(90, abs=0.5)
    assert path.cutouts[0].as_circle()[1] == pytest.approx(3.9, abs=SAME_MM)


#     ~~~~~~~        Two cubics and a line, as a fin is traced: a machine gets them as they are and not as chords.
#   /         \
#  /___________\
FIN = Outline(
    Ring(
        (
            Line((0, 0), (80, 0)),
            Cubic((80, 0), (78, 20), (66, 38), (45, 40)),
            Cubic((45, 40), (25, 42), (10, 20), (0, 0)),
        )
    )
)


@pytest.mark.parametrize("kerf_mm", [0.2, 3.0])
@pytest.mark.parametrize("corners", ["mitre", "round"])
def test_lines_stay_lines_and_cubics_become_few_cubics(kerf_mm, corners):
    (path,) = cut_path(FIN, kerf_mm=kerf_mm, corners=corners).outlines
    assert len(path.exterior.segments) < 20
    assert sum(isinstance(segment, Cubic) for segment in path.exterior.segments) >= 2
    # A second opinion: Clipper on the polygon within 0.0002 mm, in integers of 0.00001 mm.
    clipper = pyclipper.PyclipperOffset(4.0, 2.0)
    points = np.rint(FIN.exterior.flattened(0.0002) * 1e5).astype(np.int64).tolist()
    join = pyclipper.JT_MITER if corners == "mitre" else pyclipper.JT_ROUND
    clipper.AddPath(points, join, pyclipper.ET_CLOSEDPOLYGON)
    (grown,) = clipper.Execute(kerf_mm / 2 * 1e5)
    other = Polygon(np.array(grown) / 1e5)
    # Cubics are within 0.0005 mm; the chords of both, and Clipper's mitres between its chords, add up to 0.004 mm.
    assert path.to_polygon().exterior.hausdorff_distance(other.exterior) < 0.005


@pytest.mark.parametrize("angle_deg", [20.0, 40.0, 50.0, 75.0, 90.0, 130.0])
@pytest.mark.parametrize("corners", ["mitre", "round"])
def test_no_corner_is_cut_square(angle_deg, corners):
    # A kite with the corner at the origin; half the kerf is 1 mm.
    half_angle = math.radians(angle_deg / 2)
    x, y = 60 * math.cos(half_angle), 60 * math.sin(half_angle)
    kite = Outline.from_points([(0, 0), (x, -y), (x + 5, 0), (x, y)])
    (path,) = cut_path(kite, kerf_mm=2.0, corners=corners).outlines
    # The bisector: a mitre of sides moved by 1 mm ends 1 / sin(half the angle) out, a bit rolls round at 1 mm.
    is_mitred = corners == "mitre" and 1 / math.sin(half_angle) <= 4.0
    away = 1 / math.sin(half_angle) if is_mitred else 1.0
    assert path.bounds[0] == pytest.approx(-away, abs=1e-6)
    assert any(isinstance(segment, Arc) for segment in path.exterior.segments) or is_mitred
    # The part is what the bit leaves: nothing of it is cut, whatever the corner.
    reach = path.to_polygon().exterior.buffer(1.0 - 3e-3)  # chords of the path come 0.001 mm nearer
    assert not reach.intersects(kite.to_polygon())


def test_a_router_s_bit_never_leaves_the_width_of_its_cut():
    (path,) = cut_path(FIN, kerf_mm=3.0, corners=PatternSettings(tool="router").path_corners).outlines
    assert path.to_polygon().difference(FIN.to_polygon().buffer(1.5, quad_segs=200)).area < 0.01
    assert PatternSettings(tool="laser").path_corners == "mitre"


@given(kerf_mm=st.floats(0.05, 2.0))
def test_the_path_is_the_outline_grown_by_half_the_kerf(kerf_mm):
    outline = rounded().outline
    path = cut_path(outline, kerf_mm=kerf_mm).outlines[0]
    # Steiner: area grows by perimeter · d, and here by corners and arcs of d² each: bounded by 8 d².
    half = kerf_mm / 2
    gained = path.area_mm2 - outline.area_mm2
    # The exterior turns by a full circle with corners squared; the hole takes its pi d² back.
    assert gained == pytest.approx(outline.perimeter_mm * half, abs=8 * half**2 + 0.01)
    shrunk = path.to_polygon().buffer(-half, join_style="mitre", quad_segs=64)
    assert shrunk.symmetric_difference(outline.to_polygon()).area < 0.01 * outline.perimeter_mm


def test_without_a_kerf_the_outline_itself_is_the_path():
    outline = rounded().outline
    assert cut_path(outline, kerf_mm=0).outlines == (outline,)


def test_a_slot_narrower_than_the_cut_is_reported_and_a_wider_one_is_not():
    def slotted(width):
        half = width / 2
        return Outline.from_points(
            [(0, 0), (20, 0), (20, 10), (10 + half, 10), (10 + half, 3), (10 - half, 3), (10 - half, 10), (0, 10)]
        )

    (note,) = cut_path(slotted(0.15), kerf_mm=0.2, part="rib").notes
    assert (note.code, note.part, note.state) == ("kerf-slot", "rib", "open")
    assert "(10.0, 6.5) mm" in note.text
    assert cut_path(slotted(0.3), kerf_mm=0.2).notes == ()


def test_cutouts_that_the_cut_would_swallow_are_each_reported():
    holes = (Ring.rectangle(5, 5, 5.15, 8), Ring.circle((10, 5), 0.05), Ring.circle((15, 5), 2))
    offset = cut_path(Outline(Ring.rectangle(0, 0, 20, 10), holes), kerf_mm=0.2)
    assert [note.code for note in offset.notes] == ["kerf-cut-out", "kerf-cut-out"]
    assert len(offset.outlines[0].cutouts) == 1


def test_a_neck_that_the_cut_goes_through_is_reported_and_both_halves_are_kept():
    dumbbell = Outline.from_points(
        [
            (0, 0), (8, 0), (8, 4.95), (12, 4.95), (12, 0), (20, 0),
            (20, 10), (12, 10), (12, 5.1), (8, 5.1), (8, 10), (0, 10),
        ]
    )  # fmt: skip
    left = left_by_cut_on_line(dumbbell, kerf_mm=0.2)
    assert len(left.outlines) == 2
    assert [note.code for note in left.notes] == ["kerf-neck"]


def test_ordinary_corners_are_not_reported_as_lost():
    spikes = ((10 if i % 2 else 4, i * math.pi / 5) for i in range(10))
    star = Outline.from_points([(r * math.cos(angle), r * math.sin(angle)) for r, angle in spikes])
    assert cut_path(star, kerf_mm=0.2).notes == ()


@pytest.mark.parametrize("kerf_mm", [-0.1, math.nan, math.inf])
def test_an_impossible_kerf_is_refused(kerf_mm):
    with pytest.raises(ToleranceError, match="kerf"):
        cut_path(rounded().outline, kerf_mm=kerf_mm)
