"""Tables of wood, weight and balance for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from nesting.balance.balance_report import BalanceReport, Trim
from nesting.balance.ballast import Ballast
from nesting.balance.ledger import Difference, Entry, Ledger
from nesting.balance.weights import WeightTable
from nesting.cli.console import say, show_table
from nesting.job.balancing import Fix
from nesting.wood.bent_wire import BentWire, wire_words
from nesting.wood.board import Board
from nesting.wood.density import Wood, board_gradient
from nesting.wood.estimate import Estimate, total
from nesting.wood.shopping import Wanted
from nesting.wood.stiffness import CAUTION, board_modulus
from vectorize.basics.spoken import Speech
from vectorize.basics.units import figure, format_density, format_length, format_mass, measure, sides, unit_of

if TYPE_CHECKING:
    from nesting.balance.budget import Budget
    from nesting.balance.named_stations import StationResult
    from nesting.choice.assign import AssignReport, Given
    from nesting.choice.assign.pairs import PairResult
    from nesting.choice.compare import Candidate, Comparison
    from nesting.job.body import Body


def _mass(estimate: Estimate, units: str, decimals: int = 1) -> str:
    return format_mass(estimate.value, units=units, decimals=decimals, sigma=estimate.sigma)


def _station(estimate: Estimate, units: str, *, decimals: int = 1, is_signed: bool = False) -> str:
    return figure(estimate.value, "length", units=units, decimals=decimals, sigma=estimate.sigma, is_signed=is_signed)


def show_readings(boards: Sequence[Board], wood: Wood) -> None:
    """Print gradient and stiffness of the boards that were weighed at both ends, bent or tapped."""
    tested = [board for board in boards if board.end_readings_g is not None or board.bend_test or board.tone_hz]
    rows = []
    for board in tested:
        gradient = board_gradient(board, wood=wood)
        modulus = board_modulus(board, wood=wood)
        change = gradient.change
        words = f"{change.value:+.1%} ± {change.sigma:.1%}" if gradient.is_resolved else "not resolved"
        rows.append(
            (
                board.name,
                words if board.end_readings_g is not None else "",
                _gpa(modulus.value) if modulus.is_measured else "",
                ", ".join(f"{name} {_gpa(value)}" for name, value in modulus.readings),
            )
        )
    if rows:
        show_table("Tested boards", ("board", "density, left to right end", "E GPa", "by"), rows, right=(1, 2))
        say(CAUTION)


def _gpa(modulus_mpa: Estimate) -> str:
    return f"{modulus_mpa.value / 1000:.2f} ± {modulus_mpa.sigma / 1000:.2f}"


def show_board_totals(table: WeightTable, *, units: str) -> None:
    """Print what is cut from each chosen board."""
    rows = [
        (name, str(sum(weight.board == name for weight in table.chosen)), _mass(mass, units))
        for name, mass in table.by_board().items()
    ]
    if len(rows) > 1:
        show_table("From each board", ("board", "pieces", "together"), rows, right=(1, 2))


def show_build(ledger: Ledger, *, units: str) -> None:
    """Print wood, finish and glue of every part and the whole, where there is more than wood; then scale readings."""
    if any(entry.stage != "cut" or entry.is_weighed for entry in ledger.entries):
        groups: dict[str, list[Entry]] = {}
        for entry in ledger.entries:
            groups.setdefault(entry.heading, []).append(entry)
        rows = [_build_row(owner, entries, units) for owner, entries in groups.items()]
        heads = ("part", "weighed", "wood", "finish and glue", "together")
        show_table("As it will be built", heads, rows, right=(1, 2, 3, 4))
    _show_differences(ledger.differences, units)
    if ledger.entries:
        say(f"All parts together: {_mass(ledger.mass(), units)}.")


def _build_row(owner: str, entries: Sequence[Entry], units: str) -> tuple[str, ...]:
    weighed = [entry.mass for entry in entries if entry.is_weighed]
    wood = [entry.mass for entry in entries if entry.stage == "cut" and not entry.is_weighed]
    added = [entry.mass for entry in entries if entry.stage != "cut" and not entry.is_weighed]
    columns = (_mass(total(masses), units, 2) if masses else "" for masses in (weighed, wood, added))
    return (owner, *columns, _mass(total((*weighed, *wood, *added)), units))


def _show_differences(differences: Sequence[Difference], units: str) -> None:
    if not differences:
        return
    rows: list[tuple[str, ...]] = [
        (
            d.name,
            d.stage,
            _mass(d.estimated, units),
            format_mass(d.weighed.value, units=units),
            _mass(d.flies, units) if d.stage == "sawn" else "",
            measure(d.difference_g, "mass", units=units, is_signed=True),
            f"{d.difference_share:+.1%}" + (" (!)" if d.is_surprising else ""),
        )
        for d in differences
    ]
    heads = ["weighed", "stage", "estimate", "reading", "carved", "difference", ""]
    if not any(d.stage == "sawn" for d in differences):
        rows, heads = [(*row[:4], *row[5:]) for row in rows], [*heads[:4], *heads[5:]]
    show_table("On the scale", heads, rows, right=range(2, len(heads)))
    if any(d.is_surprising for d in differences):
        say("(!) more than the estimate allowed: check board, part and scale.")


def show_comparison(comparison: Comparison, *, speech: Speech) -> None:
    """Print the boards side by side, then the advice and the caution."""
    units = speech.units
    rows = [_candidate(candidate, speech) for candidate in comparison.candidates]
    heads = ("board", "density", "mass", "more", "stiff", "strong", "as stiff at", "fits")
    title = f"{comparison.part}, loaded {comparison.loading}: stiffness and strength against the lightest"
    show_table(title, heads, rows, right=(1, 2, 3, 4, 5, 6))
    _show_built(comparison, units)
    balanced = [(c.board.name, b) for c in comparison.candidates if (b := c.balanced) is not None]
    if balanced:
        unit = unit_of("length", units)
        model_rows = [
            (
                name,
                _station(b.balance, units),
                _station(b.shift, units, decimals=2, is_signed=True),
                _trim_words(b.trim, units),
                "cannot be balanced" if b.flying_mass is None else _mass(b.flying_mass, units),
            )
            for name, b in balanced
        ]
        model_heads = ("board", f"balance {unit}", f"shift {unit}", "ballast", "flying weight")
        show_table("The whole model", model_heads, model_rows, right=(1, 2, 4))
    say(speech.said(comparison.advice))
    say(speech.said(comparison.caution))


def _show_built(comparison: Comparison, units: str) -> None:
    """Print how stiff the part is with all that is glued onto it, and where it is weakest."""
    built = [(c.board.name, b) for c in comparison.candidates if (b := c.built) is not None]
    if not built:
        return
    rows = [
        (name, way, f"x{r.whole.value:.2f} ± {r.whole.sigma:.2f}", _here(r.least, r.least_at_mm, units),
         _here(r.greatest, r.greatest_at_mm, units))
        for name, one in built[1:]
        for way, r in one.ratios.items()
    ]  # fmt: skip
    heads = ("board", "stiffness", "as a whole", "least", "most")
    title = f"{comparison.part} with all that is glued on, against the lightest"
    show_table(title, heads, rows, right=(2,))
    first, one = built[0]
    weak = ", ".join(f"{way} at {measure(at, 'length', units=units)}" for way, at in one.weakest_mm.items())
    say(f"Weakest from {first}: {weak}, the ends left out.")


def _here(ratio: Estimate, station_mm: float, units: str) -> str:
    return f"x{ratio.value:.2f} ± {ratio.sigma:.2f} at {measure(station_mm, 'length', units=units)}"


def _candidate(candidate: Candidate, speech: Speech) -> tuple[str, ...]:
    units, difference = speech.units, candidate.difference
    fits = {True: "yes", False: "no", None: "not tried"}[candidate.fits]
    mark = "" if candidate.modulus.is_measured else "*"
    thick = measure(candidate.equal_thickness_mm.value, "length", units=units, decimals=2)
    return (
        candidate.board.name + (" (default density)" if candidate.uses_default_density else ""),
        format_density(candidate.density.value, units=units),
        _mass(candidate.mass, units, 2),
        _more(difference, units) if difference.value else "",
        f"x{candidate.stiffness_ratio.value:.2f} ± {candidate.stiffness_ratio.sigma:.2f}{mark}",
        f"x{candidate.strength_ratio.value:.2f}",
        f"{thick}, {measure(candidate.equal_mass.value, 'mass', units=units, decimals=2)}",
        f"{fits}; {speech.said(candidate.objection)}" if candidate.objection else fits,
    )


def _more(difference: Estimate, units: str) -> str:
    return measure(difference.value, "mass", units=units, decimals=2, sigma=difference.sigma, is_signed=True)


def _trim_words(trim: Trim, units: str) -> str:
    if trim.flying is None:
        return "-"
    words = [_ballast_words(b, units) for b in trim.parts if b.least]
    return ", ".join(words) or "none"


def _ballast_words(ballast: Ballast, units: str) -> str:
    assert ballast.least is not None
    least = measure(ballast.least.value, "mass", units=units, sigma=ballast.least.sigma)
    return f"{least} at {ballast.place.name}"


def show_bodies(bodies: Sequence[Body], *, units: str) -> None:
    """Print the bodies of the model: the board of each, its mass, and where it is."""
    rows = [
        (
            body.name,
            body.board or "",
            "" if body.mass_g is None else format_mass(body.mass_g, units=units, decimals=2),
            "beside the model" if body.is_beside else "in the model",
        )
        for body in bodies
    ]
    show_table("Bodies of out/model.glb", ("part", "board", "mass", "place"), rows, right=(2,))


def show_balance(report: BalanceReport, *, speech: Speech) -> None:
    """Print mass and balance point of each loading, ballast, alternatives, scale readings."""
    limits, chord, units = report.plan.limits, report.plan.chord, speech.units
    unit = unit_of("length", units)
    rows = [
        (
            ("tank full" if loading.fuel_share else "tank empty") if report.ledger.has_fuel else "as it stands",
            _mass(loading.mass, units),
            _station(loading.balance, units),
            "" if chord is None else f"{chord.share(loading.balance.value):.1%}",
            figure(loading.lateral.value, "length", units=units, is_signed=True),
            {True: "yes", False: "no", None: "no range given"}[loading.is_in_range],
        )
        for loading in report.loadings
    ]
    heads = ("loading", "mass", f"balance {unit}", "of mean chord", f"to the right {unit}", "in range")
    title = (
        "Balance" if limits is None else speech.said(f"Balance (range {limits.low_mm:.1f} to {limits.high_mm:.1f} mm)")
    )
    show_table(title, heads, rows, right=(1, 2, 3, 4))
    ballast = [_ballast_row(b, speech) for b in (*report.tip, *report.ballast)]
    if ballast:
        show_table(
            "Ballast", ("place", f"station {unit}", "least", "to the middle", "lead plug"), ballast, right=(1, 2, 3)
        )
    if report.alternatives:
        _show_alternatives(report, units)
    _show_differences(report.ledger.differences, units)
    if report.flying_mass is not None:
        say(f"Flying weight with ballast: {_mass(report.flying_mass, units)}.")


def _ballast_row(ballast: Ballast, speech: Speech) -> tuple[str, ...]:
    plug, place, units = ballast.plug_diameter_mm, ballast.place, speech.units
    return (
        place.name,
        figure(place.station_mm, "length", units=units),
        (ballast.problem and speech.said(ballast.problem))
        or (_mass(ballast.least, units) if ballast.least and ballast.least.value > 0 else "none"),
        "-" if ballast.to_middle is None else format_mass(ballast.to_middle.value, units=units),
        "" if plug is None else speech.said(f"{plug:.1f} mm across, {place.depth_mm:g} mm deep"),
    )


def _show_alternatives(report: BalanceReport, units: str) -> None:
    rows = [
        (
            a.name,
            _mass(a.mass, units),
            figure(a.balance.value, "length", units=units),
            figure(a.shift.value, "length", units=units, decimals=2, is_signed=True)
            + ("" if a.is_measurable else " (too small to measure)"),
            "cannot be balanced" if a.flying_mass is None else _mass(a.flying_mass, units),
        )
        for a in report.alternatives
    ]
    unit = unit_of("length", units)
    heads = ("alternative", "mass", f"balance {unit}", f"shift {unit}", "flying weight")
    show_table("Alternatives", heads, rows, right=(1, 2, 3, 4))


def show_fixes(fixes: Sequence[Fix], *, speech: Speech) -> None:
    """Print the ways into the balance range, cheapest first; one alone is what the ballast table says already."""
    if len(fixes) < 2:
        return
    say("Into the range, by weight ready to fly (whether a board has room, `sheetwood nest` says):")
    for fix in fixes:
        say(f"  {speech.said(fix.text)}")


def show_assignments(report: AssignReport, *, speech: Speech) -> None:
    """Print the best assignments side by side, why they are not better, and the caution."""
    rows, units = [], speech.units
    for part in dict.fromkeys(given.part for given in report.best[0].given):
        choices = (" + ".join(_with_pieces(a.given, part)) for a in report.best)
        rows.append((part, *choices))
    rows.append(("flying weight", *(format_mass(a.flying_mass_g, units=units) for a in report.best)))
    rows.append(("ballast", *(_assigned_ballast(a.ballast_g, units) for a in report.best)))
    balance = (" to ".join(figure(x, "length", units=units) for x in a.balance_mm) for a in report.best)
    rows.append((f"balance {unit_of('length', units)}", *balance))
    rows.append(("stiffness", *(f"{a.stiffness_share:.0%}" for a in report.best)))
    show_table("Which part from which board", ("part", *_ordinals(len(report.best))), rows)
    _show_pairs(report.best[0].pairs, units)
    for binding in report.bindings:
        say(speech.said(binding.text))
    proof = "none is better" if report.is_proved else "better ones may exist"
    say(f"{report.rounds} rounds, {report.nestings} nestings tried; {proof}, as far as nesting finds room.")
    say(CAUTION)


def _show_pairs(pairs: Sequence[PairResult], units: str) -> None:
    """Print how well the pairs of the best assignment match, and what would level them."""
    rows = [
        (
            one.pair,
            ", ".join(" and ".join(dict.fromkeys(both)) for both in one.boards),
            f"{one.mismatch.weight:.1%}",
            f"{one.mismatch.stiffness:.1%}",
            f"{one.mismatch.gradient:.1%}",
            "" if one.tip_weight_g is None else measure(one.tip_weight_g, "mass", units=units, decimals=2),
        )
        for one in pairs
    ]
    if rows:
        heads = ("pair", "boards", "weight apart", "stiffness apart", "gradient, a metre", "tip weight left over")
        show_table("Pairs of the best", heads, rows, right=(2, 3, 4, 5))


def _ordinals(count: int) -> tuple[str, ...]:
    return tuple("best" if number == 1 else f"number {number}" for number in range(1, count + 1))


def _with_pieces(given: Sequence[Given], part: str) -> list[str]:
    mine = [g for g in given if g.part == part]
    return [mine[0].board] if len(mine) == 1 else [f"{g.pieces} x {g.board}" for g in mine]


def _assigned_ballast(ballast: Sequence[tuple[str, float]], units: str) -> str:
    return ", ".join(f"{measure(grams, 'mass', units=units)} at {place}" for place, grams in ballast) or "none"


def show_stations(stations: Sequence[StationResult], *, units: str) -> None:
    """Print the job's named places: where they are, how far from the balance point, and at which angle."""
    unit = unit_of("length", units)
    rows = [
        (
            one.named.name,
            figure(one.named.station_mm, "length", units=units),
            ", ".join(_station(at.from_balance_mm, units, is_signed=True) for at in one.at),
            ", ".join(f"{at.ahead_deg:.1f}°" for at in one.at if at.ahead_deg is not None),
            "" if one.named.line_deg is None else f"{one.named.line_deg:+.2f}°",
        )
        for one in stations
    ]
    if rows:
        heads = ("place", f"station {unit}", f"aft of balance {unit}", "axle ahead", "to the datum line")
        show_table("Named places (tank empty, full)", heads, rows, right=(1, 2, 3, 4))


