"""What the engine draws, against the distributions of scipy.stats that the coefficient files declare: mean, variance and the
test of Kolmogorov and Smirnov, or chi square. Draws that belong to different sows, piglets or tasks are independent. A fixed
seed, four standard errors."""

from functools import cache

import coefficient_files
import numpy as np
import pytest
from scipy import stats

import farrowtide

SOW, LITTER, STAFF = (coefficient_files.read(file) for file in ("sow", "litter", "staff"))
P = 2 * stats.norm.sf(4)
TOTAL_BORN, BACKFAT = 14, 16


@cache
def rooms():
    """Rooms as they are, but for litters of one size from sows that are never constipated."""
    scenario = {"title": "draws", "herd": {"every_sow": {"total_born": TOTAL_BORN, "backfat": BACKFAT}}}
    overlay = {"sow.farrowing.interval_modifiers.constipation": 0}
    scenario = farrowtide.load(scenario).with_coefficients(overlay)
    return farrowtide.run(scenario, replications=120, seed=12, record=["piglets", "tasks", "events"])


def assert_drawn_from(distribution, values):
    n = len(values)
    assert n > 300
    mean, variance, excess_kurtosis = distribution.stats("mvk")
    assert abs(np.mean(values) - mean) < 4 * np.sqrt(variance / n)
    assert abs(np.mean((values - mean) ** 2) / variance - 1) < 4 * np.sqrt((excess_kurtosis + 2) / n)
    assert stats.kstest(values, distribution.cdf).pvalue > P


def triangular(low_mode_high):
    low, mode, high = low_mode_high
    return stats.triang((mode - low) / (high - low), low, high - low)


@pytest.mark.parametrize(
    ("column", "sd"),
    [
        ("appetite_effect_log", SOW.sow_effects.appetite_sd),
        ("milk_effect_log", SOW.sow_effects.milk_sd),
        ("duration_effect_log", SOW.sow_effects.farrowing_duration_sd),
    ],
)
def test_effects_of_sows_are_normal(column, sd):
    assert_drawn_from(stats.norm(0, sd), rooms().sows[column])


@pytest.mark.parametrize("other", ["milk", "duration"])
def test_effects_of_sows_are_correlated_as_declared(other):
    sows = rooms().sows
    declared = getattr(SOW.sow_effects, f"correlation_appetite_{other}")
    found = stats.pearsonr(sows.appetite_effect_log, sows[f"{other}_effect_log"]).statistic
    # Fisher's transformation.
    assert abs(np.arctanh(found) - np.arctanh(declared)) < 4 / np.sqrt(len(sows) - 3)


def test_parities_have_their_shares():
    parities = rooms().sows.parity.value_counts().sort_index()
    expected = np.multiply(len(rooms().sows), SOW.herd.parity_share)
    assert list(parities.index) == list(range(1, len(expected) + 1))
    assert stats.chisquare(parities, expected).pvalue > P


@pytest.mark.parametrize("cause", ["crushed", "starved", "other"])
def test_thresholds_of_death_are_unit_exponential(cause):
    assert_drawn_from(stats.expon(), rooms().piglets[f"threshold_{cause}"])


def test_thresholds_of_one_piglet_are_independent():
    thresholds = rooms().piglets[["threshold_crushed", "threshold_starved", "threshold_other"]]
    ranks = thresholds.rank().corr().to_numpy()[np.triu_indices(3, 1)]
    assert (abs(ranks) < 4 / np.sqrt(len(thresholds))).all()


def test_males_are_half():
    male = rooms().piglets.male
    assert stats.binomtest(int(male.sum()), len(male), LITTER.birth_weight.male_share).pvalue > P


@pytest.mark.parametrize("first_parity", [True, False])
def test_birth_weights_are_normal_between_and_within_litters(first_parity):
    sows, form = rooms().sows, LITTER.birth_weight
    sows = sows[(sows.parity == 1) == first_parity].set_index(["replicate", "sow"])
    weights = rooms().piglets.pivot_table(index=["replicate", "sow"], columns="birth_order", values="birth_weight_kg")
    weights = weights[weights.index.isin(sows.index)]
    live_born = form.expected_born_alive_share * TOTAL_BORN
    mean = form.mean - form.size_slope * (live_born - form.size_centre) - form.first_parity * first_parity
    # One piglet of each litter; then two, without what they have in common.
    assert_drawn_from(stats.norm(mean, np.hypot(form.litter_sd, form.piglet_sd)), weights[1])
    assert_drawn_from(stats.norm(0, np.sqrt(2) * form.piglet_sd), weights[2] - weights[3])


def test_birth_intervals_are_lognormal_within_sows():
    """Two intervals of a sow, without what they have in common, between the ranks where the shape is flat."""
    drawn = rooms().piglets.pivot_table(
        index=["replicate", "sow"], columns="birth_order", values="birth_interval_drawn_min"
    )
    first, last = (int(np.ceil(r * (TOTAL_BORN - 1))) + 1 for r in (0.4, 0.65))
    shape = SOW.farrowing.interval_shape
    assert shape.early_until <= (first - 1) / (TOTAL_BORN - 1) < (last - 1) / (TOTAL_BORN - 1) <= shape.late_from
    noise = np.log(drawn[first] / drawn[last])
    assert_drawn_from(stats.norm(0, np.sqrt(2) * SOW.farrowing.intervals.interval_sd), noise)


def test_spells_of_inertia_are_lognormal():
    inertia = SOW.farrowing.inertia
    events = rooms().events
    assert_drawn_from(
        stats.lognorm(inertia.duration_sd, scale=inertia.duration_median), events.amount[events.what == "inertia began"]
    )


@pytest.mark.parametrize(
    ("kind", "times"),
    [
        ("exam and help", "assist"),
        ("temperature check", "temperature_check"),
        ("treat sow", "treat_sow"),
        ("wean", "wean"),
    ],
)
def test_task_times_are_triangular(kind, times):
    tasks = rooms().tasks
    tasks = tasks[(tasks.kind == kind) & (tasks.animals == 1) & (tasks.interruptions == 0) & tasks.done_h.notna()]
    assert_drawn_from(triangular(getattr(STAFF.task_time, times)), tasks.minutes)
