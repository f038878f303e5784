"""What `[[part.step]]` and `[part.carve]` may hold."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from nesting.wood.covering import DEFAULT_GLUE
from nesting.wood.names import PartName
from vectorize.basics.quantity import Angle, Length, Mass, Pixel, Share
from vectorize.basics.spec_table import Table


class Station(Table):
    """A place by its station aft of the plan's datum and its height above it."""

    station: Length
    height: Length = 0.0


Spot = Pixel | Station
"""A place on the plan: `[x, y]` in pixels, or `{ station = "35 mm", height = "12 mm" }`."""


class HighPointTable(Table):
    """A section as sheet wings are carved; lengths at the root."""

    high_point: Share = 0.30
    nose: Length
    trailing: Length
    bottom: Literal["flat", "symmetrical"] = "symmetrical"


class SectionFileTable(Table):
    """A section from a coordinate file in the job folder."""

    file: str


SectionKey = str | HighPointTable | SectionFileTable
"""`"NACA 2412"`, a high-point section, or a coordinate file."""


class DoublerTable(Table):
    """A doubler over part of the outline."""

    make: Literal["doubler"]
    stations: tuple[Length, Length] | None = None
    within: tuple[Spot, ...] = ()
    margin: Length = 0.0
    rake: Angle = 45.0
    stagger: Length = 10.0
    sides: Literal["both", "left", "right"] = "both"
    glue: str = DEFAULT_GLUE


class OppositeTable(Table):
    """The mirror image."""

    make: Literal["opposite"]
    across: tuple[Spot, Spot] | None = None


class PairTable(Table):
    """Both hands from one outline."""

    make: Literal["pair"]


class HoleTable(Table):
    """Round holes of one diameter."""

    make: Literal["hole"]
    at: tuple[Spot, ...]
    diameter: Length


class BoltsTable(Table):
    """A bolt pattern, the same at each place."""

    make: Literal["bolts"]
    at: tuple[Spot, ...]
    pitch: tuple[Length, Length]
    diameter: Length
    angle: Angle = 0.0


class OpeningTable(Table):
    """A rectangular opening."""

    make: Literal["opening"]
    at: Spot
    length: Length
    width: Length
    corner: Length = 0.0
    angle: Angle = 0.0
    open: bool = False


class BearerSlotTable(Table):
    """The slot between engine bearers."""

    make: Literal["bearer slot"]
    at: Spot
    width: Length
    depth: Length
    corner: Length = 3.0


class WingSeatTable(Table):
    """A wing slot or seat in the shape of a section."""

    make: Literal["wing seat"]
    at: Spot
    chord: Length
    section: SectionKey
    thickness: Length | None = None
    incidence: Angle = 0.0
    allowance: Length = 0.0
    opens: Literal["none", "up", "down"] = "none"


class SlotTable(Table):
    """A closed slot for another part's tab."""

    make: Literal["slot"]
    at: Spot
    mate: PartName = Field(alias="for")
    length: Length
    angle: Angle = 0.0
    clearance: Length = 0.1


class TabTable(Table):
    """A tab on an edge."""

    make: Literal["tab"]
    at: Spot
    mate: PartName = Field(alias="for")
    width: Length
    proud: Length = 0.0


class HalfLapTable(Table):
    """A slot to the middle, for two parts that cross."""

    make: Literal["half lap"]
    at: Spot
    mate: PartName = Field(alias="for")
    opens: Literal["up", "down"]
    clearance: Length = 0.1


class LightenTable(Table):
    """Lightening holes by rule."""

    make: Literal["lighten"]
    web: Length
    edge: Length
    least: Length = 8.0
    greatest: Length | None = None
    fasteners: tuple[Spot, ...] = ()
    clear: Length = 6.0


class GrowTable(Table):
    """A sanding allowance, all round or along edges."""

    make: Literal["grow"]
    by: Length
    along: tuple[Spot, ...] = ()
    ends: tuple[Spot, ...] = ()
    cutouts: bool = False


class StretchTable(Table):
    """Longer at a station."""

    make: Literal["stretch"]
    station: Length
    by: Length
    moves: Literal["fore", "aft"] = "fore"


class RescaleTable(Table):
    """Another model scale."""

    make: Literal["rescale"]
    factor: float
    about: Spot | None = None
    stock: tuple[Length, ...] = ()
    thickness: Length | None = None


class ForeshortenedTable(Table):
    """A panel drawn in projection under dihedral."""

    make: Literal["foreshortened"]
    dihedral: Angle
    span: tuple[Spot, Spot]
    face: Literal["lower", "upper"] = "lower"


class PlanksTable(Table):
    """Planks along the grain."""

    make: Literal["planks"]
    width: Length | None = None
    trued: Length = 0.5
    glue: str = DEFAULT_GLUE


class ScarfTable(Table):
    """A scarf across the grain."""

    make: Literal["scarf"]
    at: Spot | None = None
    slope: float = 8.0
    clear: Length = 25.0
    clear_of: tuple[PartName, ...] = ()
    glue: str = DEFAULT_GLUE


class SpliceTable(Table):
    """A butt joint with plates."""

    make: Literal["splice"]
    at: Spot | None = None
    plate: Length = 1.5
    plate_material: str | None = None
    reach: Length | None = None
    sides: Literal[1, 2] = 2
    clear: Length = 25.0
    clear_of: tuple[PartName, ...] = ()
    glue: str = DEFAULT_GLUE


class LaminateTable(Table):
    """Layers with staggered joints."""

    make: Literal["laminate"]
    layers: tuple[Length, ...]
    stagger: Length = 50.0
    longest: Length | None = None
    glue: str = DEFAULT_GLUE


class EdgeStripTable(Table):
    """A strip let into an edge."""

    make: Literal["edge strip"]
    along: tuple[Spot, ...]
    width: Length
    material: str
    thickness: Length | None = None
    ends: tuple[Spot, ...] = ()
    glue: str = DEFAULT_GLUE


StepTable = Annotated[
    DoublerTable
    | OppositeTable
    | PairTable
    | HoleTable
    | BoltsTable
    | OpeningTable
    | BearerSlotTable
    | WingSeatTable
    | SlotTable
    | TabTable
    | HalfLapTable
    | LightenTable
    | GrowTable
    | StretchTable
    | RescaleTable
    | ForeshortenedTable
    | PlanksTable
    | ScarfTable
    | SpliceTable
    | LaminateTable
    | EdgeStripTable,
    Field(discriminator="make"),
]


class CarveTable(Table):
    """`[part.carve]`: the section that a panel is carved to."""

    section: SectionKey
    span: tuple[Spot, Spot]
    leading: Spot
    thickness: tuple[Length, Length] | None = None
    trailing: Length | None = None
    seat: Literal["auto", "middle", "bottom"] = "auto"
    templates: tuple[Length, ...] = ()
    covering: Length = 0.0
    flats: tuple[int, int] = (2, 2)
    contours: Length = 1.0
    against: PartName | None = None
    heavier_by: Mass = 0.0

    @model_validator(mode="after")
    def _flats_are_few(self) -> CarveTable:
        if not all(0 <= count <= 8 for count in self.flats):
            raise ValueError(f"flats = {list(self.flats)}; give two whole numbers from 0 to 8, fore and aft")
        return self
