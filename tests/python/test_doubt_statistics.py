"""Two-level intervals, shares of variance and the worth of knowing, against closed forms and toys whose truth is known."""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import norm, qmc, t

from farrowtide.statistics import sensitivity, worth
from farrowtide.statistics.two_levels import LEAST_ROOMS, MOST_ROOMS, BothDoubts, Draws, rooms_of_a_draw

# Sobol' indices of the function of Ishigami & Homma (1990, Proc. ISUMA: 398-403) with a = 7 and b = 0.1, from its variances:
# V1 = (1 + b pi^4 / 5)^2 / 2, V2 = a^2 / 8, V = V1 + V2 + 8 b^2 pi^8 / 225; the third acts only together with the first.
A, B = 7.0, 0.1
V1, V2 = (1 + B * np.pi**4 / 5) ** 2 / 2, A**2 / 8
V = V1 + V2 + 8 * B**2 * np.pi**8 / 225


def ishigami(probabilities):
    x, y, z = (np.pi * (2 * probabilities - 1)).T
    return np.sin(x) + A * np.sin(y) ** 2 + B * z**4 * np.sin(x)


def test_shares_of_any_shape_are_the_sobol_indices_of_ishigami():
    inputs = qmc.LatinHypercube(3, rng=np.random.default_rng(1)).random(4000)
    result = ishigami(inputs)
    assert result.var() == pytest.approx(V, rel=0.1)  # four standard errors
    shares = sensitivity.shares_of_any_shape(inputs, result, float(result.var()))
    assert shares == pytest.approx([V1 / V, V2 / V, 0.0], abs=0.04)


def test_moving_one_by_one_sees_what_acts_only_together_with_another():
    design = sensitivity.morris_design(3, 200, seed=1)
    found = sensitivity.elementary_effects(design, ishigami(design), seed=1)
    assert (found.size > 3 * found.half_width).all()  # the third has no first-order share at all
    assert found.spread[2] > found.size[2] / 2


def test_elementary_effects_of_a_line_are_its_slopes():
    design = sensitivity.morris_design(4, 6, seed=3)
    assert design.min() == sensitivity.MIDDLE[0]
    assert design.max() == sensitivity.MIDDLE[1]
    found = sensitivity.elementary_effects(design, design @ [3.0, -2.0, 0.5, 0.0], seed=3)
    across = sensitivity.MIDDLE[1] - sensitivity.MIDDLE[0]
    assert found.size == pytest.approx(np.array([3.0, 2.0, 0.5, 0.0]) * across)
    assert found.spread == pytest.approx(np.zeros(4), abs=1e-9)


def test_linear_shares_are_those_of_a_sum():
    """Of a sum of independent uniform inputs with slopes b, each has the share b^2 / sum of b^2."""
    generator = np.random.default_rng(2)
    inputs = qmc.LatinHypercube(500, rng=generator).random(200)
    slopes = np.zeros(500)
    slopes[[7, 100, 300]] = 1.0, 0.6, -0.4
    result = (2 * inputs - 1) @ slopes + 0.1 * generator.standard_normal(200)
    variance = float(slopes @ slopes / 3)
    found = sensitivity.linear_shares(inputs, result, variance, 20)
    assert found.inputs[:3] == [7, 100, 300]
    assert found.real.tolist() == [True] * 3 + [False] * 17
    assert found.share[:3] == pytest.approx(slopes[[7, 100, 300]] ** 2 / 3 / variance, abs=0.05)
    assert found.explained == pytest.approx(1.0, abs=0.08)
    assert (found.low[:3] <= slopes[[7, 100, 300]] ** 2 / 3 / variance).all()


def test_the_next_input_has_the_p_of_its_coefficient_in_a_regression():
    """Where inputs are not correlated with each other, of statsmodels' regression on the chosen ones and this one."""
    generator = np.random.default_rng(12)
    independent = np.linalg.qr(np.column_stack([np.ones(30), generator.standard_normal((30, 4))]))[0][:, 1:]
    result = independent @ [3.0, 2.0, 0.5, 0.0] + 0.3 * generator.standard_normal(30)
    for chosen in ([], [0], [0, 1]):
        best, p = sensitivity._most_correlated(independent, result, chosen)
        fit = sm.OLS(result, sm.add_constant(independent[:, [*chosen, best]])).fit()
        assert best == len(chosen)
        assert p == pytest.approx(fit.pvalues[-1], rel=1e-6)


def test_the_noise_floor_is_the_share_of_a_slope_that_is_just_told_from_none():
    """A slope on uniform inputs from -1 to 1, of variance 1/3, has the standard error s / sqrt(draws / 3)."""
    generator = np.random.default_rng(14)
    inputs, result = generator.random((50, 5)), generator.standard_normal(50)
    found = sensitivity.linear_shares(inputs, result, 4.0, 5)
    assert not found.real.any()
    slope = t.ppf(1 - 0.025 / 5, 49) * result.std(ddof=1) / np.sqrt(50 / 3)
    assert found.floor == pytest.approx(slope**2 / 3 / 4)


def test_degrees_of_freedom_are_left_however_many_inputs_act():
    """Each of 12 inputs acts three times as much as the next, without any noise; of 26 draws six may be used for them."""
    inputs = qmc.LatinHypercube(12, rng=np.random.default_rng(13)).random(26)
    found = sensitivity.linear_shares(inputs, inputs @ 3.0 ** -np.arange(12), 1.0, 12)
    assert found.real.sum() == 6
    assert found.inputs[:6] == [0, 1, 2, 3, 4, 5]


