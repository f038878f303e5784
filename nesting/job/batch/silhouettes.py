"""A job at a glance: the outlines of its parts as they lie on its plans, as one small picture in SVG."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from nesting.job.folder import Job, file_name_for, open_job
from nesting.job.side_files import outline_in, read_side_file
from vectorize.basics.errors import JobError, SheetwoodError
from vectorize.shapes.outline import Outline

WIDTH, HEIGHT = 168.0, 96.0
_FINE_SHARE = 0.0005
"""How far a chord may be from its curve, as a share of the picture: a tenth of a point on the screen."""
_GAP_SHARE = 0.05


def silhouettes_svg(folder: Path) -> str:
    """Return the parts of a job as a picture for a page; empty where none is traced."""
    try:
        sheets = _sheets(open_job(folder))
    except SheetwoodError:
        return ""
    if not sheets:
        return ""
    boxes = [_box(outlines) for outlines in sheets]
    gap = _GAP_SHARE * max(x1 - x0 for x0, _, x1, _ in boxes)
    width = sum(x1 - x0 for x0, _, x1, _ in boxes) + gap * (len(boxes) - 1)
    height = max(y1 - y0 for _, y0, _, y1 in boxes)
    scale = min(WIDTH / width, HEIGHT / height)
    paths, left = [], 0.0
    for outlines, (x0, _, x1, y1) in zip(sheets, boxes, strict=True):
        paths += [_path(outline, x0 - left, y1, scale, _FINE_SHARE * max(width, height)) for outline in outlines]
        left += x1 - x0 + gap
    size = f'width="{scale * width:.0f}" height="{scale * height:.0f}"'
    box = f"0 0 {scale * width:.1f} {scale * height:.1f}"
    return f'<svg class="parts" {size} viewBox="{box}" aria-hidden="true"><path d="{"".join(paths)}"/></svg>'


def _sheets(job: Job) -> list[list[Outline]]:
    """Return the outlines of the job's own parts, a list for each plan that carries some."""
    found: dict[str, list[Outline]] = {}
    first = next((plan.name for plan in job.spec.plan), "")  # where a job has one plan, its parts need not name it
    for part in job.spec.part:
        for folder in ("corrected", "outlines"):
            name = f"{folder}/{file_name_for(part.name)}.json"
            try:
                data = read_side_file(job, name, refused=JobError)
                if data is not None:
                    found.setdefault(part.plan or first, []).append(outline_in(data, name, refused=JobError))
                    break
            except JobError:
                continue
    return list(found.values())


def _box(outlines: Iterable[Outline]) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = zip(*(outline.bounds for outline in outlines), strict=True)
    return min(x0), min(y0), max(x1), max(y1)


def _path(outline: Outline, left_mm: float, top_mm: float, scale: float, fine_mm: float) -> str:
    def rings() -> Iterator[str]:
        for ring in (outline.exterior, *outline.cutouts):
            points = [(scale * (x - left_mm), scale * (top_mm - y)) for x, y in ring.flattened(fine_mm).tolist()]
            yield "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) + "Z"

    return "".join(rings())
