"""Colour to grey through the channels in which ink stands out from paper."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image

# Rec. 601 luma: what JPEG keeps at full resolution.
_LUMA = np.array([0.299, 0.587, 0.114])
_SAMPLE_PIXELS = 1_000_000
_INK_SHARE = 0.02


def channel_weights(sample: NDArray[np.uint8]) -> tuple[float, float, float]:
    """Return weights of red, green and blue, summing to 1, for the best contrast of ink against paper.

    Paper is the median colour; ink the fiftieth of all pixels that differ from it most. Weights are the
    luma weights times the squared contrast of each channel, so that grey ink gives plain luma and cyan
    ink nearly the red channel.

    Args:
        sample: (N, 3) pixels, red, green, blue.
    """
    colours = sample.astype(np.float64)
    paper = np.median(colours, axis=0)
    away = np.abs(colours - paper)
    distance = away.sum(axis=1)
    ink = away[distance >= np.quantile(distance, 1 - _INK_SHARE)]
    contrast = ink.mean(axis=0)
    if float(contrast.max()) < 1.0:
        contrast = np.ones(3)
    weights = _LUMA * contrast**2
    red, green, blue = (float(w) for w in weights / weights.sum())
    return red, green, blue


def to_grey(picture: Image.Image) -> tuple[Image.Image, tuple[float, float, float]]:
    """Return an RGB picture as 8-bit grey, and the weights of the channels used."""
    step = max(1, int((picture.width * picture.height / _SAMPLE_PIXELS) ** 0.5))
    # Nearest sampling keeps the colours of thin lines; an average would wash them out.
    size = (max(1, picture.width // step), max(1, picture.height // step))
    sample = np.asarray(picture.resize(size, Image.Resampling.NEAREST)).reshape(-1, 3)
    weights = channel_weights(sample)
    return picture.convert("L", matrix=(*weights, 0.0)), weights
