import pytest

from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline

SQUARE = Outline.rectangle(0, 0, 10, 10)


def test_a_part_that_is_not_carved_balances_at_its_outline() -> None:
    part = Part("rib", SQUARE, "balsa", 2.0)
    assert part.finished_share == 1.0
    assert part.centroid == pytest.approx((5.0, 5.0))


def test_a_finished_part_balances_where_it_is_said_to() -> None:
    part = Part("wing", SQUARE, "balsa", 2.0, finished_share=0.6, finished_centroid=(4.0, 5.0))
    assert part.centroid == (4.0, 5.0)


@pytest.mark.parametrize("share", [0.0, -0.1, 1.01, float("nan")])
def test_a_share_that_cannot_be_left_is_refused(share: float) -> None:
    with pytest.raises(PartError, match="share must lie above 0"):
        Part("wing", SQUARE, "balsa", 2.0, finished_share=share)
