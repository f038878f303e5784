"""The blank paper between the parts of a framed sheet is no part, however it is divided."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
import pytest

from tests.vectorize.inked_lines import Sheet, circle_points
from vectorize.faces.blank_ground import with_ground
from vectorize.faces.regions import Regions
from vectorize.faces.sheet import read_drawing
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.segment import Points
from vectorize.trace.trace_page import PartPick, trace_picks

FRAME = [(4, 4), (156, 4), (156, 96), (4, 96)]
PARTS = {
    "rib": [(12, 14), (52, 14), (52, 34), (12, 34)],
    "plate": [(72, 60), (112, 60), (112, 86), (72, 86)],
    "tip": [(105, 14), (148, 14), (136, 46), (105, 40)],
    "wing": [(12, 44), (62, 44), (62, 88), (12, 88)],
}
CREASES = [[(30, 0), (30.4, 100)], [(0, 48.3), (160, 48.0)]]


def framed(*, creases: Sequence[Sequence[tuple[float, float]]] = CREASES, frame: object = FRAME) -> Sheet:
    """Four parts in a frame, on a sheet that was folded twice:

    +----|----------+
    | +--|-+   +--+ |
    | |  | |   +--+ |
    ---------------------
    | +--|-+   +--/ |
    +----|----------+
    """
    sheet = Sheet(160, 100).shape(frame, *PARTS.values())
    for crease in creases:
        sheet.line(crease, pen_mm=0.2)
    return sheet


def read(sheet: Sheet) -> tuple[Regions, PlanScale]:
    page = sheet.page()
    scale = fit_scale(page, sheet.known())
    return read_drawing(page, scale, gap_mm=2.0).regions, scale


BLANK = [(8, 8), (90, 8), (8, 92), (66, 92), (90, 50.5), (150, 92)]


@pytest.mark.parametrize("count", [0, 1, 2])
def test_the_ground_in_a_frame_is_outside_though_creases_divide_it(count: int) -> None:
    sheet = framed(creases=CREASES[:count])
    regions, _ = read(sheet)
    assert {regions.at(sheet.pick(*at)) for at in BLANK} <= regions.outside
    middles = [np.mean(ring, axis=0) + 1.0 for ring in PARTS.values()]
    assert not {regions.at(sheet.pick(x, y)) for x, y in middles} & regions.outside


@pytest.mark.parametrize("count", [0, 2])
def test_no_pick_on_the_ground_gives_a_part(count: int) -> None:
    sheet = framed(creases=CREASES[:count])
    page = sheet.page()
    trace = trace_picks(page, fit_scale(page, sheet.known()), [PartPick("ground", (sheet.pick(90, 8),))])
    assert trace.parts == ()
    assert [note.state for note in trace.notes if note.part == "ground"] == ["open"]


def test_a_plate_over_the_whole_page_is_no_ground_though_lines_divide_it() -> None:
    sheet = Sheet(160, 100).shape(FRAME, circle_points(40, 30, 9), circle_points(120, 70, 9))
    regions, _ = read(sheet.line([(80, 0), (80, 100)], pen_mm=0.2))
    assert regions.at(sheet.pick(20, 80)) not in regions.outside
    assert regions.at(sheet.pick(140, 20)) not in regions.outside


def test_a_frame_that_a_photograph_makes_a_trapezium_is_a_frame() -> None:
    trapezium = [(4, 4), (156, 12), (146, 86), (10, 96)]
    sheet = framed(creases=(), frame=trapezium)
    regions, scale = read(sheet)
    blank = regions.at(sheet.pick(90, 12))
    unread = replace(regions, outside=frozenset({regions.at((1.0, 1.0))}))
    corners = np.array([sheet.pick(*corner) for corner in trapezium], np.float32)
    flattening = cv2.getPerspectiveTransform(corners, np.array(FRAME, np.float32))

    def flat(points: Points) -> Points:
        return cv2.perspectiveTransform(points[None].astype(np.float64), flattening)[0]

    assert blank not in with_ground(unread, scale.to_mm).outside
    assert blank in with_ground(unread, flat).outside
