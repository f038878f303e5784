"""Whatever is sent, nothing outside the job is read or written, the job stays whole, no traceback is shown."""

import json
from concurrent.futures import ThreadPoolExecutor
from urllib.parse import quote

import pytest

from nesting.job.folder import open_job
from tests.nesting.desk.conftest import ORIGIN
from tests.nesting.desk.jobs import JOB
from tests.nesting.desk.seeing import called

SECRET = "only the owner may read this"
PATHS = (
    "../secret.txt",
    "../../secret.txt",
    "/etc/passwd",
    "..\\secret.txt",
    "C:\\secret.txt",
    "%2e%2e%2fsecret.txt",
    "out/../../secret.txt",
    "....//secret.txt",
    "secret.txt\x00.png",
    "file:///etc/passwd",
    "job.toml",
    ".desk/history.json",
)


@pytest.fixture
def desk(desk):
    (desk.folder.parent / "secret.txt").write_text(SECRET, encoding="utf-8")
    return desk


def _is_plain(answer):
    """Return whether an answer is one of ours: JSON or a sentence, and nothing of the program's inside."""
    return "Traceback" not in answer.text and SECRET not in answer.text and "site-packages" not in answer.text


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("where", ["/api/1/files/{}", "/static/{}", "/api/1/plans/0/tiles/{}/0/0/0.png", "/{}"])
def test_no_address_leads_to_a_file(desk, where, path):
    for sent in (path.replace("\x00", "%00"), quote(path, safe="")):
        answer = desk.client.get(where.format(sent))
        assert answer.status_code in (400, 404)
        assert _is_plain(answer)


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize(
    "edit",
    [
        {
            "kind": "set",
            "at": ["part", None],
            "value": {"name": "{}", "plan": "sheet 1", "pick": [[1, 1]], "material": "{}"},
        },
        {"kind": "set", "at": ["part", "plate", "name"], "value": "{}"},
        {"kind": "set-board", "board": "B1", "field": "name", "value": "{}"},
        {"kind": "set", "at": ["plan", "sheet 1", "name"], "value": "{}"},
        {"kind": "add-blemish", "board": "{}", "corner": [1, 1], "opposite": [9, 9]},
        {"kind": "set-outline", "part": "{}", "outline": None},
        {"kind": "set", "at": ["pattern", "{}"], "value": "{}"},
        {"kind": "set", "at": ["part", "{}"], "value": None},
    ],
    ids=called,
)
def test_no_name_becomes_a_path(desk, edit, path):
    filled = json.loads(json.dumps(edit).replace("{}", json.dumps(path)[1:-1]))
    before = set(desk.folder.rglob("*"))

    answer = desk.post("edit", filled)

    assert answer.status_code in (200, 400, 422)
    assert _is_plain(answer)
    assert open_job(desk.folder)
    assert sorted(entry.name for entry in desk.folder.parent.iterdir()) == ["job", "secret.txt"]
    new = {path.relative_to(desk.folder).parts[0] for path in set(desk.folder.rglob("*")) - before}
    assert new <= {"job.toml", "rack.csv", ".lock", ".desk", "rack", "corrected"}


def test_an_upload_never_leaves_the_folder_and_replaces_nothing(desk):
    before = (desk.folder / "job.toml").read_bytes()

    for name in PATHS:
        answer = desk.client.post(f"/api/1/plans?name={quote(name, safe='')}", content=b"not a picture", headers=ORIGIN)

        assert answer.status_code == 422
        assert "not a plan" in answer.json()["error"]["text"]
        assert _is_plain(answer)
        assert (desk.folder / "job.toml").read_bytes() == before
        assert not list((desk.folder / ".desk").glob("upload-*"))


def test_a_plan_file_that_is_a_link_to_elsewhere_is_not_followed(desk):
    (desk.folder / "link.png").symlink_to(desk.folder.parent / "secret.txt")
    (desk.folder / "job.toml").write_text(JOB.replace("plan.png", "link.png"), encoding="utf-8")

    answer = desk.get("plans/0/picture")

    assert answer.status_code == 422
    assert "outside the job folder" in answer.json()["error"]["text"]


def test_a_result_that_is_a_link_to_elsewhere_is_not_given(desk):
    out = desk.folder / "out"
    out.mkdir()
    (out / "board-B1.pdf").symlink_to(desk.folder.parent / "secret.txt")
    (out / "manifest.json").write_text(json.dumps({"board-B1.pdf": "x", "../../secret.txt": "x"}), encoding="utf-8")

    assert desk.state()["files"] == []
    assert desk.get("files/board-B1.pdf").status_code == 404


def test_a_rack_that_is_a_link_to_elsewhere_is_not_changed(desk):
    (desk.folder / "rack.csv").unlink()
    (desk.folder / "rack.csv").symlink_to(desk.folder.parent / "secret.txt")

    answer = desk.edit(kind="add-boards", table="name,material,thickness,length,width\nB9,balsa,3 mm,300 mm,75 mm")

    assert answer.status_code == 422
    assert (desk.folder.parent / "secret.txt").read_text(encoding="utf-8") == SECRET


