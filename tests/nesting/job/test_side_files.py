"""Broken files beside a job: one clear sentence that names the file, whatever is wrong with it, and nothing waits."""

import json
import os

import pytest

from nesting.job.folder import Job, open_job
from nesting.job.rack_files import read_rack
from nesting.job.schema import JobSpec, PartTable
from nesting.job.store import StoredOutline, corrected_outline, stored_outline, with_correction, with_filled
from vectorize.basics.errors import InputError, JobError, RackError, ScanError, WriteError, disk_refusal
from vectorize.basics.notes import Note
from vectorize.basics.plain_file import read_plain
from vectorize.page import read_page
from vectorize.shapes.outline import Outline, Ring, TracedOutline

SQUARE = Outline.rectangle(0, 0, 40, 20).as_json()
BOW_TIE = {"exterior": {"start": [0, 0], "pieces": [[40, 0], [0, 20], [40, 20], [0, 0]]}, "cutouts": []}
NO_ARC = {"exterior": {"start": [0, 0], "pieces": [[0, 0, 1.0]]}, "cutouts": []}
ONE_LINE = {"exterior": {"start": [0, 0], "pieces": [[40, 0], [0, 0]]}, "cutouts": []}
FAR = {"exterior": {"start": [0, 0], "pieces": [[1e308, 0], [0, -1e308], [0, 0]]}, "cutouts": []}
HUGE = {"exterior": {"start": [0, 0], "pieces": [[10**400, 0], [0, 20], [0, 0]]}, "cutouts": []}
WRONG_NUMBER = {"exterior": {"start": [0, 0], "pieces": [[40], [0, 20], [0, 0]]}, "cutouts": []}
BROKEN_OUTLINES = [BOW_TIE, NO_ARC, ONE_LINE, FAR, HUGE, WRONG_NUMBER, {}, {"exterior": None}, 3, None, "x", [1]]
BROKEN_TEXTS = [
    "", "{", "[]", "3", "null", '"x"', "[" * 100_000, '{"a":' * 100_000, "\x00", '{"outline": 3}', "nan",
    "9" * 5000, *(json.dumps({"outline": outline}) for outline in BROKEN_OUTLINES),
]  # fmt: skip
INTERNALS = ("NoneType", "subscriptable", "object", "recursion", "linearring", "int ", "str ", "codec", "Traceback")


@pytest.fixture
def job(tmp_path):
    (tmp_path / "rack.csv").write_text("name,material,thickness,length,width\nB1,balsa,3 mm,300 mm,80 mm\n")
    return Job(tmp_path, JobSpec(), "")


def put(job, name, text):
    path = job.folder / name
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def assert_told(error, name):
    message = str(error)
    assert message.startswith(name)
    assert len(message) < 300
    assert message.isprintable()
    assert not [word for word in INTERNALS if word in message], message
    assert error.exit_code == 3


@pytest.mark.parametrize("text", BROKEN_TEXTS, ids=range(len(BROKEN_TEXTS)))
def test_a_broken_correction_is_told(job, text):
    path = put(job, "corrected/fin.json", text)
    with pytest.raises(JobError) as caught:
        corrected_outline(job, "fin")
    assert_told(caught.value, "corrected/fin.json")
    assert path.read_text(encoding="utf-8") == text


@pytest.mark.parametrize(
    "text",
    [text for text in BROKEN_TEXTS if text != json.dumps({"outline": None}) and text != json.dumps({"outline": {}})]
    + ['{"blemishes": 3}', '{"blemishes": [3]}', '{"blemishes": [{}]}', '{"blemishes": {"a": 1}}']
    + [json.dumps({"blemishes": [{"outline": outline}]}) for outline in BROKEN_OUTLINES],
)
def test_a_broken_file_beside_a_board_is_told(job, text):
    put(job, "rack/B1.json", text)
    with pytest.raises(RackError) as caught:
        read_rack(job)
    assert_told(caught.value, "rack/B1.json")


@pytest.mark.parametrize("text", BROKEN_TEXTS, ids=range(len(BROKEN_TEXTS)))
def test_a_broken_trace_is_made_anew(job, text):
    put(job, "outlines/fin.json", text)
    assert stored_outline(job, PartTable(name="fin"), "x") is None


NOTE = {"code": "skew", "text": "turned", "state": "fixed", "part": None, "at": [1, 2]}
TRACE = {
    "made_from": "x", "name": "fin", "plan": "a", "sigma_edge_mm": 0.1, "sigma_area_mm2": 1.0, "pen_width_mm": 0.3,
    "inside_px": [1, 2], "notes": [NOTE], "sure": 0.97, "alternatives": [], "outline": SQUARE,
}  # fmt: skip
WRONG_TRACES = [
    {"outline": BOW_TIE}, {"name": "rib"}, {"sigma_edge_mm": float("nan")}, {"sure": float("inf")}, {"inside_px": []},
    *({"notes": [NOTE | {"state": state}]} for state in ([], "lost")),
    *({"notes": [NOTE | {"at": at}]} for at in (["x"], [[1], 2], [])),
]  # fmt: skip


