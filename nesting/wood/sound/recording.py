"""A sound recording as numbers."""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.io import wavfile

from vectorize.basics.errors import RecordingError
from vectorize.basics.plain_file import read_plain
from vectorize.basics.wording import shown

SHORTEST_S, LONGEST_S = 0.5, 120.0
LEAST_RATE_HZ = 8000.0
LARGEST_BYTES = 200_000_000
_FULL_SCALE = 0.999
_CLIPPED_RUN = 3
"""So many samples in a row at the same greatest value were cut off, not reached."""


@dataclass(frozen=True, slots=True)
class Recording:
    """One channel of sound.

    Attributes:
        samples: (n,) pressure, from -1 to 1.
        rate_hz: Samples a second.
    """

    samples: NDArray[np.float64]
    rate_hz: float

    @property
    def duration_s(self) -> float:
        """Return how long it lasts."""
        return len(self.samples) / self.rate_hz

    def clipped(self) -> NDArray[np.bool_]:
        """Return (n,) which samples the recorder cut off: runs at the greatest value it knows."""
        size = np.abs(self.samples)
        top = float(size.max(initial=0.0))
        if top < 0.1:
            return np.zeros(len(size), dtype=bool)
        at_top = size >= _FULL_SCALE * top
        runs = np.convolve(at_top, np.ones(_CLIPPED_RUN), mode="same") >= _CLIPPED_RUN
        return np.convolve(runs, np.ones(_CLIPPED_RUN), mode="same") > 0


def read_recording(path: Path) -> Recording:
    """Return the louder channel of a WAV file (PCM or floating point).

    Raises:
        RecordingError: The file is missing, no WAV, empty, silent, too long or too coarse in time.
    """
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise RecordingError(
                f"{path.name} is larger than {LARGEST_BYTES // 1_000_000} MB; keep the part with the taps."
            )
        data = read_plain(path)
    except OSError as error:
        raise RecordingError(f"{path.name} cannot be read: {error.strerror or error}.") from error
    rate, samples = _decoded(data, path.name)
    if samples.size == 0:
        raise RecordingError(f"{path.name} holds no sound; record a few taps and save them as WAV.")
    channels = _as_floats(samples).reshape(len(samples), -1)
    if not np.isfinite(channels).all():
        raise RecordingError(f"{path.name} holds values that are no numbers; save the recording as WAV anew.")
    loudest = channels[:, int(np.argmax((channels**2).sum(axis=0)))]
    recording = Recording(loudest - loudest.mean(), float(rate))
    _check(recording, path.name)
    return recording


def _decoded(data: bytes, name: str) -> tuple[int, NDArray[np.generic]]:
    try:
        with warnings.catch_warnings():
            # Blocks that it does not know (a title, a date) say nothing about the sound.
            warnings.simplefilter("ignore", wavfile.WavFileWarning)
            rate, samples = wavfile.read(io.BytesIO(data))
    except (ValueError, EOFError, OverflowError, ZeroDivisionError, MemoryError, OSError) as error:
        raise RecordingError(
            f"{name} is no WAV recording that can be read ({shown(str(error))}); save the sound as an uncompressed "
            "WAV file."
        ) from error
    except Exception as error:  # the reader lets errors of struct and numpy through
        raise RecordingError(f"{name} is a damaged WAV recording; save the sound as a WAV file anew.") from error
    return int(rate), np.asarray(samples)


def _as_floats(samples: NDArray[np.generic]) -> NDArray[np.float64]:
    if np.issubdtype(samples.dtype, np.floating):
        return samples.astype(np.float64)
    limits = np.iinfo(samples.dtype)  # type: ignore[type-var]
    middle = (limits.max + 1) / 2 if limits.min == 0 else 0.0
    return np.asarray((samples.astype(np.float64) - middle) / (float(limits.max) + 1 - middle))


def _check(recording: Recording, name: str) -> None:
    if not recording.rate_hz >= LEAST_RATE_HZ:
        raise RecordingError(
            f"{name} has {recording.rate_hz:g} samples a second; at least {LEAST_RATE_HZ:g} are needed, 44100 do well."
        )
    if recording.duration_s < SHORTEST_S:
        raise RecordingError(f"{name} lasts only {recording.duration_s:.2f} s; record five taps, about a second apart.")
    if recording.duration_s > LONGEST_S:
        raise RecordingError(
            f"{name} lasts {recording.duration_s:.0f} s; keep the part with the taps, up to {LONGEST_S:.0f} s."
        )
    if float(np.abs(recording.samples).max(initial=0.0)) < 1e-5:
        raise RecordingError(f"{name} is silent; check the microphone, and record the taps again.")
