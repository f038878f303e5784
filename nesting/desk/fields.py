"""What the forms that the page sends are made of: limited names, texts, numbers and places."""

from __future__ import annotations

from typing import Annotated, Any, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

Name = Annotated[str, Field(min_length=1, max_length=200)]
Text = Annotated[str, Field(max_length=2000)]
Number = Annotated[float, Field(allow_inf_nan=False, ge=-1e7, le=1e7)]
Place = tuple[Number, Number]
Table = Annotated[dict[Name, Any], Field(max_length=40)]
"""A table of `job.toml`; the job's own schema says what may stand in it."""


class Edit(BaseModel):
    """An edit: strict about its fields."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class OfEntry(Edit):
    """An edit of an entry of a list: its number from 0, and the word that the state gave for it (`seen`)."""

    number: int
    seen: Name


class OfEntryOrNew(Edit):
    """An edit of an entry of a list, as `OfEntry`; neither number nor word means a new one."""

    number: int | None = None
    seen: Name | None = None

    @model_validator(mode="after")
    def _is_named_whole(self) -> Self:
        if (self.number is None) != (self.seen is None):
            raise ValueError("expected both 'number' and 'seen' of an entry, or neither for a new one")
        return self
