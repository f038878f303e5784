"""The weight budget adds up, keeps what was weighed apart, and says what is free."""

import pytest

from nesting.balance.budget import BudgetPlan, spent_budget
from nesting.balance.ledger import Entry, entry
from nesting.wood.estimate import Estimate
from vectorize.basics.errors import JobError


def of(part, stage, mass, *, sigma=0.0, **more):
    return Entry(part, part, stage, Estimate.measured(mass, sigma, f"mass of {part}"), Estimate(0.0), **more)


ENTRIES = (
    of("wing", "cut", 30.0, sigma=0.9),
    of("wing", "glued", -1.0),  # sanded off
    of("wing", "joined", 0.5),
    of("wing", "covered", 4.0),
    of("wing", "painted", 2.0),
    entry("engine", 60.0, -10.0),
    entry("tank", 20.0, 40.0, is_fuel=True),
    of("tail", "cut", 6.0, is_weighed=True),
    of("body", "painted", 50.0, is_weighed=True),
)
BALLAST = (entry("nose", 3.5, -20.0),)


def test_everything_is_in_one_group_and_the_sum_is_what_flies():
    budget = spent_budget(BudgetPlan(limit_g=200.0, target_g=170.0), ENTRIES, BALLAST)
    assert {spent.group: spent.mass.value for spent in budget.groups} == {
        "wood": 35.0, "glue": 0.5, "covering": 4.0, "paint": 2.0, "equipment": 60.0, "fuel": 20.0, "ballast": 3.5,
        "built and weighed": 50.0,
    }  # fmt: skip
    assert budget.flying.value == pytest.approx(175.0)
    assert budget.flying.sigma == pytest.approx(0.9)
    assert budget.free_to(budget.plan.limit_g).value == pytest.approx(25.0)
    assert budget.free_to(budget.plan.target_g).value == pytest.approx(-5.0)
    assert budget.weighed.value == pytest.approx(56.0)
    assert budget.notes() == ()  # a target is a wish


def test_a_limit_that_is_overstepped_and_a_group_that_takes_too_much_stay_open():
    budget = spent_budget(BudgetPlan(limit_g=170.0, groups_g={"wood": 30.0, "paint": 5.0}), ENTRIES, BALLAST)
    said = [(note.code, note.state, note.text) for note in budget.notes()]
    assert [code for code, _, _ in said] == ["over-budget", "over-budget"]
    assert {state for _, state, _ in said} == {"open"}
    assert "5.0 ± 0.9 g over its limit of 170 g" in said[0][2]
    assert "wood takes 35.0 g of the 30 g that it may; save 5.0 g there" in said[1][2]


def test_a_group_that_may_weigh_something_is_shown_before_it_does():
    budget = spent_budget(BudgetPlan(groups_g={"paint": 5.0}), ENTRIES[:1], None)
    assert [(spent.group, spent.mass.value, spent.allowed_g) for spent in budget.groups] == [
        ("wood", 30.0, None),
        ("paint", 0.0, 5.0),
    ]
    assert not budget.has_ballast


@pytest.mark.parametrize(
    ("plan", "said"),
    [
        ({"limit_g": 0.0}, "limit is 0 g; it must be above zero"),
        ({"groups_g": {"wood": -1.0}}, "wood is -1 g"),
        ({"limit_g": 100.0, "target_g": 120.0}, "target of 120 g is above the limit of 100 g"),
    ],
)
def test_a_budget_that_cannot_be_is_refused(plan, said):
    with pytest.raises(JobError, match=said):
        BudgetPlan(**plan)
