"""The choice between alternatives and what it costs, on tables of six rooms made by hand."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from farrowtide.analysis.choice import asked, choose, costs, crowded_out
from farrowtide.analysis.differences import differences, means
from farrowtide.outputs.catalogue import feed, money, work
from farrowtide.outputs.output import Output

WEIGHT = Output("weight", "kg", "Weight", lambda rooms: None, "higher", 1, negligible=0.5)
WORK = Output("work", "min", "Work", lambda rooms: None, "lower", 0, negligible=1.0)
CLIMATE = Output("climate", "degC", "Climate", lambda rooms: None, None, 1)
FURTHER = Output("further", "kg", "Further", lambda rooms: None, "higher", 1, group="further")
SPREAD = np.array([-1.5, 1.0, -1.0, 1.5, 0.5, -0.5]) / 5


def study(outputs, withheld=(), **cases):
    """case -> alternative -> mean of each output, or its values by room."""
    frames = []
    for case, alternatives in cases.items():
        for place, (name, values) in enumerate(alternatives.items()):
            spread = np.roll(SPREAD, place)
            columns = {output.name: at + spread for output, at in zip(outputs, np.atleast_1d(values), strict=True)}
            frames.append(pd.DataFrame(columns).assign(case=case, alternative=name, replicate=range(6)))
    replicates = pd.concat(frames, ignore_index=True)
    names = list(replicates["alternative"].unique())
    return SimpleNamespace(
        cases=list(cases), alternatives=names, reference=names[0], outputs=list(outputs), replicates=replicates,
        means=means(replicates, outputs), differences=differences(replicates, outputs, names[0]),
        litters_per_replication=1000, scenario=SimpleNamespace(unit_of_replication="room"),
        provenance={"withheld_care": {name: ["no care"] for name in withheld}},
    )  # fmt: skip


def test_the_first_output_in_which_any_differs_clearly_decides():
    found = choose(study([WEIGHT, WORK], July={"old": (50, 90), "a": (50.1, 70), "b": (50, 80)}), "July")
    assert (found.case, found.output, found.best) == ("July", WORK, "a")
    rivals = found.rivals.set_index("alternative")
    assert rivals["difference"].to_dict() == {"old": pytest.approx(20), "b": pytest.approx(10)}
    assert set(rivals["reference"]) == {"a"}
    assert found.level == []


def test_those_that_are_not_clearly_apart_from_the_best_are_level_with_it():
    found = choose(study([WEIGHT], July={"old": 50, "a": 60, "b": 60.05, "c": 55}), "July")
    assert (found.best, found.level) == ("b", ["a"])


def test_neither_a_direction_that_depends_nor_an_output_besides_the_headlines_decides():
    outputs = [CLIMATE, FURTHER, WEIGHT]
    comparison = study(outputs, July={"old": (20, 50, 10), "a": (30, 60, 10)})
    assert asked(comparison) == [WEIGHT]
    assert choose(comparison, "July") is None


def test_each_case_is_a_choice_of_its_own():
    comparison = study([WEIGHT], July={"old": 50, "a": 60}, May={"old": 50, "a": 50}, June={"old": 50, "a": 40})
    assert choose(comparison, "July").best == "a"
    assert choose(comparison, "May") is None
    assert choose(comparison, "June").best == "old"


@pytest.mark.parametrize(("output", "best"), [(WEIGHT, "b"), (WORK, "old")])
def test_of_equal_ones_the_first_of_the_file_is_the_best(output, best):
    means = {"old": 10, "b": 20, "c": 20, "d": 10}
    assert choose(study([output], July=means), "July").best == best


def test_who_withholds_care_or_has_no_value_is_passed_over():
    means = {"old": (50, 9), "a": (60, 9), "b": (np.nan, 9), "c": (55, 9)}
    assert choose(study([WEIGHT, WORK], ["a"], July=means), "July").best == "c"
    assert choose(study([WEIGHT, WORK], ["old", "a", "c"], July=means), "July") is None  # and in work all are alike
    other = {name: (weight, 9 if name == "old" else 5) for name, (weight, _) in means.items()}
    found = choose(study([WEIGHT, WORK], ["old", "a", "c"], July=other), "July")
    assert (found.output, found.best) == (WORK, "b")


def test_costs_are_those_of_work_duty_and_feed_and_with_prices_the_margin():
    measured = [work.LABOUR, money.DUTY, feed.OFFERED, money.PER_CRATE]
    comparison = study(
        [WEIGHT, *measured],
        July={"old": (50, 90, 4, 100, 700), "a": (60, 80, 4, 110, 750)},
        May={"old": [1] * 5, "a": [2] * 5},
    )
    asked_for_all = costs(comparison, "July", "a")
    assert [cost.output for cost in asked_for_all] == measured
    assert [cost.mean for cost in asked_for_all] == pytest.approx([80, 4, 110, 750])
    assert [cost.difference["difference"] for cost in asked_for_all] == pytest.approx([-10, 0, 10, 50], abs=1e-9)
    few = SimpleNamespace(**vars(comparison) | {"outputs": [WEIGHT, work.LABOUR]})
    for table in ("means", "differences"):
        rows = getattr(comparison, table)
        setattr(few, table, rows[rows["output"].isin(["weight", work.LABOUR.name])])
    asked_for_one = costs(few, "July", "a")
    assert [cost.output for cost in asked_for_one] == measured[:3]
    for one, known in zip(asked_for_one, asked_for_all, strict=False):
        assert one.mean == known.mean
        assert one.difference["difference"] == known.difference["difference"]
    of_reference = costs(few, "July", "old")
    assert [cost.mean for cost in of_reference] == pytest.approx([90, 4, 100])
    assert [cost.difference for cost in of_reference] == [None] * 3


def test_an_output_that_was_not_measured_is_no_cost():
    comparison = study([WEIGHT, work.LABOUR], July={"old": (50, 90), "a": (60, 80)})
    assert [cost.output for cost in costs(comparison, "July", "a")] == [work.LABOUR]


def test_what_is_most_crowded_out_comes_first_and_a_task_that_only_one_has_counts_as_done_by_the_other():
    rows = [
        ("July", "old", "wash", 10, 0, 0), ("July", "old", "feed", 10, 5, 0),
        ("July", "new", "wash", 10, 1, 1), ("July", "new", "feed", 10, 5, 1), ("July", "new", "foster", 10, 2, 3),
        ("May", "new", "wash", 10, 10, 0),
    ]  # fmt: skip
    counts = pd.DataFrame(rows, columns=["case", "alternative", "task", "asked", "late", "undone"]).assign(replicate=0)
    comparison = SimpleNamespace(task_counts=counts, litters_per_replication=10, reference="old")
    found = crowded_out(comparison, "July", "new")
    assert found.index.tolist() == ["foster", "wash", "feed"]
    assert found["reference_percent"].tolist() == pytest.approx([0, 0, 50])
    assert found["alternative_percent"].tolist() == pytest.approx([50, 20, 60])
    assert found["more_percent"].tolist() == pytest.approx([50, 20, 10])
