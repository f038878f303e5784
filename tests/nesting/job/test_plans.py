"""Plans of several files, from the job file on: what must be told, what comes back."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from fixtures.scanning import Wear, scan
from nesting.job.bare import parse_known
from nesting.job.folder import Job, open_job, read_spec
from nesting.job.plans import open_plans
from nesting.job.scales import add_known, scale_result
from nesting.job.tracing import trace_job, write_previews
from tests.vectorize.scale.joined.scan_pieces import DPI, WINDOWS, Piece, piece, sheet, uneven
from vectorize.basics.errors import CallError, JobError, ScaleError, ScanError

AREA_SHARE = 0.0025  # what the product states for a part across the seam


@pytest.fixture(scope="module")
def pieces() -> tuple[Piece, Piece]:
    plan = sheet()
    return (
        piece(plan, WINDOWS["left"], name="left.png", skew_deg=-1.1),
        piece(plan, WINDOWS["right"], name="right.png", skew_deg=0.8, seed=2),
    )


def at(pieces: tuple[Piece, Piece], number: int, x: float, y: float) -> str:
    u, v = pieces[number - 1].pixel(x, y)
    return f"[{u:.2f}, {v:.2f}, {number}]"


def job_text(pieces: tuple[Piece, Piece], files: str) -> str:
    return f"""
[[plan]]
{files}
[[plan.known]]
from = {at(pieces, 1, 12, 10)}
to = {at(pieces, 2, 132, 10)}
length = "120 mm"

