"""Names in `job.toml` that speak of something else in the job, told apart by what they name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from vectorize.basics.quantity import Name

Kind = Literal["part", "plan", "board", "item"]


@dataclass(frozen=True, slots=True)
class NameOf:
    """What a text names."""

    kind: Kind


@dataclass(frozen=True, slots=True)
class Stands:
    """That a table means nothing without this field, and how many of its names must stay; None: all of them."""

    least: int | None = 1


PartName = Annotated[Name, NameOf("part")]
PlanName = Annotated[Name, NameOf("plan")]
BoardName = Annotated[str, NameOf("board")]
ItemName = Annotated[Name, NameOf("item")]
