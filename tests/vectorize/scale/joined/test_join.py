from __future__ import annotations

from dataclasses import replace
from functools import cache

import cv2
import numpy as np
import pytest

from fixtures.compare_traces import aligning_pose, compare
from fixtures.pen_drawing import Plan
from tests.vectorize.scale.joined.scan_pieces import (
    QUARTERS,
    WINDOWS,
    Piece,
    known,
    piece,
    rigid_misfit,
    sheet,
    slipped,
    uneven,
)
from vectorize.basics.errors import ScaleError, ScanError
from vectorize.scale.joined import JoinedSheet, join_tiles
from vectorize.scale.joined.scan_seams import Seam, measured_seam
from vectorize.scale.joined.tile import Tile
from vectorize.trace.trace_page import PartPick, trace_picks

MOVE_MM = 0.05
"""Less than half a pixel at 200 dpi, over the whole of a scan: what lining up two tracings by eye never reaches."""

PICTURE_PX = 0.1
"""0.013 mm at 200 dpi: what laying out the picture may cost, beside 0.35 mm that are stated."""

SEAM_MM, SEAM_MEAN_MM, SEAM_AREA = 0.35, 0.08, 0.0025
"""What the product states for a part across the seam."""


@cache
def halves() -> tuple[Piece, Piece]:
    plan = sheet()
    left = piece(plan, WINDOWS["left"], name="left.png", skew_deg=-1.1, axes=(0.002, -0.001))
    right = piece(plan, WINDOWS["right"], name="right.png", skew_deg=0.8, axes=(0.002, -0.001), seed=2)
    return left, right


@cache
def joined_halves() -> JoinedSheet:
    left, right = halves()
    dimensions = (
        known((left, 12, 10, 1), (right, 132, 10, 2), 120.0),
        known((left, 9, 16, 1), (left, 9, 96, 1), 80.0),
    )
    return join_tiles((left.page, right.page), dimensions)


def true_corners(pieces: tuple[Piece, ...]) -> tuple[list[np.ndarray], np.ndarray]:
    """Return the corners of every scan in its pixels, and all of them in plan mm by the map they were made with."""
    corners = [np.array([(0, 0), (1, 0), (1, 1), (0, 1)]) * (p.page.width - 1, p.page.height - 1) for p in pieces]
    return corners, np.vstack([p.mm(c) for p, c in zip(pieces, corners, strict=True)])


def test_two_scans_lie_where_they_were_cut_from() -> None:
    corners, true = true_corners(halves())
    found = np.vstack([joined_halves().to_mm(c, n) for n, c in enumerate(corners, start=1)])
    assert rigid_misfit(found, true) < MOVE_MM


def test_a_point_of_the_sheet_is_found_on_the_scan_that_shows_it_best() -> None:
    left, right = halves()
    sheet_joined = joined_halves()
    for number, (scan, at) in enumerate(((left, (20.0, 50.0)), (right, (120.0, 50.0))), start=1):
        ((x, y),) = sheet_joined.to_sheet([scan.pixel(*at)], number).tolist()
        assert sheet_joined.original((x, y)) == pytest.approx((*scan.pixel(*at), number), abs=1e-6)


def test_the_misfit_of_the_seam_is_told() -> None:
    (seam,) = joined_halves().seams
    assert (seam.first, seam.second) == ("left.png", "right.png")
    assert 0.0 < seam.rms_mm < 0.03
    said = [note.text for note in joined_halves().scale.notes if note.code == "seam"]
    assert len(said) == 1
    assert f"{seam.rms_mm:.3f} mm" in said[0]


def test_a_part_across_the_seam_comes_out_whole() -> None:
    left, _ = halves()
    sheet_joined, plan = joined_halves(), sheet()
    picks = tuple(
        PartPick(part.name, (tuple(sheet_joined.to_sheet([left.pixel(*at)], 1)[0].tolist()),))
        for part in plan.parts
        for at in [part.pick if part.name != "former" else (53.0, 33.0)]
        if part.name in ("rib", "former")
    )
    trace = trace_picks(sheet_joined.page, sheet_joined.scale, picks)
    found = {part.name: part.outline for part in trace.parts}
    true = {part.name: part.outline for part in plan.parts}
    pose = aligning_pose(found, true)
    assert sorted(found) == ["former", "rib"]
    for name, outline in found.items():
        measured = compare(outline.placed(pose), true[name])
        assert measured.worst_mm < SEAM_MM
        assert measured.mean_mm < SEAM_MEAN_MM
        assert measured.area_error < SEAM_AREA


