"""What each part would weigh from each board that could make it, before anything is cut.

mass = net area x share left when finished x what the board weighs per area at that place. For a weighed
board thickness cancels: the part is cut through the board's own thickness, so its error is not counted again.
A part that is carved to a solid of its own is the same from every board: there the measured thickness counts.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from nesting.balance.choose import Choice, Pick, choose_boards
from nesting.place.layout import Layout
from nesting.place.lies import LiesOn
from nesting.wood.board import Board
from nesting.wood.density import (
    USUAL,
    Accuracy,
    Gradient,
    Wood,
    areal_density,
    board_density,
    board_gradient,
    board_thickness,
    material_of,
    unresolved_note,
)
from nesting.wood.estimate import UNIFORM_SIGMA, Estimate, total
from nesting.wood.match import candidate_boards, matching_boards, strips_of
from nesting.wood.part import Part
from nesting.wood.scale_reading import HARDLY_WORKED_SHARE, WeighedAs, as_it_flies, likely_stage
from vectorize.basics.errors import InputError, PartError, RackError
from vectorize.basics.notes import Note
from vectorize.basics.units import format_length
from vectorize.basics.wording import listed
from vectorize.shapes.outline import Pose

__all__ = [
    "Accuracy", "Choice", "Pick", "Weight", "WeightTable", "board_density", "choose_boards", "matching_boards",
    "places_on_boards", "weigh_parts",
]  # fmt: skip

Copy = tuple[str, int]
"""A part's name and copy number, from 1."""


@dataclass(frozen=True, slots=True)
class Weight:
    """One copy of a part from one board: mass with one standard deviation, and why this board or not.

    `estimate` keeps the sources of doubt apart, so that sums over one board come out right.
    `weighed_g` is the scale reading of the piece, where there is one, and `weighed_as` the stage at which it was
    taken, None where nobody said. `finished_share` is what stays of the sawn wood once it is carved and trued.
    """

    part: str
    copy: int
    board: str
    estimate: Estimate
    is_chosen: bool
    reason: str
    uses_default_density: bool
    is_substitute: bool = False
    weighed_g: float | None = None
    weighed_step_g: float = 0.1
    weighed_as: WeighedAs | None = None
    finished_share: float = 1.0

    @property
    def mass_g(self) -> float:
        """Return the estimated mass in grams."""
        return self.estimate.value

    @property
    def sigma_g(self) -> float:
        """Return one standard deviation of the estimate in grams."""
        return self.estimate.sigma

    @property
    def current(self) -> Estimate:
        """Return the reading as it flies where the piece has been weighed, else the estimate."""
        if self.weighed_g is None:
            return self.estimate
        name = f"{self.part} {self.copy}"
        reading = Estimate.reading(self.weighed_g, self.weighed_step_g, f"reading of {name}")
        return as_it_flies(reading, self.finished_share, name=name) if self.reading_stage == "sawn" else reading

    @property
    def sawn_g(self) -> float:
        """Return what the piece weighs as sawn, before it is carved and trued, by the estimate."""
        return self.mass_g / self.finished_share

    @property
    def is_worked(self) -> bool:
        """Return whether so much comes off after sawing that both weights are worth knowing."""
        return self.finished_share <= HARDLY_WORKED_SHARE

    @property
    def reading_stage(self) -> WeighedAs | None:
        """Return the stage at which the reading was taken: as said, or else the likelier; None without a reading."""
        if self.weighed_g is None:
            return None
        return self.weighed_as or likely_stage(self.weighed_g, sawn_g=self.sawn_g, carved_g=self.mass_g)

    @property
    def difference_g(self) -> float | None:
        """Return reading less estimate at the reading's stage, or None where nobody weighed."""
        if self.weighed_g is None:
            return None
        return self.weighed_g - (self.sawn_g if self.reading_stage == "sawn" else self.mass_g)

    def as_json(self) -> dict[str, Any]:
        """Return the row of the documented `weigh` output."""
        row: dict[str, Any] = {
            "part": self.part,
            "copy": self.copy,
            "board": self.board,
            "mass_g": round(self.mass_g, 4),
            "sigma_g": round(self.sigma_g, 4),
            "chosen": self.is_chosen,
            "reason": self.reason,
            "default_density": self.uses_default_density,
            "substitute": self.is_substitute,
            "sawn_g": round(self.sawn_g, 4),
        }
        if self.weighed_g is None:
            return row
        return row | {
            "weighed_g": self.weighed_g,
            "weighed_as": self.reading_stage,
            "flies_g": round(self.current.value, 4),
            "difference_g": round(self.difference_g or 0.0, 4),
        }


