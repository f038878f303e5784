"""What a job says of a part, plan, board or piece of equipment: called by its new name, or taken away with it.

The schema of `job.toml` tells which texts are such names, so that a key that is added there is followed here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from nesting.job.schema_walk import WHOLE_JOB, Field, alternatives, fields_of
from nesting.wood.names import Kind, NameOf, Stands

Call = Callable[[str], str | None]
"""What a name becomes: itself, another one, or None where what it names is gone."""


@dataclass(slots=True)
class _Walk:
    kind: Kind
    call: Call
    lost: list[str] = field(default_factory=list)

    def goes(self, holder: Any, one: Field, trail: tuple[str, ...]) -> bool:  # noqa: ANN401 - any TOML value
        """Bring what a value says up to date, and return whether it goes."""
        value = holder[one.key]
        if isinstance(value, str):
            return self._name_goes(holder, one, value)
        if isinstance(value, Mapping):
            return self._table_goes(value, one, trail)
        return isinstance(value, list) and self._list_goes(value, one, trail)

    def _name_goes(self, holder: Any, one: Field, value: str) -> bool:  # noqa: ANN401 - any TOML value
        marks = [mark for kind, metadata in alternatives(one.annotation, one.metadata) if kind is str
                 for mark in metadata if isinstance(mark, NameOf)]  # fmt: skip
        if not any(mark.kind == self.kind for mark in marks):
            return False
        called = self.call(value)
        if called is not None and called != value:
            holder[one.key] = called
        return called is None

    def _table_goes(self, table: Any, one: Field, trail: tuple[str, ...]) -> bool:  # noqa: ANN401 - any TOML value
        for inner in list(fields_of(table, one)):
            here = (*trail, inner.key)
            if not self.goes(table, inner, here):
                continue
            if inner.is_needed:
                return True
            # Tables of a list were told one by one.
            if not _holds_tables(table[inner.key]):
                self.lost.append(_in_words(here, table))
            del table[inner.key]
        return False

    def _list_goes(self, values: Any, one: Field, trail: tuple[str, ...]) -> bool:  # noqa: ANN401 - any TOML value
        inner = list(fields_of(values, one))
        gone = [place for place in inner if self.goes(values, place, trail)]
        if not gone:
            return False
        for place in reversed(gone):
            if isinstance(values[place.key], Mapping):
                self.lost.append(_in_words(trail, values[place.key]))
        stands = next((mark for mark in one.metadata if isinstance(mark, Stands)), Stands())
        if len(gone) == len(inner) or stands.least is None or len(inner) - len(gone) < stands.least:
            return True
        if any(place.is_needed for place in gone):
            return True
        for place in reversed(gone):
            del values[place.key]
        return False


def call_anew(document: Any, kind: Kind, call: Call) -> list[str]:  # noqa: ANN401 - any TOML value
    """Have everything in a job's document that speaks of what is renamed or gone say so.

    A table that means nothing without the name goes with it: a place, a pin, a slot for the part, a joint of
    which one part is left, a reading of parts that were on the scale together.

    Returns:
        What went, in words.
    """
    walk = _Walk(kind, call)
    for one in list(fields_of(document, WHOLE_JOB)):
        if walk.goes(document, one, (one.key,)):
            del document[one.key]
    return list(dict.fromkeys(reversed(walk.lost)))


def _holds_tables(value: Any) -> bool:  # noqa: ANN401 - any TOML value
    return isinstance(value, list) and any(isinstance(one, Mapping) for one in value)


_WORDS = {
    "part": "part {name}, which was made from it",
    "part.board": "the board of {name}",
    "part.boards": "the boards of {name}",
    "part.carve.against": "what a carving was weighed against",
    "finish": "the finish of {parts}",
    "joint": "the joint {name}",
    "weighed": "the reading of {parts}",
    "balance.seat": "the place of {part}",
    "balance.alternative": "the alternative {name}",
    "balance.in_place": "what is drawn in its place",
    "pair": "the pair {parts}",
    "flex.option": "the way to build {part} named {name}",
    "nest.pin": "the pin of {part} on {board}",
    "nest.side_by_side": "what is cut side by side",
    "nest.soft_patches": "what may lie on soft patches",
}


def _in_words(trail: tuple[str, ...], table: Mapping[str, Any]) -> str:
    """Return what a table, or a key of it, is to the builder."""
    if trail[:2] == ("part", "step"):
        return f"a step ‘{table.get('make')}’" if len(trail) == 2 else f"‘{trail[2]}’ of a step ‘{table.get('make')}’"
    said = {key: " and ".join(map(str, value)) if isinstance(value, list) else value for key, value in table.items()}
    words = _WORDS.get(".".join(trail))
    return words.format_map({"name": "", "parts": "", "part": "", "board": ""} | said) if words else f"{trail[-1]}"
