"""The sound of a struck bar, made from its modes, for the tests of tapping: it shares nothing with what is tested.

A bar held at its middle and struck at its end: odd longitudinal modes, even ones as far as the hold is off the middle,
bending modes of the sheet as a free beam, each dying away by its own loss; a contact that lasts; a room that adds a
decaying tail of noise; a recorder that cuts off; white noise at a stated distance below the loudest of the sound.
"""

import numpy as np
from scipy.signal import fftconvolve

RATE_HZ = 44100
# Roots of cosh x cos x = 1 for a beam with free ends; from the third on as good as (2 n + 1) pi / 2.
BEAM_ROOTS = np.array([4.7300, 7.8532, *((2 * n + 1) * np.pi / 2 for n in range(3, 80))])


def first_tone_hz(length_m, density_kg_m3, modulus_pa):
    return np.sqrt(modulus_pa / density_kg_m3) / (2 * length_m)


def struck_board(
    rng, *, length_m=1.0, density_kg_m3=150.0, modulus_pa=3.4e9, thickness_m=0.003, taps=5, rate_hz=RATE_HZ,
    noise_db=-20.0, is_clipped=False, room_s=0.0, bending=1.0, quality=(50, 130), hold=0.15,
):  # fmt: skip
    """Return (n,) samples of a board tapped `taps` times."""
    first = first_tone_hz(length_m, density_kg_m3, modulus_pa)
    radius = thickness_m / np.sqrt(12)
    bends = BEAM_ROOTS**2 / (2 * np.pi * length_m**2) * radius * np.sqrt(modulus_pa / density_kg_m3)
    sound = np.zeros(int(rate_hz * (0.6 + 0.7 * taps)))
    loss = rng.uniform(*quality)
    for number in range(taps):
        start = int(rate_hz * (0.3 + 0.7 * number + rng.uniform(-0.1, 0.1)))
        time = np.arange(min(len(sound) - start, rate_hz // 4)) / rate_hz
        height, contact = rng.uniform(0.4, 1.0), rng.uniform(5e-5, 2e-4)
        tap = np.zeros(len(time))
        for mode in range(1, 14):
            # Sideways motion lowers the higher modes a little.
            f = first * mode * (1 - 2e-4 * mode * mode)
            share = 1.0 if mode % 2 else rng.uniform(0, hold)
            tap += share / mode * _ringing(f, time, loss, contact, rng) * (f < 0.48 * rate_hz)
        for f in bends[bends < 0.45 * rate_hz]:
            tap += 0.15 * bending * rng.normal() * _ringing(f, time, rng.uniform(20, 60), 2 * contact, rng)
        sound[start : start + len(time)] += height * tap
    if room_s:
        tail = rng.normal(size=int(room_s * rate_hz)) * np.exp(-6.9 * np.linspace(0, 1, int(room_s * rate_hz)))
        tail *= 0.6 / np.linalg.norm(tail)
        tail[0] = 1
        sound = fftconvolve(sound, tail)[: len(sound)]
    loud = np.sqrt(np.mean(np.sort(sound**2)[-int(0.03 * rate_hz * taps) :]))
    sound += rng.normal(size=len(sound)) * loud * 10 ** (noise_db / 20)
    sound /= 1.05 * np.abs(sound).max()
    return np.clip(3 * sound, -0.98, 0.98) if is_clipped else sound


def _ringing(f, time, loss, contact, rng):
    softness = rng.uniform(0.5, 1.3) * np.exp(-((f * contact) ** 2))
    return softness * np.exp(-np.pi * f * time / loss) * np.sin(2 * np.pi * f * time + rng.uniform(0, 0.5))


def noise(rng):
    return 0.2 * rng.normal(size=3 * RATE_HZ)


def blows_of(rng, sound_of, *, number=5):
    quiet = 0.003 * rng.normal(size=4 * RATE_HZ)
    for index in range(number):
        sound = sound_of(index)
        start = int(RATE_HZ * (0.4 + 0.7 * index))
        quiet[start : start + len(sound)] += sound
    return quiet / np.abs(quiet).max()


def claps(rng):
    time = np.arange(RATE_HZ // 10) / RATE_HZ
    return blows_of(rng, lambda index: rng.normal(size=len(time)) * np.exp(-time / 0.006))


def whistles(rng):
    time = np.arange(RATE_HZ // 3) / RATE_HZ
    return blows_of(rng, lambda index: np.sin(2 * np.pi * 1910 * time))


def plucked_string(rng):
    time, f = np.arange(RATE_HZ // 2) / RATE_HZ, rng.uniform(1100, 2000)
    partials = sum(np.sin(2 * np.pi * n * f * time) / n for n in range(1, 8))
    return blows_of(rng, lambda index: partials * np.exp(-time / 0.25))


def square_wave(rng):
    """The tone and its odd multiples, exactly, as an electric buzzer has them: nothing dies away."""
    time, f = np.arange(RATE_HZ // 8) / RATE_HZ, rng.uniform(1100, 3000)
    return blows_of(rng, lambda index: np.sign(np.sin(2 * np.pi * f * time)))


def knocked_bench(rng):
    time, modes = np.arange(RATE_HZ // 4) / RATE_HZ, rng.uniform(100, 9000, 25)
    loss = rng.uniform(10, 40, 25)

    def knock(index):
        each = (
            np.exp(-np.pi * f * time / q - f / 4000) * np.sin(2 * np.pi * f * time)
            for f, q in zip(modes, loss, strict=True)
        )
        return sum(each)

    return blows_of(rng, knock)


OTHERS = (noise, claps, whistles, plucked_string, square_wave, knocked_bench)
"""Sounds that are no tapped board."""
