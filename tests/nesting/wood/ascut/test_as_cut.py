"""Parts as cut on drawn scans: planted errors are found, small ones are not raised, the fit is rigid."""

import math
import re

import numpy as np
import pytest
from shapely.geometry import Polygon

from fixtures.sawn_parts import PARTS, Fault, cut_rings, gusset, plate, random_fault, rib, side
from nesting.wood.ascut.as_cut import CutEdge, compare_as_cut, place_words
from nesting.wood.ascut.deviations import overall
from nesting.wood.part import Part
from tests.benchmarks.planted_errors import KINDS, Trial, compared, random_glass
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline, Ring

PX_MM = 25.4 / 240
SEED = 20_261  # no seed that anything was chosen on: `planted_errors --seeds 0 6` served for that


def edge_of(rings, *, scale_sigma=0.0005):
    """Return rings as a scanner without noise would give them, a point a pixel or closer."""
    area = Polygon(rings[0], rings[1:]).area
    return CutEdge(tuple(rings), area, PX_MM, scale_sigma)


def part(outline):
    return Part("part", outline, "balsa", 3.0)


def turned(rings, angle_deg, *, is_flipped=False, shift=(31.0, -12.0)):
    angle = math.radians(angle_deg)
    matrix = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    return [(ring * [-1.0 if is_flipped else 1.0, 1.0]) @ matrix.T + shift for ring in rings]


def found_in(outline, *faults, kerf_mm=0.0, angle_deg=23.0, is_flipped=False):
    rings = turned(cut_rings(outline, faults, kerf_mm=kerf_mm), angle_deg, is_flipped=is_flipped)
    return compare_as_cut(part(outline), edge_of(rings))


def cases():
    """A third of all pairs of part and kind, every kind among them; the benchmark tries all."""
    for number, name in enumerate(PARTS):
        has_holes = bool(PARTS[name]().cutouts)
        for kind in KINDS:
            # An edge of a triangle that is off is the same as a little wood left all round, laid another way.
            is_fair = (has_holes or not kind.startswith("hole")) and (name, kind) != ("gusset", "edge")
            if is_fair and (number + KINDS.index(kind)) % 3 == 0:
                yield pytest.param(number, name, kind, id=f"{name} {kind}")


@pytest.mark.parametrize(("number", "name", "kind"), list(cases()))
def test_an_error_of_three_tenths_is_found_on_a_scan_and_half_of_it_is_not_raised(number, name, kind):
    """As the scanner sees it: 200 to 300 dpi, any turn, either face, noise, blur, grain, light that falls off."""
    rng = np.random.default_rng([SEED, number, KINDS.index(kind)])
    outline, glass = PARTS[name](), random_glass(rng)
    large = random_fault(rng, outline, kind, 0.3)
    trial = Trial(name, large, glass, compared(outline, (large,), glass, rng))
    assert trial.own
    assert not trial.strange
    small = random_fault(rng, outline, kind, 0.149)
    assert compared(outline, (small,), glass, rng).places == ()


@pytest.mark.parametrize("name", PARTS)
@pytest.mark.parametrize("is_flipped", [False, True])
def test_the_fit_gives_back_how_the_part_was_laid(name, is_flipped):
    outline = PARTS[name]()
    for angle_deg in (0.0, 77.0, -140.0):
        laid = found_in(outline, angle_deg=angle_deg, is_flipped=is_flipped).laid
        assert laid.pose.is_flipped == is_flipped
        back = angle_deg if is_flipped else -angle_deg
        assert math.remainder(laid.pose.angle_deg - back, 360.0) == pytest.approx(0.0, abs=0.05)


def test_deviations_agree_with_distances_between_polygons():
    """shapely measures the same bump: the farthest that one boundary is from the other."""
    outline = plate()
    rings = cut_rings(outline, (Fault("bump", 0.37, (50.0, 38.0), 9.0),))
    farthest = Polygon(rings[0]).hausdorff_distance(Polygon(outline.exterior.flattened()))
    found = compare_as_cut(part(outline), edge_of(rings))
    assert found.places[0].off_mm == pytest.approx(farthest, abs=0.02)
    assert found.area_share == pytest.approx(1 + 0.37 * 9.0 / 2 / outline.area_mm2, rel=1e-4)  # a raised cosine's half


def test_a_kerf_left_all_round_stays_what_it_is():
    for make in (plate, rib, side):
        found = found_in(make(), kerf_mm=0.1)
        assert found.places == ()
        mean, *_ = overall(found.edges)
        assert mean == pytest.approx(0.1, abs=0.015)


