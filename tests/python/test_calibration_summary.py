"""Records reduced to statistics, by hand: what counts in each, in which group and class, and what is too little."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from farrowtide.analysis.calibration.summary import (
    ALL,
    FIRST,
    LATER,
    QUANTITIES,
    Reduced,
    Statistic,
    Sums,
    group_of,
    spreads,
)
from farrowtide.records import Records

NO_SPREAD = np.array([False])
BY_NAME = {quantity.name: quantity for quantity in QUANTITIES}


def farrowings(**columns):
    """Rows of one sow each, of later parity in one group, that farrowed on 1 June, but for what is given."""
    count = max(len(values) for values in columns.values())
    usual = {
        "sow": [f"s{i}" for i in range(count)],
        "group": "a",
        "parity": 2,
        "farrowed_on": pd.Timestamp("2026-06-01"),
    }
    usual |= {"weaned_on": pd.Timestamp("2026-06-29"), "moved_in": np.nan, "moved_out": np.nan}
    return pd.DataFrame(usual | columns)


def values(table, days=None):
    """Name of a statistic -> value, as far as there are records."""
    reduced = Reduced.of(Records(table, pd.DataFrame() if days is None else days))
    found = reduced.sums.statistics(spreads(reduced.statistics))
    return {s.name: each for s, each in zip(reduced.statistics, found, strict=True) if np.isfinite(each)}


def test_shares_of_piglets_are_of_all_piglets_and_not_means_of_litters():
    """Of 20 and 10 piglets born, 2 and 4 stillborn. Of 18 + 2 - 4 and 6 nursed 4 and 1 died; a litter whose deaths are not
    recorded does not count among the nursed.
    """
    table = farrowings(
        born_alive=[18, 6, 9], stillborn=[2, 4, np.nan], moved_in=[2, np.nan, 1], moved_out=[4, np.nan, 1],
        died=[4, 1, np.nan],
    )  # fmt: skip
    found = values(table)
    assert found["stillborn, later parities"] == pytest.approx(100 * 6 / 30)
    assert found["mortality, later parities"] == pytest.approx(100 * 5 / 22)
    assert found["total born, later parities"] == pytest.approx(15)


def test_weight_at_weaning_is_of_the_piglets_whose_litter_was_weighed_and_counted():
    """A litter of which nobody is left weighs nothing."""
    table = farrowings(litter_weight_kg=[60.0, 56.0, np.nan, 50.0, 0.0], weaned=[10, 8, 12, np.nan, 0])
    found = values(table)
    assert found["piglet weight, later parities"] == pytest.approx(116 / 18)
    assert found["weaned, later parities"] == pytest.approx(7.5)
    sums = Reduced.of(Records(table, pd.DataFrame()), [Statistic(BY_NAME["piglet weight"], LATER)]).sums
    assert (sums.weight.item(), sums.value.item()) == (18, 116)
    assert sums.square.item() == pytest.approx(60**2 / 10 + 56**2 / 8)


def test_a_sow_counts_as_treated_once_and_as_untreated_only_if_that_is_recorded():
    assert values(farrowings(treatments=[0, 1, 3, np.nan]))["treated, later parities"] == pytest.approx(200 / 3)


def test_served_within_seven_days_of_weaning_includes_the_seventh():
    weaned = pd.Timestamp("2026-06-29")
    served = [weaned + pd.Timedelta(days=days) for days in (5, 7, 8)]
    found = values(farrowings(served_on=[*served, pd.NaT]))
    assert found["served, later parities"] == pytest.approx(200 / 3)
    assert found["lactation"] == 28


def test_losses_are_from_loading_to_weaning():
    table = farrowings(
        weight_at_loading_kg=[280.0, 250.0, 260.0], weight_at_weaning_kg=[250.0, 240.0, np.nan],
        backfat_at_loading_mm=[18.0, 16.0, 17.0], backfat_at_weaning_mm=[14.0, 15.0, 14.0],
    )  # fmt: skip
    found = values(table)
    assert found["weight loss, later parities"] == pytest.approx(20)
    assert found["backfat loss, later parities"] == pytest.approx(8 / 3)


def test_first_and_later_parities_are_apart_and_an_unknown_parity_is_in_neither():
    table = farrowings(parity=[1, 1, 2, 5, 3, np.nan], weaned=[10, 11, 12, 14, 13, 99])
    found = values(table)
    assert found["weaned, first parity"] == pytest.approx(10.5)
    assert found["weaned, later parities"] == pytest.approx(13)
    assert found["first parities"] == pytest.approx(40)


def test_of_equal_durations_the_spread_is_zero_and_its_rounding_error_no_root_of_a_negative_number():
    found = values(farrowings(duration_min=[173.0] * 7))
    assert found["duration, later parities"] == pytest.approx(np.log(173))
    assert found["duration spread"] == pytest.approx(0, abs=1e-6)


def test_a_day_counts_in_its_week_of_lactation_until_weaning():
    """Farrowed on 1 June, weaned on the 29th: what was eaten on lactation day n is n kg, water 10 n L."""
    dates = pd.date_range("2026-05-30", "2026-07-02")
    day = (dates - pd.Timestamp("2026-06-01")).days.to_numpy(float)
    days = pd.DataFrame(
        {"sow": "s0", "date": dates, "eaten_kg": day, "water_l": 10 * day, "temperature_deg_c": 20 + day}
    )
    days = pd.concat([days, days.assign(sow=None, eaten_kg=99.0)]).astype({"sow": "string"})  # and rows of a room
    found = values(farrowings(weaned=[12]).astype({"sow": "string"}), days)
    weeks = {f"eaten week {week}, later parities": 7 * week - 3.0 for week in (1, 2, 3)}  # the middle of each
    weeks["eaten week 4, later parities"] = 24.5  # day 28 is that of weaning
    assert {name: value for name, value in found.items() if name.startswith("eaten")} == pytest.approx(weeks)
    assert found["water, later parities"] == pytest.approx(110)
    assert found["room temperature"] == pytest.approx(31)


def test_days_of_a_sow_that_still_nurses_count_to_the_end_of_the_fourth_week():
    dates = pd.date_range("2026-06-01", periods=40)
    days = pd.DataFrame({"sow": "s0", "date": dates, "offered_kg": np.arange(40.0)})
    found = values(farrowings(weaned=[12], weaned_on=[pd.NaT]), days)
    offered = {name: value for name, value in found.items() if name.startswith("offered")}
    assert offered == pytest.approx({f"offered week {n}, later parities": 7 * n - 3 for n in (1, 2, 3, 4)})


def test_a_day_belongs_to_the_latest_farrowing_of_its_sow_with_that_ones_parity_and_group():
    table = farrowings(
        sow=["s", "s", "t"], parity=[1, 2, 2], group=["a", "b", "b"], weaned=[10, 11, 12],
        farrowed_on=pd.to_datetime(["2026-01-05", "2026-06-01", "2026-06-02"]),
        weaned_on=pd.to_datetime(["2026-02-02", "2026-06-29", "2026-06-30"]),
    )  # fmt: skip
    days = pd.DataFrame(
        {"sow": ["s", "s"], "date": pd.to_datetime(["2026-06-03", "2026-01-07"]), "eaten_kg": [4.0, 3.0]}
    )
    eaten = [Statistic(BY_NAME["eaten week 1"], parities) for parities in (FIRST, LATER)]
    reduced = Reduced.of(Records(table, days), eaten)
    assert reduced.group_names == ["a", "b"]
    assert reduced.sums.value.tolist() == [[3, 0], [0, 4]]
    assert reduced.sums.weight.tolist() == [[1, 0], [0, 1]]


def test_groups_are_in_order_of_time_and_named_by_the_week_where_none_is_recorded():
    """1 January 2027, a Friday, is in the last week of 2026 (ISO 8601)."""
    table = farrowings(
        group=["late", "early", None, "early"], weaned=[9, 10, 11, 12],
        farrowed_on=pd.to_datetime(["2027-01-09", "2026-12-01", "2027-01-01", "2026-12-03"]),
    )  # fmt: skip
    assert group_of(table).tolist() == ["late", "early", "2026-W53", "early"]
    reduced = Reduced.of(Records(table, pd.DataFrame()), [Statistic(BY_NAME["weaned"], LATER)])
    assert reduced.group_names == ["early", "2026-W53", "late"]
    assert reduced.sums.value[:, 0].tolist() == [22, 11, 9]
    assert reduced.sums.weight[:, 0].tolist() == [2, 1, 1]
    assert reduced.sums.square[:, 0].tolist() == [244, 121, 81]
    some = reduced.of_groups(["late", "early"])
    assert (some.group_names, some.sums.value[:, 0].tolist()) == (["late", "early"], [9, 22])


def of_quantities(names, weights):
    """Reduced records with these weights (groups x statistics), all values 1."""
    weight = np.array(weights, dtype=float)
    statistics = [Statistic(BY_NAME[name], ALL) for name in names]
    return Reduced([f"g{i}" for i in range(len(weight))], statistics, Sums(weight, weight, weight))


@pytest.mark.parametrize(
    ("weights", "enough"),
    [([6, 7, 7], True), ([6, 7, 6], False), ([10, 10, 0], False), ([18, 1, 1], True), ([0, 9, 9, 9], True)],
)
def test_twenty_records_in_three_groups_are_enough(weights, enough):
    found = of_quantities(["weaned"], [[each] for each in weights]).recorded()
    assert bool(found.statistics) == enough
    assert found.sums.weight.shape == (len(weights), int(enough))


def test_feed_offered_counts_only_where_what_was_eaten_is_not_recorded():
    names = ["weaned", "eaten week 1", "offered week 1", "offered week 2"]
    both = of_quantities(names, [[10, 10, 10, 10]] * 3).recorded()
    assert [each.name for each in both.statistics] == ["weaned", "eaten week 1"]
    without = of_quantities(names, [[10, 1, 10, 2]] * 3).recorded()
    assert [each.name for each in without.statistics] == ["weaned", "offered week 1"]
    assert without.sums.weight.tolist() == [[10, 10]] * 3


def test_what_the_scenario_sets_is_looked_at_and_not_fitted():
    """Litter size, weaning, parities and the climate are keys of the scenario."""
    looked_at = {"total born", "weaned", "lactation", "first parities", "room temperature"}
    assert {quantity.name for quantity in QUANTITIES if not quantity.fitted} == looked_at


def test_a_statistic_is_named_by_its_parities_unless_they_are_all():
    of_first, of_all = (Statistic(BY_NAME["duration"], parities) for parities in (FIRST, ALL))
    assert (of_first.name, of_all.name) == ("duration, first parity", "duration")
    assert of_first.label == "Farrowing duration, log mean, first parity"
    assert of_all.label == "Farrowing duration, log mean"


def test_leaving_out_each_group_gives_the_jackknife_of_a_ratio():
    """Three groups with 1, 2 and 1 records and means 1, 2 and 5: without each 3, 3, and 5/3; their mean is 23/9.

    Deviations 4/9, 4/9 and -8/9: variance 2/3 (16 + 16 + 64) / 81 (Quenouille 1956, Biometrika 43:353-360).
    """
    weight, value = np.array([[1.0], [2.0], [1.0]]), np.array([[1.0], [4.0], [5.0]])
    sums = Sums(weight, value, value**2 / weight)
    assert sums.groups == 3
    assert sums.statistics(NO_SPREAD) == pytest.approx([2.5])
    assert sums.without_each(NO_SPREAD)[:, 0] == pytest.approx([3, 3, 5 / 3])
    assert sums.covariance(NO_SPREAD)[0, 0] == pytest.approx(2 / 3 * 96 / 81)


def test_the_jackknife_knows_which_statistics_go_together():
    one = np.array([1.0, 4.0, 2.0])
    value = np.stack([one, -2 * one, one * 0 + 3], axis=1)
    covariance = Sums(np.ones((3, 3)), value, value**2).covariance(np.zeros(3, dtype=bool))
    variance = one.var(ddof=1) / 3
    assert covariance == pytest.approx(variance * np.array([[1, -2, 0], [-2, 4, 0], [0, 0, 0]]))


def test_groups_of_several_simulations_are_put_together_in_order():
    parts = [Sums(np.full((2, 1), i), np.full((2, 1), 10 * i), np.full((2, 1), 100 * i)) for i in (1, 2)]
    found = Sums.together(parts)
    assert (found.weight.ravel().tolist(), found.value.ravel().tolist()) == ([1, 1, 2, 2], [10, 10, 20, 20])
    assert found.square.ravel().tolist() == [100, 100, 200, 200]
    assert found[1:3].value.ravel().tolist() == [10, 20]


def test_a_statistic_of_nothing_is_missing():
    nothing = np.zeros((3, 1))
    assert np.isnan(Sums(nothing, nothing, nothing).statistics(NO_SPREAD)).all()
