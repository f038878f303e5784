"""What parts are made from besides traced outlines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from nesting.carve.section import Tabulated, section_from_coordinates
from nesting.carve.section.section_key import SectionFileTable
from nesting.job.folder import Job
from nesting.job.model_schema import BalanceTable
from nesting.job.rack_files import RackAtHand, rack_at_hand
from nesting.job.schema import JobSpec, PartTable
from nesting.job.wood import materials_of
from nesting.wood.material import canonical_name
from vectorize.basics.errors import JobError
from vectorize.basics.plain_file import read_plain


@dataclass(frozen=True, slots=True)
class Given:
    """What parts are made from besides traced outlines: tables, the rack, and the coordinate files of sections.

    `pinned` are the parts that the job pins on a board.
    """

    spec: JobSpec
    rack: RackAtHand
    files: Mapping[str, bytes | JobError]
    pinned: frozenset[str] = frozenset()

    def section(self, name: str) -> Tabulated:
        """Return the section of a coordinate file in the job folder.

        Raises:
            JobError: It cannot be read.
            PartError: It holds no section.
        """
        data = self.files[name]
        if isinstance(data, JobError):
            raise data
        return section_from_coordinates(data.decode("utf-8", errors="replace"))

    def material(self, name: str) -> str:
        """Return the name that the table of materials gives a material, so that `ply` and `birch ply` are one."""
        return canonical_name(name, materials_of(self.spec))


def given_by(job: Job) -> Given:
    """Return what a job's parts are made from: the tables that say so and no others, and the files that they name."""
    spec, balance = job.spec, job.spec.balance
    side_view = BalanceTable(plan=balance.plan, datum=balance.datum, aft=balance.aft)
    tables_of_parts = JobSpec(part=spec.part, plan=spec.plan, material=spec.material, balance=side_view)
    if spec.drill is not None:
        tables_of_parts = tables_of_parts.model_copy(update={"drill": spec.drill})
    pinned: frozenset[str] = frozenset()
    if spec.strip:
        tables_of_parts = tables_of_parts.model_copy(update={"strip": spec.strip})
        pinned = frozenset(pin.part for pin in spec.nest.pin)
    names = {file: None for table in spec.part for file in section_files(table)}
    return Given(tables_of_parts, rack_at_hand(job), {name: _file_bytes(job, name) for name in names}, pinned)


def section_files(table: PartTable) -> tuple[str, ...]:
    """Return the coordinate files that a part is made by."""
    keys = [getattr(step, "section", None) for step in table.step] + [table.carve and table.carve.section]
    return tuple(dict.fromkeys(key.file for key in keys if isinstance(key, SectionFileTable)))


def _file_bytes(job: Job, name: str) -> bytes | JobError:
    try:
        return read_plain(job.path(name))
    except JobError as error:
        return error
    except OSError as error:
        return JobError(f"section file {name} cannot be read ({error.strerror}); put it into the job folder.")
