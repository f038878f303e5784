"""Everything that a plan says, by the command as a program gets it."""

import json

import pytest
from PIL import Image
from typer.testing import CliRunner

from nesting.cli.app import app
from tests.vectorize.marks.lettering.lettered_pages import DPI, PX_PER_MM
from tests.vectorize.marks.test_dimensions import DRAWN, sheet


def run(*words):
    return CliRunner().invoke(app, ["read", *map(str, words)])


def test_a_scan_gives_texts_dimensions_and_scale_and_leaves_nothing_behind(tmp_path):
    plan = tmp_path / "plan.png"
    Image.fromarray(sheet(DRAWN)).save(plan, dpi=(DPI, DPI))
    done = run(plan, "--json")
    result = json.loads(done.stdout)
    assert done.exit_code == 0, done.stderr
    assert {text["text"] for text in result["texts"]} >= {text for _, _, _, text, _ in DRAWN}
    assert sorted(one["length_mm"] for one in result["dimensions"] if one["agrees"]) == [50, 60, 80, 110]
    assert result["scale"]["px_per_mm"] == pytest.approx([PX_PER_MM] * 2, rel=0.002)
    assert [path.name for path in tmp_path.iterdir()] == ["plan.png"]


def test_a_plan_without_dimensions_is_done_in_part_and_says_what_to_do(tmp_path):
    plan = tmp_path / "plan.png"
    Image.fromarray(sheet(())).save(plan)
    done = run(plan)
    assert done.exit_code == 4
    assert "0 possible dimensions found" in " ".join(done.stderr.split())


def test_a_drawing_is_refused_with_what_to_do(tmp_path):
    plan = tmp_path / "plan.svg"
    drawn = '<path d="M1 1H8V8Z" stroke="black" fill="none"/>'
    plan.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">{drawn}</svg>')
    done = run(plan)
    assert done.exit_code == 3
    assert "give a scan or photo" in " ".join(done.stderr.split())
