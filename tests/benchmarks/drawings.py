"""Measure tracing of drawings: whole sheets in random hands, and how the time grows with the number of loops.

`python -m tests.benchmarks.drawings sheets --first 5000 --count 40` traces every part of so many sheets from one pick
and tells how many were found, ready to cut, false, and wrong without a word. `... loops` traces sheets of more and more
loops and tells the time as a multiple of that of reading the same file.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import Polygon

from fixtures.hands.drawn_sheets import DrawnSheet, drawn_sheet
from vectorize.page import read_page
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.outline import Outline, Ring
from vectorize.trace.trace_page import PartPick, Trace, find_candidates, trace_picks

FOUND_SHARE = 0.9
CLOSE_MM = 0.3


def main() -> None:
    """Measure what the command line asks for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("sheets", "loops"))
    parser.add_argument("--first", type=int, default=5000, help="seed of the first sheet")
    parser.add_argument("--count", type=int, default=20, help="how many sheets")
    parser.add_argument("--verbose", action="store_true", help="tell every part that is not ready")
    asked = parser.parse_args()
    if asked.what == "sheets":
        measure_sheets(range(asked.first, asked.first + asked.count), is_verbose=asked.verbose)
    else:
        measure_loops((100, 300, 1000))


def measure_sheets(seeds: range, *, is_verbose: bool) -> None:
    """Print what became of every part of the sheets."""
    total: Counter[str] = Counter()
    for seed in seeds:
        sheet = drawn_sheet(seed)
        scale = fit_scale(sheet.page, accepts_stated_size=True)
        start = time.perf_counter()
        trace = trace_picks(
            sheet.page, scale, [PartPick(n, (at,), line=_line(sheet, n)) for n, at in sheet.picks.items()]
        )
        seconds = time.perf_counter() - start
        row = judged(sheet, scale, trace, is_verbose=is_verbose)
        total += row
        print(f"{seed}: {_told(row)}  {len(sheet.page.strokes)} strokes, {seconds:.1f} s", flush=True)
    print(f"all: {_told(total)}")


def _line(sheet: DrawnSheet, name: str) -> str:
    return "dashed" if sheet.edges[name] == "dashed" else "solid"


def _told(row: Counter[str]) -> str:
    return ", ".join(f"{key} {row[key]}" for key in ("parts", "found", "ready", "false", "silent", "needless"))


def judged(sheet: DrawnSheet, scale: PlanScale, trace: Trace, *, is_verbose: bool = False) -> Counter[str]:
    """Return how many parts were found, ready, false, wrong without an open note, and right with a needless one."""
    row: Counter[str] = Counter(parts=len(sheet.shapes))
    given = {part.name: part for part in trace.parts}
    opened = {note.part for note in trace.notes if note.state == "open"}
    true = {name: _in_mm(shape, scale) for name, shape in sheet.shapes.items()}
    for name, shape in true.items():
        if name not in given:
            if is_verbose:
                print(f"  {name}: not given; {[n.text for n in trace.notes if n.part == name][:1]}")
            continue
        made = given[name].outline
        is_found = _overlap(_polygon(made.exterior), Polygon(shape.exterior)) >= FOUND_SHARE
        is_ready = is_found and _is_close(made, shape)
        is_false = all(_overlap(_polygon(made.exterior), Polygon(s.exterior)) < FOUND_SHARE for s in true.values())
        row["found"] += is_found
        row["ready"] += is_ready
        row["false"] += is_false
        row["silent"] += not is_ready and name not in opened
        row["needless"] += is_ready and name in opened
        if is_verbose and not is_ready:
            print(
                f"  {name}: found {is_found}, {sheet.edges[name]}, sure {given[name].sure:.2f}, open {name in opened}, "
                f"{made.area_mm2:.0f} for {shape.area:.0f} mm2, cut-outs {len(made.cutouts)} for {len(shape.interiors)}"
                f", pick {sheet.picks[name]}"
            )
    return row


def _in_mm(shape: Polygon, scale: PlanScale) -> Polygon:
    return shapely.transform(shape, scale.to_mm)


def _polygon(ring: Ring) -> Polygon:
    return Polygon(ring.flattened(0.01)).buffer(0)


def _overlap(one: Polygon, other: Polygon) -> float:
    return one.intersection(other).area / max(one.union(other).area, 1e-9)


def _is_close(made: Outline, true: Polygon) -> bool:
    rings = [_polygon(ring).boundary for ring in made.rings]
    wanted = [Polygon(ring).boundary for ring in (true.exterior, *true.interiors)]
    if len(rings) != len(wanted):
        return False
    return all(min(_apart(ring, other) for other in wanted) <= CLOSE_MM for ring in rings)


def _apart(one: shapely.Geometry, other: shapely.Geometry) -> float:
    return float(max(shapely.hausdorff_distance(one, other, densify=0.05), 0.0))


def measure_loops(counts: tuple[int, ...]) -> None:
    """Print the time of tracing sheets of so many loops, as a multiple of that of reading them."""
    for count in counts:
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "loops.dxf"
            write_loops(file, count)
            start = time.perf_counter()
            page = read_page(file)
            reading = time.perf_counter() - start
            scale = fit_scale(page, accepts_stated_size=True)
            start = time.perf_counter()
            found = find_candidates(page, scale)
            finding = time.perf_counter() - start
            picks = [PartPick(part.name, (part.inside_px,)) for part in found.parts]
            start = time.perf_counter()
            traced = trace_picks(page, scale, picks)
            tracing = time.perf_counter() - start
        print(
            f"{count} loops: read in {reading:.2f} s; {len(found.parts)} candidates in {finding / reading:.1f} times "
            f"that, {len(traced.parts)} picks in {tracing / reading:.1f} times that",
            flush=True,
        )


def write_loops(file: Path, count: int, *, seed: int = 1) -> None:
    """Write a DXF of ribs in rows: each a closed polyline of 40 points with arcs, five holes and two slots in it."""
    import ezdxf

    drawing = ezdxf.new("R2010")
    drawing.header["$INSUNITS"] = 4
    space = drawing.modelspace()
    rng = np.random.default_rng(seed)
    across = int(np.ceil(np.sqrt(count / 8)))
    for n in range(count // 8):
        x, y = 130.0 * (n % across), 30.0 * (n // across)
        a = np.linspace(0, 2 * np.pi, 40, endpoint=False)
        rim = np.column_stack([x + 60 * np.cos(a), y + (8 + rng.uniform(0, 2)) * np.sin(a)])
        space.add_lwpolyline([(px, py, 0.02) for px, py in rim], format="xyb", close=True)
        for k in range(5):
            space.add_circle((x - 40 + 20 * k, y), 2.5)
        for k in range(2):
            u, v = x - 30 + 55 * k, y - 1.5
            space.add_lwpolyline([(u, v), (u + 6, v), (u + 6, v + 3), (u, v + 3)], close=True)
    drawing.saveas(file)


if __name__ == "__main__":
    main()
