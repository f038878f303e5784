"""What may be asked to be changed of a plan: its size, how it is read, gaps in its lines."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from nesting.desk.fields import Edit, Name, OfEntry, Place, Text


class AddKnown(Edit):
    """A known dimension: two points of the plan and their true distance."""

    kind: Literal["add-known"]
    plan: Name
    start: Place
    end: Place
    length: Name


class DropKnown(OfEntry):
    """Take a known dimension away."""

    kind: Literal["drop-known"]
    plan: Name


class SetPlan(Edit):
    """How a plan is read."""

    kind: Literal["set-plan"]
    plan: Name
    field: Literal["name", "edge", "size", "axes", "flatten", "gap", "page", "layers"]
    value: Name | Annotated[int, Field(strict=True, ge=1, le=100_000)] | tuple[Text, ...] | None


class SetSheet(Edit):
    """A photographed sheet: its true size, and its four corners in any order; no size takes both away."""

    kind: Literal["set-sheet"]
    plan: Name
    size: Name | None
    corners: tuple[Place, Place, Place, Place] | None = None


class AddBridge(Edit):
    """Close a gap in a line between two points of the plan."""

    kind: Literal["add-bridge"]
    plan: Name
    start: Place
    end: Place


class DropBridge(OfEntry):
    """Open again a gap that was closed by hand."""

    kind: Literal["drop-bridge"]
    plan: Name


AboutPlan = (
    AddKnown | DropKnown | SetPlan | SetSheet | AddBridge | DropBridge
)  # fmt: skip
"""Every edit of a plan."""
