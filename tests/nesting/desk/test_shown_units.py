"""Bare numbers are in the unit that the page shows; what can be read in two ways is asked about, at its field."""

import pytest

from nesting.desk.requests import read_edit
from nesting.desk.shown_units import with_shown_units, with_unit
from nesting.job.folder import open_job
from nesting.job.rack_files import read_rack
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, make_job
from tests.nesting.desk.test_browser import Sheet, opened_at, saved, settled, view
from vectorize.basics.errors import UnitError
from vectorize.basics.units import ANGLE, AREA_WEIGHT, DENSITY, LENGTH, MASS, STIFFNESS

MM_PER_INCH = 25.4
G_PER_OUNCE = 28.349523125


@pytest.mark.parametrize(
    ("text", "kind", "metric", "imperial"),
    [
        ("300", LENGTH, "300 mm", "300 in"),
        (" 8.7", MASS, "8.7 g", "8.7 oz"),
        ("1 1/4", LENGTH, "1 1/4 mm", "1 1/4 in"),
        ("3,5", LENGTH, "3,5 mm", "3,5 in"),
        ("120", DENSITY, "120 kg/m3", "120 lb/ft3"),
        ("15", ANGLE, "15 deg", "15 deg"),
        ("25", AREA_WEIGHT, "25 g/m2", "25 oz/yd2"),
        ("2.1", STIFFNESS, "2.1 GPa", "2.1 ksi"),
        ("3/32 in", LENGTH, "3/32 in", "3/32 in"),
    ],
)
def test_a_bare_number_takes_the_unit_that_is_shown(text, kind, metric, imperial):
    assert (with_unit(text, kind, "mm"), with_unit(text, kind, "in")) == (metric, imperial)


def test_a_doubtful_number_asks_in_plain_words():
    with pytest.raises(UnitError, match=r"^the length is '1,234', which can be read in two ways"):
        with_unit("1,234", LENGTH, "mm")


def _set(*at, value, also=()):
    return read_edit({"kind": "set", "at": list(at), "value": value, "also": [dict(one) for one in also]})


def test_quantities_get_units_at_any_depth_and_nothing_else_does():
    part = {
        "name": "3",
        "thickness": "2",
        "count": 4,
        "grain_tolerance": "free",
        "pick": [[1.5, 2]],
        "step": [{"make": "hole", "at": [{"station": "30", "height": 15}], "diameter": "6"}],
    }
    also = [{"at": ["balance", "range"], "value": ["80", "30 %"]}, {"at": ["balance", "lateral"], "value": "12 mm"}]
    done = with_shown_units(_set("part", None, value=part, also=also), "mm")
    assert done.value == part | {
        "thickness": "2 mm",
        "step": [{"make": "hole", "at": [{"station": "30 mm", "height": "15 mm"}], "diameter": "6 mm"}],
    }
    assert [one.value for one in done.also] == [["80 mm", "30 %"], "12 mm"]


def test_a_refusal_tells_what_was_found_without_the_way_to_its_field(desk):
    for at, value, told in (
        (["part", "plate", "count"], 0, "count is 0; it must be 1 or more."),
        (["part", "plate", "hand"], "third", "hand is 'third'; it must be"),
        (["plan", "sheet 1", "known", None], {"from": [0, 0], "to": [9, 9], "length": "far"}, "the length is 'far', "),
        (["plan", "sheet 1", "known", None], {"from": [0, 0], "length": "9"}, "to is missing."),
    ):
        answer = desk.edit(kind="set", at=at, value=value)
        assert answer.status_code == 422
        assert answer.json()["error"]["text"].startswith(told), answer.json()


def test_new_boards_and_cells_take_bare_numbers(desk):
    assert desk.edit(kind="add-boards", table="B3,balsa,3,,500,80,9.5,mixed,").status_code == 200
    assert desk.edit(kind="set-board", board="B1", field="mass", value="11").status_code == 200
    boards = {board.name: board for board in read_rack(open_job(desk.folder))}
    assert (boards["B3"].shape.bounds[2], boards["B3"].mass_g, boards["B1"].mass_g) == pytest.approx((500, 9.5, 11))
    refused = desk.edit(kind="set-board", board="B1", field="mass", value="1.234,5")
    assert refused.json()["error"]["text"].startswith("the mass is '1.234,5', which can be read in two ways")


@pytest.mark.slow
@pytest.mark.parametrize(("units", "mm", "g"), [("mm", 1.0, 1.0), ("in", MM_PER_INCH, G_PER_OUNCE)])
def test_bare_numbers_are_typed_everywhere_and_a_refusal_goes_when_it_is_mended(tmp_path, units, mm, g):
    need_browser()
    folder = make_job(tmp_path / "job", job=JOB.replace('name = "Plate"\n', f'name = "Plate"\nunits = "{units}"\n', 1))
    with served(folder) as (_, address), browser_page() as page:
        opened_at(page, address, "plan")
        sheet = Sheet(page)
        page.check("[data-key=aim-measure]")
        sheet.click(100, 90)
        sheet.click(340, 90)
        page.fill("[data-key=known-length]", "1,234")
        page.keyboard.press("Enter")
        refusal = page.locator(".refusal")
        refusal.wait_for()
        assert refusal.inner_text().startswith("the length is '1,234', which can be read in two ways")
        assert page.get_attribute("[data-key=known-length]", "aria-invalid") == "true"
        assert page.locator(".slip.fault").count() == 0
        length = 60.0 / mm
        page.fill("[data-key=known-length]", f"{length:.4f}")
        with saved(page):
            page.keyboard.press("Enter")
        assert open_job(folder).spec.plan[0].known[1].length == pytest.approx(60.0, abs=0.01)
        assert refusal.count() == 0

        view(page, "weight")
        field = page.locator("[data-key='w-plate/weighed']")
        field.fill("heavy")
        page.keyboard.press("Tab")
        refusal.wait_for()
        field.fill("2")
        with saved(page):
            page.keyboard.press("Tab")
        assert open_job(folder).spec.part[0].weighed == pytest.approx(2 * g)
        assert refusal.count() == 0
        view(page, "rack")
        page.click("[data-key=board-B1]")
        # A board of 300 × 100 × 3 mm, as heavy as balsa may be.
        mass = 9 if units == "mm" else 0.4
        page.fill("[data-key=b-mass]", str(mass))
        with saved(page):
            page.keyboard.press("Enter")
        assert settled(page)["boards"][0]["mass_g"] == pytest.approx(mass * g)
