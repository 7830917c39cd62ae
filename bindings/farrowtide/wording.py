"""What a comparison says, in plain words: sentences for people and the cells of the printed tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from farrowtide.comparison import NEGLIGIBLE, NO_CLEAR_DIFFERENCE, NO_DIFFERENCE, ONLY_CASE, TOO_FEW, Comparison
from farrowtide.outputs import Output, catalogue, in_sentence
from farrowtide.scenario import Scenario

CAUTION = (
    "These are results of a model, not advice for a herd. Obstetrics, induction, treatment, euthanasia, processing, moving and "
    "early weaning of piglets, lone night work, heat lamps, room temperature and feeding changes belong to the herd veterinarian, to local rules and to "
    "licensed practice."
)
# How well the direction of what a family of policies does is supported; measured in .site/generated/policy_families.md.
SUPPORT = {
    "loading": "That sows moved shortly before farrowing fall ill more often has a source (Papadopoulos et al. 2010); by how "
    "much, how gilts learn and what walks cost is assumed.",
    "feeding": "That sows eat more with feed always at hand has sources (Peng et al. 2007; Choi et al. 2018). Other effects "
    "follow from what a trough holds and how long feed stays fit, partly assumed; trials of a third meal and of meals before "
    "farrowing saw less than the model makes of them (Genest & Dallaire 1995; Gourley et al. 2020).",
    "water": "Led by assumptions: how often drinkers clog, and how long a sow goes on without water. What little flow costs "
    "is published below 0.7 L/min only (Leibbrandt et al. 2001).",
    "temperature": "That sows eat less in a warmer room has sources (Quiniou & Noblet 1999; Renaudeau et al. 2001). No trial "
    "compares the days or the ways of lowering a room.",
    "attendance": "That attended births have fewer stillborn has sources (White 1996; Monteiro et al. 2022). The published "
    "fall of early deaths with full care of the newborn is not reached, and no trial compares how often somebody goes round.",
    "care": "That temperature alone treats many healthy sows has a source (Stiehler et al. 2015). What illness costs, what "
    "treatment saves and what stand-up rounds do is led by assumptions.",
    "fostering": "That piglets above the teats die more has a source (Kobek-Kjeldager et al. 2020). What a move costs a "
    "piglet is partly assumed, and sources on sorting by size are divided.",
    "handling": "Led by assumptions: what each visit costs the sow's appetite and the litter's growth.",
}
_SOWS = "sows "
_MOST_NAMED = 3  # outputs in an answer; the table has the others


def answers(comparison: Comparison, units: str = "si") -> dict[str, list[str]]:
    """Case -> one sentence for each alternative against the reference: the headlines that matter most."""
    found = comparison.differences
    outputs = headlines(comparison)
    return {
        case: [
            _answer(comparison, outputs, found[(found["case"] == case) & (found["alternative"] == name)], name, units)
            for name in others(comparison)
        ]
        for case in comparison.cases
    }


def headlines(comparison: Comparison) -> list[Output]:
    """The outputs that are judged first."""
    return [output for output in comparison.outputs if output.group == "headline"]


def further(comparison: Comparison) -> dict[str, list[Output]]:
    """The other outputs, by group."""
    groups: dict[str, list[Output]] = {}
    for output in comparison.outputs:
        if output.group != "headline":
            groups.setdefault(output.group, []).append(output)
    return groups


def others(comparison: Comparison) -> list[str]:
    """The alternatives without the reference."""
    return [name for name in comparison.alternatives if name != comparison.reference]


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


def what_differs(comparison: Comparison) -> dict[str, dict[str, str]]:
    """Alternative -> family -> what its policy does, for the families in which the alternatives differ."""
    families = [
        family
        for family in next(iter(comparison.policies.values()))
        if len({policies[family] for policies in comparison.policies.values()}) > 1
    ]
    return {name: {family: policies[family] for family in families} for name, policies in comparison.policies.items()}


def support(comparison: Comparison) -> dict[str, str]:
    """Family -> how well its direction is supported, for the families in which the alternatives differ."""
    return {family: SUPPORT[family] for family in next(iter(what_differs(comparison).values()))}


def precision_reached(comparison: Comparison) -> str:
    """How wide the paired intervals are that were asked to be narrow, and whether that is what ended the study."""
    reached = comparison.precision
    assert reached is not None
    declared = catalogue()
    widths = ", ".join(
        f"{in_sentence(declared[name].label)} within \N{PLUS-MINUS SIGN}{width:.2g} {declared[name].difference_unit()}"
        for name, width in reached.half_widths.items()
    )
    ended = "The precision asked for is reached" if reached.stop else "The precision asked for is NOT reached"
    return f"{ended} after {reached.replications} replications: {widths}."


def margins_kept(comparison: Comparison, margins: Mapping[str, float], units: str) -> list[str]:
    """Whether each alternative is no worse than the reference by a margin; a sentence for each case and output."""
    declared = catalogue()
    sentences = []
    for (case, name), rows in comparison.no_worse_than(margins).groupby(["case", "output"], sort=False):
        output = declared[name]
        margin = f"{output.shown(margins[name], units=units)} {output.difference_unit(units)}"
        where = f"{case_title(case)}, " if len(comparison.cases) > 1 else ""
        said = [f"{verdict}: {', '.join(part['alternative'])}" for verdict, part in rows.groupby("verdict", sort=False)]
        sentences.append(
            f"{where}{in_sentence(output.label)}, by {margin} against {comparison.reference}: {'; '.join(said)}."
        )
    return sentences


def case_title(case: str) -> str:
    return "The scenario as written" if case == ONLY_CASE else case


@dataclass(frozen=True)
class Cell:
    """One difference in a table: what it is, its interval, and whether it is clear and large enough to matter."""

    first: str  # "-1.98 worse", "no clear difference", "clear but negligible"
    second: str  # "-2.00 to -1.96"; empty where there is nothing to add
    clear: bool


@dataclass(frozen=True)
class Row:
    """One output in a table: the reference's mean, and a cell for every other alternative."""

    label: str
    unit: str
    reference: str
    cells: dict[str, Cell]


