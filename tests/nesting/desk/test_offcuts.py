"""A photographed offcut comes into the rack as one step, and nothing else that is sent does."""

import io
import struct
import zlib
from urllib.parse import urlencode

import pytest
from PIL import Image

from nesting.desk.guard import LARGEST_UPLOAD_BYTES
from nesting.job.folder import open_job
from nesting.job.rack import read_rack
from tests.nesting.desk.conftest import ORIGIN
from tests.vectorize.test_leftover import AREA_SHARE, BOARD, photo

SAID = {"name": "left.png", "board": "L1", "material": "balsa", "thickness": "3 mm", "sheet": "A4", "mass": "6.5 g"}


@pytest.fixture(scope="module")
def picture():
    file = io.BytesIO()
    Image.fromarray(photo().grey).save(file, "PNG")
    return file.getvalue()


def _sent(desk, content, **changes):
    return desk.client.post(f"/api/1/offcuts?{urlencode(SAID | changes)}", content=content, headers=ORIGIN)


def _files(folder):
    """Return what a builder would miss of a job, by name."""
    paths = (path for path in folder.rglob("*") if path.is_file())
    return {str(p.relative_to(folder)): p.read_bytes() for p in paths if not {".desk", ".lock"} & set(p.parts)}


def _text(answer):
    assert "Traceback" not in answer.text
    return answer.json()["error"]["text"]


def test_a_photo_becomes_a_board_with_its_outline_and_undo_takes_it_away(desk, picture):
    before = _files(desk.folder)

    answer = _sent(desk, picture)

    assert answer.status_code == 200
    assert answer.json()["area_mm2"] == pytest.approx(BOARD.area_mm2, rel=AREA_SHARE)
    boards = {board.name: board for board in read_rack(open_job(desk.folder))}
    assert list(boards) == ["B1", "B2", "L1"]
    board = boards["L1"]
    assert board.outline.area_mm2 == pytest.approx(BOARD.area_mm2, rel=AREA_SHARE)
    assert (board.material, board.thickness_mm, board.mass_g) == ("balsa", 3.0, 6.5)
    after = _files(desk.folder)
    assert set(after) - set(before) == {"rack/L1.json"}  # the picture itself is not kept
    assert not list((desk.folder / ".desk").glob("upload-*"))

    assert desk.post("undo").json()["title"] == "add the offcut L1"
    assert _files(desk.folder) == before
    assert desk.post("redo").status_code == 200
    assert _files(desk.folder) == after

    # What is there already is not replaced, and a name never becomes a path.
    assert "already" in _text(_sent(desk, picture, board="l1"))
    assert _files(desk.folder) == after
    assert _sent(desk, picture, board="../../L2", name="../../x.png", grain="400,700,1500,690").status_code == 200
    assert [entry.name for entry in desk.folder.parent.iterdir()] == ["job"]
    assert {path.parent.name for path in desk.folder.rglob("*L2*")} == {"rack"}
    assert read_rack(open_job(desk.folder))[-1].outline is not None


def test_what_is_not_a_photo_of_a_board_is_refused_with_a_sentence(desk):
    before = _files(desk.folder)
    header = struct.pack(">4s2I5B", b"IHDR", 40_000, 20_000, 8, 0, 0, 0, 0)
    vast = b"\x89PNG\r\n\x1a\n\0\0\0\r" + header + struct.pack(">I", zlib.crc32(header))

    assert "left.png is not a plan" in _text(_sent(desk, b"not a picture"))
    assert "million; the limit is" in _text(_sent(desk, vast + struct.pack(">I4s", 10, b"IDAT") + bytes(14)))
    assert "thickness" in _text(_sent(desk, b"x", thickness="thin"))
    assert "sheet" in _text(_sent(desk, b"x", sheet="a barn door"))
    assert "grain" in _text(_sent(desk, b"x", grain="along"))
    assert _sent(desk, b"x", board=" ").status_code == 400
    assert _sent(desk, b"x", colour="red").status_code == 400
    assert _sent(desk, b"").status_code == 400

    assert _files(desk.folder) == before
    assert not list((desk.folder / ".desk").glob("upload-*"))
    assert desk.state()["undo"] is None


def test_a_photo_that_says_it_is_too_large_is_refused_unread(desk):
    headers = ORIGIN | {"content-length": str(LARGEST_UPLOAD_BYTES + 1)}
    answer = desk.client.post(f"/api/1/offcuts?{urlencode(SAID)}", content=b"x", headers=headers)
    assert answer.status_code == 413
