"""A photographed offcut is shown, then kept as one step or put away; nothing else that is sent comes into a job."""

import io
import struct
import zlib
from urllib.parse import urlencode

import cv2
import numpy as np
import pytest
from PIL import Image
from shapely.geometry import Polygon

from nesting.desk.guard import LARGEST_UPLOAD_BYTES
from nesting.job.folder import open_job
from nesting.job.rack_files import read_rack
from tests.nesting.desk.conftest import ORIGIN
from tests.nesting.desk.jobs import files_of
from tests.vectorize.trace.test_leftover import AREA_SHARE, BOARD, photo

SAID = {"name": "left.png", "sheet": "A4"}
KEPT = {"board": "L1", "material": "balsa", "thickness": "3 mm", "mass": "6.5 g"}
CORNERS = ((210, 180), (1750, 120), (1820, 1330), (130, 1240))
"""Where the picture is drawn to show the sheet's corners."""
CORNER_TOL_PX = 2.0  # a blur of a pixel, and the half pixel between an edge and the middle of its pixels


@pytest.fixture(scope="module")
def picture():
    file = io.BytesIO()
    Image.fromarray(photo().grey).save(file, "PNG")
    return file.getvalue()


def _looked(desk, content, **changes):
    return desk.client.post(f"/api/1/offcuts?{urlencode(SAID | changes)}", content=content, headers=ORIGIN)


def _listed(corners):
    return ",".join(f"{value}" for corner in corners for value in corner)


def _text(answer):
    assert "Traceback" not in answer.text
    assert answer.status_code in (400, 422)
    return answer.json()["error"]["text"]


def test_a_board_is_shown_then_kept_with_its_outline_and_undo_takes_it_away(desk, picture):
    before = files_of(desk.folder)

    answer = _looked(desk, picture)

    assert answer.status_code == 200
    found = answer.json()
    assert found["area_mm2"] == pytest.approx(BOARD.area_mm2, rel=AREA_SHARE)
    assert found["size_px"] == [1960, 1480]
    assert np.allclose(sorted(found["corners_px"]), sorted(CORNERS), atol=CORNER_TOL_PX)
    assert Polygon(found["corners_px"]).contains(Polygon(found["outline_px"][0]))
    assert files_of(desk.folder) == before  # shown is not kept
    assert not list((desk.folder / ".desk").glob("upload-*"))
    assert desk.state()["undo"] is None

    assert desk.post("offcuts/keep", {"number": found["number"]} | KEPT).json() == {"board": "L1"}
    boards = {board.name: board for board in read_rack(open_job(desk.folder))}
    assert list(boards) == ["B1", "B2", "L1"]
    board = boards["L1"]
    assert board.outline.area_mm2 == pytest.approx(BOARD.area_mm2, rel=AREA_SHARE)
    assert (board.material, board.thickness_mm, board.mass_g) == ("balsa", 3.0, 6.5)
    after = files_of(desk.folder)
    assert set(after) - set(before) == {"rack/L1.json"}  # the picture itself is not kept

    assert desk.post("undo").json()["title"] == "add the offcut L1"
    assert files_of(desk.folder) == before
    assert desk.post("redo").status_code == 200
    assert files_of(desk.folder) == after
    # One board is kept once.
    assert "look at the photo again" in _text(desk.post("offcuts/keep", {"number": found["number"]} | KEPT))


def test_a_board_that_is_put_away_leaves_nothing_behind(desk, picture):
    before = files_of(desk.folder)
    number = _looked(desk, picture).json()["number"]
    assert desk.post("offcuts/forget").json() == {"forgotten": True}

    assert desk.post("offcuts/forget").json() == {"forgotten": False}
    assert "put away" in _text(desk.post("offcuts/keep", {"number": number} | KEPT))
    assert "put away" in _text(desk.post("offcuts/describe", {"number": number}))
    assert files_of(desk.folder) == before
    assert not list((desk.folder / ".desk").glob("upload-*"))
    assert desk.state()["undo"] is None


def test_corners_set_by_hand_take_the_place_of_those_found_in_whatever_order(desk, picture):
    # A part of the sheet as if it were all of it, with the board on it, then one that the board hangs over.
    middle = np.mean(CORNERS, axis=0)
    inner = [tuple(np.round(middle + 0.95 * (np.array(corner) - middle)).tolist()) for corner in CORNERS]
    measured = _looked(desk, picture, corners=_listed(inner)).json()
    assert np.allclose(sorted(measured["corners_px"]), sorted(inner), atol=0.1)
    half = ((210, 180), (980, 150), (975, 1285), (130, 1240))
    assert "no board lies wholly on the sheet" in _text(_looked(desk, picture, corners=_listed(half)))

    crossed = _looked(desk, picture, corners=_listed([CORNERS[k] for k in (0, 2, 1, 3)])).json()  # a bow-tie
    assert crossed["area_mm2"] == pytest.approx(BOARD.area_mm2, rel=2 * AREA_SHARE)

    # A white sheet on a table as white is not found, and the whole picture is not taken for it; by hand it is there.
    inside = np.zeros((1480, 1960), np.uint8)
    cv2.fillConvexPoly(inside, np.array(CORNERS, np.int32), 1)
    inside = cv2.erode(inside, np.ones((13, 13), np.uint8))
    bright = io.BytesIO()
    Image.fromarray(np.where(inside, photo().grey, np.uint8(236))).save(bright, "PNG")
    assert "corners were not found" in _text(_looked(desk, bright.getvalue()))
    by_hand = _looked(desk, bright.getvalue(), corners=_listed(CORNERS))
    assert by_hand.json()["area_mm2"] == pytest.approx(BOARD.area_mm2, rel=2 * AREA_SHARE)


