"""What a builder calls an edit of the job, so that undo can say what it takes back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from nesting.desk.step_words import STEP_WORDS
from nesting.job.schema_walk import is_entry

_ROWS = {
    "known": "known dimension", "bridge": "closed gap", "weighed": "reading of the scale", "pick": "region",
    "cutout": "cut-out", "fill": "filled hole", "mark": "line for the builder", "joint": "glued joint",
    "blade": "saw blade", "item": "piece of equipment", "ballast": "place for ballast", "seat": "place",
    "substitutes": "substitute", "in_place": "part drawn in its place",
}  # fmt: skip
_VALUES = {
    "part.from": "what is the source",
    "part.mirror": "the centre line",
    "part.line": "how the outline is drawn",
    "part.carve": "the carving",
    "plan.flatten": "the corrections",
    "plan.gap": "the widest gap to bridge",
    "plan.axes": "how the axes differ",
    "plan.sheet": "the size of the sheet",
    "balance.range": "the balance range",
    "balance.chord": "the mean chord",
    "accuracy.length": "how well a board's length is known",
    "accuracy.width": "how well a board's width is known",
    "accuracy.thickness": "how well a measured thickness is known",
    "accuracy.nominal_thickness": "how well a thickness that nobody measured is known",
    "accuracy.support": "how well it is known where a board is supported",
}
"""What is called otherwise than its key."""
_SECTIONS = {
    "job": " of the job", "nest": " for nesting", "pattern": " for patterns", "balance": " of the balance",
    "plan": " of the plan",
}  # fmt: skip


def row_word(key: str) -> str:
    """Return what an entry of the list at `key` is to a builder."""
    return _ROWS.get(key, key)


def title_of(at: tuple[str | int | None, ...], value: Any, now: Any) -> str:  # noqa: ANN401 - any JSON and TOML value
    """Return what a builder would call a change of the value at a path; `now` is what a change takes away."""
    if at[::2] == ("part", "cut"):
        return f"mark {at[1]} as {'cut' if value else 'not cut yet'}"
    if is_entry(at):
        verb = "remove" if value is None else "add" if at[-1] is None else "change"
        return _row_title(verb, at, now if value is None else value)
    keys = ".".join(step for step in (at[0], at[-1]) if isinstance(step, str))
    words = _VALUES.get(keys)
    field = words or str(at[-1]).replace("_", " ")
    owner = f" of {at[-2]}" if is_entry(at[:-1]) and at[0] != "plan" else "" if words else _SECTIONS.get(str(at[0]), "")
    if value is None:
        return f"take {words or f'the {field}'}{owner} away"
    return f"set {field}{owner}"


def title_of_new(paths: Sequence[tuple[str | int | None, ...]]) -> str | None:
    """Return what a builder would call it that several known dimensions or parts are added; None where none are."""
    counts = Counter(row_word(str(at[-2])) for at in paths if at[-1] is None and at[-2] in ("known", "part"))
    if sum(counts.values()) < 2:
        return None
    return "add " + " and ".join(f"{count} {word}{'s' * (count > 1)}" for word, count in counts.items())


def move_title(at: tuple[str | int | None, ...], row: object) -> str:
    """Return what a builder would call it that an entry is brought to another place."""
    return _row_title("move", at, row)


def _row_title(verb: str, at: tuple[str | int | None, ...], row: object) -> str:
    word = row_word(str(at[-2]))
    name = at[-1] if isinstance(at[-1], str) else row.get("name") if isinstance(row, Mapping) else None
    if name and at[-2] in ("part", "plan"):
        return f"{verb} {word} {name}"
    owner = f" of {at[1]}" if at[0] == "part" and len(at) > 2 else ""
    made = row.get("make") if isinstance(row, Mapping) else None
    called = STEP_WORDS[made].title.lower() if isinstance(made, str) and made in STEP_WORDS else made or name
    article = "an" if word[0] in "aeiou" else "a"
    return f"{verb} {article} {word}{owner}" + (f": {called}" if called else "")
