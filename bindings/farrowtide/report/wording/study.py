"""What a study is, in words: its cases, its unit of replication, the precision it reached."""

from __future__ import annotations

from farrowtide.outputs.catalogue import catalogue
from farrowtide.outputs.output import in_sentence
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study.plan import ONLY_CASE
from farrowtide.study.stopping import Reached


def case_title(case: str) -> str:
    """What a case is called; a scenario without cases has a title, too."""
    return "The scenario as written" if case == ONLY_CASE else case


def unit_of_replication(scenario: Scenario) -> str:
    """What one replicate is."""
    farm = scenario.farm
    return "room" if farm["groups"] == farm["rooms_per_group"] == 1 else "farm"


def what_counts(scenario: Scenario) -> str:
    """How a farm of many groups is counted; empty for a single one."""
    farm = scenario.farm
    if farm["groups"] == 1:
        return ""
    return (
        f"Of each farm, {farm['groups']} groups count, one every {farm['group_every_days']} days, in "
        f"{farm['rooms_per_group']} of {farm['rooms']} rooms. The {farm['lead_in_groups']} groups that first fill the "
        f"rooms and the {farm['lead_out_groups']} that keep them full to the end are simulated and not counted."
    )


def precision_reached(reached: Reached) -> str:
    """How wide the paired intervals are that were asked to be narrow, and whether that is what ended the study."""
    declared = catalogue()
    widths = ", ".join(
        f"{in_sentence(declared[name].label)} within \N{PLUS-MINUS SIGN}{width:.2g} {declared[name].difference_unit()}"
        for name, width in reached.half_widths.items()
    )
    ended = "The precision asked for is reached" if reached.stop else "The precision asked for is NOT reached"
    return f"{ended} after {reached.replications} replications: {widths}."
