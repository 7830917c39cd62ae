"""What each practice of a programme is worth: added alone to the scenario as written, and within the full programme."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from farrowtide.analysis.differences import differences
from farrowtide.errors import PlausibilityWarning, unknown_name
from farrowtide.outputs.output import Output
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study.grid import AS_WRITTEN
from farrowtide.study.programme import FULL, added, left_out

ALONE, WITHIN = "alone", "in the programme"
ALL = "all together"


@dataclass(frozen=True)
class PartsTables:
    """What `parts` found, as tidy data frames.

    worth       one row per case, output, practice and `place`: what the practice is worth "alone" (the scenario as
                written with it, minus as written) or "in the programme" (the full programme minus the full programme
                without it), on the same animals; with the practice "all together", the full programme minus as written.
                Intervals, `p_holm` and verdicts as in `Comparison.differences`, adjusted for each place apart.
                `mean_with`, `mean_without`: the two means. `grade`: evidence behind the practice (see `grades`).
    replicates  one row per case, arm ("alternative") and replicate: every declared output.
    grades      practice -> A (published), B (derived or fitted) or C (common practice or assumption): the weakest of what
                its direction rests on; "" where it changes no policy.
    keys        practice -> the keys that it changes.
    """

    scenario: Scenario
    practices: list[str]
    cases: list[str]
    outputs: list[Output]
    seed: int
    wanted_replications: int
    replications: int
    litters_per_replication: int
    interrupted: bool
    worth: pd.DataFrame
    replicates: pd.DataFrame
    keys: dict[str, list[str]]
    grades: dict[str, str]
    provenance: dict[str, Any]
    warnings: list[PlausibilityWarning] = field(default_factory=list)  # what to know before trusting a number
    set_aside: list[dict[str, Any]] = field(default_factory=list)  # rooms that broke off

    @property
    def shown(self) -> list[Output]:
        """The outputs of the table and the picture; the first one ranks the practices."""
        return [output for output in self.outputs if output.group == "headline"]

    def ranked(self, case: str | None = None) -> list[str]:
        """The practices in a case (None: the first), from the best for the first output when added alone.

        Where neither direction of the output is better: from the largest rise.
        """
        case = self.cases[0] if case is None else case
        if case not in self.cases:
            raise unknown_name("case", case, filter(None, self.cases))
        aim = self.shown[0]
        rows = self.worth[(self.worth["case"] == case) & (self.worth["output"] == aim.name)]
        alone = rows[rows["place"] == ALONE].set_index("practice")["difference"].loc[self.practices]
        return list(alone.sort_values(ascending=aim.good == "lower", kind="stable", na_position="last").index)

    def row(self, case: str, practice: str, place: str, output: Output) -> Any:
        """A row of `worth`, its columns as attributes."""
        rows = self.worth
        found = rows[
            (rows["case"] == case)
            & (rows["practice"] == practice)
            & (rows["place"] == place)
            & (rows["output"] == output.name)
        ]
        return next(found.itertuples())


def worth(
    replicates: pd.DataFrame,
    practices: Sequence[str],
    outputs: Sequence[Output],
    *,
    animals: float = math.inf,
    unit: str = "room",
) -> pd.DataFrame:
    """The table `worth` of PartsTables, without grades, from the replicates of all arms."""
    arms = {
        ALONE: {FULL: ALL} | {added(practice): practice for practice in practices},
        WITHIN: {left_out(practice): practice for practice in practices},
    }
    tables = []
    for place, practice_of in arms.items():
        reference = AS_WRITTEN if place == ALONE else FULL
        rooms = replicates[replicates["alternative"].isin([reference, *practice_of])]
        table = differences(rooms, outputs, reference, animals=animals, unit=unit, turned=place == WITHIN)
        sides = ["mean_with", "mean_without"] if place == ALONE else ["mean_without", "mean_with"]
        table = table.rename(columns=dict(zip(["mean_alternative", "mean_reference"], sides, strict=True)))
        table["practice"] = table["alternative"].map(practice_of)
        tables.append(table.assign(place=place))
    whole = pd.concat(tables, ignore_index=True)
    first = ["case", "output", "unit", "practice", "place", "mean_with", "mean_without"]
    left = [name for name in whole if name not in (*first, "alternative", "reference")]
    return _in_order(whole[[*first, *left]], practices, outputs)


def _in_order(table: pd.DataFrame, practices: Sequence[str], outputs: Sequence[Output]) -> pd.DataFrame:
    """By case, output, practice and place, each in the order of the file."""
    orders = {
        "case": list(table["case"].unique()),
        "output": [output.name for output in outputs],
        "practice": [*practices, ALL],
        "place": [ALONE, WITHIN],
    }
    ranks = {column: {name: i for i, name in enumerate(names)} for column, names in orders.items()}
    return table.sort_values(
        list(orders), key=lambda column: column.map(ranks[str(column.name)]), kind="stable", ignore_index=True
    )
