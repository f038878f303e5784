"""Several jobs cut from one pool of boards: laid out together, and written as sheets of the pool and of each job."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from nesting.balance.weights import weigh_parts
from nesting.job.batch.kits import Kit, Pool, cut_order, pool_of
from nesting.job.batch.run_batch import JobDone
from nesting.job.builder_marks import part_marks
from nesting.job.folder import open_job
from nesting.job.kept_results import Made, write_made
from nesting.job.laying import Effort, nest_job, stored_layout
from nesting.job.pattern_files import PatternWish, formats_of, pattern_settings
from nesting.job.pattern_sources import PatternSources
from nesting.job.racking import CutRack, cut_rack, shopping_list
from nesting.job.rules import rules_of
from nesting.job.stages import Stages
from nesting.job.wood import wood_of
from nesting.patterns.pattern_settings import Format, PatternSettings
from nesting.place.layout import Layout, Unplaced
from nesting.place.proof import prove_layout
from nesting.wood.board import Board
from nesting.wood.shopping import Wanted
from vectorize.basics.errors import JobError, NothingFoundError, SheetwoodError
from vectorize.basics.notes import Note
from vectorize.basics.watch import Watcher, unwatched

_HEADS = ("sheet", "board", "material", "thickness_mm", "kit", "part", "copy", "x_mm", "y_mm", "angle_deg", "flipped",
          "mass_g")  # fmt: skip
LIST_FILE = "cutting-list.csv"


@dataclass(frozen=True, slots=True)
class Sheet:
    """A board of the pool as it is to be cut: which in the order, which kits lie on it, and what of it is used."""

    number: int
    board: Board
    kits: tuple[str, ...]
    copies: int
    used_length_mm: float
    used_fraction: float

    @property
    def waste_share(self) -> float:
        """Return what of the length that is cut into becomes no part (0 to 1)."""
        cut = min(1.0, self.used_length_mm / self.board.length_mm)
        return max(0.0, 1.0 - self.used_fraction / cut) if cut else 0.0


@dataclass(frozen=True, slots=True)
class Pooled:
    """What became of a pool: the layout, its boards in the order to cut them, what to buy, what each copy weighs."""

    pool: Pool
    layout: Layout
    sheets: tuple[Sheet, ...]
    wanted: tuple[Wanted, ...]
    mass_g: Mapping[tuple[str, int], float]
    notes: tuple[Note, ...]

    @property
    def unplaced(self) -> tuple[Unplaced, ...]:
        """Return the copies that find no place on the pool, and why."""
        return (*self.layout.unplaced, *self.pool.unfit)

    def sheets_of(self, kit: Kit) -> tuple[Sheet, ...]:
        """Return the sheets that carry parts of a kit."""
        return tuple(sheet for sheet in self.sheets if kit.name in sheet.kits)

    def left_of(self, kit: Kit) -> tuple[Unplaced, ...]:
        """Return the copies of a kit that find no place, under its own names."""
        own = kit.own_names
        return tuple(replace(one, part=own[one.part]) for one in self.unplaced if one.part in own)

    def kit_mass_g(self, kit: Kit) -> float:
        """Return what the parts of a kit weigh on their boards."""
        return sum(mass for (name, _), mass in self.mass_g.items() if name in kit.own_names)


def kits_of(jobs: Iterable[JobDone]) -> tuple[Kit, ...]:
    """Return the kits of jobs whose parts could be made; one whose parts cannot fails, and is told so."""
    kits = []
    for job in jobs:
        if job.state == "failed":
            continue
        try:
            kit = Kit(job.order.shown, Stages(open_job(job.order.folder)))
            if kit.parts:
                kits.append(kit)
        except SheetwoodError as error:
            job.fail("nest", str(error))
    return tuple(kits)


def nest_pool(
    rack: Path,
    kits: Sequence[Kit],
    *,
    effort: Effort,
    hands: AbstractContextManager[Any] | None = None,
    progress: Watcher = unwatched,
) -> Pooled:
    """Lay out the kits on the boards of a rack table together, light boards first, and prove it.

    The layout is kept beside the table and given again where nothing has changed.

    Args:
        rack: The table of boards.
        kits: What is to be cut.
        effort: What the search may take: seconds of all workers together.
        hands: Gives the client of the workers, once there is something to search; without it this process searches.
        progress: Told what is found.

    Raises:
        RackError: There is no such table, or a row of it that cannot be used.
        CallError: Jobs that are cut with different tools, or that mean different woods by one name.
        WriteError: The layout cannot be written.
    """
    pool = pool_of(rack, kits)

    def finder(*of: Any, **asked: Any) -> Layout:  # noqa: ANN401 - as `nest_parts`
        return _searched(*of, **asked, hands=hands, kit_of=pool.kit_of)

    found = nest_job(pool.job, pool.parts, pool.boards, effort=effort, finder=finder, progress=progress)
    # As it is kept, so that what is written from it is the same the next time.
    layout = stored_layout(pool.job, pool.parts, pool.boards) or found
    _prove_each(pool, layout)
    return _told(pool, layout, found.notes)


def _searched(
    *of: Any,  # noqa: ANN401 - as `nest_parts`
    hands: AbstractContextManager[Any] | None,
    kit_of: Mapping[str, str],
    **asked: Any,  # noqa: ANN401
) -> Layout:
    from nesting.place.in_rounds import nest_in_rounds

    if hands is None:
        return nest_in_rounds(*of, **asked, kit_of=kit_of)
    with hands as client:
        seats = max(1, sum(client.nthreads().values()))
        time_s = None if asked["time_limit_s"] is None else asked["time_limit_s"] / seats
        own = {"executor": client.get_executor(pure=False), "seats": seats, "time_limit_s": time_s}
        return nest_in_rounds(*of, **asked | own, kit_of=kit_of)


def _prove_each(pool: Pool, layout: Layout) -> None:
    """Raise unless what lies of each kit keeps to the job's own rules too, by its own parts."""
    for kit in pool.kits:
        own = kit.own_layouts(layout)
        lying = {(p.part, p.copy) for board in own for p in board.placements}
        every = {(part.name, n) for part in kit.parts for n in range(1, part.copies + 1)}
        left = [Unplaced(*copy, "") for copy in sorted(every - lying)]
        proof = prove_layout(own, kit.parts, pool.boards, rules_of(kit.job), unplaced=left)
        if proof.faults:
            raise NothingFoundError(f"{kit.name}: the layout does not pass its proof ({proof.faults[0]}).")


