"""The paired comparison against scipy, against closed testing and against known truth."""

from dataclasses import replace
from itertools import combinations
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from farrowtide.analysis.differences import differences, means
from farrowtide.analysis.verdicts import _rooms, is_clear, judged, verdict
from farrowtide.outputs.output import Output
from farrowtide.statistics.inference import interval, p_of_no_difference
from farrowtide.statistics.moments import Moments
from farrowtide.statistics.significance import ERROR, holm

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


def test_interval_and_p_of_symmetric_pairs_are_those_of_scipys_paired_t_test():
    random = np.random.default_rng(1)
    b = random.normal(50, 10, size=(15, 1)) + random.normal(0, 1, size=(15, 2))
    half = random.normal(0, 1, size=(7, 2))
    a = b + 0.4 + np.concatenate([half, np.zeros((1, 2)), -half])  # no skewness to allow for
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


@pytest.mark.parametrize(("needed", "told"), [(41.2, 42), (99.5, 100), (120, 120), (1201, 1300), (7.0, 13)])
def test_the_rooms_needed_are_rounded_up_to_two_digits_and_are_more_than_there_are(needed, told):
    assert _rooms(needed, 12) == told


def test_a_few_rooms_are_told_one_by_one_and_more_than_a_hundred_thousand_not_at_all():
    assert (_rooms(7.2, 3), _rooms(2, 9), _rooms(99_001, 12)) == (8, 10, 100_000)
    assert _rooms(100_000, 12) == 100_000
    assert np.isnan(_rooms(100_001, 12))


def row_of(**changed):
    """A row of differences of 20 rooms with a wide interval, of five in its group."""
    usual = {"difference": 1.5, "ci_low": -1.0, "ci_high": 4.0, "p_holm": 0.2, "sd": 4.0, "tested": 5, "n": 20}
    return SimpleNamespace(**(usual | {"n_differing": 20, "identical": False} | changed))


@pytest.mark.parametrize(
    ("changed", "expected", "reason"),
    [
        ({"difference": 0.0, "ci_low": -1.0, "ci_high": 1.0}, "too small to matter", ""),
        ({"difference": 0.0, "ci_low": -1.01, "ci_high": 1.0}, "too few rooms to tell", ""),
        ({"difference": 0.0, "ci_low": -1.0, "ci_high": 1.01}, "too few rooms to tell", ""),
        ({"difference": 1.0, "ci_low": 0.5, "p_holm": 0.049}, "higher (worse)", ""),  # just what matters
        ({"difference": -1.0, "ci_low": -2.0, "ci_high": -0.1, "p_holm": 0.049}, "lower (better)", ""),
        ({"ci_low": 0.5, "p_holm": ERROR}, "too few rooms to tell", "after Holm's adjustment for 5 differences"),
        ({"ci_low": 0.0, "p_holm": 0.06}, "too few rooms to tell", ""),  # zero is still in the interval
        ({"difference": -1.5, "ci_low": -4.0, "ci_high": 0.0, "p_holm": 0.06}, "too few rooms to tell", ""),
        ({"difference": -1.5, "ci_low": -4.0, "ci_high": -0.1, "p_holm": 0.06}, "too few rooms to tell",
         "after Holm's adjustment for 5 differences"),
    ],
)  # fmt: skip
def test_a_verdict_at_the_limits_of_what_matters_and_of_what_is_sure(changed, expected, reason):
    found, _, why = verdict(WORK, row_of(**changed))
    assert found == expected
    assert why.endswith(reason)
    assert bool(why) == bool(reason)


@pytest.mark.parametrize(
    ("changed", "half_width", "error"),
    [
        ({}, 1.5, 0.05 / 5),  # to exclude zero in spite of Holm's adjustment
        ({"difference": 1.0, "ci_low": 0.1, "ci_high": 1.9, "sd": 2.0}, 1.0, 0.05 / 5),  # just what matters
        ({"difference": 0.2, "ci_low": -2.0, "ci_high": 2.4}, 0.8, 0.05),  # to lie within what does not matter
        ({"difference": 0.8, "ci_low": -2.0, "ci_high": 3.6}, 0.8, 0.05),  # to exclude zero
        ({"difference": 0.6, "ci_low": 0.1, "ci_high": 1.1, "sd": 1.2}, 0.4, 0.05),
        ({"difference": -0.6, "ci_low": -1.1, "ci_high": -0.1, "sd": 1.2}, 0.4, 0.05),
        ({"difference": 0.6, "ci_low": 0.1, "ci_high": 1.1, "sd": 1.2, "p_holm": 0.01}, 0.4, 0.05),
    ],
)
def test_the_rooms_needed_are_those_of_students_interval_of_the_width_that_would_tell(changed, half_width, error):
    row = row_of(**changed)
    told = next(n for n in range(2, 10_000) if stats.t.ppf(1 - error / 2, n - 1) * row.sd / np.sqrt(n) <= half_width)
    assert verdict(WORK, row)[1] == _rooms(told, row.n)
    assert told > row.n


