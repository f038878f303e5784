"""Measure time and memory against the size of the sheet: A3, A2, A1 and A0 at 300 dpi.

`python -m tests.benchmarks.sheet_size [--sizes A3 A1 A0]`

The yardstick is OpenCV decoding, thresholding and finding contours in the same file. Each measurement
runs in a process of its own; drawing the sheet is not counted.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image

from fixtures import drawn_plans
from fixtures.scanning import Wear, scan

SIZES_MM = {"A3": (420, 297), "A2": (594, 420), "A1": (841, 594), "A0": (1189, 841)}
DPI = 300


def main() -> None:
    """Print a line for each size."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sizes", nargs="*", default=["A3", "A1", "A0"], choices=list(SIZES_MM))
    parser.add_argument("--worker", nargs=2, metavar=("HOW", "FILE"), help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.worker:
        how, file = options.worker
        picks = _picks() if how == "trace" else {}
        begin = time.perf_counter()
        parts = _trace(Path(file), picks) if how == "trace" else _yardstick(Path(file))
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(json.dumps([time.perf_counter() - begin, peak, parts]))
        return
    print("| sheet | million pixels | yardstick s | trace s | times | MB | parts |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for size in options.sizes:
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "plan.png"
            pixels = draw_sheet(size, file)
            _measured("yardstick", file)  # warms the disk cache
            seconds, _, _ = _measured("yardstick", file)
            taken, peak, parts = _measured("trace", file)
        times = f"{seconds:.2f} | {taken:.1f} | {taken / seconds:.1f}"
        print(f"| {size} | {pixels / 1e6:.0f} | {times} | {peak:.0f} | {parts} |", flush=True)


def draw_sheet(size: str, file: Path) -> int:
    """Write a sheet of this size, filled with copies of an ordinary plan; return its number of pixels."""
    tile, _ = scan(drawn_plans.workshop(), Wear(dpi=DPI, blur_px=0.6, noise=3, texture=0.01), 3)
    columns, rows = (round(side / 25.4 * DPI) for side in SIZES_MM[size])
    times = (-(-rows // tile.shape[0]), -(-columns // tile.shape[1]))
    sheet = np.tile(tile, times)[:rows, :columns]
    Image.fromarray(sheet).save(file, dpi=(DPI, DPI), compress_level=1)
    return rows * columns


def _yardstick(file: Path) -> int:
    import cv2

    grey = cv2.imread(str(file), cv2.IMREAD_GRAYSCALE)
    _, mask = cv2.threshold(grey, 0, 255, cv2.THRESH_BINARY_INV + cv2.THRESH_OTSU)
    contours, _ = cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_SIMPLE)
    return len(contours)


def _picks() -> dict[str, tuple[float, float]]:
    """A pick in each part of the first tile; drawing it is not counted."""
    _, truth = scan(drawn_plans.workshop(), Wear(dpi=DPI), 3)
    return truth.picks


def _trace(file: Path, picks: dict[str, tuple[float, float]]) -> int:
    """Read the sheet and trace the parts of its first tile, as a job does that names them."""
    from vectorize.page import read_page
    from vectorize.scale.fit_scale import fit_scale
    from vectorize.trace.trace_page import PartPick, trace_picks

    page = read_page(file)
    scale = fit_scale(page, accepts_stated_size=True)
    return len(trace_picks(page, scale, [PartPick(name, (pick,)) for name, pick in picks.items()]).parts)


def _measured(how: str, file: Path) -> tuple[float, float, int]:
    command = [sys.executable, "-m", "tests.benchmarks.sheet_size", "--worker", how, str(file)]
    run = subprocess.run(command, capture_output=True, text=True, check=True)
    seconds, peak, parts = json.loads(run.stdout.splitlines()[-1])
    return seconds, peak, parts


if __name__ == "__main__":
    main()
