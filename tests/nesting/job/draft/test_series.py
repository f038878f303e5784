"""Marks that bear each other out."""

import pytest

from nesting.job.draft.drafted import Value
from nesting.job.draft.joining import Labelled
from nesting.job.draft.series import bear_out


def sures(*marks):
    labelled = [Labelled({"name": Value(name, sure, k, name)}) for k, (name, sure) in enumerate(marks)]
    bear_out(labelled)
    return [one.values["name"].sure for one in labelled]


def test_neighbours_leave_less_doubt_and_never_more_than_a_plain_mark_has():
    assert sures(("R1", 0.8), ("r2", 0.9), ("R3", 0.96)) == pytest.approx([1 - 0.2 * 0.16, 0.97, 0.97])


@pytest.mark.parametrize(
    "marks",
    [
        (("R1", 0.8), ("F2", 0.9)),
        (("R1", 0.8), ("R9", 0.9)),
        (("R1", 0.8), ("R2", 0.4)),
        (("R2", 0.8), ("R2", 0.9)),
        (("FIN", 0.8), ("R2", 0.9)),
    ],
    ids=["other letter", "far off", "itself doubtful", "twice", "no mark"],
)
def test_what_is_no_neighbour_bears_out_nothing(marks):
    assert sures(*marks) == [sure for _, sure in marks]
