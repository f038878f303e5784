"""What `job.toml` may hold. Unknown keys are errors that suggest the nearest."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, field_validator, model_validator

from nesting.job.flex_tables import FlexTable
from nesting.job.model_schema import (
    AccuracyTable,
    AssignTable,
    BalanceTable,
    BudgetTable,
    CoatTable,
    DrillTable,
    FinishTable,
    GlueTable,
    JointTable,
    MaterialTable,
    PairTable,
    StationTable,
    SubstituteTable,
    WeighedTable,
    WireTable,
)
from nesting.job.step_tables import CarveTable, StepTable
from nesting.job.stock_schema import PackTable, StockTable, StripTable
from nesting.wood.board import MARGIN_AT_EDGES_MM, MARGIN_AT_ENDS_MM
from nesting.wood.names import BoardName, PartName, PlanName, Stands
from nesting.wood.scale_reading import WeighedAs
from vectorize.basics.quantity import Angle, Density, Length, Mass, Name, NonNegativeLength, Pixel, Stiffness, Whole
from vectorize.basics.spec_table import Table
from vectorize.basics.units import parse_angle
from vectorize.basics.wording import listed, shown

MOST_PAGES = 100_000


class JobTable(Table):
    """`[job]`."""

    format: Literal[1] = 1
    name: Name = "unnamed"
    units: Literal["mm", "in"] = "mm"


class KnownTable(Table):
    """`[[plan.known]]`: a dimension whose true length is written on the plan."""

    start: Pixel = Field(alias="from")
    end: Pixel = Field(alias="to")
    length: Length


class PointTable(Table):
    """`[[plan.point]]`: a point of a photo whose place on the sheet is known."""

    at: Pixel
    place: tuple[Length, Length] = Field(alias="is")


class BridgeTable(Table):
    """`[[plan.bridge]]`: a gap in a line that a person closed."""

    start: Pixel = Field(alias="from")
    end: Pixel = Field(alias="to")


class PlanTable(Table):
    """`[[plan]]`."""

    name: Name = "plan"
    file: str | None = None
    files: tuple[str, ...] = ()
    page: Whole = Field(default=1, ge=1, le=MOST_PAGES)
    pages: tuple[Annotated[Whole, Field(ge=1, le=MOST_PAGES)], ...] = ()
    largest_megapixels: float = Field(default=500.0, gt=0)
    edge: Literal["centre", "inside", "outside", "solid"] = "centre"
    size: Literal["as drawn"] | None = None
    unit: Literal["mm", "cm", "m", "in", "ft"] | None = None
    axes: Literal["auto", "separate"] = "auto"
    known: tuple[KnownTable, ...] = ()
    sheet: str | None = None
    corners: tuple[Pixel, Pixel, Pixel, Pixel] | None = None
    point: tuple[PointTable, ...] = ()
    flatten: tuple[Literal["skew", "lens", "perspective"], ...] = ("skew", "lens", "perspective")
    gap: NonNegativeLength = 2.0
    sure: float = Field(default=0.9, ge=0, le=1)
    bridge: tuple[BridgeTable, ...] = ()
    layers: tuple[str, ...] | None = None
    datum: Pixel | None = None
    aft: Angle = 0.0

    @property
    def sources(self) -> tuple[tuple[str, int], ...]:
        """Return the files with their page numbers: one, or the overlapping scans to be joined."""
        if self.file is not None:
            return ((self.file, self.page),)
        return tuple(zip(self.files, self.pages or (self.page,) * len(self.files), strict=True))

    @model_validator(mode="after")
    def _has_one_source(self) -> PlanTable:
        if (self.file is None) == (not self.files):
            raise ValueError("give either 'file' (one scan) or 'files' (overlapping scans of one sheet)")
        if self.pages and len(self.pages) != len(self.files):
            raise ValueError(
                f"'pages' has {len(self.pages)} numbers for {len(self.files)} files; give one for each file"
            )
        if len(self.files) == 1:
            raise ValueError("'files' names one file; write it as 'file', or add the scans that overlap it")
        if len(set(self.sources)) < len(self.sources):
            raise ValueError("'files' names the same page twice; name every scan once, or tell pages apart by 'pages'")
        return self

    @model_validator(mode="after")
    def _is_flattened_one_way(self) -> PlanTable:
        if self.files and (self.sheet is not None or self.corners is not None or self.point):
            raise ValueError(
                "'sheet', 'corners' and 'point' flatten one photo; scans in 'files' are joined without them"
            )
        if self.files and self.edge == "solid":
            raise ValueError(
                "edge = 'solid' is for one picture, as scans are joined by drawn lines; photograph the part whole on a "
                "sheet of known size (sheet = \"A3\"), or draw round it with a pen and scan that with edge = 'inside'"
            )
        if self.point and (self.sheet is not None or self.corners is not None):
            raise ValueError("'point' and 'sheet' both say how the photo lies; give one of them")
        if self.corners is not None and self.sheet is None:
            raise ValueError('\'corners\' are those of a sheet; give its size too, sheet = "A3" or "420 x 297 mm"')
        if self.point and "perspective" not in self.flatten:
            raise ValueError("'point' flattens a photo; add \"perspective\" to 'flatten', or take the points out")
        return self


class MarkTable(Table):
    """`[[part.mark]]`: a line or point for the builder, drawn on the pattern."""

    kind: Literal["datum", "balance", "centre line", "doubler", "fold"]
    at: tuple[Pixel, ...] = Field(min_length=1)
    text: str = ""


class PartTable(Table):
    """`[[part]]`."""

    name: Name
    source: Annotated[PartName | None, Stands()] = Field(default=None, alias="from")
    plan: PlanName | None = None
    pick: tuple[Pixel, ...] = ()
    cutout: tuple[Pixel, ...] = ()
    fill: tuple[Pixel, ...] = ()
    line: Literal["solid", "dashed"] = "solid"
    mirror: tuple[Pixel, Pixel] | None = None
    material: str | None = None
    thickness: Length | None = None
    grain: tuple[Pixel, Pixel] | str | None = None
    grain_tolerance: Angle | Literal["free"] = 3.0
    count: Whole = Field(default=1, ge=1, le=10_000)
    hand: Literal["either", "left", "right", "pair"] = "either"
    board: BoardName | None = None
    boards: tuple[BoardName, ...] = ()
    cut: bool = False
    weighed: Mass | None = None
    weighed_as: WeighedAs | None = None
    loaded: Literal["flatwise", "edgewise"] = "flatwise"
    use: Literal["any", "bends", "flat"] = "any"
    flat: Length | None = None
    density: tuple[Density, Density] | None = None
    least_stiffness: Stiffness | None = None
    substitutes: tuple[SubstituteTable, ...] = ()
    cuts: tuple[Literal["tangential", "mixed", "quarter"], ...] = ()
    step: tuple[StepTable, ...] = ()
    carve: CarveTable | None = None
    mark: tuple[MarkTable, ...] = ()

    @model_validator(mode="after")
    def _is_drawn_or_made(self) -> PartTable:
        if self.source is not None and (self.pick or self.cutout or self.fill or self.mirror or self.plan):
            raise ValueError(
                "a part that is made from another has no 'plan', 'pick', 'cutout', 'fill' or 'mirror' of its own"
            )
        return self

    @field_validator("grain")
    @classmethod
    def _grain_is_angle(cls, value: Any) -> Any:  # noqa: ANN401 - TOML gives whatever the user wrote
        if isinstance(value, str):
            parse_angle(value, what="the value")
        return value


class RackTable(Table):
    """`[rack]`."""

    file: str = "rack.csv"


class PinTable(Table):
    """`[[nest.pin]]`: a copy that stays where it is put."""

    part: PartName
    copy_number: Whole = Field(default=1, ge=1, alias="copy")
    board: BoardName
    x: Length
    y: Length
    angle: Angle = 0.0
    flipped: bool = False


class NestTable(Table):
    """`[nest]`."""

    tool: Literal["saw", "knife", "laser", "router"] = "saw"
    kerf: NonNegativeLength | None = None
    clearance: NonNegativeLength | None = None
    ends: NonNegativeLength = MARGIN_AT_ENDS_MM
    edges: NonNegativeLength = MARGIN_AT_EDGES_MM
    cutouts: bool = True
    entry_hole: NonNegativeLength = 2.0
    side_by_side: tuple[tuple[PartName, PartName], ...] = ()
    soft_patches: tuple[PartName, ...] = ()
    pin: tuple[PinTable, ...] = ()
    seed: Whole = 0


class BladeTable(Table):
    """`[[pattern.blade]]`: a saw blade at hand, by its size."""

    width: Length
    thickness: Length
    kerf: Length
    teeth: float = Field(gt=0)


class PatternTable(Table):
    """`[pattern]`."""

    paper: str = "A4"
    margin: Length = 10.0
    overlap: Length = 10.0
    printer: tuple[Length, Length] = (100.0, 100.0)
    mirror: bool = False
    style: Literal["stick-on", "card"] = "stick-on"
    without: tuple[str, ...] = ()
    formats: tuple[Literal["pdf", "svg", "dxf", "png"], ...] = ("pdf", "svg", "dxf", "png")
    pages: Whole = Field(default=60, ge=1)
    dxf: Literal["R12", "R2000", "R2010"] = "R2010"
    overlay: bool = True
    blade: tuple[BladeTable, ...] = ()


class JobSpec(Table):
    """The whole of `job.toml`."""

    job: JobTable = JobTable()
    plan: tuple[PlanTable, ...] = ()
    part: tuple[PartTable, ...] = ()
    rack: RackTable = RackTable()
    nest: NestTable = NestTable()
    pattern: PatternTable = PatternTable()
    material: tuple[MaterialTable, ...] = ()
    coat: tuple[CoatTable, ...] = ()
    glue: tuple[GlueTable, ...] = ()
    finish: tuple[FinishTable, ...] = ()
    joint: tuple[JointTable, ...] = ()
    weighed: tuple[WeighedTable, ...] = ()
    balance: BalanceTable = BalanceTable()
    station: tuple[StationTable, ...] = ()
    budget: BudgetTable | None = None
    pair: tuple[PairTable, ...] = ()
    drill: DrillTable | None = None
    wire: tuple[WireTable, ...] = ()
    strip: tuple[StripTable, ...] = ()
    pack: tuple[PackTable, ...] = ()
    stock: StockTable = StockTable()
    assign: AssignTable = AssignTable()
    accuracy: AccuracyTable = AccuracyTable()
    flex: FlexTable = FlexTable()

    @model_validator(mode="after")
    def _names_are_single(self) -> JobSpec:
        named = (
            ("plan", [one.name for one in self.plan]),
            ("part", [one.name for one in self.part]),
            ("station", [one.name for one in self.station]),
            ("wire", [one.name for one in self.wire]),
            ("strip", [one.name for one in self.strip]),
            ("pack", [one.of for one in self.pack]),
        )
        for what, names in named:
            twice = sorted({name for name in names if names.count(name) > 1})
            if twice:
                raise ValueError(f"two entries of [[{what}]] are named {twice[0]!r}; give each a name of its own")
        plans = {p.name for p in self.plan}
        for part in self.part:
            if part.plan is not None and part.plan not in plans:
                known = listed(sorted(plans))
                raise ValueError(
                    f"part {part.name!r} is on plan {shown(part.plan)}, which is not there; plans: {known}"
                )
        return self
