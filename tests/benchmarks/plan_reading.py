"""How well plans are read: names, wood, counts, dimensions and the scale, by hand, right and wrong apart.

`python -m tests.benchmarks.plan_reading --sheets FOLDER [--only A1 B2]` reads sheets with truth that others drew, and
`--seeds FIRST LAST [--hand SEED]` draws fresh ones. A value is accepted if it is sure enough to be written into the
job, else offered beside a comment. `lettered` counts what the sheet says; a wrong value is one that the part does not
have, lettered or not.
"""

from __future__ import annotations

import argparse
import json
import time
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
from shapely.geometry import Point, Polygon

from nesting.job.draft import Draft, DraftPart, Value, draft_parts, load_vocabulary
from nesting.job.draft.accepting import ACCEPTED
from nesting.job.draft.vocabulary import plain_phrase
from nesting.wood.material import is_same_material
from vectorize.marks.read_plan import PlanReading, read_plan
from vectorize.page import read_page

KINDS = ("name", "material", "thickness_mm", "count")
SAME_MM = 0.15
"""Boards are matched to nominal thicknesses within this."""

SAME_DIMENSION = 0.002
"""A dimension is right if what it states is within this share of the truth (or 0.01 mm)."""

SCALE_SHARE = 0.001


@dataclass(frozen=True, slots=True)
class Sheet:
    """A scan with its truth."""

    name: str
    hand: str
    file: Path
    truth: Mapping[str, Any]


