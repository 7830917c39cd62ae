"""The gain from pairing and the same sow under two alternatives, from small tables that are written down here."""

import math
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

import farrowtide
from farrowtide.analysis.each_sow import SOW_MEASURES, EachSowTables, chosen_measures, side_by_side
from farrowtide.analysis.variance_reduction import (
    meaning,
    shown_factor,
    shown_number,
    three_ways,
    variance_reduction,
)
from farrowtide.outputs.catalogue import catalogue
from farrowtide.outputs.output import Output

LOSS = catalogue()["weight_loss_kg"]
DASH = "\N{EN DASH}"
KEYS = ("replicate", "group", "room", "sow")


# --- The gain from pairing ---


def test_a_table_has_a_row_per_case_alternative_and_output():
    """The reference stands second; rooms are paired by their number, not by their place."""
    reference, other = [1.0, 2.0, 4.0, 7.0], [2.0, 2.5, 5.5, 6.0]
    rooms = pd.concat(
        [
            pd.DataFrame({"case": case, "alternative": name, "replicate": order, LOSS.name: np.take(values, order)})
            for case in ("winter", "summer")
            for name, values, order in (
                ("z", other, [3, 2, 1, 0]),
                ("a", reference, [0, 1, 2, 3]),
                ("c", reference, [0, 1, 2, 3]),
            )
        ]
    )
    table = variance_reduction(rooms, [LOSS], "a")
    assert list(zip(table["case"], table["alternative"], strict=True)) == [
        ("winter", "z"), ("winter", "c"), ("summer", "z"), ("summer", "c"),
    ]  # fmt: skip
    row = table.iloc[0]
    assert (row["output"], row["unit"], row["n"]) == (LOSS.name, "kg", 4)
    assert row["variance_paired"] == pytest.approx(np.var([1, 0.5, 1.5, -1], ddof=1))
    assert row["variance_independent"] == pytest.approx(np.var(reference, ddof=1) + np.var(other, ddof=1))
    assert row["sd_reference"] == pytest.approx(np.std(reference, ddof=1))
    assert row["sd_alternative"] == pytest.approx(np.std(other, ddof=1))
    assert row["correlation"] == pytest.approx(stats.pearsonr(reference, other).statistic)
    assert row["factor"] == pytest.approx(row["variance_independent"] / row["variance_paired"])
    assert (table.loc[1, "factor"], table.loc[1, "meaning"]) == (np.inf, "the difference is identical in every room")


def test_three_ways_are_the_variances_of_their_differences():
    """A room that lacks a value in any of the three ways is out of all of them."""
    reference = np.array([1.0, 2.0, 4.0, 7.0, 3.0, 5.0, 100.0])
    keyed = np.array([1.0, 0.5, 1.5, -1.0, 0.3, 0.8, 0.0])
    one_stream = np.array([2.0, -3.0, 1.0, 0.5, -1.5, 2.5, 50.0])
    independent = np.array([5.0, -4.0, 3.0, -6.0, 2.0, 7.0, math.nan])
    frames = [pd.DataFrame({LOSS.name: values}) for values in (reference, reference + keyed, one_stream, independent)]
    (row,) = three_ways([LOSS], *frames).to_dict(orient="records")
    variances = {
        "keyed": np.var(keyed[:6], ddof=1),
        "one_stream": np.var(one_stream[:6], ddof=1),
        "independent": np.var(independent[:6], ddof=1),
    }
    assert (row["output"], row["unit"], row["n"]) == (LOSS.name, "kg", 6)
    for way, variance in variances.items():
        assert row[f"variance_{way}"] == pytest.approx(variance)
    assert row["sd_reference"] == pytest.approx(np.std(reference[:6], ddof=1))
    assert row["sd_alternative"] == pytest.approx(np.std((reference + keyed)[:6], ddof=1))
    assert row["correlation"] == pytest.approx(stats.pearsonr(reference[:6], (reference + keyed)[:6]).statistic)
    assert row["factor_independent"] == pytest.approx(variances["independent"] / variances["keyed"])
    assert row["factor_one_stream"] == pytest.approx(variances["one_stream"] / variances["keyed"])
    assert row["factor_one_stream_independent"] == pytest.approx(variances["independent"] / variances["one_stream"])
    for way in ("independent", "one_stream", "one_stream_independent"):
        assert row[f"factor_{way}_low"] < row[f"factor_{way}"] < row[f"factor_{way}_high"]


