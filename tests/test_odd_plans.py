"""Sheets that are no plan, or mean harm: read or left, never a fault, nothing taken for granted that is not so."""

import tomllib

import cv2
import ezdxf
import numpy as np
import pytest
from PIL import Image
from reportlab.pdfgen.canvas import Canvas
from typer.testing import CliRunner

from nesting.cli.app import app
from nesting.job.drafting import draft_new_job
from nesting.job.folder import open_job
from tests.nesting.desk.lettered import picture
from tests.vectorize.marks.lettering.lettered_pages import DPI, Word, lined_page, page

PROSE = (
    "The builder who takes his time over the wood will find that",
    "three sheets out of ten are fit for wings, and that the rest",
    "may serve for ribs and formers. Cut 4 of them from the softest.",
    "In 1938 a club of 25 members flew 12 models of balsa for 40",
    "minutes each, and 2 of them were lost over the marsh.",
)
HOSTILE = (
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    '"]] [[part]] name = "x"',
    "''' \"\"\" # = \\ %s %n $(ls)",
    "{{7*7}} ; DROP TABLE parts",
)
ABSURD = (
    "@#%&*?!",
    "((((((((",
    "O0O0O0Il1Il1",
    "................",
    "\u00bd\u00bd\u00bd\u00b0\u00b0 x x x",
    "R R R R R",
)
LONG = "<b>3 mm</b>&" * 900


def mirrored():
    return np.asarray(picture())[:, ::-1]


def photograph():
    """Return what a photograph is to the reader: soft light and dark, one furry round, grain everywhere."""
    random = np.random.default_rng(11)
    grey = cv2.GaussianBlur(random.integers(0, 256, (900, 1200)).astype(np.float32), (0, 0), 60)
    grey = cv2.normalize(grey, None, 40, 220, cv2.NORM_MINMAX)
    for angle in random.uniform(0, 2 * np.pi, 700):
        start = np.array([600, 450]) + 250 * np.array([np.cos(angle), np.sin(angle)])
        end = start + random.normal(scale=26, size=2)
        cv2.line(grey, tuple(map(int, start)), tuple(map(int, end)), float(random.uniform(20, 240)), 2, cv2.LINE_AA)
    return np.clip(grey + random.normal(scale=9, size=grey.shape), 0, 255).astype(np.uint8)


def lettered(lines, high_mm=4.0):
    return lined_page([Word(text, (14, 14 + 1.8 * high_mm * k), high_mm) for k, text in enumerate(lines)])[0]


PAGES = {
    "mirrored": mirrored,
    "a photograph": photograph,
    "prose": lambda: page([Word(line, (10, 12 + 9 * k)) for k, line in enumerate(PROSE)])[0],
    "absurd": lambda: lettered(ABSURD),
    "hostile": lambda: lettered(HOSTILE),
    "letters of every size": lambda: page([Word("B4", (4 + 2.6 * k**1.6, 5 + 9 * k), 0.4 * 1.6**k) for k in range(9)])[
        0
    ],
}


@pytest.fixture(scope="module", params=sorted(PAGES))
def drafted(request, tmp_path_factory):
    """Return the folder of a job that was drafted from an odd page."""
    folder = tmp_path_factory.mktemp("odd")
    Image.fromarray(np.ascontiguousarray(PAGES[request.param]())).save(folder / "plan.png", dpi=(DPI, DPI))
    draft_new_job(folder / "job", plan=folder / "plan.png")
    return request.param, folder / "job"


def test_the_job_that_is_drafted_can_be_read(drafted):
    name, folder = drafted
    spec = open_job(folder).spec
    assert spec.plan[0].file == "plan.png", name
    assert (folder / "read.png").is_file()


def test_nothing_is_taken_for_granted(drafted):
    name, folder = drafted
    job = tomllib.loads((folder / "job.toml").read_text(encoding="utf-8"))
    assert "known" not in job["plan"][0], name
    values = [
        (key, part[key]) for part in job.get("part", ()) for key in ("material", "thickness", "count") if key in part
    ]
    assert values == [], name


def test_the_file_holds_one_line_for_each_entry_and_no_sign_that_a_terminal_obeys(drafted):
    name, folder = drafted
    text = (folder / "job.toml").read_text(encoding="utf-8")
    assert all(sign.isprintable() or sign == "\n" for sign in text), name
    assert max(map(len, text.splitlines())) < 400, name


def svg(path):
    text = LONG.replace("&", "&amp;").replace("<", "&lt;")
    words = f'<text x="5" y="5">{text}</text><text x="5" y="9">&#x202e;RUDDER&#x7;</text>'.replace("&#x7;", "")
    shape = '<path d="M5 20H40V45H5Z" fill="none" stroke="black"/>'
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60">'
    path.write_text(f"{head}<title>{text}</title>{words}{shape}</svg>", encoding="utf-8")


def dxf(path):
    document = ezdxf.new(units=4)
    space = document.modelspace()
    space.add_text(LONG, height=3)
    space.add_mtext("{\\fArial;" + LONG + "}\x1b[31m")
    space.add_lwpolyline([(5, 5), (40, 5), (40, 30), (5, 30)], close=True)
    document.saveas(path)


def pdf(path):
    canvas = Canvas(str(path))
    canvas.setTitle(LONG)
    canvas.drawString(20, 700, LONG)
    canvas.rect(50, 100, 200, 120)
    canvas.save()


@pytest.mark.parametrize("write", [svg, dxf, pdf])
def test_hostile_text_of_a_drawing_is_left_and_its_shapes_are_found(write, tmp_path):
    plan = tmp_path / f"plan.{write.__name__}"
    write(plan)
    done = CliRunner().invoke(app, ["read", str(plan)])
    assert done.exit_code == 3
    assert "is a drawing" in " ".join(done.stderr.split())
    assert "<b>" not in done.stderr
    assert CliRunner().invoke(app, ["new", str(tmp_path / "job"), "--plan", str(plan)]).exit_code == 0
    job = tmp_path / "job" / "job.toml"
    job.write_text(job.read_text("utf-8").replace("edge = ", 'size = "as drawn"\nedge = '), encoding="utf-8")
    traced = CliRunner().invoke(app, ["trace", str(tmp_path / "job"), "--json"])
    assert traced.exit_code in (0, 4), traced.stderr
    assert "<b>" not in traced.stdout + traced.stderr
