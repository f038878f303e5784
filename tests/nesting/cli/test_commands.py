"""Each command on a small job of our own drawing, and the way from one to the next."""

import math
import shutil

import ezdxf
import pytest
from PIL import Image, ImageDraw

PLATE_MM2 = 100.0 * 40.0 - math.pi * 5.0**2
FIN_MM2 = 40.0 * 30.0
AREA_TOL = 0.01  # a 0.25 mm pixel, drawn without smoothing


def test_trace_gives_true_areas(small_job, sheetwood):
    answer = sheetwood("trace", small_job.folder, "--json")
    assert answer.code == 0, answer.err
    areas = {part["name"]: part["area_mm2"] for part in answer.json["parts"]}
    assert areas["plate"] == pytest.approx(PLATE_MM2, rel=AREA_TOL)
    assert areas["fin"] == pytest.approx(FIN_MM2, rel=AREA_TOL)
    assert (small_job.folder / "outlines" / "plate.json").exists()


def test_trace_is_remembered_and_made_anew_when_the_scan_changes(small_job, sheetwood):
    first = sheetwood("trace", small_job.folder, "--json").json
    again = sheetwood("trace", small_job.folder, "--json")
    assert again.json["parts"] == first["parts"]
    assert "tracing" not in again.err
    data = (small_job.folder / "plan.png").read_bytes()
    (small_job.folder / "plan.png").write_bytes(data + b"\0")
    assert "tracing" in sheetwood("trace", small_job.folder, "--json").err


def test_a_corrected_outline_wins_and_the_difference_is_told(small_job, sheetwood):
    import json

    from vectorize.shapes.outline import Outline

    sheetwood("trace", small_job.folder)
    (small_job.folder / "corrected").mkdir()
    square = Outline.rectangle(0, 0, 30, 30)
    path = small_job.folder / "corrected" / "fin.json"
    path.write_text(json.dumps({"outline": square.as_json()}), encoding="utf-8")
    answer = sheetwood("trace", small_job.folder, "--json")
    fin = next(part for part in answer.json["parts"] if part["name"] == "fin")
    assert fin["area_mm2"] == pytest.approx(900.0)
    assert any(note["code"] == "corrected" and note["part"] == "fin" for note in answer.json["notes"])
    path.write_text("damaged", encoding="utf-8")
    assert sheetwood("trace", small_job.folder).code == 3


def test_without_parts_candidates_are_listed_with_a_picture(small_job, sheetwood):
    text = (small_job.folder / "job.toml").read_text(encoding="utf-8")
    start, end = text.index("[[part]]"), text.index("[nest]")
    (small_job.folder / "job.toml").write_text(text[:start] + text[end:], encoding="utf-8")
    answer = sheetwood("trace", small_job.folder, "--json")
    assert answer.code == 0, answer.err
    sizes = [round(part["area_mm2"], -2) for part in answer.json["parts"]]
    assert sizes[:2] == [3900.0, 1200.0]  # the parts come first, the hole in one of them after
    x, y = answer.json["parts"][0]["inside_px"]
    assert 40 < x < 440
    assert 40 < y < 200
    assert (small_job.folder / "out" / "regions-sheet.png").read_bytes().startswith(b"\x89PNG")


def test_the_readings_of_a_doubtful_part_are_drawn_side_by_side(small_job, sheetwood):
    with Image.open(small_job.folder / "plan.png") as plan:
        ImageDraw.Draw(plan).line([(250, 20), (250, 220)], fill=20, width=3)
        plan.save(small_job.folder / "plan.png")
    small_job.edit('file = "plan.png"', 'file = "plan.png"\nsure = 1.0')
    answer = sheetwood("trace", small_job.folder)
    assert answer.code == 4
    picture = small_job.folder / "out" / "doubtful-sheet.png"
    assert str(picture) in answer.err.replace("\n", "")
    with Image.open(picture) as shown:
        assert shown.width > 1.5 * shown.height  # one row of two readings or more
    # Whoever changed it keeps it, and is told.
    picture.write_bytes(b"mine")
    answer = sheetwood("trace", small_job.folder, "--json")
    assert "kept-edited-file" in {note["code"] for note in answer.json["notes"]}
    assert picture.read_bytes() == b"mine"


def test_no_picture_of_readings_is_drawn_where_nothing_is_doubtful(small_job, sheetwood):
    assert sheetwood("trace", small_job.folder).code == 0
    assert not list((small_job.folder / "out").glob("doubtful-*"))