KNOWN = (
    b'{"kind": "set", "at": ["plan", %s, "known", null], "value": {"from": [%s, 0], "to": [1, 1], "length": "1 mm"}}'
)


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b"\xff\xfe",
        b"[" * 100_000,
        b'{"kind": "no such"}',
        KNOWN % (b'"sheet 1"', b"NaN"),
        KNOWN % (b'"sheet 1"', b"1e999"),
        KNOWN % (b'"sheet 1"', b"9" * 400),
        KNOWN % (b'"no such sheet"', b"1"),
        KNOWN % (b"0", b"1"),
        KNOWN % (b"null", b"1"),
        b'{"kind": "set", "at": ["part", "plate", "pick"], "value": "1"}',
        b'{"kind": "set", "at": ["part", "plate", "count"], "value": true}',
        b'{"kind": "set", "at": ["part", "plate", "thickness"], "value": "thick"}',
        b'{"kind": "set", "at": ["part", "plate", "thickness"]}',
        b'{"kind": "set", "at": ["part", "plate", "thickness", "x", "y"], "value": 1}',
        b'{"kind": "set", "at": ["part", null], "value": null}',
        b'{"kind": "set", "at": [null, null], "value": 1}',
        b'{"kind": "set", "at": ["job"], "value": {}}',
        b'{"kind": "set", "at": ["nets", "tool"], "value": "saw"}',
        b'{"kind": "set", "at": ["job", "name"], "value": "%s"}' % (b"x" * 3000),
        b'{"kind": "set", "at": ["plan", "sheet 1", "file"], "value": "../secret.txt"}',
        b'{"kind": "set", "at": ["rack", "file"], "value": "/etc/passwd"}',
        b'{"kind": "set", "at": ["part", "plate", "step", null], "value": {"make": ["hole"]}}',
        b'{"kind": "set-outline", "part": "plate", "outline": {"exterior": 1}}',
        b'{"kind": "set-outline", "part": "plate", "outline": {"exterior": {"start": [0, 0], "pieces": []}}}',
        b'{"kind": "pin", "part": "plate", "copy_number": 0, "is_pinned": 2}',
        b'{"kind": "undo-all", "extra": 1}',
    ],
)  # fmt: skip
def test_malformed_edits_are_refused_in_a_sentence_and_change_nothing(desk, body):
    before = (desk.folder / "job.toml").read_bytes()

    answer = desk.client.post("/api/1/edit", content=body, headers=ORIGIN)

    assert answer.status_code in (400, 422)
    assert answer.json()["error"]["text"].endswith((".", "!", "?"))
    assert _is_plain(answer)
    assert (desk.folder / "job.toml").read_bytes() == before


@pytest.mark.parametrize("place", ["x=nan&y=1", "x=inf&y=1", "x=1", "x=one&y=2", "x=1e300&y=1"])
def test_a_place_that_is_none_is_refused(desk, place):
    assert desk.get(f"plans/0/snap?{place}").status_code == 400


def test_markup_in_names_comes_back_as_the_text_that_it_is(desk):
    name = "<img src=x onerror=alert(1)>\"'&"

    assert desk.edit(kind="set", at=["part", "plate", "name"], value=name).status_code == 200

    answer = desk.get("state")
    assert answer.headers["content-type"] == "application/json"
    assert answer.json()["parts"][0]["name"] == name


def test_two_hundred_parallel_requests_leave_one_whole_job(desk):
    def ask(number):
        if number % 2:
            return desk.get("state").status_code
        return desk.edit(kind="set", at=["job", "name"], value=f"Plate {number}").status_code

    with ThreadPoolExecutor(32) as pool:
        statuses = list(pool.map(ask, range(200)))

    assert set(statuses) <= {200, 409}
    assert statuses.count(200) >= 100
    text = (desk.folder / "job.toml").read_text(encoding="utf-8")
    assert "# Bench notes survive." in text
    assert open_job(desk.folder).spec.job.name.startswith("Plate ")


def test_a_fault_of_ours_is_told_without_its_insides(desk, monkeypatch):
    def broken():
        raise ZeroDivisionError("inside")

    monkeypatch.setattr(desk.workshop, "state", broken)
    answer = desk.get("state")

    assert answer.status_code == 500
    assert answer.json()["error"]["kind"] == "fault"
    assert "inside" not in answer.text


@pytest.mark.parametrize("text", ["not = [toml", "[job]\nformat = 7\n", "\x00\x01", ""])
def test_a_job_file_that_cannot_be_used_is_shown_as_a_sentence(desk, text):
    (desk.folder / "job.toml").write_text(text, encoding="utf-8")

    answer = desk.get("state")

    assert answer.status_code == 200
    assert _is_plain(answer)
