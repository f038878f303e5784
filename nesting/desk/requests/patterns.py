"""What may be asked to be changed of how patterns are drawn."""

from __future__ import annotations

from typing import Literal

from nesting.desk.fields import Edit, Name, Number, OfEntry, OfEntryOrNew, Text


class SetPattern(Edit):
    """One choice for patterns; None takes it away."""

    kind: Literal["set-pattern"]
    field: Literal[
        "paper", "margin", "overlap", "printer", "mirror", "style", "without", "formats", "pages", "dxf", "overlay"
    ]
    value: bool | int | Text | tuple[Name, ...] | None


class MeasuredBars(Edit):
    """What the two bars of a length measure on a print made with the correction that holds now.

    `seen` is the word that the state gave for that correction.
    """

    kind: Literal["measured-bars"]
    seen: Name
    bar: Literal["100 mm", "4 in"] = "100 mm"
    across: Name
    up: Name


class PutBlade(OfEntryOrNew):
    """A saw blade at hand, in place of blade `number` counted from 0; None adds one."""

    kind: Literal["put-blade"]
    width: Name
    thickness: Name
    kerf: Name
    teeth: Number


class DropBlade(OfEntry):
    """Take a saw blade away."""

    kind: Literal["drop-blade"]


AboutPatterns = SetPattern | MeasuredBars | PutBlade | DropBlade
"""Every edit of how patterns are drawn."""
