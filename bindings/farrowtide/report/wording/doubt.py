"""Doubt in words: what is known of a difference with both doubts, what it hangs on, and what to measure first."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from farrowtide.analysis.comparison import headlines
from farrowtide.analysis.doubt import SHOWN, DoubtTables
from farrowtide.cautions import qualified
from farrowtide.outputs.output import Output, in_sentence
from farrowtide.outputs.units import MISSING, count
from farrowtide.report.wording.cells import rows
from farrowtide.report.wording.study import case_title

_NAMED = 3  # parameters on the first screen
_LISTED = 3  # entries of a table
NOT_COVERED = (
    "Not covered: what the model leaves out or describes by another equation, numbers without a range, and ranges that hold "
    "together, as those of coefficients fitted to one trial may."
)


def percent(probability: float, error: float = 0.0) -> str:
    """A probability as printed, never surer than the number of draws allows."""
    if math.isnan(probability):
        return MISSING
    if round(100 * probability) > 99 or probability > max(0.99, 1 - error):
        return "over 99 %"
    return "under 1 %" if probability < 0.01 else f"{100 * probability:.0f} %"


def first_lines(doubt: DoubtTables, units: str = "si") -> dict[str, str]:
    """The labelled sentences of the first screen: with both doubts, what it hangs on, what turns it, what to measure."""
    lines = {
        "How sure": _with_both(doubt, units),
        "Depends most on": _hangs_on(doubt, units),
        "Would reverse it": _turns(doubt) if doubt.subject.output.good else "",
        "Worth knowing": _measure(doubt, units) if doubt.subject.output.good else "",
        "Left out": left_out(doubt),
    }
    return {label: sentence for label, sentence in lines.items() if sentence}


def _row(doubt: DoubtTables, case: str, output: str, alternative: str) -> Any:
    table = doubt.intervals
    chosen = (table["case"] == case) & (table["output"] == output) & (table["alternative"] == alternative)
    return next(rows(table[chosen]))


def subject_row(doubt: DoubtTables) -> Any:
    """The row of the intervals that the doubt is taken apart for."""
    return _row(doubt, doubt.subject.case, doubt.subject.output.name, doubt.subject.alternative)


def amount(output: Output, value: float, units: str) -> str:
    """A difference with its unit."""
    return f"{output.shown(value, units=units, signed=True)} {output.difference_unit(units)}"


def _ends(output: Output, low: float, high: float, units: str) -> str:
    return output.shown_range(low, high, units=units, signed=True)


def _quoted(doubt: DoubtTables, name: str) -> str:
    """The name of an alternative, which may hold commas, and whether it is for comparison only."""
    return qualified(
        f"“{name}”", {f"“{key}”": care for key, care in doubt.comparison.provenance["withheld_care"].items()}
    )


def _with_both(doubt: DoubtTables, units: str) -> str:
    subject, row = doubt.subject, subject_row(doubt)
    output = subject.output
    case = f"{case_title(doubt.comparison.scenario, subject.case)}, " if len(doubt.comparison.cases) > 1 else ""
    better = "better" if (row.difference >= 0) == (subject.sign > 0) else "worse"
    judged = better if output.good else ("higher" if row.difference >= 0 else "lower")
    name = _quoted(doubt, subject.alternative)
    return (
        f"With what is not known of the farm and the model ({doubt.parameters} numbers, {count(doubt.drawn, 'draw')}): "
        f"{case}{in_sentence(output.label)}, {name} against {_quoted(doubt, doubt.comparison.reference)}: "
        f"{amount(output, row.difference, units)} ({_ends(output, row.both_low, row.both_high, units)}; chance alone "
        f"{_ends(output, row.ci_low, row.ci_high, units)}). "
        f"{percent(row.p_sign, row.p_sign_error).capitalize()} sure that {name} is {judged}, and "
        f"{percent(row.p_matters, row.p_sign_error)} that by enough to matter."
    )


def _hangs_on(doubt: DoubtTables, units: str) -> str:
    """The numbers that draws, or moving them alone, can tell from chance."""
    found = doubt.causes
    named = found[found["real"] | (found["size"] > found["half_width"])]
    if named.empty:
        return f"No single number can be told from chance: each carries less than {_percent(doubt.floor)} of the doubt."
    phrases = [
        f"{row.parameter} ({_carries(doubt, row, units)}, grade {row.grade})" for row in rows(named.head(_NAMED))
    ]
    real = int(found["real"].sum())
    together = (
        f"; the {real} that draws can tell from chance carry {_percent(doubt.explained)} of the doubt"
        if real > 1
        else ""
    )
    return f"{', '.join(phrases)}{together}."


def _carries(doubt: DoubtTables, row: Any, units: str) -> str:
    output = doubt.subject.output
    share = f"{_percent(row.share)} of the doubt" if row.real else f"below {_percent(doubt.floor)} of the doubt"
    if math.isnan(row.size):
        return share
    moved = output.value_in(units, row.size, difference=True)
    return f"moves it by {moved:.2g} {output.difference_unit(units)}, {share}"


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def values(numbers: Sequence[float] | None, unit: str) -> str:
    """The value of a parameter as printed; of a long table the first entry and the last."""
    if numbers is None:
        return MISSING
    shown = [_short(number) for number in numbers]
    text = "/".join(shown) if len(shown) <= _LISTED else f"{shown[0]}...{shown[-1]}"
    return f"{text} {unit}" if unit not in ("", "1", "-") else text


def _short(number: float) -> str:
    text = f"{number:,.0f}" if abs(number) >= 1000 else f"{number:.3g}"
    return text.replace("-", "\N{MINUS SIGN}")


def _turns(doubt: DoubtTables) -> str:
    if doubt.flips.empty:
        return ""
    turning = doubt.flips[doubt.flips["flip"].notna()]
    if turning.empty:
        return f"None of the {len(doubt.flips)} strongest turns the choice of {_quoted(doubt, doubt.subject.best)} by itself, inside its range."
    named = [
        f"{row.parameter} at {values(row.flip, row.unit)} (now {values(row.value, row.unit)}; then {_quoted(doubt, row.instead)} is best)"
        for row in rows(turning)
    ]
    return f"The choice of {_quoted(doubt, doubt.subject.best)} turns with {'; '.join(named)}."


def _measure(doubt: DoubtTables, units: str) -> str:
    """What knowing is worth for the choice, and which level of the herd, which a farm can measure, carries most of the doubt."""
    if math.isnan(doubt.worth_of_all):
        return ""
    output, best = doubt.subject.output, next(rows(doubt.worth))
    everything = f"knowing everything is worth {_worth(output, doubt.worth_of_all, units)}"
    if best.worth > 0:
        worth = f"{best.parameter}, worth {_worth(output, best.worth, units)} ({everything})."
    else:
        worth = f"No single number is worth knowing for the choice itself ({everything})."
    levels = doubt.causes[(doubt.causes["kind"] == "level") & doubt.causes["real"]]
    if levels.empty:
        return worth
    return f"{worth} Of what a farm can measure itself, {levels.iloc[0]['parameter']} narrows the interval most."


def _worth(output: Output, value: float, units: str) -> str:
    if math.isnan(value):
        return MISSING
    shown = output.value_in(units, value, difference=True)
    unit = output.difference_unit(units)
    return (
        f"{shown:.2g} {unit}"
        if shown >= 10.0 ** -(output.decimals + 2)
        else f"less than {10.0 ** -(output.decimals + 2):g} {unit}"
    )


def left_out(doubt: DoubtTables) -> str:
    """What is missing from the doubt, in a sentence; empty where nothing is."""
    said = []
    if doubt.interrupted:
        said.append(f"stopped early, {doubt.drawn} of {doubt.asked} draws are done, and no number was moved alone")
    if doubt.impossible:
        said.append(f"{count(len(doubt.impossible), 'draw')} gave no possible scenario and are left out")
    if doubt.set_aside:
        said.append(f"{count(len(doubt.set_aside), 'room')} broke off in draws and are left out")
    return f"{'; '.join(said).capitalize()}." if said else ""


def interval_table(doubt: DoubtTables, case: str, units: str = "si") -> list[dict[str, str]]:
    """The headline differences of a case with both intervals, a row per output and alternative.

    How sure is a direction is said where the comparison states one: where the interval by chance alone excludes 0.
    """
    table = []
    names = [name for name in doubt.comparison.alternatives if name != doubt.comparison.reference]
    for output in headlines(doubt.comparison):
        for name in names:
            row = _row(doubt, case, output.name, name)
            known = not math.isnan(row.ci_low)
            directed = row.ci_low > 0 or row.ci_high < 0
            table.append(
                {
                    "output": f"{output.label} [{output.difference_unit(units)}]",
                    "alternative": name,
                    "difference": output.shown(row.difference, units=units, signed=True),
                    "chance": _ends(output, row.ci_low, row.ci_high, units) if known else MISSING,
                    "both": _ends(output, row.both_low, row.both_high, units),
                    "sign": percent(row.p_sign, row.p_sign_error) if directed else MISSING,
                    "matters": percent(row.p_matters, row.p_sign_error) if directed else MISSING,
                    "off": output.shown(row.off_by, units=units),
                }
            )
    return table


def cause_table(doubt: DoubtTables, units: str = "si") -> list[dict[str, str]]:
    """The strongest parameters: what they carry, where they turn the choice, and what knowing each is worth."""
    output = doubt.subject.output
    flips = {row.parameter: row for row in rows(doubt.flips)} if not doubt.flips.empty else {}
    worth: Mapping[str, float] = dict(zip(doubt.worth["parameter"], doubt.worth["worth"], strict=True))
    table = []
    for row in rows(doubt.causes.head(SHOWN)):
        flip = flips.get(row.parameter)
        table.append(
            {
                "parameter": row.parameter,
                "grade": row.grade,
                "source": row.source,
                "range": f"{values(row.value, row.unit)} ({values(row.low, '')} to {values(row.high, '')})",
                "share": f"{100 * row.share:.0f} % ({100 * row.share_low:.0f} to {100 * row.share_high:.0f})"
                if row.real
                else f"below {100 * doubt.floor:.0f} %",
                "size": _size(output, row, units),
                "flip": _flip(flip) if output.good else MISSING,
                "worth": _worth(output, worth[row.parameter], units)
                if output.good and row.parameter in worth
                else MISSING,
            }
        )
    return table


def _size(output: Output, row: Any, units: str) -> str:
    if math.isnan(row.size):
        return MISSING
    size, half = (output.value_in(units, value, difference=True) for value in (row.size, row.half_width))
    return f"{size:.2g} \N{PLUS-MINUS SIGN} {half:.1g}"


def _flip(row: Any) -> str:
    if row is None:
        return MISSING
    if row.flip is None:
        return "none inside its range"
    return (
        f"{values(row.flip, row.unit)} ({values(row.flip_low, '')} to {values(row.flip_high, '')}), then {row.instead}"
    )


def reading(doubt: DoubtTables, units: str = "si") -> str:
    """How the numbers came about, in a paragraph."""
    row = subject_row(doubt)
    paired = "" if math.isnan(doubt.pairing) else f", which made one room worth {doubt.pairing:.2g} without this"
    output = doubt.subject.output
    between, within = (output.value_in(units, each, difference=True) for each in (row.between, row.within))
    together = (
        "Calibrated numbers are drawn together, as the records leave them: shares are those of each with the others "
        "fixed, and numbers known only in combination may show none. "
        if doubt.comparison.scenario.calibration
        else ""
    )
    return (
        f"{count(doubt.drawn, 'draw')} of {doubt.parameters} coefficients and levels, all at once and each over its range; the same draw and the "
        f"same animals for every alternative and case. After a pilot, {count(doubt.rooms, 'room')} in each draw, other rooms in each, "
        f"less what the same room gave with the numbers as given{paired}. Draws differ by "
        f"{between:.2g} {output.difference_unit(units)} (standard deviation of true differences), rooms of a draw by {within:.2g}. The interval with both doubts holds 95 % of "
        "what is thought of the true difference; it is never narrower than that of chance alone. "
        f"Shares are of the variance between draws, by straight lines; the smallest that {count(doubt.drawn, 'draw')} can tell from chance is "
        f"{100 * doubt.floor:.0f} %. {together}{NOT_COVERED}"
    )
