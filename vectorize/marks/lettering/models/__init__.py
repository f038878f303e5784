"""The text models, loaded from the files in this folder; SOURCE.md says where they come from."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import cv2
import numpy as np


def detector() -> Any:  # noqa: ANN401  OpenCV's networks have no type
    """Return the network that finds lettering: (1, 3, rows, columns) to a probability for each pixel."""
    return _network("detection.onnx")


def recogniser() -> Any:  # noqa: ANN401
    """Return the network that reads lines of 48 rows: (lines, 3, 48, columns) to (lines, steps, characters)."""
    return _network("recognition.onnx")


def characters() -> tuple[str, ...]:
    """Return what each output of the recogniser means: '' for none, then the list, then the space."""
    listed = (files(__package__) / "characters.txt").read_text("utf-8").split("\n")[:-1]
    return ("", *listed, " ")


def _network(name: str) -> Any:  # noqa: ANN401
    return cv2.dnn.readNetFromONNX(np.frombuffer((files(__package__) / name).read_bytes(), np.uint8))
