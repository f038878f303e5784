"""The job's plans: read and scaled when first asked for, whether one picture or several that are joined."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING

from nesting.job.files import digest
from nesting.job.folder import Job
from nesting.job.kept_scales import kept_scale, scale_hash
from nesting.job.schema import JobSpec, PartTable, PlanTable
from vectorize.basics.errors import JobError, ScanError
from vectorize.basics.notes import Note
from vectorize.basics.plain_file import read_plain
from vectorize.basics.quantity import Pixel
from vectorize.basics.wording import listed
from vectorize.page import Page, PageInfo, list_pages, read_page
from vectorize.page.plan_page import drawn_in
from vectorize.scale.known import KnownDimension, KnownPoint, parse_sheet
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.segment import Point
from vectorize.trace.trace_page import TraceSettings

if TYPE_CHECKING:
    from nesting.alter.frame import PlanFrame
    from vectorize.scale.joined import JoinedSheet


@dataclass(frozen=True)
class OpenPlan:
    """A plan whose picture and scale are read when first asked for, from its table and its files alone.

    A plan of several files becomes one page; its pixels are the joined sheet's, and never leave this class: what the
    user writes and reads are pixels of the files themselves.
    """

    path: Callable[[str], Path]
    table: PlanTable
    kept_scale: Callable[[PlanTable, str], PlanScale | None] = lambda table, made_from: None
    """Gives the scale that was kept under a hash, if any."""

    @cached_property
    def digests(self) -> tuple[str, ...]:
        """Return the hash of each of the plan's files, a file of several pages once.

        Raises:
            ScanError: A file cannot be read.
        """
        return tuple(digest(self._bytes(file)) for file in dict.fromkeys(file for file, _ in self.table.sources))

    @cached_property
    def made_from(self) -> str:
        """Return the hash of all that the plan's page and scale are made from; raises as `digests`."""
        return digest(f"{self.digests} {self.table.model_dump_json()}".encode())

    @cached_property
    def scale_hash(self) -> str:
        """Return the hash of all that the plan's scale is made from; raises as `digests`."""
        return scale_hash(self.digests, self.table)

    def _bytes(self, name: str) -> bytes:
        path = self.path(name)
        try:
            return read_plain(path)
        except OSError as error:
            raise ScanError(
                f"plan file {name} cannot be read from {path.parent} ({error.strerror}); put it there or correct "
                "job.toml."
            ) from error

    @cached_property
    def page(self) -> Page:
        """Return the page, as the loader gives it, or the joined sheet."""
        return self._pages[0] if self.joined is None else self.joined.page

    @property
    def page_notes(self) -> tuple[Note, ...]:
        """Return what was said of the page; what its file states of its size is idle beside known lengths."""
        return tuple(note for note in self.page.notes if not (self.table.known and note.code.startswith("dpi")))

    @cached_property
    def scale(self) -> PlanScale:
        """Return the map from pixels of the page to millimetres."""
        if self.joined is not None:
            return self.joined.scale
        kept = self.kept_scale(self.table, self.scale_hash)
        if kept is not None:
            return kept
        from vectorize.scale.fit_scale import fit_scale

        return fit_scale(
            self.page,
            self._known,
            axes=self.table.axes,
            accepts_stated_size=self.table.size == "as drawn" or self.table.unit is not None,
            corrections=self.table.flatten,
            sheet_mm=None if self.table.sheet is None else parse_sheet(self.table.sheet),
            corners=self.table.corners and [self.on_page(corner) for corner in self.table.corners],
            points=[
                KnownPoint(self.on_page(point.at), point.place, f"point {number} of known place")
                for number, point in enumerate(self.table.point, start=1)
            ],
        )

    @cached_property
    def infos(self) -> tuple[PageInfo, ...]:
        """Return what the pages of the plan's file are; none where several files are joined."""
        return () if self.table.file is None else list_pages(self.path(self.table.file))

    @cached_property
    def joined(self) -> JoinedSheet | None:
        """Return the sheet that the plan's files were joined to, None for a plan of one file."""
        if len(self.table.sources) == 1:
            return None
        from vectorize.scale.joined import join_tiles

        return join_tiles(
            self._pages,
            self._known,
            axes=self.table.axes,
            accepts_stated_size=self.table.size == "as drawn",
            corrections=self.table.flatten,
        )

    @cached_property
    def _pages(self) -> tuple[Page, ...]:
        names = [file for file, _ in self.table.sources]
        pages = []
        for file, number in self.table.sources:
            page = read_page(
                self.path(file),
                page=number,
                layers=self.table.layers,
                largest_megapixels=self.table.largest_megapixels,
            )
            page = page if self.table.unit is None else drawn_in(page, self.table.unit)
            pages.append(page if names.count(file) == 1 else replace(page, name=f"{page.name} page {number}"))
        return tuple(pages)

    @property
    def _known(self) -> list[KnownDimension]:
        return [
            KnownDimension(
                (k.start[0], k.start[1]),
                (k.end[0], k.end[1]),
                k.length,
                f"known dimension {number}",
                files=(self._file_number(k.start), self._file_number(k.end)),
            )
            for number, k in enumerate(self.table.known, start=1)
        ]

    @property
    def file_names(self) -> str:
        """Return the plan's files as messages name them."""
        return " and ".join(dict.fromkeys(file for file, _ in self.table.sources))

    @property
    def settings(self) -> TraceSettings:
        """Return how lines of this plan are to be read."""
        bridges = tuple((self.on_page(b.start), self.on_page(b.end)) for b in self.table.bridge)
        return TraceSettings(edge=self.table.edge, gap_mm=self.table.gap, bridges=bridges, sure=self.table.sure)

    def _file_number(self, pixel: Pixel) -> int:
        """Return which file a point is on, from 1.

        Raises:
            JobError: It does not say, or names a file that is not there.
        """
        count = len(self.table.sources)
        if len(pixel) == 2 and count == 1:
            return 1
        at = ", ".join(f"{value:g}" for value in pixel)
        if len(pixel) == 2:
            numbers = listed(f"{n} for {file}" for n, (file, _) in enumerate(self.table.sources, start=1))
            raise JobError(
                f"plan {self.table.name!r} has {count} files, but the point [{at}] does not say which it is on; add "
                f"a third number: {numbers}."
            )
        if pixel[2] not in range(1, count + 1):
            raise JobError(f"plan {self.table.name!r}: the point [{at}] names file {pixel[2]:g} of {count}.")
        return int(pixel[2])

    def on_page(self, pixel: Pixel) -> Point:
        """Return a point of a file as a pixel of the page.

        Raises:
            JobError: The plan has several files and the point does not say which it is on.
        """
        number = self._file_number(pixel)
        if self.joined is None:
            return pixel[0], pixel[1]
        x, y = self.joined.to_sheet([pixel[:2]], number)[0].tolist()
        return float(x), float(y)

    def in_file(self, point: Point) -> tuple[float, ...]:
        """Return a pixel of the page as a point of a file, with the file's number where there are several."""
        return point if self.joined is None else self.joined.original(point)

    def to_mm(self, pixel: Pixel) -> Point:
        """Return a point of a file in millimetres on the plan."""
        x, y = self.scale.to_mm([self.on_page(pixel)])[0]
        return float(x), float(y)

    def told(self, notes: Iterable[Note]) -> tuple[Note, ...]:
        """Return what a trace of the page said, each note at its pixel of the files."""
        if self.joined is None:
            return tuple(notes)
        return tuple(
            replace(note, at=None if note.at is None else self.in_file((note.at[0], note.at[1]))) for note in notes
        )


