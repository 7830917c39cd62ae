"""The tables of a comparison and of a programme taken apart, from a few rooms that are written down here."""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

import farrowtide
from farrowtide.analysis import comparison as tables
from farrowtide.analysis.differences import differences, mean_interval, mean_reasons, means, tops
from farrowtide.analysis.parts import ALL, ALONE, WITHIN, PartsTables, worth
from farrowtide.outputs.catalogue import catalogue
from farrowtide.statistics.moments import Moments
from farrowtide.study.programme import FULL, added, left_out

INTAKE, LOSS, MORTALITY = (
    catalogue()[name] for name in ("feed_intake_kg_per_day", "weight_loss_kg", "preweaning_mortality_percent")
)
SPREAD = np.array([-3.0, -2.0, -1.0, 1.0, 2.0, 3.0])


def rooms(alternative, case="c", **values):
    count = max(np.size(series) for series in values.values())
    return pd.DataFrame({"case": case, "alternative": alternative, "replicate": range(count)} | values)


# --- Means ---


def test_means_stand_by_case_alternative_and_output():
    """Six rooms of 20 sows are the 120 that an interval needs."""
    parts = [
        rooms("b", "d", feed_intake_kg_per_day=6 + SPREAD / 10, preweaning_mortality_percent=50 + SPREAD),
        rooms("a", "d", feed_intake_kg_per_day=5 + SPREAD / 10, preweaning_mortality_percent=[0, 0, 0, 0, 20, 10]),
    ]
    table = means(pd.concat(parts), [MORTALITY, INTAKE], animals=20)
    assert list(table.columns) == [
        "case",
        "alternative",
        "output",
        "unit",
        "mean",
        "sd",
        "ci_low",
        "ci_high",
        "n",
        "reason",
    ]
    assert list(zip(table["alternative"], table["output"], table["unit"], strict=True)) == [
        ("b", MORTALITY.name, "%"), ("b", INTAKE.name, "kg/d"), ("a", MORTALITY.name, "%"), ("a", INTAKE.name, "kg/d"),
    ]  # fmt: skip
    intake = table.iloc[1]
    assert (intake["mean"], intake["n"], intake["reason"]) == (pytest.approx(6), 6, "")
    assert intake["sd"] == pytest.approx(np.std(SPREAD / 10, ddof=1))
    expected = stats.t.interval(0.95, 5, loc=6, scale=stats.sem(SPREAD / 10))
    assert (intake["ci_low"], intake["ci_high"]) == pytest.approx(expected)
    few = table.iloc[2]
    assert (few["mean"], few["reason"]) == (5, "2 of 6 rooms differ from 0 and 100 %")
    assert np.isnan(few["ci_low"])
    fewer_sows = means(pd.concat(parts), [MORTALITY, INTAKE], animals=19)
    assert set(fewer_sows["reason"]) == {"an interval needs 7 rooms", "2 of 6 rooms differ from 0 and 100 %"}
    assert fewer_sows["ci_low"].isna().all()


def test_only_shares_have_a_whole():
    assert tops([INTAKE, MORTALITY]).tolist() == [math.inf, 100.0]


def test_intervals_of_shares_stay_within_0_and_100_and_others_may_leave_them():
    values = np.array([[0.5, 0.5], [1, 1], [0.2, 0.2], [12, 12], [0.1, 0.1], [0.3, 0.3]])
    moments = Moments.of(values, top=tops([MORTALITY, LOSS]))
    low, high = mean_interval(moments, [MORTALITY, LOSS], animals=20)
    assert low[0] > 0 > low[1]
    assert high[0] > 2.35
    above, _ = mean_interval(moments, [MORTALITY, LOSS], 0.5, animals=20)
    assert above[1] > low[1]


