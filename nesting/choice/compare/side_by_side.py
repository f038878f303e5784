"""One part, two or more boards: what each costs in weight and buys in stiffness, for this part on this model.

A heavier board at the tail costs its own weight and again the ballast that restores the balance, so the
last word is the total flying weight. Stiffness is compared for the way the part is loaded: flatwise as
E t^3, edgewise as E t. Where E goes as density, a heavier board of the same thickness buys edgewise
stiffness in proportion to its weight and no more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from nesting.balance.balance_report import BalancePlan, trimmed
from nesting.balance.ledger import Ledger
from nesting.balance.weights import weigh_parts
from nesting.choice.compare.advice import advice, remarks
from nesting.choice.compare.candidate import AsBuilt, Balanced, Candidate, Comparison, Priority
from nesting.wood.beam import STRENGTH_POWER, THICKNESS_POWER, Loading
from nesting.wood.board import Board
from nesting.wood.density import (
    USUAL,
    Wood,
    areal_density,
    board_density,
    board_thickness,
    material_of,
)
from nesting.wood.estimate import Estimate, total
from nesting.wood.flex.built_up import WAYS, BuiltStiffness, built_ratio, weakest_station_mm
from nesting.wood.needs import ANY, Need, inherited_bow_mm, why_not
from nesting.wood.part import Part
from nesting.wood.stiffness import (
    board_modulus,
    board_strength,
    part_stiffness,
    part_strength,
    run_out_factor,
)
from vectorize.basics.errors import PartError


def compare_boards(
    part: Part,
    boards: Sequence[Board],
    *,
    need: Need = ANY,
    priority: Priority = "light",
    fits: Mapping[str, bool] | None = None,
    ledgers: Mapping[str, Ledger] | None = None,
    plan: BalancePlan | None = None,
    built: Mapping[str, BuiltStiffness] | None = None,
    run_out_deg: float | None = None,
    wood: Wood = USUAL,
) -> Comparison:
    """Return the boards side by side for one part, lightest first, and one sentence of advice.

    Args:
        part: The part; all its copies come from one board here.
        boards: Two or more, of any thickness and material.
        need: How the part is loaded and what it asks for.
        priority: What the advice is to weigh most.
        fits: Whether the part fits on what is left of each board; left out where nobody tried. Where it does not, no
            balance is given.
        ledgers: The model's ledger with the part from each board, for balance and flying weight.
        plan: What the balance is held against.
        built: How stiff the part is with all that is glued onto it, from each board; None where nothing is.
        run_out_deg: Angle of the grain to the part's axis; by default the part's grain tolerance.
        wood: The kinds of wood, and how well boards were measured.

    Raises:
        PartError: Fewer than two boards.
        RackError: A board that cannot be weighed.
    """
    if len(boards) < 2:
        raise PartError(f"part {part.name}: {len(boards)} board was given; a comparison needs at least two.")
    masses = {board.name: _mass_from(part, board, wood) for board in boards}
    in_order = sorted(boards, key=lambda board: masses[board.name].value)
    # Held against the lightest board that the part fits on: one that it does not is no choice.
    lightest = next((board for board in in_order if (fits or {}).get(board.name) is not False), in_order[0])
    angle = min(part.grain_tolerance_deg, 10.0) if run_out_deg is None else run_out_deg
    base = _Base(part, lightest, need.loading, masses[lightest.name], wood)
    candidates = tuple(
        _candidate(
            part, board, masses[board.name], base, need, angle, (fits or {}).get(board.name), ledgers, plan, built
        )
        for board in in_order
    )
    return Comparison(
        part=part.name,
        loading=need.loading,
        priority=priority,
        candidates=candidates,
        advice=advice(part.name, candidates, priority, need.loading),
        notes=tuple(remarks(part, need, candidates, angle)),
    )


class _Base:
    """The lightest candidate, which the others are held against."""

    def __init__(
        self,
        part: Part,
        board: Board,
        loading: Loading,
        mass: Estimate,
        wood: Wood,
    ) -> None:
        self.board, self.loading, self.mass = board, loading, mass
        self.wood, self.carved_mm = wood, part.carved_blank_mm
        self.modulus = board_modulus(board, wood=wood)
        self.stiffness = self.stiffness_of(board, self.modulus.value)
        self.strength = self.strength_of(board)

    def stiffness_of(self, board: Board, modulus: Estimate) -> Estimate:
        """Return the stiffness of the part from a board; what is carved is as thick from every board."""
        if self.carved_mm is not None:
            return modulus * self.carved_mm ** THICKNESS_POWER[self.loading]
        return part_stiffness(board, modulus, self.loading, accuracy=self.wood.accuracy)

    def strength_of(self, board: Board) -> Estimate:
        strength = board_strength(board, wood=self.wood)
        if self.carved_mm is not None:
            return strength * self.carved_mm ** STRENGTH_POWER[self.loading]
        return part_strength(board, strength, self.loading, accuracy=self.wood.accuracy)


def _mass_from(part: Part, board: Board, wood: Wood) -> Estimate:
    """Return the mass of all copies, as if the part were meant for this board's material and thickness."""
    as_if = Part(
        part.name, part.outline, board.material, board.thickness_mm, count=part.copies,
        sigma_area_mm2=part.sigma_area_mm2, finished_share=part.finished_share, carved_blank_mm=part.carved_blank_mm,
    )  # fmt: skip
    table = weigh_parts([as_if], [board], wood=wood)
    if not table.chosen:
        areal_density(board, wood=wood)  # tells what is wrong with the board
    return total(weight.estimate for weight in table.chosen)


