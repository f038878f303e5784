"""Error bars mean what they say: 1,000 boards, readings and traces are made up from a known truth.

The truth is made here and not by the code under test: a board is cut to a true size, its density runs
linearly and varies a little from spot to spot, the scale rounds to its step, rules and callipers err, the
trace errs. What comes out is weighed as any job would be.

Each is done twice: with errors as sigma assumes them, and with errors of another kind, of which sigma knows nothing.
"""

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest

from nesting.balance.budget import BudgetPlan, spent_budget
from nesting.balance.entries import part_entries
from nesting.balance.ledger import Entry, Ledger
from nesting.balance.station import Seat
from nesting.balance.weights import weigh_parts
from nesting.place.layout import BoardLayout, Layout, Placement, Proof
from nesting.wood.board import BendTest, Board
from nesting.wood.density import ACCURACY, board_density, board_gradient
from nesting.wood.estimate import Estimate
from nesting.wood.material import MATERIALS
from nesting.wood.part import Part
from nesting.wood.stiffness import board_modulus
from vectorize.shapes.outline import Outline, Pose

BALSA = MATERIALS["balsa"]
COUNT = 1000
LEAST_INSIDE, MOST_INSIDE = 0.93, 0.97  # of the truths within two sigma; a normal error has 0.954
RMS_BAND = (0.8, 1.2)  # root mean square of error over sigma; an honest sigma has 1
SPAN_MM = 700.0


@dataclass(frozen=True)
class Case:
    """A board as the builder knows it, with parts laid on it, and the truth behind it."""

    board: Board
    parts: tuple[Part, ...]
    layout: Layout
    part_masses: dict[str, float]
    density: float
    gradient: float
    modulus: float
    length_mm: float


def rounded(value: float, step: float) -> float:
    return round(value / step) * step


class AsAssumed:
    """Errors as sigma assumes them: normal, and each spot of a board a little denser or lighter for itself."""

    def __init__(self, rng: random.Random) -> None:
        self.rng = rng

    def error(self, sigma: float) -> float:
        return self.rng.gauss(0, sigma)

    def density(self) -> float:
        density = 0.0
        while density < 60:
            density = self.rng.gauss(BALSA.density_kg_m3, BALSA.density_spread * BALSA.density_kg_m3)
        return density

    def spots(self) -> Callable[[float, float], float]:
        """Return by how much of itself a part at x / length - 1/2, of a share of the board, is denser than it."""
        return lambda u, share: self.rng.gauss(0, BALSA.local_spread * math.sqrt(1 - share))


class Otherwise(AsAssumed):
    """Errors of another law, of the standard deviation that sigma claims: even ones, and one in twenty a slip.

    Slips are 2 to 4 units where the rest are even within 1.5 units. Densities follow a skewed law. Spots of a board do
    not err each by itself: its density runs in a bow and a wave, in all as strong as `local_spread`.
    """

    def error(self, sigma: float) -> float:
        unit = sigma / math.sqrt(0.95 * 1.5**2 / 3 + 0.05 * (4**3 - 2**3) / (3 * 2))
        if self.rng.random() < 0.05:
            return self.rng.choice([-1, 1]) * self.rng.uniform(2, 4) * unit
        return self.rng.uniform(-1.5, 1.5) * unit

    def density(self) -> float:
        width = math.sqrt(math.log(1 + BALSA.density_spread**2))
        return BALSA.density_kg_m3 * math.exp(self.rng.gauss(-width * width / 2, width))

    def spots(self) -> Callable[[float, float], float]:
        # 12 u^2 - 1 and a sine have root mean squares of 0.89 and 0.71 along the board; each gets half of the square.
        bow = self.rng.uniform(-1, 1) * math.sqrt(1.5 / 0.8) * BALSA.local_spread
        wave = self.rng.uniform(-1, 1) * math.sqrt(3.0) * BALSA.local_spread
        phase = self.rng.uniform(0, 2 * math.pi)
        return lambda u, share: bow * (12 * u * u - 1) + wave * math.sin(phase + 8 * math.pi * u)


