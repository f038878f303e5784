"""Whole jobs that are as small as a job can be, one for each format of plan, with every kind of file in them.

The plan, 75 × 50 mm, y up:

    +----------+   +----+
    |  o       |   |    |     plate 40 × 20 mm with a 6 mm hole at (5, 25), fin 16 × 20 mm at (52, 25)
    +----------+   +----+
    |--------------------|    a known dimension of 50 mm
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path

import ezdxf
import numpy as np
from PIL import Image, ImageDraw
from scipy.io import wavfile

from fixtures.pen_drawing import Plan
from fixtures.sawn_parts import Fault, Glass, cut_rings, scan
from fixtures.scanning import PlanMap
from fixtures.struck_board import struck_board
from fixtures.vectors import write_dxf, write_pdf, write_svg
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Point

PX_PER_MM = 4.0
TAPPED_M, TAP_RATE_HZ = 1.0, 16000
WIDTH_MM, HEIGHT_MM = 75.0, 50.0
PLATE = Outline(Ring.rectangle(5, 25, 45, 45), (Ring.circle((15, 35), 3).reversed(),))
FIN = Outline(Ring.rectangle(52, 25, 68, 45))
RASTERS = {"png": {}, "jpg": {"quality": 90}, "tif": {"compression": "tiff_lzw"}}
DRAWINGS: dict[str, Callable[[Plan, Path], PlanMap]] = {"svg": write_svg, "pdf": write_pdf, "dxf": write_dxf}
FORMATS = (*RASTERS, *DRAWINGS)

RACK = """name,material,thickness,measured thickness,length,width,mass,cut,bow,notes
B1,balsa,3 mm,3.0 mm,120 mm,60 mm,3.1 g,mixed,0 mm,light
B2,balsa,3 mm,3.0 mm,120 mm,60 mm,4.6 g,quarter,1 mm,"heavy, ½ kept"
P1,birch ply,0.8 mm,0.8 mm,100 mm,60 mm,3.3 g,,,
"""

_JOB = """# Bench notes survive.
[job]
format = 1
name = "Mite"
units = "mm"

[[plan]]
name = "sheet"
file = "plan.{ending}"
edge = "centre"
datum = {datum}
[[plan.known]]
from = {known[0]}
to = {known[1]}
length = "50 mm"

[[part]]
name = "plate"
plan = "sheet"
pick = [{pick}]
material = "balsa"
thickness = "3 mm"
grain = [{pick}, {along}]
"""

_RICH = """
[[part.step]]
make = "hole"
at = [{spot}]
diameter = "3 mm"

[[part]]
name = "fin"
pick = [{fin}]
material = "balsa"
thickness = "3 mm"
grain = "0 deg"
grain_tolerance = "free"
hand = "pair"
weighed = "0.4 g"

[part.carve]
section = {{ file = "section.dat" }}
span = [{root}, {tip}]
leading = {leading}
templates = ["7 mm"]
contours = "1.5 mm"

[[part]]
name = "doubler"
from = "plate"
material = "birch ply"
thickness = "0.8 mm"

[[part.step]]
make = "doubler"
stations = ["0 mm", "12 mm"]

[flex]
load = "5 g"

[[flex.option]]
name = "all sorts"
part = "fin"
boards = ["B2"]
leading_edge = {{ width = "2 mm", board = "B1" }}
spars = [{{ at = "40 %", width = "2 mm", depth = "0.5 mm", material = "spruce" }}]
skin = {{ board = "P1", grain = "45 deg", faces = "top" }}
covering = ["silk", "dope"]

[rack]
file = "rack.csv"

[nest]
tool = "saw"
ends = "2 mm"
seed = 3

[pattern]
paper = "A4"
formats = ["svg", "dxf"]

[balance]
datum = {datum}
range = ["10 mm", "30 mm"]
in_place = ["plate"]

[[balance.seat]]
part = "fin"
station = "40 mm"

[[balance.seat]]
part = "doubler"
anchor = {pick}
at = {pick}

[[balance.item]]
name = "hook"
mass = "1 g"
station = "5 mm"

[[balance.ballast]]
name = "nose"
station = "1 mm"
most = "20 g"

[[balance.alternative]]
name = "hook aft"
item = "hook"
station = "9 mm"

[[finish]]
parts = ["plate"]
both = ["tissue", "dope"]
sanding = "0.05 mm"

[[joint]]
name = "seam"
parts = ["plate", "fin"]
glue = "epoxy"
length = "16 mm"
width = "3 mm"

[[weighed]]
parts = ["plate"]
mass = "0.5 g"
stage = "cut"
"""

_PLAIN = """
[[part]]
name = "fin"
pick = [{fin}]
material = "balsa"
thickness = "3 mm"
grain = "90 deg"
count = 2