def table(comparison: Comparison, case: str, outputs: list[Output], units: str) -> list[Row]:
    """The differences in a case as they are printed, a row for each of the outputs."""
    found = comparison.differences[comparison.differences["case"] == case]
    rows = []
    for output in outputs:
        part = found[found["output"] == output.name]
        means = comparison.means
        mean = means[(means["case"] == case) & (means["output"] == output.name)].set_index("alternative")["mean"]
        cells = {row.alternative: _cell(output, row, units) for row in part.itertuples()}
        reference = output.shown(mean[comparison.reference], units=units)
        rows.append(Row(output.label, output.shown_unit(units), reference, cells))
    return rows


def _cell(output: Output, row: Any, units: str) -> Cell:
    difference = output.shown(row.difference, units=units, signed=True)
    if row.verdict == NO_DIFFERENCE:
        return Cell(NO_DIFFERENCE, "", clear=False)
    if row.verdict == TOO_FEW:
        return Cell(difference, TOO_FEW, clear=False)
    interval = output.shown_range(row.ci_low, row.ci_high, units=units, signed=True)
    if row.verdict in (NO_CLEAR_DIFFERENCE, NEGLIGIBLE):
        return Cell(row.verdict, interval, clear=False)
    return Cell(f"{difference} {_judgement(row.verdict)}", interval, clear=True)


def _judgement(verdict: str) -> str:
    """better or worse; higher or lower where neither is declared."""
    return verdict.partition("(")[2].rstrip(")") or verdict


def _answer(comparison: Comparison, outputs: list[Output], rows: pd.DataFrame, name: str, units: str) -> str:
    """What matters most of one alternative, the good apart from the bad."""
    by_name = {output.name: output for output in outputs}
    judged = [row for row in rows.itertuples() if row.output in by_name]
    if all(row.verdict == TOO_FEW for row in judged):
        return f"{name}: too few replications to say anything; two or more are needed."
    clear = [row for row in judged if row.verdict.startswith(("higher", "lower"))]
    if not clear:
        return f"{name}: no difference in the headlines that is both clear and large enough to matter."
    told: dict[str, list[str]] = {}
    for row in _most_important(clear, by_name):
        told.setdefault(_judgement(row.verdict), []).append(by_name[row.output].phrase(row.difference, units))
    return f"{name}: {', but '.join(_listed(_subject_once(phrases)) for phrases in told.values())}."


def _most_important(rows: list[Any], by_name: dict[str, Output]) -> list[Any]:
    """The largest differences, each in multiples of what is negligible; the largest of each judgement among them."""
    ranked = sorted(rows, key=lambda row: -abs(row.difference) / by_name[row.output].negligible)
    first = list({_judgement(row.verdict): row for row in reversed(ranked)}.values())
    chosen = [*first, *(row for row in ranked if row not in first)][:_MOST_NAMED]
    return [row for row in ranked if row in chosen]


def _subject_once(phrases: list[str]) -> list[str]:
    """The sows' phrases one after the other, the sows named in the first."""
    of_sows = [phrase for phrase in phrases if phrase.startswith(_SOWS)]
    others = [phrase for phrase in phrases if not phrase.startswith(_SOWS)]
    told = [*of_sows[:1], *(phrase.removeprefix(_SOWS) for phrase in of_sows[1:])]
    return [*told, *others] if phrases[0].startswith(_SOWS) else [*others, *told]


def _listed(words: list[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
