"""How many piglets to move in large litters: teats counted, and limits compared."""

from __future__ import annotations

from typing import Any

from farrowtide.engine.result import Result
from farrowtide.results.comparison import compare
from farrowtide.results.run import run
from farrowtide.scenarios.scenario import Scenario, load
from farrowtide.scenarios.shipped import example
from farrowtide.teaching.question import Expected, Question

QUESTIONS = (
    Question(
        "surplus_piglets",
        "piglets born alive beyond the functional teats of their own dam, in the whole room",
        "Count litter by litter: a litter that is too small makes up for nothing in another one.",
    ),
    Question(
        "free_teats",
        "functional teats without a piglet of the sow's own, in the whole room",
        "Count litter by litter: a litter that is too large leaves no teat free.",
    ),
    Question(
        "can_be_placed",
        "surplus piglets that find a free teat if at most 15 % of those born alive are moved",
        "Three numbers bind: the surplus, the free teats, and the limit. The least of them is asked.",
    ),
    Question(
        "limit_of_15_percent_binds",
        "does it change anything here whether at most 15 % or all piglets may be moved (True or False)",
        "Compare the two rows of each output with one another.",
    ),
    Question(
        "share_of_gain_kept_percent",
        "of the percentage points of mortality that moving without a limit saves, the share that a limit of 5 % keeps, in %",
        "Divide one difference from “nobody moved” by the other.",
        within=0.6,
    ),
    Question(
        "integrity_lost_points",
        "percentage points of litter integrity that moving without a limit costs",
        "Look at litter_integrity_percent of “no limit”.",
        within=0.06,
    ),
)


def expected() -> dict[str, Expected]:
    """The answers, from one room without moves and from 40 rooms under each limit."""
    scenario = load(example("fostering/how_far.yaml")).override({"herd.total_born_mean": 18.5})
    return _from_teats(run(scenario.alternative("nobody moved"), seed=3)) | _from_limits(_differences(scenario))


def _differences(scenario: Scenario) -> dict[Any, dict[Any, float]]:
    """Of each limit, the difference in each output."""
    limits = {"nobody moved": 0, "at most 5 %": 0.05, "at most 15 %": 0.15, "no limit": 1}
    alternatives = {name: {"fostering": {"kind": "fill_teats", "max_moved": most}} for name, most in limits.items()}
    outputs = ["preweaning_mortality_percent", "weaned_per_litter", "litter_integrity_percent"]
    compared = compare(scenario, alternatives, reference="nobody moved", replications=40, seed=3, outputs=outputs)
    return compared.differences.pivot(index="output", columns="alternative", values="difference").to_dict()


def _from_teats(room: Result) -> dict[str, Expected]:
    beyond = room.sows["born_alive"] - room.sows["functional_teats"]
    surplus, free = int(beyond.clip(lower=0).sum()), int((-beyond).clip(lower=0).sum())
    most_moved = int(0.15 * room.sows["born_alive"].sum())
    in_sum = "Surplus and free teats of different litters do not cancel out: count litter by litter."
    return {
        "surplus_piglets": Expected(surplus, slips={in_sum: surplus - free}),
        "free_teats": Expected(free, slips={in_sum: free - surplus}),
        "can_be_placed": Expected(
            min(surplus, free, most_moved),
            slips={"There are not enough free teats for so many.": min(surplus, most_moved)},
        ),
    }


def _from_limits(differences: dict[Any, dict[Any, float]]) -> dict[str, Expected]:
    unlimited, deaths = differences["no limit"], "preweaning_mortality_percent"
    kept_percent = 100 * differences["at most 5 %"][deaths] / unlimited[deaths]
    lost = -unlimited["litter_integrity_percent"]
    return {
        "limit_of_15_percent_binds": Expected(differences["at most 15 %"] != unlimited),
        "share_of_gain_kept_percent": Expected(
            kept_percent,
            slips={
                "A percentage is asked: multiply by 100.": kept_percent / 100,
                "This is what is lost, not kept.": 100 - kept_percent,
            },
        ),
        "integrity_lost_points": Expected(
            lost, slips={"The sign is the other way round: what is lost is asked.": -lost}
        ),
    }
