"""The small demonstration: bearers let in and cut from strip, and a cut fin whose errors are found again."""

import numpy as np
import pypdfium2
import pytest
from scipy.io import wavfile

from fixtures.draw_burnet import DEMO, FAULTS, FIN, N2_DENSITY_KG_M3, N2_MODULUS_PA, plan_svg, taps
from nesting.job.card_files import write_balance
from nesting.job.checking import CheckScan, check_part
from nesting.job.folder import open_job
from nesting.job.laying import Effort, nest_job
from nesting.job.new_job import copy_demo
from nesting.job.solid_model import put_together
from nesting.job.stages import Stages
from nesting.wood.estimate import Estimate
from nesting.wood.sound.recording import read_recording
from nesting.wood.sound.tapped import tapped_modulus


@pytest.fixture(scope="module")
def stages(tmp_path_factory):
    folder = tmp_path_factory.mktemp("burnet") / "job"
    copy_demo(folder, name="burnet")
    return Stages(open_job(folder))


def test_what_ships_is_what_is_drawn():
    assert (DEMO / "plan.svg").read_text(encoding="utf-8") == plan_svg()
    assert sum(file.stat().st_size for file in DEMO.iterdir()) < 250_000
    _, kept = wavfile.read(DEMO / "N2-taps.wav")
    assert np.abs(kept.astype(int) - taps()).max() <= 1


def test_the_taps_tell_how_stiff_the_board_is():
    found = tapped_modulus(
        read_recording(DEMO / "N2-taps.wav"), length_mm=915.0, density_kg_m3=Estimate(N2_DENSITY_KG_M3)
    )
    assert found.modulus_mpa.value * 1e6 == pytest.approx(N2_MODULUS_PA, rel=0.02)
    assert abs(found.modulus_mpa.value * 1e6 - N2_MODULUS_PA) < 2e6 * found.modulus_mpa.sigma


def test_bearers_are_weighed_by_their_strip_and_lie_on_no_board(stages):
    """A length of 915 x 10 x 10 mm weighs 38.4 g, so 95 x 10 x 10 mm weigh 3.99 g less two bolt holes of 3.2 mm."""
    density = 38.4 / (915 * 100)
    rows = {row.part: row for row in stages.weights.chosen}
    hole_mm3 = 3.14159265 * 1.6**2 * 10
    for number in (1, 2):
        row = rows[f"fuselage bearer {number}"]
        assert row.board == "strip basswood 10 x 10"
        assert row.mass_g == pytest.approx(density * (95 * 100 - 2 * hole_mm3), rel=1e-3)
    layout = nest_job(stages.job, stages.parts, stages.boards, effort=Effort(time_limit_s=None, max_sweeps=4))
    assert layout.proof.is_proved
    assert {p.part for board in layout.boards for p in board.placements} == {"fuselage", "fin"}


def test_bench_card_and_bodies_know_the_strip(stages):
    """38.4 g of 915 x 10 x 10 mm are 419.7 kg/m3."""
    words = bench_card_words(stages)
    assert "strip basswood 10 x 10" in words
    body = next(b for b in put_together(stages.job.spec, stages.model).bodies if b.name == "fuselage bearer 1")
    assert body.density_kg_m3 == pytest.approx(38.4 / 91_500 * 1e6, rel=1e-6)


def bench_card_words(stages):
    write_balance(stages.job, stages.model, stages.balance)
    pages = pypdfium2.PdfDocument(stages.job.out / "bench-card.pdf")
    return " ".join(" ".join(page.get_textpage().get_text_range() for page in pages).split())


def test_the_errors_of_the_cut_fin_are_found_where_they_were_made(stages):
    found = check_part(stages, "fin", CheckScan(stages.job.folder / "fin-cut.jpg")).found
    x, y = found.lower_left
    told = {place.kind: (place.off_mm, place.at[0] - x, place.at[1] - y) for place in found.places}
    assert set(told) == {"proud", "short"}
    for kind, fault in zip(("proud", "short"), FAULTS, strict=True):
        off, across, up = told[kind]
        assert off == pytest.approx(fault.size_mm, abs=0.1)
        assert (across, up) == pytest.approx(fault.at, abs=3.0)
    assert found.outline.area_mm2 == pytest.approx(area_of(FIN), rel=1e-6)


def area_of(points):
    pairs = zip(points, points[1:] + points[:1], strict=True)
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairs)) / 2