@pytest.mark.parametrize(
    ("values", "needs", "reason"),
    [
        ([math.nan, math.nan], 0, "no room has a value"),
        ([5.0, math.nan], 0, "one room gives no interval"),
        ([5.0, 0.0], 0, "1 of 2 rooms differ from 0"),
        ([5.0, 4.0], 0, ""),
        ([5.0, 4.0, 3.0, 2.0, 0.0, 0.0], 0, "4 of 6 rooms differ from 0"),
        ([5.0, 4.0, 3.0, 2.0, 1.0, 0.0], 0, ""),
        ([5.0, 5.0, 5.0], 0, "equal in every room"),
        ([5.0, 4.0, 3.0], 4, "an interval needs 4 rooms"),
        ([5.0, 4.0, 3.0], 3, ""),
    ],
)
def test_the_reason_why_a_mean_has_no_interval(values, needs, reason):
    moments = Moments.of(np.array(values)[:, np.newaxis])
    assert mean_reasons(moments, math.inf, needs=np.array([needs])).tolist() == [reason]


# --- Differences ---


def compared(**options):
    """The alternative has no value in room 0 and the reference none in room 1."""
    base = np.array([5.0, math.nan, 5.0, 6.0, 7.0, 8.0, 5.0, 9.0])
    other = base + 2 + np.array([0, 0, *SPREAD]) / 10
    other[0], other[1] = math.nan, 100.0
    parts = [rooms("r", feed_intake_kg_per_day=base), rooms("a", feed_intake_kg_per_day=other)]
    return differences(pd.concat(parts), [INTAKE], "r", **{"animals": 160} | options).iloc[0]


def test_means_and_difference_are_those_of_rooms_in_which_both_have_a_value():
    row = compared()
    assert (row["alternative"], row["reference"], row["n"], row["n_differing"]) == ("a", "r", 6, 6)
    assert row["mean_reference"] == pytest.approx(40 / 6)
    assert row["mean_alternative"] == pytest.approx(40 / 6 + 2)
    assert row["difference"] == pytest.approx(2)
    assert (row["ci_low"], row["ci_high"]) == pytest.approx(
        stats.t.interval(0.95, 5, loc=2, scale=stats.sem(SPREAD / 10))
    )
    assert row["p_holm"] == pytest.approx(stats.ttest_1samp(2 + SPREAD / 10, 0).pvalue)
    assert row["verdict"] == "higher (better)"


def test_differences_stand_by_case_output_and_alternative():
    parts = [
        rooms(name, case, feed_intake_kg_per_day=5 + SPREAD, weight_loss_kg=SPREAD)
        for case in "dc"
        for name in ("z", "r", "a")
    ]
    table = differences(pd.concat(parts), [LOSS, INTAKE], "r")
    order = [(case, output.name, name) for case in "dc" for output in (LOSS, INTAKE) for name in ("z", "a")]
    columns = ["case", "output", "alternative"]
    assert list(table[columns].itertuples(name=None)) == [(i, *labels) for i, labels in enumerate(order)]
    assert list(table["unit"].unique()) == ["kg", "kg/d"]


def test_a_difference_may_be_turned():
    row = compared(turned=True)
    assert row["difference"] == pytest.approx(-2)
    assert (row["mean_reference"], row["mean_alternative"]) == (pytest.approx(40 / 6), pytest.approx(40 / 6 + 2))
    assert row["verdict"] == "lower (worse)"


def test_a_difference_needs_rooms_or_farms_enough():
    row = compared(animals=159, unit="farm")
    assert np.isnan(row["ci_low"])
    assert row["reason"] == "an interval needs 7 farms"


@pytest.mark.parametrize(
    ("same", "verdict"),
    [([1.0, 2.0], "identical in every room"), ([1.0, 3.0], "not known"), ([1.0], "too few rooms to tell")],
)
def test_rooms_are_identical_where_all_columns_are_in_two_rooms_or_more(same, verdict):
    """`other` is no output that is asked for."""
    other = [1.0, 2.0][: len(same)]
    parts = [
        rooms("r", feed_intake_kg_per_day=5.0, other=np.array(other)),
        rooms("a", feed_intake_kg_per_day=5.0, other=np.array(same)),
    ]
    row = differences(pd.concat(parts), [INTAKE], "r").iloc[0]
    assert row["verdict"] == verdict