@dataclass(frozen=True, slots=True)
class WeightTable:
    """Every part on every board that could make it, and what stayed open."""

    weights: tuple[Weight, ...]
    notes: tuple[Note, ...]

    @property
    def chosen(self) -> tuple[Weight, ...]:
        """Return the rows of the chosen boards, one per copy."""
        return tuple(weight for weight in self.weights if weight.is_chosen)

    def total(self, board: str | None = None) -> Estimate:
        """Return the mass in g of all chosen copies (on one board if named), readings before estimates."""
        return total(weight.current for weight in self.chosen if board in (None, weight.board))

    def by_board(self) -> dict[str, Estimate]:
        """Return the mass of what is cut from each chosen board."""
        return {name: self.total(name) for name in sorted({weight.board for weight in self.chosen})}

    def of(self, part: str, copy: int = 1) -> tuple[Weight, ...]:
        """Return the rows of one copy."""
        return tuple(weight for weight in self.weights if (weight.part, weight.copy) == (part, copy))

    def as_json(self) -> dict[str, Any]:
        """Return the documented `weigh` output."""
        whole = self.total()
        return {
            "weights": [weight.as_json() for weight in self.weights],
            "boards": [
                {"board": name, "mass_g": round(mass.value, 4), "sigma_g": round(mass.sigma, 4)}
                for name, mass in self.by_board().items()
            ],
            "total_g": round(whole.value, 4),
            "total_sigma_g": round(whole.sigma, 4),
            "notes": [note.as_json() for note in self.notes],
        }


def weigh_parts(
    parts: Sequence[Part],
    boards: Sequence[Board],
    *,
    chosen: Mapping[Copy, str] | None = None,
    layout: Layout | None = None,
    wood: Wood = USUAL,
    weighed_step_g: float = 0.1,
    lies: LiesOn | None = None,
    done: Collection[str] = (),
) -> WeightTable:
    """Return what every copy weighs from every board of its material and thickness.

    A part that cannot be weighed gets an open note; the others are weighed all the same.

    Args:
        parts: What is to be cut.
        boards: What it can be cut from.
        chosen: Board for each (part, copy), as a nesting decided; by default the lightest match.
        layout: Where the copies lie; a piece then weighs what its place on the board weighs.
        wood: The kinds of wood, and how well boards were measured.
        weighed_step_g: Step of the scale on which pieces were weighed.
        lies: Whether a part can lie on a board; boards on which it cannot are not offered.
        done: Names of parts that are cut already: what is left of their board need not hold them.
    """
    notes: list[Note] = []
    weights: list[Weight] = []
    places = places_on_boards(parts, layout) if layout else {}
    picked = dict(chosen) if chosen is not None else {copy: place[0] for copy, place in places.items()}
    scales = _Scales((*boards, *strips_of(parts)), wood)
    for part in parts:
        try:
            candidates = candidate_boards(part, boards, materials=wood.materials)
        except (PartError, RackError) as error:
            notes.append(Note("no-board", str(error), "open", part.name))
            continue
        if lies is not None and part.name not in done and part.strip is None:
            held = {board for (name, _), board in picked.items() if name == part.name}
            given = candidates
            candidates = {n: one for n, one in given.items() if n in held or lies(part, one[0])}
            if len(candidates) < len(given) and not _is_any_left(part, candidates):
                notes.append(Note("fits-no-board", fits_none(part, given), "open", part.name))
        for copy in range(1, part.copies + 1):
            rows = _rows_of_copy(part, copy, candidates, scales, places.get((part.name, copy)))
            rows = _with_choice(rows, part, picked.get((part.name, copy)))
            weights += [_with_reading(row, part, weighed_step_g) for row in rows]
    notes += _default_notes(weights, scales, [strip.name for strip in strips_of(parts)]) + scales.notes
    return WeightTable(tuple(weights), tuple(notes))


