"""The verdict of a comparison: what to choose in a case, how sure that is, what it costs, and whom it helps."""

from __future__ import annotations

from typing import Any

from farrowtide.analysis.choice import Choice, Cost, asked, choose, costs, crowded_out
from farrowtide.analysis.comparison import ComparisonTables
from farrowtide.analysis.doubt import DoubtTables
from farrowtide.analysis.labour import busy_warning_of
from farrowtide.analysis.verdicts import TOO_FEW, TOO_FEW_FOR_SIZE, is_clear
from farrowtide.cautions import FOR_COMPARISON_ONLY
from farrowtide.outputs.catalogue import feed, money, work
from farrowtide.outputs.output import Output, in_sentence
from farrowtide.report.wording.cells import about, interval_of, judgement, rows, unclear
from farrowtide.report.wording.doubt import first_lines
from farrowtide.report.wording.money import may_cost_of

_CLASSES = {"p1": "first parity", "p2": "second parity", "p3_up": "third parity and later"}
_LITTLE_WORK_PERCENT = 50  # of paid time; below this work limits nothing (a choice of this project)
_MATTERS_POINTS = 1.0  # more of a task late or undone (a choice of this project)
_MOST_TASKS = 3
_IN_COSTS = (work.LABOUR.name, money.DUTY.name, feed.OFFERED.name, money.PER_CRATE.name)

_PAID = "paid hours on duty per litter"

Lines = list[tuple[str, str]]  # label, sentence


def verdict(comparison: ComparisonTables, case: str, units: str = "si", *, doubt: DoubtTables | None = None) -> Lines:
    """What a case comes down to, in labelled sentences; the first is the answer.

    `doubt` of this comparison says how sure it is with what is not known; it is about one case.
    """
    choice = choose(comparison, case)
    if choice is None:
        return [("Best", _undecided(comparison, case)), *_with_doubt(doubt, case, units)]
    lines = [
        ("Best", _best(comparison, choice, units)),
        ("Costs", _costs(comparison, choice, units)),
        ("Other outputs", _other_outputs(comparison, choice, units)),
        *(_with_doubt(doubt, case, units) or [("How sure", _how_sure(comparison, choice))]),
        ("Whom it helps", _whom(comparison, choice, units)),
        ("Delayed or left undone", _crowded_out(comparison, choice)),
        ("Staff time used", _staff_time(comparison, choice)),
    ]
    return [(label, sentence) for label, sentence in lines if sentence]


def _best(comparison: ComparisonTables, choice: Choice, units: str) -> str:
    output, best = choice.output, choice.best
    mean = output.shown(_mean_row(comparison, choice, output, best).mean, units=units)
    words = f"{_named([best])}, by {in_sentence(output.label)}: {mean} {output.shown_unit(units)}"
    if best == comparison.reference:
        words += ", and it is what the others are compared with"
    else:
        row = _difference(comparison, choice, output, best)
        words += f", {_size(output, row, units)} against {_named([comparison.reference])}"
    worse = _worse(comparison, choice)
    words += f". Clearly worse in {', '.join(worse)}" if worse else ""
    level = choice.level
    ahead = [str(row.alternative) for row in rows(choice.rivals) if "(better)" in row.verdict]
    if ahead:
        words += f". Ahead of it, but {FOR_COMPARISON_ONLY}: {_named(ahead)}"
    if not level:
        behind = len(choice.rivals) - len(ahead)
        return f"{words}. {'The' if ahead else 'All'} others are clearly behind." if behind else f"{words}."
    return f"{words}. Not clearly apart from it: {_named(level)}{_rooms_to_tell(choice)}."


def _worse(comparison: ComparisonTables, choice: Choice) -> list[str]:
    """The outputs asked for, but those of work, in which the best is clearly worse than the reference."""
    if choice.best == comparison.reference:
        return []
    others = [output for output in asked(comparison) if output.name not in (choice.output.name, *_IN_COSTS)]
    verdicts = {output.label: _difference(comparison, choice, output, choice.best).verdict for output in others}
    return [in_sentence(label) for label, words in verdicts.items() if is_clear(words) and judgement(words) == "worse"]


