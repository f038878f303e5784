"""A sheet joined from two scans at the desk: a click on it is kept as a pixel of the scan that it fell on."""

import pytest
from PIL import Image

from nesting.job.folder import open_job
from tests.nesting.desk.conftest import finished, open_desk
from tests.vectorize.scale.joined.scan_pieces import DPI, WINDOWS, piece, sheet


@pytest.fixture(scope="module")
def joined(tmp_path_factory):
    folder = tmp_path_factory.mktemp("joined")
    plan = sheet()
    tiles = [
        piece(plan, WINDOWS["left"], name="left.png", skew_deg=-1.1),
        piece(plan, WINDOWS["right"], name="right.png", skew_deg=0.8, seed=2),
    ]
    for tile in tiles:
        Image.fromarray(tile.page.grey).save(folder / tile.page.name, dpi=(DPI, DPI))
    (x0, y0), (x1, y1) = tiles[0].pixel(12, 10), tiles[1].pixel(132, 10)
    text = (
        f'[[plan]]\nfiles = ["left.png", "right.png"]\n[[plan.known]]\nfrom = [{x0}, {y0}, 1]\nto = [{x1}, {y1}, 2]\n'
    )
    (folder / "job.toml").write_text(text + 'length = "120 mm"\n', encoding="utf-8")
    desk = open_desk(folder)
    yield desk, tiles
    desk.workshop.close()


def followed_state(desk):
    desk.workshop.follow()
    assert finished(desk.workshop, "follow")["state"] == "done"
    return desk.state()


def test_a_part_picked_on_a_joined_sheet_is_kept_by_file_and_shown_where_it_was_clicked(joined):
    desk, tiles = joined
    (known,) = followed_state(desk)["plans"][0]["known"]
    assert len(known["from"]) == len(known["to"]) == 2
    # Both ends of the known length lie on one line of the sheet, some 120 mm apart, whichever scan they are on.
    px_per_mm = (known["to"][0] - known["from"][0]) / 120
    assert px_per_mm == pytest.approx(DPI / 25.4, rel=0.05)
    at = [known["from"][0] + 48 * px_per_mm, known["from"][1] - 23 * px_per_mm]
    edit = {
        "kind": "set",
        "at": ["part", None],
        "value": {"name": "former", "plan": "plan", "pick": [at], "material": "balsa", "thickness": "3 mm"},
    }
    assert desk.post("edit", edit).status_code == 200
    (kept,) = open_job(desk.folder).spec.part[0].pick
    assert kept[2] in (1, 2)
    assert kept[:2] == pytest.approx(tiles[int(kept[2]) - 1].pixel(60, 33), abs=0.06 * DPI)
    (part,) = followed_state(desk)["parts"]
    assert part["fault"] is None
    assert part["area_mm2"] == pytest.approx(44 * 30, rel=0.0025)
    assert part["pick"][0] == pytest.approx(at, abs=0.5)


def test_places_of_the_balance_and_of_steps_on_a_joined_sheet_are_kept_by_file_and_shown_on_the_sheet(joined):
    desk, _ = joined
    state = followed_state(desk)
    (part,) = state["parts"]
    x, y = part["pick"][0]
    edits = [
        {"kind": "set", "at": ["balance", "datum"], "value": [x - 150, y]},
        {"kind": "set", "at": ["balance", "aft"], "value": [x + 90, y + 1]},
        {
            "kind": "set",
            "at": ["balance", "seat", None],
            "value": {"part": "former", "anchor": [x, y], "at": [x + 20, y + 5]},
        },
        {"kind": "set", "at": ["balance", "item", None], "value": {"name": "tank", "mass": "3 g", "at": [x + 60, y]}},
        {
            "kind": "set",
            "at": ["part", "former", "step", None],
            "value": {"make": "hole", "at": [[x, y]], "diameter": "4 mm"},
        },
    ]
    for edit in edits:
        assert desk.post("edit", edit).status_code == 200
    spec = open_job(desk.folder).spec
    balance = spec.balance
    kept = (balance.datum, balance.aft, balance.seat[0].anchor, balance.seat[0].at, balance.item[0].at)
    assert all(place[2] in (1, 2) for place in (*kept, spec.part[0].step[0].at[0]))
    shown = followed_state(desk)
    assert shown["parts"][0]["fault"] is None
    assert shown["parts"][0]["area_mm2"] == pytest.approx(part["area_mm2"] - 4 * 3.14159265, rel=1e-3)
    told = shown["balance"]
    for found, wanted in (
        (told["datum"], edits[0]["value"]),
        (told["aft"], edits[1]["value"]),
        (told["seats"]["former"]["anchor"], edits[2]["value"]["anchor"]),
        (told["seats"]["former"]["at"], edits[2]["value"]["at"]),
        (told["items"][0]["at"], edits[3]["value"]["at"]),
    ):
        assert found == pytest.approx(wanted, abs=0.5)
