"""Which jobs a batch is of."""

import pytest

from nesting.job.batch.job_list import list_orders
from vectorize.basics.errors import InputError


def make_job(folder):
    folder.mkdir(parents=True)
    (folder / "job.toml").write_text("[job]\nformat = 1\n", encoding="utf-8")
    return folder


def named(orders):
    return [(order.shown, order.plan and order.plan.name) for order in orders]


def test_a_folder_gives_its_jobs_and_the_plans_that_have_none(tmp_path):
    make_job(tmp_path / "kite")
    make_job(tmp_path / ".hidden")
    (tmp_path / "empty").mkdir()
    for name in ("wren.PNG", "notes.txt", "tern.pdf", "kite.jpg", "sketch.dxf"):
        (tmp_path / name).write_bytes(b"")
    assert named(list_orders(tmp_path)) == [("kite", None), ("tern", "tern.pdf"), ("wren", "wren.PNG")]


def test_a_job_folder_is_a_batch_of_one(tmp_path):
    (order,) = list_orders(make_job(tmp_path / "kite"))
    assert (order.folder, order.shown) == (tmp_path / "kite", "kite")


def test_plans_that_differ_in_their_ending_get_folders_of_their_own(tmp_path):
    for name in ("wren.jpg", "wren.png"):
        (tmp_path / name).write_bytes(b"")
    assert named(list_orders(tmp_path)) == [("wren", "wren.jpg"), ("wren-png", "wren.png")]


def test_a_plan_beside_a_file_of_its_bare_name_gets_another_folder(tmp_path):
    for name in ("wren.jpg", "wren"):
        (tmp_path / name).write_bytes(b"")
    assert named(list_orders(tmp_path)) == [("wren-jpg", "wren.jpg")]


def test_a_list_keeps_its_order_and_names_each_job_once(tmp_path):
    make_job(tmp_path / "jobs" / "kite")
    make_job(tmp_path / "jobs" / "Höhe #2")
    (tmp_path / "wren.png").write_bytes(b"")
    shelf = tmp_path / "tonight.txt"
    shelf.write_text(
        "# for the weekend\nwren.png\n\njobs/kite   # first\njobs/../jobs/kite\njobs/Höhe #2\n", encoding="utf-8-sig"
    )
    assert named(list_orders(shelf)) == [("wren", "wren.png"), ("jobs/kite", None), ("jobs/Höhe #2", None)]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("kite\nwern.png\n", "line 2: 'wern.png' is neither"),
        ("kite\0\n", "line 1"),
        ("x" * 5000, "line 1"),
        ("# nothing\n", "holds no job and no plan"),
    ],
)
def test_a_line_that_names_nothing_is_told_with_its_number(tmp_path, text, told):
    make_job(tmp_path / "kite")
    (tmp_path / "list.txt").write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=told):
        list_orders(tmp_path / "list.txt")


def test_what_is_no_folder_and_no_list_is_told(tmp_path):
    (tmp_path / "photo.bin").write_bytes(b"\xff\xfe\x00")
    for name, told in (("nowhere", "is not there"), ("photo.bin", "no list in UTF-8"), ("", "holds no job")):
        with pytest.raises(InputError, match=told):
            list_orders(tmp_path / name)
