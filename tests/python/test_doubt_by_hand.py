"""Doubt about parameters in two or three draws, by hand: variances, mixtures, shares of variance, worth of knowing."""

import math

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats

from farrowtide.statistics import sensitivity, worth
from farrowtide.statistics.two_levels import BothDoubts, Draws, error_of_probability, rooms_of_a_draw


def draws_of(*rooms_by_draw: list[float]) -> Draws:
    """Those of one series."""
    return Draws.of(np.array(rooms_by_draw, dtype=float)[:, :, None])


# --- two variances ---


def test_variances_of_two_draws_of_two_rooms():
    """Means 2 and 7; within (2 + 8) / 2 = 5; the means spread by 12.5, of which 5 / 2 is chance."""
    draws = draws_of([1, 3], [5, 9])
    assert draws.means.ravel().tolist() == [2, 7]
    assert [draws.within.item(), draws.between.item(), draws.number.item()] == [5, 10, 2]
    assert draws.variance_of_centre.item() == 5 / 2 / 2
    assert draws.true.ravel() == pytest.approx([4.5 - math.sqrt(5), 4.5 + math.sqrt(5)])  # variance 10


def test_draws_with_fewer_rooms_weigh_by_their_rooms():
    """Means 2 and 5, within 2 / 1; their spread 4.5 has chance of (2 / 2 + 2 / 1) / 2 in it."""
    draws = draws_of([1, 3], [5, np.nan], [np.nan, np.nan])
    np.testing.assert_array_equal(draws.means.ravel(), [2, 5, np.nan])
    assert draws.rooms.ravel().tolist() == [2, 1, 0]
    assert [draws.within.item(), draws.between.item(), draws.number.item()] == [2, 3, 2]
    assert draws.variance_of_centre.item() == (2 / 2 + 2 / 1) / 2**2
    np.testing.assert_allclose(draws.true.ravel(), [3.5 - math.sqrt(1.5), 3.5 + math.sqrt(1.5), np.nan])


def test_draws_that_spread_less_than_chance_have_no_variance_between_them():
    draws = draws_of([0, 10], [6, 6])
    assert [draws.within.item(), draws.between.item()] == [25, 0]
    assert draws.true.ravel().tolist() == [5.5, 5.5]


def test_draws_of_the_same_mean_stay_where_they_are():
    draws = draws_of([4, 4], [4, 4])
    assert [draws.within.item(), draws.between.item(), draws.variance_of_centre.item()] == [0, 0, 0]
    assert draws.true.ravel().tolist() == [4, 4]


def test_without_two_rooms_in_any_draw_chance_is_not_known():
    draws = draws_of([1], [5], [6])
    assert np.isnan([draws.within, draws.between]).all()
    assert draws.variance_of_centre.item() == 0


def test_one_draw_is_its_own_centre():
    draws = draws_of([1, 3])
    assert [draws.within.item(), draws.between.item(), draws.number.item()] == [2, 0, 1]
    assert draws.variance_of_centre.item() == 1
    assert draws.true.ravel().tolist() == [2]


def test_no_draw_with_a_value_has_no_true_value():
    draws = draws_of([np.nan, np.nan], [np.nan, np.nan])
    assert draws.number.item() == draws.variance_of_centre.item() == 0
    assert np.isnan(draws.true).all()


def test_series_are_told_apart():
    both = Draws.of(np.stack([[[1, 3], [5, 9]], [[0, 10], [6, 6]]], axis=2).astype(float))
    assert both.within.tolist() == [5, 25]
    assert both.between.tolist() == [10, 0]
    assert both.variance_of_centre.tolist() == [1.25, 6.25]


@pytest.mark.parametrize(
    ("cost", "between", "within", "rooms"),
    [
        (9.0, 1.0, 4.0, 6),  # sqrt(9 x 4)
        (8.0, 1.0, 1.0, 3),  # rounded up
        (9.0, 4.0, 1.0, 2),  # 1.5
        (1.0, 0.001, 1.0, 20),
        (1.0, 0.0, 1.0, 20),
        (1.0, 0.0, 0.0, 2),
        (1.0, np.nan, np.nan, 2),
    ],
)
def test_the_rooms_of_a_draw_are_the_root_of_cost_times_the_ratio_of_variances(cost, between, within, rooms):
    draws = Draws(np.zeros((2, 1)), np.ones((2, 1)), np.array([between]), np.array([within]))
    assert rooms_of_a_draw(draws, cost).tolist() == [rooms]


# --- mixtures ---


def both_doubts(*centres: float, error: float, df: int = 1) -> BothDoubts:
    return BothDoubts(np.array(centres, dtype=float)[:, None], np.array([error]), np.array([df]))


