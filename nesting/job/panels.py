"""Carved panels against each other, by the boards that were chosen for their pieces."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from nesting.balance.weights import WeightTable
from nesting.carve.compare_panels import PanelComparison, PanelWeight, compare_panels, weigh_pieces
from nesting.job.deriving import Carving
from nesting.job.folder import Job
from vectorize.basics.errors import JobError, PartError
from vectorize.basics.notes import Note
from vectorize.basics.wording import listed


def panel_notes(carvings: Sequence[Carving], weights: WeightTable, *, asked: Collection[str]) -> tuple[Note, ...]:
    """Return a note for each panel that is to be weighed against another: which is heavier, where, what to take off.

    Args:
        carvings: The panels that could be carved.
        weights: What their pieces weigh.
        asked: Names of all parts that the job carves (`carved_names`), whether it could be done or not.

    Raises:
        JobError: The job does not carve the other part.
    """
    by_name = {carving.name: carving for carving in carvings}
    return tuple(_note(c, _other(c, by_name, asked), weights) for c in carvings if c.table.against is not None)


def carved_names(job: Job) -> frozenset[str]:
    """Return the names of the parts that the job carves."""
    return frozenset(table.name for table in job.spec.part if table.carve is not None)


def _other(carving: Carving, by_name: Mapping[str, Carving], asked: Collection[str]) -> Carving | str:
    """Return the other panel, or its name where it could not be carved."""
    name = carving.table.against or ""
    if name not in asked or name == carving.name:
        known = listed(sorted(set(asked) - {carving.name}))
        raise JobError(
            f"part {carving.name!r} is weighed against {name!r}, which is not a carved part; carved parts: {known}."
        )
    return by_name.get(name, name)


def _note(first: Carving, second: Carving | str, weights: WeightTable) -> Note:
    if isinstance(second, str):
        text = f"part {first.name} cannot be weighed against {second}: that could not be carved; see the note on it."
        return Note("panels-not-weighed", text, "open", first.name)
    one, other = weighed_panel(first, weights), weighed_panel(second, weights)
    if one is None or other is None:
        missing = first.name if one is None else second.name
        text = f"part {first.name} cannot be weighed against {second.name}: there is no weight of {missing} yet."
        return Note("panels-not-weighed", text, "open", first.name)
    tip = first.panel.planform.span[1]
    target = first.table.heavier_by * tip
    heavy = first if one.moment_g_mm - other.moment_g_mm > target else second
    solid, mass = heavy.panel.solid(), one.mass_g if heavy is first else other.mass_g
    try:
        result = compare_panels(
            one,
            other,
            surface_mm2=heavy.panel.planform.outline.area_mm2,
            density_kg_m3=mass / solid.volume_mm3 * 1e6,
            target_g_mm=target,
        )
    except PartError as error:
        return Note("panels-compared", f"part {first.name}: {error}", "open", first.name)
    return Note("panels-compared", comparison_text(result, first.table.heavier_by, tip), "fixed", first.name)


def weighed_panel(carving: Carving, weights: WeightTable) -> PanelWeight | None:
    """Return the mass and arm of a panel from its pieces on their boards, or None where one has no weight."""
    mass = {weight.part: weight.current.value for weight in weights.chosen if weight.copy == 1}
    if any(piece.name not in mass for piece in carving.pieces):
        return None
    pieces = [(piece.outline, mass[piece.name]) for piece in carving.pieces]
    return weigh_pieces(carving.panel, pieces, name=carving.name)


def comparison_text(result: PanelComparison, heavier_by_g: float, tip_mm: float) -> str:
    """Return the comparison in words."""
    one, other = result.first, result.second
    zones = ", ".join(f"{zone:+.2f} g" for zone in result.zones_g)
    text = (
        f"carved, {one.name} weighs {one.mass_g:.2f} g and {other.name} {other.mass_g:.2f} g "
        f"(by thirds from root to tip: {zones}); "
    )
    wanted = (
        f"for {one.name} to be heavier as by {heavier_by_g:g} g at {tip_mm:.0f} mm"
        if heavier_by_g
        else "for equal moments about the middle"
    )
    if result.heavy is None:
        return f"{text}nothing need come off {wanted}."
    return (
        f"{text}{wanted}, take {result.take_off_g:.2f} g off {result.heavy}: "
        f"{result.sanded_mm:.2f} mm all over its upper side."
    )
