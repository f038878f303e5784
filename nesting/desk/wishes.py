"""What the page may ask to be worked out; strict about its fields, as edits are."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from nesting.desk.fields import Edit, Name


class CompareWish(Edit):
    """Boards side by side for a part: those named, or all that could make it."""

    part: Name
    boards: Annotated[tuple[Name, ...], Field(max_length=20)] = ()
    priority: Literal["light", "stiff", "balanced"] = "light"


class FlexWish(Edit):
    """Ways to build a carved panel side by side: options of the job or boards; none means all that the job names."""

    part: Name
    options: Annotated[tuple[Name, ...], Field(max_length=6)] = ()


class AssignWish(Edit):
    """The best board for every part; what is left out is as `[assign]` says."""

    objective: Literal["light", "stiff"] | None = None
    limit: Name | None = None
    time: Name = "20 s"
    best: Annotated[int, Field(ge=1, le=10)] = 3


class TrialWish(Edit):
    """The same parts laid out on two or three boards, each alone."""

    boards: Annotated[tuple[Name, ...], Field(min_length=2, max_length=3)]


class ReadWish(Edit):
    """What a plan says, by the plan's number."""

    plan: Annotated[int, Field(strict=True, ge=0, le=10_000)]
