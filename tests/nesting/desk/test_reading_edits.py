"""Corners of a photo, gaps closed by hand, and parts cut in two at the desk."""

import json

import pytest
import tomlkit
from reportlab.pdfgen.canvas import Canvas

from nesting.desk.changes import cut_in_two
from nesting.desk.sheet_corners import round_the_sheet
from nesting.job.folder import open_job
from tests.nesting.desk.conftest import finished
from tests.nesting.desk.jobs import JOB, PLATE_MM
from vectorize.basics.errors import JobError
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Arc, Line

CORNERS = [(600.0, 10.0), (20.0, 12.0), (610.0, 420.0), (15.0, 430.0)]


def test_corners_are_put_in_order_round_the_sheet_from_the_upper_left():
    wanted = [(20.0, 12.0), (600.0, 10.0), (610.0, 420.0), (15.0, 430.0)]
    assert round_the_sheet(CORNERS) == wanted
    assert round_the_sheet(CORNERS[::-1]) == wanted


@pytest.mark.parametrize(
    "corners",
    [
        [(0.0, 0.0), (100.0, 0.0), (50.0, 30.0), (50.0, 100.0)],
        [(0.0, 0.0), (50.0, 0.0), (100.0, 0.0), (50.0, 80.0)],
        [(0.0, 0.0), (0.0, 0.0), (100.0, 0.0), (100.0, 80.0)],
    ],
    ids=["one inside", "three on a line", "one twice"],
)
def test_four_points_that_are_no_sheet_are_refused(corners):
    with pytest.raises(JobError, match="not the four corners of a sheet"):
        round_the_sheet(corners)


def test_a_part_is_cut_along_the_line_between_two_points():
    hole = Ring.circle((15.0, 18.0), 3.0)
    plate = Outline(Outline.rectangle(0, 0, 60, 30).exterior, (hole,))
    new, kept = cut_in_two(plate, (0, 2))
    assert new.area_mm2 + kept.area_mm2 == pytest.approx(plate.area_mm2)
    assert sorted(len(side.cutouts) for side in (new, kept)) == [0, 1]
    other, rest = cut_in_two(plate, (2, 0))
    assert (other.area_mm2, rest.area_mm2) == pytest.approx((kept.area_mm2, new.area_mm2))


def test_a_curved_stretch_can_be_cut_off_and_a_straight_one_cannot():
    half_round = Outline(Ring((Line((0, 0), (40, 0)), Arc((40, 0), (0, 0), 1.0))))
    with pytest.raises(JobError, match="neighbours on a straight edge"):
        cut_in_two(half_round, (0, 1))
    with pytest.raises(JobError, match="not on the edge any more"):
        cut_in_two(half_round, (0, 7))


def test_a_cut_through_a_hole_is_refused():
    plate = Outline(Outline.rectangle(0, 0, 60, 30).exterior, (Ring.circle((30.0, 15.0), 4.0),))
    with pytest.raises(JobError, match="runs through a cut-out"):
        cut_in_two(plate, (0, 2))


def test_a_part_cut_in_two_is_two_parts_that_make_up_the_first(desk):
    desk.workshop.follow()
    assert finished(desk.workshop, "follow")["state"] == "done"
    plate = desk.state()["parts"][0]
    edit = {"kind": "cut-part", "part": "plate", "name": "plate 2", "outline": plate["shape"], "ends": [0, 2]}
    assert desk.post("edit", edit).status_code == 200
    desk.workshop.follow()
    assert finished(desk.workshop, "follow")["state"] == "done"
    parts = {part["name"]: part for part in desk.state()["parts"]}
    assert set(parts) == {"plate", "plate 2"}
    assert sum(part["area_mm2"] for part in parts.values()) == pytest.approx(plate["area_mm2"], rel=1e-6)
    assert all(part["is_corrected"] for part in parts.values())
    assert desk.post("edit", edit | {"name": "plate"}).status_code == 422


def test_a_drawing_is_shown_by_its_strokes_and_snapped_to(desk):
    folder = desk.folder
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">'
    svg += '<path d="M10 10H70V40H10Z" fill="none" stroke="#000" stroke-width=".3"/></svg>'
    (folder / "plan.svg").write_text(svg, encoding="utf-8")
    text = (folder / "job.toml").read_text(encoding="utf-8")
    begin, end = text.index("[[plan.known]]"), text.index("[[part]]")
    text = text[:begin] + text[end:]
    text = text.replace('file = "plan.png"', 'file = "plan.svg"\nsize = "as drawn"')
    (folder / "job.toml").write_text(text.replace("[[200, 150]]", "[[30, 20]]"), encoding="utf-8")
    desk.workshop.follow()
    assert finished(desk.workshop, "follow")["state"] == "done"
    state = desk.state()
    assert state["plans"][0]["is_drawing"]
    assert state["plans"][0]["fault"] is None
    assert state["parts"][0]["size_mm"] == pytest.approx(PLATE_MM, abs=0.01)
    picture = desk.get("plans/0/picture").json()["picture"]
    assert picture["kind"] == "drawing"
    x0, y0, x1, y1 = picture["box"]
    assert (x0, y0) < (0, 0)
    assert (x1, y1) > (100, 60)
    (stroke,) = desk.get("plans/0/strokes").json()["strokes"]
    assert len(stroke["points"]) >= 4
    unit = x1 - x0
    near = desk.get(
        f"plans/0/snap?x={stroke['points'][0][0] + 0.01 * unit}&y={stroke['points'][0][1]}&reach={unit / 30}"
    )
    assert near.json()["at"] == pytest.approx(stroke["points"][0], abs=1e-3)
    assert desk.get("plans/0/snap?x=1&y=1&reach=0.5").json()["at"] is None


