"""Moments, pairs, quantiles, ratios and intervals of a few values, with what they are worked out by hand."""

import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats

import farrowtide
from farrowtide.statistics import inference
from farrowtide.statistics.inference import Floor
from farrowtide.statistics.intervals import ratio
from farrowtide.statistics.moments import Moments
from farrowtide.statistics.paired import PairedMoments, labels, values_by_room
from farrowtide.statistics.quantiles import quantile, rooms_for_quantile
from farrowtide.statistics.ratios import fieller_interval
from farrowtide.statistics.significance import holm, holm_by_case


def moments_of(*values: float, **options) -> Moments:
    """Those of one series."""
    return Moments.of(np.array(values, dtype=float)[:, None], **options)


def the_only(*ends: np.ndarray) -> list[float]:
    return [end.item() for end in ends]


def test_a_ratio_has_no_value_where_the_denominator_is_not_above_zero():
    found = ratio(np.array([1.0, 2.0, 3.0, 4.0]), np.array([2.0, 0.0, -1.0, 8.0]))
    np.testing.assert_array_equal(found, [0.5, np.nan, np.nan, 0.5])


# --- moments ---


def test_moments_of_three_values():
    """Of 1, 2 and 6 the deviations are -2, -1 and 3: squares 14, cubes 18."""
    moments = moments_of(1, 2, 6)
    assert the_only(moments.n, moments.mean, moments.apart) == [3, 3, 3]
    assert moments.sd.item() == pytest.approx(math.sqrt(7))
    assert moments.standard_error.item() == pytest.approx(math.sqrt(7 / 3))
    assert moments.skewness.item() == pytest.approx(6 / (14 / 3) ** 1.5)


def test_moments_of_two_values_have_one_degree_of_freedom():
    moments = moments_of(1, 3)
    assert the_only(moments.mean, moments.sd, moments.standard_error) == pytest.approx([2, math.sqrt(2), 1])


def test_one_value_has_a_mean_but_no_spread():
    moments = moments_of(4)
    assert the_only(moments.n, moments.mean, moments.skewness, moments.varies) == [1, 4, 0, False]
    assert np.isnan([moments.sd, moments.standard_error]).all()


@pytest.mark.parametrize("rooms", [0, 2])
def test_no_value_has_no_mean(rooms):
    moments = Moments.of(np.full((rooms, 2), np.nan))
    assert np.isnan([moments.mean, moments.sd]).all()
    assert [moments.n.tolist(), moments.apart.tolist(), moments.varies.tolist()] == [[0, 0], [0, 0], [False, False]]


def test_values_are_joined_one_by_one_or_as_a_block():
    """A block of one, a block of three and one without a value make the same as all at once."""
    moments = Moments(1)
    for block in ([[1.0]], [[2.0], [6.0], [7.0]], [[np.nan]], np.empty((0, 1))):
        moments.add(np.array(block))
    whole = moments_of(1, 2, 6, 7)
    assert the_only(moments.n, moments.mean) == [4, 4]
    assert moments.sd.item() == pytest.approx(math.sqrt(26 / 3)) == whole.sd.item()
    assert moments.skewness.item() == pytest.approx(0.0, abs=1e-12)  # -3, -2, 2 and 3
    assert whole.skewness.item() == pytest.approx(0.0, abs=1e-12)


def test_a_value_just_at_the_limit_is_not_apart_from_zero_or_the_top():
    assert moments_of(0.5, -0.5, 0.75, -0.75, 0.0, np.nan, tiny=0.5).apart.item() == 2
    assert moments_of(0.5, 0.75, 99.25, 99.5, 100, tiny=0.5, top=100.0).apart.item() == 2
    assert moments_of(0.0, 1e-9, 100.0, top=100.0).apart.item() == 1


def test_each_series_has_its_own_limit():
    moments = Moments(2, tiny=np.array([0.5, 2.0]), top=np.array([3.0, np.inf]))
    moments.add(np.array([[1.0, 1.0], [3.0, 3.0], [0.0, -4.0]]))
    assert moments.apart.tolist() == [1, 2]


def test_what_varies_by_rounding_only_does_not_vary():
    """Next to 1e9 the double above is 1.2e-7 higher: one part in 1e16. The size of values that vary does not matter."""
    assert not moments_of(1e9, np.nextafter(1e9, 2e9), 1e9).varies
    assert moments_of(1e9, 1e9 + 1, 1e9).varies
    assert moments_of(1e-20, 2e-20, 3e-20).varies
    assert not moments_of(0, 0).varies


