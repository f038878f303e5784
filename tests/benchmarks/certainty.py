"""Measure whether stated uncertainties are true: errors over sigma on freshly drawn and worn sheets.

`python -m tests.benchmarks.certainty [--sheets 198] [--seed 1000] [--no-fixtures]`

A sigma is honest when area and 95 % of edge points lie inside two of them for at least 93 % of parts,
and when the root mean square of error over sigma lies between 0.7 and 1.2: neither too bold nor hiding
behind wide bars. The ends of known dimensions are clicked as a person does, `CLICK_PX` off. Errors are
those of the part itself: it is laid on the true one, as it will be when it is cut.
"""

from __future__ import annotations

import argparse
import math
import tempfile
from collections import defaultdict
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

from fixtures.cases import CASES, Sample, case
from fixtures.compare_traces import aligning_pose, distances
from fixtures.opening import opened
from fixtures.random_sheets import CLICK_PX, KINDS, clicked, random_sheet
from vectorize.basics.errors import SheetwoodError
from vectorize.scale.known import DRAWN_PICK_SIGMA
from vectorize.shapes.outline import Outline, Pose
from vectorize.shapes.segment import Point
from vectorize.trace.trace_page import trace_picks

WRONG_MM = 1.0
"""An outline that is off by so much somewhere is not unsure but wrong: it is counted as lost."""


@dataclass(frozen=True, slots=True)
class Score:
    """One traced part: error of area over its sigma, edge errors over theirs (root mean square, share inside two)."""

    kind: str
    area: float
    edge_rms: float
    edge_inside: float


@dataclass(frozen=True, slots=True)
class Tally:
    """The scores of a sheet, and how many of its parts were not found or found wrong."""

    scores: tuple[Score, ...]
    lost: int


def main() -> None:
    """Print the shares and the root mean squares, of all and by kind of wear."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sheets", type=int, default=198, help="how many random sheets")
    parser.add_argument("--seed", type=int, default=1000, help="the first of their seeds")
    parser.add_argument("--no-fixtures", action="store_true", help="only the random sheets")
    options = parser.parse_args()
    jobs = [(KINDS[k % len(KINDS)], options.seed + k // len(KINDS)) for k in range(options.sheets)]
    with ProcessPoolExecutor(max_workers=2) as pool:
        tallies = list(pool.map(random_scores, *zip(*jobs, strict=True)))
        if not options.no_fixtures:
            cases = [(one.name, one.group, options.seed) for one in CASES]
            tallies += pool.map(case_scores, *zip(*cases, strict=True))
    by_kind = defaultdict(list)
    for score in (score for tally in tallies for score in tally.scores):
        by_kind[score.kind].append(score)
    print("| sheets | parts | area in 2 sigma | edge in 2 sigma | area rms | edge rms |")
    print("| --- | --- | --- | --- | --- | --- |")
    for kind, scores in by_kind.items():
        print(_row(kind, scores))
    print(_row("all", [score for scores in by_kind.values() for score in scores]))
    print(f"{sum(tally.lost for tally in tallies)} parts were not found, or lie {WRONG_MM:g} mm off somewhere.")


def random_scores(kind: str, seed: int) -> Tally:
    """Draw, wear, scan and trace one random sheet."""
    sheet = random_sheet(kind, seed)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "plan.png"
        Image.fromarray(sheet.picture).save(file, compress_level=1)
        picks = {name: (*pick, 1) for name, pick in sheet.truth.picks.items()}
        return _scored(kind, Sample((file,), sheet.truth, picks, sheet.known))


def case_scores(name: str, group: str, seed: int) -> Tally:
    """Trace one of the frozen cases, its known dimensions and corners clicked; those of a drawing are read off it."""
    rng = np.random.default_rng([seed, *name.encode()])
    spread = DRAWN_PICK_SIGMA if group == "vector" else CLICK_PX
    with tempfile.TemporaryDirectory() as folder:
        return _scored(group, case(name).make(Path(folder), 1), click=lambda at: clicked(at, rng, spread))


def _scored(kind: str, sample: Sample, *, click: Callable[[Point], Point] = lambda at: at) -> Tally:
    truth = sample.truth
    try:
        plan = opened(sample, click=click)
        parts = trace_picks(plan.page, plan.scale, plan.picks, plan.settings).parts
    except SheetwoodError:
        return Tally((), len(truth.outlines))
    if not parts:
        return Tally((), len(truth.outlines))
    pose = aligning_pose({part.name: part.outline for part in parts}, truth.outlines)
    scores = []
    for part in parts:
        true = truth.outlines[part.name]
        away = edge_errors(part.outline.placed(pose), true)
        if len(part.outline.cutouts) != len(true.cutouts) or away.max() > WRONG_MM:
            continue
        z, error = away / part.sigma_edge_mm, part.outline.area_mm2 - true.area_mm2
        scores.append(Score(kind, error / part.sigma_area_mm2, _rms(z), float(np.mean(z < 2))))
    return Tally(tuple(scores), len(truth.outlines) - len(scores))


def edge_errors(outline: Outline, true: Outline) -> np.ndarray:
    """Return how far points of both edges lie from the other, in mm, with the centroids laid on each other."""
    (x, y), (tx, ty) = outline.centroid, true.centroid
    return np.asarray(distances(outline.placed(Pose(tx - x, ty - y)), true))


def _row(kind: str, scores: list[Score]) -> str:
    area, edge = [score.area for score in scores], [score.edge_rms for score in scores]
    inside = (np.mean(np.abs(area) < 2), np.mean([score.edge_inside >= 0.95 for score in scores]))
    return f"| {kind} | {len(scores)} | {inside[0]:.1%} | {inside[1]:.1%} | {_rms(area):.2f} | {_rms(edge):.2f} |"


def _rms(values: Iterable[float] | np.ndarray) -> float:
    values = np.asarray(list(values))
    return math.sqrt(float(np.mean(np.square(values)))) if len(values) else math.nan


if __name__ == "__main__":
    main()
