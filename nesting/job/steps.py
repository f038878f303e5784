"""From the tables of a job to steps and sections in millimetres."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from nesting.alter.axis import Axis
from nesting.alter.step import Step
from nesting.carve.section import HighPoint, Section, Tabulated, naca4, section_from_coordinates
from nesting.job import step_tables as tables
from nesting.job.folder import Job
from nesting.job.model_schema import BalanceTable
from nesting.job.rack_files import RackAtHand, rack_at_hand
from nesting.job.schema import JobSpec, PartTable
from nesting.job.wood import materials_of
from nesting.wood.material import canonical_name
from vectorize.basics.errors import JobError, PartError
from vectorize.basics.plain_file import read_plain
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Point

ToMillimetres = Callable[[tuple[float, ...]], Point]


@dataclass(frozen=True, slots=True)
class PlanFrame:
    """How places in the job's tables become millimetres on one plan."""

    to_mm: ToMillimetres
    axis: Axis

    def point(self, spot: tables.Spot) -> Point:
        """Return a place in millimetres."""
        if isinstance(spot, tables.Station):
            return self.axis.point(spot.station, spot.height)
        return self.to_mm(spot)

    def points(self, spots: Sequence[tables.Spot]) -> tuple[Point, ...]:
        """Return places in millimetres."""
        return tuple(map(self.point, spots))

    def line(self, spots: tuple[tables.Spot, tables.Spot]) -> tuple[Point, Point]:
        """Return the two ends of a line in millimetres."""
        return self.point(spots[0]), self.point(spots[1])

    def maybe(self, spot: tables.Spot | None) -> Point | None:
        """Return a place in millimetres, or None where none is given."""
        return None if spot is None else self.point(spot)


@dataclass(frozen=True, slots=True)
class Given:
    """What parts are made from besides traced outlines: tables, the rack, and the coordinate files of sections."""

    spec: JobSpec
    rack: RackAtHand
    files: Mapping[str, bytes | JobError]

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
    names = {file: None for table in spec.part for file in section_files(table)}
    return Given(tables_of_parts, rack_at_hand(job), {name: _file_bytes(job, name) for name in names})


def section_files(table: PartTable) -> tuple[str, ...]:
    """Return the coordinate files that a part is made by."""
    keys = [getattr(step, "section", None) for step in table.step] + [table.carve and table.carve.section]
    return tuple(dict.fromkeys(key.file for key in keys if isinstance(key, tables.SectionFileTable)))


def _file_bytes(job: Job, name: str) -> bytes | JobError:
    try:
        return read_plain(job.path(name))
    except JobError as error:
        return error
    except OSError as error:
        return JobError(f"section file {name} cannot be read ({error.strerror}); put it into the job folder.")


def steps_of(given: Given, part: str, step_list: Sequence[tables.StepTable], frame: PlanFrame) -> tuple[Step, ...]:
    """Return the steps of a part.

    Raises:
        JobError: A section that cannot be read.
        PartError: A step that cannot be from its numbers alone.
    """
    try:
        return tuple(_step(given, part, table, frame) for table in step_list)
    except PartError as error:
        raise PartError(f"part {part}: {error}") from error


def _step(given: Given, part: str, table: tables.StepTable, frame: PlanFrame) -> Step:
    made = _opening_step(given, part, table, frame) or _size_step(table, frame) or _joint_step(given, table, frame)
    if made is None:
        raise JobError(f"part {part!r}: there is no step {table.make!r}.")
    return made


