"""Results are made once from the same, and again whenever anything that they are made from is another."""

import os
from dataclasses import dataclass, replace

import numpy as np
import pytest

from nesting.job import kept_results
from nesting.job.kept_results import write_made
from vectorize.basics.notes import Note


@dataclass(frozen=True)
class Plank:
    name: str
    length_mm: float
    grain: tuple[float, ...] = (1.0, 0.0)


@pytest.fixture
def making():
    """Return a maker of one file, with the list of what it was called for."""
    calls = []

    def make(plank, heights=None):
        calls.append(plank)
        return {"plank.txt": f"{plank}{heights}".encode()}, (Note("made", "made it", "open"),)

    return make, calls


def _write(folder, make, *, is_forced=False, **inputs):
    return write_made(folder, make, is_forced=is_forced, **({"plank": Plank("B1", 900.0)} | inputs))


def test_the_same_is_made_once_and_told_each_time(tmp_path, making):
    make, calls = making
    first, again = _write(tmp_path, make), _write(tmp_path, make)
    assert len(calls) == 1
    assert first == again == replace(first, paths=(tmp_path / "plank.txt",))
    assert [note.text for note in again.notes] == ["made it"]


@pytest.mark.parametrize(
    "change",
    [
        {"plank": Plank("B2", 900.0)},
        {"plank": Plank("B1", 900.0000001)},
        {"plank": Plank("B1", 900.0, (1.0, 1e-9))},
        {"heights": np.array([1.0, 2.0])},
        {"is_forced": True},
    ],
)
def test_another_input_at_any_depth_has_it_made_anew(tmp_path, making, change):
    make, calls = making
    _write(tmp_path, make)
    _write(tmp_path, make, **change)
    assert len(calls) == 2


def test_a_file_that_is_gone_is_made_again_and_one_that_was_edited_is_kept_and_told(tmp_path, making):
    make, calls = making
    path = tmp_path / "plank.txt"
    _write(tmp_path, make)
    path.unlink()
    _write(tmp_path, make)
    assert (len(calls), path.exists()) == (2, True)

    path.write_text("my own", encoding="utf-8")
    for _ in range(2):
        assert [note.code for note in _write(tmp_path, make).notes] == ["made", "kept-edited-file"]
    assert path.read_text(encoding="utf-8") == "my own"


def test_another_state_of_the_program_makes_all_anew(tmp_path, making, monkeypatch):
    make, calls = making
    _write(tmp_path, make)
    now = kept_results._program()
    monkeypatch.setattr(kept_results, "_program", lambda: (*now, "numpy-99.dist-info"))
    _write(tmp_path, make)
    assert len(calls) == 2


def test_the_program_is_told_by_its_own_modules_and_by_its_libraries():
    names = [os.fspath(one[0] if isinstance(one, tuple) else one) for one in kept_results._program()]
    for part in ("/nesting/patterns/sheets.py", "/vectorize/shapes/offset.py", "reportlab-"):
        assert any(part in name.replace(os.sep, "/") for name in names), part


def test_a_damaged_record_is_none(tmp_path, making):
    make, calls = making
    for text in ("{", "[1]", '{"x": 1}'):
        _write(tmp_path, make)
        (tmp_path / kept_results.MADE).write_text(text, encoding="utf-8")
        calls.clear()
        _write(tmp_path, make)
        assert len(calls) == 1