@pytest.mark.parametrize(
    ("n", "factor", "said"),
    [
        (2, math.nan, "too few rooms"),
        (3, math.nan, "no variation between rooms"),
        (40, math.inf, "the difference is identical in every room"),
        (1000, 2.5, "1,000 paired rooms are worth 2,500 unpaired ones"),
        (40, 0.26, "40 paired rooms are worth 10 unpaired ones"),
    ],
)
def test_a_factor_has_a_meaning(n, factor, said):
    assert meaning(n, factor) == said
    assert meaning(n, factor, "farm", "ordinary") == said.replace("room", "farm").replace("unpaired", "ordinary")


@pytest.mark.parametrize(
    ("factor", "low", "high", "said"),
    [
        (100_000, 12.34, 200_000, ("100,000", "12 to over 100,000")),
        (100_001, 9.94, 99_999, ("over 100,000", "9.9 to 100,000")),
        (10, 1, 100, ("10", "1.0 to 100")),
        (0.994, 0.0512, 1.04, ("0.99", "0.05 to 1.0")),
        (3, math.nan, math.nan, ("3.0", "")),
        (math.inf, 1.0, 2.0, ("identical in every room", "")),
        (math.nan, 1.0, 2.0, (DASH, "")),
    ],
)
def test_a_factor_and_its_interval_are_printed_with_two_digits(factor, low, high, said):
    assert shown_factor(factor, low, high) == said


def test_a_number_of_rooms_is_printed_up_to_a_limit():
    assert [shown_number(3, factor) for factor in (100_000, 100_001, 0.5, math.inf, math.nan)] == [
        "300,000", "over 300,000", "2", DASH, DASH,
    ]  # fmt: skip


# --- The same sow ---


def test_measures_are_the_default_ones_or_those_named():
    assert chosen_measures(None) == list(SOW_MEASURES)
    named = chosen_measures(["weaned", "meals_per_day", "weaned"])
    assert [measure.name for measure in named] == ["weaned", "meals_per_day"]
    assert (named[1].unit, named[1].good, named[1].negligible) == ("1/d", None, 0.0)
    (yes_or_no,) = chosen_measures(["nurse"])
    assert yes_or_no.unit == "-"
    with pytest.raises(farrowtide.UserError, match=r"'staff_min' is the only other measure\. Did you mean 'weaned'"):
        chosen_measures(["weand"])
    with pytest.raises(farrowtide.UserError, match="'replicate' identifies or classifies a sow"):
        chosen_measures(["replicate"])


@pytest.mark.parametrize("measure", SOW_MEASURES, ids=lambda measure: measure.name)
def test_a_measure_of_a_sow_is_read_from_her_column(measure):
    asked = []
    rooms = SimpleNamespace(mean=lambda table, column: asked.append((table, column)) or np.array([1.0]))
    assert measure.measure(rooms) == [1.0]
    assert asked == [("sows", measure.name)]


def sow_rows(numbers, parities, **measured):
    return pd.DataFrame(
        {"replicate": 0, "group": 1, "room": 1, "sow": numbers, "parity": parities, "total_born": 14} | measured
    )


def test_both_sides_of_each_sow_stand_in_one_row():
    """Sow 4 is in the second table only, and the order is that of the first one."""
    before = sow_rows([3, 1, 2], [7, 1, 2], weaned=[10, 11, 12], nurse=[0, 0, 1])
    after = sow_rows([1, 2, 3, 4], [1, 2, 7, 1], weaned=[12.5, 12, 8, 9], nurse=[1, 1, 0, 0])
    table, left_out = side_by_side(before, after, ["weaned", "nurse"])
    assert left_out == 1
    sides = ("reference", "alternative", "difference")
    assert list(table.columns) == [
        *KEYS, "parity", "total_born", "parity_class", *(f"{name}_{side}" for name in ("weaned", "nurse") for side in sides),
    ]  # fmt: skip
    assert list(table["sow"]) == [3, 1, 2]
    assert list(table["parity_class"]) == ["P3+", "P1", "P2"]
    assert table[["weaned_reference", "weaned_alternative", "weaned_difference"]].to_numpy().tolist() == [
        [10, 8, -2], [11, 12.5, 1.5], [12, 12, 0],
    ]  # fmt: skip
    assert list(table["nurse_difference"]) == [0, 1, 0]