def cauchy(x: float) -> float:
    """The distribution function of Student's with one degree of freedom."""
    return 0.5 + math.atan(x) / math.pi


def test_the_probability_below_a_bound_is_the_mean_over_draws():
    both = both_doubts(0, 4, np.nan, error=2.0)
    assert both.below(np.array([2.0])).item() == pytest.approx(0.5)
    assert both.below(np.array([6.0])).item() == pytest.approx((cauchy(3) + cauchy(1)) / 2)


def test_without_chance_the_draws_are_counted():
    """On a draw itself half of it is below."""
    both = both_doubts(1, 2, 3, 4, error=0.0)
    assert [both.below(np.array([bound])).item() for bound in (0.5, 1.0, 2.5, 4.5)] == [0, 1 / 8, 1 / 2, 1]
    assert np.ravel(both.interval(0.5)) == pytest.approx([1, 3])


@pytest.mark.parametrize("probability", [0.0006, 0.025, 0.5, 0.9, 0.9994])
def test_the_quantile_around_one_draw_is_students(probability):
    expected = 3 + 2 * stats.t.ppf(probability, 5)
    assert both_doubts(3, np.nan, error=2.0, df=5).quantile(probability).item() == pytest.approx(expected)


def test_the_quantile_of_a_mixture_is_where_its_probability_is_reached():
    """Below 10 + x the first of the draws at -10 and 10 is nearly whole: with x = 0, (cauchy(20) + 1/2) / 2."""
    both = both_doubts(-10, 10, error=1.0)
    assert both.quantile((cauchy(20) + 0.5) / 2).item() == pytest.approx(10)
    assert both.quantile((cauchy(-20) + 0.5) / 2).item() == pytest.approx(-10)


def test_the_interval_leaves_the_same_probability_on_either_side():
    low, high = both_doubts(5, error=2.0, df=7).interval(0.8)
    assert (low.item(), high.item()) == pytest.approx(stats.t.interval(0.8, 7, loc=5, scale=2))
    low, high = both_doubts(5, error=2.0, df=7).interval()
    assert (low.item(), high.item()) == pytest.approx(stats.t.interval(0.95, 7, loc=5, scale=2))


def test_each_series_has_its_own_draws_error_and_freedom():
    both = BothDoubts(np.array([[0.0, 7.0], [np.nan, 7.0]]), np.array([1.0, 3.0]), np.array([4, 9]))
    expected = [stats.t.ppf(0.9, 4), 7 + 3 * stats.t.ppf(0.9, 9)]
    assert both.quantile(0.9) == pytest.approx(expected)
    assert both.below(np.array(expected)) == pytest.approx([0.9, 0.9])


def test_a_series_without_draws_has_no_probability():
    assert np.isnan(both_doubts(np.nan, error=1.0).below(np.zeros(1))).all()


@pytest.mark.parametrize(("probability", "expected"), [(0.5, 0.05), (0.0, 0.014), (1.0, 0.014)])
def test_the_error_of_a_counted_probability(probability, expected):
    """96 draws and four more: sqrt(p (1 - p) / 100) with p = 1/2 or 2/100."""
    assert error_of_probability(probability, 96) == pytest.approx(expected)


# --- shares of variance ---


@pytest.fixture(scope="module")
def signs():
    """A full factorial design, of 32 draws of five inputs that are -1 or 1: not correlated."""
    return np.array(np.meshgrid(*[[-1.0, 1.0]] * 5)).reshape(5, 32).T


def test_linear_shares_of_a_factorial_design(signs):
    """Slopes 2 and -1 are real; 0.03 and 0.005 are not, and a product of inputs of 0.1 is followed by no line.

    Of an input that is uniform the variance of a slope is a third of its square, of a true variance of 2 a sixth.
    """
    slopes = np.array([0.0, -1.0, 0.03, 2.0, 0.005])
    result = 5 + signs @ slopes + 0.1 * signs[:, 0] * signs[:, 1]
    found = sensitivity.linear_shares((signs + 1) / 2, result, 2.0, 4)
    assert found.inputs == [3, 1, 2, 4]
    assert found.real.tolist() == [True, True, False, False]
    left = 32 * (0.1**2 + 0.03**2 + 0.005**2)
    fitted = np.array([2, 1, 0.03, 0.005])
    squares = [left, left, left - 32 * 0.03**2, left - 32 * 0.005**2]  # what a line on this one too leaves
    error = np.sqrt(np.array(squares) / [29, 29, 28, 28] / 32)
    t = stats.t.ppf(0.975, 29)
    assert found.share == pytest.approx(np.maximum(fitted**2 - error**2, 0) / 6)
    assert found.share[2] > 0 == found.share[3]
    assert found.low == pytest.approx(np.maximum(fitted - t * error, 0) ** 2 / 6)
    assert found.high == pytest.approx((fitted + t * error) ** 2 / 6)
    error_of_uniform = error[0] * math.sqrt(3)  # whose variance is a third of that of signs
    assert found.floor == pytest.approx((stats.t.ppf(1 - 0.025 / 5, 29) * error_of_uniform) ** 2 / 6)
    assert found.explained == pytest.approx((4 + 1 - 2 * error[0] ** 2) / 6)


