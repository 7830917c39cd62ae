"""A programme taken apart, in words: the one table of what each practice is worth, and what it adds up to."""

from __future__ import annotations

from dataclasses import dataclass

from farrowtide.analysis.parts import ALL, ALONE, WITHIN, PartsTables
from farrowtide.analysis.verdicts import is_clear
from farrowtide.outputs.output import Output, in_sentence
from farrowtide.report.wording.cells import interval_of
from farrowtide.report.wording.evidence import GRADES_IN_WORDS

READING = (
    "Alone: the scenario as written with the practice, minus the scenario as written. In the programme: all practices, "
    "minus all but this one. In brackets: not clear, or too small to matter."
)


@dataclass(frozen=True)
class Worth:
    """What one practice is worth for one output in one place, as printed."""

    amount: str  # in brackets where it is not clear or too small to matter
    interval: str  # empty where there is none
    clear: bool
    verdict: str


def table(parts: PartsTables, case: str, units: str = "si") -> list[tuple[str, str, str, list[Worth]]]:
    """Practice, grade, place, and what it is worth in each output shown; ranked, and all practices together at the end."""
    lines = [(practice, place) for practice in parts.ranked(case) for place in (ALONE, WITHIN)]
    return [
        (practice, parts.grades.get(practice, ""), place, [_worth(parts, case, practice, place, output, units) for output in parts.shown])
        for practice, place in [*lines, (ALL, ALONE)]
    ]  # fmt: skip


def _worth(parts: PartsTables, case: str, practice: str, place: str, output: Output, units: str) -> Worth:
    row = parts.row(case, practice, place, output)
    clear = is_clear(row.verdict)
    amount = output.shown(row.difference, units=units, signed=True)
    return Worth(amount if clear else f"({amount})", interval_of(output, row, units), clear, row.verdict)


def added_up(parts: PartsTables, case: str, units: str = "si") -> str:
    """What all practices are worth together, beside the sums of what they are worth alone and in the programme."""
    output = parts.shown[0]

    def amount(value: float) -> str:
        return output.shown(value, units=units, signed=True)

    together = parts.row(case, ALL, ALONE, output).difference
    sums = [
        sum(parts.row(case, name, place, output).difference for name in parts.practices) for place in (ALONE, WITHIN)
    ]
    return (
        f"{output.label}: all together {amount(together)} {output.difference_unit(units)}; the practices alone add up to "
        f"{amount(sums[0])}, within the programme to {amount(sums[1])}."
    )


def ranking(parts: PartsTables) -> str:
    """By what the practices are ranked."""
    return f"Ranked by {in_sentence(parts.shown[0].label)}, each practice alone."


def grades_in_words() -> str:
    """What the grades mean."""
    return "Evidence: " + "; ".join(f"{grade}: {meaning}" for grade, meaning in GRADES_IN_WORDS.items()) + "."