def frame_of(spec: JobSpec, plan: OpenPlan) -> PlanFrame:
    """Return how places in a job's tables become millimetres on a plan, and where it counts stations from.

    That is the plan's own datum and way aft, else those of `[balance]` if this is its side view.
    """
    from nesting.alter.axis import Axis, direction_deg
    from nesting.alter.frame import PlanFrame

    table = next((table for table in spec.plan if table.name == plan.table.name), plan.table)
    balance = spec.balance
    side_view = balance.plan or spec.plan[0].name
    if table.datum is not None or balance.datum is None or side_view != table.name:
        datum = (0.0, 0.0) if table.datum is None else plan.to_mm(table.datum)
        return PlanFrame(plan.to_mm, Axis(datum, table.aft))
    datum = plan.to_mm(balance.datum)
    match balance.aft:
        case "right":
            aft_deg = 0.0
        case "left":
            aft_deg = 180.0
        case point:
            aft_deg = direction_deg(datum, plan.to_mm(point))
    return PlanFrame(plan.to_mm, Axis(datum, aft_deg))


def open_plans(job: Job, *, is_fresh: bool = False) -> dict[str, OpenPlan]:
    """Return the job's plans by name, each with the scale that was kept of it unless `is_fresh`.

    Raises:
        JobError: There is none.
    """
    if not job.spec.plan:
        raise JobError("job.toml has no [[plan]]; add one with the name of its file.")
    if is_fresh:
        return {table.name: OpenPlan(job.path, table) for table in job.spec.plan}
    return {table.name: OpenPlan(job.path, table, partial(kept_scale, job)) for table in job.spec.plan}


def plan_of(part: PartTable, plans: dict[str, OpenPlan]) -> OpenPlan:
    """Return the plan that a part is drawn on: the named one, or the only one.

    Raises:
        JobError: The part names none and there are several.
    """
    if part.plan is not None:
        return plans[part.plan]
    if len(plans) > 1:
        raise JobError(f"part {part.name!r} does not say which plan it is on; add plan = one of {listed(plans)}.")
    return next(iter(plans.values()))
