"""Response surfaces and posteriors of one or two parameters, against regression, leaving out by hand and closed forms."""

import math

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import integrate, optimize, stats

from farrowtide.statistics import surface as surfaces
from farrowtide.statistics.surface import Observed, Surface, scattered


@pytest.mark.parametrize(("count", "cells"), [(1, 2), (2, 2), (3, 4), (4, 4), (5, 8), (8, 8)])
def test_scattered_points_are_the_middles_of_equal_parts(count, cells):
    middles = stats.norm.ppf((np.arange(cells) + 0.5) / cells)
    points = scattered(count, 2)
    assert points.shape == (count, 2)
    for column in points.T:
        nearest = np.abs(column[:, None] - middles).argmin(axis=1)
        assert len(set(nearest)) == count  # each in a part of its own
        assert column == pytest.approx(middles[nearest])


def strong_quadratic(centre: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """One coordinate, and two statistics with noise that is correlated."""
    points = centre + 3 * scattered(30, 1)
    x = points[:, 0] - centre
    noise = np.random.default_rng(4).multivariate_normal([0, 0], [[1, 0.6], [0.6, 1]], size=30)
    return points, np.column_stack([5 * x + 90 * x**2, -7 * x + 80 * x**2]) + noise


def test_a_surface_through_a_strong_square_is_the_regression_on_both():
    """Statsmodels' least squares without a constant: coefficients, variance of what is left, and of the line itself."""
    points, changes = strong_quadratic(centre=2.0)
    found = Surface.through(points, changes, np.array([2.0]))
    x = points - 2.0
    design = np.column_stack([x, x**2])
    fits = [sm.OLS(column, design).fit() for column in changes.T]
    at = np.array([[2.5], [-4.0]])
    predicted = [fit.get_prediction(np.column_stack([at - 2, (at - 2) ** 2])) for fit in fits]
    np.testing.assert_allclose(found.changes(at), np.transpose([p.predicted_mean for p in predicted]), rtol=1e-3)
    np.testing.assert_allclose(np.diag(found.scatter), [fit.mse_resid for fit in fits], rtol=1e-2)
    assert found.scatter[0, 1] == pytest.approx(fits[0].resid @ fits[1].resid / 28, rel=1e-2)
    np.testing.assert_allclose(found.error_share(at), predicted[0].var_pred_mean / fits[0].mse_resid, rtol=1e-3)
    assert found.scale == pytest.approx([math.sqrt((x**2).mean())])
    assert found.changes(np.array([[2.0]])).tolist() == [[0, 0]]  # at the centre nothing changes


def test_some_statistics_of_a_surface_are_those():
    points, changes = strong_quadratic()
    both = Surface.through(points, changes, np.zeros(1))
    second = both.of(np.array([1]))
    at = np.array([[0.5], [3.0]])
    np.testing.assert_array_equal(second.changes(at), both.changes(at)[:, 1:])
    np.testing.assert_array_equal(second.scatter, both.scatter[1:, 1:])
    np.testing.assert_array_equal(both.of(np.array([1, 0])).scatter, both.scatter[::-1, ::-1])


def test_products_of_coordinates_are_part_of_a_surface():
    points = scattered(32, 2)
    truth = (3 * points[:, 0] * points[:, 1] + points[:, 1])[:, None]
    found = Surface.through(points, truth, np.zeros(2))
    at = np.array([[1.0, 2.0], [-1.0, 2.0]])
    assert found.changes(at).ravel() == pytest.approx([8, -4], rel=0.01)
    np.testing.assert_allclose(found.scale, np.sqrt((points**2).mean(axis=0)))


def test_a_coordinate_that_never_moves_has_no_slope():
    points = np.column_stack([scattered(16, 1)[:, 0], np.zeros(16)])
    found = Surface.through(points, 2 * points[:, :1], np.zeros(2))
    assert found.changes(np.array([[1.0, 0.0], [1.0, 0.5]])).ravel() == pytest.approx([2, 2], rel=1e-3)


def test_a_statistic_that_never_changes_stays_as_it_is():
    points = scattered(16, 1)
    found = Surface.through(points, np.column_stack([np.zeros(16), 2 * points[:, 0]]), np.zeros(1))
    assert found.changes(np.array([[3.0]])).ravel() == pytest.approx([0, 6], rel=1e-3)


def test_squares_that_are_noise_are_left_out_and_lines_are_not():
    """Where no square acts the heaviest penalty predicts best; a line is hardly penalised."""
    points = scattered(20, 1)
    noise = np.random.default_rng(7).normal(size=20)
    found = Surface.through(points, (2 * points[:, 0] + noise)[:, None], np.zeros(1))
    x = points[:, 0]
    of_line = sm.OLS(2 * x + noise, x).fit().params[0]
    scaled = x / found.scale
    of_square = np.linalg.lstsq(np.column_stack([scaled, scaled**2]), 2 * x + noise, rcond=None)[0][1]
    assert found.slopes[0, 0] / found.scale[0] == pytest.approx(of_line, rel=0.05)
    assert abs(found.slopes[1, 0]) < 0.1 * abs(of_square)


def test_a_penalty_draws_squares_towards_zero_but_not_beyond_it():
    """The points lie nearly evenly around 0, so that the square by itself has nearly the slope that it has beside the line."""
    points = scattered(20, 1)
    changes = 2 * points + np.random.default_rng(7).normal(size=(20, 1))
    found = Surface.through(points, changes, np.zeros(1))
    square = (points / found.scale) ** 2
    unpenalised = (square * changes).sum() / (square**2).sum()
    assert 0 < found.slopes[1, 0] / unpenalised < 0.1
    assert found.error_share(np.array([[0.5], [4.0]])).min() > 0


def test_the_error_of_points_left_out_is_that_of_leaving_each_out():
    random = np.random.default_rng(5)
    features, changes, penalty = random.normal(size=(9, 3)), random.normal(size=(9, 2)), np.diag([0.1, 2.0, 0.5])
    missed = 0.0
    for i in range(9):
        f, c = np.delete(features, i, axis=0), np.delete(changes, i, axis=0)
        missed += ((changes[i] - features[i] @ np.linalg.solve(f.T @ f + penalty, f.T @ c)) ** 2).sum()
    assert surfaces._left_out_error(features, changes, penalty) == pytest.approx(missed)


# --- posteriors ---


def with_a_constant(z: np.ndarray) -> np.ndarray:
    return np.column_stack([z[:, 0], np.ones(len(z))])


def observed(values: list[float], slopes: list[list[float]], *, covariance=0.5, share=0.0, scatter=3.0) -> Observed:
    """Of one parameter z: slopes on z, 1, z^2, z and 1 of one statistic, and an error of the surface that is constant."""
    surface = Surface(
        np.zeros(2), np.ones(2), np.array(slopes), np.array([[scatter]]), np.diag([0.0, share, 0.0, 0.0, 0.0])
    )
    return Observed(np.array(values), np.array([4.0]), np.array([[covariance]]), surface, with_a_constant)


LINE = [[2.0], [0.0], [0.0], [0.0], [0.0]]


def test_a_posterior_has_the_error_of_the_observation_and_of_the_surface():
    """Errors of variance 1/2 + 1/2 x 3 = 2 and a slope of 2: precision 1 + 4 / 2; 10 observed where 4 is the level: 2.

    Weights of a normal distribution by draws of Student's, p / q, are worth 1 / (the integral of p^2 / q) of their number.
    """
    found = observed([10.0], LINE, share=0.5).posterior(np.zeros(1), 3000, seed=1)
    assert found.mean == pytest.approx([2.0], abs=0.02)
    assert found.covariance.ravel() == pytest.approx([1 / 3], rel=0.05)
    assert found.draws.shape == (3000, 1)
    assert found.draws.mean() == pytest.approx(2.0, abs=0.02)
    assert found.draws.var() == pytest.approx(1 / 3, rel=0.06)
    order = np.corrcoef(np.arange(3000), found.draws[:, 0])[0, 1]
    assert abs(order) < 4 / math.sqrt(3000)
    loss = integrate.quad(lambda x: stats.norm.pdf(x) ** 2 / stats.t.pdf(x, 5), -9, 9)[0]
    assert found.effective == pytest.approx(20_000 / loss, rel=0.03)


def test_a_posterior_without_an_error_of_the_surface():
    """Precision 1 + 4 / 0.5 = 9, mean 2 / 0.5 x 6 / 9."""
    found = observed([10.0], LINE).posterior(np.zeros(1), 10, seed=1)
    assert found.mean == pytest.approx([24 / 9], abs=0.01)
    assert found.covariance.ravel() == pytest.approx([1 / 9], rel=0.05)


def test_a_posterior_is_the_same_with_the_same_seed_only():
    draws = [observed([10.0], LINE).posterior(np.zeros(1), 10, seed=seed).draws.tolist() for seed in (1, 1, 2)]
    assert draws[0] == draws[1] != draws[2]


@pytest.mark.parametrize("start", [-3.0, 0.0, 1.0])
def test_of_two_modes_the_more_probable_one_is_found_wherever_it_starts(start):
    """z^2 + 2 z - 3 is 0 at 1 and -3, of which 1 is e^4 times as probable beforehand."""
    found = observed([7.0], [[2.0], [0.0], [1.0], [0.0], [0.0]], covariance=0.01).posterior(
        np.array([start]), 10, seed=1
    )
    assert found.mean == pytest.approx([1.0], abs=0.15)


def test_the_error_of_a_surface_is_that_at_the_mode():
    """It is z^4 / 100 beside 1/5 of the observation: 0.06 at the mode near 1.6, with which the posterior is normal."""
    surface = Surface(np.zeros(1), np.ones(1), np.array([[1.0], [0.0]]), np.array([[0.01]]), np.diag([0.0, 1.0]))
    found = Observed(np.array([2.0]), np.zeros(1), np.array([[0.2]]), surface, lambda z: z).posterior(
        np.zeros(1), 10, seed=1
    )
    mode = optimize.brentq(lambda z: z * (1 + 0.2 + z**4 / 100) - 2.0, 0, 2)
    error = 0.2 + mode**4 / 100
    assert found.mean == pytest.approx([2.0 / (1 + error)], abs=0.02)
    assert found.covariance.ravel() == pytest.approx([error / (1 + error)], rel=0.05)
