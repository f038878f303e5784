"""`tap` reads a recording, tells E in words and as JSON, and refuses what is no recording of taps."""

import json

import numpy as np
import pytest
from scipy.io import wavfile

from fixtures.struck_board import RATE_HZ, first_tone_hz, struck_board

SIZES = ("--length", "1 m", "--density", "150 kg/m3")


@pytest.fixture(scope="module")
def sound():
    return struck_board(np.random.default_rng(11))


@pytest.mark.parametrize("kind", [np.int16, np.int32, np.uint8, np.float32, "stereo"])
def test_taps_in_every_kind_of_wav_give_the_modulus(sheetwood, tmp_path, sound, kind):
    if kind == "stereo":
        data = np.stack([0.1 * sound, sound], axis=1).astype(np.float32)
    elif np.issubdtype(kind, np.floating):
        data = sound.astype(kind)
    else:
        top = np.iinfo(kind).max
        data = (sound * top if kind != np.uint8 else 127.5 + 127 * sound).astype(kind)
    wavfile.write(tmp_path / "taps.wav", RATE_HZ, data)
    done = sheetwood("tap", str(tmp_path / "taps.wav"), *SIZES, "--json")
    assert done.code == 0, done.err
    answer = json.loads(done.out)
    assert set(answer) == {"frequency_hz", "modulus_gpa", "sigma_gpa", "taps", "notes"}
    assert answer["modulus_gpa"] == pytest.approx(3.4, rel=0.02)
    assert answer["frequency_hz"] == pytest.approx(first_tone_hz(1.0, 150.0, 3.4e9), rel=0.01)
    assert 0.01 < answer["sigma_gpa"] / answer["modulus_gpa"] < 0.03
    assert answer["taps"] == 5


def test_a_stated_doubt_of_the_density_counts(sheetwood, tmp_path, sound):
    wavfile.write(tmp_path / "taps.wav", RATE_HZ, sound)
    done = sheetwood("tap", str(tmp_path / "taps.wav"), *SIZES, "--density-sigma", "15 kg/m3", "--json")
    answer = json.loads(done.out)
    assert answer["sigma_gpa"] / answer["modulus_gpa"] == pytest.approx(0.1, rel=0.05)


def test_words_say_tone_modulus_taps_and_caution(sheetwood, tmp_path, sound):
    wavfile.write(tmp_path / "taps.wav", RATE_HZ, sound)
    done = sheetwood("tap", str(tmp_path / "taps.wav"), *SIZES)
    assert done.code == 0
    assert "GPa" in done.out
    assert "5 of 5" in done.out
    assert "never an approval to fly" in done.err
    assert "dynamic modulus" in done.err


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "no WAV recording"),
        (b"RIFF\x10\0\0\0WAVEfmt ", "WAV recording"),
        (b"\x89PNG\r\n\x1a\n" + bytes(200), "no WAV recording"),
        (b"tap tap tap", "no WAV recording"),
    ],
)
def test_what_is_no_recording_is_told_in_one_sentence(sheetwood, tmp_path, content, said):
    (tmp_path / "taps.wav").write_bytes(content)
    done = sheetwood("tap", str(tmp_path / "taps.wav"), *SIZES)
    assert done.code == 3
    assert said in " ".join(done.err.split())
    assert "Traceback" not in done.err


def test_a_missing_recording_is_told(sheetwood, tmp_path):
    done = sheetwood("tap", str(tmp_path / "none.wav"), *SIZES)
    assert done.code == 3
    assert "none.wav cannot be read" in " ".join(done.err.split())


@pytest.mark.parametrize("cut", [20, 44, 45, 200, 5000])
def test_a_recording_that_ends_early_is_refused(sheetwood, tmp_path, sound, cut):
    wavfile.write(tmp_path / "whole.wav", RATE_HZ, (sound * 32000).astype(np.int16))
    (tmp_path / "taps.wav").write_bytes((tmp_path / "whole.wav").read_bytes()[:cut])
    done = sheetwood("tap", str(tmp_path / "taps.wav"), *SIZES)
    assert done.code == 3
    assert "Traceback" not in done.err


@pytest.mark.parametrize(
    "sound",
    [np.zeros(RATE_HZ, np.int16), np.full(RATE_HZ, np.nan, np.float32), np.zeros(0, np.int16)],
    ids=["silent", "no numbers", "empty"],
)
def test_a_recording_without_sound_is_refused(sheetwood, tmp_path, sound):
    wavfile.write(tmp_path / "taps.wav", RATE_HZ, sound)
    assert sheetwood("tap", str(tmp_path / "taps.wav"), *SIZES).code == 3


def test_sizes_need_units_and_sense(sheetwood, tmp_path, sound):
    wavfile.write(tmp_path / "taps.wav", RATE_HZ, sound)
    place = str(tmp_path / "taps.wav")
    assert sheetwood("tap", place, "--length", "1", "--density", "150 kg/m3").code == 3
    assert sheetwood("tap", place, "--length", "1 mm", "--density", "150 kg/m3").code == 2
