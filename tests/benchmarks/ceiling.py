"""How many true parts the lines of a sheet could make at all, before anything is decided: the ceiling of tracing.

`python -m tests.benchmarks.ceiling [FOLDER …] [--seed 90000 --sheets 8] [--gap MM …] [--missing]`

For each part of sheets with truth (folders that hold a `truth.json` each, or sheets drawn in random hands), the faces
that lie mostly in it are taken together. The part can be made where they cover it and their outer boundary runs along
its outline. What is printed beside it is what all this costs: faces and edges of the sheet, and seconds for reading it.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from fixtures.hands import draw_file
from fixtures.training.examples import faces_within, opened, rings_px, truth_of
from vectorize.basics.errors import SheetwoodError
from vectorize.faces.sheet import Drawing

Floats = NDArray[np.float64]

LEAST_OVERLAP = 0.90
"""Intersection over union, cut-outs filled, from which faces cover a part."""

NEAR_MM = 0.3
"""So near its outline the boundary of the faces runs all round: the line of pixels, not yet measured or fitted."""

STEP_PX = 2.0


@dataclass(frozen=True, slots=True)
class Made:
    """What the faces of a sheet make of one true part: overlap as a share, and how far the boundaries lie apart, mm."""

    name: str
    edge: str
    overlap: float = 0.0
    away_mm: float = float("inf")

    @property
    def is_covered(self) -> bool:
        """Return whether the faces cover the part."""
        return self.overlap >= LEAST_OVERLAP

    @property
    def is_made(self) -> bool:
        """Return whether the faces make the part."""
        return self.is_covered and self.away_mm <= NEAR_MM


@dataclass(frozen=True, slots=True)
class Ceiling:
    """The parts of one sheet, and the size of what it was read as."""

    sheet: str
    parts: tuple[Made, ...]
    faces: int
    edges: int
    seconds: float


def main() -> None:
    """Print a row for each sheet, and the sum."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", nargs="*", type=Path, help="folders of sheets with truth; else sheets are drawn")
    parser.add_argument("--seed", type=int, default=90000, help="of the first sheet that is drawn")
    parser.add_argument("--sheets", type=int, default=8, help="how many are drawn, each in a hand of its own")
    parser.add_argument("--gap", type=float, help="gaps up to so many mm are bridged; default as the job has it")
    parser.add_argument("--missing", action="store_true", help="name the parts that cannot be made")
    options = parser.parse_args()
    sheets = kept(options.folders) if options.folders else drawn(options.seed, options.sheets)
    print("| sheet | parts | covered | made | faces | edges | s |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    found = []
    for name, data, truth in sheets:
        try:
            found.append(ceiling(name, data, truth, gap_mm=options.gap))
        except SheetwoodError as error:
            print(f"sheet {name} was left out: {error}")
            continue
        print(row(found[-1]), flush=True)
        for part in found[-1].parts if options.missing else ():
            if not part.is_made:
                print(f"    {part.name} ({part.edge}): overlap {part.overlap:.2f}, {part.away_mm:.2f} mm away")
    parts = tuple(part for one in found for part in one.parts)
    sums = [sum(values) for values in zip(*((one.faces, one.edges, one.seconds) for one in found), strict=True)]
    if found:
        print(row(Ceiling("all", parts, int(sums[0]), int(sums[1]), sums[2])))


def kept(folders: Iterable[Path]) -> Iterator[tuple[str, bytes, dict]]:
    """Return name, picture and truth of every sheet in or below some folders."""
    places = sorted(path.parent for folder in folders for path in folder.rglob("truth.json"))
    return ((place.name, *truth_of(place)) for place in places)


def drawn(seed: int, count: int) -> Iterator[tuple[str, bytes, dict]]:
    """Return name, picture and truth of sheets in random hands."""
    return ((str(k), *draw_file(k)) for k in range(seed, seed + count))


def ceiling(name: str, data: bytes, truth: dict, *, gap_mm: float | None = None) -> Ceiling:
    """Return what the lines of a sheet make of its true parts.

    Raises:
        SheetwoodError: It cannot be read.
    """
    before = time.process_time()
    with tempfile.TemporaryDirectory() as folder:
        drawing, scale = opened(data, truth, Path(folder), gap_mm=gap_mm)
    seconds = time.process_time() - before
    parts = tuple(made(drawing, truth, part, px_per_mm=scale.px_per_mm) for part in truth["parts"])
    regions = drawing.regions
    return Ceiling(name, parts, len(regions.area_px) - 2, len(regions.work.edges), seconds)


def made(drawing: Drawing, truth: dict, part: dict, *, px_per_mm: float) -> Made:
    """Return what the faces that lie mostly in a true part make of it."""
    rings = rings_px(truth, part)
    chosen, _, _ = faces_within(drawing.regions, rings)
    loops = drawing.regions.loops(chosen)
    if not loops:
        return Made(part["name"], part["edge"])
    largest = max(loops, key=lambda loop: loop.signed_area_px)
    if len(largest.points) < 3:
        return Made(part["name"], part["edge"])
    drawn, true = (shapely.make_valid(Polygon(points)) for points in (largest.points, rings[0]))
    overlap = shapely.intersection(drawn, true).area / shapely.union(drawn, true).area
    away = max(_farthest(largest.points, true), _farthest(rings[0], drawn)) / px_per_mm
    return Made(part["name"], part["edge"], float(overlap), away)


def _farthest(ring: Floats, other: shapely.Geometry) -> float:
    """Return how far points round a ring lie from the boundary of another shape at most, in pixels."""
    line = shapely.LinearRing(ring)
    points = shapely.line_interpolate_point(line, np.arange(0.0, line.length, STEP_PX))
    return float(np.max(shapely.distance(points, other.boundary)))


def row(one: Ceiling) -> str:
    """Return a row of the table."""
    covered, whole = (sum(getattr(part, key) for part in one.parts) for key in ("is_covered", "is_made"))
    return f"| {one.sheet} | {len(one.parts)} | {covered} | {whole} | {one.faces} | {one.edges} | {one.seconds:.1f} |"


if __name__ == "__main__":
    main()
