"""In a real browser: what the job takes, a board's tone by its taps, and a scan of a cut part with what to sand."""

import base64

import numpy as np
import pytest

from fixtures.struck_board import first_tone_hz, struck_board
from nesting.job.folder import open_job
from nesting.job.rack_files import read_rack
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import make_job
from tests.nesting.desk.test_browser import saved, settled, view
from tests.nesting.desk.test_cut_scans import scanned_plate
from tests.nesting.desk.test_shopping_view import STOCK
from tests.nesting.desk.test_tapping import DENSITY, recording

pytestmark = pytest.mark.slow


def hears(page, sound):
    """Let the microphone of a page be what plays a sound in it: the machine of these tests has none."""
    page.evaluate(
        """(sound) => {
            const bytes = Uint8Array.from(atob(sound), (letter) => letter.charCodeAt(0));
            navigator.mediaDevices.getUserMedia = async () => {
                const context = new AudioContext();
                const source = context.createBufferSource();
                source.buffer = await context.decodeAudioData(bytes.buffer);
                source.onended = () => { window.isPlayed = true; };
                const room = context.createMediaStreamDestination();
                source.connect(room);
                source.start(context.currentTime + 0.5);
                return room.stream;
            };
        }""",
        base64.b64encode(recording(sound)).decode(),
    )


def test_the_stock_list_and_a_cut_part_are_shown(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job", job=STOCK)
    scan = tmp_path / "cut.png"
    scan.write_bytes(scanned_plate(folder))
    taps, modulus_pa = tmp_path / "taps.wav", 20e6 * DENSITY
    board = {"length_m": 0.3, "density_kg_m3": DENSITY, "modulus_pa": modulus_pa}
    taps.write_bytes(recording(struck_board(np.random.default_rng(3), **board)))
    tone = first_tone_hz(0.3, DENSITY, modulus_pa)
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        page.wait_for_selector("#stages a")
        settled(page)
        view(page, "patterns")
        stock = page.locator("section[aria-label='Stock list']")
        words = stock.inner_text()
        for text in ("tissue", "spruce 6 x 3", "steel wire 2.0 mm", "Together 5.00 EUR", "spar 280.0 mm"):
            assert text in words
        assert stock.locator("ul li").count() == 2
        assert page.locator("[data-key=shopping-card]").count() == 1

        view(page, "rack")
        page.click("[data-key='board-B1']")
        page.evaluate("document.querySelector('[data-key=sound]').open = true")
        page.set_input_files("[data-key=sound-file]", taps)
        page.wait_for_selector("[data-key=sound-found]")
        with saved(page):
            page.click("[data-key=sound-keep]")
        assert read_rack(open_job(folder))[0].tone_hz == pytest.approx(tone, rel=0.01)

        # The same board a little stiffer, so that its finding is another.
        hears(page, struck_board(np.random.default_rng(4), **board | {"modulus_pa": 1.2 * modulus_pa}))
        page.click("[data-key=sound-listen]")
        page.wait_for_function("() => window.isPlayed")
        page.click("[data-key=sound-listen]")
        heard = "() => Number(/([0-9]+) Hz/.exec(document.querySelector('[data-key=sound-found]').textContent)[1])"
        page.wait_for_function(f"() => ({heard})() > {1.05 * tone}")
        assert page.evaluate(heard) == pytest.approx(tone * 1.2**0.5, rel=0.01)

        view(page, "weight")
        assert page.is_disabled("[data-key=as-cut-go]")
        page.set_input_files("[data-key=as-cut-file]", scan)
        page.click("[data-key=as-cut-go]")
        page.wait_for_selector("[data-key=as-cut-finding]")
        said = page.inner_text("[data-key=as-cut-finding]")
        assert "plate: 1 place to see to" in said
        assert "From B1 it should weigh" in said
        assert page.locator("[data-key=as-cut-finding] ul li").count() == 1
        assert "sand it down" in page.inner_text("[data-key=as-cut-finding] ul li")
        page.wait_for_function("document.querySelector('[data-key=as-cut-map]').naturalWidth > 0")