def _candidate(
    part: Part,
    board: Board,
    mass: Estimate,
    base: _Base,
    need: Need,
    angle_deg: float,
    fits: bool | None,
    ledgers: Mapping[str, Ledger] | None,
    plan: BalancePlan | None,
    built: Mapping[str, BuiltStiffness] | None,
) -> Candidate:
    loading = base.loading
    modulus = board_modulus(board, wood=base.wood)
    stiffness = base.stiffness_of(board, modulus.value)
    thickness = board_thickness(board, accuracy=base.wood.accuracy)
    equal = thickness * (base.stiffness / stiffness) ** (1 / THICKNESS_POWER[loading])
    return Candidate(
        board=board,
        mass=mass,
        difference=mass - base.mass,
        density=board_density(board, wood=base.wood),
        modulus=modulus,
        stiffness_ratio=stiffness / base.stiffness,
        strength_ratio=base.strength_of(board) / base.strength,
        equal_thickness_mm=equal,
        equal_mass=mass * (equal / thickness),
        run_out_share=run_out_factor(material_of(board, base.wood.materials), angle_deg),
        bow_mm=inherited_bow_mm(part, board),
        fits=fits,
        objection=why_not(part, need, board, wood=base.wood),
        uses_default_density=board.known_mass_g is None,
        balanced=None if fits is False else _balanced(board.name, base.board.name, ledgers, plan),
        built=None if not built else _as_built(built[board.name], built[base.board.name]),
    )


def _as_built(one: BuiltStiffness, base: BuiltStiffness) -> AsBuilt:
    ratios = {way: built_ratio(one, base, way) for way in WAYS}
    return AsBuilt(ratios, {way: weakest_station_mm(one, way) for way in WAYS}, one)


def _balanced(board: str, base: str, ledgers: Mapping[str, Ledger] | None, plan: BalancePlan | None) -> Balanced | None:
    if not ledgers or board not in ledgers or base not in ledgers:
        return None
    ledger, first = ledgers[board], ledgers[base]
    shift = ledger.balance() - first.balance()
    return Balanced(ledger.balance(), shift, trimmed(ledger, plan or BalancePlan()))
