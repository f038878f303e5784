"""The way back: only the builder's own files hold a step up, and nothing that was made meanwhile is lost by it."""

import os

import pytest

from nesting.desk import requests as ask
from nesting.desk.history import HISTORY_NAME, History, Step, make_step, read_history, step_back, step_forward
from nesting.desk.layouts import LAYOUT_NAME
from nesting.desk.picture_tiles import META, read_pyramid
from nesting.desk.rack_edits import edit_side_file
from nesting.desk.stroke_view import STROKES_FILE, kept_drawing
from nesting.desk.work import start_search
from nesting.desk.worker import StoppedError
from nesting.job.journal import JOURNAL, settle
from nesting.job.laid import read_laid
from tests.nesting.desk.conftest import ORIGIN, finished
from vectorize.basics.errors import JobError, RackError, WriteError


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "job.toml").write_text("one", encoding="utf-8")
    (tmp_path / LAYOUT_NAME).write_text("first", encoding="utf-8")
    step = Step(
        "mark", {"job.toml": "one", LAYOUT_NAME: "first"}, {"job.toml": "two", LAYOUT_NAME: "second"}
    )  # fmt: skip
    make_step(tmp_path, step)
    return tmp_path


def content(folder):
    return {name: (folder / name).read_text(encoding="utf-8") for name in ("job.toml", LAYOUT_NAME)}


def test_a_layout_that_was_made_anew_since_is_put_by_and_comes_back_with_its_step(folder):
    (folder / LAYOUT_NAME).write_text("by a search that was ended", encoding="utf-8")

    assert step_back(folder).title == "mark"
    assert content(folder) == {"job.toml": "one", LAYOUT_NAME: "first"}

    (folder / LAYOUT_NAME).write_text("by the command line", encoding="utf-8")
    step_forward(folder)
    assert content(folder) == {"job.toml": "two", LAYOUT_NAME: "by a search that was ended"}
    step_back(folder)
    assert content(folder) == {"job.toml": "one", LAYOUT_NAME: "by the command line"}


@pytest.mark.parametrize("damage", ["gone", "not text"])
def test_a_layout_that_is_gone_or_damaged_holds_no_step_up(folder, damage):
    path = folder / LAYOUT_NAME
    path.unlink()
    if damage == "not text":
        path.write_bytes(b"\xff\xfe")

    step_back(folder)

    assert (folder / "job.toml").read_text(encoding="utf-8") == "one"
    assert step_forward(folder).title == "mark"
    assert (folder / "job.toml").read_text(encoding="utf-8") == "two"


def test_the_builders_own_file_holds_the_whole_step_up(folder):
    (folder / "job.toml").write_text("by hand", encoding="utf-8")

    with pytest.raises(WriteError, match=r"job\.toml was changed by someone else"):
        step_back(folder)

    assert content(folder) == {"job.toml": "by hand", LAYOUT_NAME: "second"}
    assert read_history(folder).done == 1


def test_a_search_that_is_ended_from_outside_is_taken_back_like_any_other_step(followed, monkeypatch):
    path = followed.folder / LAYOUT_NAME
    x0, y0 = (min(point[axis] for point in followed.state()["parts"][0]["outline"][0]) for axis in (0, 1))
    lay = {"kind": "place", "part": "plate", "copy_number": 1, "board": "B2", "angle_deg": 0, "flipped": False}
    found = []
    for shift in (20, 30):
        assert followed.post("edit", lay | {"x_mm": shift - x0, "y_mm": 10 - y0}).status_code == 200
        found.append(read_laid(path.read_text(encoding="utf-8")).layout)
    before, undoable = path.read_bytes(), followed.state()["undo"]

    def killed(*_, on_say, on_give):
        for layout in found:
            on_give(layout)
        raise StoppedError("ended")

    monkeypatch.setattr(followed.workshop.searcher, "run", killed)
    start_search(followed.workshop)
    assert finished(followed.workshop, "nest")["state"] == "stopped"

    assert followed.state()["undo"] == "fit the parts on the boards"
    assert followed.post("undo").status_code == 200
    assert path.read_bytes() == before
    assert followed.state()["undo"] == undoable
    for _ in range(2):
        assert followed.post("undo").status_code == 200
    assert not path.exists()


def test_a_search_ends_with_a_sentence_where_the_builder_changed_the_layout_meanwhile(followed, monkeypatch):
    x0, y0 = (min(point[axis] for point in followed.state()["parts"][0]["outline"][0]) for axis in (0, 1))
    lay = {"kind": "place", "part": "plate", "copy_number": 1, "board": "B2", "angle_deg": 0, "flipped": False}
    followed.post("edit", lay | {"x_mm": 20 - x0, "y_mm": 10 - y0})
    laid = read_laid((followed.folder / LAYOUT_NAME).read_text(encoding="utf-8")).layout

    def overtaken(*_, on_say, on_give):
        followed.post("undo")
        on_give(laid)

    monkeypatch.setattr(followed.workshop.searcher, "run", overtaken)
    start_search(followed.workshop)

    task = finished(followed.workshop, "nest")
    assert task["state"] == "failed"
    assert "the layout was changed meanwhile" in task["text"]
    assert not (followed.folder / LAYOUT_NAME).exists()


@pytest.mark.parametrize(
    "steps",
    [
        '[{"title": "a", "before": {"job.toml": 5}, "after": {}}], "done": 1',
        '[{"title": "a", "before": ["job.toml"], "after": {}}], "done": 1',
        '[{"title": "a", "before": {"job.toml": "\\ud800"}, "after": {}}], "done": 1',
        '[], "done": Infinity',
        "[" * 100_000,
        "5",
    ],
)
def test_a_damaged_history_is_none(tmp_path, steps):
    (tmp_path / HISTORY_NAME).parent.mkdir()
    (tmp_path / HISTORY_NAME).write_text(f'{{"format": 1, "steps": {steps}}}', encoding="utf-8")
    assert read_history(tmp_path) == History()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_in_the_place_of_a_kept_file_is_not_waited_for(tmp_path):
    for name in (HISTORY_NAME, f".desk/{STROKES_FILE}", f".desk/{META}", JOURNAL):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        os.mkfifo(tmp_path / name)
    assert read_history(tmp_path) == History()
    assert kept_drawing(tmp_path / ".desk") is None
    assert read_pyramid(tmp_path / ".desk") is None
    with pytest.raises(JobError, match="not as Sheetwood writes it"):
        settle(tmp_path)


def test_half_a_character_is_refused_before_anything_is_written(desk):
    before = (desk.folder / "job.toml").read_bytes()
    sent = b'{"kind": "set", "at": ["job", "name"], "value": "a\\ud800b"}'
    answer = desk.client.post("/api/1/edit", content=sent, headers=ORIGIN)
    assert answer.status_code in (400, 409, 422)
    assert (desk.folder / "job.toml").read_bytes() == before


@pytest.mark.parametrize("text", ["[]", "5", '{"blemishes": 5}', '{"blemishes": [[]]}', "[" * 100_000, "{"])
def test_a_blemish_is_not_marked_in_a_file_that_is_none_of_ours(text):
    edit = ask.AddBlemish(kind="add-blemish", board="B1", corner=(1, 1), opposite=(9, 9))
    with pytest.raises(RackError, match="the file beside board B1 is not as Sheetwood writes it") as caught:
        edit_side_file(text, edit)
    assert len(str(caught.value)) < 300
