"""What the forms that the page sends are made of: limited names, texts, numbers and places."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Name = Annotated[str, Field(min_length=1, max_length=200)]
Text = Annotated[str, Field(max_length=2000)]
Number = Annotated[float, Field(allow_inf_nan=False, ge=-1e7, le=1e7)]
Place = tuple[Number, Number]


class Edit(BaseModel):
    """An edit: strict about its fields."""

    model_config = ConfigDict(extra="forbid", frozen=True)