def of_differences(measure, differences, rooms, wanted=2):
    """The same sows with these differences in these rooms."""
    names = [f"{measure.name}_{side}" for side in ("reference", "alternative", "difference")]
    table = pd.DataFrame({"replicate": rooms, "group": 1, "room": 1, "sow": range(1, len(rooms) + 1)})
    table = table.assign(parity_class="P1", total_born=14)
    table[names[0]] = 10.0 * table["sow"]
    table[names[1]] = table[names[0]] + differences
    table[names[2]] = differences
    return EachSowTables(None, None, "a", "b", [measure], 2, 1, table, 0, {}, wanted)


@pytest.mark.parametrize(("good", "better", "worse"), [("higher", 50, 25), ("lower", 25, 50), (None, 50, 25)])
def test_a_difference_that_matters_is_a_gain_or_a_loss(good, better, worse):
    """0.5 matters and 0.49 does not."""
    measure = Output("x", "kg", "X", lambda rooms: rooms, good, 1, 0.5)
    (row,) = of_differences(measure, [0.5, 2.0, -0.5, 0.49], [0, 0, 1, 1]).gains().to_dict(orient="records")
    assert (row["measure"], row["unit"], row["sows"]) == ("x", "kg", 4)
    assert (row["better_percent"], row["worse_percent"], row["same_percent"]) == (better, worse, 25)
    assert (row["p10"], row["median"], row["p90"]) == pytest.approx(
        np.quantile([0.5, 2.0, -0.5, 0.49], [0.1, 0.5, 0.9])
    )
    assert row["mean"] == pytest.approx((1.25 - 0.005) / 2)
    assert (row["rooms"], row["rooms_apart"]) == (2, 1)  # by more than a tenth of what matters


def test_rooms_of_two_sows_differ_in_removal_where_one_of_them_is_removed_or_not():
    """0.5 of one sow is 0.25 of the room: 0.38 is more, 0.01 is not."""
    (measure,) = chosen_measures(["removal_risk"])
    (row,) = of_differences(measure, [0.76, 0.0, 0.02, 0.0], [0, 0, 1, 1]).gains().to_dict(orient="records")
    assert (row["rooms"], row["rooms_apart"]) == (2, 1)


def test_where_anything_matters_only_what_is_equal_is_the_same():
    measure = Output("x", "kg", "X", lambda rooms: rooms, "higher", 1, 0.0)
    (row,) = of_differences(measure, [1e-6, 0.0, 0.0, -1e-6, math.nan], [0, 0, 1, 1, 1]).gains().to_dict("records")
    assert (row["sows"], row["better_percent"], row["worse_percent"], row["same_percent"]) == (4, 25, 25, 50)


def test_without_a_value_there_are_no_gains():
    (row,) = of_differences(LOSS, [math.nan, math.nan], [0, 1]).gains().to_dict(orient="records")
    assert (row["sows"], row["rooms"], row["rooms_apart"]) == (0, 0, 0)
    names = ["better_percent", "worse_percent", "same_percent", "p10", "median", "p90", "mean", "ci_low", "ci_high"]
    assert np.isnan([row[name] for name in names]).all()


@pytest.mark.parametrize(("sows_a_room", "known"), [(25, True), (24, False)])
def test_an_interval_needs_40_rooms_or_960_sows(sows_a_room, known):
    """In 39 rooms of 25 sows there are 975, in 39 of 24 there are 936."""
    rooms = np.repeat(np.arange(39), sows_a_room)
    measure = Output("x", "kg", "X", lambda rooms: rooms, "higher", 1, 0.5)
    found = of_differences(measure, 1.0 + rooms % 3, rooms).gains()
    assert found["ci_low"].notna().all() == known


def test_the_sows_that_differ_most_come_first():
    differences = [0.0, 1.0, -3.0, math.nan, 3.0, *([0.5] * 8)]
    found = of_differences(LOSS, differences, [0] * 13)
    most = found.most(LOSS.name)
    assert list(most["sow"]) == [3, 5, 2, *range(6, 13)]  # ten; of equal ones the first
    assert list(most[f"{LOSS.name}_difference"])[:3] == [-3.0, 3.0, 1.0]
    assert list(most.columns)[:6] == [*KEYS, "parity_class", "total_born"]
    assert len(found.most(LOSS.name, 99)) == 11  # not she who differs in nothing
    assert found.most(LOSS.name, 1).index.to_list() == [0]
    with pytest.raises(farrowtide.UserError, match=r"'weaned' was not measured \(measured: weight_loss_kg\)"):
        found.most("weaned")


def test_it_was_interrupted_where_replications_are_missing():
    assert of_differences(LOSS, [1.0], [0], wanted=3).interrupted
    assert not of_differences(LOSS, [1.0], [0], wanted=2).interrupted
