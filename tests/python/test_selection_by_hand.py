"""Selection of the best of two or three by hand.

With two alternatives and a confidence of 7/8, or three and 3/4, 2 alpha / (k - 1) is 1/4: after a first stage of five
replicates h^2 is (4^(1/2) - 1) x 4 = 4. With `delta` 1 a boundary closes at 4 S^2, and is (4 S^2 - n) / 2n before.
"""

import math

import numpy as np
import pandas as pd
import pytest

import farrowtide
from farrowtide.statistics.selection import Selection


def two(**options) -> Selection:
    return Selection(["a", "b"], 1.0, **{"confidence": 7 / 8, "first_stage": 5} | options)


def three(**options) -> Selection:
    return Selection(["a", "b", "c"], 1.0, confidence=3 / 4, first_stage=5, **options)


def ahead(*gaps: float) -> pd.DataFrame:
    """Rooms in which b is ahead of a by this much."""
    return pd.DataFrame({"b": np.array(gaps, dtype=float), "a": 0.0})


NARROW = 1, 3, 1, 3, 2  # mean 2, variance 1: closed at 4
WIDE = -1, 5, -1, 5, 2  # mean 2, variance 9: closed at 36


def test_what_is_ahead_when_the_boundary_has_closed_is_selected():
    selection = two()
    assert (selection.in_play, selection.best, selection.ends_by) == (["a", "b"], None, None)
    assert selection.add(ahead(*NARROW)) == ["a"]
    assert (selection.in_play, selection.best, selection.n, selection.ends_by) == (["b"], "b", 5, 5)
    table = selection.table().set_index("alternative")
    assert table.loc["a"].to_dict() == {"n": 5, "mean": 0.0, "eliminated_at": 5, "eliminated_by": "b"}
    assert table.loc["b"].to_dict() == {"n": 5, "mean": 2.0, "eliminated_at": 0, "eliminated_by": ""}


def test_the_boundary_comes_down_with_each_room():
    """(36 - n) / 2n is 3.1, 2.5, 2.07 and 1.75 with 5 to 8 rooms; the mean stays 2."""
    selection = two()
    assert selection.add(ahead(*WIDE)) == []
    assert (selection.best, selection.ends_by) == (None, 37)
    gone = [selection.add(ahead(2)) for _ in range(3)]
    assert (gone, selection.n, selection.ends_by) == ([[], [], ["a"]], 8, 8)


def test_a_selection_has_no_unit():
    """As above, with everything a quarter as large."""
    selection = Selection(["a", "b"], 1 / 4, confidence=7 / 8, first_stage=5)
    selection.add(ahead(*WIDE) / 4)
    assert selection.ends_by == 37
    assert [selection.add(ahead(1 / 2)) for _ in range(3)] == [[], [], ["a"]]


def test_who_is_just_on_the_boundary_stays():
    """(36 - 6) / 12 = 2.5, which is the mean of the six."""
    selection = two()
    selection.add(ahead(*WIDE))
    assert selection.add(ahead(5)) == []
    assert selection.table()["mean"].tolist() == [0.0, 2.5]


def test_the_variance_is_that_of_the_first_stage():
    """Whatever comes later, the boundary still closes at 36."""
    selection = two()
    selection.add(ahead(*WIDE))
    assert selection.add(ahead(50, -50)) == []
    assert (selection.ends_by, selection.most_apart) == (37, 5)


def test_a_first_round_of_more_rooms_is_the_first_stage():
    """Nine rooms: h^2 is (4^(1/4) - 1) x 8 = 3.31, and S^2 = 144 / 8 = 18."""
    selection = two()
    assert selection.add(ahead(*[-4, 4] * 4, 4, )) == []  # fmt: skip
    variance = np.var([-4, 4] * 4 + [4], ddof=1)
    assert selection.ends_by == math.floor((math.sqrt(2) - 1) * 8 * variance) + 1


@pytest.mark.parametrize(("sign", "best"), [(1.0, "b"), (-1.0, "a")])
def test_a_lower_mean_may_be_the_better(sign, best):
    selection = two(sign=sign)
    selection.add(ahead(*NARROW))
    assert selection.best == best
    assert selection.table()["mean"].tolist() == [0.0, 2.0]


@pytest.mark.parametrize("names", [["a", "b"], ["b", "a"]])
def test_of_equals_the_one_listed_later_goes_when_the_boundary_has_closed(names):
    selection = Selection(names, 1.0, confidence=7 / 8, first_stage=5)
    assert selection.add(ahead(0.5, -0.25, -0.25, 0.25, -0.25)) == [names[1]]


def test_equals_stay_while_the_boundary_is_open():
    assert two().add(ahead(4, -2, -2, 2, -2)) == []  # variance 8


def test_nothing_is_screened_before_the_first_stage_is_over():
    selection = two(first_stage=6)
    assert (selection.add(ahead(*NARROW)), selection.n, selection.ends_by) == ([], 5, None)
    assert selection.add(ahead(2)) == ["a"]


