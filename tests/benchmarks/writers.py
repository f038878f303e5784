"""Time and memory of writing patterns: `python -m tests.benchmarks.writers`.

A board with one large part and thirty small ones, each format on its own, and a part on many tiles. Reported are
the median and spread of five runs in process time, the bytes written and the peak of what Python allocated.
"""

from __future__ import annotations

import platform
import statistics
import time
import tracemalloc
from collections.abc import Callable
from functools import partial
from importlib.metadata import version

from nesting.patterns.pattern_settings import FORMATS, PatternSettings
from nesting.patterns.sheets import board_pattern, part_pattern
from nesting.place.layout import BoardLayout, Placement
from nesting.wood.board import Board
from nesting.wood.part import Part
from tests.nesting.patterns.pattern_shapes import long_part
from vectorize.shapes.outline import Outline, Pose

RUNS = 5
GUSSET = Part("gusset", Outline.from_points([(0, 0), (22, 0), (0, 14)]), "balsa", 3.0, count=30)
SPAR = Part("spar", Outline.rectangle(0, 0, 6000, 12), "spruce", 6.0)
BOARD = Board("B1", "balsa", 3.0, 1500.0, 100.0)
SETTINGS = PatternSettings(model="benchmark")


def crowded_layout() -> BoardLayout:
    """A fuselage, and thirty gussets in three rows to the right of it."""
    gussets = [Placement("gusset", i + 1, Pose(720.0 + 26 * (i % 10), 5.0 + 20 * (i // 10))) for i in range(30)]
    return BoardLayout("B1", (Placement("fuselage", 1, Pose(6, 5)), *gussets), 0.3, 980.0)


def measure(what: str, make: Callable[[], dict[str, bytes]]) -> None:
    """Print one row."""
    make()  # libraries and fonts are loaded once
    seconds = []
    for _ in range(RUNS):
        start = time.process_time()
        made = make()
        seconds.append(time.process_time() - start)
    tracemalloc.start()
    make()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    size = sum(map(len, made.values()))
    spread = max(seconds) - min(seconds)
    median = statistics.median(seconds)
    print(f"{what:28} {median:8.2f} s ± {spread / 2:4.2f} {size / 1e3:9.0f} kB {peak / 1e6:8.1f} MB")


def main() -> None:
    """Print the table."""
    libraries = ", ".join(f"{name} {version(name)}" for name in ("reportlab", "ezdxf", "shapely", "pypdfium2"))
    print(f"{platform.machine()}, Python {platform.python_version()}, {libraries}; median of {RUNS} runs")
    parts = [long_part(), GUSSET]
    layout = crowded_layout()
    whole = partial(board_pattern, BOARD, layout, parts, settings=SETTINGS)
    for name in FORMATS:
        measure(f"board of 31 parts, {name}", partial(whole, formats=(name,)))
    measure("board of 31 parts, all four", whole)
    measure("part on 24 tiles, pdf", lambda: part_pattern(SPAR, settings=SETTINGS, formats=("pdf",)))


if __name__ == "__main__":
    main()