def test_a_bare_picture_is_traced_with_a_known_dimension(small_job, sheetwood):
    plan = small_job.folder / "plan.png"
    answer = sheetwood("trace", plan, "--known", "40,300,440,300,100 mm", "--json")
    assert answer.code == 0, answer.err
    assert answer.json["parts"][0]["area_mm2"] == pytest.approx(PLATE_MM2, rel=AREA_TOL)
    assert (small_job.folder / "plan-out" / "regions-plan.png").exists()


def test_a_bare_drawing_without_units_is_traced_in_the_unit_that_is_named(tmp_path, sheetwood):
    drawing = ezdxf.new("R2010")
    drawing.header["$INSUNITS"] = 0
    drawing.modelspace().add_lwpolyline([(0, 0), (8, 0), (8, 2), (0, 2)], close=True)
    drawing.saveas(tmp_path / "plate.dxf")
    answer = sheetwood("trace", tmp_path / "plate.dxf", "--unit", "in", "--json")
    assert answer.code == 0, answer.err
    assert answer.json["parts"][0]["area_mm2"] == pytest.approx(16 * 25.4**2)
    unnamed = sheetwood("trace", tmp_path / "plate.dxf", "--json")
    assert unnamed.code == 4
    assert "name its unit (--unit mm" in unnamed.err
    wrong = sheetwood("trace", tmp_path / "plate.dxf", "--unit", "furlong")
    assert wrong.code == 2
    assert "give one of mm, cm, m, in, ft" in wrong.err


def test_scale_shows_factor_and_adds_a_known_dimension(small_job, sheetwood):
    answer = sheetwood("scale", small_job.folder, "--json")
    assert answer.json["scales"][0]["mm_per_px"] == pytest.approx([0.25, 0.25], rel=1e-6)
    answer = sheetwood("scale", small_job.folder, "--add", "40,40,40,200,40 mm", "--json")
    assert answer.code == 0, answer.err
    assert [known["length_mm"] for known in answer.json["scales"][0]["known"]] == [100.0, 40.0]
    assert 'length = "40 mm"' in (small_job.folder / "job.toml").read_text(encoding="utf-8")


def test_weigh_gives_area_times_the_boards_weight_per_area(small_job, sheetwood):
    # mass = part area / board area x board mass: thickness cancels (definition of density).
    answer = sheetwood("weigh", small_job.folder, "--json")
    assert answer.code == 0, answer.err
    light = next(w for w in answer.json["weights"] if (w["part"], w["board"]) == ("plate", "light"))
    assert light["mass_g"] == pytest.approx(PLATE_MM2 / (300 * 80) * 8.6, rel=AREA_TOL)
    assert light["chosen"] is True
    assert light["sigma_g"] > 0
    copies = {w["copy"] for w in answer.json["weights"] if w["part"] == "fin"}
    assert copies == {1, 2}


def test_nest_places_every_copy_and_proves_it(small_job, sheetwood):
    answer = sheetwood("nest", small_job.folder, "--json", "--sweeps", "20")
    assert answer.code == 0, answer.err
    placed = sorted((p["part"], p["copy"]) for board in answer.json["boards"] for p in board["placements"])
    assert placed == [("fin", 1), ("fin", 2), ("plate", 1)]
    assert answer.json["proved"] is True
    flips = {p["copy"]: p["flipped"] for b in answer.json["boards"] for p in b["placements"] if p["part"] == "fin"}
    assert flips == {1: False, 2: True}


def test_a_placement_moves_the_traced_outline_onto_the_board(small_job, sheetwood):
    """The contract between `trace` and `nest`: mirror in x, turn, move the outline's own origin."""
    from shapely.affinity import affine_transform
    from shapely.geometry import Polygon, box

    parts = {p["name"]: p for p in sheetwood("trace", small_job.folder, "--json").json["parts"]}
    layout = sheetwood("nest", small_job.folder, "--json", "--sweeps", "20").json
    for board in layout["boards"]:
        laid = []
        for p in board["placements"]:
            sign, angle = (-1 if p["flipped"] else 1), math.radians(p["angle_deg"])
            matrix = [sign * math.cos(angle), -math.sin(angle), sign * math.sin(angle), math.cos(angle),
                      p["x_mm"], p["y_mm"]]  # fmt: skip
            laid.append(affine_transform(Polygon(parts[p["part"]]["outline"]), matrix))
        for polygon in laid:
            assert box(6, 1, 294, 79).buffer(1e-3).contains(polygon)
        gaps = [a.distance(b) for i, a in enumerate(laid) for b in laid[:i]]
        assert all(gap >= 0.5 - 1e-3 for gap in gaps)


