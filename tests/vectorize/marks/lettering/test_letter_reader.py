"""What lettering says, and which way up."""

import hashlib
import re
from importlib.resources import files

import cv2
import numpy as np
import pytest

from tests.vectorize.marks.lettering.lettered_pages import PX_PER_MM, Word, lined_page, page
from vectorize.marks.lettering import find_lettering, models, read_lettering

WORDS = (
    Word("RUDDER", (20, 20)),
    Word("3 mm ply", (90, 20)),
    Word("SHEET BALSA", (30, 60)),
    Word("R7", (110, 75), 6.0),
)
TEXTS = {"RUDDER", "3 mm ply", "SHEET BALSA", "R7"}
TURN_TOL_DEG = 3.0  # a mark beside a word makes its box lean


def sure_texts(grey):
    return [text for text in read_lettering(grey, px_per_mm=PX_PER_MM) if text.sure > 0.5]


def test_printed_words_on_a_drawn_part_are_read_as_they_were_set():
    grey, _ = lined_page(WORDS)
    assert {text.text for text in sure_texts(grey)} >= TEXTS


@pytest.mark.parametrize(
    ("turn", "turn_deg"),
    [(None, 0), (cv2.ROTATE_90_COUNTERCLOCKWISE, 90), (cv2.ROTATE_180, 180), (cv2.ROTATE_90_CLOCKWISE, -90)],
)
def test_a_sheet_on_its_side_or_head_is_read_and_says_so(turn, turn_deg):
    grey, _ = page(WORDS)
    read = sure_texts(grey if turn is None else np.asarray(cv2.rotate(grey, turn)))
    assert {text.text for text in read} == TEXTS
    for text in read:
        assert abs((text.turn_deg - turn_deg + 180) % 360 - 180) < TURN_TOL_DEG
        first, second = np.array(text.box_px[0]), np.array(text.box_px[1])
        along = (second - first) / np.linalg.norm(second - first)
        angle = np.radians(turn_deg)
        assert along == pytest.approx([np.cos(angle), -np.sin(angle)], abs=0.06)


def test_light_lettering_on_a_dark_sheet_is_read():
    grey, _ = page(WORDS)
    assert {text.text for text in sure_texts(np.where(grey < 128, 235, 60).astype(np.uint8))} == TEXTS


def test_readings_are_ordered_and_the_first_is_the_text():
    grey, _ = lined_page(WORDS)
    for text in read_lettering(grey, px_per_mm=PX_PER_MM):
        shares = [reading.sure for reading in text.readings]
        assert shares == sorted(shares, reverse=True)
        assert (text.text, text.sure) == (text.readings[0].text, text.readings[0].sure)
        assert all(0 < share <= 1 for share in shares)


def test_the_same_page_reads_the_same_and_boxes_found_before_serve_as_well():
    grey, _ = lined_page(WORDS)
    boxes = find_lettering(grey, px_per_mm=PX_PER_MM)
    assert read_lettering(grey, px_per_mm=PX_PER_MM) == read_lettering(grey, boxes=boxes)


def test_no_boxes_no_texts():
    assert read_lettering(np.full((300, 400), 250, np.uint8)) == ()
    assert read_lettering(np.zeros((0, 0), np.uint8)) == ()


@pytest.mark.parametrize("kind", ["noise", "blobs", "hatching", "black", "one letter as large as the page"])
def test_what_is_no_plan_is_read_or_left_without_a_fault(kind):
    random = np.random.default_rng(3)
    grey = random.integers(0, 256, (400, 500), np.uint8)
    if kind == "blobs":
        grey = np.asarray(cv2.GaussianBlur(grey, (0, 0), 9), np.uint8)
        grey = np.asarray(cv2.normalize(grey, None, 0, 255, cv2.NORM_MINMAX), np.uint8)
    elif kind == "hatching":
        grey = np.where((np.add.outer(np.arange(400), np.arange(500)) % 14) < 3, 0, 255).astype(np.uint8)
    elif kind == "black":
        grey = np.zeros((400, 500), np.uint8)
    elif kind != "noise":
        grey, _ = page((Word("R", (10, -20), 110.0),))
    for text in read_lettering(grey):
        assert any(map(str.isalnum, text.text))
        assert text.text.isprintable()


@pytest.mark.slow
def test_a_page_of_ten_thousand_letters_is_read():
    prose = "the quick brown fox jumps over a lazy dog and goes on "
    words = [Word((prose * 3)[k % 50 :][:100], (10, 8 + 4.2 * k), 3.0) for k in range(100)]
    grey, _ = page(words, size_mm=(220.0, 440.0))
    texts = sure_texts(grey)
    assert sum("quick brown fox" in text.text for text in texts) > 80


def test_the_models_are_those_whose_source_is_told():
    told = dict(re.findall(r"\| `(\S+)` \| ([0-9a-f]{64}) \|", (files(models) / "SOURCE.md").read_text("utf-8")))
    assert set(told) == {"detection.onnx", "recognition.onnx", "characters.txt"}
    for name, digest in told.items():
        assert hashlib.sha256((files(models) / name).read_bytes()).hexdigest() == digest


def test_every_output_of_the_recogniser_has_a_character():
    network = models.recogniser()
    network.setInput(np.zeros((1, 3, 48, 64), np.float32))
    assert network.forward().shape[2] == len(models.characters())
