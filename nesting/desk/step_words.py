"""A part's steps and carving in words: what a builder reads of a table, and how the fields of its form are called."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class FieldWords:
    """The label of a field, what is said of it where it is given, and what the two ends of a line are."""

    label: str
    phrase: str
    ends: tuple[str, str] = ("one end", "the other end")


@dataclass(frozen=True, slots=True)
class TableWords:
    """What a table is called, and the words of its fields in the order in which they are said."""

    title: str
    fields: dict[str, FieldWords]


def _words(title: str, **fields: str) -> TableWords:
    """Return words from `key="Label|phrase"`; keys that Python cannot spell end in an underscore."""
    found = {}
    for key, text in fields.items():
        label, phrase, *ends = text.split("|")
        one, other = ends or ("one end", "the other end")
        found[key.rstrip("_")] = FieldWords(label, phrase, (one, other))
    return TableWords(title, found)


_AT = "Where|at {}"
_CORNER = "Radius of its corners|corners of radius {}"
_TURNED = "Turned by|turned by {}"
_CLEAR = "Free wood round a joint|{} clear of slots and ends"
_CLEAR_OF = "Keeps clear of|clear of {}"
_ALONG = "Near the edges|along the edge near {}"
_GLUE = "Glue|glued with {}"
_ENDS = "Where it stops, without a corner|ending at {}"
_MATE = "For the part|for {}"
_CLEARANCE = "Room to slide|{} of room"

_LINES = ("span", "across")
"""The keys whose two points are the ends of a line."""

STEP_WORDS: dict[str, TableWords] = {
    "doubler": _words(
        "Doubler",
        stations="Between two stations|between stations {}",
        within="Or inside a line through|inside the line through {}",
        margin="Set in from the edge|set in {} from the edge",
        rake="Rake of its ends|ends raked {}",
        stagger="The other side's end stands in by|the other side's end {} further in",
        sides="Sides|sides: {}",
        glue=_GLUE,
    ),
    "opposite": _words("Opposite hand", across="Mirrored across the line|mirrored across the line from {}"),
    "pair": _words("A left and a right one"),
    "hole": _words("Holes", at="Middle of each hole|at {}", diameter="Diameter|{} across"),
    "bolts": _words(
        "Four bolts",
        at="Middle of the pattern|round {}",
        pitch="Apart, along and across|{} apart",
        diameter="Diameter|holes {} across",
        angle=_TURNED,
    ),
    "opening": _words(
        "Opening",
        at="Its middle|at {}",
        length="Length|{} long",
        width="Width|{} wide",
        corner=_CORNER,
        angle=_TURNED,
        open="May run over the edge|may run over the edge",
    ),
    "bearer slot": _words(
        "Slot between engine bearers",
        at="A point on the engine's centre line|on the line through {}",
        width="Width|{} wide",
        depth="Depth from the nose|{} deep",
        corner=_CORNER,
    ),
    "bearers": _words(
        "Bearers let in", at="Middle of each fore end|from {}", length="Length|{} long", width="Width|{} wide",
        material="Material|of {}", thickness="Thickness|{} thick", angle=_TURNED, glue=_GLUE,
    ),
    "wing seat": _words(
        "Wing slot or seat",
        at="The leading edge|leading edge at {}",
        chord="Chord|chord {}",
        section="Section|{}",
        thickness="Thickness of the wing|{} thick",
        incidence="Incidence|incidence {}",
        allowance="Room all round|{} of room",
        opens="Opens|opens: {}",
    ),
    "slot": _words(
        "Slot for a tab", at="Its middle|at {}", for_=_MATE, length="Length|{} long", angle=_TURNED,
        clearance=_CLEARANCE,
    ),
    "tab": _words("Tab", at="Near the edge|on the edge near {}", for_="Into the part|into {}",
                  width="Width|{} wide", proud="Stands proud by|{} proud"),
    "half lap": _words(
        "Half lap", at=_AT, for_="With the part|with {}", opens="Opens|opens {}", clearance=_CLEARANCE
    ),
    "lighten": _words(
        "Lightening holes",
        web="Wood between two holes|{} between holes",
        edge="Wood to the edge|{} to the edge",
        least="Smallest hole|at least {} across",
        greatest="Largest hole|at most {} across",
        fasteners="Fasteners to keep away from|away from {}",
        clear="Wood round a fastener|{} round a fastener",
    ),
    "grow": _words(
        "Allowance for sanding",
        by="Out by, in where negative|by {}",
        along="Only along the edges near|along the edge near {}",
        ends=_ENDS,
        cutouts="Cut-outs too|cut-outs too",
    ),
    "stretch": _words("Longer at a station", station="Station|at station {}", by="By|by {}",
                      moves="What moves|moves what lies {}"),
    "rescale": _words(
        "Another scale of model",
        factor="Times as large|{} times as large",
        about="About the place|about {}",
        stock="Thicknesses of slots that stay|slots for {} keep their width",
        thickness="Thickness afterwards|then {} thick",
    ),
    "foreshortened": _words(
        "True length under dihedral",
        dihedral="Dihedral|dihedral {}",
        span="Along the span|span from {}|root|tip",
        face="Face that the plan shows|{} face drawn",
    ),
    "planks": _words("Planks along the grain", width="Widest plank|at most {} wide",
                     trued="Wood to true a glued edge|{} to true each glued edge", glue=_GLUE),
    "scarf": _words(
        "Scarf joint", at=_AT, slope="Slope, one in|slope 1 in {}", clear=_CLEAR, clear_of=_CLEAR_OF,
        glue=_GLUE,
    ),
    "splice": _words(
        "Butt joint under plates",
        at=_AT,
        plate="Thickness of a plate|plates {} thick",
        plate_material="Plates of|of {}",
        reach="A plate reaches|reaching {}",
        sides="Plates on how many sides|plates on sides: {}",
        clear=_CLEAR,
        clear_of=_CLEAR_OF,
        glue=_GLUE,
    ),
    "laminate": _words(
        "Laminate",
        layers="Layers|layers of {}",
        stagger="Joints apart by|joints {} apart",
        longest="Longest piece of a layer|pieces to {} long",
        glue=_GLUE,
    ),
    "edge strip": _words(
        "Strip along an edge", along=_ALONG, width="Width|{} wide", material="Material|of {}",
        thickness="Thickness|{} thick", ends=_ENDS, glue=_GLUE,
    ),
}  # fmt: skip

CARVE_WORDS = _words(
    "Carved",
    section="Section|to {}",
    span="Along the span|span from {}|root|tip",
    leading="A point on the leading edge's side|leading edge towards {}",
    thickness="Thickness at root and tip|{} thick at root and tip",
    trailing="Trailing edge|trailing edge {}",
    seat="Where the section lies in the blank|lies in the blank: {}",
    templates="Templates at span stations|templates at {}",
    covering="Covering to allow for|for a covering of {}",
    flats="Flats ahead of and behind the high point|{} flats ahead and behind",
    contours="Depth between contours|contours every {}",
    against="Weighed against|weighed against {}",
    heavier_by="Heavier at the tip by|heavier by {} at its tip",
)


def step_in_words(table: Mapping[str, Any]) -> str:
    """Return a step, as `job.toml` has it, as one phrase."""
    return _said(STEP_WORDS[str(table["make"])], table)


def carve_in_words(table: Mapping[str, Any]) -> str:
    """Return a carving, as `job.toml` has it, as one phrase."""
    return _said(CARVE_WORDS, table)


def _said(words: TableWords, table: Mapping[str, Any]) -> str:
    phrases = [
        field.phrase.format(_value(key, table[key]))
        for key, field in words.fields.items()
        if key in table and table[key] is not False
    ]
    return f"{words.title}: {', '.join(phrases)}" if phrases else words.title


def _value(key: str, value: Any) -> str:  # noqa: ANN401 - any TOML value
    if isinstance(value, Mapping):
        return _section(value) if "station" not in value else _station(value)
    if isinstance(value, str) or not isinstance(value, Sequence):
        return f"{value:g}" if isinstance(value, float) else str(value)
    if _is_pixel(key, value):
        return "a point on the plan"
    is_line = key in _LINES
    if all(not isinstance(one, str) and _is_pixel(key, one) for one in value):
        if is_line:
            return "one point on the plan to another"
        return f"{len(value)} points on the plan" if len(value) > 1 else "a point on the plan"
    between = " to " if is_line else " and "
    return between.join(_value("", one) if isinstance(one, str) else _value("at", one) for one in value)


def _is_pixel(key: str, value: Any) -> bool:  # noqa: ANN401 - any TOML value
    """Return whether a value is a point of a picture, of which a builder is told where it shows, not its numbers."""
    if isinstance(value, Mapping) or not isinstance(value, Sequence):
        return False
    return key != "flats" and len(value) in (2, 3) and all(isinstance(one, int | float) for one in value)


def _station(place: Mapping[str, Any]) -> str:
    height = place.get("height")
    return f"station {place['station']}" + (f", height {height}" if height not in (None, "0 mm") else "")


def _section(section: Mapping[str, Any]) -> str:
    if "file" in section:
        return f"the section in {section['file']}"
    high_point, bottom = section.get("high_point", "30 %"), section.get("bottom", "symmetrical")
    ends = f"nose {section.get('nose')}, trailing edge {section.get('trailing')}"
    return f"a {bottom} section with its high point at {high_point} of the chord, {ends}"