@pytest.mark.parametrize(
    ("difference", "p_holm", "expected", "rooms_needed"),
    [
        (1.0, 0.001, "higher (worse)", np.nan),
        (-0.9, 0.001, "too small to matter", np.nan),
        (1.0, ERROR, "too few rooms to tell", 9),
    ],
)
def test_a_difference_that_is_the_same_in_all_rooms_is_sure_by_the_sign_test_alone(
    difference, p_holm, expected, rooms_needed
):
    row = row_of(difference=difference, ci_low=np.nan, ci_high=np.nan, p_holm=p_holm, sd=0.0, n=4)
    found, needed, why = verdict(WORK, row, unit="farm")
    assert (found, why) == (expected, "the difference is the same in all 4 farms")
    np.testing.assert_equal(needed, rooms_needed)


@pytest.mark.parametrize(
    ("changed", "animals", "expected", "rooms_needed", "reason"),
    [
        ({"n": 0, "identical": True}, 24, "identical in every room", np.nan, "no value"),
        ({"n": 0}, 24, "not known", np.nan, "no farm has a value under both"),
        ({"n": 1, "difference": 0.0}, 24, "too few rooms to tell", 40, "one farm with a value gives no interval"),
        ({"n": 1}, np.inf, "too few rooms to tell", 2, "one farm with a value gives no interval"),
        ({"n": 20, "n_differing": 0, "difference": 0.0, "sd": 0.01}, 24, "not known", np.nan,
         "none of 20 farms differs by a tenth of what matters or more; with 95 % confidence fewer than 14 % of farms do"),
        ({"n": 20, "n_differing": 0, "difference": 0.01, "sd": 0.0}, 24, "not known", np.nan,
         "none of 20 farms differs by a tenth of what matters or more; with 95 % confidence fewer than 14 % of farms do"),
        ({"n": 20, "n_differing": 4}, 24, "too few rooms to tell", 40,
         "only 4 of 20 farms differ by a tenth of what matters or more"),
        ({"n": 20, "n_differing": 5}, 24, "too few rooms to tell", 40, "an interval needs 40 farms"),
        ({"n": 3, "n_differing": 2}, np.inf, "too few rooms to tell", 8,
         "only 2 of 3 farms differ by a tenth of what matters or more"),
        ({"n": 3, "n_differing": 3}, 48, "too few rooms to tell", 20, "an interval needs 20 farms"),
        ({"n": 2, "n_differing": 2}, 24, "too few rooms to tell", 40, "an interval needs 40 farms"),
        ({"n": 2, "n_differing": 1}, np.inf, "too few rooms to tell", 10,
         "only 1 of 2 farms differs by a tenth of what matters or more"),
    ],
)  # fmt: skip
def test_why_there_is_no_interval(changed, animals, expected, rooms_needed, reason):
    row = row_of(ci_low=np.nan, ci_high=np.nan, p_holm=np.nan, **changed)
    found, needed, why = verdict(WORK, row, animals=animals, unit="farm")
    assert (found, why) == (expected, reason)
    np.testing.assert_equal(needed, rooms_needed)


def test_p_values_are_adjusted_within_each_group_of_outputs():
    """Of the headlines three values 0.01, 0.03 and 0.04 become 0.03, 0.06 and 0.06; the only one of the further ones stays, and
    a value that is missing does not count.
    """
    further = replace(CLIMATE, group="further")
    table = pd.DataFrame(
        [("work", 0.04), ("climate", 0.03), ("weight", 0.01), ("work", np.nan), ("weight", 0.03)],
        columns=["output", "p"],
    ).assign(**vars(row_of(ci_low=0.1)) | {"case": "July"})
    found = judged(table.drop(columns=["p_holm", "tested"]), [WEIGHT, WORK, further])
    assert found["output"].tolist() == ["weight", "weight", "work", "work", "climate"]
    np.testing.assert_allclose(found["p_holm"], [0.03, 0.06, 0.06, np.nan, 0.03])
    assert found["unit"].tolist() == ["kg", "kg", "min", "min", "degC"]
    assert found["verdict"].map(is_clear).tolist() == [True, False, False, False, True]
    assert found["reason"][1].endswith("for 3 differences")
    assert not {"p", "sd", "identical", "tested"} & set(found)


