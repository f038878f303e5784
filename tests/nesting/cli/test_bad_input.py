"""Bad input: one clear sentence, the documented exit code, no traceback, nothing lost."""

import os
import subprocess
import sys
from pathlib import Path

import pikepdf
import pytest
from PIL import Image

from tests.nesting.cli.conftest import draw_plan

ROOT = Path(__file__).parents[3]


def assert_one_sentence(answer, code, *words):
    assert answer.code == code, answer.err
    last = answer.err.strip().splitlines()[-1]
    assert last.startswith("sheetwood: ")
    for word in words:
        assert word in last
    assert "Traceback" not in answer.err


def test_a_missing_plan_file(small_job, sheetwood):
    (small_job.folder / "plan.png").unlink()
    assert_one_sentence(sheetwood("trace", small_job.folder), 3, "plan.png")


@pytest.mark.parametrize(
    "data", [b"", b"not a picture", b"\x89PNG\r\n\x1a\n damaged"], ids=["empty", "text", "damaged"]
)
def test_an_unreadable_plan_file(small_job, sheetwood, data):
    (small_job.folder / "plan.png").write_bytes(data)
    assert_one_sentence(sheetwood("trace", small_job.folder), 3, "plan.png")


def test_a_page_past_the_end(small_job, sheetwood):
    small_job.edit('file = "plan.png"', 'file = "plan.png"\npage = 3')
    assert_one_sentence(sheetwood("trace", small_job.folder), 3, "page 3", "plan.png")


@pytest.mark.parametrize("pick", ["[5000, 120]", "[-3, 120]"])
def test_a_pick_off_the_page_is_open_and_the_other_part_is_given(small_job, sheetwood, pick):
    small_job.edit("[300, 120]", pick)
    answer = sheetwood("trace", small_job.folder, "--json")
    assert answer.code == 4
    assert [part["name"] for part in answer.json["parts"]] == ["fin"]
    assert [note["part"] for note in answer.json["notes"] if note["state"] == "open"] == ["plate"]


def test_a_pick_on_a_line_is_open_and_the_other_part_is_given(small_job, sheetwood):
    small_job.edit("[300, 120]", "[300, 40]")
    answer = sheetwood("trace", small_job.folder, "--json")
    assert answer.code == 4
    assert [part["name"] for part in answer.json["parts"]] == ["fin"]


def test_a_leak_is_open_and_says_where_the_gap_is(small_job, sheetwood):
    gap_px = 40  # 10 mm, more than is bridged
    draw_plan(small_job.folder / "plan.png", gap_px=gap_px)
    answer = sheetwood("trace", small_job.folder, "--json")
    assert answer.code == 4
    assert [part["name"] for part in answer.json["parts"]] == ["fin"]
    places = [note["at"] for note in answer.json["notes"] if note["part"] == "plate" and note["state"] == "open"]
    assert any(abs(x - (250 + gap_px / 2)) < 30 and abs(y - 200) < 30 for x, y in filter(None, places))


def test_a_known_dimension_of_zero_length(small_job, sheetwood):
    small_job.edit("to = [440, 300]", "to = [40, 300]")
    assert_one_sentence(sheetwood("trace", small_job.folder), 3)
    small_job.edit("to = [40, 300]", "to = [440, 300]")
    small_job.edit('length = "100 mm"', 'length = "0 mm"')
    assert_one_sentence(sheetwood("trace", small_job.folder), 3)


def test_no_known_dimension_offers_what_can_be_done(small_job, sheetwood):
    text = (small_job.folder / "job.toml").read_text(encoding="utf-8")
    start, end = text.index("[[plan.known]]"), text.index("[[part]]")
    (small_job.folder / "job.toml").write_text(text[:start] + text[end:], encoding="utf-8")
    assert_one_sentence(sheetwood("trace", small_job.folder), 3, "known")


def test_a_missing_unit(small_job, sheetwood):
    small_job.edit('thickness = "3 mm"', "thickness = 3")
    assert_one_sentence(sheetwood("trace", small_job.folder), 3, "'plate', thickness", "without a unit")


