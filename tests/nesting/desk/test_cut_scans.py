"""A scan dropped beside a part gives the figures of `sheetwood check`, writes its map, and is not kept."""

import io
import json

import numpy as np
import pytest
from PIL import Image
from typer.testing import CliRunner

from fixtures.sawn_parts import Fault, Glass, cut_rings, scan
from nesting.cli.app import app
from nesting.job.folder import open_job
from nesting.job.tracing import trace_job
from tests.nesting.desk.conftest import ORIGIN, finished, open_desk
from tests.nesting.desk.jobs import JOB, make_job


def scanned_plate(folder, *, size_mm=0.4, dpi=200):
    """The plate of the job with so much wood left over 10 mm of its upper edge, on the scanner; as a PNG."""
    (stored,) = trace_job(open_job(folder)).outlines
    x, _, _, y = stored.outline.bounds
    fault = Fault("bump", size_mm, (x + 40.0, y), 10.0)
    grey = scan(cut_rings(stored.outline, (fault,)), Glass(dpi=200, angle_deg=31.0), np.random.default_rng(5))
    file = io.BytesIO()
    Image.fromarray(grey).save(file, "PNG", **({"dpi": (dpi, dpi)} if dpi else {}))
    return file.getvalue()


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    job = JOB.replace('name = "plate"\n', 'name = "plate"\nweighed = "0.65 g"\n')
    opened = open_desk(make_job(tmp_path_factory.mktemp("cut") / "job", job=job))
    opened.workshop.follow()
    assert finished(opened.workshop, "follow")["state"] == "done"
    yield opened
    opened.workshop.close()


def checked(desk, data, **said):
    query = "&".join(f"{key}={value}" for key, value in ({"part": "plate", "name": "cut.png"} | said).items())
    return desk.client.post(f"/api/1/check?{query}", content=data, headers=ORIGIN)


def test_the_desk_tells_what_the_command_tells(desk, tmp_path):
    data = scanned_plate(desk.folder)
    answer = checked(desk, data)
    assert answer.status_code == 200, answer.text
    shown = answer.json()
    (tmp_path / "cut.png").write_bytes(data)
    done = CliRunner().invoke(app, ["check", str(desk.folder), "plate", str(tmp_path / "cut.png"), "--json"])
    assert done.exit_code == 4
    told = json.loads(done.stdout)
    assert {key: shown[key] for key in told if key != "notes"} == {k: v for k, v in told.items() if k != "notes"}
    (place,) = shown["places"]
    assert (place["kind"], place["number"]) == ("proud", 1)
    assert place["off_mm"] == pytest.approx(0.4, abs=0.06)
    # 60 x 30 mm of 10 g on 300 x 100 mm.
    assert shown["weight"]["as_cut_g"] == pytest.approx(10.0 * 1800 / 30000, rel=0.01)
    assert shown["weight"]["weighed_g"] == 0.65
    drawn = desk.get(f"files/{shown['file']}")
    assert drawn.headers["content-type"] == "image/svg+xml"
    assert drawn.content == (desk.folder / "out" / "check-plate.svg").read_bytes()
    assert {"check-plate.svg", "check-plate.pdf"} <= {file["name"] for file in desk.state()["files"]}


def test_the_scan_is_not_kept(desk):
    before = {path.name for path in desk.folder.rglob("*") if path.is_file()}
    assert checked(desk, scanned_plate(desk.folder)).status_code == 200
    after = {path.name for path in desk.folder.rglob("*") if path.is_file()}
    assert {name for name in after - before if name.startswith(("upload", "cut"))} == set()


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"part": "wing"}, "there is no part"),
        ({"copy": "2"}, "there is no copy 2"),
        ({"dpi": "5"}, "a part is scanned with 100 to 2400 dpi"),
        ({"at": "here"}, "on the part as X,Y"),
        ({"tolerance": "thin"}, "the tolerance"),
        ({"known": "1,2,3"}, "1,2,3"),
        ({"sheet": "A4"}, "sheet"),
    ],
)
def test_what_cannot_be_compared_is_refused_in_a_sentence(desk, said, words):
    answer = checked(desk, scanned_plate(desk.folder), **said)
    assert 400 <= answer.status_code < 500
    assert words in answer.json()["error"]["text"]


def test_a_scan_that_does_not_say_how_fine_it_is_is_called_by_its_name_and_asked(desk):
    data = scanned_plate(desk.folder, dpi=None)
    assert "cut.png does not say how fine it was scanned" in checked(desk, data).json()["error"]["text"]
    assert checked(desk, data, dpi="200").json()["places"][0]["kind"] == "proud"
