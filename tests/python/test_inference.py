"""Intervals of means of skewed and rare values: against other programs, known distributions and the rules they keep."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, special, stats

from farrowtide.statistics import inference
from farrowtide.statistics.moments import Moments

STUDIES = 2000


def hall(values: np.ndarray, mean: float) -> float:
    """The transformed statistic of a true mean, as in Hall (1992), sections 1 and 2."""
    n = len(values)
    w = (values.mean() - mean) / values.std(ddof=1)
    skewness = stats.skew(values)
    return math.sqrt(n) * (w + skewness * w**2 / 3 + skewness**2 * w**3 / 27 + skewness / (6 * n))


def ends_by_root_finding(values: np.ndarray, confidence: float) -> tuple[float, float]:
    """The union of Student's interval by scipy and of the means whose transformed statistic is within the same t."""
    n = len(values)
    student = stats.t.interval(confidence, n - 1, values.mean(), stats.sem(values))
    t, reach = stats.t.ppf((1 + confidence) / 2, n - 1), 1e3 * np.ptp(values)
    ends = [
        optimize.brentq(lambda mean, at=at: hall(values, mean) - at, values.mean() - reach, values.mean() + reach)
        for at in (t, -t)
    ]
    return min(student[0], ends[0]), max(student[1], ends[1])


@pytest.mark.parametrize("confidence", [0.9, 0.95])
@pytest.mark.parametrize("seed", range(5))
def test_the_interval_is_the_union_of_students_and_halls(seed, confidence):
    values = np.random.default_rng(seed).lognormal(size=(25, 2)) * [1.0, -3.0]
    low, high = inference.interval(Moments.of(values), confidence)
    expected = [ends_by_root_finding(column, confidence) for column in values.T]
    np.testing.assert_allclose(np.transpose([low, high]), expected, rtol=1e-8)
    np.testing.assert_allclose(inference.half_width(Moments.of(values), confidence), (high - low) / 2)


def test_symmetric_values_get_the_interval_and_p_of_scipys_t_test():
    half = np.random.default_rng(1).normal(size=10)
    values = 0.4 + np.concatenate([half, [0.0], -half])
    expected = stats.ttest_1samp(values, 0)
    moments = Moments.of(values[:, np.newaxis])
    np.testing.assert_allclose(np.ravel(inference.interval(moments)), expected.confidence_interval(0.95))
    np.testing.assert_allclose(np.ravel(inference.student_interval(moments)), expected.confidence_interval(0.95))
    assert inference.p_of_no_difference(moments).item() == pytest.approx(expected.pvalue)


@given(st.lists(st.integers(-3, 9), min_size=5, max_size=40), st.sampled_from([0.8, 0.95, 0.99]))
def test_a_mean_is_rejected_just_where_it_is_outside_the_interval(values, confidence):
    moments = Moments.of(np.array(values, dtype=float)[:, np.newaxis])
    low, high = (end.item() for end in inference.interval(moments, confidence))
    if math.isnan(low):
        assert np.isnan(inference.p_of_no_difference(moments)).all() or inference.is_constant(moments).all()
        return
    assert low < moments.mean.item() < high  # never of zero width
    error = (1 - confidence) / 2
    for bound, p in ((high, inference.p_below(moments, high)), (low, inference.p_below(moments.turned(-1.0), -low))):
        assert p.item() == pytest.approx(error, rel=1e-6), bound


def test_moments_of_blocks_keep_skewness_and_the_count_of_values_apart():
    values = np.random.default_rng(2).gamma(0.5, size=(90, 3)) * [1.0, 5.0, 1e-3] + [0.0, 100.0, 0.0]
    values[::3, 0] = 0.0
    values[::7] = np.nan
    moments = Moments(3, tiny=np.array([0.0, 0.0, 1e-4]))
    for part in np.split(values, [1, 20, 50]):
        moments.add(part)
    np.testing.assert_allclose(moments.skewness, stats.skew(values, nan_policy="omit"))
    np.testing.assert_array_equal(moments.apart, (np.abs(values) > [0.0, 0.0, 1e-4]).sum(axis=0))
    np.testing.assert_allclose(moments.turned(-1.0).skewness, -moments.skewness)
    shares = Moments(1, top=100.0)
    shares.add(np.array([[0.0], [100.0], [50.0]]))
    assert shares.apart.tolist() == [1]


