"""Which dimensions prove a plan's scale without a person."""

import numpy as np
import pytest

from vectorize.marks.dimensions import Dimension, ProposedScale
from vectorize.marks.read_plan import PlanReading
from vectorize.marks.settle_scale import settle_scale
from vectorize.page import Page

PX = 8.0


def page(stated=None):
    return Page("p.png", 1, 1, np.full((900, 1200), 255, np.uint8), (), 1200, 900, stated_px_per_mm=stated)


def along(mm, written=None, agrees=True):
    return Dimension(0, written or mm, (10.0, 20.0), (10.0 + PX * mm, 20.0), 0.9, agrees)


def across(mm, written=None, agrees=True):
    return Dimension(0, written or mm, (10.0, 20.0), (10.0, 20.0 + PX * mm), 0.9, agrees)


def settled(*dimensions, stated=None):
    scale = ProposedScale((PX, PX), 0.001, 3)
    return settle_scale(page(stated), PlanReading((), dimensions, scale, ()))


def test_three_that_agree_in_two_directions_prove_a_scale():
    found = settled(along(100), along(120), across(90))
    assert found.is_accepted
    assert len(found.dimensions) == 3


def test_three_in_one_direction_are_offered():
    assert not settled(along(100), along(120), along(90)).is_accepted


@pytest.mark.parametrize(("stated", "accepted"), [((PX, PX), True), ((PX, 1.02 * PX), False), (None, False)])
def test_two_need_the_size_that_the_file_states(stated, accepted):
    assert settled(along(100), across(90), stated=stated).is_accepted == accepted


def test_one_that_the_others_contradict_is_left_out():
    found = settled(along(100), along(120), across(90), along(110, written=114))
    assert found.is_accepted
    assert sorted(one.length_mm for one in found.dimensions) == [90, 100, 120]


@pytest.mark.parametrize(("more", "accepted"), [((), False), ((70, 80), True)])
def test_few_dimensions_that_contradict_the_files_size_are_asked(more, accepted):
    shown = (along(100), along(120), across(90), *map(along, more))
    assert settled(*shown, stated=(2 * PX, 2 * PX)).is_accepted == accepted


def test_without_dimensions_nothing_is_proved():
    found = settled()
    assert not found.is_accepted
    assert found.dimensions == ()
