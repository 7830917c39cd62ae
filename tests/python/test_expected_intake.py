"""What a sow is expected to eat: distributions of small samples, correlations and predictions by textbook formulas."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.distance import cosine
from scipy.stats import norm, rankdata
from sows_by_hand import stays

from farrowtide import UserError
from farrowtide.analysis.watching.expected import Distribution, Expected, expectations

NAN = np.nan
SOWS = 120


def normal_days(sows=SOWS, days=4, within=1.0, seed=3):
    """Days of sows that differ from each other by 1, each day within a sow by `within`."""
    rng = np.random.default_rng(seed)
    return 10 + rng.standard_normal((sows, 1)) + within * rng.standard_normal((sows, days))


def expected_of(eaten_kg, **columns):
    of = stays(eaten_kg=eaten_kg, **columns)
    return Expected("eaten_kg", of), of


def test_scores_of_the_sample_are_those_of_its_mid_ranks():
    """Hazen's plotting positions; equal amounts share the mean of their ranks."""
    amounts = np.array([1.0, 2.0, 2.0, 2.0, 5.0, 7.0, 7.0, 9.0])
    expected = norm.ppf((rankdata(amounts) - 0.5) / 8)
    assert Distribution(amounts).scores(amounts) == pytest.approx(expected)


def test_an_amount_that_is_not_recorded_has_no_score_and_no_score_has_no_amount():
    distribution = Distribution(np.arange(1.0, 11.0))
    for function in (distribution.scores, distribution.amounts):
        assert np.isnan(function(np.array([0.0, NAN]))).tolist() == [False, True]


def test_no_amount_is_below_zero():
    assert Distribution(np.arange(1.0, 11.0)).amounts(np.array([-9.0])) == 0


def test_where_all_sows_ate_the_same_a_gram_more_is_one_score_beyond_the_highest():
    of_ten = norm.ppf(0.95)
    found = Distribution(np.full(10, 5.0)).scores(np.array([4.999, 5.0, 5.001]))
    assert found == pytest.approx([-of_ten - 1, 0, of_ten + 1])


@pytest.mark.parametrize(
    ("sows", "known", "days"), [(400, 100, 3), (400, 99, 2), (480, 120, 3), (480, 119, 2), (100, 100, 3), (100, 99, 2)]
)
def test_a_band_ends_before_the_day_on_which_too_few_sows_nurse(sows, known, days):
    """Fewer than 100, or than a quarter of those simulated."""
    eaten = normal_days(sows, 3)
    eaten[known:, 2] = NAN
    expected, of = expected_of(eaten)
    assert expected.days == days
    assert expected.correlation.shape == (days, days)
    assert (~np.isnan(expected.scores(of)).all(axis=0)).sum() == days


def test_fewer_than_a_hundred_sows_are_refused():
    with pytest.raises(UserError, match="eaten_kg: fewer than 100 healthy sows"):
        expected_of(normal_days(99, 2))


@pytest.mark.parametrize(("gilts", "of_gilts_kg"), [(40, 3.0), (39, (39 * 3 + 81 * 5) / 120)])
def test_a_parity_class_of_few_sows_has_the_mean_of_all(gilts, of_gilts_kg):
    eaten = np.full((SOWS, 2), 5.0)
    eaten[:gilts] = 3.0
    expected, _ = expected_of(eaten, parity=[1] * gilts + [3] * (SOWS - gilts))
    gilt_and_sow = stays(eaten_kg=np.ones((2, 2)), parity=[1, 4])
    assert expected.mean(gilt_and_sow) == pytest.approx(np.array([[of_gilts_kg] * 2, [5.0] * 2]))


def test_sows_whose_day_is_missing_are_not_in_its_distribution():
    eaten = np.full((SOWS + 20, 1), 4.0)
    eaten[SOWS:] = NAN
    expected, _ = expected_of(eaten)
    assert expected.mean(stays(eaten_kg=[[1.0]])) == pytest.approx(4.0)


def test_days_beyond_those_simulated_have_no_score_and_fewer_days_are_scored():
    expected, _ = expected_of(normal_days(days=2))
    assert np.isnan(expected.scores(stays(eaten_kg=[[10, 10, 10]]))).tolist() == [[False, False, True]]
    assert np.isnan(expected.scores(stays(eaten_kg=[[10]]))).tolist() == [[False]]