def test_rounding_of_many_values_does_not_add_up():
    """A standard deviation of 1e-13 of the values, of however many, is one of rounding; one of 1e-11 is not."""
    for size, varies in ((1e-13, False), (1e-11, True)):
        assert moments_of(*[1 + size, 1 - size] * 200).varies.item() == varies


def test_rounding_is_measured_by_the_largest_value_of_all_blocks():
    moments = Moments(1)
    for value in (1e9, np.nextafter(1e9, 2e9)):
        moments.add(np.array([[value]]))
    assert not moments.varies
    assert moments.skewness.item() == 0


def test_turned_moments_are_those_of_the_values_turned():
    turned, expected = moments_of(1, 2, 6, 0, tiny=1.0).turned(-1.0), moments_of(-1, -2, -6, 0, tiny=1.0)
    for name in ("n", "apart", "mean", "sd", "skewness", "varies"):
        assert getattr(turned, name) == getattr(expected, name), name


# --- pairs ---


ROOMS = pd.DataFrame(
    [
        ("July", "old", 7, 10.0, 1.0),
        ("July", "new", 7, 12.0, 1.0),
        ("July", "other", 7, 10.0, 1.0),
        ("May", "old", 7, 20.0, np.nan),
        ("May", "new", 7, 20.0, np.nan),
        ("May", "other", 7, 25.0, 2.0),
        ("May", "new", 3, 21.0, 5.0),
        ("May", "old", 3, 21.0, 5.0),
        ("July", "other", 3, 30.0, 0.0),
        ("July", "new", 3, 36.0, 0.0),
        ("July", "old", 3, 30.0, 1.0),
    ],
    columns=["case", "alternative", "replicate", "weight", "work"],
)


def test_labels_are_in_order_of_appearance():
    assert labels(ROOMS) == (["July", "May"], ["old", "new", "other"])


def test_rooms_rise_by_replicate_and_a_missing_row_is_missing():
    found = values_by_room(ROOMS, ["May", "July"], ["other", "old"], ["work", "weight"])
    expected = [
        [[[np.nan, np.nan], [5, 21]], [[0, 30], [1, 30]]],  # replicate 3: May, then July; other, then old
        [[[2, 25], [np.nan, 20]], [[1, 10], [1, 10]]],
    ]
    np.testing.assert_array_equal(found, expected)


def test_pairs_are_the_alternatives_minus_the_reference_in_the_same_room():
    paired = PairedMoments.of(ROOMS, "old", ["weight", "work"], [2.5, 0.0])
    table = paired.table({"weight": "kg", "work": "min"}, apart=paired.moments.apart)
    assert list(table.columns) == ["case", "alternative", "output", "unit", "difference", "n", "apart"]
    assert paired.replications == 2
    expected = pd.DataFrame(
        [
            ("July", "new", "weight", "kg", 4.0, 2, 1),  # 2 and 6, of which 2.5 or less counts as nothing
            ("July", "new", "work", "min", -0.5, 2, 1),
            ("July", "other", "weight", "kg", 0.0, 2, 0),
            ("July", "other", "work", "min", -0.5, 2, 1),
            ("May", "new", "weight", "kg", 0.0, 2, 0),
            ("May", "new", "work", "min", 0.0, 1, 0),
            ("May", "other", "weight", "kg", 5.0, 1, 1),
            ("May", "other", "work", "min", np.nan, 0, 0),
        ],
        columns=table.columns,
    )
    pd.testing.assert_frame_equal(table, expected)


def test_every_difference_counts_where_no_limit_is_given():
    for paired in (
        PairedMoments.of(ROOMS, "old", ["weight"]),
        PairedMoments(["July", "May"], ["new", "old", "other"], "old", ["weight"]),
    ):
        if not paired.replications:
            paired.add(ROOMS)
        assert paired.moments.apart.ravel().tolist() == [2, 0, 0, 1]


def test_without_units_a_table_of_pairs_has_none():
    assert "unit" not in PairedMoments.of(ROOMS, "old", ["weight"]).table()


def test_rooms_are_identical_where_every_column_is_equal_or_missing_in_both():
    """Of July and other the weights alone are equal; of May and new everything, once without any work."""
    paired = PairedMoments.of(ROOMS, "old", ["weight"])
    assert paired.identical.tolist() == [[False, False], [True, False]]