# --- A comparison ---


def test_rows_are_in_the_order_of_the_file_and_by_replicate():
    frame = pd.DataFrame(
        [("c", "b", 1), ("d", "a", 0), ("c", "a", 1), ("c", "b", 0), ("d", "b", 0)],
        columns=["case", "alternative", "replicate"],
        index=[7, 8, 9, 3, 4],
    )
    ordered = tables.in_order(frame, {"case": ["d", "c"], "alternative": ["b", "a"]})
    assert list(ordered.itertuples(name=None)) == [
        (0, "d", "b", 0), (1, "d", "a", 0), (2, "c", "b", 0), (3, "c", "b", 1), (4, "c", "a", 1),
    ]  # fmt: skip


def test_outputs_are_sorted_into_headlines_groups_and_first_days():
    first_day = catalogue()["stillborn_percent"]
    other = replace(INTAKE, name="x", group="work by task")
    found = SimpleNamespace(outputs=[other, INTAKE, first_day, LOSS], alternatives=["b", "r", "a"], reference="r")
    assert tables.headlines(found) == [INTAKE, LOSS]
    assert tables.further(found) == {"work by task": [other], first_day.group: [first_day]}
    assert tables.first_days(found) == [first_day]
    assert tables.others(found) == ["b", "a"]


@pytest.mark.parametrize(
    ("rows", "differs"),
    [
        ([("c", "r", 1.0), ("c", "a", 1.0)], False),
        ([("c", "r", 1.0), ("c", "a", 2.0)], True),
        ([("c", "r", 1.0)], True),
        ([("c", "a", 1.0)], True),
        ([("d", "r", 1.0), ("d", "a", 1.0)], False),
        ([("c", "r", 1.0), ("c", "a", 1.0), ("d", "r", 1.0), ("d", "a", 2.0)], True),  # in the second case only
        ([], False),
    ],
)
def test_a_table_differs_where_some_rows_of_it_are_others(rows, differs):
    frame = pd.DataFrame(rows, columns=["case", "alternative", "kg"])
    found = SimpleNamespace(cases=["c", "d"], alternatives=["r", "a"], reference="r", room_days=frame)
    assert tables.differ(found, "room_days") is differs


def test_a_headline_differs_where_one_is_other_in_its_case():
    other = replace(INTAKE, name="x", group="work by task")
    rows = [("c", INTAKE.name, 0.0), ("c", "x", 1.0), ("d", INTAKE.name, -1.0), ("d", LOSS.name, 0.0), ("d", "x", 0.0)]
    table = pd.DataFrame(rows, columns=["case", "output", "difference"])
    found = SimpleNamespace(outputs=[INTAKE, LOSS, other], differences=table)
    assert [tables.any_headline_differs(found, case) for case in "cd"] == [False, True]


def comparison_of(replicates, outputs):
    fields = dict.fromkeys(tables.ComparisonTables.__dataclass_fields__)
    known = {"scenario": SimpleNamespace(prices=None), "reference": "r", "outputs": outputs, "replicates": replicates}
    return tables.ComparisonTables(**fields | known | {"litters_per_replication": 160})


def test_the_worst_decile_is_of_the_headlines_or_of_what_is_named():
    values = {output.name: np.arange(20.0) for output in (INTAKE, LOSS)}
    found = comparison_of(rows := rooms("r", **values), [INTAKE, replace(LOSS, group="further")])
    assert list(found.worst_decile()["output"]) == [INTAKE.name]
    named = found.worst_decile([LOSS.name])
    assert list(named["output"]) == [LOSS.name]
    assert named["quantile"].item() == pytest.approx(np.quantile(rows[LOSS.name], 0.9, method="median_unbiased"))