def _told(pool: Pool, layout: Layout, said: Sequence[Note]) -> Pooled:
    kit_of, boards = pool.kit_of, {board.name: board for board in pool.boards}
    by_name = {laid.board: laid for laid in layout.boards}
    sheets = [
        Sheet(
            number,
            boards[name],
            tuple(dict.fromkeys(kit_of[p.part] for p in by_name[name].placements)),
            len(by_name[name].placements),
            by_name[name].used_length_mm,
            by_name[name].used_fraction,
        )
        for number, name in enumerate(cut_order(layout, kit_of), start=1)
    ]
    table = weigh_parts(pool.parts, pool.boards, layout=layout, wood=wood_of(pool.job.spec))
    lying = {(p.part, p.copy) for laid in layout.boards for p in laid.placements}
    mass = {(w.part, w.copy): w.mass_g for w in table.chosen if (w.part, w.copy) in lying}
    wanted = shopping_list(pool.job, pool.parts, pool.boards, layout)
    left = len(layout.unplaced) + len(pool.unfit)
    notes = list(said)
    if left:
        text = f"{left} {'copy finds' if left == 1 else 'copies find'} no place on the pool; the table says which."
        notes.append(Note("pool-unplaced", text, "open"))
    return Pooled(pool, layout, tuple(sheets), wanted, mass, tuple(notes))


def add_to_jobs(pooled: Pooled, jobs: Iterable[JobDone]) -> None:
    """Say at each job where its kit lies, and what of it found no place."""
    kits = {kit.name: kit for kit in pooled.pool.kits}
    for job in jobs:
        kit = kits.get(job.order.shown)
        if kit is None:
            continue
        left = pooled.left_of(kit)
        job.notes += [Note("unplaced", one.reason, "open", one.part) for one in left]
        job.figures |= {"boards": len(pooled.sheets_of(kit)), "unplaced": len(left)}
        job.figures |= {"mass_g": pooled.kit_mass_g(kit)} if pooled.sheets_of(kit) else {}