def test_days_go_together_as_their_scores_do():
    """Scores have a mean of zero, so that their correlation is the cosine, over the sows that have both days."""
    eaten = normal_days(140)
    eaten[:20, 1], eaten[10:30, 2] = NAN, NAN
    expected, of = expected_of(eaten)
    scores = expected.scores(of)
    assert np.diag(expected.correlation) == pytest.approx(1.0)
    for one, other in ((0, 1), (1, 2), (2, 3)):
        both = ~np.isnan(scores[:, [one, other]]).any(axis=1)
        cosine_of_both = 1 - cosine(scores[both, one], scores[both, other])
        assert expected.correlation[one, other] == pytest.approx(cosine_of_both, abs=1e-9)
        assert expected.correlation[other, one] == pytest.approx(cosine_of_both, abs=1e-9)


@pytest.mark.parametrize(("both", "related"), [(2, False), (3, True)])
def test_two_sows_say_nothing_of_how_days_go_together(both, related):
    eaten = normal_days(200 - both, 2)
    eaten[100:, 0], eaten[: 100 - both, 1] = NAN, NAN
    expected, _ = expected_of(eaten)
    assert (abs(expected.correlation[0, 1]) > 0.01) == related


def exchangeable(days, within):
    """An expectation of days that have the same correlation with each other, and its distribution of N(0, 1)."""
    expected, _ = expected_of(normal_days(days=days))
    expected.correlation = np.full((days, days), within) + (1 - within) * np.eye(days)
    return expected


def test_the_first_day_is_predicted_from_nothing():
    found = exchangeable(3, 0.5).predicted(np.array([[1.0, NAN, NAN]]))
    assert found.mean[0, 0] == 0
    assert found.sd[0, 0] == 1


def test_a_day_is_predicted_from_the_days_before_that_are_known():
    """With correlation r between days, each of n weighs r / (1 + (n - 1) r), and n r^2 / (1 + (n - 1) r) is explained."""
    scores = np.array([[0.6, NAN, -0.3], [0.6, 1.2, 0.3], [1.5, NAN, 9.0]])
    found = exchangeable(3, 0.5).predicted(scores)
    assert found.mean[:, 1] == pytest.approx([0.3, 0.3, 0.75])
    assert found.sd[:, 1] ** 2 == pytest.approx([0.75] * 3)
    assert found.mean[:, 2] == pytest.approx([0.3, (0.6 + 1.2) / 3, 0.75])
    assert found.sd[:, 2] ** 2 == pytest.approx([0.75, 1 - 1 / 3, 0.75])


def test_a_day_can_be_predicted_without_the_day_before():
    found = exchangeable(4, 0.5).predicted(np.array([[0.6, 1.2, -3.0, 0.0], [NAN, 1.2, 0.9, 0.0]]), skipping=1)
    assert found.mean == pytest.approx(np.array([[0, 0, 0.3, 0.6], [0, 0, 0, 0.6]]))
    assert found.sd**2 == pytest.approx(np.array([[1, 1, 0.75, 1 - 1 / 3], [1, 1, 1, 0.75]]))


def test_days_that_never_differ_within_a_sow_leave_a_little_doubt():
    expected, of = expected_of(normal_days(days=3, within=0.0))
    found = expected.predicted(expected.scores(of))
    assert np.diag(expected.correlation) == pytest.approx(1.0)
    assert np.isfinite(found.sd).all()
    assert (found.sd[:, 1:] > 0).all()
    assert (found.sd[:, 1:] < 0.2).all()


def test_no_sow_has_no_prediction():
    assert exchangeable(3, 0.5).predicted(np.empty((0, 3))).mean.shape == (0, 3)


def test_feed_and_water_are_expected_apart():
    of = stays(eaten_kg=np.full((SOWS, 1), 5.0), water_l=np.full((SOWS, 1), 20.0))
    found = expectations(of)
    means = {name: expected.mean(of)[0, 0] for name, expected in found.items()}
    assert means == {"eaten_kg": pytest.approx(5.0), "water_l": pytest.approx(20.0)}