def test_nest_is_the_same_for_the_same_seed_and_sweeps(small_job, sheetwood):
    first = sheetwood("nest", small_job.folder, "--json", "--sweeps", "20", "--seed", "7").json
    assert sheetwood("nest", small_job.folder, "--json", "--sweeps", "20", "--seed", "7").json == first


def test_run_writes_patterns_of_boards_and_parts(small_job, sheetwood):
    answer = sheetwood("run", small_job.folder, "--json", "--time", "1s")
    assert answer.code == 0, answer.err
    names = set(answer.json["files"])
    for stem in ("part-plate", "part-fin"):
        assert {f"{stem}.pdf", f"{stem}.svg", f"{stem}.dxf"} <= names
    assert any(name.startswith("board-") and name.endswith(".pdf") for name in names)
    assert all((small_job.folder / "out" / name).exists() for name in names)


def test_run_shows_tables_for_people(small_job, sheetwood):
    answer = sheetwood("run", small_job.folder, "--time", "1s")
    for word in ("Outlines", "Weights", "Layout", "plate", "light", "oz"):
        assert word in answer.out
    assert "proved" in answer.err


def test_a_second_run_replaces_its_own_files(small_job, sheetwood):
    assert sheetwood("run", small_job.folder, "--time", "1s").code == 0
    assert sheetwood("run", small_job.folder, "--time", "1s").code == 0


def test_names_with_accents_and_marks_work_throughout(small_job, sheetwood):
    small_job.edit('name = "fin"', 'name = "Höhenleitwerk Ø3 \'#/½"')
    answer = sheetwood("run", small_job.folder, "--json", "--time", "1s")
    assert answer.code == 0, answer.err
    assert any("Höhenleitwerk" in name for name in answer.json["files"])


def test_a_pinned_part_stays_where_it_is_put(small_job, sheetwood):
    # The plan's plate runs from x = 10 mm, y = 40 mm; on the board it is to begin at 100 mm, 20 mm.
    pin = '[[nest.pin]]\npart = "plate"\nboard = "heavy"\nx = "90 mm"\ny = "-20 mm"\n\n[nest]\n'
    small_job.edit("[nest]\n", pin)
    answer = sheetwood("nest", small_job.folder, "--json", "--sweeps", "20")
    assert answer.code == 0, answer.err
    plates = [p for b in answer.json["boards"] if b["name"] == "heavy" for p in b["placements"] if p["part"] == "plate"]
    assert [(p["x_mm"], p["y_mm"], p["angle_deg"], p["flipped"]) for p in plates] == [(90.0, -20.0, 0.0, False)]


def test_a_couple_lies_side_by_side_on_one_board(small_job, sheetwood):
    small_job.edit("[nest]\n", '[nest]\nside_by_side = [["plate", "fin"]]\n')
    small_job.edit('hand = "pair"', "count = 1")
    answer = sheetwood("nest", small_job.folder, "--json", "--sweeps", "20")
    assert answer.code == 0, answer.err
    assert [len(board["placements"]) for board in answer.json["boards"]] == [2]


def test_rules_of_the_nest_table_reach_the_search(small_job):
    from nesting.job.folder import open_job
    from nesting.job.rules import rules_of

    table = '[nest]\ntool = "saw"\ncutouts = false\nentry_hole = "1 mm"\nsoft_patches = ["fin"]\n'
    small_job.edit('[nest]\ntool = "knife"\n', table)
    rules = rules_of(open_job(small_job.folder))
    assert (rules.tool, rules.allows_part_in_cutout, rules.entry_hole_mm) == ("saw", False, 1.0)
    assert rules.on_soft_patches == ("fin",)


def test_parts_that_are_drawn_alike_are_told_apart_from_their_mirror_images(tmp_path, sheetwood):
    picture = Image.new("L", (900, 400), 255)
    draw = ImageDraw.Draw(picture)
    wedge = [(0, 0), (160, 0), (160, 60), (60, 60), (0, 200)]
    for left, hand in ((60, 1), (300, 1), (780, -1)):
        corners = [(left + hand * x, 60 + y) for x, y in wedge]
        draw.line([*corners, corners[0], corners[1]], fill=0, width=3, joint="curve")
    draw.line([(40, 340), (440, 340)], fill=0, width=2)
    picture.save(tmp_path / "plan.png")
    answer = sheetwood("trace", tmp_path / "plan.png", "--known", "40,340,440,340,100 mm", "--json")
    in_order = sorted(answer.json["parts"], key=lambda part: part["inside_px"])
    same = [part["same_as"] for part in in_order]
    (first,) = (part["name"] for part in in_order if part["same_as"] is None)
    assert {like["part"] for like in same if like} == {first}
    turned = [like["mirrored"] for like in same if like]
    assert turned == ([True, True] if same[2] is None else [False, True])
    assert [note["code"] for note in answer.json["notes"]].count("same-shape") == 1


