"""How many planted errors of a cut part are found on its scan, and how many are raised where none is.

`python -m tests.benchmarks.planted_errors --seeds 0 40`: for each seed every part and kind of error, by 200 to 300 dpi,
turned and mirrored anyhow, with noise, blur and light that falls off; large errors (0.3 to 0.5 mm) are to be found with
their side, small ones (0.05 to 0.15 mm) are not to be raised.
"""

from __future__ import annotations

import argparse
import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fixtures.sawn_parts import PARTS, Fault, FaultKind, Glass, cut_rings, random_fault, scan
from nesting.wood.ascut.as_cut import AsCut, CutEdge, compare_as_cut
from nesting.wood.ascut.deviations import Place
from nesting.wood.part import Part
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.outline import Outline
from vectorize.trace.scanned_edge import scanned_things

KINDS: tuple[FaultKind, ...] = ("bump", "nick", "edge", "hole-off", "hole-size")
STRAY_MM = 6.0
"""A place is the planted one's when it lies no farther from it."""


@dataclass(frozen=True)
class Trial:
    """A part with one error on the scanner, and what was said of it."""

    part: str
    fault: Fault
    glass: Glass
    found: AsCut

    @property
    def own(self) -> list[Place]:
        """Return the places that are the planted error's."""
        return [place for place in self.found.places if self._is_own(place)]

    @property
    def strange(self) -> list[Place]:
        """Return places where nothing, or nothing so large, was planted."""
        return [place for place in self.found.places if not self._is_own(place)]

    def _is_own(self, place: Place) -> bool:
        fault = self.fault
        if abs(fault.size_mm) < 0.15:
            return False
        if fault.kind in ("hole-off", "hole-size"):
            return math.dist(place.at, fault.at) < STRAY_MM and place.kind == fault.kind
        if (place.off_mm > 0) != (fault.size_mm > 0):
            return False
        if fault.kind == "edge":  # which of two facing edges is off, no scan can tell
            return place.over_mm > 0.4 * fault.wide_mm or place.over_mm > 25
        return math.dist(place.at, fault.at) < STRAY_MM


def random_glass(rng: np.random.Generator) -> Glass:
    """Return a way to lie on a scanner and to be seen."""
    return Glass(
        dpi=float(rng.choice([200, 240, 300])),
        angle_deg=float(rng.uniform(-180, 180)),
        is_flipped=bool(rng.random() < 0.5),
        blur_px=float(rng.uniform(0.5, 1.4)),
        noise=float(rng.uniform(1, 9)),
        falloff=float(rng.uniform(0, 0.15)),
        grain=float(rng.uniform(0, 12)),
    )


def compared(outline: Outline, faults: tuple[Fault, ...], glass: Glass, rng: np.random.Generator, *, kerf_mm=0.0):
    """Return what a drawn scan of an outline with faults says."""
    grey = scan(cut_rings(outline, faults, kerf_mm=kerf_mm), glass, rng)
    per_mm = glass.dpi / 25.4
    page = Page("scan", 1, 1, grey, (), grey.shape[1], grey.shape[0], stated_px_per_mm=(per_mm, per_mm))
    scale = fit_scale(page, accepts_stated_size=True, corrections=())
    thing = scanned_things(page, scale)[0]
    cut = CutEdge(thing.rings, thing.area_mm2, 1 / per_mm, 0.0005)
    return compare_as_cut(Part("part", outline, "balsa", 3.0), cut)


def trials(seed: int, sizes: tuple[float, float]) -> Iterator[Trial]:
    """Yield a trial for every part and kind of error that it can have."""
    for number, (name, make) in enumerate(PARTS.items()):
        outline = make()
        for kind in KINDS:
            if kind.startswith("hole") and not outline.cutouts:
                continue
            rng = np.random.default_rng([seed, number, KINDS.index(kind)])
            fault, glass = random_fault(rng, outline, kind, float(rng.uniform(*sizes))), random_glass(rng)
            yield Trial(name, fault, glass, compared(outline, (fault,), glass, rng))


def main() -> None:
    """Print counts by kind of error, and each miss."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", nargs=2, type=int, default=(0, 3))
    wanted = parser.parse_args()
    count: Counter[tuple[str, str]] = Counter()
    errors = []
    for seed in range(*wanted.seeds):
        for sizes, is_large in (((0.3, 0.5), True), ((0.05, 0.15), False)):
            for trial in trials(seed, sizes):
                kind = trial.fault.kind
                count[kind, "planted" if is_large else "small"] += 1
                count[kind, "found"] += bool(trial.own)
                count[kind, "raised"] += len(trial.strange)
                if bool(trial.own) != is_large or trial.strange:
                    told = [(place.kind, place.at, round(place.off_mm, 3)) for place in trial.found.places]
                    print(seed, trial.part, trial.fault, trial.glass, told)
                if trial.own and kind != "edge":
                    errors.append(trial.own[0].off_mm - trial.fault.size_mm)
    for kind in KINDS:
        told = ", ".join(f"{count[kind, what]} {what}" for what in ("planted", "found", "small", "raised"))
        print(f"{kind}: {told}")
    print(f"size told: {np.mean(errors):+.3f} mm on average, {np.std(errors):.3f} mm about it")


if __name__ == "__main__":
    main()
