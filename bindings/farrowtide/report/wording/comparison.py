"""A comparison in sentences: an answer for each alternative, and the evidence for its direction."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from farrowtide.analysis.comparison import ComparisonTables, headlines, others
from farrowtide.analysis.verdicts import TOO_FEW
from farrowtide.cautions import qualified
from farrowtide.outputs.catalogue import catalogue
from farrowtide.outputs.output import Output, in_sentence
from farrowtide.report.wording.cells import judgement, rows
from farrowtide.report.wording.evidence import SUPPORT
from farrowtide.report.wording.study import case_title

_SOWS = "sows "
_MOST_NAMED = 3  # outputs in an answer; the others are in the table


def answers(comparison: ComparisonTables, units: str = "si") -> dict[str, list[str]]:
    """Case -> a sentence for each alternative: how it differs from the reference in the outputs that matter most."""
    differences = comparison.differences
    outputs = headlines(comparison)
    return {
        case: [
            _answer(
                comparison,
                outputs,
                differences[(differences["case"] == case) & (differences["alternative"] == name)],
                name,
                units,
            )
            for name in others(comparison)
        ]
        for case in comparison.cases
    }


def what_differs(comparison: ComparisonTables) -> dict[str, dict[str, str]]:
    """Alternative -> family -> its policy in a sentence, for the families of policies in which alternatives differ."""
    families = [
        family
        for family in next(iter(comparison.policies.values()))
        if len({policies[family] for policies in comparison.policies.values()}) > 1
    ]
    return {name: {family: policies[family] for family in families} for name, policies in comparison.policies.items()}


def support(comparison: ComparisonTables) -> dict[str, str]:
    """Family -> the evidence for its effect, for the families of policies in which alternatives differ."""
    return {family: SUPPORT[family] for family in next(iter(what_differs(comparison).values()))}


def margins_kept(comparison: ComparisonTables, margins: Mapping[str, float], units: str) -> list[str]:
    """Whether alternatives are worse than the reference by less than a margin; a sentence for each case and output."""
    declared = catalogue()
    sentences = []
    for (case, name), judged in comparison.no_worse_than(margins).groupby(["case", "output"], sort=False):
        output = declared[str(name)]
        margin = f"{output.shown(margins[str(name)], units=units)} {output.difference_unit(units)}"
        where = f"{case_title(comparison.scenario, str(case))}, " if len(comparison.cases) > 1 else ""
        verdicts = [
            f"{verdict}: {', '.join(part['alternative'])}" for verdict, part in judged.groupby("verdict", sort=False)
        ]
        sentences.append(
            f"{where}{in_sentence(output.label)}, compared with {comparison.reference}, margin {margin}: "
            f"{'; '.join(verdicts)}."
        )
    return sentences


def _answer(
    comparison: ComparisonTables, outputs: list[Output], differences: pd.DataFrame, name: str, units: str
) -> str:
    """What matters most about one alternative, what is better apart from what is worse."""
    name = qualified(name, comparison.provenance["withheld_care"])
    by_name = {output.name: output for output in outputs}
    judged = [row for row in rows(differences) if row.output in by_name]
    if all(row.verdict == TOO_FEW for row in judged):
        return f"{name}: too few replications for a confidence interval; at least two are needed."
    clear = [row for row in judged if row.verdict.startswith(("higher", "lower"))]
    if not clear:
        return f"{name}: no headline output differs clearly by enough to matter."
    phrases: dict[str, list[str]] = {}  # by judgement
    for row in _most_important(clear, by_name):
        phrases.setdefault(judgement(row.verdict), []).append(by_name[row.output].phrase(row.difference, units))
    return f"{name}: {', but '.join(_listed(_subject_once(alike)) for alike in phrases.values())}."


def _most_important(differences: list[Any], by_name: dict[str, Output]) -> list[Any]:
    """The largest differences as multiples of the negligible one, with the largest of each judgement among them."""
    ranked = sorted(differences, key=lambda row: -abs(row.difference) / by_name[row.output].negligible)
    first = list({judgement(row.verdict): row for row in reversed(ranked)}.values())
    chosen = [*first, *(row for row in ranked if row not in first)][:_MOST_NAMED]
    return [row for row in ranked if row in chosen]


def _subject_once(phrases: list[str]) -> list[str]:
    """Phrases about sows one after the other, with the word "sows" in the first only."""
    of_sows = [phrase for phrase in phrases if phrase.startswith(_SOWS)]
    others = [phrase for phrase in phrases if not phrase.startswith(_SOWS)]
    sows = [*of_sows[:1], *(phrase.removeprefix(_SOWS) for phrase in of_sows[1:])]
    return [*sows, *others] if phrases[0].startswith(_SOWS) else [*others, *sows]


def _listed(words: list[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