def show_wires(wires: Sequence[BentWire], *, units: str) -> None:
    """Print each bent wire: what to cut, and its straight lengths and bends in order."""
    for wire in wires:
        say(wire_words(wire, units=units))


def show_budget(budget: Budget | None, *, units: str) -> None:
    """Print what is spent on what, and what is still free, where the job has a budget."""
    if budget is None:
        return
    rows: list[tuple[str, ...]] = [
        (
            spent.group,
            _mass(spent.mass, units),
            "" if spent.allowed_g is None else format_mass(spent.allowed_g, units=units),
            "" if spent.allowed_g is None else _free(spent.allowed_g - spent.mass, units),
        )
        for spent in budget.groups
    ]
    for what, most in (("target", budget.plan.target_g), ("limit", budget.plan.limit_g)):
        free = budget.free_to(most)
        if most is not None and free is not None:
            rows.append(
                (f"all, to the {what}", _mass(budget.flying, units), format_mass(most, units=units), _free(free, units))
            )
    show_table("Budget", ("what", "weighs", "may weigh", "free"), rows, right=(1, 2, 3))
    if budget.weighed.value:
        say(f"Of that {_mass(budget.weighed, units)} has been on the scale.")
    if not budget.has_ballast:
        say("No ballast brings the model into its range, so none is counted.")


