"""The tone that a board gives along its grain when its end is tapped, found in a recording.

A bar that is held at its middle and struck at its end sounds at odd multiples of one frequency, f, 3 f, 5 f; the even
ones have their greatest motion where the fingers are. Waves that bend the sheet ring at once with it, at frequencies
without that order, and so do a bench, a voice or a tin: what stands out at f and its odd multiples together, begins
with a blow and dies away within some hundredths of a second, in every tap alike, is the board.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage, signal

from nesting.wood.sound.recording import Recording
from nesting.wood.stiffness import TONE_SIGMA_SHARE
from vectorize.basics.errors import RecordingError

_Floats = NDArray[np.floating[Any]]

LEAST_TAPS = 3
"""Fewer that agree say too little of their spread."""
_RISE_S = 0.004
"""A blow rises to its height within this time."""
_RISE_DB = 12.0
_GAP_S = 0.12
"""Taps follow each other more slowly than this."""
_PERIODS = 40
"""So many periods of the tone hold most of what wood rings (its quality factor is about a hundred) and little of what
a room adds later."""
_WATCHED_PERIODS = 120
"""Within so many the tone must have died away."""
_NEAR = 0.012
"""How far a tap's tone may lie from that of all, relative."""
_PARTIAL_NEAR = (-0.009, 0.004)
"""Where a partial may lie, relative to its multiple: the sideways motion of a wide board lowers the higher ones."""
_ALONE_DB = 3.0
"""By so much the tone is louder than any other that the blows share where a board may sound."""
SHARP_SHARE = 0.033
"""How wide the peak of a lightly held board is at half its power: hardly more than what 40 periods resolve."""
_SHIFT_OF_WIDTH = 0.28
"""What rooms shift a wider peak by, for its width beyond that: simulated boards of quality factors 20 to 45 in a room
that rings for 0.4 s were off by 0.5 to 0.7 % of their tone as root mean square, sharp ones by 0.3 %."""
_TONE_DB = 12.0
_OTHER_DB = 8.0
"""What stands out by less than a tone still tells that another one is as loud: clipped blows in a room that rings
showed a bending mode clearly, and the tone, though louder, less so."""
_PARTIAL_DB = 6.0
_MOST_DB = 30.0
_SLOWEST_DECAY_PERIODS = 160.0
"""To a share of 1/e: a quality factor of 500, several times that of wood; voices, pipes and strings go on
for longer."""


@dataclass(frozen=True, slots=True)
class Tone:
    """The tone of a board: one frequency for each tap that showed it.

    Attributes:
        frequencies_hz: Of each tap, in the order of the recording.
        heard: How many blows there were.
        partials: Which odd multiples stood out (1 is the tone itself).
        has_clipping: Whether a blow was louder than the recorder knows.
        width_share: How wide its peak is at half its power, over its frequency: the quicker it dies away, the wider.
    """

    frequencies_hz: tuple[float, ...]
    heard: int
    partials: tuple[int, ...]
    has_clipping: bool
    width_share: float = SHARP_SHARE

    @property
    def frequency_hz(self) -> float:
        """Return the middle one of all taps."""
        return float(np.median(self.frequencies_hz))

    @property
    def sigma_hz(self) -> float:
        """Return one standard deviation of the middle one, from the spread of the taps; outliers count little.

        Source: the scaled median deviation and the efficiency of a median (Rousseeuw & Croux 1993,
        doi:10.1080/01621459.1993.10476408). The least that is claimed is what a room shifts all taps alike, up to 0.7 %
        in simulated rooms that ring for 0.3 to 0.6 s; a wide peak it shifts farther (`_SHIFT_OF_WIDTH`).
        """
        spread = float(np.median(np.abs(np.array(self.frequencies_hz) - self.frequency_hz)))
        from_taps = 1.4826 * spread * 1.2533 / np.sqrt(len(self.frequencies_hz))
        by_room = TONE_SIGMA_SHARE + _SHIFT_OF_WIDTH * max(0.0, self.width_share - SHARP_SHARE)
        return float(math.hypot(from_taps, by_room * self.frequency_hz))


