"""What a stage repaired or left open, told with its place."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal

State = Literal["fixed", "open"]


@dataclass(frozen=True, slots=True)
class Note:
    """One remark of a stage: `fixed` needs no action, `open` is the user's to look at.

    `code` is a stable word for programs, `text` a sentence for people. `at` is a place in the
    original pixels of the plan file (x, y), with the number of the file where a plan has several, or None where there
    is no place.
    """

    code: str
    text: str
    state: State = "fixed"
    part: str | None = None
    at: tuple[float, ...] | None = None

    def rounded(self) -> Note:
        """Return the note with its place to a hundredth of a pixel, as it is written and read back."""
        return self if self.at is None else replace(self, at=tuple(round(value, 2) for value in self.at))

    def as_json(self) -> dict[str, Any]:
        """Return the note as the JSON contract has it."""
        return {
            "code": self.code,
            "part": self.part,
            "at": None if self.at is None else list(self.rounded().at or ()),
            "text": self.text,
            "state": self.state,
        }
