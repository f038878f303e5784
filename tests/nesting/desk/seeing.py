"""Edits as the page makes them: an entry is named by its number and by the word that the state gave for it."""

import json

from nesting.desk.seen import print_of
from nesting.place.offcut import blemish_from_json, blemish_json


def as_seen(state, edit, folder=None):
    """Return an edit with the words for the entries that it speaks of, as the page would take them from the state."""
    seen = state["seen"]
    entries = {
        "finish": lambda: seen["finish"],
        "joint": lambda: seen["joint"],
        "reading": lambda: seen["weighed"],
        "blade": lambda: seen["blade"],
        "known": lambda: seen["plan"][edit["plan"]]["known"],
        "bridge": lambda: seen["plan"][edit["plan"]]["bridge"],
        "pick": lambda: seen["part"][edit["part"]][edit["role"]],
        "mark": lambda: seen["part"][edit["part"]]["mark"],
        "step": lambda: seen["part"][edit["part"]]["step"],
        "blemish": lambda: _blemishes(folder, edit["board"]),
    }
    kind = edit["kind"]
    if kind == "measured-bars":
        return {"seen": seen["printer"]} | edit
    if kind == "set-substitutes":
        return {"seen": seen["part"][edit["part"]]["substitutes"]} | edit
    if edit.get("number") is None:
        return edit
    words = entries[kind.split("-")[1]]()
    past = {"past": _word(words, edit["to"])} if kind == "move-step" else {}
    return {"seen": _word(words, edit["number"])} | past | edit


def _word(words, number):
    return words[number] if 0 <= number < len(words) else "none"


def _blemishes(folder, name):
    """Return the words for the blemishes of a board, which the state has once the job was followed."""
    flaws = json.loads((folder / "rack" / f"{name}.json").read_text(encoding="utf-8"))["blemishes"]
    return [print_of(blemish_json(blemish_from_json(flaw))) for flaw in flaws]
