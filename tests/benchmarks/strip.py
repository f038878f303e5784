"""Density on open strip-packing instances: this engine and a general-purpose reference library, in one run.

    python -m tests.benchmarks.strip --instances DIR --seconds 20

Both get the same seconds on the same cores, one after the other; compilation is excluded by a warm-up.
Layouts are verified by shapely on the nominal strip. Published: best known and 20-minute average of
Gardeyn, Vanden Berghe and Wauters 2025, arXiv 2509.13329, tables 2 and 3.
"""

import argparse
import json
import platform
import time
from pathlib import Path

import numpy as np
import shapely

from nesting.place.strip_packing import pack_strip
from vectorize.shapes.outline import Outline, Pose

STANDARD = (
    "albano", "dagli", "fu", "jakobs1", "jakobs2", "mao", "marques",
    "shapes0", "shapes1", "shapes2", "shirts", "swim", "trousers",
)  # fmt: skip
PUBLISHED = {
    "albano": (89.82, 89.47), "dagli": (90.17, 89.26), "fu": (92.41, 92.24), "jakobs1": (89.26, 89.09),
    "jakobs2": (87.73, 84.77), "mao": (86.87, 86.14), "marques": (92.02, 90.93), "shapes0": (69.98, 68.60),
    "shapes1": (76.73, 75.69), "shapes2": (86.23, 84.68), "shirts": (90.92, 89.66), "swim": (79.83, 78.26),
    "trousers": (92.62, 91.73),
}  # fmt: skip
ENLARGED = ("shapes0", "shapes1", "shapes2", "fu", "jakobs1", "jakobs2")  # strip side 0.01 % over nominal in the files
AREA_TOL = 1e-6  # of the mean part area


class Instance:
    def __init__(self, path: Path) -> None:
        data = json.loads(path.read_text())
        self.name = data["name"]
        self.given_height = float(data["strip_height"])
        self.height = self.given_height / 1.0001 if path.stem in ENLARGED else self.given_height
        self.items = data["items"]
        self.outlines = [Outline.from_points(item["shape"]) for item in self.items]
        self.copies = [k for k, item in enumerate(self.items) for _ in range(item["demand"])]
        self.area = sum(self.outlines[k].area_mm2 for k in self.copies)

    def turns(self, k: int) -> list[float]:
        allowed = self.items[k]["allowed_orientations"]
        return [0.0, 90.0, 180.0, 270.0] if allowed is None else [float(angle) for angle in allowed]


def ours(instance: Instance, seconds: float | None, seed: int, sweeps: int | None = None):
    layout = pack_strip(
        [instance.outlines[k] for k in instance.copies],
        strip_height=instance.height,
        orientations=[instance.turns(k) for k in instance.copies],
        time_limit_s=seconds,
        max_sweeps=sweeps,
        seed=seed,
    )
    polygons = [
        instance.outlines[k].placed(pose).to_polygon() for k, pose in zip(instance.copies, layout.poses, strict=True)
    ]
    return verified_density(instance, polygons), layout


def reference(instance: Instance, seconds: float, seed: int) -> float:
    import spyrrow

    items = [
        spyrrow.Item(str(k), [tuple(p) for p in item["shape"]], item["demand"], instance.turns(k))
        for k, item in enumerate(instance.items)
    ]
    problem = spyrrow.StripPackingInstance(instance.name, strip_height=instance.given_height, items=items)
    config = spyrrow.StripPackingConfig(
        early_termination=False, total_computation_time=int(seconds), seed=seed, num_workers=2
    )
    solution = problem.solve(config)
    polygons = []
    for placed in solution.placed_items:
        pose = Pose(placed.translation[0], placed.translation[1], placed.rotation % 360.0)
        polygons.append(instance.outlines[int(placed.id)].placed(pose).to_polygon())
    return verified_density(instance, polygons, height=instance.given_height)


def verified_density(instance: Instance, polygons, height: float | None = None) -> float:
    """Return the percent used of the nominal strip; complain about anything missing, overlapping or outside."""
    height = instance.height if height is None else height
    if len(polygons) != len(instance.copies):
        raise AssertionError(f"{instance.name}: {len(polygons)} of {len(instance.copies)} parts are there")
    bounds = shapely.total_bounds(polygons)
    slack = AREA_TOL * np.sqrt(instance.area / len(polygons))
    if bounds[3] - bounds[1] > height + slack:
        raise AssertionError(f"{instance.name}: {bounds[3] - bounds[1]} is higher than the strip, {height}")
    tree = shapely.STRtree(polygons)
    a, b = tree.query(polygons, predicate="intersects")
    pairs = a < b
    common = shapely.area(shapely.intersection(np.array(polygons)[a[pairs]], np.array(polygons)[b[pairs]]))
    if common.size and common.max() > AREA_TOL * instance.area / len(polygons):
        raise AssertionError(f"{instance.name}: parts overlap by {common.max()}")
    return 100.0 * instance.area / (instance.height * (bounds[2] - bounds[0]))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--instances", type=Path, required=True, help="folder of the JSON instances")
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--seeds", type=int, default=1, help="runs per instance, seeds 0, 1, …")
    parser.add_argument("--only", nargs="*", default=list(STANDARD))
    parser.add_argument("--no-reference", action="store_true")
    options = parser.parse_args()
    print(f"{platform.processor() or platform.machine()}, Python {platform.python_version()}, numpy {np.__version__}")
    ours(Instance(options.instances / "fu.json"), None, 0, sweeps=20)
    print(f"{'instance':10} {'ours':>7} {'ref':>7} {'diff':>6}  best   avg   Meval/s  sweeps")
    mine, theirs = [], []
    for name in options.only:
        instance = Instance(options.instances / f"{name}.json")
        runs, refs, speed, sweeps = [], [], 0.0, 0
        for seed in range(options.seeds):
            began = time.monotonic()
            density, layout = ours(instance, options.seconds, seed)
            runs.append(density)
            speed, sweeps = layout.evaluations / (time.monotonic() - began) / 1e6, layout.sweeps
            if not options.no_reference:
                refs.append(reference(instance, options.seconds, seed))
        mine.append(np.mean(runs))
        theirs.append(np.mean(refs) if refs else np.nan)
        best, average = PUBLISHED.get(name, (np.nan, np.nan))
        print(
            f"{name:10} {mine[-1]:7.2f} {theirs[-1]:7.2f} {mine[-1] - theirs[-1]:6.2f} "
            f"{best:6.2f} {average:6.2f} {speed:7.2f} {sweeps:7}",
            flush=True,
        )
    print(f"{'mean':10} {np.mean(mine):7.2f} {np.mean(theirs):7.2f} {np.mean(mine) - np.mean(theirs):6.2f}")


if __name__ == "__main__":
    main()
