"""What may be asked to be changed of weight and balance: places, equipment, ballast, readings."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from nesting.desk.fields import Edit, Name, OfEntry, Place


class SetRange(Edit):
    """Where the model must balance, each end in mm aft of the datum or percent of the chord; None takes it away."""

    kind: Literal["set-range"]
    ends: tuple[Name, Name] | None


class SetBalance(Edit):
    """One key of `[balance]`; None takes it away. Points are pixels of the side view."""

    kind: Literal["set-balance"]
    field: Literal["plan", "datum", "aft", "lateral", "resolves"]
    value: Name | Place | tuple[Name, Name] | None


class ChordSection(Edit):
    """A section of the wing: its distance from the root, its chord, the station of its leading edge."""

    span: Name
    chord: Name
    leading_edge: Name


class SetChord(Edit):
    """The mean chord, for a range in percent: its length and leading edge, or the sections of the wing that give it.

    Neither takes it away.
    """

    kind: Literal["set-chord"]
    length: Name | None = None
    leading_edge: Name | None = None
    sections: Annotated[tuple[ChordSection, ...], Field(min_length=2, max_length=100)] | None = None


class SetInPlace(Edit):
    """Whether a part is drawn where it belongs on the side view."""

    kind: Literal["set-in-place"]
    part: Name
    is_in_place: bool


class SetSeat(Edit):
    """How a part comes to its place; without a station and without an anchor its place is taken away.

    `anchor` is a pixel of the part on its plan, `at` the pixel of the side view that it comes to.
    """

    kind: Literal["set-seat"]
    part: Name
    station: Name | None = None
    anchor: Place | None = None
    at: Place | None = None
    angle: Name | None = None
    lateral: Name | None = None
    from_above: bool = False


class PutItem(Edit):
    """A piece of equipment, or a place for ballast, by station or point; one of that name is replaced."""

    kind: Literal["put-item"]
    table: Literal["item", "ballast"]
    name: Name
    station: Name | None = None
    at: Place | None = None
    mass: Name | None = None
    lateral: Name | None = None
    depth: Name | None = None
    fuel: bool | None = None


class PutAlternative(Edit):
    """An item at another place or of another mass, to look at beside the model as planned."""

    kind: Literal["put-alternative"]
    name: Name
    item: Name
    mass: Name | None = None
    station: Name | None = None
    lateral: Name | None = None


class DropItem(Edit):
    """Take a piece of equipment, a place for ballast or an alternative away."""

    kind: Literal["drop-item"]
    table: Literal["item", "ballast", "alternative"]
    name: Name


class AddReading(Edit):
    """Several parts on the scale together, or the whole model (`model`), with what was done by then."""

    kind: Literal["add-reading"]
    parts: Annotated[tuple[Name, ...], Field(min_length=1, max_length=1000)]
    mass: Name
    stage: Literal["sawn", "cut", "glued", "covered", "painted", "fitted"]
    balance: Name | None = None


class DropReading(OfEntry):
    """Take a reading of several parts away."""

    kind: Literal["drop-reading"]


AboutBalance = (
    SetRange | SetBalance | SetChord | SetInPlace | SetSeat | PutItem | PutAlternative | DropItem | AddReading
    | DropReading
)  # fmt: skip
"""Every edit of weight and balance."""