def test_margins_are_those_of_the_sows_in_a_room():
    """Six rooms of 160 sows are enough, five are not."""
    for count, shown in ((6, True), (5, False)):
        base = np.arange(count) + 5.0
        parts = [
            rooms("r", feed_intake_kg_per_day=base),
            rooms("a", feed_intake_kg_per_day=base + SPREAD[:count] / 100),
        ]
        found = comparison_of(pd.concat(parts), [INTAKE])
        assert found.no_worse_than({"intake": 0.5})["verdict"].item() == ("no worse" if shown else "not shown")
        assert found.equivalent({"intake": 0.5})["verdict"].item() == ("equivalent" if shown else "not shown")


# --- A programme taken apart ---


def arms():
    """Practice `late` gains 1 kg alone and 3 in the programme, `early` 2 and 1; all together they gain 4. The rooms of case
    d are those of c with a gain that is 10 larger.
    """
    gains = {
        "as written": 0, added("late"): 1, added("early"): 2, FULL: 4, left_out("late"): 1, left_out("early"): 3,
    }  # fmt: skip
    parts = [
        rooms(
            name,
            case,
            feed_intake_kg_per_day=5.0 + gain + more * (name != "as written"),
            weight_loss_kg=np.array([1.0, 2.0]),
        )
        for case, more in (("d", 10), ("c", 0))
        for name, gain in gains.items()
    ]
    return pd.concat(parts, ignore_index=True)


def test_a_practice_is_worth_what_it_adds_alone_and_what_is_lost_without_it():
    table = worth(arms(), ["late", "early"], [INTAKE, LOSS])
    assert list(table.columns)[:7] == ["case", "output", "unit", "practice", "place", "mean_with", "mean_without"]
    assert not {"alternative", "reference"} & set(table)
    order = [
        (case, output.name, practice, place)
        for case in ("d", "c")
        for output in (INTAKE, LOSS)
        for practice, place in (("late", ALONE), ("late", WITHIN), ("early", ALONE), ("early", WITHIN), (ALL, ALONE))
    ]
    assert list(table[["case", "output", "practice", "place"]].itertuples(index=False, name=None)) == order
    assert list(table.index) == list(range(20))
    shown = table[(table["case"] == "c") & (table["output"] == INTAKE.name)]
    assert list(shown["difference"]) == [1, 3, 2, 1, 4]
    assert list(shown["mean_with"]) == [6, 9, 7, 9, 9]
    assert list(shown["mean_without"]) == [5, 6, 5, 8, 5]


def parts_of(outputs, table=None):
    fields = dict.fromkeys(PartsTables.__dataclass_fields__)
    known = {"practices": ["late", "early", "third"], "cases": ["d", "c"], "outputs": outputs, "worth": table}
    return PartsTables(**fields | known)


def worths(output, **by_case):
    rows = [
        {"case": case, "output": name, "practice": practice, "place": place, "difference": sign * value}
        for case, values in by_case.items()
        for name, place, sign in ((output.name, ALONE, 1), (output.name, WITHIN, -1), ("other", ALONE, -1))
        for practice, value in zip(("early", "third", "late"), values, strict=True)
    ]
    return pd.DataFrame(rows)


@pytest.mark.parametrize(
    ("good", "order"),
    [("higher", ["early", "late", "third"]), ("lower", ["late", "early", "third"]), (None, ["early", "late", "third"])],
)
def test_practices_are_ranked_from_the_best_when_added_alone(good, order):
    """Those of which nothing is known are last; of equal ones the first of the file is first."""
    output = replace(INTAKE, good=good)
    further = replace(LOSS, group="further")
    found = parts_of([further, output], worths(output, d=(2.0, math.nan, 1.0), c=(1.0, 1.0, 1.0)))
    assert found.shown == [output]
    assert found.ranked() == found.ranked("d") == order
    assert found.ranked("c") == ["late", "early", "third"]
    with pytest.raises(farrowtide.UserError, match="no case is called 'x'"):
        found.ranked("x")


def test_a_row_is_found_by_case_practice_place_and_output():
    found = parts_of([INTAKE], worths(INTAKE, d=(1.0, 2.0, 3.0), c=(4.0, 5.0, 6.0)))
    assert found.row("c", "third", ALONE, INTAKE).difference == 5
    assert found.row("d", "late", WITHIN, INTAKE).difference == -3
