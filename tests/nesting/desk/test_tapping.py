"""A recording of taps dropped at a board gives the figures of `sheetwood tap`, and the rack keeps the tone."""

import io
import json

import numpy as np
import pytest
from scipy.io import wavfile
from typer.testing import CliRunner

from fixtures.struck_board import RATE_HZ, struck_board
from nesting.cli.app import app
from tests.nesting.desk.conftest import ORIGIN

# B1 of the rack: 10 g of 300 x 100 x 3 mm.
DENSITY = 10.0 / 90_000 * 1e6
MODULUS = 20e6 * DENSITY


def recording(sound):
    file = io.BytesIO()
    wavfile.write(file, RATE_HZ, (32000 * np.clip(sound, -1, 1)).astype(np.int16))
    return file.getvalue()


@pytest.fixture(scope="module")
def taps():
    draw = np.random.default_rng(3)
    return recording(struck_board(draw, length_m=0.3, density_kg_m3=DENSITY, modulus_pa=MODULUS, thickness_m=0.003))


def dropped(desk, data, board="B1"):
    return desk.client.post(f"/api/1/tap?board={board}&name=B1.wav", content=data, headers=ORIGIN)


def test_the_desk_tells_what_the_command_tells_and_keeps_the_tone(desk, taps, tmp_path):
    answer = dropped(desk, taps)
    assert answer.status_code == 200, answer.text
    shown = answer.json()
    (tmp_path / "B1.wav").write_bytes(taps)
    asked = ["tap", str(tmp_path / "B1.wav"), "--length", "300 mm", "--density", f"{DENSITY} kg/m3", "--json"]
    told = json.loads(CliRunner().invoke(app, asked).stdout)
    assert {key: shown[key] for key in ("frequency_hz", "modulus_gpa", "taps")} == {
        key: told[key] for key in ("frequency_hz", "modulus_gpa", "taps")
    }
    assert shown["modulus_gpa"] == pytest.approx(MODULUS / 1e9, rel=0.02)
    kept = desk.edit(kind="set-board", board="B1", field="tone", value=f"{shown['frequency_hz']:.0f} Hz")
    assert kept.status_code == 200, kept.text
    head, row = (desk.folder / "rack.csv").read_text(encoding="utf-8").splitlines()[:2]
    assert head.split(",")[-1] == "tone"
    assert row.split(",")[-1] == f"{shown['frequency_hz']:.0f} Hz"
    assert not [path for path in (desk.folder / ".desk").iterdir() if path.name.startswith("upload")]


def test_what_is_no_tapped_board_is_refused_by_its_name(desk, taps):
    for data, board, said in (
        (taps, "B9", "there is no board 'B9'"),
        (b"no sound", "B1", "B1.wav"),
        (recording(0.2 * np.random.default_rng(1).normal(size=3 * RATE_HZ)), "B1", "blow"),
    ):
        answer = dropped(desk, data, board)
        assert 400 <= answer.status_code < 500
        assert said in answer.json()["error"]["text"]