@pytest.mark.parametrize("work", [[1.0, np.nan], [np.nan, 1.0]])
def test_rooms_of_which_one_has_no_value_are_not_identical(work):
    rooms = {"case": "May", "alternative": ["old", "other"], "replicate": 1, "weight": 5.0, "work": work}
    assert PairedMoments.of(pd.DataFrame(rooms), "old", ["weight"]).identical.tolist() == [[False]]


def test_once_rooms_have_differed_later_rooms_do_not_make_them_identical():
    paired = PairedMoments(["May"], ["old", "other"], "old", ["weight"])
    for replicate, other, identical in ((1, 5.0, True), (2, 6.0, False), (3, 5.0, False)):
        rooms = {"case": "May", "alternative": ["old", "other"], "replicate": replicate, "weight": [5.0, other]}
        paired.add(pd.DataFrame(rooms))
        assert paired.identical.tolist() == [[identical]]


def test_a_reference_that_is_no_alternative_is_refused():
    with pytest.raises(farrowtide.UserError, match="no alternative is called 'odl'"):
        PairedMoments.of(ROOMS, "odl", ["weight"])


# --- several tests ---


def test_holm_by_hand():
    """Sorted 0.01, 0.02, 0.03 and 0.5: times 4, 3, 2 and 1, never falling."""
    np.testing.assert_allclose(holm(np.array([0.5, 0.03, 0.01, 0.02])), [0.5, 0.06, 0.04, 0.06])
    np.testing.assert_allclose(holm(np.array([0.6, 0.9])), [1.0, 1.0])
    assert holm(np.array([])).tolist() == []
    assert np.isnan(holm(np.array([np.nan]))).all()


def test_each_case_is_a_family_of_its_own():
    p = np.array([[[0.01, 0.2], [0.02, np.nan]], [[0.01, np.nan], [np.nan, np.nan]]])
    expected = [[[0.03, 0.2], [0.04, np.nan]], [[0.01, np.nan], [np.nan, np.nan]]]
    np.testing.assert_allclose(holm_by_case(p), expected)


# --- quantiles and ratios ---


def test_the_median_of_six_rooms_is_between_the_least_and_the_largest():
    """All six on one side of it: 2 x 0.5^6 = 3 %; one on the other side as well: 22 %. Five rooms are too few: 6 %."""
    assert quantile(np.array([3.0, 1, 2, 9, 4, 7]), 0.5) == (3.5, 1.0, 9.0)
    estimate, *ends = quantile(np.array([3.0, 1, 2, 9, 4]), 0.5)
    assert estimate == 3.0
    assert np.isnan(ends).all()
    assert quantile(np.array([3.0, 1, 2, 9, 4]), 0.5, confidence=0.9) == (3.0, 1.0, 9.0)


def test_no_room_has_no_quantile_and_one_room_no_interval():
    assert np.isnan(quantile(np.array([]), 0.5)).all()
    estimate, *ends = quantile(np.array([8.0]), 0.9)
    assert estimate == 8.0
    assert np.isnan(ends).all()


@pytest.mark.parametrize(
    ("q", "confidence", "rooms"),
    [
        (0.5, 0.95, 6),  # 0.5^6 = 0.016 <= 0.025 < 0.5^5
        (0.5, 0.9, 5),  # 0.5^5 = 0.031 <= 0.05 < 0.5^4
        (0.1, 0.95, 36),  # 0.9^36 = 0.0225 <= 0.025 < 0.9^35
        (0.9, 0.95, 36),
        (0.25, 0.95, 13),  # 0.75^13 = 0.024 <= 0.025 < 0.75^12
    ],
)
def test_the_rooms_at_which_a_quantile_has_both_ends(q, confidence, rooms):
    assert rooms_for_quantile(q, confidence) == rooms


def test_fieller_of_two_rooms():
    """Between the means 3 and 5 with standard errors and covariance 1 and t = 1, as it is of one degree of freedom at 50 %:
    (3 - 5 r)^2 = (1 - r)^2 at 1/2 and 2/3."""
    assert fieller_interval(np.array([2.0, 4.0]), np.array([4.0, 6.0]), 0.5) == pytest.approx((1 / 2, 2 / 3))
    assert fieller_interval(np.array([4.0, 2.0]), np.array([4.0, 6.0]), 0.5) == pytest.approx((2 / 6, 4 / 4))


def test_fieller_where_every_room_has_the_same_ratio_is_that_ratio():
    below = np.array([0.1, 0.7, 0.3, 0.9, 0.6])
    assert fieller_interval(0.3 * below, below, 0.5) == pytest.approx((0.3, 0.3), rel=1e-6)