[[part]]
name = "former"
pick = [{at(pieces, 2, 60, 33)}]
material = "balsa"
thickness = "3 mm"
grain = [{at(pieces, 1, 50, 58)}, {at(pieces, 2, 90, 58)}]
"""


@pytest.fixture
def make_job(tmp_path: Path, pieces: tuple[Piece, Piece]) -> Callable[..., Job]:
    def make(files: str = 'files = ["left.png", "right.png"]') -> Job:
        for p in pieces:
            Image.fromarray(p.page.grey).save(tmp_path / p.page.name, dpi=(DPI, DPI))
        first, second = (Image.fromarray(p.page.grey) for p in pieces)
        first.save(tmp_path / "both.tif", save_all=True, append_images=[second], dpi=(DPI, DPI))
        (tmp_path / "job.toml").write_text(job_text(pieces, files), encoding="utf-8")
        return open_job(tmp_path)

    return make


def test_a_part_across_two_files_is_traced_and_told_in_pixels_of_one_of_them(make_job, pieces):
    trace = trace_job(make_job())
    (former,) = trace.outlines
    assert former.outline.area_mm2 == pytest.approx(44 * 30, rel=AREA_SHARE)
    x, y, number = former.inside_px
    assert number in (1, 2)
    assert (x, y) == pytest.approx(pieces[int(number) - 1].pixel(60, 33), abs=0.3)
    assert [note.code for note in trace.notes if note.code == "seam"] == ["seam"]


def test_messages_name_a_place_as_the_pixel_of_one_of_the_files(make_job, pieces):
    (plan,) = open_plans(make_job()).values()
    told = re.fullmatch(r"\((\d+), (\d+), ([12])\)", plan.scale.told(plan.on_page((*pieces[1].pixel(60, 33), 2))))
    assert told is not None
    shown = pieces[int(told[3]) - 1].pixel(60, 33)
    assert (float(told[1]), float(told[2])) == pytest.approx(shown, abs=1.0)


def test_an_outline_on_disk_is_used_again(make_job):
    job = make_job()
    first = trace_job(job).outlines
    assert trace_job(job).outlines == first


def test_pages_of_one_file_are_joined(make_job):
    job = make_job('files = ["both.tif", "both.tif"]\npages = [1, 2]')
    (plan,) = open_plans(job).values()
    assert plan.joined is not None
    assert [place.name for place in plan.joined.places] == ["both.tif page 1", "both.tif page 2"]


def test_a_point_that_does_not_name_its_file_is_refused(make_job, pieces):
    u, v = pieces[1].pixel(60, 33)
    job = make_job()
    text = (job.folder / "job.toml").read_text().replace(f"[{u:.2f}, {v:.2f}, 2]", f"[{u:.2f}, {v:.2f}]")
    (job.folder / "job.toml").write_text(text)
    with pytest.raises(JobError, match=r"does not say which it is on; add a third number: 1 for left.png, 2 for right"):
        trace_job(open_job(job.folder))


@pytest.mark.parametrize(("number", "said"), [("3", "names file 3 of 2"), ("1.5", "names file 1.5 of 2")])
def test_a_file_number_that_is_not_there_is_refused(make_job, pieces, number, said):
    job = make_job()
    text = (job.folder / "job.toml").read_text().replace(", 2]]", f", {number}]]")
    (job.folder / "job.toml").write_text(text)
    with pytest.raises(JobError, match=said):
        trace_job(open_job(job.folder))


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ("", "give either 'file'"),
        ('file = "a.png"\nfiles = ["b.png", "c.png"]', "give either 'file'"),
        ('files = ["a.png"]', "names one file"),
        ('files = ["a.png", "a.png"]', "same page twice"),
        ('files = ["a.tif", "a.tif"]\npages = [1]', "'pages' has 1 numbers for 2 files"),
        ('files = ["a.png", "b.png"]\nsheet = "A3"', "'sheet', 'corners' and 'point' flatten one photo"),
        ('file = "a.png"\ncorners = [[1, 1], [9, 1], [9, 9], [1, 9]]', "give its size too"),
        ('file = "a.png"\nsheet = "A3"\n[[plan.point]]\nat = [1, 1]\nis = ["0 mm", "1 mm"]', "give one of them"),
        (
            'file = "a.png"\nflatten = ["lens"]\n[[plan.point]]\nat = [1, 1]\nis = ["0 mm", "1 mm"]',
            "'point' flattens a photo",
        ),
        ('file = "a.png"\n[[plan.point]]\nat = [1, 1]\nis = [0, 1]', "plan number 1, point number 1, is"),
        ('files = ["a.png", "b.png"]\nedge = "solid"', "photograph the part whole on a sheet of known size"),
    ],
)
def test_keys_that_do_not_go_together_are_refused(keys, said):
    with pytest.raises(JobError, match=said):
        read_spec(f"[[plan]]\n{keys}\n")


def test_the_numbered_picture_is_drawn_for_several_files(make_job):
    job = make_job()
    assert not any(note.state == "open" for note in write_previews(job))
    with Image.open(job.out / "regions-plan.png") as picture:
        assert picture.width > 800


def test_a_known_dimension_across_files_is_written_by_the_command(make_job, pieces):
    (a, b), (c, d) = pieces[0].pixel(9, 16), pieces[0].pixel(9, 96)
    job = add_known(make_job(), [f"{a:.2f},{b:.2f},1,{c:.2f},{d:.2f},1,80,0 mm"])
    assert job.spec.plan[0].known[1].start == pytest.approx((a, b, 1), abs=0.01)
    result = scale_result(open_plans(job).values(), ())["scales"][0]
    assert [abs(k["residual_mm"]) < 0.05 for k in result["known"]] == [True, True]
    assert result["seams"][0]["files"] == ["left.png", "right.png"]
    assert 0.0 < result["seams"][0]["misfit_mm"] < 0.03


def test_points_of_known_place_lay_a_photo_flat(tmp_path):
    wear = Wear(dpi=130, keystone=0.05, margin_mm=10, table=60, blur_px=0.7, noise=3)
    picture, truth = scan(sheet(), wear, 4)
    Image.fromarray(picture).save(tmp_path / "photo.jpg", quality=92)
    places = ((4.0, 4.0), (136.0, 4.0), (136.0, 106.0), (4.0, 106.0), (9.0, 96.0))
    tables = "".join(
        f'[[plan.point]]\nat = [{x:.2f}, {y:.2f}]\nis = ["{u:g} mm", "{v / 25.4:.5f} in"]\n'
        for (u, v), (x, y) in zip(places, truth.map.to_pixels(np.array(places)), strict=True)
    )
    (tmp_path / "job.toml").write_text(f'[[plan]]\nfile = "photo.jpg"\n{tables}', encoding="utf-8")
    job = open_job(tmp_path)
    (plan,) = open_plans(job).values()
    ((x, y),) = truth.map.to_pixels(np.array([(70.0, 50.0)]))
    assert plan.to_mm((x, y)) == pytest.approx((70.0, 50.0), abs=0.1)
    told = scale_result([plan], ())["scales"][0]["points"]
    assert [point["is_mm"][0] for point in told] == [4.0, 136.0, 136.0, 4.0, 9.0]
    assert max(point["residual_mm"] for point in told) < 0.1


def test_the_largest_picture_is_a_key_of_the_plan(make_job):
    job = make_job('file = "left.png"\nlargest_megapixels = 0.1')
    (plan,) = open_plans(job).values()
    with pytest.raises(ScanError, match=r"raise the limit .*: largest_megapixels = 1 in its table"):
        _ = plan.page


def test_a_known_dimension_is_four_or_six_numbers_and_a_length():
    assert parse_known("412,1880,2774,1871,3,5 mm").length == pytest.approx(3.5)
    assert parse_known("412,1880,1,2774,1871,2,3,5 mm").end == (2774.0, 1871.0, 2.0)
    with pytest.raises(CallError, match="X1,Y1,FILE1"):
        parse_known("412,1880,1,300 mm")


def test_what_a_seam_left_open_does_not_hide_that_the_size_is_a_guess(make_job, pieces, tmp_path):
    make_job()
    Image.fromarray(uneven(pieces[1].page, 0.3, seed=3).grey).save(tmp_path / "right.png", dpi=(DPI, DPI))
    table, part = (tmp_path / "job.toml").read_text(encoding="utf-8").split("[[part]]")
    text = table[: table.index("[[plan.known]]")] + "[[part]]" + part
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    with pytest.raises(ScaleError, match="which nobody has confirmed; give a known dimension"):
        trace_job(open_job(tmp_path))