def test_what_it_would_weigh_follows_thickness_density_and_grain(desk, picture):
    found = _looked(desk, picture).json()

    def told(**more):
        return desk.post("offcuts/describe", {"number": found["number"], **more}).json()

    assert told() == {key: found[key] for key in ("size_mm", "area_mm2")} | {"mass_g": None, "density_kg_m3": None}
    # A cubic metre of it at 120 kg: area times 3 mm times that.
    assert told(thickness="3 mm", density="120 kg/m3")["mass_g"] == pytest.approx(found["area_mm2"] * 3 * 120e-6)
    density = told(thickness="1/8 in", mass="6.5 g")["density_kg_m3"]
    assert density == pytest.approx(6.5e6 / (found["area_mm2"] * 3.175))
    across = told(grain=[[900, 400], [905, 1000]])["size_mm"]
    assert across == pytest.approx(found["size_mm"][::-1], rel=0.1)
    for wrong in ({"thickness": "thin"}, {"thickness": "3 mm", "density": "much"}, {"grain": [[1, 1], [1, 1]]}):
        assert _text(desk.post("offcuts/describe", {"number": found["number"]} | wrong))


def test_a_name_never_becomes_a_path_and_a_board_that_is_there_is_not_replaced(desk, picture):
    before = files_of(desk.folder)
    number = _looked(desk, picture, name="../../x.png").json()["number"]

    assert "already" in _text(desk.post("offcuts/keep", {"number": number} | KEPT | {"board": "b1"}))
    for wrong in (
        {"thickness": "thin"},
        {"thickness": "-3 mm"},
        {"mass": "1 mm"},
        {"board": " "},
    ):
        assert _text(desk.post("offcuts/keep", {"number": number} | KEPT | wrong))
    assert _text(desk.post("offcuts/keep", {"number": number} | KEPT | {"colour": "red"}))
    assert _text(desk.post("offcuts/keep", {"number": number} | KEPT | {"grain": [[5, 5], [5, 5]]}))
    assert files_of(desk.folder) == before

    assert desk.post("offcuts/keep", {"number": number} | KEPT | {"board": "../../L2"}).status_code == 200
    assert [entry.name for entry in desk.folder.parent.iterdir()] == ["job"]
    assert {path.parent.name for path in desk.folder.rglob("*L2*")} == {"rack"}
    assert read_rack(open_job(desk.folder))[-1].outline is not None


def test_what_is_not_a_photo_of_a_board_is_refused_with_a_sentence(desk, picture):
    before = files_of(desk.folder)
    header = struct.pack(">4s2I5B", b"IHDR", 40_000, 20_000, 8, 0, 0, 0, 0)
    vast = b"\x89PNG\r\n\x1a\n\0\0\0\r" + header + struct.pack(">I", zlib.crc32(header))

    assert "left.png is not a plan" in _text(_looked(desk, b"not a picture"))
    assert "million; the limit is" in _text(_looked(desk, vast + struct.pack(">I4s", 10, b"IDAT") + bytes(14)))
    assert _text(_looked(desk, b'<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0h9v9z"/></svg>', name="x.svg"))
    for sheet in ("a barn door", "420 x", "0 x 297 mm", "A4 x A4", "../../A4"):
        assert "sheet" in _text(_looked(desk, picture, sheet=sheet))
    for corners in ("1,2,3", "a,b,c,d,e,f,g,h", "nan,0,1,0,1,1,0,1", "0,0,1e300,0,1,1,0,1", "0,0,10,0,20,0,30,0"):
        assert "corners" in _text(_looked(desk, picture, corners=corners))
    inside = _listed([*CORNERS[:3], (1200, 900)])  # one of them lies inside the others
    assert "four corners" in _text(_looked(desk, picture, corners=inside))
    away = _listed([(x + 50_000, y) for x, y in CORNERS])
    assert _text(_looked(desk, picture, corners=away))
    assert _looked(desk, b"x", sheet=" ").status_code == 400
    assert _looked(desk, b"x", colour="red").status_code == 400
    assert _looked(desk, b"").status_code == 400
    for body in (b"[]", b"null", b"{", b'{"number": "one"}'):
        assert desk.client.post("/api/1/offcuts/keep", content=body, headers=ORIGIN).status_code == 400

    assert files_of(desk.folder) == before
    assert not list((desk.folder / ".desk").glob("upload-*"))
    assert desk.state()["undo"] is None


def test_a_photo_that_says_it_is_too_large_is_refused_unread(desk):
    headers = ORIGIN | {"content-length": str(LARGEST_UPLOAD_BYTES + 1)}
    answer = desk.client.post(f"/api/1/offcuts?{urlencode(SAID)}", content=b"x", headers=headers)
    assert answer.status_code == 413
