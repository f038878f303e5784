"""Stated uncertainties against truth, on a few fixed sheets; `tests.benchmarks.certainty` measures them on hundreds."""

import numpy as np
import pytest

from fixtures.random_sheets import KINDS
from tests.benchmarks.certainty import random_scores

SEED = 41
# What is asked of hundreds of parts is 93 % and 0.7 to 1.2; 33 parts scatter more, and a wrong factor of two shows.
LEAST_INSIDE = 0.8
RMS = (0.45, 1.5)


@pytest.fixture(scope="module")
def scores():
    tallies = [random_scores(kind, SEED) for kind in KINDS]
    assert sum(tally.lost for tally in tallies) <= 2
    return [score for tally in tallies for score in tally.scores]


@pytest.mark.slow
def test_areas_lie_within_what_is_stated_and_not_far_within(scores):
    area = np.array([score.area for score in scores])
    assert np.mean(np.abs(area) < 2) >= LEAST_INSIDE
    assert RMS[0] < np.sqrt(np.mean(area**2)) < RMS[1]


@pytest.mark.slow
def test_edges_lie_within_what_is_stated_and_not_far_within(scores):
    edge = np.array([score.edge_rms for score in scores])
    assert np.mean([score.edge_inside >= 0.95 for score in scores]) >= LEAST_INSIDE
    assert RMS[0] < np.sqrt(np.mean(edge**2)) < RMS[1]
