"""A leftover board photographed on a sheet: drawn here, seen through a known perspective."""

import cv2
import numpy as np
import pytest

from vectorize.basics.errors import ScaleError, ScanError
from vectorize.page import Page
from vectorize.shapes.outline import Outline, Pose
from vectorize.trace.leftover import leftover_outline

SHEET_MM = (297.0, 210.0)
PX_PER_MM = 5.0
FINER = 8
BOARD = Outline.from_points([(60, 50), (240, 58), (236, 120), (150, 116), (148, 140), (57, 136)])
WORST_MM = 0.8  # what is asked of a photo, flattened
AREA_SHARE = 0.006


def photo(*, is_board_there=True):
    """Return a grey photo of a white sheet on a dark table with a board of wood on it, seen aslant."""
    width, height = (round(side * PX_PER_MM) for side in SHEET_MM)
    fine = np.full((height * FINER, width * FINER), 236, np.uint8)  # the filler widens a shape by half of its pixels
    if is_board_there:
        points = BOARD.exterior.flattened(0.1) * [PX_PER_MM, -PX_PER_MM] + [0, height]
        cv2.fillPoly(fine, [np.round(points * FINER - 0.5).astype(np.int32)], 150)
    sheet = cv2.resize(fine, (width, height), interpolation=cv2.INTER_AREA)
    seen = np.array([(210, 180), (1750, 120), (1820, 1330), (130, 1240)], np.float32)
    flat = np.array([(0, 0), (width, 0), (width, height), (0, height)], np.float32) - 0.5
    slant = cv2.getPerspectiveTransform(flat, np.array(seen, np.float32))
    table = cv2.warpPerspective(sheet, slant, (1960, 1480), borderValue=52, flags=cv2.INTER_AREA)
    noise = np.random.default_rng(4).normal(0, 2.0, table.shape)
    grey = np.clip(cv2.GaussianBlur(table, (0, 0), 0.8) + noise, 0, 255).astype(np.uint8)
    return Page("leftover.jpg", 1, 1, grey, (), grey.shape[1], grey.shape[0])


def test_the_outline_of_a_photographed_board_is_true_to_the_saw_cut():
    traced, _ = leftover_outline(photo(), sheet_mm=SHEET_MM)
    found = traced.outline
    assert found.area_mm2 == pytest.approx(BOARD.area_mm2, rel=AREA_SHARE)
    (x, y), (tx, ty) = found.centroid, BOARD.centroid
    moved = found.placed(Pose(tx - x, ty - y)).to_polygon()
    assert moved.hausdorff_distance(BOARD.to_polygon()) < WORST_MM


def test_a_sheet_with_nothing_on_it_and_a_picture_without_size_are_refused():
    with pytest.raises(ScanError, match="nothing stands out"):
        leftover_outline(photo(is_board_there=False), sheet_mm=SHEET_MM)
    with pytest.raises(ScaleError):
        leftover_outline(photo())


def test_corners_that_lie_off_the_picture_are_refused():
    away = [(50_210, 180), (51_750, 120), (51_820, 1330), (50_130, 1240)]
    with pytest.raises(ScaleError, match="outside of the picture"):
        leftover_outline(photo(), sheet_mm=SHEET_MM, corners=away)