def find_tone(recording: Recording, *, lowest_hz: float, highest_hz: float) -> Tone:
    """Return the tone along the grain that the taps of a recording share, sought from `lowest_hz` to `highest_hz`.

    Raises:
        RecordingError: No blows, too few of them, or no tone that they share with its odd multiples.
    """
    if lowest_hz > 0.4 * recording.rate_hz:
        raise RecordingError(
            f"a board of this length sounds above {lowest_hz:.0f} Hz, beyond what {recording.rate_hz:g} samples a "
            "second hold; record with 44100 or more."
        )
    highest_hz = min(highest_hz, 0.47 * recording.rate_hz)
    starts = blows(recording, lowest_hz)
    if len(starts) < LEAST_TAPS:
        raise RecordingError(
            f"{_counted(len(starts))} in the recording; at least {LEAST_TAPS} are needed. Tap the end of the board "
            "five times, about a second apart, in a quiet room."
        )
    ringing = _Ringing.of(recording, starts, (lowest_hz * highest_hz) ** 0.5)
    tone, partials = _shared_tone(ringing, lowest_hz, highest_hz)
    kept = [f for f in (ringing.peak(number, tone) for number in range(len(starts))) if f is not None]
    if len(kept) < max(LEAST_TAPS, 0.5 * len(starts)):
        raise RecordingError(
            f"only {len(kept)} of {len(starts)} blows sound at {tone:.0f} Hz; hold the board at its middle between "
            "two fingers, tap its end along the grain, and keep other sounds away."
        )
    return Tone(tuple(kept), len(starts), partials, bool(recording.clipped().any()), ringing.width_share(tone))


def _counted(number: int) -> str:
    return ("no blow was", "one blow was")[number] + " found" if number < 2 else f"only {number} blows were found"


def blows(recording: Recording, lowest_hz: float) -> tuple[int, ...]:
    """Return the sample at which each blow begins: where the sound rises suddenly out of what was there before."""
    above = signal.butter(4, 0.7 * lowest_hz, "highpass", fs=recording.rate_hz, output="sos")
    heard = signal.sosfilt(above, recording.samples)
    step = max(1, round(_RISE_S * recording.rate_hz / 2))
    count = len(heard) // step
    loudness = 10 * np.log10((heard[: count * step].reshape(count, step) ** 2).mean(axis=1) + 1e-12)
    before = np.asarray(ndimage.maximum_filter1d(loudness, 12, origin=5, mode="nearest"), dtype=np.float64)
    rise = loudness - np.concatenate([loudness[:1], before[:-1]])
    floor = float(np.median(loudness))
    least = max(floor + _RISE_DB, float(loudness.max(initial=-120.0)) - 30)
    gap = round(_GAP_S * recording.rate_hz / step)
    found, last = [], -gap
    for frame in map(int, np.flatnonzero((rise > _RISE_DB / 2) & (loudness > floor + _RISE_DB / 2))):
        peak = frame + int(np.argmax(loudness[frame : frame + 4]))
        if loudness[peak] >= least and loudness[peak] - before[max(frame - 1, 0)] >= _RISE_DB and frame - last >= gap:
            found.append(frame * step)
            last = frame
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Ringing:
    """What follows each blow: its power over frequency, in decibels above what lies around each frequency."""

    frequencies: _Floats
    powers: _Floats
    heights: _Floats
    pieces: tuple[_Floats, ...]
    rate_hz: float

    @classmethod
    def of(cls, recording: Recording, starts: tuple[int, ...], middle_hz: float) -> _Ringing:
        length, watched = (round(n / middle_hz * recording.rate_hz) for n in (_PERIODS, _WATCHED_PERIODS))
        pieces = []
        for start, end in zip(starts, (*starts[1:], len(recording.samples)), strict=True):
            piece = recording.samples[start : min(start + watched, end)]
            pieces.append(np.pad(piece, (0, watched - len(piece))))
        size = 1 << int(np.ceil(np.log2(8 * length)))
        fade = np.cos(np.linspace(0, np.pi / 2, length)) ** 2
        powers = np.abs(np.fft.rfft(np.array(pieces)[:, :length] * fade, size)) ** 2
        frequencies = np.fft.rfftfreq(size, 1 / recording.rate_hz)
        heights = np.array([_above_surroundings(power, frequencies) for power in powers])
        return cls(frequencies, powers, heights, tuple(pieces), recording.rate_hz)

    def width_share(self, near_hz: float) -> float:
        """Return how wide the peak near `near_hz` is at half its power, all blows together, over its frequency."""
        power = np.median(self.powers, axis=0)
        inside = np.flatnonzero(np.abs(self.frequencies / near_hz - 1) <= _NEAR)
        best = int(inside[np.argmax(power[inside])])
        below = np.flatnonzero(power < power[best] / 2)
        left, right = below[below < best].max(initial=0), below[below > best].min(initial=len(power) - 1)
        return float((right - left) * self.frequencies[1] / self.frequencies[best])

    def peak(self, number: int, near_hz: float) -> float | None:
        """Return the frequency of one blow's peak near `near_hz`, or None where it has none that rings as wood does."""
        inside = np.flatnonzero(np.abs(self.frequencies / near_hz - 1) <= _NEAR)
        best = int(inside[np.argmax(self.powers[number, inside])])
        is_top = inside[0] < best < inside[-1]
        if not is_top or self.heights[number, best] < _PARTIAL_DB or not self._dies_away(number, near_hz):
            return None
        left, middle, right = np.log(self.powers[number, best - 1 : best + 2])
        shift = 0.5 * (left - right) / (left - 2 * middle + right)
        return float(self.frequencies[best] + shift * (self.frequencies[1] - self.frequencies[0]))

    def _dies_away(self, number: int, near_hz: float) -> bool:
        """Return whether the tone of a blow falls as a struck board's does: at once and by a good deal."""
        piece = self.pieces[number]
        beat = np.exp(-2j * np.pi * near_hz / self.rate_hz * np.arange(len(piece)))
        width = max(1, round(8 * self.rate_hz / near_hz))
        envelope = np.abs(ndimage.uniform_filter1d(piece * beat, width, mode="nearest"))
        early, late = envelope[: 3 * width].max(), envelope[-2 * width : -width].mean()
        lasted = _WATCHED_PERIODS - 12
        return bool(late <= early * np.exp(-lasted / _SLOWEST_DECAY_PERIODS))