def _rooms_to_tell(choice: Choice) -> str:
    needed = [row.rooms_needed for row in rows(choice.rivals) if row.verdict in (TOO_FEW, TOO_FEW_FOR_SIZE)]
    known = [rooms for rooms in needed if rooms == rooms]
    return f" (too few rooms to tell; {about(max(known))} would)" if known else ""


def _other_outputs(comparison: ComparisonTables, choice: Choice, units: str) -> str:
    """The other outputs asked for but the costs, of the best against the reference."""
    if choice.best == comparison.reference:
        return ""
    by_judgement: dict[str, list[str]] = {}
    for output in asked(comparison):
        if output.name == choice.output.name or output.name in _IN_COSTS:
            continue
        row = _difference(comparison, choice, output, choice.best)
        if is_clear(row.verdict):
            words = f"{in_sentence(output.label)} {_size(output, row, units)}"
            by_judgement.setdefault(judgement(row.verdict), []).append(words)
        else:
            needed = f" ({about(row.rooms_needed)} would do)" if row.rooms_needed == row.rooms_needed else ""
            by_judgement.setdefault(unclear(row), []).append(f"{in_sentence(output.label)}{needed}")
    order = sorted(by_judgement, key=lambda name: ("worse", "better").index(name) if name in ("worse", "better") else 2)
    return "; ".join(f"{name}: {', '.join(by_judgement[name])}" for name in order) + "." if order else ""


def _costs(comparison: ComparisonTables, choice: Choice, units: str) -> str:
    """Minutes, paid hours and, with prices, money: of the best, and against the reference; what it may cost at most."""
    spent = [_cost(cost, units) for cost in costs(comparison, choice.case, choice.best)]
    at_most = may_cost_of(comparison, choice.case, choice.best)
    return " ".join(filter(None, (f"{'; '.join(spent)}." if spent else "", at_most and f"It {at_most}")))


def _cost(cost: Cost, units: str) -> str:
    output, row = cost.output, cost.difference
    label = _PAID if output.name == money.DUTY.name else in_sentence(output.label)
    words = f"{label} {output.shown(cost.mean, units=units)} {output.shown_unit(units)}"
    if row is None:
        return words
    if not row.n_differing:
        return f"{words}, the same as under {_named([row.reference])} in every room"
    verdict = judgement(row.verdict) if is_clear(row.verdict) else row.verdict
    return f"{words}, {_size(output, row, units)}, {verdict}"


def _with_doubt(doubt: DoubtTables | None, case: str, units: str) -> Lines:
    """Empty where there is none about this case."""
    return list(first_lines(doubt, units).items()) if doubt and doubt.subject.case == case else []


def _how_sure(comparison: ComparisonTables, choice: Choice) -> str:
    if choice.best == comparison.reference:
        return ""
    if not is_clear(_difference(comparison, choice, choice.output, choice.best).verdict):
        return ""
    unit = comparison.scenario.unit_of_replication
    return (
        f"Chance is ruled out at p < 0.05 (Holm) in {comparison.replications} simulated {unit}s. What is not known of the farm and "
        "of the model is not in the intervals; `compare --doubt` adds it."
    )


def _whom(comparison: ComparisonTables, choice: Choice, units: str) -> str:
    """The difference of each parity class in the first output asked for that is measured by class."""
    if choice.best == comparison.reference:
        return ""
    declared = {output.name: output for output in comparison.outputs}
    for output in [choice.output, *asked(comparison)]:
        of_class = {
            words: declared[name]
            for name in declared
            for label, words in _CLASSES.items()
            if f"_{label}_" in name and name.replace(f"_{label}_", "_", 1) == output.name
        }
        differing = {words: _difference(comparison, choice, part, choice.best) for words, part in of_class.items()}
        if any(is_clear(row.verdict) for row in differing.values()):
            parts = [
                f"{words} {_size(of_class[words], row, units)}" + ("" if is_clear(row.verdict) else f", {row.verdict}")
                for words, row in differing.items()
            ]
            return f"{in_sentence(output.label)}: {'; '.join(parts)}."
    return ""


