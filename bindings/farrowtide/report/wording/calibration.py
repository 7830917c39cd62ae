"""What a calibration found, in sentences: what is known, what is not, and with what the model cannot be made to agree."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from farrowtide.outputs.output import in_sentence
from farrowtide.outputs.units import count
from farrowtide.report.wording.cells import rows

FEW_GROUPS = 8

# Where to look when the model cannot be made to agree on a quantity. Common practice, no source.
CAUSES = {
    "eaten": "flow and height of the drinkers, room temperature, feeding times and portions, how feed is weighed",
    "offered": "feeding times and portions, trough size, how feed is weighed",
    "water": "flow and leaks of the drinkers, where the meter is (spilling and washing included?)",
    "piglet weight": "creep feed or milk replacer, age at weaning, whether runts were weighed",
    "mortality": "fostering and nurse sows, how deaths are written down (with which sow, mummies, culled piglets)",
    "stillborn": "whether mummies or piglets that died soon after birth count as stillborn, attendance at farrowing, induction",
    "duration": "how first and last birth are noted, induction, attendance at farrowing",
    "treated": "which signs lead to treatment, when sows are looked at, whether all courses are written down",
    "weight loss": "when sows are weighed (before or after farrowing, full or empty), feed before farrowing",
    "backfat loss": "site and operator of the backfat measurement, feed before farrowing",
    "served": "how long sows are given to show oestrus, sows culled or skipped at weaning",
}
# What the scenario sets itself.
OF_THE_SCENARIO = {
    "total born": "set herd.total_born_mean (`farrowtide records describe`)",
    "weaned": "look at litter size, fostering and deaths",
    "lactation": "set the weaning day of the scenario",
    "first parities": "set herd.parity_shares (`farrowtide records describe`)",
    "room temperature": "set the climate or the temperature of the scenario, or its start date",
}


def in_words(parameters: pd.DataFrame, statistics: pd.DataFrame, stays: Mapping[str, str], groups: int) -> list[str]:
    """All that a reader should know before the tables."""
    said = [
        *disagreements(statistics),
        *differing_scenario(statistics),
        *knowledge(parameters),
        *kept_aside(statistics),
    ]
    if groups < FEW_GROUPS:
        said.append(
            f"With only {count(groups, 'group')} to fit to, what differs by chance is mostly taken from the model, not from the records."
        )
    if stays:
        by_need: dict[str, list[str]] = {}
        for name, need in stays.items():
            by_need.setdefault(need, []).append(name)
        told = "; ".join(f"{', '.join(names)} (needs {need})" for need, names in by_need.items())
        said.append(f"Not moved, because the records hold nothing on them: {told}.")
    return said


def disagreements(statistics: pd.DataFrame) -> list[str]:
    """The quantities on which the model cannot be made to agree, and where to look."""
    apart = statistics[statistics["fitted"] & statistics["disagrees"]]
    return [
        f"The model cannot be made to agree on {_about(of_quantity)}. Look at: {_cause(str(name), CAUSES)}."
        for name, of_quantity in apart.groupby(apart["quantity"].str.split(" week").str[0], sort=False)
    ]


def differing_scenario(statistics: pd.DataFrame) -> list[str]:
    """What the records say otherwise than the scenario, and no parameter moves."""
    apart = statistics[~statistics["fitted"] & statistics["disagrees"]]
    return [
        f"The scenario differs from the records on {_about(of_quantity)}. To agree, {_cause(str(name), OF_THE_SCENARIO)}, and "
        "calibrate again."
        for name, of_quantity in apart.groupby("quantity", sort=False)
    ]


def knowledge(parameters: pd.DataFrame) -> list[str]:
    """Which parameters the records say nothing of, which only together, and which were driven to an end of their range."""
    said = []
    unknown = parameters[parameters["known"] == "not"]["parameter"]
    if len(unknown):
        said.append(f"The records say next to nothing of {', '.join(unknown)}: what was thought before still stands.")
    for row in rows(parameters[parameters["known"].str.startswith("only")]):
        said.append(
            f"The records tell {row.parameter} {row.known}: the two can change against each other and fit as well."
        )
    for row in rows(parameters[parameters["at_end"]]):
        said.append(
            f"{row.parameter} was driven to the end of its range ({row.estimate:.3g}): probably something else is behind it."
        )
    return said


def kept_aside(statistics: pd.DataFrame) -> list[str]:
    """How many statistics of the groups kept aside lie in their interval."""
    judged = statistics[statistics["kept"].notna()]
    if judged.empty:
        return ["No group was kept aside: nothing tests the calibration."]
    inside = int(judged["kept_inside"].sum())
    outside = list(judged[~judged["kept_inside"]]["label"].map(in_sentence))
    told = f"; outside: {', '.join(outside)}" if outside else ""
    return [
        f"Of {len(judged)} statistics of the groups kept aside, {inside} lie in their 95 % interval (about "
        f"{round(0.95 * len(judged))} would by chance alone){told}."
    ]


def _about(of_quantity: pd.DataFrame) -> str:
    """The statistic of the rows that is farthest out, with how far."""
    row = max(rows(of_quantity), key=lambda row: abs(row.residual))
    decimals = int(row.decimals)
    return (
        f"{in_sentence(row.label)}: recorded {row.recorded:.{decimals}f}, simulated {row.after:.{decimals}f} {row.unit} "
        f"({abs(row.residual):.1f} standard errors)"
    )


def _cause(quantity: str, causes: Mapping[str, str]) -> str:
    return next((cause for beginning, cause in causes.items() if quantity.startswith(beginning)), "the records")