def test_the_ends_of_a_linear_share_are_those_of_the_slope_in_a_regression():
    """Inputs that are correlated, as calibrated ones are; statsmodels' intervals of the slopes on -1 to 1."""
    generator = np.random.default_rng(1)
    inputs = generator.random((40, 3))
    inputs[:, 1] = (inputs[:, 0] + inputs[:, 1]) / 2
    result = inputs @ [4.0, 2.0, -3.0] + generator.standard_normal(40) / 4
    found = sensitivity.linear_shares(inputs, result, 9.0, 3)
    assert found.real.all()
    slopes = sm.OLS(result, sm.add_constant(2 * inputs - 1)).fit()
    ends = np.sort(np.abs(slopes.conf_int()[1:][found.inputs]), axis=1)
    np.testing.assert_allclose(np.transpose([found.low, found.high]), ends**2 / 3 / 9)
    np.testing.assert_allclose(found.share, (slopes.params[1:] ** 2 - slopes.bse[1:] ** 2)[found.inputs] / 3 / 9)


def test_an_input_is_real_by_the_p_of_as_many_inputs(signs):
    """Bonferroni: of five inputs 1 % each. The p of a slope b beside noise of variance 1 is that of b sqrt(30)."""
    noise = signs[:, 0] * signs[:, 1]
    just = stats.t.ppf(1 - 0.01 / 2, 30) / math.sqrt(30)
    for slope, real in ((0.999 * just, False), (1.001 * just, True)):
        found = sensitivity.linear_shares((signs + 1) / 2, slope * signs[:, 4] + noise, 1.0, 1)
        assert (found.inputs, found.real.tolist()) == ([4], [real])
        assert found.explained == (found.share[0] if real else 0)


def test_no_share_is_above_all_of_the_variance(signs):
    result = 3 * signs[:, 0] + 3 * signs[:, 1] + signs[:, 2] * signs[:, 3]
    found = sensitivity.linear_shares((signs + 1) / 2, result, 0.1, 2)
    assert [found.share.tolist(), found.low.tolist(), found.high.tolist()] == [[1, 1]] * 3
    assert [found.explained, found.floor] == [1, 1]


def test_without_a_true_variance_there_are_no_shares(signs):
    found = sensitivity.linear_shares((signs + 1) / 2, 3 * signs[:, 1], 0.0, 2)
    assert found.inputs[0] == 1
    assert [found.share.tolist(), found.low.tolist(), found.high.tolist()] == [[0, 0]] * 3
    assert [found.explained, found.floor] == [0, 1]
    assert sensitivity.shares_of_any_shape((signs + 1) / 2, signs[:, 1], 0.0).tolist() == [0] * 5


def test_a_result_that_is_the_same_everywhere_has_no_inputs(signs):
    found = sensitivity.linear_shares((signs + 1) / 2, np.zeros(32), 1.0, 5)
    assert found.inputs == [0, 1, 2, 3, 4]
    assert not found.real.any()
    assert found.explained == found.floor == 0


def test_with_twenty_draws_or_fewer_no_input_is_told(signs):
    for draws, real in ((20, False), (21, True)):
        found = sensitivity.linear_shares((signs[:draws] + 1) / 2, signs[:draws, 0], 1.0, 2)
        assert (found.inputs[0], found.real[0]) == (0, real)


def test_shares_of_any_shape_are_of_the_true_variance():
    inputs = np.random.default_rng(3).random((300, 2))
    result = (2 * inputs[:, 0] - 1) ** 2
    of_result = sensitivity.shares_of_any_shape(inputs, result, result.var())
    assert of_result == pytest.approx([1.0, 0.0], abs=0.1)
    found = sensitivity.shares_of_any_shape(inputs, result, 2 * result.var())
    assert found == pytest.approx(of_result / 2)
    assert sensitivity.shares_of_any_shape(inputs, result, result.var() / 2)[0] == 1.0


