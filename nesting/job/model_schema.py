"""The tables of `job.toml` that concern wood, finish, weight and balance."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, model_validator

from nesting.alter.frame import Station
from nesting.wood.names import ItemName, PartName, PlanName, Stands
from vectorize.basics.quantity import (
    Angle,
    AreaWeight,
    Density,
    Length,
    Mass,
    Name,
    NonNegativeLength,
    Pixel,
    Share,
    Whole,
    quantity_text,
)
from vectorize.basics.spec_table import Table
from vectorize.basics.units import LENGTH, SHARE, parse, parse_length


def _range_end(value: Any) -> tuple[Literal["mm", "chord"], float]:  # noqa: ANN401 - TOML gives whatever the user wrote
    text = quantity_text(value, LENGTH).strip()
    if text.endswith("%"):
        return "chord", parse(text, SHARE, what="the value")
    return "mm", parse_length(text, what="the value")


RangeEnd = Annotated[tuple[Literal["mm", "chord"], float], BeforeValidator(_range_end), LENGTH]
"""A station, or a share of the mean chord such as `25 %`."""


class SubstituteTable(Table):
    """An entry of a part's `substitutes`."""

    material: str
    thickness: Length


class MaterialTable(Table):
    """`[[material]]`: defaults to change, or a material to add."""

    name: Name
    density: Density | None = None
    spread: Share | None = None
    stiffness_per_density: float | None = None
    stiffness_band: tuple[float, float] | None = None
    strength_per_density: float | None = None
    strength_band: tuple[float, float] | None = None
    across: Share | None = None
    shear: Share | None = None
    plies: Whole | None = Field(default=None, ge=1, le=1000)


class CoatTable(Table):
    """`[[coat]]` and `[[glue]]`: dry mass per area to change, or one to add."""

    name: Name
    weight: AreaWeight
    spread: Share | None = None
    stage: Literal["covered", "painted"] | None = None
    stiffness_per_density: float | None = None


class GlueTable(Table):
    """`[[glue]]`."""

    name: Name
    weight: AreaWeight
    spread: Share | None = None


class FinishTable(Table):
    """`[[finish]]`: what is done to the faces of some parts."""

    parts: tuple[PartName, ...]
    top: tuple[str, ...] = ()
    bottom: tuple[str, ...] = ()
    both: tuple[str, ...] = ()
    edges: tuple[str, ...] = ()
    sanding: Length = 0.0


class JointTable(Table):
    """`[[joint]]`: a glued joint, its length times its width."""

    name: Name
    parts: Annotated[tuple[PartName, ...], Stands(2)]
    glue: str
    length: Length
    width: Length


class WeighedTable(Table):
    """`[[weighed]]`: what a scale said of some parts together, or of the `"model"`."""

    parts: Annotated[tuple[PartName, ...], Stands(None)]
    mass: Mass
    step: Mass = 0.1
    stage: Literal["sawn", "cut", "glued", "covered", "painted", "fitted"] | None = None
    balance: Length | None = None


class SectionTable(Table):
    """An entry of `[balance.chord] sections`."""

    span: Length
    chord: Length
    leading_edge: Length


class ChordTable(Table):
    """`[balance.chord]`: the mean chord itself, or the sections of the wing that give it."""

    length: Length | None = None
    leading_edge: Length | None = None
    sections: tuple[SectionTable, ...] = ()

    @model_validator(mode="after")
    def _is_one_or_the_other(self) -> ChordTable:
        if bool(self.sections) == (self.length is not None and self.leading_edge is not None):
            raise ValueError("give either sections, or length and leading_edge of the mean chord")
        return self


class SeatTable(Table):
    """`[[balance.seat]]`: how a part that is not drawn in place comes to its station."""

    part: PartName
    station: Length | None = None
    anchor: Pixel | None = None
    at: Pixel | None = None
    angle: Angle = 0.0
    lateral: Length = 0.0
    from_above: bool = False


class ItemTable(Table):
    """`[[balance.item]]`: equipment with its mass and station."""

    name: Name
    mass: Mass
    spread: Mass = 0.0
    station: Length | None = None
    at: Pixel | None = None
    lateral: Length = 0.0
    fuel: bool = False

    @model_validator(mode="after")
    def _has_a_place(self) -> ItemTable:
        if (self.station is None) == (self.at is None):
            raise ValueError(f"item {self.name!r} needs a station, or a point of the side view as 'at'; give one")
        if self.mass <= 0:
            raise ValueError(f"item {self.name!r} weighs {self.mass:g} g; it must be above zero")
        return self


