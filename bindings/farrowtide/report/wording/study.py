"""A study in words: its cases, its unit of replication, the precision it reached."""

from __future__ import annotations

import math
from pathlib import Path

from farrowtide.outputs.catalogue import catalogue
from farrowtide.outputs.output import in_sentence
from farrowtide.outputs.units import as_written
from farrowtide.scenarios.plausibility.facts import Facts
from farrowtide.scenarios.prices import Prices
from farrowtide.scenarios.scenario import Scenario
from farrowtide.statistics.inference import LEAST_APART, highest_share
from farrowtide.study.stopping import Reached


def case_title(scenario: Scenario, case: str) -> str:
    """The title of a case of a scenario; where it has no cases, its own title, or the name of its file."""
    return case if scenario.cases else scenario.title or Path(scenario.source_name).name


def unit_of_replication(scenario: Scenario) -> str:
    """The thing that is replicated: "room" or "farm"."""
    return scenario.unit_of_replication


def policies_as_written(scenario: Scenario) -> dict[str, str]:
    """A sentence for each family of policies, with quantities as the scenario's author wrote them."""
    facts = Facts(scenario)
    written: dict[str, list[tuple[str, str]]] = {}
    for setting in facts.settings.values():
        if setting.written != setting.value:
            written.setdefault(setting.path.partition(".")[0], []).append((setting.value, setting.written))
    return {family: as_written(policy, written.get(family, [])) for family, policy in scenario.policies.items()}


def what_counts(scenario: Scenario) -> str:
    """Which groups of a farm count; empty for a single group."""
    farm = scenario.farm
    if farm["groups"] == 1:
        return ""
    return (
        f"On each farm, {farm['groups']} groups count, one every {farm['group_every_days']} days, in "
        f"{farm['rooms_per_group']} of {farm['rooms']} rooms. The {farm['lead_in_groups']} groups that first fill the "
        f"rooms and the {farm['lead_out_groups']} that keep them full to the end are simulated but not counted."
    )


def _why_not_known(reached: Reached, name: str) -> str:
    n, differing = reached.replications, reached.unknown.get(name)
    if differing is None:
        return "not known yet: too few rooms differ"
    if differing >= LEAST_APART:
        return "not known: the difference does not vary between rooms"
    share = 100 * float(highest_share(differing, n))
    return f"not known: {differing} of {n:,} rooms differ; with 95 % confidence fewer than {share:.2g} % do"


def precision_reached(reached: Reached, units: str = "si", *, prices: Prices | None = None) -> str:
    """The half-widths of the paired confidence intervals that a precision was asked for, and whether it was reached.

    `prices`: of the scenario.
    """
    declared = catalogue(prices)
    widths = ", ".join(
        f"{in_sentence(declared[name].label)} "
        + (
            _why_not_known(reached, name)
            if math.isnan(width)
            else f"within \N{PLUS-MINUS SIGN}{declared[name].value_in(units, width, difference=True):.2g} "
            f"{declared[name].difference_unit(units)}"
        )
        for name, width in reached.half_widths.items()
    )
    outcome = "was reached" if reached.stop else "was NOT reached"
    return f"The requested precision {outcome} after {reached.replications} replications: {widths}."