@pytest.mark.parametrize("wrong", WRONG_TRACES, ids=range(len(WRONG_TRACES)))
def test_a_trace_that_cannot_be_is_made_anew(job, wrong):
    put(job, "outlines/fin.json", json.dumps(TRACE))
    assert stored_outline(job, PartTable(name="fin"), "x") is not None
    put(job, "outlines/fin.json", json.dumps(TRACE | wrong))
    assert stored_outline(job, PartTable(name="fin"), "x") is None


def test_what_a_kept_trace_says_stays_in_words_whatever_is_in_its_place(job):
    put(job, "outlines/fin.json", json.dumps(TRACE | {"notes": [NOTE | {"text": [1], "part": ["fin"], "code": {}}]}))
    assert {note.text for note in stored_outline(job, PartTable(name="fin"), "x").notes} == {"[1]"}


def test_a_correction_by_hand_settles_what_was_doubtful_of_the_shape_and_its_corners(job):
    notes = [NOTE | {"code": code, "part": "fin"} for code in ("doubtful", "doubtful-corner", "bridged")]
    put(job, "outlines/fin.json", json.dumps(TRACE | {"notes": notes}))
    put(job, "corrected/fin.json", json.dumps({"outline": SQUARE}))
    kept = with_correction(job, stored_outline(job, PartTable(name="fin"), "x"))
    assert [note.code for note in kept.notes] == ["bridged", "corrected"]


def test_a_hole_that_is_filled_takes_what_was_said_of_cutting_it_along():
    holes = [Ring.rectangle(x, 2, x + 2, 4) for x in (1, 5)]
    plate = Outline(Ring.rectangle(0, 0, 10, 6), tuple(holes))
    notes = [
        Note("cutout", "a hole", "open", "fin", (20.0, 30.0)),
        Note("cutout", "a hole", "open", "fin", (60.0, 30.0)),
    ]
    stored = StoredOutline("fin", "p", TracedOutline(plate, 0.1, 1.0), 0.4, (1.0, 1.0), "x", tuple(notes))
    filled = with_filled(stored, [(2.0, 3.0)], lambda pixel: (pixel[0] / 10, pixel[1] / 10))
    assert (filled.outline.cutouts, filled.notes) == (plate.cutouts[1:], (notes[1],))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
@pytest.mark.parametrize("name", ["job.toml", "rack.csv", "corrected/fin.json", "rack/B1.json", "plan.png"])
def test_a_pipe_is_refused_and_not_waited_for(job, name):
    path = job.folder / name
    path.parent.mkdir(exist_ok=True)
    path.unlink(missing_ok=True)
    os.mkfifo(path)
    readers = {
        "job.toml": lambda: open_job(job.folder),
        "rack.csv": lambda: read_rack(job),
        "corrected/fin.json": lambda: corrected_outline(job, "fin"),
        "rack/B1.json": lambda: read_rack(job),
        "plan.png": lambda: read_page(path),
    }
    with pytest.raises((JobError, RackError, ScanError), match="it is a pipe or a device, not a file"):
        readers[name]()


def test_a_link_that_leads_out_of_the_job_is_not_followed(job, tmp_path_factory):
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    (elsewhere / "fin.json").write_text(json.dumps({"outline": SQUARE}), encoding="utf-8")
    (job.folder / "corrected").symlink_to(elsewhere)
    with pytest.raises(JobError, match="is a link that leads outside the job folder"):
        corrected_outline(job, "fin")
    (job.folder / "rack").mkdir()
    (job.folder / "rack" / "B1.json").symlink_to(elsewhere / "fin.json")
    with pytest.raises(JobError, match="is a link that leads outside the job folder"):
        read_rack(job)


@pytest.mark.parametrize("name", ["a\x00b", "x" * 5000, "a/" * 3000, "\ud800"], ids=["nul", "long", "deep", "half"])
def test_a_name_that_no_file_can_have_is_told(job, name):
    with pytest.raises(InputError) as caught:
        read_rack(Job(job.folder, JobSpec.model_validate({"rack": {"file": name}}), ""))
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 300 + len(str(job.folder))


def test_a_link_in_a_circle_is_told(job):
    (job.folder / "loop").symlink_to(job.folder / "loop")
    with pytest.raises(JobError):
        read_rack(Job(job.folder, JobSpec.model_validate({"rack": {"file": "loop"}}), ""))


def test_a_folder_is_no_file(tmp_path):
    with pytest.raises(IsADirectoryError):
        read_plain(tmp_path)


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (PermissionError(13, "Permission denied", "out"), 6),
        (OSError(28, "No space left on device", "out/a.pdf"), 6),
        (OSError(36, "File name too long", "x" * 5000), 3),
        (OSError("odd"), 6),
    ],
)
def test_what_the_system_refuses_is_one_sentence_with_its_exit_code(error, code):
    told = disk_refusal(error)
    assert told.exit_code == code
    assert isinstance(told, InputError | WriteError)
    assert len(str(told)) < 300
