"""A comparison in sentences: an answer for each alternative, and the evidence for its direction."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from farrowtide.analysis.comparison import ComparisonTables, headlines, others
from farrowtide.analysis.verdicts import TOO_FEW, TOO_FEW_FOR_SIZE, TOO_SMALL, is_clear
from farrowtide.cautions import qualified
from farrowtide.errors import listed_names
from farrowtide.outputs.catalogue import catalogue
from farrowtide.outputs.output import Output, in_sentence
from farrowtide.report.wording.cells import about, interval_of, judgement, rows, unclear
from farrowtide.report.wording.evidence import SUPPORT
from farrowtide.report.wording.study import case_title

_SOWS = "sows "
_MOST_NAMED = 3  # outputs in an answer where the study names none; the others are in the table


def answers(comparison: ComparisonTables, units: str = "si") -> dict[str, list[str]]:
    """Case -> a sentence for each alternative: how it clearly differs from the reference, by enough to matter.

    In every output that the study names, in its order, or in the headline outputs that differ most where it names none.
    """
    return _for_each(comparison, lambda name, judged: _answer(comparison, judged, name, units))


def not_clear(comparison: ComparisonTables, units: str = "si") -> dict[str, list[str]]:
    """Case -> a sentence for each alternative: the headline outputs in which it does not clearly differ, and why."""
    return _for_each(comparison, lambda name, judged: _not_clear(comparison, judged, name, units))


def _for_each(
    comparison: ComparisonTables, sentence: Callable[[str, list[tuple[Output, Any]]], str]
) -> dict[str, list[str]]:
    by_name = {output.name: output for output in headlines(comparison)}
    sentences: dict[str, list[str]] = {}
    for case in comparison.cases:
        of_case = comparison.differences[comparison.differences["case"] == case]
        sentences[case] = []
        for name in others(comparison):
            of_alternative = rows(of_case[of_case["alternative"] == name])
            judged = [(by_name[row.output], row) for row in of_alternative if row.output in by_name]
            sentences[case] += filter(None, [sentence(name, judged)])
    return sentences


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
    declared = catalogue(comparison.scenario.prices)
    sentences = []
    for (case, name), judged in comparison.no_worse_than(margins).groupby(["case", "output"], sort=False):
        output = declared[str(name)]
        margin = f"{output.shown(margins[str(name)], units=units)} {output.difference_unit(units)}"
        where = f"{case_title(comparison.scenario, str(case))}, " if len(comparison.cases) > 1 else ""
        verdicts = [
            f"{verdict}: {listed_names(part['alternative'])}" for verdict, part in judged.groupby("verdict", sort=False)
        ]
        sentences.append(
            f"{where}{in_sentence(output.label)}, compared with {comparison.reference}, margin {margin}: "
            f"{'; '.join(verdicts)}."
        )
    return sentences


def _answer(comparison: ComparisonTables, judged: list[tuple[Output, Any]], name: str, units: str) -> str:
    """What is better apart from what is worse."""
    name = qualified(name, comparison.provenance["withheld_care"])
    clear = [(output, row) for output, row in judged if is_clear(row.verdict)]
    if not clear:
        verdicts = {unclear(row) for _, row in judged}
        unsure = TOO_FEW if verdicts & {TOO_FEW, TOO_FEW_FOR_SIZE} else "no difference is known to matter"
        return f"{name}: {verdicts.pop() if len(verdicts) == 1 else unsure}."
    named = comparison.scenario.study.outputs or comparison.provenance["recipe"]["outputs"]
    phrases: dict[str, list[str]] = {}  # by judgement
    for output, row in clear if named else _most_important(clear):
        phrases.setdefault(judgement(row.verdict), []).append(output.phrase(row.difference, units))
    return f"{name}: {', but '.join(_listed(_subject_once(alike)) for alike in phrases.values())}."


def _most_important(differences: list[tuple[Output, Any]]) -> list[tuple[Output, Any]]:
    """The largest differences as multiples of the negligible one, with the largest of each judgement among them."""
    ranked = sorted(differences, key=lambda pair: -abs(pair[1].difference) / pair[0].negligible)
    first = list({judgement(row.verdict): (output, row) for output, row in reversed(ranked)}.values())
    named = [output for output, _ in [*first, *(pair for pair in ranked if pair not in first)][:_MOST_NAMED]]
    return [(output, row) for output, row in ranked if output in named]


def _not_clear(comparison: ComparisonTables, judged: list[tuple[Output, Any]], name: str, units: str) -> str:
    """Empty where all outputs differ clearly by enough to matter."""
    by_verdict: dict[str, dict[str, list[str]]] = {}  # verdict -> why -> outputs
    for output, row in judged:
        if not is_clear(row.verdict):
            alike = by_verdict.setdefault(unclear(row), {}).setdefault(
                _why(output, row, units, comparison.scenario.unit_of_replication), []
            )
            alike.append(in_sentence(output.label))
    listed = [
        f"{verdict}: {', '.join(f'{_listed(outputs)} ({why})' for why, outputs in alike.items())}"
        for verdict, alike in by_verdict.items()
    ]
    return f"{qualified(name, comparison.provenance['withheld_care'])}: {'; '.join(listed)}." if listed else ""


def _why(output: Output, row: Any, units: str, unit: str) -> str:
    """What is known of a difference that is not clear: size, interval, the reason and how many rooms would tell."""
    interval = interval_of(output, row, units)
    known = [row.reason] if row.reason else []
    if interval or row.verdict == TOO_SMALL:
        kind = output.difference_unit(units)
        known.insert(0, f"{output.shown(row.difference, units=units, signed=True)} {kind}{interval and ', '}{interval}")
    if row.verdict in (TOO_FEW, TOO_FEW_FOR_SIZE) and not math.isnan(row.rooms_needed):
        known.append(f"{about(row.rooms_needed)} {unit}s would do")
    return "; ".join(known)


def _subject_once(phrases: list[str]) -> list[str]:
    """Phrases about sows one after the other, with the word "sows" in the first only."""
    of_sows = [phrase for phrase in phrases if phrase.startswith(_SOWS)]
    others = [phrase for phrase in phrases if not phrase.startswith(_SOWS)]
    sows = [*of_sows[:1], *(phrase.removeprefix(_SOWS) for phrase in of_sows[1:])]
    return [*sows, *others] if phrases[0].startswith(_SOWS) else [*others, *sows]


def _listed(words: list[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
