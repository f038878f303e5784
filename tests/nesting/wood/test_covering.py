import pytest

from nesting.wood.covering import COATS, Coat, Finish, Glue, Joint, edited, finish_layers, finish_mass, joint_mass
from nesting.wood.estimate import Estimate
from nesting.wood.part import Part
from vectorize.basics.errors import JobError
from vectorize.shapes.outline import Outline

PART = Part("fin", Outline.rectangle(0, 0, 100, 50), "balsa", 3.0)
AREAL = Estimate(120e-6 * 3)


def layers(finish: Finish, **more):
    return finish_layers(PART, finish, areal=AREAL, thickness_mm=3.0, **more)


def test_a_coat_weighs_its_area():
    paper = {"paper": Coat("paper", 20.0)}
    (layer,) = layers(Finish(top=("paper",)), coats=paper)
    assert layer.mass.value == pytest.approx(20.0 * 0.005)
    assert layer.stage == "covered"
    assert finish_mass(layers(Finish(top=("paper",) * 3, edges=("paper",)), coats=paper)).value == pytest.approx(
        20.0 * (3 * 0.005 + 300 * 3e-6)
    )


def test_the_same_coat_on_two_parts_errs_the_same_way():
    one = finish_mass(layers(Finish(top=("tissue",))))
    two = finish_mass(layers(Finish(top=("tissue",), bottom=("tissue",))))
    assert two.sigma == pytest.approx(2 * one.sigma)


def test_sanding_takes_wood_off_both_faces():
    (layer,) = layers(Finish(sanding_mm=0.15))
    assert layer.mass.value == pytest.approx(-0.1 * 1.8)
    with pytest.raises(JobError, match="leaves nothing"):
        layers(Finish(sanding_mm=1.5))


def test_glue_weighs_its_joint():
    glues = {"g": Glue("g", 100.0)}
    assert joint_mass(Joint("root", ("a", "b"), "g", 500.0), glues=glues).value == pytest.approx(0.05)


def test_names_that_are_not_in_the_table_suggest_the_nearest():
    with pytest.raises(JobError, match="did you mean 'tissue'"):
        layers(Finish(top=("tisue",)))
    with pytest.raises(JobError, match=r"joint root: glue 'flour'.*known are"):
        joint_mass(Joint("root", ("a",), "flour", 1.0))


@pytest.mark.parametrize(
    "make",
    [
        lambda: Coat("x", 0.0),
        lambda: Coat("x", 1.0, 2.0),
        lambda: Coat("x", 1.0, modulus_per_density=-1.0),
        lambda: Finish(sanding_mm=-1.0),
        lambda: Joint("j", (), "epoxy", 0.0),
    ],
)
def test_values_that_cannot_be_are_refused(make):
    with pytest.raises(JobError):
        make()


def test_defaults_can_be_edited_and_added_to():
    table = edited(COATS, [{"name": "tissue", "g_per_m2": 12.0}, {"name": "silk", "g_per_m2": 30.0}], Coat)
    assert table["tissue"].g_per_m2 == 12.0
    assert table["tissue"].spread == COATS["tissue"].spread
    assert table["silk"].g_per_m2 == 30.0
