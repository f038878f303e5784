"""Measure whether stated uncertainties are true: errors over sigma on freshly drawn and worn sheets.

`python -m tests.benchmarks.certainty [--sheets 200] [--seed 1]`

A sigma is honest when area and 95 % of edge points lie inside two of them for at least 93 % of parts,
and when the root mean square of error over sigma lies between 0.7 and 1.2: neither too bold nor hiding
behind wide bars.
"""

from __future__ import annotations

import argparse
import math
import tempfile
from pathlib import Path
from typing import NamedTuple

import numpy as np
from PIL import Image

from fixtures import shapes
from fixtures.compare import aligning_pose, distances
from fixtures.drawing import Plan, moved
from fixtures.scanning import Truth, Wear, scan


class Score(NamedTuple):
    """One traced part: error of area over its sigma, edge errors over theirs (root mean square, share inside two)."""

    area: float
    edge_rms: float
    edge_inside: float


def main() -> None:
    """Print the shares and the root mean squares."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sheets", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    scores: list[Score] = []
    lost = 0
    for number in range(options.sheets):
        found, parts = sheet_scores(options.seed * 100_000 + number)
        scores.extend(found)
        lost += parts - len(found)
    area = np.array([score.area for score in scores])
    edge = np.array([score.edge_rms for score in scores])
    inside = np.array([score.edge_inside for score in scores])
    print(f"{len(scores)} parts on {options.sheets} sheets, {lost} not found")
    print(f"area inside two sigma: {np.mean(np.abs(area) < 2):.1%} of parts (at least 93 %)")
    print(f"95 % of edge points inside two sigma: {np.mean(inside >= 0.95):.1%} of parts (at least 93 %)")
    print(f"root mean square of error over sigma: area {_rms(area):.2f}, edge {_rms(edge):.2f} (0.7 to 1.2)")


def sheet_scores(seed: int) -> tuple[list[Score], int]:
    """Draw, wear, scan and trace one sheet; return its scores and how many parts it holds."""
    from vectorize.errors import SheetwoodError
    from vectorize.scale import KnownDimension, fit_scale
    from vectorize.scan import read_page
    from vectorize.trace import PartPick, trace_picks

    rng = np.random.default_rng(seed)
    picture, truth = scan(random_sheet(rng), random_wear(rng), seed)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "plan.png"
        Image.fromarray(picture).save(file, compress_level=1)
        page = read_page(file)
    try:
        # A person clicks an end to about half a pixel.
        known = [KnownDimension(_click(a, rng), _click(b, rng), length) for a, b, length in truth.known]
        picks = [PartPick(name, (pick,)) for name, pick in truth.picks.items()]
        parts = trace_picks(page, fit_scale(page, known), picks).parts
    except SheetwoodError:
        return [], len(truth.outlines)
    return _scored(parts, truth), len(truth.outlines)


def _scored(parts, truth: Truth) -> list[Score]:
    pose = aligning_pose({part.name: part.outline for part in parts}, truth.outlines)
    scores = []
    for part in parts:
        true = truth.outlines[part.name]
        error = part.outline.area_mm2 - true.area_mm2
        if abs(error) > 0.05 * true.area_mm2:
            continue
        away = distances(part.outline.placed(pose), true) / part.sigma_edge_mm
        scores.append(Score(error / part.sigma_area_mm2, _rms(away), float(np.mean(away < 2))))
    return scores


def random_sheet(rng: np.random.Generator) -> Plan:
    """Return a sheet of four parts of random size, with two check lines."""
    plan = Plan("random", 150.0, 110.0)
    plan.check((12.0, 8.0), (132.0, 8.0), "120")
    plan.check((7.0, 14.0), (7.0, 104.0), "90")
    size = rng.uniform(0.8, 1.15, 4)
    pen = float(rng.uniform(0.25, 0.6))
    plan.part("rib", moved(shapes.rib(105 * size[0], 14 * size[0], notches=((40.0, 4.0, 4.0),)), 18, 82), pen=pen)
    plan.part("tip", moved(shapes.tip(36 * size[1], 50 * size[1]), 20, 18), pen=pen)
    plan.part("firewall", moved(shapes.firewall(16 * size[2]), 86, 46), pen=pen)
    gusset = shapes.gusset(26 * size[3], 20 * size[3])
    plan.part("gusset", moved(gusset, 114, 24, angle_deg=float(rng.uniform(-5, 5))), pen=pen)
    return plan.settled()


def random_wear(rng: np.random.Generator) -> Wear:
    """Return anything from a clean scan to a worn one."""
    paper = int(rng.integers(210, 250))
    return Wear(
        dpi=float(rng.choice([150, 200, 250, 300])),
        skew_deg=float(rng.normal(0, 0.8)),
        axes=(float(rng.normal(0, 0.003)), float(rng.normal(0, 0.003))),
        blur_px=float(rng.uniform(0.4, 1.0)),
        noise=float(rng.uniform(1, 7)),
        texture=float(rng.uniform(0, 0.04)),
        folds=int(rng.integers(0, 3)),
        light=float(rng.uniform(0, 0.3)),
        paper=(paper,) * 3,
        ink=(int(rng.integers(30, 100)),) * 3,
        jpeg_quality=int(rng.choice([40, 60, 80, 95])),
    )


def _click(point: tuple[float, float], rng: np.random.Generator) -> tuple[float, float]:
    dx, dy = rng.normal(0, 0.5, 2)
    return point[0] + float(dx), point[1] + float(dy)


def _rms(values: np.ndarray) -> float:
    return math.sqrt(float(np.mean(np.square(values)))) if len(values) else math.nan


if __name__ == "__main__":
    main()