def _free(free: Estimate, units: str) -> str:
    return measure(free.value, "mass", units=units, sigma=free.sigma, is_signed=True)


def show_offcuts(offcuts: Mapping[str, Sequence[Board]], *, units: str) -> None:
    """Print what is left of each cut board."""
    rows = [
        (board, piece.name, sides((piece.length_mm, piece.width_mm), units=units, decimals=0), _reading(piece, units))
        for board, pieces in offcuts.items()
        for piece in pieces
    ]
    heads = ("board", "offcut", f"within {unit_of('length', units)}", "mass")
    show_table("Offcuts back in the rack", heads, rows, right=(3,))
    for board, pieces in offcuts.items():
        if not pieces:
            say(f"{board} is used up.")


def _reading(board: Board, units: str) -> str:
    return "not weighed" if board.mass_g is None else format_mass(board.mass_g, units=units)


def show_wanted(wanted: Sequence[Wanted], *, speech: Speech) -> None:
    """Print the shopping card."""
    units = speech.units
    if not wanted:
        say("The rack has a board for every part; there is nothing to buy.")
        return
    rows = [
        (
            str(line.boards),
            line.material,
            format_length(line.thickness_mm, units=units),
            f"{sides((line.length_mm, line.width_mm), units=units, decimals=0)} {unit_of('length', units)}",
            " to ".join(format_mass(grams, units=units, decimals=0) for grams in line.mass_window_g),
            "asked for" if line.is_asked_for else "usual",
            speech.said(line.purpose),
        )
        for line in wanted
    ]
    heads = ("boards", "material", "thickness", "size", "one weighs", "window", "for")
    show_table("To buy", heads, rows, right=(0,))