def _opening_step(given: Given, part: str, table: tables.StepTable, frame: PlanFrame) -> Step | None:
    from nesting.alter.interlock import HalfLap, Slot, Tab
    from nesting.alter.lighten import Lighten
    from nesting.alter.openings import BearerSlot, BoltPattern, Opening, RoundHole, WingSeat

    point, points = frame.point, frame.points
    match table:
        case tables.HoleTable():
            return RoundHole(points(table.at), table.diameter)
        case tables.BoltsTable():
            return BoltPattern(points(table.at), table.pitch, table.diameter, table.angle)
        case tables.OpeningTable():
            return Opening(point(table.at), table.length, table.width, table.corner, table.angle, table.open)
        case tables.BearerSlotTable():
            return BearerSlot(point(table.at), table.width, table.depth, table.corner)
        case tables.WingSeatTable():
            section = section_of(given, part, table.section, table.chord, table.thickness)
            return WingSeat(section, table.chord, point(table.at), table.incidence, table.allowance, table.opens)
        case tables.SlotTable():
            return Slot(point(table.at), table.mate, table.length, table.angle, table.clearance)
        case tables.TabTable():
            return Tab(point(table.at), table.mate, table.width, table.proud)
        case tables.HalfLapTable():
            return HalfLap(point(table.at), table.mate, table.opens, table.clearance)
        case tables.LightenTable():
            fasteners = points(table.fasteners)
            return Lighten(table.web, table.edge, table.least, table.greatest, fasteners, table.clear)
        case _:
            return None


def _size_step(table: tables.StepTable, frame: PlanFrame) -> Step | None:
    from nesting.alter.doubler import Doubler
    from nesting.alter.opposite import Opposite, Pair
    from nesting.alter.rescale import Rescale
    from nesting.alter.resize import Foreshortened, Grow, Stretch

    match table:
        case tables.DoublerTable():
            within = Outline.from_points(frame.points(table.within)) if table.within else None
            return Doubler(table.stations, within, table.margin, table.rake, table.stagger, table.sides, table.glue)
        case tables.OppositeTable():
            return Opposite(None if table.across is None else frame.line(table.across))
        case tables.PairTable():
            return Pair()
        case tables.GrowTable():
            return Grow(table.by, frame.points(table.along), frame.points(table.ends), table.cutouts)
        case tables.StretchTable():
            return Stretch(table.station, table.by, table.moves == "aft")
        case tables.RescaleTable():
            return Rescale(table.factor, frame.maybe(table.about), table.stock, table.thickness)
        case tables.ForeshortenedTable():
            root, tip = frame.line(table.span)
            return Foreshortened(table.dihedral, root, direction_deg(root, tip), table.face == "upper")
        case _:
            return None


def _joint_step(given: Given, table: tables.StepTable, frame: PlanFrame) -> Step | None:
    from nesting.alter.edge_strip import EdgeStrip
    from nesting.alter.long_joints import Laminate, Scarf, Splice
    from nesting.alter.planks import Planks

    match table:
        case tables.PlanksTable():
            return Planks(table.width, table.trued, table.glue)
        case tables.ScarfTable():
            return Scarf(frame.maybe(table.at), table.slope, table.clear, table.clear_of, table.glue)
        case tables.SpliceTable():
            at = frame.maybe(table.at)
            wood = None if table.plate_material is None else given.material(table.plate_material)
            return Splice(at, table.plate, wood, table.reach, table.sides, table.clear, table.clear_of, table.glue)
        case tables.LaminateTable():
            return Laminate(table.layers, table.stagger, table.longest, table.glue)
        case tables.EdgeStripTable():
            along, ends = frame.points(table.along), frame.points(table.ends)
            return EdgeStrip(along, table.width, given.material(table.material), table.thickness, ends, table.glue)
        case _:
            return None


def direction_deg(start: Point, end: Point) -> float:
    """Return the direction from one point to another, in degrees."""
    return math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))


def section_of(given: Given, part: str, key: tables.SectionKey, chord_mm: float, thickness_mm: float | None) -> Section:
    """Return the section that a table names, of unit chord; lengths in it hold at `chord_mm`.

    Raises:
        JobError: A name that is not `NACA` and four digits, a file that cannot be read, no thickness.
        PartError: A section that cannot be.
    """
    match key:
        case tables.HighPointTable():
            if thickness_mm is None:
                raise JobError(f"part {part!r}: a high-point section needs a thickness.")
            is_flat = key.bottom == "flat"
            return HighPoint(
                thickness_mm / chord_mm, key.high_point, key.nose / chord_mm, key.trailing / chord_mm, is_flat
            )
        case tables.SectionFileTable():
            section: Section = given.section(key.file)
        case str():
            section = naca4(key.upper().removeprefix("NACA").strip())
    return section if thickness_mm is None else section.resized(thickness=thickness_mm / chord_mm)
