"""How many hand feeds a day, or full access: reading a comparison."""

from __future__ import annotations

from typing import Any

from farrowtide.results.comparison import compare
from farrowtide.scenarios.scenario import Scenario, load
from farrowtide.scenarios.shipped import example
from farrowtide.teaching.question import Expected, Question

QUESTIONS = (
    Question(
        "more_intake_kg_per_day_with_full_access",
        "kg a day that a sow eats more with full access than with two hand feeds, in January",
        "Look at feed_intake_kg_per_day of full access in January, at the difference and not at a mean.",
        within=0.006,
    ),
    Question(
        "third_feed_changes_intake",
        "does a third hand feed change the intake in January by so much that it matters (True or False)",
        "Look at the verdict, not at the sign of the difference.",
    ),
    Question(
        "third_feed_changes_intake_with_small_troughs",
        "the same with small troughs (True or False)",
        "Look at the same row in the case of small troughs. How much of a portion fits into the trough?",
    ),
    Question(
        "labour_saved_min_per_litter_with_full_access",
        "minutes of labour for each litter that full access saves in January",
        "Look at labour_min_per_litter of full access in January.",
        within=0.06,
    ),
    Question(
        "width_kg_of_interval_of_weight_loss",
        "kg from end to end of the confidence interval of the difference in weight loss, full access in January",
        "The ends of the interval are in the columns ci_low and ci_high.",
        within=0.006,
    ),
    Question(
        "rooms_for_half_that_width",
        "about how many rooms it takes to make that interval half as wide",
        "A standard error falls with the square root of the number of rooms.",
        within=10,
    ),
)
_ROOMS = 40
_OUTPUTS = ("feed_intake_kg_per_day", "weight_loss_kg", "labour_min_per_litter")


def expected() -> dict[str, Expected]:
    """The answers, from the differences in two cases."""
    scenario = load(example("feeding/meals_a_day.yaml")).override({"room.crates": 12})
    january, small = (_differences(scenario.case(case)) for case in ("January", "small trough"))
    more_kg = float(january["feed_intake_kg_per_day", "full access"]["difference"])
    saved_min = -float(january["labour_min_per_litter", "full access"]["difference"])
    loss = january["weight_loss_kg", "full access"]
    width_kg = float(loss["ci_high"] - loss["ci_low"])
    return {
        "more_intake_kg_per_day_with_full_access": Expected(
            more_kg, slips={"The sign is the other way round: how much more is asked.": -more_kg}
        ),
        "third_feed_changes_intake": Expected(_matters(january)),
        "third_feed_changes_intake_with_small_troughs": Expected(_matters(small)),
        "labour_saved_min_per_litter_with_full_access": Expected(
            saved_min, slips={"The sign is the other way round: what is saved is asked.": -saved_min}
        ),
        "width_kg_of_interval_of_weight_loss": Expected(
            width_kg, slips={"This is half of it; the whole width is asked.": width_kg / 2}
        ),
        "rooms_for_half_that_width": Expected(
            4 * _ROOMS, slips={"The width falls with the square root of the number of rooms.": 2 * _ROOMS}
        ),
    }


def _differences(scenario: Scenario) -> dict[Any, dict[Any, Any]]:
    """Of each output and alternative, the row of the difference from two hand feeds."""
    differences = compare(scenario, replications=_ROOMS, seed=3, outputs=_OUTPUTS).differences
    return differences.set_index(["output", "alternative"]).to_dict("index")


def _matters(differences: dict[Any, dict[Any, Any]]) -> bool:
    verdict = differences["feed_intake_kg_per_day", "3 hand feeds"]["verdict"]
    return str(verdict).startswith(("higher", "lower"))