def _above_surroundings(power: _Floats, frequencies: _Floats) -> _Floats:
    """Return by how many decibels each frequency stands above the median of those within a fifth of it."""
    level = 10 * np.log10(power + 1e-20)
    # On a logarithmic axis a fifth is the same number of places everywhere.
    places = np.geomspace(frequencies[8], frequencies[-1], 1500)
    even = np.interp(places, frequencies, level)
    width = round(np.log(1.5) / np.log(places[1] / places[0]))
    return np.asarray(level - np.interp(frequencies, places, ndimage.median_filter(even, width, mode="nearest")))


def _shared_tone(ringing: _Ringing, lowest_hz: float, highest_hz: float) -> tuple[float, tuple[int, ...]]:
    """Return the frequency that stands out, with its odd multiples, in all blows together, and which of those do.

    Raises:
        RecordingError: None does.
    """
    height = np.median(ringing.heights, axis=0)
    inside = (ringing.frequencies >= lowest_hz) & (ringing.frequencies <= highest_hz)
    peaks = [int(i) for i in signal.find_peaks(np.where(inside, height, -100.0), height=_OTHER_DB)[0]]
    tops = [top for top in peaks if height[top] >= _TONE_DB]
    if not tops:
        raise RecordingError(
            f"the blows share no clear tone between {lowest_hz:.0f} and {highest_hz:.0f} Hz, where a board of this "
            "length sounds; check the length, tap the end harder with something small and hard, and keep other sounds "
            "away."
        )
    reach = 0.9 * ringing.frequencies[-1]

    def at(multiple: int, hz: float) -> float:
        low, high = (multiple * hz * (1 + share) for share in _PARTIAL_NEAR)
        near = (ringing.frequencies >= low) & (ringing.frequencies <= high)
        return min(float(height[near].max()), _MOST_DB) if multiple * hz < reach and near.any() else 0.0

    def score(top: int) -> float:
        f = float(ringing.frequencies[top])
        return float(height[top]) + at(3, f) + 0.5 * at(5, f) - 0.5 * at(2, f)

    best = max(tops, key=score)
    f = float(ringing.frequencies[best])
    partials = (1, *(n for n in (3, 5) if at(n, f) >= _PARTIAL_DB))
    # A triple beyond what the recording holds cannot be asked for.
    if 3 not in partials and 3 * f < reach:
        raise RecordingError(
            f"the blows share a tone of {f:.0f} Hz without its triple, so it is not that of a board along its grain; "
            "hold the board at its middle between two fingers and tap its end, in the direction of the grain."
        )
    loudness = np.median(ringing.powers, axis=0)
    others = (i for i in peaks if abs(ringing.frequencies[i] / f - 1) > _NEAR)
    other = max(others, key=loudness.item, default=None)
    if other is not None and loudness[other] > loudness[best] * 10 ** (-_ALONE_DB / 10):
        raise RecordingError(
            f"the blows share tones of {f:.0f} Hz and of {ringing.frequencies[other]:.0f} Hz, and which is that along "
            "the grain cannot be told; hold the board at its very middle and tap its end straight along the grain."
        )
    return f, partials