def write_pool(pooled: Pooled, *, is_forced: bool = False) -> tuple[Note, ...]:
    """Write the sheets of the pool, whole and labelled by kit, and into each job's `out/` those with its own parts.

    Returns:
        Notes on files that somebody edited and that were kept.

    Raises:
        WriteError: A folder cannot be written.
    """
    pool = pooled.pool
    if not pool.kits:
        return ()
    settings = replace(pattern_settings(pool.kits[0].job, PatternWish()), model="pool")
    marks = {kit.called(name): own for kit in pool.kits for name, own in _marks(kit).items()}
    everything = _sources(pool.parts, pool, pooled.layout, pooled.mass_g, marks)
    formats = formats_of(pool.kits[0].job, PatternWish())
    rows = _rows(pooled)
    notes = [*_written(pool.job.out, everything, settings, formats, rows, prefix="", is_forced=is_forced)]
    for kit in pool.kits:
        own = kit.own_names
        mass = {(own[name], n): mass for (name, n), mass in pooled.mass_g.items() if name in own}
        layout = replace(pooled.layout, boards=kit.own_layouts(pooled.layout), unplaced=())
        sources = _sources(kit.parts, pool, layout, mass, _marks(kit))
        its = pattern_settings(kit.job, PatternWish())
        lines = tuple(row for row in rows if row[4] == kit.name)
        written = _written(
            kit.job.out, sources, its, formats_of(kit.job, PatternWish()), lines, prefix="pool-", is_forced=is_forced
        )
        notes += [replace(note, part=kit.name) for note in written]
    return tuple(notes)


def _marks(kit: Kit) -> dict[str, Any]:
    return part_marks(kit.job, kit.stages.parts, kit.stages.plans)


def _sources(
    parts: Sequence[Any],
    pool: Pool,
    layout: Layout,
    mass_g: Mapping[tuple[str, int], float],
    marks: Mapping[str, Any],
) -> PatternSources:
    lying = {laid.board for laid in layout.boards}
    return PatternSources(
        only=None,
        parts=tuple(parts),
        chosen=(),
        boards=tuple(board for board in pool.boards if board.name in lying),
        layout=layout,
        mass_g=mass_g,
        marks=marks,
        wires=(),
        drills_mm=None,
        carvings=(),
        plans={},
        outlines=(),
    )


def _written(
    folder: Path,
    sources: PatternSources,
    settings: PatternSettings,
    formats: Sequence[Format],
    rows: Sequence[Sequence[object]],
    *,
    prefix: str,
    is_forced: bool,
) -> tuple[Note, ...]:
    written = write_made(
        folder,
        _pool_files,
        is_forced=is_forced,
        sources=sources,
        settings=settings,
        formats=formats,
        rows=rows,
        prefix=prefix,
    )
    return written.notes


def _pool_files(
    sources: PatternSources,
    settings: PatternSettings,
    formats: Sequence[Format],
    rows: Sequence[Sequence[object]],
    prefix: str,
) -> Made:
    from nesting.job.pattern_bytes import board_files  # its writers are slow to load

    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_HEADS)
    writer.writerows(rows)
    files = {LIST_FILE: out.getvalue().encode("utf-8-sig")} | board_files(sources, settings, formats)
    return {f"{prefix}{name}": data for name, data in files.items()}, ()


def _rows(pooled: Pooled) -> tuple[tuple[object, ...], ...]:
    """Return a row for each piece, in the order in which the sheets are cut."""
    by_name = {laid.board: laid for laid in pooled.layout.boards}
    own = {name: (kit.name, plain) for kit in pooled.pool.kits for name, plain in kit.own_names.items()}
    return tuple(
        (
            sheet.number,
            sheet.board.name,
            sheet.board.material,
            sheet.board.thickness_mm,
            *own[p.part],
            p.copy,
            round(p.pose.x_mm, 3),
            round(p.pose.y_mm, 3),
            round(p.pose.angle_deg, 4),
            p.pose.is_flipped,
            round(pooled.mass_g.get((p.part, p.copy), 0.0), 3),
        )
        for sheet in pooled.sheets
        for p in by_name[sheet.board.name].placements
    )


def book_pool(rack: Path, kits: Sequence[Kit]) -> CutRack:
    """Take the boards of the kept layout off the pool's table and put their offcuts back; the old one stays as `.bak`.

    Raises:
        JobError: There is no layout that fits the jobs and boards as they are.
        WriteError: The table cannot be written.
    """
    pool = pool_of(rack, kits)
    layout = stored_layout(pool.job, pool.parts, pool.boards)
    if layout is None:
        raise JobError(
            f"no layout on {rack.name} fits the jobs and boards as they are; run the same without --book first, and "
            "cut the sheets as it says."
        )
    return cut_rack(pool.job, pool.parts, layout)
