"""The eight board jobs against a good shelf packing, and the cost of a first layout as the work grows.

python -m tests.benchmarks.boards --seconds 10
python -m tests.benchmarks.boards --growth
"""

import argparse
import math
import time

import numpy as np

from fixtures.board_jobs import BoardJob, all_jobs, growing_job
from nesting.place.largest_rest import largest_offcut
from nesting.place.nest_parts import nest_parts
from tests.benchmarks.shelf import shelf_packing


def wood_mm2(job: BoardJob, last: int, length_mm: float) -> float:
    """Return the area of the boards before the last plus what is used of the last, counted from its end."""
    whole = sum(board.shape.area_mm2 for board in job.boards[:last])
    board = job.boards[last]
    return whole + board.shape.area_mm2 * length_mm / board.length_mm


def run(job: BoardJob, seconds: float, seed: int):
    began = time.monotonic()
    steps: list[tuple[float, float]] = []

    def on_progress(progress) -> None:
        steps.append((time.monotonic() - began, wood_mm2(job, progress.boards - 1, progress.length_mm)))

    layout = nest_parts(
        job.parts, job.boards, rules=job.rules, time_limit_s=seconds, seed=seed, on_progress=on_progress
    )
    assert layout.proof.is_proved, layout.proof.faults
    near = next(t for t, wood in steps if wood <= steps[-1][1] * 1.01)
    return layout, steps[0][0], near


def compare(seconds: float, seed: int) -> None:
    print(
        f"{'job':22} parts left boards  last mm  offcut mm      first s  near s "
        "| shelf: left boards last mm | less wood"
    )
    savings = []
    for job in all_jobs():
        nest_parts(job.parts, job.boards, rules=job.rules, max_sweeps=1, time_limit_s=None)  # load the kernels
        layout, first, near = run(job, seconds, seed)
        shelf = shelf_packing(job)
        names = [board.name for board in job.boards]
        last = max(names.index(b.board) for b in layout.boards)
        used = layout.boards[-1]
        mine = wood_mm2(job, last, used.used_length_mm)
        theirs = wood_mm2(job, shelf.last, shelf.length_mm)
        # A part that the shelves could not place costs them at least its own area.
        area = {part.name: part.outline.area_mm2 for part in job.parts}
        theirs += shelf.unplaced * min(area.values())
        mine += sum(area[u.part] for u in layout.unplaced)
        savings.append(100 * (1 - mine / theirs))
        x0, y0, x1, y1 = largest_offcut(job.boards[last], used.placements, job.parts, job.rules)
        print(
            f"{job.name:22} {sum(p.copies for p in job.parts):5} {len(layout.unplaced):4} {len(layout.boards):6} "
            f"{used.used_length_mm:8.1f}  {x1 - x0:6.0f} x {y1 - y0:3.0f} {first:9.2f} {near:8.2f} | "
            f"{shelf.unplaced:11} {shelf.last + 1:6} {shelf.length_mm:7.1f} | {savings[-1]:6.1f} %",
            flush=True,
        )
    print(f"mean saving {np.mean(savings):.1f} %, median {np.median(savings):.1f} %")


def growth() -> None:
    print(f"{'parts':>6} {'first layout s':>15} {'exponent':>9}")
    before = None
    for count in (30, 100, 300, 1000):
        job = growing_job(count)
        nest_parts(job.parts[:2], job.boards[:2], rules=job.rules, max_sweeps=1, time_limit_s=None)
        seconds = first_layout_s(job)
        slope = "" if before is None else f"{math.log(seconds / before[1]) / math.log(count / before[0]):9.2f}"
        print(f"{count:6} {seconds:15.2f} {slope}", flush=True)
        before = (count, seconds)


def first_layout_s(job: BoardJob) -> float:
    times: list[float] = []
    began = time.monotonic()

    def on_progress(_) -> None:
        times.append(time.monotonic() - began)

    nest_parts(job.parts, job.boards, rules=job.rules, max_sweeps=0, time_limit_s=None, on_progress=on_progress)
    return times[0]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--growth", action="store_true")
    options = parser.parse_args()
    growth() if options.growth else compare(options.seconds, options.seed)


if __name__ == "__main__":
    main()