def test_the_noise_floor_lets_one_study_in_twenty_name_an_input_that_has_no_effect():
    generator = np.random.default_rng(4)
    named = 0
    for _ in range(200):
        inputs = generator.random((100, 50))
        named += bool(sensitivity.linear_shares(inputs, generator.standard_normal(100), 1.0, 5).real.any())
    assert 2 <= named <= 20  # 10 expected; 0.2 % and 99.8 % of the binomial distribution


def test_variance_components_are_those_that_were_put_in():
    generator = np.random.default_rng(5)
    true = 0.7 * generator.standard_normal((4000, 1, 1))
    values = true + 1.5 * generator.standard_normal((4000, 3, 1))
    values[:2000, 2] = np.nan  # draws with fewer rooms
    found = Draws.of(values)
    assert found.within[0] == pytest.approx(1.5**2, rel=0.09)  # four standard errors
    assert found.between[0] == pytest.approx(0.7**2, rel=0.27)
    assert np.var(found.true) == pytest.approx(found.between[0], rel=0.01)


def test_the_rooms_of_a_draw_follow_the_variances():
    def rooms(between, within):
        return rooms_of_a_draw(Draws(np.zeros((2, 1)), np.ones((2, 1)), np.array([between]), np.array([within])), 1.0)[
            0
        ]

    assert rooms(1.0, 16.0) == 4  # the root of the ratio
    assert rooms(1.0, 0.0) == LEAST_ROOMS
    assert rooms(0.0, 1.0) == MOST_ROOMS


def coverage(between, within, error, rooms, studies=1000, draws=200):
    """In what share of studies the interval holds the truth, which is one more draw. Each study is a series."""
    generator = np.random.default_rng(6)
    truth = 0.3 + between * generator.standard_normal(studies)
    true = between * generator.standard_normal((draws, 1, studies))
    found = Draws.of(true + within * generator.standard_normal((draws, rooms, studies)))
    seen = 0.3 + error * generator.standard_normal(studies)
    chance = np.sqrt(error**2 + found.variance_of_centre)
    both = BothDoubts(seen + found.true, chance, np.full(studies, 199))
    low, high = both.interval()
    return float(np.mean((low <= truth) & (truth <= high)))


@pytest.mark.parametrize(
    ("between", "within", "error", "rooms"),
    [(1.0, 0.2, 0.01, 2), (1.0, 2.0, 0.1, 2), (0.1, 1.0, 0.3, 4)],
)
def test_the_interval_with_both_doubts_holds_the_truth_in_95_of_100_studies(between, within, error, rooms):
    assert coverage(between, within, error, rooms) == pytest.approx(0.95, abs=0.02)


def test_without_taking_out_chance_the_interval_would_be_too_wide():
    """What the correction is for: the means of two noisy rooms spread half again as much as the truth."""
    generator = np.random.default_rng(7)
    found = Draws.of(generator.standard_normal((400, 1, 1)) + 2 * generator.standard_normal((400, 2, 1)))
    assert np.std(found.means) > 1.5
    assert np.std(found.true) == pytest.approx(1.0, abs=0.2)


def test_probabilities_of_both_doubts_are_those_of_the_normal_distribution():
    centres = 0.5 + norm.ppf((np.arange(2000) + 0.5) / 2000)[:, None]
    both = BothDoubts(centres, np.array([0.75]), np.array([10**6]))
    assert 1 - both.below(np.zeros(1))[0] == pytest.approx(norm.cdf(0.5 / 1.25), abs=1e-3)
    assert both.quantile(0.975)[0] == pytest.approx(0.5 + 1.25 * norm.ppf(0.975), abs=5e-3)


def unit_normal_loss(mean, sd):
    """Expected value of perfect information on a choice between 0 and a normal gain (Raiffa & Schlaifer 1961, Applied
    Statistical Decision Theory, chapter 5, from memory)."""
    return sd * norm.pdf(mean / sd) - abs(mean) * norm.cdf(-abs(mean) / sd)


@pytest.mark.parametrize("mean", [0.0, 0.3, -0.8])
def test_the_worth_of_knowing_is_the_unit_normal_loss(mean):
    inputs = qmc.LatinHypercube(3, rng=np.random.default_rng(8)).random(4000)
    gain = mean + 1.0 * norm.ppf(inputs[:, 0]) + 0.4 * norm.ppf(inputs[:, 1])
    gains = np.column_stack([np.zeros(len(gain)), gain])
    assert worth.of_perfect_information(gains) == pytest.approx(unit_normal_loss(mean, np.hypot(1, 0.4)), abs=0.02)
    assert worth.of_one_input(gains, inputs[:, 0]) == pytest.approx(unit_normal_loss(mean, 1.0), abs=0.02)
    assert worth.of_one_input(gains, inputs[:, 1]) == pytest.approx(unit_normal_loss(mean, 0.4), abs=0.02)
    assert worth.of_one_input(gains, inputs[:, 2]) == pytest.approx(0.0, abs=0.005)


def test_nothing_is_worth_knowing_where_no_draw_changes_the_choice():
    gains = np.column_stack([np.zeros(200), 1 + np.random.default_rng(9).random(200)])
    assert worth.of_perfect_information(gains) == 0
    assert worth.of_one_input(gains, np.linspace(0.01, 0.99, 200)) == 0


def test_an_input_without_effect_is_never_worth_more_than_everything():
    """Few draws and a rare change of the choice, where a spline alone would find an input that has no effect."""
    generator = np.random.default_rng(10)
    found = []
    for _ in range(40):
        gains = np.column_stack([np.zeros(60), 2 + generator.standard_normal(60)])
        found.append((worth.of_one_input(gains, generator.random(60)), worth.of_perfect_information(gains)))
    assert all(one <= everything for one, everything in found)
    assert sum(one > 0 for one, _ in found) <= 2
