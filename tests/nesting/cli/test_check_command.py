"""`check` lays a scan of a part as cut on its outline: in words, as JSON and as a map of true size."""

import io
import re

import numpy as np
import pypdfium2
import pytest
from PIL import Image
from svgpathtools import svg2paths2

from fixtures.sawn_parts import Fault, Glass, cut_rings, middle_of, scan
from nesting.job.folder import open_job
from nesting.job.tracing import trace_job

BUMP, HOLE_OFF = "bump", "hole-off"
GLASS = Glass(dpi=200, angle_deg=31.0)


@pytest.fixture
def plate(traced_job):
    """The outline that the job has of its plate; its drawing is coarser than a scan of the part."""
    job = open_job(traced_job)
    return next(one.outline for one in trace_job(job).outlines if one.name == "plate")


def fault(outline, kind):
    """A bump of 0.4 mm on the upper edge, 70 mm from the left, or the hole 0.5 mm away."""
    x, _, _, y = outline.bounds
    if kind == BUMP:
        return Fault("bump", 0.4, (x + 70.0, y), 10.0)
    ring = outline.cutouts[0]
    return Fault("hole-off", 0.5, middle_of(ring), ring.perimeter_mm)


@pytest.fixture
def scanned(tmp_path, plate):
    """Return a way to lay the plate with errors on the scanner; gives the file."""

    def lay(*kinds, name="cut.png", dpi=(200, 200), glass=GLASS, beside=None):
        grey = scan(cut_rings(plate, tuple(fault(plate, kind) for kind in kinds)), glass, np.random.default_rng(3))
        grey = grey if beside is None else np.hstack([grey, beside(grey.shape[0])])
        said = {} if dpi is None else {"dpi": dpi}
        Image.fromarray(grey).save(tmp_path / name, **said)
        return tmp_path / name

    return lay


def test_what_was_cut_true_is_told_so_with_its_weight(sheetwood, small_job, scanned, plate):
    small_job.edit('name = "plate"\n', 'name = "plate"\nweighed = "1.45 g"\n')
    done = sheetwood("check", small_job.folder, "plate", scanned(), "--json")
    assert done.code == 0, done.err
    told = done.json
    assert set(told) == {"part", "fit", "tolerance_mm", "edge", "area", "weight", "places", "profile", "notes"}
    assert told["places"] == []
    assert told["area"]["as_cut_mm2"] == pytest.approx(plate.area_mm2, abs=3 * told["area"]["sigma_mm2"])
    weight = told["weight"]
    assert weight["board"] == "light"
    # 8.6 g for 300 x 80 mm, as the rack says.
    assert weight["as_cut_g"] == pytest.approx(8.6 * told["area"]["as_cut_mm2"] / 24000, rel=0.002)
    assert weight["difference_g"] == pytest.approx(1.45 - weight["as_cut_g"], abs=1e-3)
    assert max(abs(row["off_mm"]) for row in told["profile"]) < 0.15


def test_a_bump_and_a_hole_are_told_with_their_places_and_end_with_four(sheetwood, small_job, scanned):
    done = sheetwood("check", small_job.folder, "plate", scanned(BUMP, HOLE_OFF), "--json")
    assert done.code == 4
    hole, bump = done.json["places"]
    assert (hole["kind"], bump["kind"]) == ("hole-off", "proud")
    assert hole["off_mm"] == pytest.approx(0.5, abs=0.06)
    assert bump["off_mm"] == pytest.approx(0.4, abs=0.06)
    assert "70 mm from the left, 40 mm up: sand it down" in bump["text"]
    assert [note["code"] for note in done.json["notes"] if note["state"] == "open"] == ["off-outline"]