def make_case(rng: random.Random, *, is_weighed: bool, errors: AsAssumed | None = None) -> Case:
    errors = errors or AsAssumed(rng)
    length, width = rng.choice([(1000.0, 100.0), (914.4, 76.2), (1000.0, 75.0)])
    thickness = rng.choice([1.5, 2.0, 3.0, 5.0, 10.0])
    true_length, true_width = (
        length + errors.error(ACCURACY.length_sigma_mm),
        width + errors.error(ACCURACY.width_sigma_mm),
    )
    is_measured = rng.random() < 0.5
    sigma = ACCURACY.thickness_sigma_mm if is_measured else ACCURACY.nominal_thickness_sigma_mm
    true_thickness = thickness + errors.error(sigma)
    density, gradient, spot_at = errors.density(), errors.error(BALSA.gradient_spread), errors.spots()
    mass = density * true_length * true_width * true_thickness * 1e-6
    step = rng.choice([0.01, 0.1, 0.5, 1.0] if mass > 20 else [0.01, 0.1])
    ends = None
    if is_weighed and rng.random() < 0.5:
        shares = (0.5 - gradient / 12, 0.5 + gradient / 12)
        # Where the board truly touches its supports moves load from one to the other.
        shift = mass * errors.error(ACCURACY.support_sigma_mm) / length / 2
        ends = (rounded(mass * shares[0] - shift, step), rounded(mass * shares[1] + shift, step))
    modulus = 2500.0 + 20 * (density - 130)
    load = 0.4 * mass
    stiffness = modulus * true_width * true_thickness**3
    true_span = SPAN_MM + errors.error(ACCURACY.length_sigma_mm)
    shear = 1 + 1.2 / BALSA.shear_ratio * (true_thickness / true_span) ** 2
    load *= max(1.0, 12.0 / (load * 9.80665e-3 * true_span**3 / 4 / stiffness))  # enough for a sag that can be read
    sag = load * 9.80665e-3 * true_span**3 / 4 / stiffness * shear
    board = Board(
        "B", "balsa", thickness, length, width,
        measured_thickness_mm=thickness if is_measured else None,
        mass_g=rounded(mass, step) if is_weighed else None,
        mass_resolution_g=step,
        end_readings_g=ends,
        bend_test=BendTest(SPAN_MM, load, rounded(sag, 0.5)),
    )  # fmt: skip
    parts, placements, masses, x = [], [], {}, 5.0
    for number in range(4):
        long, wide = rng.uniform(60, 220), rng.uniform(15, 70)
        area_sigma = rng.uniform(0.0005, 0.004) * long * wide
        traced_wide = wide + errors.error(area_sigma) / long
        name = f"p{number}"
        parts.append(
            Part(name, Outline.rectangle(0, 0, long, traced_wide), "balsa", thickness, sigma_area_mm2=area_sigma)
        )
        placements.append(Placement(name, 1, Pose(x, 2.0)))
        middle = (x + long / 2) / length - 0.5
        share = long * wide / (true_length * true_width)
        spot = spot_at(middle, share)
        masses[name] = density * true_thickness * long * wide * 1e-6 * (1 + gradient * middle) * (1 + spot)
        x += long + 2.0
    layout = Layout((BoardLayout("B", tuple(placements), 0.4, x),), (), Proof((), 1.0))
    return Case(board, tuple(parts), layout, masses, density, gradient, modulus, true_length)


def errors_in_sigmas(pairs: list[tuple[Estimate, float]]) -> list[float]:
    return [(estimate.value - truth) / estimate.sigma for estimate, truth in pairs]


def assert_honest(pairs: list[tuple[Estimate, float]], *, most_inside: float = MOST_INSIDE) -> None:
    scores = errors_in_sigmas(pairs)
    inside = sum(abs(score) <= 2 for score in scores) / len(scores)
    rms = math.sqrt(sum(score * score for score in scores) / len(scores))
    assert LEAST_INSIDE <= inside <= most_inside, f"{inside:.1%} inside two sigma"
    assert RMS_BAND[0] <= rms <= RMS_BAND[1], f"root mean square {rms:.2f}"


@pytest.fixture(scope="module", params=[AsAssumed, Otherwise])
def weighed(request):
    rng = random.Random(1)
    errors = request.param(rng)
    return [make_case(rng, is_weighed=True, errors=errors) for _ in range(COUNT)]


def test_masses_of_parts_at_their_place(weighed):
    pairs = []
    for case in weighed:
        table = weigh_parts(case.parts, [case.board], layout=case.layout)
        pairs += [(weight.estimate, case.part_masses[weight.part]) for weight in table.weights]
    assert_honest(pairs)


def test_masses_of_parts_that_may_lie_anywhere_on_the_board(weighed):
    rng = random.Random(3)
    pairs = []
    for case in weighed:
        (part, *_), width = case.parts, case.parts[0].outline.size_mm[0]
        # Moved to where it may lie: the truth at a place drawn evenly from one end to the other.
        old = (5.0 + width / 2) / case.board.length_mm - 0.5
        new = (rng.uniform(0, case.board.length_mm - width) + width / 2) / case.board.length_mm - 0.5
        truth = case.part_masses[part.name] * (1 + case.gradient * new) / (1 + case.gradient * old)
        pairs.append((weigh_parts([part], [case.board]).weights[0].estimate, truth))
    assert_honest(pairs)


def test_the_total_of_parts_that_share_a_board(weighed):
    totals = [
        (weigh_parts(case.parts, [case.board], layout=case.layout).total(), sum(case.part_masses.values()))
        for case in weighed
    ]
    # What is dense at one spot is lighter at another in a bow or a wave: sums stray a little less than their sigma,
    # which takes spots for independent.
    assert_honest(totals, most_inside=0.98)