@pytest.mark.parametrize(
    ("verdict", "clear"),
    [("higher (better)", True), ("lower", True), ("too few rooms to tell", False), ("identical in every room", False)],
)
def test_only_higher_and_lower_are_clear(verdict, clear):
    assert is_clear(verdict) == clear


def test_shares_of_the_whole_are_not_apart_and_give_no_interval():
    """Of twelve rooms nine have 100 %, and three another share: five would be needed."""
    share = Output("share", "%", "Share", lambda rooms: None, "higher", 1, share=True)
    data = replicates(old={"share": [100.0] * 9 + [90.0, 80.0, 95.0]})
    row = means(data, [share]).iloc[0]
    assert row["mean"] == pytest.approx((9 * 100 + 90 + 80 + 95) / 12)
    assert row["reason"] == "3 of 12 rooms differ from 0 and 100 %"
    assert np.isnan([row["ci_low"], row["ci_high"]]).all()


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
    low, high = interval(Moments.of(pairs))
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
    p = p_of_no_difference(moments).reshape(studies, outputs)
    false_alarms = np.mean([holm(row).min() < 0.05 for row in p])
    assert 0.05 - 4 * np.sqrt(0.05 * 0.95 / studies) < false_alarms < 0.05 + 4 * np.sqrt(0.05 * 0.95 / studies)


@pytest.mark.parametrize(
    ("output", "difference", "ci_low", "ci_high", "p_holm", "expected", "reason"),
    [
        (WEIGHT, 2.0, 1.0, 3.0, 0.001, "higher (better)", ""),
        (WEIGHT, -2.0, -3.0, -1.0, 0.001, "lower (worse)", ""),
        (WORK, -2.0, -3.0, -1.0, 0.001, "lower (better)", ""),
        (CLIMATE, 2.0, 1.0, 3.0, 0.001, "higher", ""),
        (WEIGHT, 2.0, -1.0, 5.0, 0.2, "too few rooms to tell", ""),
        (WEIGHT, 2.0, 0.1, 3.9, 0.08, "too few rooms to tell",
         "the interval excludes zero, but not after Holm's adjustment for 14 differences"),
        (WEIGHT, 0.04, 0.03, 0.05, 0.001, "too small to matter", ""),  # sure, and within what does not matter
        (WEIGHT, 0.01, -0.03, 0.04, 0.6, "too small to matter", ""),  # of unknown sign, and too small all the same
        (WORK, -0.7, -0.8, -0.6, 0.001, "too small to matter", ""),
        (WORK, -0.7, -1.2, -0.2, 0.001, "too few rooms to tell whether it matters", "lower (better)"),
        (CLIMATE, 0.04, 0.01, 0.07, 0.001, "too few rooms to tell whether it matters", "higher"),
        (WORK, -0.7, -1.2, -0.2, 0.08, "too few rooms to tell",
         "the interval excludes zero, but not after Holm's adjustment for 14 differences"),
        (WEIGHT, 0.01, -0.2, 0.2, 0.9, "too few rooms to tell", ""),
        (WEIGHT, 2.0, np.nan, np.nan, 1e-4, "higher (better)", "the difference is the same in all 20 rooms"),
    ],
)  # fmt: skip
def test_verdict(output, difference, ci_low, ci_high, p_holm, expected, reason):
    row = SimpleNamespace(
        difference=difference, ci_low=ci_low, ci_high=ci_high, p_holm=p_holm, sd=1.0, tested=14, n=20, n_differing=20,
        identical=False,
    )  # fmt: skip
    found, rooms_needed, why = verdict(output, row)
    assert (found, why) == (expected, reason)
    assert (rooms_needed > 20) == expected.startswith("too few rooms to tell")