def test_fieller_has_no_ends_of_one_room_or_a_denominator_of_zero():
    for rooms in ([], [1.0]):
        assert np.isnan(fieller_interval(np.array(rooms), np.array(rooms))).all()
    assert np.isnan(fieller_interval(np.array([1.0, 2.0]), np.zeros(2))).all()
    assert not np.isnan(fieller_interval(np.array([1.0, 2.0]), np.ones(2))).any()


# --- how many rooms an interval needs ---


@pytest.mark.parametrize(("animals", "rooms"), [(24, 40), (23, 40), (25, 39), (100, 10), (960, 1), (math.inf, 0)])
def test_a_floor_is_reached_by_rooms_or_by_the_animals_in_them(animals, rooms):
    assert Floor(rooms=40, animals=960).needs(animals) == rooms


@pytest.mark.parametrize(
    ("values", "known"),
    [
        ([1.0], False),
        ([1.0, 2.0], True),
        ([1.0, 1.0], False),  # no spread
        ([0.0, 2.0, 3.0], False),  # below five values all must be apart from 0
        ([0.0, 0.0, 1.0, 2.0, 3.0, 4.0], False),  # four
        ([0.0, 1.0, 2.0, 3.0, 4.0, 5.0], True),
    ],
    ids=str,
)
def test_an_interval_needs_two_values_a_spread_and_five_apart(values, known):
    moments = moments_of(*values)
    assert inference.is_known(moments).item() == known
    assert np.isnan(inference.interval(moments)).all() == (not known)
    assert np.isnan(inference.p_below(moments, 9.0)).all() == (not known and not inference.is_constant(moments).item())


def test_each_output_needs_its_own_number_of_rooms():
    values = np.array([1.0, 2.0, 4.0, 5.0])[:, None] * np.ones(3)
    moments, needs = Moments.of(values, top=100.0), np.array([0, 4, 5])
    assert inference.is_known(moments, needs).tolist() == [True, True, False]
    for found in (
        inference.interval(moments, needs=needs)[0],
        inference.share_interval(moments, needs=needs)[1],
        inference.p_below(moments, needs=needs),
        inference.p_of_no_difference(moments, needs=needs),
    ):
        assert np.isnan(found).tolist() == [False, False, True]


# --- intervals and tests ---


def test_intervals_of_two_values_have_one_degree_of_freedom():
    """Of 1 and 3 the mean is 2 and the standard error 1; the quantile of one degree of freedom is tan(0.475 pi) = 12.7."""
    t = math.tan(0.475 * math.pi)
    moments = moments_of(1, 3)
    assert the_only(*inference.student_interval(moments)) == pytest.approx([2 - t, 2 + t])
    assert the_only(*inference.interval(moments)) == pytest.approx([2 - t, 2 + t])
    assert inference.half_width(moments).item() == pytest.approx(t)
    assert np.isnan(inference.student_interval(moments_of(1))).all()


def test_the_interval_of_a_share_of_two_rooms():
    """Of 40 and 60 % the mean is 1/2, the standard error 1/10 and the log odds 0: 1 / (1 + exp(-+4 t / 10))."""
    half = math.tan(0.475 * math.pi) / 10 / (1 / 2 * 1 / 2)
    expected = [1 / (1 + math.exp(half)), 1 / (1 + math.exp(-half))]
    assert the_only(*inference.share_interval(moments_of(0.4, 0.6, top=1.0), 1.0)) == pytest.approx(expected)
    found = inference.share_interval(moments_of(40, 60, top=100.0))
    assert the_only(*found) == pytest.approx([100 * end for end in expected])


@pytest.mark.parametrize("values", [[-1, 1], [-3, -1], [90, 110], [110, 130], [0, 0], [50]], ids=str)
def test_a_mean_that_is_no_share_has_no_interval_of_one(values):
    assert np.isnan(inference.share_interval(moments_of(*values, top=100.0))).all()


def test_the_interval_of_a_share_reaches_as_far_as_the_usual_one_within_the_range():
    """Near the middle log odds give the narrower interval."""
    moments = moments_of(0.4, 0.45, 0.5, 0.55, 0.6, top=1.0)
    assert the_only(*inference.share_interval(moments, 1.0, 0.9)) == pytest.approx(
        stats.t.interval(0.9, 4, 0.5, stats.sem([0.4, 0.45, 0.5, 0.55, 0.6]))
    )


