"""What `[[part.step]]` and `[part.carve]` may hold."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from nesting.alter.bearers import Bearers
from nesting.alter.doubler import Doubler
from nesting.alter.edge_strip import EdgeStrip
from nesting.alter.frame import Spot
from nesting.alter.interlock import HalfLap, Slot, Tab
from nesting.alter.lighten import Lighten
from nesting.alter.long_joints import Laminate, Scarf, Splice
from nesting.alter.openings import BearerSlot, BoltPattern, Opening, RoundHole, WingSeat
from nesting.alter.opposite import Opposite, Pair
from nesting.alter.planks import Planks
from nesting.alter.rescale import Rescale
from nesting.alter.resize import Foreshortened, Grow, Stretch
from nesting.carve.section.section_key import SectionKey
from nesting.wood.names import PartName
from vectorize.basics.quantity import Length, Mass
from vectorize.basics.spec_table import Table

__all__ = ["CarveTable", "SectionKey", "Spot", "StepTable"]

StepTable = Annotated[
    Doubler
    | Opposite
    | Pair
    | RoundHole
    | BoltPattern
    | Opening
    | BearerSlot
    | Bearers
    | WingSeat
    | Slot
    | Tab
    | HalfLap
    | Lighten
    | Grow
    | Stretch
    | Rescale
    | Foreshortened
    | Planks
    | Scarf
    | Splice
    | Laminate
    | EdgeStrip,
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
