"""What may be asked to be changed of how patterns are drawn."""

from __future__ import annotations

from typing import Literal

from nesting.desk.fields import Edit, Name, Text


class SetPattern(Edit):
    """One choice for patterns; None takes it away."""

    kind: Literal["set-pattern"]
    field: Literal[
        "paper", "margin", "overlap", "printer", "mirror", "style", "without", "formats", "pages", "dxf", "overlay"
    ]
    value: bool | int | Text | tuple[Name, ...] | None


class MeasuredBars(Edit):
    """What the two bars of a length measure on a print made with the correction that holds now."""

    kind: Literal["measured-bars"]
    bar: Literal["100 mm", "4 in"] = "100 mm"
    across: Name
    up: Name


AboutPatterns = SetPattern | MeasuredBars
"""Every edit of how patterns are drawn."""
