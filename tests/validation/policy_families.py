"""What the scenario of each family of policies says, and what supports it: python tests/validation/policy_families.py

Reads policy_families.yaml, compares, writes policy_families.md and policy_families.svg to .site/generated. Fails if the
model no longer goes where a row says.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pictures
import yaml
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator

import farrowtide
from farrowtide import _core
from farrowtide.outputs.catalogue import catalogue
from farrowtide.outputs.output import Output, in_sentence
from farrowtide.statistics.inference import student_interval
from farrowtide.statistics.paired import PairedMoments

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
PAGE = pictures.GENERATED / "policy_families.md"
ROOMS = 100
SEED = 1
SUPPORTS = {"source": "source", "assumption": "assumption", "miss": "published, not reproduced"}
LOOKS = {
    "source": {"marker": "o", "color": "#0072B2"},
    "assumption": {"marker": "D", "color": "0.35", "markerfacecolor": "white"},
    "miss": {"marker": "s", "color": "#D55E00"},
}

INTRODUCTION = """# What each family of policies does, and what supports it

Written by `python tests/validation/policy_families.py` from `policy_families.yaml`, engine {version}, results version {results}.
For each family, one of the [scenarios](../../scenarios/README.md) and the differences that matter most in it:
alternative less reference, paired on the same animals, {rooms} rooms with seed {seed}, with its 95 % confidence
interval over rooms. To repeat one:

`farrowtide compare scenarios/fostering/how_far.yaml --replications {rooms} --seed {seed}`

The intervals cover sampling variation only. How far the *direction* can be trusted is another question:

- **source**: the direction is published, and the model agrees. *Fitted* means that the same source was used to choose
  a coefficient, so agreement shows fit and is not evidence for the model.
- **assumption**: no publication decides it. It follows from the coefficients named, which are trade practice or
  assumptions (grade C).
- **published, not reproduced**: a source reports a direction that the model does not show.

Sources quoted from memory say so. None of this is advice for a herd.

![{alt}](policy_families.svg)

