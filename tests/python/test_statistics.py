"""The paired comparison against scipy, against closed testing and against known truth."""

from itertools import combinations
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from farrowtide.analysis.differences import differences
from farrowtide.analysis.verdicts import verdict
from farrowtide.outputs.output import Output
from farrowtide.statistics.moments import Moments
from farrowtide.statistics.significance import holm, p_of_no_difference

WEIGHT = Output("weight", "kg", "Weight", lambda rooms: None, "higher", 1)
WORK = Output("work", "min", "Work", lambda rooms: None, "lower", 0, negligible=1.0)
CLIMATE = Output("climate", "degC", "Climate", lambda rooms: None, None, 1)


def replicates(**values: dict[str, list[float]]) -> pd.DataFrame:
    """alternative -> output -> one value per room, in the shape that `compare` keeps."""
    frames = [
        pd.DataFrame(outputs).assign(case="July", alternative=name, replicate=lambda frame: range(len(frame)))
        for name, outputs in values.items()
    ]
    return pd.concat(frames, ignore_index=True)


def test_interval_and_p_are_those_of_scipys_paired_t_test():
    random = np.random.default_rng(1)
    rooms = random.normal(50, 10, size=(15, 1))  # what pairs share
    a, b = (rooms + random.normal(0, 1, size=(15, 2)) + shift for shift in (0.4, 0.0))
    data = replicates(
        new={"weight": a[:, 0], "work": a[:, 1]},
        old={"weight": b[:, 0], "work": b[:, 1]},
    )

    found = differences(data, [WEIGHT, WORK], "old")

    expected = [stats.ttest_rel(a[:, i], b[:, i]) for i in range(2)]
    bounds = [e.confidence_interval(0.95) for e in expected]
    np.testing.assert_allclose(found["ci_low"], [bound.low for bound in bounds])
    np.testing.assert_allclose(found["ci_high"], [bound.high for bound in bounds])
    smaller, larger = sorted(e.pvalue for e in expected)
    assert sorted(found["p_holm"]) == pytest.approx([min(1, 2 * smaller), max(2 * smaller, larger)])
    assert list(found["n"]) == [15, 15]


def test_rooms_without_a_value_on_either_side_leave_both_means():
    data = replicates(
        new={"weight": [1.0, np.nan, 3.0, 9.0]},
        old={"weight": [0.0, 5.0, 1.0, np.nan]},
    )
    row = differences(data, [WEIGHT], "old").iloc[0]
    assert (row["n"], row["mean_alternative"], row["mean_reference"], row["difference"]) == (2, 2.0, 0.5, 1.5)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=6))
def test_holm_is_the_closed_test_of_bonferroni(p):
    """Marcus, Peritz & Gabriel (1976, Biometrika 63:655-660): reject where every set that holds the hypothesis does."""
    sets = [s for size in range(1, len(p) + 1) for s in combinations(range(len(p)), size)]
    closed = [max(min(1, len(s) * min(p[i] for i in s)) for s in sets if one in s) for one in range(len(p))]
    np.testing.assert_allclose(holm(np.array(p)), closed)


def test_holm_leaves_missing_values_out_of_the_count():
    np.testing.assert_allclose(holm(np.array([0.01, np.nan, 0.04])), [0.02, np.nan, 0.04])


def test_intervals_hold_the_truth_as_often_as_they_say():
    truth, studies = 0.3, 4000
    pairs = np.random.default_rng(2).normal(truth, 2.0, size=(8, studies))
    low, high = Moments.of(pairs).interval()
    held = np.mean((low <= truth) & (truth <= high))
    assert held == pytest.approx(0.95, abs=4 * np.sqrt(0.95 * 0.05 / studies))  # z = 4
    assert np.mean((low <= truth + 1) & (truth + 1 <= high)) < 0.9  # a wrong truth is noticed


def test_the_coverage_check_notices_a_wrong_quantile():
    """The normal's 1.96 in place of Student's 2.36 for eight pairs: about 91 % instead of 95."""
    truth, studies = 0.3, 4000
    pairs = np.random.default_rng(2).normal(truth, 2.0, size=(8, studies))
    moments = Moments.of(pairs)
    held = np.mean(np.abs(moments.mean - truth) <= stats.norm.ppf(0.975) * moments.sd / np.sqrt(8))
    assert held < 0.95 - 4 * np.sqrt(0.95 * 0.05 / studies)


def test_pairs_are_not_compared_as_if_they_were_strangers():
    """Rooms that differ by 10 kg and pairs that differ by 1 kg: the unpaired interval is several times wider."""
    random = np.random.default_rng(5)
    rooms = random.normal(50, 10, size=30)
    new, old = (rooms + random.normal(shift, 0.7, size=30) for shift in (1.0, 0.0))
    found = differences(replicates(new={"weight": new}, old={"weight": old}), [WEIGHT], "old").iloc[0]
    unpaired = stats.ttest_ind(new, old).confidence_interval(0.95)
    assert 5 * (found["ci_high"] - found["ci_low"]) < unpaired.high - unpaired.low


def test_a_family_without_differences_is_called_clear_in_at_most_one_study_of_twenty():
    random = np.random.default_rng(4)
    studies, outputs = 2000, 10
    moments = Moments.of(random.normal(size=(12, studies * outputs)))
    p = p_of_no_difference(moments.mean, moments.sd, moments.n).reshape(studies, outputs)
    false_alarms = np.mean([holm(row).min() < 0.05 for row in p])
    assert 0.05 - 4 * np.sqrt(0.05 * 0.95 / studies) < false_alarms < 0.05 + 4 * np.sqrt(0.05 * 0.95 / studies)


@pytest.mark.parametrize(
    ("output", "difference", "ci_low", "ci_high", "p_holm", "expected"),
    [
        (WEIGHT, 2.0, 1.0, 3.0, 0.001, "higher (better)"),
        (WEIGHT, -2.0, -3.0, -1.0, 0.001, "lower (worse)"),
        (WORK, -2.0, -3.0, -1.0, 0.001, "lower (better)"),
        (CLIMATE, 2.0, 1.0, 3.0, 0.001, "higher"),
        (WEIGHT, 2.0, -1.0, 5.0, 0.2, "no clear difference"),
        (WEIGHT, 2.0, 0.1, 3.9, 0.08, "no clear difference"),  # its own interval is clear of 0, the family's p is not
        (WEIGHT, 0.04, 0.03, 0.05, 0.001, "difference too small to matter"),  # sure, and below what matters
        (WORK, -0.7, -0.8, -0.6, 0.001, "difference too small to matter"),
        (WEIGHT, 0.0, 0.0, 0.0, 1.0, "no difference"),
        (WEIGHT, 0.01, -0.03, 0.04, 0.6, "no clear difference"),
        (WEIGHT, 0.01, -0.2, 0.2, 0.9, "no clear difference"),
        (WEIGHT, 2.0, np.nan, np.nan, np.nan, "too few replications"),
    ],
)
def test_verdict(output, difference, ci_low, ci_high, p_holm, expected):
    row = SimpleNamespace(difference=difference, ci_low=ci_low, ci_high=ci_high, p_holm=p_holm)
    assert verdict(output, row) == expected


def test_one_replication_has_a_difference_but_no_verdict():
    data = replicates(new={"weight": [3.0]}, old={"weight": [1.0]})
    row = differences(data, [WEIGHT], "old").iloc[0]
    assert row["difference"] == 2.0
    assert np.isnan(row["ci_low"])
    assert row["verdict"] == "too few replications"
