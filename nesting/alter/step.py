"""What a step is: a part goes in, the changed part and whatever falls off it come out."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from nesting.alter.axis import Axis
from nesting.alter.frame import PlanFrame
from nesting.carve.section.section_key import SectionOfFile, no_files
from nesting.wood.board import Board
from nesting.wood.glued_seams import Seam
from nesting.wood.match import matching_boards
from nesting.wood.material import MATERIALS, Material, canonical_name
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.basics.notes import Note
from vectorize.basics.spec_table import Written
from vectorize.basics.wording import listed
from vectorize.shapes.outline import Outline


@dataclass(frozen=True, slots=True)
class Setting:
    """What steps may look at besides their part: the plan's frame, boards at hand, parts made before, kinds of wood.

    `of_file` gives the section of a coordinate file in the job folder.
    """

    frame: PlanFrame = field(default_factory=PlanFrame)
    boards: tuple[Board, ...] = ()
    parts: Mapping[str, Part] = field(default_factory=dict)
    materials: Mapping[str, Material] = field(default_factory=lambda: MATERIALS)
    of_file: SectionOfFile = no_files

    @property
    def axis(self) -> Axis:
        """Return the axis along which stations are counted."""
        return self.frame.axis

    def material(self, name: str) -> str:
        """Return the name that the table of materials gives a material, so that `ply` and `birch ply` are one."""
        return canonical_name(name, self.materials)

    def part(self, name: str, *, wanted_by: str) -> Part:
        """Return the part of that name.

        Raises:
            PartError: There is none.
        """
        if name not in self.parts:
            known = listed(sorted(self.parts))
            raise PartError(f"part {wanted_by} is to fit part {name!r}, which is not there; parts: {known}.")
        return self.parts[name]

    def boards_for(self, part: Part) -> tuple[Board, ...]:
        """Return the boards of the part's material and thickness, or the one it is tied to."""
        if part.board is not None:
            return tuple(board for board in self.boards if board.name == part.board)
        matching, _ = matching_boards(part, self.boards, materials=self.materials)
        return tuple(board for board in matching if not part.boards or board.name in part.boards)

    def true_thickness_mm(self, part: Part) -> tuple[float, str]:
        """Return how thick the part will really be, and where that is known from.

        Of several boards the thickest counts: a slot a little wide is packed, one too tight splits the part.
        """
        measured = [b for b in self.boards_for(part) if b.measured_thickness_mm is not None]
        if not measured:
            return part.thickness_mm, "nominal, no board of it is measured"
        board = max(measured, key=lambda b: b.true_thickness_mm)
        return board.true_thickness_mm, f"measured on board {board.name}"


@dataclass(frozen=True, slots=True)
class Change:
    """What a step made: `parts` go on to the next step, `extras` (strips, plates) are finished, `seams` are glued."""

    parts: tuple[Part, ...]
    extras: tuple[Part, ...] = ()
    notes: tuple[Note, ...] = ()
    seams: tuple[Seam, ...] = ()


@dataclass(frozen=True, slots=True)
class Step(Written, ABC):
    """One alteration: as `[[part.step]]` says it, as the desk's form asks for it, and as it is done to a part."""

    @property
    def needs(self) -> tuple[str, ...]:
        """Return the names of other parts that must be made first: none, where only the part itself is looked at."""
        return ()

    def check(self, part: str, setting: Setting) -> None:
        """Refuse what cannot be, whatever the part of that name is like.

        Raises:
            PartError: Numbers that cannot be; the sentence holds them.
            JobError: A section that cannot be read.
        """

    @abstractmethod
    def applied(self, part: Part, setting: Setting) -> Change:
        """Return what becomes of `part`.

        Raises:
            PartError: The step cannot be done; the sentence holds the numbers.
        """


def reshaped(part: Part, pieces: Sequence[Outline], what: str) -> Part:
    """Return `part` with the one outline in `pieces`.

    Raises:
        PartError: Nothing is left, or more than one piece.
    """
    if not pieces:
        raise PartError(f"part {part.name}: nothing is left after {what}.")
    if len(pieces) > 1:
        areas = " and ".join(f"{piece.area_mm2:.0f} mm²" for piece in pieces[:4])
        raise PartError(
            f"part {part.name}: {what} leaves {len(pieces)} pieces ({areas}); "
            "make it smaller or move it so that the part stays whole."
        )
    return replace(part, outline=pieces[0])


def fixed(code: str, part: Part, text: str) -> Note:
    """Return a note about something that was done and needs no action."""
    return Note(code, f"part {part.name}: {text}", "fixed", part.name)


def to_check(code: str, part: Part, text: str) -> Note:
    """Return a note about something the builder must look at."""
    return Note(code, f"part {part.name}: {text}", "open", part.name)