def _is_any_left(part: Part, candidates: Mapping[str, tuple[Board, bool]]) -> bool:
    """Return whether a board is left that the part may come from: the one that it is tied to, or any match."""
    if part.board is not None:
        return part.board in candidates
    return any(not is_near and (not part.boards or n in part.boards) for n, (_, is_near) in candidates.items())


def fits_none(part: Part, boards: Iterable[str]) -> str:
    """Return the sentence that a part can lie on none of the boards of its wood, or not on its own."""
    along, across = part.outline.placed(Pose(angle_deg=-part.grain_deg)).size_mm
    names = part.board or listed(boards)
    return (
        f"part {part.name} is {along:.1f} mm along and {across:.1f} mm across the grain, and cannot lie on {names} "
        "inside the margins; add a larger board, or plank, scarf or turn it."
    )


def _with_reading(row: Weight, part: Part, step_g: float) -> Weight:
    return replace(row, weighed_g=part.weighed_g, weighed_as=part.weighed_as, weighed_step_g=step_g)


def places_on_boards(parts: Sequence[Part], layout: Layout) -> dict[Copy, tuple[str, float]]:
    """Return, for each placed copy, its board and how far along it its centre lies, in mm."""
    centres = {part.name: part.centroid for part in parts}
    return {
        (placed.part, placed.copy): (board.board, placed.pose.moved(centres[placed.part])[0])
        for board in layout.boards
        for placed in board.placements
        if placed.part in centres
    }


class _Scales:
    """Densities and areas, each worked out once; boards that cannot be weighed are told in `notes`."""

    def __init__(self, boards: Iterable[Board], wood: Wood) -> None:
        self.materials = wood.materials
        self.notes: list[Note] = []
        self.areal: dict[str, Estimate] = {}
        self.gradient: dict[str, Gradient] = {}
        self.thickness: dict[str, Estimate] = {}
        self.board_mm2: dict[str, float] = {}
        self._part_mm2: dict[str, float] = {}
        self._wood: dict[tuple[str, str], Estimate] = {}
        for board in boards:
            try:
                self.areal[board.name] = areal_density(board, wood=wood)
                self.gradient[board.name] = board_gradient(board, wood=wood)
                self.thickness[board.name] = board_thickness(board, accuracy=wood.accuracy)
                self.board_mm2[board.name] = board.shape.area_mm2
            except InputError as error:
                self.notes.append(Note("board-not-weighed", str(error), "open"))
        self.notes += [
            unresolved_note(name, gradient) for name, gradient in self.gradient.items() if _is_lost(gradient)
        ]

    def mass(self, part: Part, copy: int, board: Board, x_mm: float | None) -> Estimate:
        """Return the mass of one copy: area x areal density at its place, with what the place leaves in doubt."""
        area_mm2 = self._area_mm2(part)
        share = min(1.0, area_mm2 / self.board_mm2[board.name])
        gradient, local = self.gradient[board.name].change, material_of(board, self.materials).local_spread
        if x_mm is None:
            # Anywhere on the board: its centre is uniform over what its own share leaves free.
            slope = math.hypot(gradient.value, gradient.sigma)
            away = slope * UNIFORM_SIGMA * (1 - share)
            factor = Estimate.measured(1.0, away, f"place of {part.name} {copy} on {board.name}")
        else:
            factor = gradient * (x_mm / board.length_mm - 0.5) + 1.0
        spot = Estimate.measured(1.0, local * (1 - share) ** 0.5, f"wood under {part.name} {copy} on {board.name}")
        return self._anywhere(part, board) * factor * spot

    def _anywhere(self, part: Part, board: Board) -> Estimate:
        """Return area x areal density, reckoned for the first copy alone."""
        key = part.name, board.name
        if key not in self._wood:
            area = Estimate.measured(self._area_mm2(part), part.sigma_area_mm2, f"outline of {part.name}")
            self._wood[key] = area * self.finished_share(part, board) * self.areal[board.name]
        return self._wood[key]

    def _area_mm2(self, part: Part) -> float:
        """Return the area of a part's outline, reckoned for the first of its copies alone."""
        if part.name not in self._part_mm2:
            self._part_mm2[part.name] = part.outline.area_mm2
        return self._part_mm2[part.name]

    def finished_share(self, part: Part, board: Board) -> Estimate:
        """Return what flies of a piece sawn from a board: a carved solid is the same from a thicker one."""
        if part.carved_blank_mm is None:
            return Estimate(part.finished_share)
        share = Estimate(part.finished_share * part.carved_blank_mm) / self.thickness[board.name]
        # A board that is thinner than the solid cannot give it whole: then all of the board flies.
        return share if share.value <= 1 else Estimate(1.0)