def test_the_difference_between_two_parts_of_one_board(weighed):
    pairs = []
    for case in weighed:
        first, second, *_ = weigh_parts(case.parts, [case.board], layout=case.layout).weights
        truth = case.part_masses[first.part] - case.part_masses[second.part]
        pairs.append((first.estimate - second.estimate, truth))
    assert_honest(pairs)


def test_densities_of_weighed_boards(weighed):
    assert_honest([(board_density(case.board), case.density) for case in weighed])


def test_gradients_whether_resolved_or_not(weighed):
    assert_honest([(board_gradient(case.board).change, case.gradient) for case in weighed])


def test_moduli_from_bend_tests(weighed):
    assert_honest([(board_modulus(case.board).value, case.modulus) for case in weighed])


@pytest.mark.parametrize("kind", [AsAssumed, Otherwise])
def test_moduli_from_tones(kind):
    """The tone is that of a rod, f = sqrt(E / density) / 2 L; a slow test of the same board gives 1 / 1.12 of E."""
    rng = random.Random(6)
    errors, pairs = kind(rng), []
    for _ in range(COUNT):
        case = make_case(rng, is_weighed=True, errors=errors)
        dynamic_pa = case.modulus * 1e6 / (1 / 1.12 + errors.error(0.05))
        tone_hz = math.sqrt(dynamic_pa / case.density) / (2e-3 * case.length_mm) * (1 + errors.error(0.003))
        tapped = replace(case.board, bend_test=None, tone_hz=rounded(tone_hz, 1.0))
        modulus = board_modulus(tapped)
        assert modulus.is_measured
        pairs.append((modulus.value, case.modulus))
    assert_honest(pairs)


def test_what_a_budget_has_left(weighed):
    """Wood off one board, and three pieces of equipment that a scale of its own step weighed one by one."""
    rng = random.Random(7)
    pairs = []
    for case in weighed:
        table = weigh_parts(case.parts, [case.board], layout=case.layout)
        seats = {part.name: Seat(station_mm=0.0) for part in case.parts}
        entries = list(part_entries(table, case.parts, [case.board], seats=seats)[0])
        truth, step = sum(case.part_masses.values()), rng.choice([0.1, 0.5, 1.0])
        for number in range(3):
            mass = rng.uniform(5, 60)
            reading = Estimate.reading(rounded(mass, step), step, f"reading of equipment {number}")
            entries.append(Entry(f"equipment {number}", "equipment", "fitted", reading, Estimate(0.0)))
            truth += mass
        budget = spent_budget(BudgetPlan(limit_g=300.0), entries, ())
        pairs.append((budget.free_to(300.0), 300.0 - truth))
    # As with totals, and a reading that is only rounded never strays by two sigma.
    assert_honest(pairs, most_inside=0.98)


@pytest.mark.parametrize("kind", [AsAssumed, Otherwise])
def test_boards_that_nobody_weighed(kind):
    rng = random.Random(2)
    errors = kind(rng)
    pairs = []
    for _ in range(COUNT):
        case = make_case(rng, is_weighed=False, errors=errors)
        weight = weigh_parts(case.parts, [case.board], layout=case.layout).weights[0]
        pairs.append((weight.estimate, case.part_masses[weight.part]))
    # No board is lighter than 60 kg/m3, so that a normal law cut off there strays less than its sigma.
    assert_honest(pairs, most_inside=1.0 if kind is AsAssumed else MOST_INSIDE)


def test_balance_points_of_what_is_cut(weighed):
    rng = random.Random(4)
    pairs = []
    for case in weighed:
        drawn = {part.name: rng.uniform(0, 600) for part in case.parts}
        built = {name: station + rng.gauss(0, 0.5) for name, station in drawn.items()}
        table = weigh_parts(case.parts, [case.board], layout=case.layout)
        seats = {name: Seat(station_mm=station) for name, station in drawn.items()}
        entries, _ = part_entries(table, case.parts, [case.board], seats=seats)
        mass = sum(case.part_masses.values())
        truth = sum(case.part_masses[name] * built[name] for name in built) / mass
        pairs.append((Ledger(entries).balance(), truth))
    assert_honest(pairs)


def test_a_coarse_scale_alone_gives_a_uniform_error():
    # Only the scale errs here: half a gram either way, evenly. The bound is the GUM's a / sqrt(3).
    rng = random.Random(5)
    pairs = []
    for _ in range(COUNT):
        truth = rng.uniform(20, 60)
        pairs.append((Estimate.reading(rounded(truth, 1.0), 1.0, "scale"), truth))
    scores = errors_in_sigmas(pairs)
    assert max(abs(score) for score in scores) <= math.sqrt(3) + 1e-9
    assert_honest(pairs, most_inside=1.0)


def test_dishonest_error_bars_are_found_out(weighed):
    pairs = [(board_density(case.board), case.density) for case in weighed]
    for factor in (0.5, 2.0):
        wrong = [(Estimate.measured(e.value, e.sigma * factor, "x"), truth) for e, truth in pairs]
        with pytest.raises(AssertionError):
            assert_honest(wrong)
