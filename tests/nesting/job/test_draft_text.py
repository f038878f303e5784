"""A drafted `job.toml`: values that are sure, comments for what is doubtful, and nothing that lettering could break."""

import tomllib

import numpy as np
import pytest

from nesting.job.draft import Draft, DraftPart, Stock, Value
from nesting.job.draft.accepting import is_usual, settled
from nesting.job.draft_text import DraftJob, DraftSheet, job_text, open_words
from nesting.job.schema import JobSpec
from vectorize.marks.dimensions import Dimension
from vectorize.marks.lettering import Reading, Text
from vectorize.marks.read_plan import PlanReading
from vectorize.marks.settle_scale import SettledScale

SQUARE = np.array([(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)])


def text(words, at=(812.0, 440.0)):
    x, y = at
    box = ((x, y), (x + 90, y), (x + 90, y + 20), (x, y + 20))
    return Text(words, box, 0.0, 0.9, (Reading(words, 0.9),))


def part(name="F1", **values):
    return DraftPart(Value(name, 0.97, 0, name), (50.0, 50.0), SQUARE, True, **values)


def job(*parts, words=("F1", "3/32 PLY"), dimensions=(), accepted=True, size=None, metric=True, unlettered=()):
    reading = PlanReading(tuple(map(text, words)), dimensions, None, ())
    scale = SettledScale(tuple(dimensions), accepted, "three agree.")
    return DraftJob(DraftSheet("Fin", "plan.png", 1), reading, Draft(parts, unlettered, size, ()), scale, metric)


def table(written):
    return JobSpec.model_validate(tomllib.loads(written)).part


def test_sure_values_are_values_and_say_where_they_were_read():
    written = job_text(job(part(material=Value("balsa", 0.95, 1, "3/32 PLY"), thickness_mm=Value(2.5, 0.99, 1, "x"))))
    (one,) = table(written)
    assert (one.name, one.material, one.thickness, one.pick) == ("F1", "balsa", 2.5, ((50.0, 50.0),))
    assert '# "3/32 PLY", read at 812, 440, 95 %' in written


def test_a_doubtful_value_is_a_comment_with_its_evidence_and_other_readings():
    thick = Value(25.4 * 3 / 32, 0.61, 1, "3/32 PLY", ((25.4 * 3 / 16, 0.2),))
    written = job_text(job(part(thickness_mm=thick), metric=False))
    (line,) = [line for line in written.splitlines() if "thickness" in line]
    assert line.startswith('# thickness = "3/32 in"')
    assert 'perhaps "3/32 PLY", read at 812, 440, 61 %; or "3/16 in", 20 %' in line
    assert table(written)[0].thickness is None


def test_a_doubtful_name_is_not_taken_for_the_parts_own():
    one = DraftPart(Value("R8", 0.5, 0, "R8"), (50.0, 50.0), SQUARE, True)
    assert table(job_text(job(one)))[0].name == "perhaps R8"


def test_a_part_drawn_in_dashes_says_so_to_the_tracer_and_to_the_builder():
    one = DraftPart(Value("D1", 0.77, 0, "D1"), (50.0, 50.0), SQUARE, True, is_dashed=True)
    written = job_text(job(one))
    assert (table(written)[0].line, table(written)[0].name) == ("dashed", "perhaps D1")
    assert "only where one lies on it?" in written
    ((_, words),) = open_words([one])
    assert "drawn in dashes" in words


def test_what_is_needed_and_not_lettered_is_said():
    written = job_text(job(part()))
    assert [line for line in written.splitlines() if "not lettered" in line and line.startswith("# material")]


@pytest.mark.parametrize("accepted", [True, False])
def test_a_scale_that_is_not_proved_stays_a_comment(accepted):
    dimension = Dimension(0, 88.0, (0.0, 0.0), (880.0, 0.0), 0.9, True)
    spec = JobSpec.model_validate(tomllib.loads(job_text(job(part(), dimensions=(dimension,), accepted=accepted))))
    assert len(spec.plan[0].known) == int(accepted)


def test_half_size_is_asked_and_changes_nothing():
    asked = job_text(job(part(), size=Value("1:2", 0.9, 1, "HALF SIZE")))
    assert 'HALF SIZE", read at 812, 440, 90 %: is the plan drawn smaller than the model?' in asked
    plain = job_text(job(part()))
    assert tomllib.loads(asked) == tomllib.loads(plain)


@pytest.mark.parametrize(
    "words", ['"]\nname = "x', "a\x00b\x1b[31m", "<b>\r\n[[part]]", "'''", "\\", "#" * 9000, "\ud800"]
)
def test_hostile_lettering_stays_text_on_one_line(words):
    thick = Value(2.5, 0.5, 0, words, ((3.0, 0.3),))
    one = DraftPart(Value(words, 0.95, 0, words), (50.0, 50.0), SQUARE, True, thickness_mm=thick)
    written = job_text(job(one, words=(words,)))
    assert len(tomllib.loads(written.encode("utf-8", "replace").decode())["part"]) == 1


def test_what_is_left_to_a_person_is_told_part_by_part():
    whole = part("A1", material=Value("balsa", 0.9, 1, ""), thickness_mm=Value(3.0, 0.9, 1, ""))
    ply = part("A2", material=Value("ply", 0.9, 1, ""), thickness_mm=Value(3.0, 0.4, 1, ""))
    told = {one.name.value: words for one, words in open_words([whole, ply])}
    assert list(told) == ["A2"]
    assert "thickness is doubtful" in told["A2"]
    assert "which ply" in told["A2"]


def test_regions_without_lettering_are_offered_as_comments():
    written = job_text(job(part(), unlettered=((7.0, 8.0),)))
    assert "# pick = [[7.0, 8.0]]" in written
    assert len(table(written)) == 1


# Sizes that sheet wood is sold in: common practice, no source.
@pytest.mark.parametrize(("mm", "usual"), [(1.5, True), (25.4 / 16, True), (1.57, True), (2.7, False), (3.6, False)])
def test_usual_thicknesses_are_known(mm, usual):
    assert is_usual(mm) == usual


def test_a_thickness_that_no_sheet_has_is_doubtful_but_for_a_board_at_hand():
    odd = part(thickness_mm=Value(2.7, 0.95, 1, ""))
    assert settled([odd])[0].thickness_mm.sure < 0.85
    assert settled([odd], [Stock("balsa", 2.7)])[0].thickness_mm.sure == 0.95