@pytest.mark.parametrize(
    "values", [[0.0] * 30, [5.0] * 30, [0.1 + 0.2] * 15 + [0.3] * 15, [0.0] * 26 + [1.0] * 4, [1.0]], ids=str
)
def test_there_is_no_interval_where_values_do_not_vary_or_hardly_any_is_apart(values):
    moments = Moments.of(np.array(values)[:, np.newaxis])
    assert np.isnan([*inference.interval(moments), inference.half_width(moments)]).all()
    assert np.isnan(inference.share_interval(Moments.of(np.array(values)[:, np.newaxis], top=100.0))).all()


def test_the_share_of_rooms_that_may_differ_is_the_exact_binomial_bound():
    for count, n in ((0, 20), (0, 60), (3, 20), (19, 20)):
        expected = stats.binomtest(count, n, alternative="less").proportion_ci(0.95, method="exact").high
        assert inference.highest_share(count, n) == pytest.approx(expected)
    assert inference.highest_share(20, 20) == 1.0
    assert inference.highest_share(0, 100) == pytest.approx(3 / 100, abs=0.001)  # the rule of three


def of_log_odds(values: np.ndarray) -> list[float]:
    share, error = values.mean() / 100, stats.sem(values) / 100
    half = stats.t.ppf(0.975, len(values) - 1) * error / (share * (1 - share))
    return [float(100 * special.expit(special.logit(share) + side * half)) for side in (-1, 1)]


@pytest.mark.parametrize("mirrored", [False, True])
def test_the_interval_of_a_share_is_that_of_the_log_odds_where_the_other_leaves_the_range(mirrored):
    values = np.array([0.0, 2.0, 30.0, 1.0, 4.0, 12.0])
    shares = 100 - values if mirrored else values
    moments = Moments.of(shares[:, np.newaxis], top=100.0)
    low, high = (end.item() for end in inference.share_interval(moments))
    lower, higher = (end.item() for end in inference.interval(moments))
    odds = of_log_odds(shares)
    expected = [min(odds[0], lower), odds[1]] if mirrored else [odds[0], max(odds[1], higher)]
    assert higher > 100 if mirrored else lower < 0
    assert [low, high] == pytest.approx(expected)
    assert 0 < low < high < 100


def held(draw, truth: float, interval=inference.interval, **moments) -> tuple[float, float]:
    """Among studies with an interval, the share that holds the truth; and the share of studies with one."""
    found = Moments.of(draw, **moments)
    low, high = interval(found)
    known = ~np.isnan(low)
    return float(np.mean((low <= truth)[known] & (truth <= high)[known])), float(known.mean())


@pytest.mark.parametrize(
    ("draw", "truth", "rooms"),
    [
        (lambda random, shape: random.normal(0.3, 1, shape), 0.3, 10),
        (lambda random, shape: random.gamma(4.0, size=shape), 4.0, 20),  # skewness 1
        (lambda random, shape: random.exponential(size=shape), 1.0, 20),  # 2
        (lambda random, shape: random.gamma(0.5, size=shape), 0.5, 50),  # 2.8
        (lambda random, shape: random.binomial(1, 0.1, shape) * 1.0, 0.1, 200),
        (lambda random, shape: random.binomial(1, 0.2, shape) * random.choice([-1.0, 1.0], shape), 0.0, 100),
        (lambda random, shape: random.binomial(1, 0.1, shape) * random.exponential(size=shape), 0.1, 200),
    ],
    ids=[
        "normal",
        "gamma of shape 4",
        "exponential",
        "gamma of shape 0.5",
        "rare",
        "rare, of both signs",
        "rare, skewed",
    ],
)
def test_coverage_where_the_truth_is_known(draw, truth, rooms):
    """93 to 97 %, with four standard errors for the chance of the count itself."""
    share, known = held(draw(np.random.default_rng(3), (rooms, STUDIES)), truth)
    chance = 4 * math.sqrt(0.95 * 0.05 / STUDIES)
    assert 0.93 - chance / 2 < share < 0.97 + chance / 2
    assert known > 0.99


def test_the_check_of_coverage_notices_that_students_interval_alone_does_not_hold():
    values = np.random.default_rng(4).exponential(size=(20, STUDIES))
    assert held(values, 1.0, inference.student_interval)[0] < 0.93 < held(values, 1.0)[0]


def test_coverage_of_shares_of_few_rooms():
    values = 100 * np.random.default_rng(5).beta(1.0, 9.0, size=(10, STUDIES))
    share, known = held(values, 10.0, inference.share_interval, top=100.0)
    assert 0.93 < share < 0.97
    assert known == 1.0
