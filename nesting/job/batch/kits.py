"""Jobs as kits of one pool of boards: their parts side by side, under rules that keep to those of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

from nesting.job.done_parts import placeless_copies
from nesting.job.folder import Job
from nesting.job.model_schema import MaterialTable
from nesting.job.rack_files import read_rack
from nesting.job.rules import rules_of
from nesting.job.schema import JobSpec, NestTable, RackTable
from nesting.job.stages import Stages
from nesting.place.layout import BoardLayout, Layout, Unplaced
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import CallError
from vectorize.basics.wording import listed


@dataclass(frozen=True)
class Kit:
    """A job as it is laid out with others: its name in the pool, and what is still to be cut of it."""

    name: str
    stages: Stages

    @property
    def job(self) -> Job:
        """Return the job."""
        return self.stages.job

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """Return the parts of which a copy is still to be cut from a board; raises as `derive_parts`."""
        parts = self.stages.parts
        names = {name for name, _ in placeless_copies(self.job.spec, parts)}
        return tuple(part for part in parts if part.name not in names)

    def called(self, part: str) -> str:
        """Return what a part is called in the pool, and on its patterns."""
        return f"{self.name}: {part}"

    @cached_property
    def pooled(self) -> tuple[Part, ...]:
        """Return the parts as the pool knows them."""
        return tuple(replace(part, name=self.called(part.name)) for part in self.parts)

    @cached_property
    def own_names(self) -> Mapping[str, str]:
        """Return what the job calls each part, by its name in the pool."""
        return {self.called(part.name): part.name for part in self.parts}

    def own_layouts(self, layout: Layout) -> tuple[BoardLayout, ...]:
        """Return the boards of a layout of the pool that carry this kit, with this kit alone, under its own names.

        Length and fraction used are those of the whole board.
        """
        found = []
        for board in layout.boards:
            own = [p for p in board.placements if p.part in self.own_names]
            named = tuple(replace(p, part=self.own_names[p.part]) for p in own)
            if named:
                found.append(replace(board, placements=named))
        return tuple(found)


@dataclass(frozen=True, slots=True)
class Pool:
    """A table of boards that several kits are cut from; `job` is its folder, seen as a job without plans.

    `unfit` are copies tied to boards that the pool has not.
    """

    job: Job
    boards: tuple[Board, ...]
    kits: tuple[Kit, ...]
    unfit: tuple[Unplaced, ...]

    @property
    def parts(self) -> tuple[Part, ...]:
        """Return the parts of all kits that may be laid out, under their names in the pool."""
        tied = {one.part for one in self.unfit}
        return tuple(part for kit in self.kits for part in kit.pooled if part.name not in tied)

    @property
    def kit_of(self) -> Mapping[str, str]:
        """Return the kit of each part, by the part's name in the pool."""
        return {part.name: kit.name for kit in self.kits for part in kit.pooled}


def pool_job(rack: Path, kits: Sequence[Kit]) -> Job:
    """Return the folder of a rack table as a job: its results lie in a folder beside it, called after the table.

    Its rules keep to those of every job: the widest kerf, gap and margins.

    Raises:
        CallError: Jobs that are cut with different tools, or that mean different woods by one name.
    """
    jobs = [kit.job for kit in kits]
    tools = sorted({job.spec.nest.tool for job in jobs})
    if len(tools) > 1:
        by_tool = [f"{listed(k.name for k in kits if k.job.spec.nest.tool == tool)} with the {tool}" for tool in tools]
        raise CallError(f"one sheet is cut with one tool, but {', '.join(by_tool)}; pool them apart.")
    spec = JobSpec(rack=RackTable(file=rack.name), material=_materials(kits))
    nest = _widest(kits) if kits else spec.nest
    return Job(rack.parent, spec.model_copy(update={"nest": nest}), "", out_name=f"{rack.stem}-pool")


def _widest(kits: Sequence[Kit]) -> NestTable:
    rules = [rules_of(kit.job) for kit in kits]
    named = list(zip(kits, rules, strict=True))
    side_by_side = tuple((kit.called(a), kit.called(b)) for kit, rule in named for a, b in rule.side_by_side)
    soft_patches = tuple(kit.called(name) for kit, rule in named for name in rule.on_soft_patches)
    return NestTable.model_construct(
        **dict(NestTable())
        | {
            "tool": rules[0].tool,
            "kerf": max(one.kerf_mm for one in rules),
            "clearance": max(one.clearance_mm for one in rules),
            "ends": max(one.ends_mm for one in rules),
            "edges": max(one.edges_mm for one in rules),
            "cutouts": all(one.allows_part_in_cutout for one in rules),
            "entry_hole": max(one.entry_hole_mm for one in rules),
            "side_by_side": side_by_side,
            "soft_patches": soft_patches,
            "seed": kits[0].job.spec.nest.seed,
        }
    )


def _materials(kits: Sequence[Kit]) -> tuple[MaterialTable, ...]:
    """Return what the jobs say of materials.

    Raises:
        CallError: Two of them say different things of one.
    """
    found: dict[str, tuple[str, MaterialTable]] = {}
    for kit in kits:
        for table in kit.job.spec.material:
            other, known = found.setdefault(table.name, (kit.name, table))
            if known != table:
                raise CallError(
                    f"{other} and {kit.name} say different things of the material {table.name}; give it the same "
                    "figures in both jobs, or another name in one, or pool them apart."
                )
    return tuple(table for _, table in found.values())


def pool_of(rack: Path, kits: Sequence[Kit]) -> Pool:
    """Return the pool of a rack table for kits.

    Raises:
        RackError: There is no such table, or a row of it that cannot be used.
        CallError: Jobs that are cut with different tools, or that mean different woods by one name.
    """
    job = pool_job(rack, kits)
    boards = read_rack(job)
    names = {board.name for board in boards}
    unfit = [
        Unplaced(
            part.name,
            copy,
            f"part {part.name} is tied to {listed(tied)}, which the pool has not; put that board into "
            f"{rack.name}, or untie the part in its job.",
        )
        for kit in kits
        for part in kit.pooled
        if (tied := [part.board] if part.board else list(part.boards)) and not names & set(tied)
        for copy in range(1, part.copies + 1)
    ]
    return Pool(job, boards, tuple(kits), tuple(unfit))


def cut_order(layout: Layout, kit_of: Mapping[str, str]) -> tuple[str, ...]:
    """Return the boards of a layout in the order to cut them: kits are complete one after the other, soonest first."""
    kits = {board.board: {kit_of[p.part] for p in board.placements} for board in layout.boards}
    order: list[str] = []
    while rest := [name for name in kits if name not in order]:
        waiting = [[name for name in rest if kit in kits[name]] for kit in dict.fromkeys(kit_of.values())]
        shortest = min((names for names in waiting if names), key=len)
        order += shortest
    return tuple(order)
