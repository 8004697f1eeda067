"""What the judges of rows are told: a row's features, and where they stand among those that were learnt from."""

import numpy as np
import pytest

from preflight.measure.letter_features import FEATURES
from preflight.measure.letter_portrait import RANK, panel, weights, with_ranks


def test_ranks_part_what_was_learnt_from_into_equal_shares():
    learnt = np.random.default_rng(4).lognormal(size=(5000, 1))
    knots = np.quantile(learnt, np.linspace(0, 1, 24), axis=0)
    ranks = with_ranks(learnt, knots)[:, 1]
    shares = np.histogram(ranks, bins=10, range=(-RANK, RANK))[0] / len(learnt)
    assert shares == pytest.approx(np.full(10, 0.1), abs=0.01)
    beyond = with_ranks(np.array([[-5.0], [1e6]]), knots)
    assert beyond[:, 1].tolist() == [-RANK, RANK]
    assert beyond[:, 0].tolist() == [-5.0, 1e6]


def test_the_judges_know_every_feature():
    for judge in panel("line").judges:
        assert len(judge.mean) == 2 * len(FEATURES)
    assert np.shape(weights()["line knots"])[1] == len(FEATURES)