def test_a_gap_closed_at_the_desk_is_in_the_job_and_opens_again(desk):
    edit = {
        "kind": "set",
        "at": ["plan", "sheet 1", "bridge", None],
        "value": {"from": [120.25, 90.0], "to": [140.0, 90.0]},
    }
    assert desk.post("edit", edit).status_code == 200
    (bridge,) = open_job(desk.folder).spec.plan[0].bridge
    assert (bridge.start, bridge.end) == ((120.25, 90.0), (140.0, 90.0))
    assert desk.state()["plans"][0]["bridges"] == [{"from": [120.25, 90.0], "to": [140.0, 90.0]}]
    assert desk.post("edit", {"kind": "set", "at": ["plan", "sheet 1", "bridge", 3], "value": None}).status_code == 409
    assert desk.post("edit", {"kind": "set", "at": ["plan", "sheet 1", "bridge", 0], "value": None}).status_code == 200
    assert "bridge" not in (desk.folder / "job.toml").read_text(encoding="utf-8")


def test_the_shape_that_the_page_corrects_is_the_outline_as_it_is_kept(followed):
    part = followed.state()["parts"][0]
    kept = json.loads((followed.folder / "outlines" / "plate.json").read_text(encoding="utf-8"))
    assert Outline.from_json(part["shape"]).area_mm2 == pytest.approx(Outline.from_json(kept["outline"]).area_mm2)


NAMED = """
[[part]]
name = "copy"
from = "plate"
material = "plate"

[balance]
in_place = ["plate"]

[[balance.seat]]
part = "plate"
station = "10 mm"

[[joint]]
name = "plate"
parts = ["plate", "copy"]
glue = "white glue"
length = "10 mm"
width = "3 mm"

[nest]
side_by_side = [["plate", "copy"]]
"""


def test_a_part_that_is_renamed_is_called_so_by_everything_that_speaks_of_it(desk):
    path = desk.folder / "job.toml"
    path.write_text(JOB + NAMED, encoding="utf-8")
    assert desk.edit(kind="set", at=["part", "plate", "name"], value="tray").status_code == 200
    document = tomlkit.parse(path.read_text(encoding="utf-8"))
    assert [part["name"] for part in document["part"]] == ["tray", "copy"]
    assert document["part"][1]["from"] == "tray"
    assert document["part"][1]["material"] == "plate"  # no part's name
    assert document["balance"]["in_place"] == ["tray"]
    assert document["balance"]["seat"][0]["part"] == "tray"
    assert (document["joint"][0]["name"], document["joint"][0]["parts"]) == ("plate", ["tray", "copy"])
    assert document["nest"]["side_by_side"] == [["tray", "copy"]]
    assert document["plan"][0]["known"][0]["from"] == [100.0, 380.0]


def test_the_correction_of_a_part_goes_and_comes_back_with_it(desk):
    edit = {"kind": "set-outline", "part": "plate", "outline": Outline.rectangle(0, 0, 50, 20).as_json()}
    assert desk.post("edit", edit).status_code == 200
    kept = desk.folder / "corrected" / "plate.json"
    content = kept.read_bytes()
    assert desk.post("edit", {"kind": "set", "at": ["part", "plate"], "value": None}).status_code == 200
    assert not kept.exists()
    assert desk.post("undo").status_code == 200
    assert kept.read_bytes() == content


def test_a_page_with_nothing_on_it_is_said_and_the_other_pages_are_offered(desk):
    paper = Canvas(str(desk.folder / "plan.pdf"))
    paper.drawString(20, 20, "see the next page")
    paper.showPage()
    paper.rect(30, 30, 170, 85)
    paper.save()
    path = desk.folder / "job.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("plan.png", "plan.pdf"), encoding="utf-8")
    desk.workshop.follow()
    assert finished(desk.workshop, "follow")["state"] == "done"
    (plan,) = desk.state()["plans"]
    assert "page 1 holds neither lines nor pictures" in plan["fault"]
    assert [page["number"] for page in plan["pages"]] == [1, 2]
