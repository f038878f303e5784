"""What a stage repaired or left open, told with its place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal, get_args

State = Literal["fixed", "open"]


@dataclass(frozen=True, slots=True)
class Note:
    """One remark of a stage: `fixed` needs no action, `open` is the user's to look at.

    `code` is a stable word for programs, `text` a sentence for people. `at` is a place in the
    original pixels of the plan file (x, y), with the number of the file where a plan has several, or None where there
    is no place. `is_retold` marks what was told when it was new, or is told where it belongs.
    """

    code: str
    text: str
    state: State = "fixed"
    part: str | None = None
    at: tuple[float, ...] | None = None
    is_retold: bool = field(default=False, compare=False)

    def retold(self) -> Note:
        """Return the note as one that was told before; one that is open stays to be told every time."""
        return self if self.state == "open" else replace(self, is_retold=True)

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

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Note:
        """Return the note that `as_json` wrote.

        Raises:
            KeyError, TypeError, ValueError: `data` is not of that form.
        """
        if data["state"] not in get_args(State):
            raise ValueError("a note is neither fixed nor open")
        part, at = data["part"], data["at"]
        place = None if at is None else place_from_json(at)
        # Files of earlier versions have codes with underscores.
        code = str(data["code"]).replace("_", "-")
        return cls(code, str(data["text"]), data["state"], None if part is None else str(part), place)


def place_from_json(values: Iterable[float]) -> tuple[float, ...]:
    """Return a place as it was written: x and y in pixels, and the number of the file where a plan has several.

    Raises:
        TypeError, ValueError: It is none.
    """
    place = tuple(map(float, values))
    if len(place) not in (2, 3):
        raise ValueError("a place is two numbers, or three with that of the file")
    return place


def each_once(notes: Iterable[Note]) -> tuple[Note, ...]:
    """Return notes in their order, each once; one that is told anew goes before one that is retold."""
    found: dict[Note, Note] = {}
    for note in notes:
        if note not in found or found[note].is_retold:
            found[note] = note
    return tuple(found.values())