def test_a_path_of_morris_moves_one_input_after_the_other_by_two_thirds_of_the_middle():
    design = sensitivity.morris_design(3, 5, seed=2)
    assert np.unique(design).tolist() == pytest.approx([0.125, 0.375, 0.625, 0.875])
    for path in design.reshape(5, 4, 3):
        moved = np.abs(np.diff(path, axis=0))
        assert np.sort(moved, axis=1).tolist() == [[0, 0, 0.5]] * 3
        assert moved.sum(axis=0).tolist() == [0.5] * 3
    assert (design == sensitivity.morris_design(3, 5, seed=2)).all()
    assert (design != sensitivity.morris_design(3, 5, seed=3)).any()


def test_an_effect_that_depends_on_another_input_has_a_spread():
    """Of the product of two inputs the effect of each is the other's place, across a middle of 3/4."""
    design = sensitivity.morris_design(2, 30, seed=2)
    found = sensitivity.elementary_effects(design, design[:, 0] * design[:, 1], seed=2)
    paths = design.reshape(30, 3, 2)
    first_moves = paths[:, 0, 0] != paths[:, 1, 0]
    second = np.where(first_moves, paths[:, 0, 1], paths[:, 2, 1])  # the place of the second as the first is moved
    assert found.size[0] == pytest.approx(0.75 * second.mean())
    assert found.spread[0] == pytest.approx(0.75 * second.std(ddof=1))
    assert found.half_width[0] == pytest.approx(1.96 * 0.75 * second.std(ddof=1) / math.sqrt(30), rel=0.2)  # bootstrap


# --- the worth of knowing ---


def test_the_worth_of_knowing_three_draws():
    """Chosen at each draw the mean is (1 + 0 + 5) / 3, by the mean of the second choice 1."""
    assert worth.of_perfect_information(np.array([[0.0, 1.0], [0.0, -3.0], [0.0, 5.0]])) == 2 - 1
    assert worth.of_perfect_information(np.array([[0.0, -1.0], [0.0, -2.0]])) == 0
    assert worth.of_perfect_information(np.zeros((2, 2))) == 0


def test_choices_that_differ_by_rounding_leave_nothing_to_know():
    """Next to 1e6 the double above is 1.2e-10 higher."""
    above = np.nextafter(1e6, 2e6)
    assert worth.of_perfect_information(np.array([[0.0, 1e6, above], [0.0, above, 1e6]])) == 0
    assert worth.of_perfect_information(np.array([[0.0, 1e6, 1e6 + 1], [0.0, 1e6 + 1, 1e6]])) == 0.5
    assert worth.of_perfect_information(np.array([[0.0, 1e-6], [1e-6, 0.0]])) == pytest.approx(5e-7)


def test_knowing_the_only_input_is_worth_little_less_than_everything():
    """The gain is the normal score: phi(0) = 0.399, of which shuffled draws make some. An input may be at its very ends."""
    probabilities = np.linspace(0, 1, 121)
    gains = np.column_stack([np.zeros(121), np.clip(stats.norm.ppf(probabilities), -2.5, 2.5)])
    found = worth.of_one_input(gains, probabilities)
    everything = worth.of_perfect_information(gains)
    assert everything == pytest.approx(stats.norm.pdf(0), abs=0.01)
    assert 0.75 * everything < found < 0.95 * everything
    assert worth.of_one_input(gains[::-1], probabilities[::-1]) == pytest.approx(found, rel=0.05)


def test_what_a_shuffled_input_explains_as_well_is_worth_nothing():
    """By luck the first input follows the gains better than shuffles do in the mean, and less than the best of them."""
    generator = np.random.default_rng(3)
    gains = np.column_stack([np.zeros(60), generator.standard_normal(60)])
    assert worth.of_one_input(gains, generator.random(60)) == 0
    assert worth.of_perfect_information(gains) > 0.3


def test_the_worth_of_one_input_is_the_same_with_the_same_seed():
    probabilities = (np.arange(60) + 0.5) / 60
    gains = np.column_stack([np.zeros(60), stats.norm.ppf(probabilities)])
    found = [worth.of_one_input(gains, probabilities, seed) for seed in (1, 1, 2)]
    assert found[0] == found[1] != found[2]


def test_gains_are_smoothed_by_a_cubic_spline_with_knots_at_the_thirds():
    """Such a spline is repeated, whatever the order of the draws; a cubic that begins at a third is one, at a half is none."""
    score = np.random.default_rng(5).permutation(stats.norm.ppf((np.arange(40) + 0.5) / 40))
    third, half = np.quantile(score, [1 / 3, 1 / 2])
    spline = np.column_stack([np.zeros(40), 1 + score - score**3, np.maximum(score - third, 0) ** 3])
    np.testing.assert_allclose(worth._smoothed(spline, score), spline, atol=1e-9)
    other = np.maximum(score - half, 0)[:, None] ** 3
    assert np.abs(worth._smoothed(other, score) - other).max() > 1e-3