def test_the_map_is_of_true_size_in_pdf_and_svg(sheetwood, small_job, scanned, plate):
    sheetwood("check", small_job.folder, "plate", scanned(BUMP))
    paths, attributes, _ = svg2paths2(str(small_job.folder / "out" / "check-plate.svg"))
    boxes = [
        path.bbox() for path, tags in zip(paths, attributes, strict=True) if path.isclosed() and "fill" not in tags
    ]
    outer = min((box for box in boxes if box[1] - box[0] > 90), key=lambda box: box[3] - box[2])  # beside the enlarged
    x0, y0, x1, y1 = plate.bounds
    assert (outer[1] - outer[0], outer[3] - outer[2]) == pytest.approx((x1 - x0, y1 - y0), abs=0.01)
    pdf = pypdfium2.PdfDocument((small_job.folder / "out" / "check-plate.pdf").read_bytes())
    words = "\n".join(page.get_textpage().get_text_range() for page in pdf)
    assert re.search(r"1: 0\.(3[5-9]|4[0-5]) mm", words)
    picture = np.asarray(pdf[0].render(scale=2, grayscale=True).to_pil())
    assert (picture < 60).any()


def test_a_person_reads_where_to_sand_in_the_units_of_the_job(sheetwood, small_job, scanned):
    small_job.edit('name = "Square"', 'name = "Square"\nunits = "in"')
    done = sheetwood("check", small_job.folder, "plate", scanned(BUMP))
    said = " ".join(re.sub(r"[│┃]", " ", done.out).split())
    assert "sand it" in said
    assert "in²" in said
    assert " mm proud" not in said


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("wing",), 3, "there is no part 'wing'; parts: plate, fin"),
        (("fin",), 3, "part fin has"),
        (("plate", "--at", "here"), 2, "write a pixel on the part as X,Y"),
        (("plate", "--at", "3,3"), 3, "no part lies at the pixel (3, 3)"),
        (("plate", "--dpi", "3"), 2, "a part is scanned with 100 to 2400 dpi"),
        (("plate", "--dpi", "400"), 3, "check the scale"),
        (("plate", "--tolerance", "0.2"), 3, "without a unit"),
        (("plate", "--tolerance", "0 mm"), 3, "above zero"),
        (("plate", "--copy", "2"), 2, "has 1 copies"),
        (("plate", "--page", "2"), 3, "page 2 does not exist"),
    ],
)
def test_what_cannot_be_compared_is_told_in_a_sentence(sheetwood, small_job, scanned, words, code, said):
    done = sheetwood("check", small_job.folder, words[0], scanned(), *words[1:])
    assert done.code == code, done.err
    assert said in " ".join(done.err.split())
    assert not (small_job.folder / "out").exists()


def test_a_scan_that_says_no_size_asks_for_it(sheetwood, small_job, scanned):
    file = scanned(name="cut.png", dpi=None)
    done = sheetwood("check", small_job.folder, "plate", file)
    assert done.code == 3
    assert "give --dpi" in done.err
    assert sheetwood("check", small_job.folder, "plate", file, "--dpi", "200").code == 0


def test_a_known_length_beats_what_the_file_states(sheetwood, small_job, scanned):
    """The file says 210 dpi, a rule beside the part says 200: 500 pixels are 63.5 mm."""
    file = scanned(dpi=(210, 210))
    assert sheetwood("check", small_job.folder, "plate", file).code in (3, 4)
    done = sheetwood("check", small_job.folder, "plate", file, "--known", "100,50,600,50,63.5 mm", "--json")
    assert done.code == 0, done.err
    assert done.json["edge"]["rms_mm"] < 0.08


def test_the_part_is_found_among_other_things_on_the_glass(sheetwood, small_job, scanned):
    def coin(rows):
        other = np.full((rows, 400), 35, np.uint8)
        other[100:300, 100:300] = 200
        return other

    done = sheetwood("check", small_job.folder, "plate", scanned(beside=coin), "--json")
    assert done.code == 0, done.err
    assert done.json["places"] == []


def test_a_page_of_a_pdf_will_do(sheetwood, small_job, scanned, tmp_path):
    picture = Image.open(scanned(BUMP))
    data = io.BytesIO()
    picture.save(data, "PDF", resolution=200)
    (tmp_path / "cut.pdf").write_bytes(data.getvalue())
    done = sheetwood("check", small_job.folder, "plate", tmp_path / "cut.pdf", "--json")
    assert [place["kind"] for place in done.json["places"]] == ["proud"]


def test_without_a_rack_the_edge_is_compared_all_the_same(sheetwood, small_job, scanned):
    (small_job.folder / "rack.csv").unlink()
    done = sheetwood("check", small_job.folder, "plate", scanned(), "--json")
    assert done.json["weight"] is None
    assert done.json["places"] == []
    assert done.code == 0
