"""What a comparison comes down to."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pandas as pd
import pytest

import farrowtide
from farrowtide.analysis.choice import choose, costs, crowded_out
from farrowtide.analysis.comparison import headlines
from farrowtide.report.wording.verdict import verdict


@pytest.fixture(scope="module")
def january(comparison):
    return dict(verdict(comparison, "January"))


def test_the_best_is_the_alternative_with_the_best_mean_of_the_first_output(comparison, january):
    means = comparison.means
    intake = means[(means["case"] == "January") & (means["output"] == "feed_intake_kg_per_day")]
    best = intake.set_index("alternative")["mean"].idxmax()
    assert choose(comparison, "January").best == best
    assert january["Best"].startswith(f"“{best}”, by feed intake per sow: ")
    assert "against “2 hand feeds”" in january["Best"]


def test_what_an_alternative_does_besides_names_every_other_headline_once(comparison, january):
    labels = [output.label for output in headlines(comparison)[1:]]
    said = f"{january['Costs']} {january['Other outputs']}"
    assert all(said.count(label[0].lower() + label[1:]) == 1 for label in labels)


def test_rivals_are_compared_with_the_best_and_not_with_the_reference(comparison):
    choice = choose(comparison, "January")
    rivals = choice.rivals.set_index("alternative")["difference"]
    replicates = comparison.replicates[comparison.replicates["case"] == "January"]
    wide = replicates.pivot(index="replicate", columns="alternative", values=choice.output.name)
    for name in rivals.index:
        assert rivals[name] == pytest.approx((wide[name] - wide[choice.best]).mean())


def test_who_withholds_care_is_never_the_best(comparison):
    withholding = {choose(comparison, "January").best: ["sick sows are not treated"]}
    other = replace(comparison, provenance=comparison.provenance | {"withheld_care": withholding})
    assert choose(other, "January").best not in withholding


def test_few_rooms_give_no_verdict_but_say_how_many_would(small_room):
    few = farrowtide.compare(small_room, replications=2, seed=1)
    (best,) = verdict(few, "January")
    assert best[0] == "Best"
    assert best[1].startswith("not known yet: too few rooms to tell")
    assert "about" in best[1]


def test_nothing_is_crowded_out_of_the_reference_by_itself(comparison):
    assert (crowded_out(comparison, "January", comparison.reference)["more_percent"] == 0).all()


def test_what_is_crowded_out_is_late_or_undone_in_more_of_what_was_asked_for():
    """Two rooms with 20 and 10 times newborn care: under `new` (6 + 4) / 20 and (1 + 2) / 10, mean 40 %, and before
    (1 + 0) / 20 and (0 + 1) / 10, mean 7.5 %. Washing is less late than before.
    """
    rows = [
        ("old", 0, "newborn care", 20, 1, 0), ("old", 1, "newborn care", 10, 0, 1), ("old", 0, "wash", 4, 0, 2),
        ("new", 0, "newborn care", 20, 6, 4), ("new", 1, "newborn care", 10, 1, 2), ("new", 0, "wash", 4, 1, 0),
    ]  # fmt: skip
    counts = pd.DataFrame(rows, columns=["alternative", "replicate", "task", "asked", "late", "undone"])
    two = SimpleNamespace(task_counts=counts.assign(case="July"), litters_per_replication=10, reference="old")
    found = crowded_out(two, "July", "new")
    assert found.index.tolist() == ["newborn care", "wash"]
    assert found.to_numpy().tolist() == [pytest.approx([7.5, 40.0, 32.5]), pytest.approx([50.0, 25.0, -25.0])]


def test_a_study_that_names_its_outputs_is_answered_on_them(meals_file):
    scenario = farrowtide.load(meals_file).override({"room.crates": 6})
    asked = farrowtide.compare(scenario, replications=40, seed=3, outputs=["labour_min_per_litter"])
    assert choose(asked, "January").output.name == "labour_min_per_litter"
    assert dict(verdict(asked, "January"))["Best"].startswith("“full access”, by labour per litter: ")


def test_chance_is_ruled_out_only_where_the_best_itself_differs_clearly(comparison):
    choice = choose(comparison, "January")
    differences = comparison.differences.copy()
    of_best = (differences["alternative"] == choice.best) & (differences["output"] == choice.output.name)
    differences.loc[of_best, "verdict"] = "too few rooms to tell"
    unsure = replace(comparison, differences=differences)
    assert "How sure" in dict(verdict(comparison, "January"))
    assert "How sure" not in dict(verdict(unsure, "January"))


def test_a_better_alternative_that_withholds_care_is_named_as_such(comparison):
    withholding = choose(comparison, "January").best
    other = replace(comparison, provenance=comparison.provenance | {"withheld_care": {withholding: ["no care"]}})
    best = dict(verdict(other, "January"))["Best"]
    assert f"Ahead of it, but for comparison only: “{withholding}”" in best
    assert "All others are clearly behind" not in best


def test_an_unknown_case_is_an_error(comparison):
    with pytest.raises(farrowtide.UserError, match="no case is called 'Jan'"):
        comparison.verdict("Jan")


def test_slack_has_its_interval(comparison):
    means = comparison.means
    chosen = (
        (means["case"] == "January")
        & (means["output"] == "staff_utilisation_percent")
        & (means["alternative"] == choose(comparison, "January").best)
    )
    row = means[chosen].iloc[0]
    slack = dict(verdict(comparison, "January"))["Staff time used"]
    assert slack.startswith(f"{row['mean']:.1f} % ({row['ci_low']:.1f} to {row['ci_high']:.1f}) of the paid time")


def test_the_verdict_says_what_the_best_costs(comparison, january):
    table = comparison.differences[comparison.differences["alternative"] == choose(comparison, "January").best]
    of_best = table[table["case"] == "January"].set_index("output")
    labour, duty = of_best.loc["labour_min_per_litter"], of_best.loc["duty_hours_per_litter"]
    assert f"labour per litter {labour['mean_alternative']:.1f} min, " in january["Costs"]
    assert duty["n_differing"] == 0
    same = "the same under “2 hand feeds” in every room"
    assert f"paid hours on duty per litter {duty['mean_alternative']:.2f} h, {same}" in january["Costs"].replace(
        " as ", " "
    )


def test_costs_do_not_depend_on_what_was_asked_for(small_room, comparison):
    asked = farrowtide.compare(small_room, replications=40, seed=3, outputs=["feed_intake_kg_per_day"])
    for found, known in zip(costs(asked, "July", "full access"), costs(comparison, "July", "full access"), strict=True):
        assert (found.output.name, found.mean) == (known.output.name, known.mean)
        assert found.difference["difference"] == known.difference["difference"]
    assert all(cost.difference is None for cost in costs(comparison, "July", comparison.reference))


def test_with_prices_the_verdict_says_what_the_best_may_cost():
    root = Path(__file__).parents[2]
    priced = farrowtide.load(root / "scenarios/feeding/what_full_access_may_cost.yaml").override({"room.crates": 6})
    found = farrowtide.compare(priced, replications=40)
    assert choose(found, found.cases[0]).best == "full access"
    assert "margin per crate and year" in found.verdict()["Costs"]
    assert "It pays while its change costs less than" in found.verdict()["Costs"]