def test_four_scans_close_up_though_one_lies_upside_down_and_one_sideways() -> None:
    plan = sheet()
    pieces = tuple(
        piece(plan, window, name=f"{name}.png", skew_deg=skew, turns=turns, seed=n)
        for n, ((name, window), skew, turns) in enumerate(
            zip(QUARTERS.items(), (0.0, 1.0, -1.4, 0.5), (0, 2, 1, 0), strict=True)
        )
    )
    lengths = (
        known((pieces[0], 12, 10, 1), (pieces[1], 132, 10, 2), 120.0),
        known((pieces[0], 9, 16, 1), (pieces[2], 9, 96, 3), 80.0),
    )
    found = join_tiles([p.page for p in pieces], lengths)
    corners, true = true_corners(pieces)
    assert rigid_misfit(np.vstack([found.to_mm(c, n) for n, c in enumerate(corners, start=1)]), true) < MOVE_MM
    assert len(found.seams) >= 4
    assert max(seam.rms_mm for seam in found.seams) < 0.03


def test_scans_of_two_resolutions_are_joined() -> None:
    plan = sheet()
    left = piece(plan, WINDOWS["left"], name="left.png")
    right = piece(plan, WINDOWS["right"], name="right.png", skew_deg=1.0, dpi=250, seed=3)
    found = join_tiles((left.page, right.page), (known((left, 12, 10, 1), (right, 132, 10, 2), 120.0),))
    corners, true = true_corners((left, right))
    assert rigid_misfit(np.vstack([found.to_mm(c, n) for n, c in enumerate(corners, start=1)]), true) < MOVE_MM
    assert found.scale.px_per_mm == pytest.approx(250 / 25.4, rel=1e-3)


def other_sheet() -> Plan:
    plan = Plan("other", 100.0, 90.0)
    for n, words in enumerate(("FUSELAGE", "SPAR 5 X 3", "PLY", "NOSE BLOCK", "KEEL")):
        plan.text(words, 40 + 5 * (n % 3), 80 - 16 * n, height=5.0)
        plan.line((10 + 3 * n, 74 - 16 * n), (80 - 4 * n, 70 - 15 * n))
    return plan.settled()


def test_a_scan_that_shares_nothing_with_the_rest_is_named() -> None:
    left, right = halves()
    stray = piece(other_sheet(), (0, 0, 100, 90), name="stray.png")
    with pytest.raises(ScanError, match=r"stray\.png shares no line work"):
        join_tiles((left.page, stray.page, right.page))


def test_scans_that_only_share_a_repeating_pattern_are_refused() -> None:
    plan = Plan("grid", 140.0, 60.0)
    for x in range(10, 131, 10):
        for y in (10, 25, 40):
            plan.line((x, y), (x + 6, y), (x + 6, y + 9), (x, y + 4), (x, y))
    plan = plan.settled()
    left = piece(plan, (0, 0, 92, 60), name="left.png")
    right = piece(plan, (48, 0, 140, 60), name="right.png", seed=2)
    with pytest.raises(ScanError, match=r"left\.png and right\.png fit each other in more than one place"):
        join_tiles((left.page, right.page))


def test_lines_that_all_run_one_way_join_nothing() -> None:
    plan = Plan("stringers", 140.0, 60.0)
    for y in (10, 18, 30, 45):
        plan.line((5, y), (135, y))
    plan.text("LEFT", 18, 53, height=4.0)
    plan.text("RIGHT", 120, 53, height=4.0)
    plan = plan.settled()
    left = piece(plan, (0, 0, 92, 60), name="left.png")
    right = piece(plan, (48, 0, 140, 60), name="right.png", seed=2)
    with pytest.raises(ScanError, match=r"left\.png|right\.png"):
        join_tiles((left.page, right.page))