def test_one_edge_that_is_off_is_not_shared_out():
    """Of a rectangle one of two edges; of a triangle one of three, which one strip makes too large alike."""
    found = found_in(plate(), Fault("edge", 0.3, (55.0, 0.0), 110.0))
    (place,) = found.places
    assert place.off_mm == pytest.approx(0.3, abs=0.03)
    assert overall(found.edges)[3] > -0.05
    (place,) = found_in(gusset(), Fault("edge", 0.3, (30.0, 0.0), 60.0)).places
    assert place.kind == "proud"
    assert any(place.off_mm == pytest.approx(0.3 * 60 / length, abs=0.03) for length in (60, 45, 75))


def test_a_bump_does_not_push_the_rest_aside():
    outline = rib()
    found = found_in(outline, Fault("bump", 0.6, (75.0, 0.0), 12.0))
    away = [edge.off_mm[edge.judged & (edge.samples.points[:, 1] > 1.0)] for edge in found.edges]
    assert np.max(np.abs(np.concatenate(away))) < 0.03


def test_holes_that_are_missing_or_not_drawn_are_told_with_their_place():
    outline = plate()
    rings = cut_rings(outline, ())
    strange = Ring.circle((60.0, 12.0), 1.5).flattened(0.01)
    found = compare_as_cut(part(outline), edge_of([rings[0], rings[1], strange]))
    notes = {note.code: note for note in found.notes}
    assert "95 mm from the left, 18 mm up" in notes["hole-missing"].text
    assert "3.0 mm 60 mm from the left, 12 mm up" in notes["hole-not-drawn"].text
    assert all(note.state == "open" for note in notes.values())


def test_a_scan_that_is_too_large_is_told_and_not_stretched():
    outline = side()
    rings = [ring * 1.004 for ring in cut_rings(outline, ())]
    found = compare_as_cut(part(outline), edge_of(rings))
    assert found.laid.scale_share == pytest.approx(1 / 1.004, abs=2e-4)
    assert "scan-scale" in [note.code for note in found.notes]
    assert found.places
    true = compare_as_cut(part(outline), edge_of(cut_rings(outline, ())))
    assert "scan-scale" not in [note.code for note in true.notes]


def test_a_part_of_equal_ends_says_that_it_lies_either_way():
    outline = Outline.rectangle(0, 0, 80, 30)
    found = found_in(outline)
    assert [note.code for note in found.notes] == ["lies-either-way"]
    assert "lies-either-way" not in [note.code for note in found_in(gusset()).notes]


def test_doubt_grows_with_the_scale_and_the_way_out():
    outline = plate()
    rings = cut_rings(outline, (Fault("bump", 0.4, (110.0, 20.0), 9.0),))
    sure, unsure = (compare_as_cut(part(outline), edge_of(rings, scale_sigma=s)).places[0].sigma_mm for s in (0, 0.005))
    # The right edge is half of 110 mm from the middle.
    assert math.sqrt(unsure**2 - sure**2) == pytest.approx(0.005 * 55.0, rel=0.03)


def test_what_is_another_part_is_refused():
    with pytest.raises(PartError, match=r"has .* mm², but part part has"):
        compare_as_cut(part(plate()), edge_of(cut_rings(gusset(), ())))
    other = Outline.rectangle(0, 0, 60, 69)
    with pytest.raises(PartError, match="does not look like part part"):
        compare_as_cut(part(plate()), edge_of([other.exterior.flattened(0.01)]))
    with pytest.raises(PartError, match="above zero"):
        compare_as_cut(part(plate()), edge_of(cut_rings(plate(), ())), tolerance_mm=math.nan)


def test_places_are_worded_for_the_bench():
    outline = plate()
    faults = (
        Fault("nick", -0.5, (40.0, 38.0), 10.0),
        Fault("hole-size", -0.4, (15.0, 20.0), outline.cutouts[0].perimeter_mm),
    )
    short, large = (place_words(place, (0.0, 0.0)) for place in found_in(outline, *faults).places)
    assert re.match(r"cut 0\.(49|50|51) mm short over \d mm of edge", short)
    assert "40 mm from the left, 38 mm up: fill it, or leave it" in short
    assert re.fullmatch(r"the cut-out 15 mm from the left, 20 mm up is 0\.(79|80|81) mm too large: .*", large)
