"""Edits as the page makes them: an entry is named by its number and by the word that the state gave for it."""

import json

from nesting.desk.seen import print_of
from nesting.place.offcut import blemish_from_json, blemish_json


def as_seen(state, edit, folder=None):
    """Return an edit with the words for the entries that it speaks of, as the page would take them from the state."""
    if edit["kind"] == "measured-bars":
        return {"seen": state["seen"]["printer"]} | edit
    if edit["kind"] == "drop-blemish":
        return {"seen": _word(_blemishes(folder, edit["board"]), edit["number"])} | edit
    number = edit["at"][-1] if "at" in edit else None
    if type(number) is not int:
        return edit
    words = _words(state["seen"], edit["at"][:-1])
    past = {"past": _word(words, edit["to"])} if edit["kind"] == "move" else {}
    return {"seen": _word(words, number)} | past | edit


def called(edit):
    """Return what tells an edit from others in the name of a test."""
    return " ".join([edit["kind"], *(str(step) for step in edit.get("at", ())), *edit.get("field", "").split()])


def _words(seen, at):
    for step in at:
        seen = seen.get(step, {})
    return seen or []


def _word(words, number):
    return words[number] if 0 <= number < len(words) else "none"


def _blemishes(folder, name):
    """Return the words for the blemishes of a board, which the state has once the job was followed."""
    flaws = json.loads((folder / "rack" / f"{name}.json").read_text(encoding="utf-8"))["blemishes"]
    return [print_of(blemish_json(blemish_from_json(flaw))) for flaw in flaws]