def main() -> None:
    """Measure and print a row for each sheet and for each hand."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sheets", type=Path, help="a folder of folders with truth.json and a scan")
    parser.add_argument("--only", nargs="*", default=[], help="names of sheets, or of hands by their first letter")
    parser.add_argument("--seeds", type=int, nargs=2, metavar=("FIRST", "LAST"))
    parser.add_argument("--hand", type=int, help="seed of the hand that draws them all; else one a sheet")
    parser.add_argument("--wrong", action="store_true", help="list every wrong value")
    options = parser.parse_args()
    hands: dict[str, Counter[str]] = {}
    with TemporaryDirectory() as folder:
        sheets = list(_stored(options.sheets, options.only)) if options.sheets else []
        drawn = _drawn(Path(folder), *options.seeds, options.hand) if options.seeds else iter(())
        for sheet in (*sheets, *drawn):
            counts = measured(sheet, lists_wrong=options.wrong)
            hands.setdefault(sheet.hand, Counter()).update(counts)
            print(_row(sheet.name, counts), flush=True)
    print()
    for hand, counts in sorted(hands.items()):
        print(_row(f"hand {hand}", counts))
    print(_row("all", sum(hands.values(), Counter())))


def _stored(folder: Path, only: Iterable[str]) -> Iterator[Sheet]:
    names = tuple(only)
    for path in sorted(folder.glob("*/truth.json")):
        name = path.parent.name
        if names and not name.startswith(names):
            continue
        truth = json.loads(path.read_text("utf-8"))
        yield Sheet(name, name[0], path.parent / truth["images"][0]["file"], truth)


def _drawn(folder: Path, first: int, last: int, hand: int | None) -> Iterator[Sheet]:
    from fixtures.hands import draw_file

    for seed in range(first, last + 1):
        data, truth = draw_file(seed, hand)
        file = folder / f"{seed}-{truth['images'][0]['file']}"
        file.write_bytes(data)
        yield Sheet(f"{seed}", str(truth["hand"]), file, truth)


def measured(sheet: Sheet, *, lists_wrong: bool) -> Counter[str]:
    """Return the counts of one sheet."""
    begun = time.perf_counter()
    page = read_page(sheet.file)
    reading = read_plan(page)
    read_s = time.perf_counter() - begun
    draft = draft_parts(page, reading, load_vocabulary())
    counts = Counter({"sheets": 1, "read_s": round(read_s), "all_s": round(time.perf_counter() - begun)})
    counts.update(_parts(sheet, draft, lists_wrong=lists_wrong))
    counts.update(_dimensions(sheet, reading, lists_wrong=lists_wrong))
    return counts


def _parts(sheet: Sheet, draft: Draft, *, lists_wrong: bool) -> Counter[str]:
    counts: Counter[str] = Counter()
    mapping = np.array(sheet.truth["images"][0]["transform"]["mm_to_px"])
    lettered = _lettered(sheet.truth)
    pairs = _pairs(sheet.truth["parts"], draft.parts, mapping)
    counts["false parts"] = len(draft.parts) - len(pairs)
    for part in sheet.truth["parts"]:
        drafted = pairs.get(part["name"])
        counts["parts"] += 1
        counts["found"] += drafted is not None
        for kind in KINDS:
            value: Value[Any] | None = None if drafted is None else getattr(drafted, kind)
            is_right = value is not None and _same(kind, value.value, part)
            is_taken = value is not None and value.sure >= ACCEPTED
            counts[f"{kind} lettered"] += kind in lettered[part["name"]]
            counts[f"{kind} right"] += is_taken and is_right
            counts[f"{kind} offered"] += value is not None and not is_taken and is_right
            counts[f"{kind} wrong"] += is_taken and not is_right
            if lists_wrong and value is not None and is_taken and not is_right:
                print(
                    f"   {sheet.name} {part['name']}: {kind} {value.value!r} ({value.sure:.2f}) off {value.written!r}"
                )
    return counts


def _lettered(truth: Mapping[str, Any]) -> dict[str, set[str]]:
    """Return for each part which values stand on the sheet."""
    found: dict[str, set[str]] = {part["name"]: set() for part in truth["parts"]}
    for text in truth["texts"]:
        if text["part"] in found:
            found[text["part"]] |= set(text["reads"] or {}) & set(KINDS)
    return found


def _pairs(parts: Iterable[Any], drafted: Iterable[DraftPart], mapping: Any) -> dict[str, DraftPart]:
    """Return the drafted part for each true one: its pick lies in it, and they are of like size."""
    areas = [(Polygon(one.boundary).buffer(0), one) for one in drafted]
    found: dict[str, DraftPart] = {}
    for part in parts:
        points = np.column_stack([part["outline"], np.ones(len(part["outline"]))]) @ mapping.T
        area = Polygon(points[:, :2] / points[:, 2:]).area
        fits = [(a.area, one) for a, one in areas if a.contains(Point(part["seed_px"])) and 0.4 < a.area / area < 2.5]
        if fits:
            found[part["name"]] = min(fits, key=lambda pair: pair[0])[1]
    return found


def _same(kind: str, value: Any, part: Mapping[str, Any]) -> bool:
    match kind:
        case "name":
            return plain_phrase(value.replace(" ", "")) == plain_phrase(part["name"].replace(" ", ""))
        case "material":
            return is_same_material(value, part["material"])
        case "thickness_mm":
            return abs(value - part["thickness_mm"]) <= SAME_MM
        case _:
            return bool(value == part["quantity"])


def _dimensions(sheet: Sheet, reading: PlanReading, *, lists_wrong: bool) -> Counter[str]:
    """Count the true dimensions that agree and are right, the wrong ones, and whether the scale is right."""
    counts: Counter[str] = Counter()
    truths = [(np.array(d["tips_px"]), d["mm_written"]) for d in sheet.truth["dimensions"]]
    counts["dimensions"] = len(truths)
    px_per_mm = np.array(sheet.truth["images"][0]["dpi_xy"]) / 25.4
    for one in reading.dimensions:
        if not one.agrees:
            continue
        span = np.array([one.start, one.end])
        mm = float(np.hypot(*((span[1] - span[0]) / px_per_mm)))
        near = min((np.abs(np.sort(tips, axis=0) - np.sort(span, axis=0)).max() for tips, _ in truths), default=np.inf)
        is_right = abs(mm - one.length_mm) <= max(0.6, 0.01 * one.length_mm) and near < 60 * px_per_mm[0]
        counts["dimensions right" if is_right else "dimensions wrong"] += 1
        if lists_wrong and not is_right:
            print(f"   {sheet.name}: dimension {one.length_mm:.2f} mm is {mm:.2f} mm, {one.start} to {one.end}")
    if reading.scale is not None:
        off = np.array(reading.scale.px_per_mm) / px_per_mm - 1
        worst = float(np.max(np.abs(off)))
        counts["scales"] += 1
        counts["scales right"] += worst < SCALE_SHARE
        counts["scales sure"] += bool(worst < 3 * reading.scale.sigma_share)
    return counts


def _row(name: str, counts: Mapping[str, int]) -> str:
    def of(kind: str) -> str:
        right, offered, wrong = (counts.get(f"{kind} {what}", 0) for what in ("right", "offered", "wrong"))
        return f"{kind.split('_')[0]} {right}+{offered}/{counts.get(f'{kind} lettered', 0)} wrong {wrong}"

    parts = f"parts {counts['found']}/{counts['parts']} false {counts['false parts']}"
    dimensions = (
        f"dims {counts.get('dimensions right', 0)}/{counts['dimensions']} wrong {counts.get('dimensions wrong', 0)}"
    )
    scale = f"scale {counts.get('scales right', 0)}/{counts.get('scales', 0)} honest {counts.get('scales sure', 0)}"
    seconds = f"{counts['read_s']}/{counts['all_s']} s"
    return "  ".join([f"{name:10}", parts, *map(of, KINDS), dimensions, scale, seconds])


if __name__ == "__main__":
    main()
