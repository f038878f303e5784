"""The tables of `job.toml` that concern what a job takes besides boards: strip stock, packs, waste."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from vectorize.basics.quantity import Length, Mass, Name, Pixel, Share, Whole
from vectorize.basics.spec_table import Table

Price = Annotated[float, Field(ge=0, le=1e6)]
"""In the currency of the job."""

MOST_PIECES = 1000
LONGEST_MM = 1e5


class StripPieceTable(Table):
    """`[[strip.piece]]`: pieces to cut from a strip that are no part of the plan, such as spars and dowels."""

    name: Name
    length: Length
    count: Whole = Field(default=1, ge=1, le=MOST_PIECES)
    station: Length | None = None
    at: Pixel | None = None
    lateral: Length = 0.0

    @model_validator(mode="after")
    def _can_be(self) -> StripPieceTable:
        if not 0 < self.length < LONGEST_MM:
            raise ValueError(f"piece {self.name!r} is {self.length:g} mm long; give it a length above zero")
        if self.station is not None and self.at is not None:
            raise ValueError(f"piece {self.name!r} has a station and a point of the side view as 'at'; give one")
        return self


class StripTable(Table):
    """`[[strip]]`: strip, dowel or wire as it is sold, and what of it is at hand."""

    name: Name
    material: str
    thickness: Length | None = None
    width: Length | None = None
    diameter: Length | None = None
    length: Length
    offcuts: tuple[Length, ...] = Field(default=(), max_length=MOST_PIECES)
    at_hand: Whole = Field(default=0, ge=0, le=MOST_PIECES)
    mass: Mass | None = None
    price: Price | None = None
    piece: tuple[StripPieceTable, ...] = ()

    @model_validator(mode="after")
    def _has_a_section(self) -> StripTable:
        is_flat = self.thickness is not None and self.width is not None
        if (self.diameter is None) != is_flat or (self.diameter is not None and (self.thickness or self.width)):
            raise ValueError(f"strip {self.name!r} needs its thickness and width, or where it is round its diameter")
        sizes = [self.length, *self.offcuts, *(s for s in (self.thickness, self.width, self.diameter) if s is not None)]
        if any(not 0 < size < LONGEST_MM for size in sizes):
            raise ValueError(f"strip {self.name!r} has a size that is not above zero; give every size of it")
        if self.mass is not None and not self.mass > 0:
            raise ValueError(f"a length of strip {self.name!r} weighs {self.mass:g} g; give what a whole one weighs")
        return self


class PackTable(Table):
    """`[[pack]]`: what a coat or a glue is sold in: a sheet or roll by its sides, a tin or bottle by its contents."""

    of: Name
    length: Length | None = None
    width: Length | None = None
    mass: Mass | None = None
    solids: Share = 1.0
    price: Price | None = None

    @model_validator(mode="after")
    def _has_a_size(self) -> PackTable:
        is_sheet = self.length is not None and self.width is not None
        if is_sheet == (self.mass is not None):
            raise ValueError(
                f"the pack of {self.of!r} needs the length and width of a sheet, or the mass of its contents"
            )
        if any(size is not None and not size > 0 for size in (self.length, self.width, self.mass)):
            raise ValueError(f"the pack of {self.of!r} holds nothing; give sizes above zero")
        if not 0 < self.solids <= 1:
            raise ValueError(f"solids is {self.solids:.0%}; what stays of a liquid is more than 0 % and up to 100 %")
        return self


class StockTable(Table):
    """`[stock]`: the currency of prices, and what is lost of what is taken."""

    currency: Annotated[str, Field(max_length=10, pattern=r"^[^\x00-\x1f\x7f]*$")] = ""
    covering: Share = 0.2
    paint: Share = 0.3
    glue: Share = 0.5
    wire: Share = 0.05

    @model_validator(mode="after")
    def _leaves_something(self) -> StockTable:
        for key in ("covering", "paint", "glue", "wire"):
            if not 0 <= getattr(self, key) < 1:
                raise ValueError(f"{key} is {getattr(self, key):.0%}; give what is wasted from 0 % to below 100 %")
        return self
