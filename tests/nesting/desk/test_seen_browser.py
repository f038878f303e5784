"""The page names what it shows: each bin takes away the entry beside it, and one that changed meanwhile stays."""

import pytest

from nesting.job.folder import open_job
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import make_job
from tests.nesting.desk.test_browser import opened_at, saved
from tests.nesting.desk.test_seen import FULL

pytestmark = pytest.mark.slow

# View, what opens the list, the bin, and what is left of the list in the job.
BINS = [
    ("weight", "finishing", "joint-drop-1", lambda spec: [joint.name for joint in spec.joint] == ["first"]),
    ("weight", None, "finish-drop-0", lambda spec: [one.top for one in spec.finish] == [("dope",)]),
    ("weight", "readings", "reading-drop-1", lambda spec: [one.mass for one in spec.weighed] == [2.0]),
    ("plan", None, "drop-known-1", lambda spec: [one.length for one in spec.plan[0].known] == [100.0]),
    ("parts", None, "plate/later-0", lambda spec: [one.make for one in spec.part[0].step] == ["grow", "hole"]),
    ("parts", None, "plate/drop-0", lambda spec: [one.make for one in spec.part[0].step] == ["hole"]),
    ("parts", "plate/marks", "plate/mark-drop-0", lambda spec: [m.kind for m in spec.part[0].mark] == ["balance"]),
]


def test_every_bin_takes_away_what_stands_beside_it(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job", job=FULL)
    with served(folder) as (_, address), browser_page() as page:
        opened_at(page, address, BINS[0][0])
        for view, opener, key, is_left in BINS:
            page.click(f"[data-key=stage-{view}]")
            if opener:
                page.click(f"[data-key='{opener}']")
            with saved(page):
                page.click(f"[data-key='{key}']")
            assert is_left(open_job(folder).spec), key