def _is_lost(gradient: Gradient) -> bool:
    return gradient.measured is not None and not gradient.is_resolved


def _rows_of_copy(
    part: Part,
    copy: int,
    candidates: Mapping[str, tuple[Board, bool]],
    scales: _Scales,
    place: tuple[str, float] | None,
) -> list[Weight]:
    return [
        Weight(
            part=part.name,
            copy=copy,
            board=name,
            estimate=scales.mass(part, copy, board, place[1] if place and place[0] == name else None),
            is_chosen=False,
            reason="",
            uses_default_density=board.known_mass_g is None,
            is_substitute=is_substitute,
            finished_share=scales.finished_share(part, board).value,
        )
        for name, (board, is_substitute) in candidates.items()
        if name in scales.areal
    ]


def _with_choice(rows: list[Weight], part: Part, picked: str | None) -> list[Weight]:
    """Mark the chosen row and give each its reason: difference to the chosen, or why none is."""
    same = [row for row in rows if not row.is_substitute]
    matches = [row for row in same if not part.boards or row.board in part.boards]
    best = min(matches, key=lambda row: row.mass_g, default=None)
    picked = None if part.strip is not None else picked
    wanted = picked or part.board or (best.board if best else None)
    mine = next((row for row in rows if row.board == wanted), None)
    lightest = "lightest match" if matches == same else "lightest that will do"
    why = "as nested" if picked else "tied by the job" if part.board else "cut from strip" if part.strip else lightest
    return [replace(row, is_chosen=row is mine, reason=_reason(row, mine, part, why)) for row in rows]


def _reason(row: Weight, mine: Weight | None, part: Part, why: str) -> str:
    kind = "substitute for " + format_length(part.thickness_mm) if row.is_substitute else ""
    if mine is None:
        return f"{kind}; choose it with board = {row.board!r}" if kind else ""
    if row is mine:
        return "; ".join(filter(None, (why, kind)))
    difference = f"{row.mass_g - mine.mass_g:+.2f} g against {mine.board}"
    return "; ".join(filter(None, (difference, kind)))


def _default_notes(weights: Iterable[Weight], scales: _Scales, strips: Collection[str]) -> list[Note]:
    names = sorted({weight.board for weight in weights if weight.uses_default_density})
    return [
        Note(
            "default-density",
            f"{'' if name in strips else 'board '}{name} has no scale reading; its weights use the default density of "
            f"its material, ± {scales.areal[name].relative_sigma:.0%}. "
            + ("Weigh a length, and say so with mass." if name in strips else "Weigh the board to do better."),
        )
        for name in names
    ]
