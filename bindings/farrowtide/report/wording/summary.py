"""The verdicts of all cases on one printed page, and what is left for the pages after it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from farrowtide.report.wording.verdict import Lines

_LINES = 42  # of the verdicts on a page of Letter, beside title and caution
_CHARACTERS = 104  # in a line
_OF_A_HEADING = 2  # lines
# What stays on the page where not all fits, the most important first; other sentences go before these.
_KEPT = ("Best", "Costs", "How sure", "Delayed or left undone", "Would reverse it", "Whom it helps", "Depends most on")
EVERY_CASE = "Every case"


@dataclass(frozen=True)
class Summary:
    """Labelled sentences by heading: those on the first page, and the others."""

    first: dict[str, Lines]
    rest: dict[str, Lines]


def summary(verdicts: Mapping[str, Lines]) -> Summary:
    """What all cases have in common is said once, last; the least important labels give way until one page is enough."""
    in_common = _in_common(verdicts)
    groups = {title: [line for line in lines if line not in in_common] for title, lines in verdicts.items()}
    if in_common:
        groups[_free(EVERY_CASE, groups)] = in_common
    given_up: set[str] = set()
    for label in [*_without_rank(verdicts), *reversed(_KEPT[1:])]:
        if _length(_of_labels(groups, given_up, within=False)) <= _LINES:
            break
        given_up.add(label)
    return Summary(_of_labels(groups, given_up, within=False), _of_labels(groups, given_up, within=True))


def _free(heading: str, taken: Mapping[str, Lines]) -> str:
    """The heading, other than any case is called."""
    return heading if heading not in taken else _free(f"{heading} alike", taken)


def _in_common(verdicts: Mapping[str, Lines]) -> Lines:
    """The lines that are the same in two or more cases, and in all of them, except for the answer itself."""
    first, *others = verdicts.values()
    return [line for line in first if others and line[0] != "Best" and all(line in lines for lines in others)]


def _without_rank(verdicts: Mapping[str, Lines]) -> list[str]:
    labels = dict.fromkeys(label for lines in verdicts.values() for label, _ in lines)
    return [label for label in reversed(labels) if label not in _KEPT]


def _of_labels(groups: Mapping[str, Lines], labels: set[str], *, within: bool) -> dict[str, Lines]:
    chosen = {title: [line for line in lines if (line[0] in labels) is within] for title, lines in groups.items()}
    return {title: lines for title, lines in chosen.items() if lines}


def _length(groups: Mapping[str, Lines]) -> int:
    """In printed lines."""
    headings = _OF_A_HEADING * len(groups) if len(groups) > 1 else 0
    return headings + sum(math.ceil(len(sentence) / _CHARACTERS) for lines in groups.values() for _, sentence in lines)