@pytest.mark.parametrize(("fifth", "over"), [(0.01, False), (0.011, True)])
def test_a_room_in_which_they_differ_by_a_hundredth_of_delta_does_not_count(fifth, over):
    selection = two()
    selection.add(ahead(8, 9, -9, 10, fifth))
    assert (selection.most_apart, selection.ends_by is not None) == (4 + over, over)


def test_each_goes_by_the_one_that_is_furthest_ahead():
    selection = three()
    b = np.array(NARROW, dtype=float)
    assert selection.add(pd.DataFrame({"a": 0.0, "b": b, "c": b + np.array([3, 2, 3, 4, 3])})) == ["a", "b"]
    assert selection.table()["eliminated_by"].tolist() == ["c", "c", ""]


def test_of_several_that_are_as_far_ahead_it_is_the_first():
    selection = three()
    gone = selection.add(pd.DataFrame({"a": NARROW, "b": NARROW[::-1], "c": -9}))
    assert (gone, selection.in_play) == (["c"], ["a", "b"])
    assert selection.table()["eliminated_by"].tolist() == ["", "", "a"]


def test_who_has_gone_keeps_its_mean_and_the_others_go_on():
    """b and c differ by -3, 3, 3, -3 and 1: S^2 = 9.2, closed at 36.8; a is far behind."""
    selection = three()
    b = np.array([20.0, 21, 20, 21, 20])
    assert selection.add(pd.DataFrame({"a": 0.0, "b": b, "c": b + np.array([-3, 3, 3, -3, 1])})) == ["a"]
    assert (selection.in_play, selection.ends_by) == (["b", "c"], 37)
    assert selection.add(pd.DataFrame({"c": [30.0, 30], "b": [20.0, 20]})) == ["b"]  # 21 / 7 > 29.8 / 14
    table = selection.table()
    assert table["n"].tolist() == [5, 7, 7]
    assert table["eliminated_at"].tolist() == [5, 7, 0]
    assert table["mean"].tolist() == pytest.approx([0, 142 / 7, 163 / 7])


def test_rooms_after_the_selection_change_nothing_but_their_number():
    selection = two()
    selection.add(ahead(*NARROW))
    assert selection.add(pd.DataFrame({"b": np.zeros(1000)})) == []
    assert (selection.best, selection.n, selection.ends_by, selection.tied) == ("b", 1005, 1005, [])


def test_a_room_without_a_value_is_left_out():
    selection = two()
    assert selection.add(ahead(*NARROW[:4], np.nan)) == []
    assert selection.n == 4
    assert selection.add(ahead(NARROW[4])) == ["a"]


def test_equals_are_tied_with_the_thousandth_room():
    selection = two()
    assert selection.add(ahead(*[0] * 999)) == []
    assert selection.tied == []
    selection.add(ahead(0))
    assert (selection.tied, selection.in_play, selection.best, selection.ends_by) == (
        ["a", "b"],
        ["a", "b"],
        None,
        None,
    )


def test_equals_are_not_tied_while_a_third_may_still_be_the_best():
    selection = Selection(["a", "b", "c"], 0.001, confidence=3 / 4, first_stage=5)
    assert selection.add(pd.DataFrame({"a": 0.0, "b": 0.0, "c": [-1.0, 1.0] * 500})) == []
    assert selection.tied == []


@pytest.mark.parametrize(
    ("names", "delta", "options", "message"),
    [
        (["a"], 1.0, {}, "two or more alternatives"),
        ([], 1.0, {}, "two or more alternatives"),
        (["a", "b", "a"], 1.0, {}, "with different names"),
        (["a", "b"], 0.0, {"unit": "kg"}, r"indifference = 0.0: .* must be above 0 kg"),
        (["a", "b"], -1.0, {}, "indifference = -1.0"),
        (["a", "b"], math.inf, {}, "indifference = inf"),
        (["a", "b"], math.nan, {}, "indifference = nan"),
        (["a", "b", "c", "d"], 1.0, {"confidence": 0.25}, r"confidence = 0.25: must be between 0.25 \(random choice\)"),
        (["a", "b"], 1.0, {"confidence": 1.0}, "confidence = 1.0"),
        (["a", "b"], 1.0, {"first_stage": 1}, "first_stage = 1: must be at least 2"),
    ],
)
def test_a_selection_that_makes_no_sense_is_refused_with_the_reason(names, delta, options, message):
    with pytest.raises(farrowtide.UserError, match=message):
        Selection(names, delta, **options)


def test_the_least_that_makes_sense_is_taken():
    selection = Selection(["a", "b", "c", "d"], 1e-9, confidence=0.26, first_stage=2)
    assert (selection.confidence, selection.first_stage, selection.delta) == (0.26, 2, 1e-9)
