"""The main job: from a scanned plan to weighed, nested, sawable parts, against the truth of the drawing."""

import json
import math
import random
import shutil
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pyogrio
import pytest
import shapely
import svgpathtools
from typer.testing import CliRunner

import nesting.job.demo
from fixtures.compare_traces import aligning_pose, compare
from fixtures.draw_sedge import draw_sedge_scan, sedge_plan
from nesting.cli.app import app
from nesting.job.folder import open_job
from nesting.job.tracing import trace_job
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.known import KnownDimension
from vectorize.shapes.outline import Outline
from vectorize.trace.trace_page import PartPick, trace_picks

DEMO = Path(nesting.job.demo.__file__).parent / "sedge"
# What a builder is promised on a 200 dpi scan, skewed, folded and unequally stretched.
WORST_MM = 0.35
MEAN_MM = 0.08
AREA_SHARE = 0.003
FILE_AREA_SHARE = 0.0002


def assert_true(traced, true):
    """Every part there, and within the promised distances of the drawing's own outlines."""
    assert set(traced) == set(true)
    pose = aligning_pose(traced, true)
    for name, outline in traced.items():
        found = compare(outline.placed(pose), true[name])
        assert found.area_error <= AREA_SHARE, f"{name}: area off by {found.area_error:.3%}"
        assert found.worst_mm <= WORST_MM, f"{name}: edge off by {found.worst_mm:.3f} mm"
        assert found.mean_mm <= MEAN_MM, f"{name}: edge off by {found.mean_mm:.3f} mm in the mean"


def test_the_check_finds_a_part_that_is_too_large():
    true = {part.name: part.outline for part in sedge_plan().parts}
    swollen = {name: o.mapped(lambda p: (1.002 * p[0], 1.002 * p[1])) for name, o in true.items()}
    with pytest.raises(AssertionError, match="off by"):
        assert_true(swollen, true)


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo") / "sedge"
    done = CliRunner().invoke(app, ["demo", str(folder), "--time", "2s", "--json"])
    assert done.exit_code == 0, done.stderr
    return folder, json.loads(done.stdout)


@pytest.mark.slow
def test_the_demo_scan_gives_the_drawings_outlines(demo):
    traced = {stored.name: stored.outline for stored in trace_job(open_job(demo[0])).outlines}
    assert_true(traced, {part.name: part.outline for part in sedge_plan().parts})


@pytest.mark.slow
@pytest.mark.parametrize("run", range(3))
def test_a_freshly_worn_scan_gives_the_drawings_outlines(run):
    seed = random.SystemRandom().randrange(10**6)
    print(f"scan worn with seed {seed}")
    assert_scan_is_true(seed)


@pytest.mark.slow
# 482054: two lines of a letter in the tailplane touch in a sliver that crosses itself; a crease divides the ground.
# 910000: round a speck in a letter goes a line of one pixel, thus of no length, of which no mean could be told.
@pytest.mark.parametrize("seed", [482054, 910000])
def test_a_scan_that_was_once_misread_gives_the_drawings_outlines(seed):
    assert_scan_is_true(seed)


def assert_scan_is_true(seed):
    picture, truth = draw_sedge_scan(seed)
    height, width = picture.shape[:2]
    page = Page(
        name=f"seed {seed}", number=1, count=1, grey=picture, strokes=(), width=width, height=height,
        is_y_up=False, stated_px_per_mm=None, notes=(),
    )  # fmt: skip
    scale = fit_scale(page, [KnownDimension(start, end, length) for start, end, length in truth.known])
    picks = [PartPick(name, (point,), line=truth.lines.get(name, "solid")) for name, point in truth.picks.items()]
    trace = trace_picks(page, scale, picks)
    assert_true({part.name: part.outline for part in trace.parts}, truth.outlines)


@pytest.mark.slow
def test_the_demo_is_weighed_nested_and_proved(demo):
    _, result = demo
    chosen = [weight for weight in result["weigh"]["weights"] if weight["chosen"]]
    assert len(chosen) == 10  # seven parts, of them two doublers and three gussets
    assert result["nest"]["proved"] is True
    assert result["nest"]["unplaced"] == []
    placed = [(p["part"], p["copy"]) for board in result["nest"]["boards"] for p in board["placements"]]
    assert sorted(placed) == sorted((weight["part"], weight["copy"]) for weight in chosen)


@pytest.mark.slow
def test_the_demos_dxf_and_svg_hold_every_part_at_its_true_area(demo):
    """Read by other libraries: pyogrio (GDAL's DXF driver) and svgpathtools."""
    folder, result = demo
    for part in result["trace"]["parts"]:
        outline = Outline.from_points(part["outline"], part["cutouts"])
        # The wing is drawn under 6 degrees of dihedral and cut in its true length.
        longer = 1 / math.cos(math.radians(6.0)) if part["name"].startswith("wing") else 1.0
        stem = next(name for name in result["files"] if name == f"part-{part['name'].replace(' ', '-')}.dxf")[:-4]
        for area in (_dxf_area(folder / "out" / f"{stem}.dxf"), _svg_area(folder / "out" / f"{stem}.svg")):
            assert area == pytest.approx(outline.area_mm2 * longer, rel=FILE_AREA_SHARE)


CUT_LAYERS = {"outline-cut", "opening-cut", "drill-hole"}


def _dxf_area(path):
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.05"})  # GDAL chords arcs at 4 degrees by default
    info, _, geometry, columns = pyogrio.raw.read(path)
    layers = columns[list(info["fields"]).index("Layer")]
    lines = [
        line
        for line, layer in zip(shapely.from_wkb(geometry), layers, strict=True)
        if layer.lower().replace("_", "-") in CUT_LAYERS
    ]
    return _net_area(shapely.Polygon(line.coords).area for line in lines)


def _svg_area(path):
    space = {"svg": "http://www.w3.org/2000/svg"}
    groups = [
        group for group in ElementTree.parse(path).getroot().findall("svg:g", space) if group.get("id") in CUT_LAYERS
    ]
    rings = [svgpathtools.parse_path(drawn.get("d")) for group in groups for drawn in group.findall("svg:path", space)]
    return _net_area(abs(_fine_area(ring)) for ring in rings)


def _net_area(areas):
    exterior, *cutouts = sorted(areas, reverse=True)
    return exterior - sum(cutouts)


def _fine_area(ring):
    points = np.array([segment.point(t) for segment in ring for t in np.linspace(0, 1, 400, endpoint=False)])
    x, y = points.real, points.imag
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


@pytest.mark.slow
def test_the_demo_runs_again_on_its_own_results(demo, tmp_path):
    folder = tmp_path / "again"
    shutil.copytree(demo[0], folder)
    done = CliRunner().invoke(app, ["run", str(folder), "--time", "2s"])
    assert done.exit_code == 0, done.stderr
    assert "tracing" not in done.stderr