def test_a_sheet_that_slipped_under_the_lamp_shows_in_the_seam() -> None:
    left, right = halves()
    found = join_tiles((left.page, slipped(right.page, 6)))
    assert found.seams[0].rms_mm > 0.06
    told = {note.code: note.state for note in found.scale.notes if note.code in ("seam", "torn")}
    assert told == {"seam": "fixed", "torn": "open"}


def test_a_sheet_that_lay_uneven_shows_in_the_seam() -> None:
    left, right = halves()
    found = join_tiles((left.page, uneven(right.page, 0.3, seed=3)))
    assert found.seams[0].rms_mm > 0.06
    assert [note.state for note in found.scale.notes if note.code == "seam"] == ["open"]


def test_a_known_dimension_that_contradicts_the_others_is_named() -> None:
    left, right = halves()
    good = known((left, 9, 16, 1), (left, 9, 96, 1), 80.0)
    bad = known((left, 12, 10, 1), (right, 132, 10, 2), 126.0)
    with pytest.raises(ScaleError, match=r"126|axes"):
        join_tiles((left.page, right.page), (good, bad))


def test_a_known_dimension_on_a_file_that_is_not_there_is_refused() -> None:
    left, right = halves()
    with pytest.raises(ScaleError, match="names file 3"):
        join_tiles((left.page, right.page), (known((left, 12, 10, 1), (right, 132, 10, 3), 120.0),))


def test_without_a_known_dimension_no_size_is_claimed() -> None:
    left, right = halves()
    found = join_tiles((left.page, right.page))
    assert not found.scale.is_true_size
    assert join_tiles((left.page, right.page), accepts_stated_size=True).scale.is_true_size


def test_the_working_picture_does_not_move_a_line() -> None:
    """The centre of a line, weighed on the scan and on the joined picture (by OpenCV's moments), is the same place."""
    left, _ = halves()
    sheet_joined = joined_halves()
    assert left.page.grey is not None
    assert sheet_joined.page.grey is not None
    for x, y in ((9.0, 30.0), (4.0, 60.0)):  # on the upright check line; on the frame's left side
        here = np.round(left.pixel(x, y)).astype(int)
        there = np.round(sheet_joined.to_sheet([here], 1)[0]).astype(int)
        on_scan = column_of_line(left.page.grey, here)
        moved = sheet_joined.to_sheet([(on_scan, here[1])], 1)[0]
        assert moved[0] == pytest.approx(column_of_line(sheet_joined.page.grey, there), abs=PICTURE_PX)


def column_of_line(picture: np.ndarray, at: np.ndarray) -> float:
    window = 255 - picture[at[1] - 5 : at[1] + 6, at[0] - 7 : at[0] + 8].astype(np.float32)
    window[window < 40] = 0
    moments = cv2.moments(window)
    return float(at[0] - 7 + moments["m10"] / moments["m00"])


@pytest.mark.slow
def test_scans_that_contradict_each_other_round_a_ring_are_refused_with_the_seam(monkeypatch) -> None:
    """```
    upper left  --- upper right
        |               |         each seam fits by itself, but that of the lower two lies 3 mm off:
    lower left  -/- lower right   the ring of four does not close.
    ```"""
    plan = sheet()
    pieces = [piece(plan, window, name=f"{name}.png", seed=n) for n, (name, window) in enumerate(QUARTERS.items())]

    def slipped(one: Tile, other: Tile, move: np.ndarray) -> Seam | None:
        seam = measured_seam(one, other, move)
        if seam is None or (one.page.name, other.page.name) != ("lower left.png", "lower right.png"):
            return seam
        return replace(seam, on_second=seam.on_second + np.array([0.0, 3.0]))

    monkeypatch.setattr("vectorize.scale.joined.join.measured_seam", slipped)
    with pytest.raises(ScanError, match=r"miss each other by \d\.\d mm once all scans are joined, so one of them"):
        join_tiles([p.page for p in pieces])