def test_p_of_two_values_by_the_arc_tangent():
    """Of -3 and -1 t is -2, with one degree of freedom: 1/2 + arctan(-2) / pi."""
    moments = moments_of(-3, -1)
    assert inference.p_below(moments).item() == pytest.approx(0.5 - math.atan(2) / math.pi)
    assert inference.p_below(moments, -4.0).item() == pytest.approx(0.5 + math.atan(2) / math.pi)
    assert inference.p_of_no_difference(moments).item() == pytest.approx(1 - 2 * math.atan(2) / math.pi)
    assert inference.p_of_no_difference(moments.turned(-1.0)).item() == pytest.approx(1 - 2 * math.atan(2) / math.pi)


def test_the_p_of_skewed_values_is_the_larger_of_students_and_halls():
    """Hall (1992): t + g t^2 / 3 + g^2 t^3 / 27 + g / 6, with g the skewness over the root of n."""
    values = np.array([0.1, 0.2, 0.2, 0.4, 3.0, 0.3, 0.5, 0.1])
    g = stats.skew(values) / math.sqrt(8)
    for bound in (0.3, 1.5, 2.5):
        t = (values.mean() - bound) / stats.sem(values)
        transformed = t + g * t**2 / 3 + g**2 * t**3 / 27 + g / 6
        expected = max(stats.t.cdf(t, 7), stats.t.cdf(transformed, 7))
        assert inference.p_below(moments_of(*values), bound).item() == pytest.approx(expected)


def test_p_is_never_above_one():
    assert inference.p_of_no_difference(moments_of(-2, -1, 1, 2)).item() == 1.0


@pytest.mark.parametrize(("bound", "p"), [(0.0, 1.0), (2.0, 1.0), (2.5, 1 / 8)])
def test_values_that_are_all_equal_are_tested_by_their_sign(bound, p):
    moments = moments_of(2, 2, 2)
    assert inference.is_constant(moments).item()
    assert inference.p_below(moments, bound).item() == p


def test_values_that_are_all_equal_differ_from_zero_with_twice_the_p_of_the_sign():
    assert inference.p_of_no_difference(moments_of(2, 2, 2)).item() == 2 / 8
    assert inference.p_of_no_difference(moments_of(-2, -2, -2, -2)).item() == 2 / 16


@pytest.mark.parametrize("values", [[2.0], [0.0, 0.0], [2.0, 2.0, 0.0], [2.0, 3.0]], ids=str)
def test_one_value_zeros_and_what_varies_are_not_constant(values):
    assert not inference.is_constant(moments_of(*values)).item()


def test_the_highest_share_by_hand():
    """None of n: 1 - 0.05^(1 / n). All but one: (0.95)^(1 / n)."""
    assert inference.highest_share(0, 1) == pytest.approx(0.95)
    assert inference.highest_share(0, 3) == pytest.approx(1 - 0.05 ** (1 / 3))
    assert inference.highest_share(2, 3) == pytest.approx(0.95 ** (1 / 3))
    assert inference.highest_share(np.array([0, 3]), 3, 0.5) == pytest.approx([1 - 0.5 ** (1 / 3), 1.0])


@pytest.mark.parametrize(
    ("sd", "half_width", "confidence", "needed"),
    [
        (0.0, 1.0, 0.95, 2),
        (1.0, 9.0, 0.95, 2),  # 12.71 / sqrt(2) = 8.98
        (1.0, 8.9, 0.95, 3),  # 4.303 / sqrt(3) = 2.48
        (1.0, 2.4, 0.95, 4),  # 3.182 / sqrt(4) = 1.59
        (10.0, 24.0, 0.95, 4),
        (1.0, 3.0, 0.9, 3),  # 2.920 / sqrt(3) = 1.69; 6.314 / sqrt(2) = 4.46
        (math.inf, 1.0, 0.95, math.inf),
        (1e300, 1e-300, 0.95, math.inf),
    ],
)
def test_replications_needed_by_the_table_of_t(sd, half_width, confidence, needed):
    assert inference.replications_needed(np.array(sd), half_width, confidence) == needed


def test_more_replications_than_can_be_counted_are_a_rough_number():
    assert inference.replications_needed(np.array(1e12), 1.0) == pytest.approx((1.95996e12) ** 2, rel=1e-5)


def test_replications_needed_are_told_for_each_of_several():
    found = inference.replications_needed(np.array([1.0, np.nan, 1.0]), np.array([8.9, 1.0, 2.4]))
    np.testing.assert_array_equal(found, [3, np.nan, 4])
