"""One plain sentence of advice for a priority, and the remarks that belong to a comparison."""

from __future__ import annotations

from collections.abc import Sequence

from nesting.choice.compare.candidate import Candidate, Priority
from nesting.wood.beam import Loading
from nesting.wood.estimate import Estimate
from nesting.wood.needs import Need, cut_advice
from nesting.wood.part import Part
from vectorize.basics.notes import Note


def remarks(part: Part, need: Need, candidates: Sequence[Candidate], angle_deg: float) -> list[Note]:
    """Return what a reader of the comparison should know besides its figures."""
    notes = [note for candidate in candidates for note in candidate.modulus.notes]
    notes += [note for candidate in candidates if (note := cut_advice(part, need, candidate.board)) is not None]
    for candidate in candidates:
        name = candidate.board.name
        if candidate.uses_default_density:
            notes.append(
                Note("default-density", f"board {name} has no scale reading; its figures use the default density.")
            )
        if not candidate.modulus.is_measured:
            notes.append(
                Note(
                    "stiffness-by-trend",
                    f"board {name}: stiffness is by the published trend with density; a bend test does better.",
                )
            )
    if angle_deg:
        loss = 1 - min(candidate.run_out_share for candidate in candidates)
        notes.append(
            Note(
                "grain-run-out",
                f"at {angle_deg:g}° of grain run-out stiffness along the part falls by {loss:.0%} (Hankinson).",
                "fixed",
                part.name,
            )
        )
    return notes


def advice(part: str, candidates: Sequence[Candidate], priority: Priority, loading: Loading) -> str:
    """Return one plain sentence: which board, and the reason in figures."""
    possible = [candidate for candidate in candidates if candidate.is_possible]
    if not possible:
        first = candidates[0]
        why = first.objection or "does not fit on what is left"
        return f"None of these boards will do for {part}: {first.board.name} {why}; add a board or ask for less."
    # A model that no ballast brings into its range is no choice while another board can.
    possible = [c for c in possible if c.balanced is None or c.balanced.flying_mass is not None] or possible
    best = min(possible, key=lambda candidate: _score(candidate, priority, loading))
    others = [candidate for candidate in possible if candidate is not best]
    if not others:
        return f"Take {best.board.name} for {part}: it is the only one that will do."
    other = min(others, key=lambda candidate: _score(candidate, priority, loading))
    return f"Take {best.board.name} for {part}: {_reason(best, other, priority, loading)}."


def _score(candidate: Candidate, priority: Priority, loading: Loading) -> tuple[float, float]:
    """Return what to keep small: for the priority first, then flying weight."""
    weight = _weight(candidate).value
    if priority == "stiff":
        return (-candidate.flown_ratio(loading).value, weight)
    if priority == "balanced":
        return (_ballast_g(candidate), weight)
    return (weight, -candidate.flown_ratio(loading).value)


def _weight(candidate: Candidate) -> Estimate:
    """Return the flying weight with ballast where it is known, else the part's mass."""
    balanced = candidate.balanced
    return candidate.mass if balanced is None or balanced.flying_mass is None else balanced.flying_mass


def _ballast_g(candidate: Candidate) -> float:
    return 0.0 if candidate.balanced is None else candidate.balanced.trim.mass_g


def _reason(best: Candidate, other: Candidate, priority: Priority, loading: Loading) -> str:
    difference = _weight(best) - _weight(other)
    flies = best.balanced is not None and best.balanced.flying_mass is not None
    what = "the model with its ballast" if flies else "the part"
    ratio = (best.flown_ratio(loading) / other.flown_ratio(loading)).value
    glued = "" if best.built is None else ", all that is glued on counted,"
    stiff = f"{ratio:.2f} times as stiff {loading}{glued} as from {other.board.name}"
    if abs(difference.value) < difference.sigma:
        weigh = f"weight cannot tell it from {other.board.name} ({difference.value:+.1f} ± {difference.sigma:.1f} g)"
    else:
        word = "lighter" if difference.value < 0 else "heavier"
        weigh = f"{what} is {abs(difference.value):.1f} ± {difference.sigma:.1f} g {word} than with {other.board.name}"
    if priority == "stiff":
        return f"it is {stiff}, and {weigh}"
    if priority == "balanced":
        return f"it needs {_ballast_g(best):.1f} g of ballast against {_ballast_g(other):.1f} g, and {weigh}"
    return f"{weigh}, and it is {stiff}"