[nest]
tool = "saw"
"""

SECTION = """Mite section
1.0 0.0
0.8 0.04
0.6 0.06
0.3 0.09
0.1 0.06
0.0 0.0
0.1 -0.02
0.3 -0.03
0.6 -0.02
0.8 -0.01
1.0 0.0
"""


def make_tiny_job(folder: Path, ending: str, *, is_rich: bool = True) -> Path:
    """Write a job with its plan in the format of `ending` into `folder`, with every file that a builder may add."""
    folder.mkdir(parents=True, exist_ok=True)
    at = _place_on(draw_tiny_plan(folder / f"plan.{ending}"))
    places = {
        "datum": at(5, 35),
        "known": (at(5, 8), at(55, 8)),
        "pick": at(30, 35),
        "along": at(40, 35),
        "spot": at(38, 30),
        "fin": at(60, 35),
        "root": at(53, 35),
        "tip": at(67, 35),
        "leading": at(60, 45),
    }
    text = (_JOB + (_RICH if is_rich else _PLAIN)).format(ending=ending, **places)
    write_text(folder / "job.toml", text)
    write_text(folder / "rack.csv", RACK)
    write_text(folder / "section.dat", SECTION)
    _write_taps(folder / "taps.wav")
    write_text(folder / "notes.txt", "Ask at the club for 3 mm quarter grain.\n")
    _write_side_files(folder)
    return folder


def _write_taps(file: Path) -> None:
    sound = struck_board(np.random.default_rng(1), length_m=TAPPED_M, taps=3, rate_hz=TAP_RATE_HZ)
    wavfile.write(file, TAP_RATE_HZ, (32000 * sound).astype(np.int16))


def draw_tiny_plan(file: Path) -> PlanMap:
    """Draw the plan in the format that the file's ending names; return the map from mm to its points."""
    ending = file.suffix[1:]
    plan = tiny_plan()
    if ending in DRAWINGS:
        return _drawn(plan, file)
    picture = Image.new("L", (round(WIDTH_MM * PX_PER_MM), round(HEIGHT_MM * PX_PER_MM)), 245)
    pen = ImageDraw.Draw(picture)
    for ink in plan.inks:
        points = [point for segment in ink.segments for point in segment.flattened(0.1)] + [ink.segments[-1].end]
        pen.line([(x * PX_PER_MM, (HEIGHT_MM - y) * PX_PER_MM) for x, y in points], fill=20, width=3)
    picture.save(file, **RASTERS[ending])
    return PlanMap(np.array([[PX_PER_MM, 0, 0], [0, -PX_PER_MM, HEIGHT_MM * PX_PER_MM], [0, 0, 1.0]]))


def _drawn(plan: Plan, file: Path) -> PlanMap:
    """Write a drawing without dates or chance in it: a case is the same whenever it is made."""
    kept = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        return DRAWINGS[file.suffix[1:]](plan, file)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = kept


def tiny_plan() -> Plan:
    """Return the plan as it is drawn at the head of this module."""
    plan = Plan("tiny", WIDTH_MM, HEIGHT_MM)
    for name, outline in (("plate", PLATE), ("fin", FIN)):
        plan.part(name, outline, (0.0, 0.0), pen=0.6)
    plan.line((5, 8), (55, 8))
    for x in (5, 55):
        plan.line((x, 6), (x, 10))
    return plan


def _place_on(to_file: PlanMap) -> Callable[[float, float], list[float]]:
    def at(x: float, y: float) -> list[float]:
        return [round(float(value), 3) for value in np.ravel(to_file.to_pixels([(x, y)]))]

    return at


def _write_side_files(folder: Path) -> None:
    """A correction of the fin, a board with a cut corner and a blemish, an edited pattern, a leftover's photo."""
    fin = Outline.rectangle(52.0, 25.0, 67.5, 45.0)
    write_json(folder / "corrected" / "fin.json", {"name": "fin", "outline": fin.as_json()})
    board = Outline(Ring.from_points([(0.0, 0.0), (120.0, 0.0), (120.0, 50.0), (110.0, 60.0), (0.0, 60.0)]))
    knot = {"outline": Outline.rectangle(100.0, 5.0, 108.0, 12.0).as_json(), "is_soft": False, "text": "knot"}
    write_json(folder / "rack" / "B1.json", {"outline": board.as_json(), "blemishes": [knot]})
    edited = Plan("edited", 60, 40)
    edited.ring(Ring.rectangle(5, 5, 45, 25.5), 0.2)
    edited.ring(Ring.circle((15, 15), 3), 0.2)
    for ending in ("svg", "dxf"):
        _drawn(edited, folder / f"edited.{ending}")
    draw_leftover(folder / "leftover.png")
    draw_cut_plate(folder / "cut.png")


def draw_leftover(file: Path) -> None:
    """A dark board of 60 × 40 mm on a light sheet of 100 × 70 mm, on a dark table, turned by two degrees."""
    picture = Image.new("L", (240, 180), 60)
    pen = ImageDraw.Draw(picture)
    for (x0, y0, x1, y1), grey in (((20, 20, 220, 160), 250), ((60, 50, 180, 130), 120)):
        pen.polygon([_turned((x, y)) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))], fill=grey)
    picture.save(file)


def draw_cut_plate(file: Path) -> None:
    """The plate as it was cut, 0.4 mm proud in the middle of its upper edge, on the scanner."""
    hump = Fault("bump", 0.4, (30.0, 45.0), 8.0)
    grey = scan(cut_rings(PLATE, (hump,)), Glass(dpi=150, angle_deg=4.0), np.random.default_rng(1))
    Image.fromarray(grey).save(file, dpi=(150, 150))


def _turned(point: Point, angle_deg: float = 2.0) -> Point:
    turn = complex(math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg)))
    moved = (complex(*point) - complex(120, 90)) * turn + complex(120, 90)
    return moved.real, moved.imag


def write_text(path: Path, text: str) -> None:
    """Write UTF-8 with the folders that it needs."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode())


def write_json(path: Path, data: object) -> None:
    """Write JSON with the folders that it needs."""
    write_text(path, json.dumps(data, ensure_ascii=False))
