"""How badly scans fit is part of how sure an outline says it is."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from fixtures.compare_traces import aligning_pose
from tests.benchmarks.certainty import edge_errors
from tests.vectorize.scale.joined.scan_pieces import WINDOWS, known, piece, sheet, slipped
from vectorize.fit.edge_uncertainty import uncertainty
from vectorize.scale.joined import join_tiles
from vectorize.scale.joined.seam_uncertainty import Placed, SeamDoubt, SeamMisfit
from vectorize.scale.plan_scale import PlanScale
from vectorize.scale.scale_uncertainty import SizeDoubt
from vectorize.shapes.outline import Outline
from vectorize.trace.trace_page import PartPick, trace_picks

PX_PER_MM = 10.0


def doubt() -> SeamDoubt:
    """```
      0         60 80        140       200 mm, three scans 100 mm high:
      |--- a ---|--|
                |--|--- b ----|--|        a and b miss by 0.03 mm,
                              |--- c ---| b and c by 0.2 mm
    ```"""
    places = tuple(
        Placed(name, (800, 1000), np.array([[1.0, 0.0, x * PX_PER_MM], [0.0, 1.0, 0.0]]))
        for name, x in (("a", 0.0), ("b", 60.0), ("c", 120.0))
    )
    return SeamDoubt(places, (SeamMisfit("a", "b", 0.03, 0.05), SeamMisfit("b", "c", 0.2, 0.3)), PX_PER_MM)


def box(x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    """Return points a millimetre apart round a box given in mm, in pixels."""
    across, down = np.arange(x0, x1), np.arange(y0, y1)
    sides = [(x, y) for x in across for y in (y0, y1)] + [(x, y) for y in down for x in (x0, x1)]
    return np.array(sides) * PX_PER_MM


@pytest.mark.parametrize(
    ("part", "misfit_mm", "joint_mm"),
    [
        ((5, 20, 50, 40), 0.03, 0.0),  # on a alone
        ((30, 20, 100, 40), 0.2, 20.0),  # on a and b: b misses c as well
        ((84, 20, 110, 40), 0.2, 0.0),  # on b alone
        ((20, 20, 180, 90), 0.2, 70.0),  # on all three
    ],
)
def test_the_worst_seam_of_the_scans_that_show_a_part_counts(
    part: tuple[float, float, float, float], misfit_mm: float, joint_mm: float
) -> None:
    misfit, joint = doubt().across(box(*part))
    assert misfit == pytest.approx(misfit_mm)
    if part[2] - part[0] > 100:
        assert joint >= joint_mm  # from one seam to the other
    else:
        assert joint == pytest.approx(joint_mm, abs=1.0)


def test_what_seams_miss_by_is_added_to_what_else_is_in_doubt() -> None:
    plain = PlanScale(np.diag([0.1, 0.1, 1.0]), (0.1, 0.1), 0.0, (200.0, 100.0), doubt=SizeDoubt.alike(2e-4))
    joined = replace(plain, seams=doubt())
    outline = Outline.rectangle(30, 20, 100, 40)
    edge, area = uncertainty(outline, plain, spread_mm=0.02)
    assert uncertainty(outline, joined, spread_mm=0.02) == pytest.approx(
        (math.hypot(edge, 0.2), math.hypot(area, 0.2 * 20)), rel=0.02
    )


@pytest.mark.parametrize(("step_px", "least_bare", "most", "most_added_mm"), [(0, 0.0, 1.2, 0.02), (4, 2.0, 1.3, 0.3)])
def test_outlines_on_a_scan_that_slipped_stay_honest_and_those_on_good_scans_as_sure(
    step_px: int, least_bare: float, most: float, most_added_mm: float
) -> None:
    plan = sheet()
    left = piece(plan, WINDOWS["left"], name="left.png")
    right = piece(plan, WINDOWS["right"], name="right.png", skew_deg=0.8, seed=2)
    lengths = (known((left, 12, 10, 1), (right, 132, 10, 2), 120.0), known((left, 9, 16, 1), (left, 9, 96, 1), 80.0))
    joined = join_tiles((left.page, slipped(right.page, step_px)), lengths)
    picks = [
        PartPick(part.name, (tuple(joined.to_sheet([left.pixel(*part.pick)], 1)[0].tolist()),)) for part in plan.parts
    ]
    parts = trace_picks(joined.page, joined.scale, picks).parts
    assert len(parts) >= 3
    true = {part.name: part.outline for part in plan.parts}
    pose = aligning_pose({part.name: part.outline for part in parts}, true)
    bare, stated = [], []
    for part in parts:
        away = edge_errors(part.outline.placed(pose), true[part.name])
        by_seam, _ = joined.scale.seams.across(joined.scale.to_px(part.outline.exterior.flattened()))
        assert by_seam < most_added_mm
        stated.append(away / part.sigma_edge_mm)
        bare.append(away / math.sqrt(part.sigma_edge_mm**2 - by_seam**2))
    assert rms(bare) > least_bare
    assert rms(stated) < most


def rms(values: list[np.ndarray]) -> float:
    return float(np.sqrt(np.mean(np.square(np.concatenate(values)))))