{caption}
"""


@dataclass(frozen=True)
class Row:
    """One difference: what the file says of it, and what was measured."""

    family: str
    said: dict[str, Any]
    output: Output
    reference: str
    difference: float
    low: float
    high: float

    @property
    def negligible(self) -> bool:
        return abs(self.difference) < self.output.negligible

    def goes(self, direction: str) -> bool:
        """Whether the model goes that way; a small difference may be called either clear or none."""
        none = self.negligible or self.low <= 0 <= self.high
        return {"higher": self.low > 0, "lower": self.high < 0, "none": none}[direction]

    def told(self) -> str:
        """The difference with its interval."""
        shown = self.output.shown(self.difference, signed=True)
        interval = self.output.shown_range(self.low, self.high, signed=True)
        size = ", too small to matter" if self.negligible and not self.low <= 0 <= self.high else ""
        unclear = ", not clear" if self.low <= 0 <= self.high else ""
        return f"{shown} {self.output.difference_unit()} ({interval}){size}{unclear}"


def published() -> list[dict[str, Any]]:
    """What policy_families.yaml says: a scenario an entry."""
    return yaml.safe_load((HERE / "policy_families.yaml").read_text(encoding="utf-8"))


def measure(entry: dict[str, Any], rooms: int) -> list[Row]:
    """Compares the alternatives of a scenario and reads off its rows."""
    outputs = list(dict.fromkeys(said["output"] for said in entry["rows"]))
    scenario = farrowtide.load(ROOT / "scenarios" / f"{entry['scenario']}.yaml")
    compared = farrowtide.compare(scenario, replications=rooms, seed=SEED, outputs=outputs)
    # Student's interval for every row, however few rooms differ: a row claims a direction, and some claim none.
    paired = PairedMoments.of(compared.replicates, compared.reference, outputs)
    low, high = student_interval(paired.moments)
    found = paired.table(ci_low=low, ci_high=high).set_index(["case", "alternative", "output"])
    declared = catalogue()
    rows = []
    for said in entry["rows"]:
        case = said.get("case", compared.cases[0])
        one = found.loc[(case, said["alternative"], said["output"])]
        numbers = (float(one[name]) for name in ("difference", "ci_low", "ci_high"))
        rows.append(Row(entry["family"], said, declared[said["output"]], compared.reference, *numbers))
    return rows


def untrue(rows: list[Row]) -> list[str]:
    """Rows that say of the model what it does not do."""
    return [
        f"{row.family}, {row.said['alternative']}, {row.output.name}: said to be {row.said['model']}, is {row.told()}"
        for row in rows
        if not row.goes(row.said["model"])
    ]


# --- the page --------------------------------------------------------------------------------------------------------


def page(entries: list[dict[str, Any]], found: list[list[Row]], drawn: pictures.Drawn, rooms: int) -> str:
    version, results = _core.engine_version, _core.results_version
    parts = [
        INTRODUCTION.format(
            version=version, results=results, rooms=rooms, seed=SEED, alt=drawn.alt, caption=drawn.caption
        )
    ]
    family = ""
    for entry, rows in zip(entries, found, strict=True):
        if entry["family"] != family:
            family = entry["family"]
            parts.append(f"## {family.capitalize()}\n")
        link = f"[{entry['scenario']}](../../scenarios/{entry['scenario']}.yaml)"
        parts.append(f"{entry['question']} {link}, reference: “{rows[0].reference}”.\n")
        parts += ["| alternative | output | difference | support | reason |", "|---|---|---|---|---|"]
        parts += [_cells(row) for row in rows]
        parts.append("")
    return "\n".join(parts)


def _cells(row: Row) -> str:
    case = f"{row.said['case']}: " if "case" in row.said else ""
    why = row.said["why"]
    if row.said["coefficients"]:
        why += f" Assumed: {', '.join(f'`{name}`' for name in row.said['coefficients'])}."
    texts = (case + row.said["alternative"], row.output.label, row.told(), SUPPORTS[row.said["support"]], why)
    return f"| {' | '.join(texts)} |"


# --- the picture -----------------------------------------------------------------------------------------------------


def draw(rows: list[Row]) -> pictures.Drawn:
    """A strip per difference, each in its own unit."""
    columns = 2
    lines = -(-len(rows) // columns)
    with pictures.panels(lines, columns, 0.82) as (figure, axes):
        for axis, row in zip(axes.T.flat, rows, strict=False):
            _draw_strip(axis, row)
        for axis in axes.T.flat[len(rows) :]:
            axis.set_axis_off()
        marks = [Line2D([], [], linestyle="none", markersize=5, label=SUPPORTS[kind], **LOOKS[kind]) for kind in LOOKS]
        figure.legend(handles=marks, loc="outside upper left", ncols=len(marks))
    return pictures.written(
        figure,
        "policy_families",
        "Paired differences by family of policies",
        "Each mark is an alternative less the reference of its scenario, with its 95 % confidence interval, which is often "
        "narrower than the mark. Grey band: difference too small to matter (limits set by the authors). Scales differ.",
        "The differences in the tables below, one strip each, with confidence intervals.",
    )


def _draw_strip(axis: Axes, row: Row) -> None:
    limit = row.output.negligible
    low, high = min(row.low, -1.6 * limit), max(row.high, 1.6 * limit)
    margin = 0.08 * (high - low)
    axis.axvspan(-limit, limit, color="0.9", linewidth=0)
    axis.axvline(0, color="0.3", linewidth=0.8)
    look = LOOKS[row.said["support"]]
    axis.plot([row.low, row.high], [0, 0], color=look["color"], linewidth=1.6)
    axis.plot(row.difference, 0, linestyle="none", markersize=5, **look)
    axis.set(xlim=(low - margin, high + margin), ylim=(-1, 1), yticks=[])
    axis.xaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 5, 10]))
    unit = row.output.difference_unit().removeprefix("percentage ")
    where = f"{row.family.capitalize()}, {row.said['case']}" if "case" in row.said else row.family.capitalize()
    axis.set_title(f"{where}: {row.said['alternative']} \N{MINUS SIGN} {row.reference}", fontsize=7)
    axis.set_xlabel(f"{in_sentence(row.output.label)}, {unit}", fontsize=7)


def main() -> int:
    entries = published()
    with pictures.progress("rooms", ROOMS * len(entries)) as advance:
        found = []
        for entry in entries:
            found.append(measure(entry, ROOMS))
            advance(ROOMS)
    rows = [row for part in found for row in part]
    PAGE.write_text(page(entries, found, draw(rows), ROOMS), encoding="utf-8")
    wrong = untrue(rows)
    print(*wrong, sep="\n", end="\n" if wrong else "", file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
