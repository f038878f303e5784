"""Trace the whole set of drawn cases and print how far each lies from its truth.

`python -m tests.benchmarks.trace [--seeds 5] [--cases NAME …] [--group GROUP] [--markdown]`

Each case runs in a process of its own, so that its peak memory is its own.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from dataclasses import asdict, dataclass
from pathlib import Path
from statistics import median
from typing import Any

from fixtures.cases import CASES, GROUPS, Sample, case
from fixtures.compare_traces import aligning_pose, compare
from fixtures.draw_sedge import draw_sedge_scan

FOUND_AREA_SHARE = 0.05
"""A traced part counts as found when its area is within this share of the truth and no edge is far off."""
FOUND_EDGE_MM = 3.0


@dataclass(frozen=True, slots=True)
class Result:
    """One case with one seed. Distances in mm over the parts found; area as a share; -1 where nothing was found."""

    parts: int
    found: int
    false_parts: int
    worst_mm: float
    mean_mm: float
    corner_mm: float
    area_error: float
    segments: int
    seconds: float
    peak_mb: float
    remarks: tuple[str, ...]


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", type=int, default=1, help="how many seeds of each case")
    parser.add_argument("--first-seed", type=int, default=1, help="the first of them")
    parser.add_argument("--cases", nargs="*", default=[], help="names of cases; default all")
    parser.add_argument("--group", choices=GROUPS, help="only the cases of one group")
    parser.add_argument("--no-candidates", action="store_true", help="leave out the search without picks")
    parser.add_argument("--remarks", action="store_true", help="print why parts were not found")
    parser.add_argument("--worker", nargs=2, metavar=("CASE", "SEED"), help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.worker:
        name, seed = options.worker
        print(json.dumps(asdict(run_case(name, int(seed), searches=not options.no_candidates))))
        return
    names = options.cases or [c.name for c in CASES if options.group in (None, c.group)]
    if not options.cases and options.group is None:
        names = ["sedge", *names]
    print("| case | found | false among first N | worst mm | mean mm | corner mm | area % | segments | s | MB |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    for name in names:
        seeds = range(options.first_seed, options.first_seed + options.seeds)
        results = [_in_process(name, seed, options.no_candidates) for seed in seeds]
        print(_row(name, results), flush=True)
        if options.remarks:
            for remark in sorted({r for result in results for r in result.remarks}):
                print(f"    {remark}", flush=True)


def run_case(name: str, seed: int, *, searches: bool) -> Result:
    """Make a case, read, scale and trace it from one pick for each part, and compare."""
    with tempfile.TemporaryDirectory() as folder:
        sample = sedge_sample(Path(folder), seed) if name == "sedge" else case(name).make(Path(folder), seed)
        begin = time.perf_counter()
        outlines, remarks, candidates = trace_sample(sample, searches=searches)
        seconds = time.perf_counter() - begin
    pose = aligning_pose(outlines, sample.truth.outlines)
    found = []
    for part, outline in outlines.items():
        measured = compare(outline.placed(pose), sample.truth.outlines[part])
        if measured.area_error <= FOUND_AREA_SHARE and measured.worst_mm <= FOUND_EDGE_MM:
            found.append(measured)
        else:
            remarks.append(f"{part}: {measured.worst_mm:.2f} mm and {measured.area_error:.1%} of area off")
    total = len(sample.truth.outlines)
    return Result(
        parts=total,
        found=len(found),
        false_parts=sum(not _is_true(c.placed(pose), sample) for c in candidates[:total]) if searches else -1,
        worst_mm=max((m.worst_mm for m in found), default=-1.0),
        mean_mm=max((m.mean_mm for m in found), default=-1.0),
        corner_mm=max((m.corner_mm for m in found), default=-1.0),
        area_error=max((m.area_error for m in found), default=-1.0),
        segments=sum(m.segments for m in found),
        seconds=seconds,
        peak_mb=resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
        remarks=tuple(remarks),
    )


def sedge_sample(folder: Path, seed: int) -> Sample:
    """Return the demonstration's plan, scanned afresh."""
    from PIL import Image

    picture, truth = draw_sedge_scan(seed)
    file = folder / "plan.jpg"
    Image.fromarray(picture).save(file, quality=82, dpi=(200, 200))
    return Sample((file,), truth, {n: (*p, 1) for n, p in truth.picks.items()}, truth.known)


def trace_sample(sample: Sample, *, searches: bool) -> tuple[dict[str, Any], list[str], list[Any]]:
    """Return traced outlines by name, remarks, and the candidates that are offered without picks."""
    from fixtures.opening import opened
    from vectorize.basics.errors import SheetwoodError
    from vectorize.trace.trace_page import find_candidates, trace_picks

    try:
        plan = opened(sample)
        trace = trace_picks(plan.page, plan.scale, plan.picks, plan.settings)
        candidates = find_candidates(plan.page, plan.scale, plan.settings).parts if searches else ()
    except SheetwoodError as error:
        return {}, [str(error)], []
    remarks = [f"{note.part}: {note.text}" for note in trace.notes if note.state == "open"]
    return {part.name: part.outline for part in trace.parts}, remarks, [part.outline for part in candidates]


def _is_true(candidate: Any, sample: Sample) -> bool:
    """Whether a candidate is one of the parts: nearly the same exterior, whatever its cut-outs."""
    from vectorize.shapes.outline import Outline

    shape = Outline(candidate.exterior).to_polygon(0.05)
    for outline in sample.truth.outlines.values():
        true = Outline(outline.exterior).to_polygon(0.05)
        both = shape.buffer(0).intersection(true).area
        if both > 0.95 * max(shape.area, true.area):
            return True
    return False


def _in_process(name: str, seed: int, no_candidates: bool) -> Result:
    command = [sys.executable, "-m", "tests.benchmarks.trace", "--worker", name, str(seed)]
    if no_candidates:
        command.append("--no-candidates")
    run = subprocess.run(command, capture_output=True, text=True, check=False)
    if run.returncode != 0:
        last = run.stderr.strip().splitlines()[-1] if run.stderr.strip() else f"exit {run.returncode}"
        return Result(0, 0, -1, -1, -1, -1, -1, 0, 0, 0, (f"failed: {last}",))
    data = json.loads(run.stdout.splitlines()[-1])
    return Result(**{**data, "remarks": tuple(data["remarks"])})


def _row(name: str, results: list[Result]) -> str:
    """Return one line: counts summed, the worst of distances and areas, the median of time, the peak of memory."""
    found, parts = sum(r.found for r in results), sum(r.parts for r in results)
    false_parts = "-" if any(r.false_parts < 0 for r in results) else str(max(r.false_parts for r in results))
    cells = [
        name,
        f"{found}/{parts}",
        false_parts,
        f"{max(r.worst_mm for r in results):.3f}",
        f"{max(r.mean_mm for r in results):.3f}",
        f"{max(r.corner_mm for r in results):.3f}",
        f"{100 * max(r.area_error for r in results):.3f}",
        f"{median(r.segments for r in results):.0f}",
        f"{median(r.seconds for r in results):.1f}",
        f"{max(r.peak_mb for r in results):.0f}",
    ]
    return "| " + " | ".join(cells) + " |"


if __name__ == "__main__":
    main()
