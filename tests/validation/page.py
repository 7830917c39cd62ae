"""The validation page in Markdown, from trials replayed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from validate import Replayed, Verdict

Z_95 = 1.96
KINDS = {
    "fitted": "used to choose a coefficient: agreement shows fit only",
    "restated": "reads an entered number or an identity back: tests the code",
    "independent": "not used: tests the model",
}
INTRODUCTION = """\
<!-- Written by `python tests/validation/validate.py --write`; edit the files in tests/validation/trials/. -->
# Published trials and the model

Each table is a published trial or survey, simulated as it was carried out and compared with what it reported.
`./quickstart validate` repeats all of them, and fails if a row misses without a reason or if this page is out of date.
Simulated values have a 95 % confidence interval, which is narrow because many repetitions are run. Where a trial states
its number of sows, *a trial of its size* is the range in which 95 % of such trials would lie if the model were true.
Published values are means of real trials with errors of their own. The allowed range was set with the row, from the
trial's own standard errors where it gives them; a row whose range was changed later says so. What a publication leaves
out (weights, litter sizes, diet) is assumed in the sentence above each table. The level of a herd is set on one group,
shown as a restated row, so that contrasts are tested. A row that misses stays, with the reason. A row that could not
fail is shown but not counted. [Signed errors by topic](errors.md) show whether the model is biased.
"""


def written(replayed: list[Replayed], sections: Mapping[str, str]) -> str:
    parts = [INTRODUCTION, _summary(replayed)]
    for key, title in sections.items():
        trials = [trial for trial in replayed if trial.section == key]
        if trials:
            parts += [f"## {title}\n", *map(_trial, trials)]
    parts += ["## Sources\n", *(f"- {source}" for source in sources(replayed)), ""]
    return "\n".join(parts)


def sources(replayed: list[Replayed]) -> list[str]:
    """Every source once; a row may name several, with semicolons between."""
    named = {part.strip() for trial in replayed for v in trial.verdicts for part in v.source.split(";")}
    return sorted(named, key=str.casefold)


def _summary(replayed: list[Replayed]) -> str:
    rows = [v for trial in replayed for v in trial.verdicts]
    lines = ["| kind | rows | pass | share | |", "|---|---|---|---|---|"]
    for kind, meaning in KINDS.items():
        of_kind = [v for v in rows if v.counted and v.kind == kind]
        if of_kind:
            passed = sum(v.passes for v in of_kind)
            lines.append(f"| {kind} | {len(of_kind)} | {passed} | {100 * passed / len(of_kind):.0f} % | {meaning} |")
    uncounted = sum(not v.counted for v in rows)
    left_out = f" ({uncounted} of them not counted above)" if uncounted else ""
    count = f"{len(rows)} rows{left_out} of {len(replayed)} trials and tables, from {len(sources(replayed))} sources."
    return "\n".join([*lines, "", count, ""])


def _trial(trial: Replayed) -> str:
    repeated = any(v.spread is not None for v in trial.verdicts)
    head = [
        "row",
        "published",
        "allowed",
        "simulated",
        *(["a trial of its size"] if repeated else []),
        "verdict",
        "kind",
    ]
    lines = [f"### {trial.title}\n", f"{trial.design}\n", _cells([*head, "source"]), _cells(["---"] * (len(head) + 1))]
    lines += [_cells([*_row(v, repeated)]) for v in trial.verdicts]
    lines += ["", *_remarks(trial.verdicts)]
    return "\n".join(lines)


def _cells(texts: list[str]) -> str:
    return f"| {' | '.join(texts)} |"


def _row(v: Verdict, repeated: bool) -> Iterator[str]:
    yield v.row
    yield f"{v.target:g}"
    yield f"{_figure(v, v.low)} to {_figure(v, v.high)}"
    yield _figure(v, v.simulated) + (f" ({_interval(v, v.error)})" if v.error else "")
    if repeated:
        yield _interval(v, v.spread) if v.spread is not None else ""
    yield ("pass" if v.passes else "**miss**") + ("" if v.counted else ", not counted")
    yield v.kind
    yield v.source


def _remarks(verdicts: list[Verdict]) -> Iterator[str]:
    for v in verdicts:
        if v.miss and not v.passes:
            yield f"- Miss, {v.row}: {v.miss}"
        if v.note:
            yield f"- Note, {v.row}: {v.note}"
    if any((v.miss and not v.passes) or v.note for v in verdicts):
        yield ""


def _interval(v: Verdict, deviation: float) -> str:
    return f"{_figure(v, v.simulated - Z_95 * deviation)} to {_figure(v, v.simulated + Z_95 * deviation)}"


def _figure(v: Verdict, value: float) -> str:
    """As many decimals as a tenth of the tolerance needs."""
    tolerance = (v.high - v.low) / 2
    text = f"{value:.{max(0, 1 - math.floor(math.log10(tolerance)))}f}"
    return text.removeprefix("-") if float(text) == 0 else text