def test_a_thickness_with_no_board_leaves_the_other_part(small_job, sheetwood):
    small_job.edit('name = "fin"\npick = [[580, 120]]\nmaterial = "balsa"\nthickness = "3 mm"',
                   'name = "fin"\npick = [[580, 120]]\nmaterial = "balsa"\nthickness = "12 mm"')  # fmt: skip
    answer = sheetwood("weigh", small_job.folder, "--json")
    assert answer.code == 4
    assert {weight["part"] for weight in answer.json["weights"]} == {"plate"}
    assert "12" in next(note["text"] for note in answer.json["notes"] if note["part"] == "fin")


def test_a_board_of_zero_mass(small_job, sheetwood):
    small_job.edit("8.6 g", "0 g", file="rack.csv")
    assert_one_sentence(sheetwood("weigh", small_job.folder), 3, "rack.csv row 2", "mass")


def test_a_bad_row_of_the_rack_is_named_with_its_column(small_job, sheetwood):
    small_job.edit("heavy,balsa,3 mm,3.0 mm,300 mm", "heavy,balsa,3 mm,3.0 mm,long", file="rack.csv")
    assert_one_sentence(sheetwood("weigh", small_job.folder), 3, "rack.csv", "row 3", "length", "long")


def test_a_missing_rack(small_job, sheetwood):
    (small_job.folder / "rack.csv").unlink()
    assert_one_sentence(sheetwood("weigh", small_job.folder), 3, "rack.csv")


def test_an_unknown_paper(small_job, sheetwood):
    assert_one_sentence(sheetwood("pattern", small_job.folder, "--paper", "A44", "--time", "1s"), 3, "A44")


def test_an_output_file_that_somebody_edited_is_kept(small_job, sheetwood):
    assert sheetwood("pattern", small_job.folder, "--part", "fin", "--as", "svg", "--time", "1s").code == 0
    target = small_job.folder / "out" / "part-fin.svg"
    target.write_text("mine", encoding="utf-8")
    answer = sheetwood("pattern", small_job.folder, "--part", "fin", "--as", "svg")
    assert answer.code == 4
    assert "part-fin.svg" in answer.err
    assert target.read_text(encoding="utf-8") == "mine"
    assert sheetwood("pattern", small_job.folder, "--part", "fin", "--as", "svg", "--force").code == 0
    assert target.read_text(encoding="utf-8") != "mine"


def test_an_output_folder_that_cannot_be_written(small_job, sheetwood):
    (small_job.folder / "out").write_text("a file where a folder should be", encoding="utf-8")
    assert_one_sentence(sheetwood("nest", small_job.folder, "--sweeps", "5"), 6, "out")
    assert (small_job.folder / "out").read_text(encoding="utf-8") == "a file where a folder should be"


@pytest.mark.skipif(sys.platform == "win32", reason="folder permissions work otherwise there")
def test_a_read_only_output_folder(small_job):
    """As somebody who may not write there; root would be allowed everything."""
    out = small_job.folder / "out"
    out.mkdir()
    out.chmod(0o555)
    # A child that is root becomes a common user first; the job stays readable to it.
    for path in (small_job.folder, *small_job.folder.parents):
        if path.owner() == out.owner() and path != Path("/"):
            path.chmod(path.stat().st_mode | 0o055)
    program = (
        "import os, pathlib, sys\n"
        "from nesting.job.files import write_results\n"
        "from vectorize.basics.errors import WriteError\n"
        "if os.getuid() == 0:\n    os.setgid(65534); os.setuid(65534)\n"
        "try:\n    write_results(pathlib.Path(sys.argv[1]), {'a.svg': b'x'})\n"
        "except WriteError as error:\n    print(error.exit_code, error)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, str(out)], cwd=ROOT, capture_output=True, text=True, check=False, env=os.environ
    )
    out.chmod(0o755)
    assert done.stdout.startswith("6 cannot write manifest.json in"), done.stdout + done.stderr


