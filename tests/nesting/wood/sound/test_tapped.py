"""E of a tapped board against simulated boards, against a rod's formula, and its doubt against errors made up."""

import numpy as np
import pytest

from fixtures.struck_board import OTHERS, RATE_HZ, first_tone_hz, struck_board
from nesting.wood.estimate import Estimate
from nesting.wood.sound.recording import Recording
from nesting.wood.sound.tapped import tapped_modulus
from nesting.wood.stiffness import modulus_from_tone_mpa
from tests.benchmarks.tapped_boards import measured_figures, told
from vectorize.basics.errors import CallError, RecordingError

DENSITY = Estimate.measured(150.0, 1.5, "density")


def tapped(sound, *, length_mm=1000.0, density=DENSITY, rate_hz=RATE_HZ):
    return tapped_modulus(Recording(sound, rate_hz), length_mm=length_mm, density_kg_m3=density)


def test_a_steel_rod_of_one_metre_sounds_where_physics_says():
    # Speed of sound in a thin steel rod, 5,000 to 5,200 m/s: common value of tables, from memory.
    modulus = modulus_from_tone_mpa(Estimate(2550.0), Estimate(1000.0), Estimate(7850.0))
    assert modulus.value == pytest.approx(204_200, rel=0.001)
    assert np.sqrt(modulus.value * 1e6 / 7850) == pytest.approx(5100.0)


def test_doubt_counts_tone_and_length_twice_and_density_once():
    modulus = modulus_from_tone_mpa(
        Estimate.measured(2200.0, 22.0, "tone"), Estimate.measured(1000.0, 10.0, "length"), DENSITY
    )
    assert modulus.relative_sigma == pytest.approx(np.sqrt(0.02**2 + 0.02**2 + 0.01**2))


@pytest.mark.parametrize(
    "kind",
    [
        {},
        {"is_clipped": True},
        {"room_s": 0.3},
        {"room_s": 0.6},
        {"bending": 2.0},
        {"quality": (30, 45)},
        {"hold": 0.6},
        {"rate_hz": 22050},
        {"length_m": 0.92, "density_kg_m3": 680.0, "modulus_pa": 9e9, "thickness_m": 0.0015},
    ],
    ids=str,
)
def test_struck_boards_are_told_within_two_percent_or_refused(kind):
    """Twenty decibels between sound and noise, as a quiet room gives; most recordings must be of use."""
    told = 0
    for seed in range(6):
        rng = np.random.default_rng([seed, 77])
        density = rng.uniform(90, 220)
        board = {"density_kg_m3": density, "modulus_pa": density * rng.uniform(14e6, 30e6)} | kind
        sound = struck_board(rng, **board)
        try:
            found = tapped(
                sound,
                length_mm=1000 * board.get("length_m", 1.0),
                density=Estimate(board["density_kg_m3"]),
                rate_hz=board.get("rate_hz", RATE_HZ),
            )
        except RecordingError:
            continue
        told += 1
        assert found.modulus_mpa.value * 1e6 == pytest.approx(board["modulus_pa"], rel=0.02)
    assert told >= 5


def test_nearly_all_moduli_lie_within_two_sigma():
    """Boards that are wedges, misread callipers, rules and scales that round: of 1,000 it is 95.8 %.

    Twenty-four boards, not drawn before: three outside may be chance.
    """
    count, inside, rms = measured_figures(57_721, 24)
    assert count >= 22
    assert inside >= 0.85
    assert 0.7 <= rms <= 1.3


@pytest.mark.parametrize("other", OTHERS)
@pytest.mark.parametrize("seed", range(4))
def test_other_sounds_are_refused(other, seed):
    with pytest.raises(RecordingError):
        tapped(other(np.random.default_rng(seed)))


def test_a_bending_mode_that_stands_out_beside_the_tone_is_not_taken_for_it():
    """Clipped blows in a room that rings: E came out 45 % low in this one and 4 % low in the other."""
    clipped = {"room_s": 0.5, "is_clipped": True, "bending": 2.0}
    damped = {"quality": (20, 35), "hold": 0.4, "room_s": 0.4}
    for kind, number in ((clipped, 31), (damped, 4)):
        assert told(kind, 4711, number) is None


def test_a_tone_that_a_hand_damps_is_told_less_surely():
    """Rooms shift the wide peak of a damped board: at least 90 % within two sigma, by seeds nothing was chosen on."""
    found = [one for n in range(20) if (one := told({"quality": (30, 45), "room_s": 0.4}, 20_261, n)) is not None]
    assert len(found) >= 15
    assert sum(abs(off) <= 2 * one.modulus_mpa.relative_sigma for one, off in found) >= 0.9 * len(found)
    assert any("tone-damped" in [note.code for note in one.notes] for one, _ in found)
    sharp, _ = told({}, 20_261, 0)
    assert sharp.modulus_mpa.relative_sigma < 0.008 < max(one.modulus_mpa.relative_sigma for one, _ in found)


def test_one_tap_is_too_few():
    with pytest.raises(RecordingError, match="at least 3"):
        tapped(struck_board(np.random.default_rng(1), taps=1))


def test_a_tone_whose_triple_is_beyond_the_recording_is_left_open():
    sound = struck_board(np.random.default_rng(3), length_m=0.3, rate_hz=22050)
    found = tapped(sound, length_mm=300.0, rate_hz=22050.0)
    assert found.tone.frequency_hz == pytest.approx(first_tone_hz(0.3, 150.0, 3.4e9), rel=0.005)
    assert [note.code for note in found.notes if note.state == "open"] == ["tone-unchecked"]


def test_a_wrong_length_does_not_pass_for_another_wood():
    """The tone of a board of one metre cannot be that of one four times as long."""
    with pytest.raises(RecordingError):
        tapped(struck_board(np.random.default_rng(5)), length_mm=4000.0)


@pytest.mark.parametrize(("length_mm", "density"), [(50.0, 150.0), (1e9, 150.0), (1000.0, 3.0), (1000.0, 8000.0)])
def test_sizes_that_no_sheet_has_are_refused(length_mm, density):
    with pytest.raises(CallError, match="the board's"):
        tapped(np.zeros(RATE_HZ), length_mm=length_mm, density=Estimate(density))
