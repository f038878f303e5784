"""A plan's scale is fitted once and kept under the hash of all that it was made from."""

import json

import pytest

from nesting.job.folder import open_job
from nesting.job.plans import open_plans
from nesting.job.tracing import trace_job
from tests.nesting.desk.drawn import drawn_job


@pytest.fixture
def traced(tmp_path):
    folder = drawn_job(tmp_path / "job")
    trace_job(open_job(folder))
    return folder


def plan_of(folder, **how):
    (plan,) = open_plans(open_job(folder), **how).values()
    return plan


def is_read_for_its_scale(plan):
    _ = plan.scale
    return "page" in vars(plan)


def kept_file(folder):
    (file,) = (folder / "outlines" / "plans").glob("*.json")
    return file


def test_a_kept_scale_is_the_one_that_was_fitted_and_the_plan_is_not_read_for_it(traced):
    kept, fitted = plan_of(traced), plan_of(traced, is_fresh=True)
    assert not is_read_for_its_scale(kept)
    assert is_read_for_its_scale(fitted)
    for key in ("mm_per_px", "page_mm", "skew_deg", "residuals", "doubt", "notes", "is_true_size", "lens", "points"):
        assert getattr(kept.scale, key) == getattr(fitted.scale, key), key
    assert kept.scale.matrix.tolist() == fitted.scale.matrix.tolist()
    assert kept.to_mm((30.0, 40.0)) == fitted.to_mm((30.0, 40.0))


def test_another_size_is_fitted_anew(traced):
    before = plan_of(traced).scale
    file = traced / "job.toml"
    known = '[[plan.known]]\nfrom = [10, 10]\nto = [70, 10]\nlength = "120 mm"\n\n[nest]'
    file.write_text(file.read_text(encoding="utf-8").replace("[nest]", known), encoding="utf-8")
    plan = plan_of(traced)
    assert is_read_for_its_scale(plan)
    assert plan.scale.mm_per_px == pytest.approx([2 * factor for factor in before.mm_per_px])


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: "",
        lambda text: "[]",
        lambda text: text[: len(text) // 2],
        lambda text: json.dumps(json.loads(text) | {"scale": 3}),
        # One digit of one number: it would pass for another scale.
        lambda text: text.replace('\\"mm_per_px\\": [', '\\"mm_per_px\\": [1'),
    ],
)
def test_a_damaged_file_is_no_loss(traced, damage):
    before, file = plan_of(traced).scale, kept_file(traced)
    text = file.read_text(encoding="utf-8")
    assert damage(text) != text
    file.write_text(damage(text), encoding="utf-8")
    plan = plan_of(traced)
    assert is_read_for_its_scale(plan)
    assert plan.scale.mm_per_px == before.mm_per_px