def test_a_part_that_fits_no_board_is_named_with_sizes(small_job, sheetwood):
    small_job.edit("300 mm,80 mm,8.6 g", "90 mm,80 mm,2.6 g", file="rack.csv")
    small_job.edit("300 mm,80 mm,13.0 g", "95 mm,80 mm,4.1 g", file="rack.csv")
    answer = sheetwood("nest", small_job.folder, "--json", "--sweeps", "20")
    assert answer.code == 4
    assert {u["part"] for u in answer.json["unplaced"]} == {"plate"}
    reason = answer.json["unplaced"][0]["reason"]
    assert "100" in reason
    assert "83" in reason  # 95 mm less 6 mm at both ends
    assert answer.json["proved"] is True


def test_nothing_fits_at_all(small_job, sheetwood):
    for size, mass in (("300 mm,80 mm", "8.6 g"), ("300 mm,80 mm", "13.0 g")):
        small_job.edit(f"{size},{mass}", "30 mm,20 mm,0.25 g", file="rack.csv")
    answer = sheetwood("nest", small_job.folder, "--sweeps", "20")
    assert_one_sentence(answer, 5, "plate")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["trace", "no-such-folder"], "no-such-folder"),
        (["weigh", "no-such-folder"], "sheetwood new"),
        (["demo", "somewhere", "--name", "no-such-demo"], "no-such-demo"),
    ],
)
def test_a_job_that_is_not_there(sheetwood, tmp_path, monkeypatch, arguments, words):
    monkeypatch.chdir(tmp_path)
    answer = sheetwood(*arguments)
    assert answer.code in (2, 3)
    assert words in answer.err
    assert list(tmp_path.iterdir()) == []


def test_a_picture_beyond_the_limit_says_how_to_raise_it_and_the_option_sets_it(small_job, sheetwood, tmp_path):
    large, fair = tmp_path / "large.tif", tmp_path / "fair.tif"
    Image.new("1", (24000, 21000), 1).save(large, compression="group4", dpi=(300, 300))
    Image.new("1", (2000, 1000), 1).save(fair, compression="group4", dpi=(300, 300))
    leftover = ("--board", "rest", "--material", "balsa", "--thickness", "3 mm", "--sheet", "A3")
    for words in (("trace",), ("rack", "photo", small_job.folder)):
        more = leftover if words[0] == "rack" else ("--as-drawn",)
        answer = sheetwood(*words, large, *more)
        assert_one_sentence(answer, 3, "504 million; the limit is 500 million", "--largest-megapixels 504 ")
        answer = sheetwood(*words, fair, *more, "--largest-megapixels", "1")
        assert_one_sentence(answer, 3, "2 million; the limit is 1 million", "--largest-megapixels 2 ")
        assert sheetwood(*words, fair, *more, "--largest-megapixels", "0").code == 2


def test_a_locked_plan_asks_for_a_copy_without_a_password(sheetwood, tmp_path):
    document = pikepdf.new()
    document.add_blank_page(page_size=(300, 200)).Contents = document.make_stream(b"10 10 m 90 90 l S")
    document.save(tmp_path / "plan.pdf", encryption=pikepdf.Encryption(owner="x", user="u"))
    answer = sheetwood("trace", tmp_path / "plan.pdf", "--as-drawn")
    assert_one_sentence(answer, 3, "plan.pdf is locked", "save or print it as a PDF without one, and give that copy")
    document.save(tmp_path / "plan.pdf", encryption=pikepdf.Encryption(owner="x", user=""))
    assert sheetwood("trace", tmp_path / "plan.pdf", "--as-drawn", "--json").code == 0


@pytest.mark.parametrize("text", ["a = " + "[" * 100_000, "[job]\nunits = " + "{a=" * 50_000])
def test_a_job_file_of_brackets_without_end(small_job, sheetwood, text):
    (small_job.folder / "job.toml").write_text(text, encoding="utf-8")
    assert_one_sentence(sheetwood("weigh", small_job.folder), 3, "job.toml")


def test_a_name_without_end_leaves_a_message_that_can_be_read(small_job, sheetwood):
    small_job.edit("light,balsa,3 mm", f"{'B' * 5000},balsa,3", file="rack.csv")
    answer = sheetwood("compare", small_job.folder, "plate", "X" * 5000)
    assert_one_sentence(answer, 3)
    assert len(answer.err.strip().splitlines()[-1]) <= 400
