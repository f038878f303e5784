"""What the forms that the page sends are made of: limited names, texts, numbers and places."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

Name = Annotated[str, Field(min_length=1, max_length=200)]
Text = Annotated[str, Field(max_length=2000)]
Number = Annotated[float, Field(allow_inf_nan=False, ge=-1e7, le=1e7)]
Place = tuple[Number, Number]
Table = Annotated[dict[Name, Any], Field(max_length=40)]
"""A table of `job.toml`; the job's own schema says what may stand in it."""


class Edit(BaseModel):
    """An edit; `revision` is what the page had seen when it was made."""

    model_config = ConfigDict(extra="forbid", frozen=True)