@pytest.mark.parametrize("known", ["40,300,440,300,100mm", "441,302,41,299,4in"])
def test_a_known_dimension_that_is_there_already_is_refused(small_job, sheetwood, known):
    before = (small_job.folder / "job.toml").read_bytes()
    done = sheetwood("scale", small_job.folder, "--add", known)
    assert done.code == 2
    assert "already" in done.err
    assert (small_job.folder / "job.toml").read_bytes() == before


def test_a_known_dimension_that_contradicts_the_others_is_refused_and_not_kept(small_job, sheetwood):
    before = (small_job.folder / "job.toml").read_bytes()
    done = sheetwood("scale", small_job.folder, "--add", "40,40,40,200,25 mm")
    assert done.code == 3
    assert (
        "nothing was added: known dimension 1 (100 mm) says 0.25000 mm per pixel and known dimension 2 (25 mm)"
        in done.err
    )
    assert (small_job.folder / "job.toml").read_bytes() == before


def test_shapes_are_not_called_alike_before_there_is_a_scale(small_job, sheetwood):
    path = small_job.folder / "job.toml"
    text = path.read_text(encoding="utf-8")
    bare = text.split("[[plan.known]]")[0] + '\n[nest]\ntool = "knife"\n'
    path.write_text(bare, encoding="utf-8")
    image = Image.open(small_job.folder / "plan.png")
    image.paste(image.crop((480, 40, 680, 200)), (480, 200))  # the fin once more
    image.save(small_job.folder / "plan.png")
    result = sheetwood("trace", small_job.folder, "--json").json
    codes = [note["code"] for note in result["notes"]]
    assert "no-scale" in codes
    assert "same-shape" not in codes


def test_run_tells_what_was_said_when_the_parts_were_laid_out(small_job, sheetwood):
    assert sheetwood("nest", small_job.folder, "--sweeps", "1").code == 0
    small_job.edit('name = "plate"\n', 'name = "plate"\ncut = true\n')

    done = sheetwood("run", small_job.folder, "--time", "1s", "--json")

    assert [note["text"] for note in done.json["notes"] if note["code"] == "kept-in-place"] == [
        "plate 1: already cut, so left in place."
    ]


def test_what_was_done_in_tracing_is_told_when_it_is_done_and_by_trace_and_run(small_job, sheetwood):
    taken = "taken as a cut-out"
    shutil.rmtree(small_job.folder / "outlines", ignore_errors=True)
    assert taken in sheetwood("nest", small_job.folder, "--sweeps", "5").err  # which had to trace first
    for words in (("nest", "--sweeps", "5"), ("weigh",), ("pattern",), ("assign", "--time", "1s")):
        command, *others = words
        assert taken not in sheetwood(command, small_job.folder, *others).err
        if command != "assign":
            notes = sheetwood(command, small_job.folder, *others, "--json").json["notes"]
            assert any(taken in note["text"] for note in notes)
    for command in ("trace", "run"):
        assert taken in sheetwood(command, small_job.folder).err


def test_what_parts_are_made_with_is_told_where_they_are_weighed_and_laid_out(small_job, sheetwood):
    text = (small_job.folder / "job.toml").read_text(encoding="utf-8")
    (small_job.folder / "job.toml").write_text(text.replace('grain = "0 deg"\n', ""), encoding="utf-8")
    said = {
        words[0]: "grain" in sheetwood(words[0], small_job.folder, *words[1:]).err
        for words in (("weigh",), ("nest", "--sweeps", "5"), ("pattern",), ("assign", "--time", "1s"))
    }
    assert said == {"weigh": True, "nest": True, "pattern": False, "assign": False}


def test_nobody_asks_for_a_known_dimension_where_there_is_one(small_job, sheetwood):
    for command in ("scale", "trace"):
        answer = sheetwood(command, small_job.folder)
        assert (answer.code, "states no resolution" in answer.err) == (0, False)