def _crowded_out(comparison: ComparisonTables, choice: Choice) -> str:
    if choice.best == comparison.reference or comparison.task_counts.empty:
        return ""
    tasks = crowded_out(comparison, choice.case, choice.best)
    more = tasks[tasks["more_percent"] >= _MATTERS_POINTS].head(_MOST_TASKS)
    if more.empty:
        return (
            f"nothing: no task is late or undone more often than under {_named([comparison.reference])} by "
            f"{_MATTERS_POINTS:g} percentage point or more."
        )
    named = [
        f"{row.Index} ({row.reference_percent:.0f} to {row.alternative_percent:.0f} %)" for row in more.itertuples()
    ]
    return f"late or undone more often than under {_named([comparison.reference])}: {', '.join(named)}."


def _staff_time(comparison: ComparisonTables, choice: Choice) -> str:
    row = _mean_row(comparison, choice, work.UTILISATION, choice.best)
    if row is None:
        return ""
    used = float(row.mean)
    busy = busy_warning_of(comparison.scenario).percent
    if used < _LITTLE_WORK_PERCENT:
        limit = "work does not limit here"
    else:
        limit = "work may limit at its peaks" if used < busy else "there is little slack"
    interval = "" if row.ci_low != row.ci_low else f" ({work.UTILISATION.shown_range(row.ci_low, row.ci_high)})"
    return f"{work.UTILISATION.shown(used)} %{interval} of the paid time: {limit}."


def _undecided(comparison: ComparisonTables, case: str) -> str:
    """Why no alternative is best: too few rooms, or too small a difference."""
    differences = comparison.differences
    by_name = {output.name: output for output in asked(comparison)}
    judged = [row for row in rows(differences[differences["case"] == case]) if row.output in by_name]
    if not by_name:
        return "none: of what was asked for, neither more nor less is better in itself."
    if any(is_clear(row.verdict) for row in judged):
        return "none: alternatives differ clearly, but those that could be chosen withhold care and are for comparison only."
    unsure = [row for row in judged if row.verdict in (TOO_FEW, TOO_FEW_FOR_SIZE)]
    if not unsure:
        return (
            f"no alternative differs from {_named([comparison.reference])} by enough to matter in what was asked for."
        )
    needed = [row.rooms_needed for row in unsure if row.rooms_needed == row.rooms_needed]
    return f"not known yet: too few rooms to tell{f'; {about(min(needed))} would tell something' if needed else ''}."


def _named(alternatives: list[str]) -> str:
    """The names, which may hold commas, in quotation marks."""
    return ", ".join(f"“{name}”" for name in alternatives)


def _difference(comparison: ComparisonTables, choice: Choice, output: Output, alternative: str) -> Any:
    differences = comparison.differences
    chosen = (
        (differences["case"] == choice.case)
        & (differences["output"] == output.name)
        & (differences["alternative"] == alternative)
    )
    return next(rows(differences[chosen]))


def _mean_row(comparison: ComparisonTables, choice: Choice, output: Output, alternative: str) -> Any:
    """The row of means; None where the output was not measured or has no value."""
    means = comparison.means
    chosen = (means["case"] == choice.case) & (means["output"] == output.name) & (means["alternative"] == alternative)
    return next((row for row in rows(means[chosen]) if row.mean == row.mean), None)


def _size(output: Output, row: Any, units: str) -> str:
    size = f"{output.shown(row.difference, units=units, signed=True)} {output.difference_unit(units)}"
    interval = interval_of(output, row, units)
    return f"{size} ({interval})" if interval else size
