"""Measure how well acute tips are found: errors at the tip by angle, drawn as pens end, on freshly drawn sheets.

`python -m tests.benchmarks.tips [--sheets 60] [--seed 1000]`

Seeds below 1000 were tuned on. A tip's error is how far outline and truth lie from each other within `NEAR_MM` of it.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np
import shapely

from fixtures.drawn_tips import Tip, TipSheet, tip_sheet
from vectorize.basics.errors import SheetwoodError
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.known import KnownDimension
from vectorize.shapes.outline import Outline
from vectorize.trace.trace_page import PartPick, trace_picks

NEAR_MM = 8.0
STEP_MM = 0.05
CLOSE_MM, RIGHT_MM = 0.1, 0.3
LOST_MM = 99.0


@dataclass(frozen=True, slots=True)
class Score:
    """One tip: how it was drawn, how far off it is, whether its part is left open, and its stated sigma of the edge."""

    tip: Tip
    off_mm: float
    is_open: bool
    sigma_mm: float


def main() -> None:
    """Print what share of the tips is right, by angle, by thickness, by what stands beside them and by pens' ends."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sheets", type=int, default=60, help="how many sheets of three tips")
    parser.add_argument("--seed", type=int, default=1000, help="the first of their seeds")
    options = parser.parse_args()
    with ProcessPoolExecutor(max_workers=2) as pool:
        seeds = range(options.seed, options.seed + options.sheets)
        scores = [score for found in pool.map(scores_of, seeds) for score in found]
    print("| tips | count | within 0.1 mm | within 0.3 mm | wrong, not said | wrong, open | right, open | in 2 sigma |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    rows: dict[str, list[Score]] = defaultdict(list)
    for score in scores:
        for kind in _kinds(score.tip):
            rows[kind].append(score)
    for kind in sorted(rows):
        print(_row(kind, rows[kind]))
    print(_row("all", scores))


def scores_of(seed: int) -> list[Score]:
    """Return the scores of the tips of one sheet; what was not found is `LOST_MM` off and open."""
    sheet = tip_sheet(seed)
    try:
        return _scores(sheet)
    except SheetwoodError:
        return [Score(tip, LOST_MM, True, 0.0) for tip in sheet.tips]


def _scores(sheet: TipSheet) -> list[Score]:
    truth, (height, width) = sheet.truth, sheet.picture.shape
    page = Page(name="tips.png", number=1, count=1, grey=sheet.picture, strokes=(), width=width, height=height)
    scale = fit_scale(page, [KnownDimension(a, b, length) for a, b, length in truth.known])
    trace = trace_picks(page, scale, [PartPick(name, (pick,)) for name, pick in truth.picks.items()])
    parts = {part.name: part for part in trace.parts}
    opened = {note.part for note in trace.notes if note.state == "open"}
    scores = []
    for tip in sheet.tips:
        if (part := parts.get(tip.name)) is None:
            scores.append(Score(tip, LOST_MM, True, 0.0))
            continue
        drawn = np.array([*truth.outlines[tip.name].exterior.flattened(0.002)])
        true = shapely.LinearRing(scale.to_mm(truth.map.to_pixels(drawn)))
        at = scale.to_mm(truth.map.to_pixels(np.array([tip.at])))[0]
        off = tip_off_mm(part.outline, true, at)
        scores.append(Score(tip, off, tip.name in opened, part.sigma_edge_mm))
    return scores


def tip_off_mm(outline: Outline, true: shapely.LinearRing, at: np.ndarray) -> float:
    """Return how far an outline and the true ring lie from each other near a tip; `LOST_MM` where neither comes near.

    The farther of the two ways: outline to truth, truth to outline.
    """
    traced = shapely.LinearRing(outline.exterior.flattened(0.002))
    offs = [shapely.distance(_near(one, at), other) for one, other in ((traced, true), (true, traced))]
    return max((float(off.max()) if len(off) else LOST_MM) for off in offs)


def _near(ring: shapely.LinearRing, at: np.ndarray) -> np.ndarray:
    along = shapely.line_interpolate_point(ring, np.arange(0.0, ring.length, STEP_MM))
    points = np.concatenate([along, shapely.points(shapely.get_coordinates(ring))])
    return points[shapely.distance(points, shapely.Point(at)) <= NEAR_MM]


def _kinds(tip: Tip) -> Iterable[str]:
    low = 10 * int(tip.angle_deg // 10)
    yield f"angle {low:02d} to {low + 10}"
    yield "end " + ("sharp" if tip.blunt_mm == 0.0 else "within the pen" if tip.blunt_mm < tip.pen_mm else "wider")
    yield f"beside: {tip.company}"
    yield f"pen {tip.ends}, " + ("short" if min(tip.led_on_mm) < 0 else "led on" if max(tip.led_on_mm) > 0 else "exact")


def _row(kind: str, scores: list[Score]) -> str:
    off = np.array([score.off_mm for score in scores])
    is_open = np.array([score.is_open for score in scores])
    inside = np.array([score.off_mm <= 2 * score.sigma_mm + CLOSE_MM for score in scores])
    shares = f"{np.mean(off < CLOSE_MM):.2f} | {np.mean(off < RIGHT_MM):.2f}"
    wrong = off >= RIGHT_MM
    counts = f"{np.sum(wrong & ~is_open)} | {np.sum(wrong & is_open)} | {np.sum(~wrong & is_open)}"
    return f"| {kind} | {len(scores)} | {shares} | {counts} | {np.mean(inside):.2f} |"


if __name__ == "__main__":
    main()
