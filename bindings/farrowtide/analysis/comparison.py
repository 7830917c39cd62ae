"""A comparison as tables: the replicates of its alternatives, their means and their differences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from farrowtide.analysis import margins as within_margins
from farrowtide.analysis import quantiles
from farrowtide.analysis.break_even import COLUMNS as BREAK_EVEN
from farrowtide.errors import PlausibilityWarning
from farrowtide.outputs.catalogue import FIRST_DAYS, catalogue, chosen
from farrowtide.outputs.output import Output
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study.stopping import Reached


@dataclass(frozen=True)
class ComparisonTables:
    """What `compare` found, as tidy data frames.

    differences  one row per case, output and alternative: the alternative minus the reference, paired by replicate.
                 `ci_low`, `ci_high`: 95 % interval of this difference alone, NaN where too few rooms differ for one
                 (see `farrowtide.statistics.inference`); `p_holm`: adjusted for all outputs of its group (headlines,
                 further, intake by parity, work by task) and all alternatives of its case. `verdict`: "higher" or
                 "lower", with "(better)" or "(worse)" where the output declares it, where `p_holm` is below 0.05 and the
                 difference is what the output declares as `negligible` (our own choice) or more; "too small to matter"
                 where the interval lies within that; "too few rooms to tell whether it matters" where
                 `p_holm` is below 0.05, but neither holds (`reason` is the direction); "not known" where all pairs are equal; "identical in every room"
                 where all outputs are; otherwise "too few rooms to tell". `rooms_needed`: about how many rooms would
                 tell if spread and difference stayed as they are; NaN where that does not apply or cannot be said.
                 `reason`: what the interval does not show, in words; "" where there is nothing to add.
                 `n` pairs of rooms, of which `n_differing` differ by more than what Output.tiny_among says.
    means        one row per case, alternative and output: mean over rooms, standard deviation between rooms, interval
                 (NaN where too few rooms give one).
    replicates   one row per case, alternative and replicate: every declared output.
    intake_days  one row per case, alternative, replicate, parity class and day: feed eaten [kg] per sow, sows.
    farrowings   one row per case, alternative and sow: duration [min].
    task_counts  one row per case, alternative, replicate and task: times asked, done late, left undone.
    staff_hours  one row per case, alternative, replicate and hour of the day: minutes worked and on duty.
    room_days    one row per case, alternative, replicate and day from the mean due date of the group: the room's temperature
                 wanted and reached [degC, mean of the day]; none where the climate is imposed.
    break_even   what each alternative may cost, and at which prices its margin and that of the reference are equal: see
                 `farrowtide.selecting.break_even`. Empty where the scenario has no prices.
    """

    scenario: Scenario
    reference: str
    cases: list[str]
    alternatives: list[str]
    outputs: list[Output]
    seed: int
    wanted_replications: int
    replications: int
    litters_per_replication: int  # the sows whose mean a replicate is, in the arm that has fewest
    interrupted: bool  # stopped before it was done
    precision: Reached | None  # what was reached, where a precision was required
    differences: pd.DataFrame
    means: pd.DataFrame
    replicates: pd.DataFrame
    intake_days: pd.DataFrame
    farrowings: pd.DataFrame
    task_counts: pd.DataFrame
    staff_hours: pd.DataFrame
    room_days: pd.DataFrame
    policies: dict[str, dict[str, str]]  # alternative -> family -> what its policy does, in the first case
    provenance: dict[str, Any]
    warnings: list[PlausibilityWarning] = field(default_factory=list)  # what to know before trusting a number
    set_aside: list[dict[str, Any]] = field(
        default_factory=list
    )  # rooms that broke off: case, alternative, replicate, ...
    break_even: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=BREAK_EVEN))

    def worst_decile(self, outputs: Sequence[str] | None = None) -> pd.DataFrame:
        """The worst decile: one room in ten is this bad or worse, by output; see `farrowtide.selecting.worst_decile`.

        `outputs`: None: the headlines that have a good direction.
        """
        named = chosen(outputs, only=True, prices=self.scenario.prices) if outputs else headlines(self)
        return quantiles.worst_decile(self.replicates, named)

    def no_worse_than(self, margins: Mapping[str, float]) -> pd.DataFrame:
        """Is an alternative worse than the reference by less than the margin? See `farrowtide.selecting.no_worse_than`."""
        return within_margins.no_worse_than(
            self.replicates,
            catalogue(self.scenario.prices).values(),
            self.reference,
            margins,
            animals=self.litters_per_replication,
        )

    def equivalent(self, margins: Mapping[str, float]) -> pd.DataFrame:
        """Does an alternative differ from the reference by less than the margin? See `farrowtide.selecting.equivalent`."""
        return within_margins.equivalent(
            self.replicates,
            catalogue(self.scenario.prices).values(),
            self.reference,
            margins,
            animals=self.litters_per_replication,
        )


def in_order(frame: pd.DataFrame, order: Mapping[str, list[str]]) -> pd.DataFrame:
    """Sorts rows into the order of the file and by replicate, so that they do not depend on the blocks."""
    ranks = [frame[column].map({name: i for i, name in enumerate(names)}) for column, names in order.items()]
    positions = np.lexsort([frame["replicate"], *reversed(ranks)])
    return frame.iloc[positions].reset_index(drop=True)


def headlines(comparison: ComparisonTables) -> list[Output]:
    """The headline outputs."""
    return [output for output in comparison.outputs if output.group == "headline"]


def further(comparison: ComparisonTables) -> dict[str, list[Output]]:
    """The other outputs, by group."""
    groups: dict[str, list[Output]] = {}
    for output in comparison.outputs:
        if output.group != "headline":
            groups.setdefault(output.group, []).append(output)
    return groups


def differ(comparison: ComparisonTables, table: str) -> bool:
    """Whether the rows of a table of the comparison are others under some alternative than under the reference."""
    of_all: pd.DataFrame = getattr(comparison, table)
    rows = dict(iter(of_all.groupby(["case", "alternative"], sort=False)))

    def of(case: str, alternative: str) -> pd.DataFrame | None:
        part = rows.get((case, alternative))
        return None if part is None else part.drop(columns=["case", "alternative"]).reset_index(drop=True)

    for case in comparison.cases:
        base = of(case, comparison.reference)
        for name in others(comparison):
            part = of(case, name)
            if (base is None) != (part is None) or (base is not None and part is not None and not base.equals(part)):
                return True
    return False


def any_headline_differs(comparison: ComparisonTables, case: str) -> bool:
    """Whether a headline output is other under some alternative than under the reference, in any room of a case."""
    table = comparison.differences
    asked = [output.name for output in headlines(comparison)]
    return bool((table[(table["case"] == case) & table["output"].isin(asked)]["difference"] != 0).any())


def first_days(comparison: ComparisonTables) -> list[Output]:
    """Those of the outputs of the first days that the comparison has."""
    by_name = {output.name: output for output in comparison.outputs}
    return [by_name[name] for name in FIRST_DAYS if name in by_name]


def others(comparison: ComparisonTables) -> list[str]:
    """The alternatives except the reference."""
    return [name for name in comparison.alternatives if name != comparison.reference]
