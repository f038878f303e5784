"""`[flex]`: ways to build a carved panel, to be compared for how springy they are."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from nesting.wood.covering import DEFAULT_GLUE
from nesting.wood.names import BoardName, PartName, Stands
from vectorize.basics.quantity import Angle, Length, Mass, Name, Share
from vectorize.basics.spec_table import Table

AS_IT_STANDS = "as it stands"
"""The panel as the job has it, beside its options."""


class WoodTable(Table):
    """What something is made of: a board of the rack, or a material with its default density."""

    board: Annotated[BoardName | None, Stands()] = None
    material: str | None = None

    @model_validator(mode="after")
    def _is_one_wood(self) -> WoodTable:
        if (self.board is None) == (self.material is None):
            raise ValueError("give either a 'board' of the rack or a 'material'")
        return self


class EdgeWoodTable(WoodTable):
    """`leading_edge` and `trailing_edge`: a strip of another wood."""

    width: Length


class SparTable(WoodTable):
    """An entry of `spars`: a strip along the span, right through or let into both faces."""

    at: Share
    width: Length
    depth: Length | None = None


class SkinTable(WoodTable):
    """`skin`: sheet glued onto the carved faces."""

    thickness: Length | None = None
    grain: Angle = 0.0
    faces: Literal["both", "top", "bottom"] = "both"
    glue: str = DEFAULT_GLUE

    @model_validator(mode="after")
    def _has_a_thickness(self) -> SkinTable:
        if self.board is None and self.thickness is None:
            raise ValueError("a skin of a 'material' needs its 'thickness'; one of a 'board' has the board's")
        return self


class FlexOptionTable(Table):
    """`[[flex.option]]`: one way to build a panel; what is not said stays as the job has it."""

    name: Name
    part: PartName
    boards: tuple[BoardName, ...] = ()
    leading_edge: EdgeWoodTable | None = None
    trailing_edge: EdgeWoodTable | None = None
    spars: tuple[SparTable, ...] = ()
    skin: SkinTable | None = None
    covering: tuple[str, ...] | None = None


class FlexTable(Table):
    """`[flex]`."""

    load: Annotated[Mass, Field(gt=0)] = 100.0
    option: tuple[FlexOptionTable, ...] = ()

    @model_validator(mode="after")
    def _names_are_free(self) -> FlexTable:
        if any(option.name == AS_IT_STANDS for option in self.option):
            raise ValueError(f"an entry of [[flex.option]] is named {AS_IT_STANDS!r}, as the job itself is; rename it")
        return self

    @model_validator(mode="after")
    def _names_are_single(self) -> FlexTable:
        named = [(option.part, option.name) for option in self.option]
        if twice := sorted({pair for pair in named if named.count(pair) > 1}):
            raise ValueError(f"two entries of [[flex.option]] for {twice[0][0]!r} are named {twice[0][1]!r}; keep one")
        return self
