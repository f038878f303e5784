"""Coordinate files of sections as they are published: which lines are points, and in which order they run.

Such files have no standard. Common practice, no source: a name first, then x and y a line, from the trailing edge over
the upper surface to the nose and back below, or one surface after the other, each from the nose. Around the points
stand remarks, counts of points, limits of a grid; in tables taken from reports dots stand for no ordinate, and brackets
round an ordinate that was not designed but worked out.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from vectorize.basics.errors import PartError
from vectorize.basics.notes import Note
from vectorize.basics.wording import shown
from vectorize.shapes.segment import Point

_LEAST_POINTS = 10
_DECIMAL_COMMA = re.compile(r"[-+]?\d*,\d+")
_NO_ORDINATE = re.compile(r"[.\-*]{2,}")
_NEW_LIST_SHARE = 0.5
"""Where x jumps by more than this share of the chord a second list begins."""


@dataclass(frozen=True, slots=True)
class Coordinates:
    """Points once round from the trailing edge over the first surface and the nose, and what was left out of a file."""

    name: str
    points: tuple[Point, ...]
    notes: tuple[Note, ...]


@dataclass(frozen=True, slots=True)
class _Line:
    """A line of the file that says something; `point` is None where it is no point."""

    number: int
    text: str
    point: Point | None

    @property
    def is_remark(self) -> bool:
        """Return whether it is no point, and nothing that was meant to be one."""
        return self.point is None and (not _begins_with_number(self.text) or _has_no_ordinate(self.text))


def read_coordinates(text: str) -> Coordinates:
    """Return the points of a coordinate file; every line that was left out is told in a note.

    Raises:
        PartError: Fewer than ten points, a line among them that is no point, or only one surface.
    """
    rows = [(number, line.strip()) for number, line in enumerate(text.splitlines(), start=1)]
    lines = [_Line(number, line, _point(number, line)) for number, line in rows if line]
    if not lines:
        raise PartError("section file: it is empty; give a name and then x and y a line.")
    name, remarks, table = _divided(lines)
    for line in table:
        if line.point is None and not line.is_remark:
            raise PartError(f"section file: line {line.number} is {shown(line.text)}; it must be two numbers, x and y.")
    points = [line.point for line in table if line.point is not None]
    if points and sum(points[0]) == len(points) - 1:
        points = points[1:]  # not a point: how many points follow for each side
    if len(points) < _LEAST_POINTS:
        raise PartError(f"section file: {len(points)} points found; give at least five a side.")
    left_out = [*remarks, *(line for line in table if line.point is None)]
    return Coordinates(name, tuple(_once_round(points)), tuple(_left_out(sorted(left_out, key=lambda k: k.number))))


def _divided(lines: Sequence[_Line]) -> tuple[str, list[_Line], list[_Line]]:
    """Return the name, the lines before and after the points, and the lines from the first point to the last."""
    of_points = [place for place, line in enumerate(lines) if line.point is not None]
    if not of_points:
        raise PartError("section file: 0 points found; give a name and then x and y a line.")
    first, last = of_points[0], of_points[-1]
    # A line that begins with a number next to the points was meant as one, unless it holds more numbers than a point.
    while first > 1 and not lines[first - 1].is_remark and len(lines[first - 1].text.split()) == 2:
        first -= 1
    name = lines[0].text if first > 0 else "section from a file"
    return name, [*lines[1:first], *lines[last + 1 :]], list(lines[max(first, 0) : last + 1])


def _left_out(lines: Sequence[_Line]) -> list[Note]:
    """Return a note for each stretch of lines that was left out."""
    notes = []
    for _, group in itertools.groupby(enumerate(lines), key=lambda pair: pair[1].number - pair[0]):
        stretch = [line for _, line in group]
        first, last = stretch[0], stretch[-1]
        where = f"line {first.number}" if first is last else f"lines {first.number} to {last.number}"
        reason = "has no ordinate" if all(_has_no_ordinate(line.text) for line in stretch) else "no point"
        text = f"{where}, {shown(first.text)}{'' if first is last else ' and so on'}, left out: {reason}."
        notes.append(Note("section-left-out", text))
    return notes


def _point(number: int, line: str) -> Point | None:
    """Return the point on a line, None where it is not two numbers.

    Raises:
        PartError: Two numbers that are not finite.
    """
    words = line.split()
    if not all(_DECIMAL_COMMA.fullmatch(word) for word in words) or len(words) != 2:
        line = line.replace(",", " ").replace(";", " ")
    values = [_number(word.replace(",", ".")) for word in line.split()]
    if len(values) != 2 or values[0] is None or values[1] is None:
        return None
    x, y = values[0], values[1]
    if not (math.isfinite(x) and math.isfinite(y)):
        raise PartError(f"section file: line {number} is {shown(line)}; its numbers must be finite.")
    return (x, y)


def _number(word: str) -> float | None:
    """Return the number that a word is, also in brackets or with the exponent of Fortran."""
    bare = word.removeprefix("(").removesuffix(")")
    try:
        return float(bare.replace("D", "E").replace("d", "e") if bare[:1] in "+-.0123456789" else bare)
    except ValueError:
        return None


def _begins_with_number(line: str) -> bool:
    return _number(line.replace(",", " ").split()[0]) is not None if line.replace(",", " ").split() else False


def _has_no_ordinate(line: str) -> bool:
    """Return whether a line gives an x and, in place of y, dots or dashes."""
    words = line.split()
    return len(words) == 2 and _number(words[0]) is not None and bool(_NO_ORDINATE.fullmatch(words[1]))


def _once_round(points: list[Point]) -> list[Point]:
    """Return the points as one list from trailing edge to nose to trailing edge.

    Raises:
        PartError: Only one surface is there.
    """
    xs = [x for x, _ in points]
    span = max(xs) - min(xs)
    jumps = [i for i in range(1, len(xs)) if abs(xs[i] - xs[i - 1]) > _NEW_LIST_SHARE * span]
    if len(jumps) == 1:
        one, other = points[: jumps[0]], points[jumps[0] :]
        one = one if one[0][0] > one[-1][0] else one[::-1]
        other = other if other[0][0] < other[-1][0] else other[::-1]
        return [*one, *other]
    tail = xs.index(max(xs))
    if 0 < tail < len(xs) - 1 and xs.index(min(xs)) in (0, len(xs) - 1):
        # Once round from the nose; a sharp trailing edge is the end of both surfaces.
        return [*points[tail + (xs[tail + 1] == xs[tail]) :], *points[: tail + 1]]
    if xs.index(min(xs)) in (0, len(xs) - 1):
        raise PartError("section file: only one surface was found; give both, or once round.")
    return points