class BallastTable(Table):
    """`[[balance.ballast]]`: a place where ballast may go."""

    name: Name
    station: Length | None = None
    at: Pixel | None = None
    lateral: Length = 0.0
    most: Mass | None = None
    depth: Length | None = None

    @model_validator(mode="after")
    def _has_a_place(self) -> BallastTable:
        if (self.station is None) == (self.at is None):
            raise ValueError(f"ballast place {self.name!r} needs a station, or a point as 'at'; give one")
        return self


class AlternativeTable(Table):
    """`[[balance.alternative]]`: an item at another place or of another mass; entries of one name go together."""

    name: Name
    item: ItemName
    mass: Mass | None = None
    station: Length | None = None
    lateral: Length | None = None


class BalanceTable(Table):
    """`[balance]`."""

    plan: PlanName | None = None
    datum: Pixel | None = None
    aft: Literal["right", "left"] | Pixel = "right"
    in_place: tuple[PartName, ...] = ()
    range: tuple[RangeEnd, RangeEnd] | None = None
    lateral: tuple[Length, Length] | None = None
    resolves: Length = 1.0
    chord: ChordTable | None = None
    seat: tuple[SeatTable, ...] = ()
    item: tuple[ItemTable, ...] = ()
    ballast: tuple[BallastTable, ...] = ()
    alternative: tuple[AlternativeTable, ...] = ()

    @model_validator(mode="after")
    def _names_are_single(self) -> BalanceTable:
        for what, names in (
            ("item", [i.name for i in self.item]),
            ("ballast", [b.name for b in self.ballast]),
            ("seat", [s.part for s in self.seat]),
        ):
            if twice := sorted({name for name in names if names.count(name) > 1}):
                raise ValueError(f"two entries of [[balance.{what}]] are named {twice[0]!r}; keep one")
        return self


class StationTable(Table):
    """`[[station]]`: a place on the side view with a name."""

    name: Name
    station: Length | None = None
    height: Length = 0.0
    at: Pixel | None = None
    to: Pixel | Station | None = None
    axle: bool = False
    balance_height: Length = 0.0

    @model_validator(mode="after")
    def _has_a_place(self) -> StationTable:
        if (self.station is None) == (self.at is None):
            raise ValueError(f"station {self.name!r} needs a 'station', or a point of the side view as 'at'; give one")
        return self


class PairTable(Table):
    """`[[pair]]`: two parts whose wood is to match, such as the halves of a wing."""

    parts: Annotated[tuple[PartName, PartName], Stands(2)]
    within: Share = 0.10

    @model_validator(mode="after")
    def _are_two(self) -> PairTable:
        if self.parts[0] == self.parts[1]:
            raise ValueError(f"a pair is of two parts, and {self.parts[0]!r} is named twice; name the other half")
        if not self.within >= 0:
            raise ValueError(f"within is {self.within:.0%}; give a share from 0 % up")
        return self


class DrillTable(Table):
    """`[drill]`: drills at hand, and the wood that is to stay beside a hole."""

    sizes: tuple[Length, ...] = ()
    web: NonNegativeLength = 1.5

    @model_validator(mode="after")
    def _drills_are_drills(self) -> DrillTable:
        if any(not size > 0 for size in self.sizes):
            raise ValueError("a drill in 'sizes' has no diameter; give sizes above zero, such as \"3.2 mm\"")
        return self


class WireTable(Table):
    """`[[wire]]`: bent wire by the corners of its middle line."""

    name: Name
    diameter: Length
    radius: NonNegativeLength
    points: Annotated[tuple[tuple[Length, Length, Length], ...], Field(min_length=3)]
    station: Length | None = None
    at: Pixel | None = None
    lateral: Length = 0.0

    @model_validator(mode="after")
    def _has_one_place(self) -> WireTable:
        if self.station is not None and self.at is not None:
            raise ValueError(f"wire {self.name!r} has a station and a point of the side view as 'at'; give one")
        return self


class BudgetTable(Table):
    """`[budget]`: what the model may weigh ready to fly, and what of it."""

    limit: Mass | None = None
    target: Mass | None = None
    wood: Mass | None = None
    glue: Mass | None = None
    covering: Mass | None = None
    paint: Mass | None = None
    equipment: Mass | None = None
    fuel: Mass | None = None
    ballast: Mass | None = None


class AccuracyTable(Table):
    """`[accuracy]`: how well boards are measured, as standard deviations."""

    length: NonNegativeLength = 0.5
    width: NonNegativeLength = 0.2
    thickness: NonNegativeLength = 0.03
    nominal_thickness: NonNegativeLength = 0.1
    support: NonNegativeLength = 1.0
    carved: NonNegativeLength = 0.1


class AssignTable(Table):
    """`[assign]`."""

    objective: Literal["light", "stiff"] = "light"
    weight_limit: Mass | None = Field(default=None)