@pytest.mark.parametrize(
    ("gaps", "expected", "rooms_needed", "reason"),
    [
        ([0.0] * 20, "not known", np.nan, "all 20 pairs are equal; with 95 % confidence fewer than 14 % of rooms differ"),
        ([0.001] * 20, "not known", np.nan,
         "none of 20 rooms differs by a tenth of what matters or more; with 95 % confidence fewer than 14 % of rooms do"),
        ([0.0] * 19 + [3.0], "too few rooms to tell", 100, "only 1 of 20 rooms differs by a tenth of what matters or more"),
        ([0.0] * 16 + [1.0, 2, 3, 4], "too few rooms to tell", 25, "only 4 of 20 rooms differ by a tenth of what matters or more"),
        ([3.0], "too few rooms to tell", 2, "one room with a value gives no interval"),
    ],
)  # fmt: skip
def test_where_hardly_any_room_differs_there_is_no_interval_and_a_reason(gaps, expected, rooms_needed, reason):
    data = replicates(new={"weight": gaps, "work": [1.0] * len(gaps)}, old={"weight": [0.0] * len(gaps), "work": 0.0})
    row = differences(data, [WEIGHT], "old").iloc[0]
    assert np.isnan([row["ci_low"], row["ci_high"], row["p_holm"]]).all()
    assert (row["verdict"], row["reason"]) == (expected, reason)
    np.testing.assert_equal(row["rooms_needed"], rooms_needed)


def test_rooms_that_are_identical_in_every_output_are_said_to_be():
    data = replicates(new={"weight": [3.0, 4.0], "work": [1.0, 1.0]}, old={"weight": [3.0, 4.0], "work": [1.0, 1.0]})
    row = differences(data, [WEIGHT], "old").iloc[0]
    assert row["verdict"] == "identical in every room"
    assert row["reason"] == "all outputs of all 2 rooms are equal; with 95 % confidence fewer than 78 % of rooms differ"


def test_a_difference_that_is_the_same_in_every_room_has_no_interval_of_zero_width():
    data = replicates(new={"weight": [3.0] * 12}, old={"weight": [5.0] * 12})
    row = differences(data, [WEIGHT], "old").iloc[0]
    assert np.isnan([row["ci_low"], row["ci_high"]]).all()
    assert (row["verdict"], row["p_holm"]) == ("lower (worse)", 2 * 0.5**12)


def test_the_number_of_rooms_that_would_tell_does_tell():
    """The spread and the difference stay as they are: then the interval just excludes zero, or what matters."""
    random = np.random.default_rng(6)
    spread = np.concatenate([half := random.normal(size=10), -half])
    for mean in (0.0, 0.01, 0.03, 0.2):
        few = differences(replicates(new={"weight": list(mean + spread)}, old={"weight": [0.0] * 20}), [WEIGHT], "old")
        times = int(np.ceil(few["rooms_needed"].item() / 20))
        gaps = list(np.tile(mean + spread, times))
        many = differences(replicates(new={"weight": gaps}, old={"weight": [0.0] * len(gaps)}), [WEIGHT], "old")
        assert (few["verdict"] == "too few rooms to tell").all()
        low, high = many[["ci_low", "ci_high"]].iloc[0]
        assert low > 0 or (low >= -0.05 and high <= 0.05)


def test_an_interval_needs_a_number_of_rooms_or_litters():
    gaps = list(np.random.default_rng(7).normal(1, 1, size=20))
    data = replicates(new={"weight": gaps}, old={"weight": [0.0] * 20})
    row = differences(data, [WEIGHT], "old", animals=3).iloc[0]
    assert (row["verdict"], row["rooms_needed"]) == ("too few rooms to tell", 40)
    assert row["reason"] == "an interval needs 40 rooms"
    assert not np.isnan(differences(data, [WEIGHT], "old", animals=48).iloc[0]["ci_low"])


def test_an_output_of_one_parity_class_needs_more_rooms():
    """Only a few sows of each room count (.site/generated/coverage.md)."""
    gaps = np.random.default_rng(7).normal(1, 1, size=100)
    of_class = replace(WEIGHT, of_one_parity_class=True)
    for count, known in ((99, False), (100, True)):
        data = replicates(new={"weight": list(gaps[:count])}, old={"weight": [0.0] * count})
        row = differences(data, [of_class], "old", animals=24).iloc[0]
        assert np.isfinite([row["ci_low"], row["ci_high"], row["p_holm"]]).all() == known
        assert row["reason"] == ("" if known else "an interval needs 100 rooms")
    values = [5.0, 6.0, 7.0, 8.0, 9.0, 6.0]
    few = replicates(new={"weight": values, "of class": values})
    table = means(few, [WEIGHT, replace(of_class, name="of class")], animals=24)
    assert list(table["reason"]) == ["", "an interval needs 20 rooms"]
    assert list(np.isnan(table["ci_low"])) == [False, True]


def test_one_replication_has_a_difference_but_no_verdict():
    data = replicates(new={"weight": [3.0]}, old={"weight": [1.0]})
    row = differences(data, [WEIGHT], "old").iloc[0]
    assert row["difference"] == 2.0
    assert np.isnan(row["ci_low"])
    assert row["verdict"] == "too few rooms to tell"
