"""How quickly a huge scan pans at the desk, and in how much memory.

Run: `python -m tests.benchmarks.desk_tiles [MEGAPIXELS]`. A sheet of 18,000 × 11,000 pixels is drawn, cut into tiles
by the desk's own worker, and then asked for in a random walk of panning and zooming over HTTP.
"""

import random
import sys
import tempfile
import time
from pathlib import Path

import httpx2
import numpy as np
from PIL import Image, ImageDraw

from tests.nesting.desk.browser import served

ASKED = 1500
JOB = '[job]\nformat = 1\n\n[[plan]]\nname = "sheet 1"\nfile = "plan.png"\n'


def draw_sheet(path: Path, width: int, height: int) -> None:
    """Draw lines over paper grain, so that tiles are neither empty nor all alike."""
    rng = np.random.default_rng(1)
    grain = rng.integers(236, 252, (1024, 1024), np.uint8)
    picture = Image.fromarray(np.tile(grain, (height // 1024 + 1, width // 1024 + 1))[:height, :width].copy())
    pen = ImageDraw.Draw(picture)
    for _ in range(600):
        pen.line([tuple(rng.integers(0, (width, height))) for _ in range(2)], fill=30, width=6)
    picture.save(path, compress_level=1)


def memory_mb(pid: int) -> float:
    """Return the largest resident memory that a process and its children have had, summed."""
    total = 0.0
    for status in Path("/proc").glob("[0-9]*/status"):
        try:
            fields = dict(line.split(":", 1) for line in status.read_text().splitlines() if ":" in line)
        except OSError:
            continue
        if int(fields["Pid"]) == pid or int(fields["PPid"]) == pid:
            total += int(fields.get("VmHWM", "0 kB").split()[0]) / 1000
    return total


def main(megapixels: float) -> None:
    """Print the time to cut, the time to answer, and the memory."""
    width = round((megapixels * 1e6 * 18 / 11) ** 0.5)
    height = round(width * 11 / 18)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        draw_sheet(folder / "plan.png", width, height)
        (folder / "job.toml").write_text(JOB, encoding="utf-8")
        with served(folder) as (process, address), httpx2.Client(follow_redirects=True, timeout=300) as client:
            base = address.split("/open")[0]
            client.get(address)
            began = time.monotonic()
            view = client.get(f"{base}/api/1/plans/0/picture").json()
            while view["picture"] is None:
                time.sleep(0.2)
                view = client.get(f"{base}/api/1/plans/0/picture").json()
            print(f"{width} x {height} px: cut in {time.monotonic() - began:.1f} s")
            times = sorted(ask_tiles(client, base, view))
            print(
                f"{len(times)} tiles: median {1000 * times[len(times) // 2]:.1f} ms, "
                f"99 % within {1000 * times[int(0.99 * len(times))]:.1f} ms, slowest {1000 * times[-1]:.1f} ms"
            )
            print(f"memory, greatest, of server and workers together: {memory_mb(process.pid):.0f} MB")


def ask_tiles(client: httpx2.Client, base: str, view: dict) -> list[float]:
    """Ask for tiles as somebody who pans and zooms would, and return the seconds that each took."""
    walk = random.Random(2)
    picture, times = view["picture"], []
    level, column, row = picture["levels"] - 1, 0, 0
    for _ in range(ASKED):
        level = min(max(level + walk.choice((-1, 0, 0, 0, 1)), 0), picture["levels"] - 1)
        span = picture["tile"] * 2**level
        columns, rows = -(-picture["width"] // span), -(-picture["height"] // span)
        column = min(max(column + walk.choice((-1, 0, 1)), 0), columns - 1)
        row = min(max(row + walk.choice((-1, 0, 1)), 0), rows - 1)
        began = time.perf_counter()
        answer = client.get(f"{base}/api/1/plans/0/tiles/{view['key']}/{level}/{column}/{row}.png")
        times.append(time.perf_counter() - began)
        assert answer.status_code == 200
    return times


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 198.0)
