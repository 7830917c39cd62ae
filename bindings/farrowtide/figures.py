"""Pictures of a comparison: for the report, for notebooks (they show themselves) and for `save`.

Colours are of the Okabe-Ito set, those with a contrast of 3:1 or more on white, each with its own dash and marker, so
that nothing is told by colour alone. The same data give the same bytes.
"""

from __future__ import annotations

import base64
import io
import json
import os
import textwrap
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from farrowtide import labour
from farrowtide.comparison import Comparison
from farrowtide.intervals import interval
from farrowtide.outputs import LONG_FARROWING_MIN, PARITY_CLASSES, Output, catalogue
from farrowtide.running import Result
from farrowtide.wording import case_title, headlines, others

_STYLE: Any = {
    "axes.edgecolor": "0.4",
    "axes.grid": True,
    "axes.labelsize": 8,
    "axes.spines.right": False,
    "axes.spines.top": False,
    "axes.titlelocation": "left",
    "axes.titlesize": 8.5,
    "font.size": 8,
    "grid.color": "0.9",
    "grid.linewidth": 0.6,
    "legend.fontsize": 7.5,
    "legend.frameon": False,
    "lines.linewidth": 1.4,
    "svg.fonttype": "path",
    "svg.hashsalt": "farrowtide",
    "xtick.color": "0.25",
    "ytick.color": "0.25",
    "xtick.labelsize": 7.5,
    "ytick.labelsize": 7.5,
}
COLOURS = ("#000000", "#0072B2", "#D55E00", "#009E73", "#CC79A7")
DASHES = ("-", (0, (5, 1.5)), (0, (1.5, 1)), (0, (4, 1, 1, 1)), (0, (7, 1, 1, 1, 1, 1)))
_MARKERS = "osD^v<>PX"
_FILLS = ("#0072B2", "#E69F00", "#56B4E9", "#D55E00", "#CC79A7", "#BBBBBB")  # of bars, each with its hatching
_HATCHES = ("", "///", "...", "xx", "\\\\\\", "")
DRAWN_WITH = f"matplotlib {matplotlib.__version__}"
_PAGE_WIDTH = 7.1  # inches: the text width of A4 and of Letter with their usual margins
_PER_ROW = 2  # panels beside each other
_FOREST_PER_ROW = 4
_LEAST_MINUTES = 0.5  # tasks below this in every alternative are drawn as one


@dataclass(frozen=True)
class Picture:
    """A figure with its title, a caption that says what is drawn and how, and a text for those who don't see it."""

    figure: Figure
    title: str
    caption: str
    alt: str
    made: dict[str, Any] | None = None  # where it comes from; a saved SVG carries it

    def svg(self) -> str:
        """The picture as SVG, without a date."""
        return self._as_svg({})

    def _as_svg(self, metadata: dict[str, str]) -> str:
        out = io.StringIO()
        with matplotlib.rc_context(_STYLE):
            self.figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None} | metadata)
        return out.getvalue()

    def data_uri(self) -> str:
        """The picture for an <img> that needs no file."""
        return "data:image/svg+xml;base64," + base64.b64encode(self.svg().encode()).decode()

    def save(self, path: str | os.PathLike[str], *, dots_per_inch: int = 200) -> None:
        """Writes PNG, SVG or PDF by the name's ending."""
        if Path(path).suffix == ".svg":
            made = {"Description": json.dumps(self.made, ensure_ascii=False)} if self.made else {}
            Path(path).write_text(self._as_svg(made), encoding="utf-8")
            return
        with matplotlib.rc_context(_STYLE):
            self.figure.savefig(path, dpi=dots_per_inch)

    def _repr_svg_(self) -> str:
        return self.svg()


@contextmanager
def panels(rows: int, columns: int, height: float, **options: Any) -> Iterator[tuple[Figure, np.ndarray]]:
    """A figure of the page's width with rows x columns axes of this height [in], in our style."""
    with matplotlib.rc_context(_STYLE):
        figure = Figure(figsize=(_PAGE_WIDTH, rows * height + 0.35), layout="constrained")
        yield figure, figure.subplots(rows, columns, squeeze=False, **options)


def _look(comparison: Comparison, name: str) -> dict[str, Any]:
    """Colour, dash and marker; the reference comes first, in black."""
    order = [comparison.reference, *(other for other in comparison.alternatives if other != comparison.reference)]
    index = order.index(name)
    return {
        "color": COLOURS[index % len(COLOURS)],
        "linestyle": DASHES[(index + index // len(COLOURS)) % len(DASHES)],
        "marker": _MARKERS[index % len(_MARKERS)],
    }


def headline_differences(comparison: Comparison, case: str) -> Picture:
    """The headline differences of a case: a panel per output in its own unit, a mark with its interval per alternative.

    Every case has the same scales, so that the pictures of two cases can be laid side by side.
    """
    outputs, names = headlines(comparison), others(comparison)
    columns = min(len(outputs), _FOREST_PER_ROW)
    rows = -(-len(outputs) // columns)
    found = comparison.differences
    with panels(rows, columns, 0.62 + 0.19 * len(names), sharey=True) as (figure, axes):
        for axis, output in zip(axes.flat, outputs, strict=False):
            part = found[found["output"] == output.name]
            draw_differences(axis, output, part[part["case"] == case].set_index("alternative").loc[names])
            _scale_differences(axis, output, part)
        for axis in axes.flat[len(outputs) :]:
            axis.set_axis_off()
        axes[0, 0].set_yticks(range(len(names)), names)
        axes[0, 0].set_ylim(len(names) - 0.5, -0.5)
    caption = (
        f"Each alternative minus {comparison.reference}, paired on the same animals, with its 95 % interval (often narrower "
        "than the mark). Filled: clear and large enough to matter; hollow: not. Grey: too small to matter (our own "
        "choice). The arrow points to what is better; points are percentage points."
    )
    told = found[(found["case"] == case) & found["output"].isin([output.name for output in outputs])]
    title = f"Differences from {comparison.reference}"
    if len(comparison.cases) > 1:
        title += f", {case_title(case)}"
    return Picture(figure, title, caption, _differences_in_words(outputs, told))


def draw_differences(axis: Axes, output: Output, rows: pd.DataFrame) -> None:
    axis.axvspan(-output.negligible, output.negligible, color="0.88", linewidth=0)
    axis.axvline(0, color="0.3", linewidth=0.8)
    for i, row in enumerate(rows.itertuples()):
        matters = row.verdict.startswith(("higher", "lower"))
        worse = "worse" in row.verdict
        colour = ("#D55E00" if worse else "#0072B2") if matters else "0.35"
        axis.plot([row.ci_low, row.ci_high], [i, i], color=colour, linewidth=1.4, solid_capstyle="butt")
        axis.plot(
            row.difference,
            i,
            "D" if worse else "o",
            color=colour,
            markerfacecolor=colour if matters else "white",
            markersize=4,
        )
    axis.grid(axis="y", visible=False)
    axis.tick_params(axis="y", length=0)


def _scale_differences(axis: Axes, output: Output, part: pd.DataFrame) -> None:
    """Zero and the negligible always in sight; the same for every case."""
    ends = part[["difference", "ci_low", "ci_high"]].to_numpy()
    low = min(np.nanmin(ends), -1.6 * output.negligible)
    high = max(np.nanmax(ends), 1.6 * output.negligible)
    margin = 0.06 * (high - low)
    axis.set_xlim(low - margin, high + margin)
    axis.xaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 5, 10]))
    axis.set_title(textwrap.fill(output.label, 24), fontsize=7.5)
    unit = output.difference_unit().removeprefix("percentage ")  # four panels share a row
    better = {"higher": f"{unit}, better \N{RIGHTWARDS ARROW}", "lower": f"\N{LEFTWARDS ARROW} better, {unit}"}
    axis.set_xlabel(better.get(output.good or "", unit), fontsize=7.5)


def _differences_in_words(outputs: Sequence[Output], told: pd.DataFrame) -> str:
    words = []
    for output in outputs:
        rows = told[told["output"] == output.name]
        each = [
            f"{row.alternative} {output.shown(row.difference, signed=True)} ({row.verdict})"
            for row in rows.itertuples()
        ]
        words.append(f"{output.label} [{output.unit}]: {', '.join(each)}")
    return f"Marks of differences with intervals. {'; '.join(words)}."


def intake(comparison: Comparison) -> Picture:
    """Feed eaten by lactation day: a row per case, a column per parity class, a line with its band per alternative."""
    curves = intake_curves(comparison.intake_days)
    classes = [name for name in PARITY_CLASSES if name in set(curves["parity_class"])]
    with panels(len(comparison.cases), len(classes), 2.1, sharex=True, sharey=True) as (figure, axes):
        for row, case in zip(axes, comparison.cases, strict=True):
            for axis, parity in zip(row, classes, strict=True):
                part = curves[(curves["case"] == case) & (curves["parity_class"] == parity)]
                _draw_curves(axis, comparison, part, named=parity == classes[-1])
                axis.set_title(f"{case_title(case)}, {parity}" if len(comparison.cases) > 1 else parity)
            row[0].set_ylabel("feed eaten, kg/d per sow")
        for axis in axes[-1]:
            axis.set_xlabel("lactation day")
            axis.xaxis.set_major_locator(MaxNLocator(6, integer=True))
        axes[0, 0].set_ylim(bottom=0)
    caption = (
        "Mean over rooms of the sows of a parity class (P1: first farrowing). Bands: 95 % interval of each mean. "
        "Alternatives share their animals, so differences are surer than the bands suggest: see the table, in pairs."
    )
    return Picture(figure, "Feed eaten by lactation day", caption, _intake_in_words(comparison, curves))


def intake_curves(days: pd.DataFrame) -> pd.DataFrame:
    """Mean over rooms and 95 % interval [kg] by case, alternative, parity class and day.

    Ends where fewer than half of the sows are left: a group is weaned together, so the last days are of few sows.
    """
    keys = ["case", "alternative", "parity_class"]
    parts = []
    for labels, part in days.groupby(keys, sort=False):
        rooms = part.pivot(index="replicate", columns="day", values="eaten_kg")
        sows = part.groupby("day")["sows"].sum()
        mean, _, low, high, n = interval(rooms.to_numpy())
        curve = pd.DataFrame({"day": rooms.columns, "eaten_kg": mean, "ci_low": low, "ci_high": high, "n": n})
        parts.append(curve[(sows >= 0.5 * sows.max()).to_numpy()].assign(**dict(zip(keys, labels, strict=True))))
    return pd.concat(parts, ignore_index=True)


def _draw_curves(axis: Axes, comparison: Comparison, curves: pd.DataFrame, *, named: bool) -> None:
    ends = {}
    for name in comparison.alternatives:
        part = curves[curves["alternative"] == name]
        look = _look(comparison, name) | {"marker": ""}
        axis.fill_between(part["day"], part["ci_low"], part["ci_high"], color=look["color"], alpha=0.15, linewidth=0)
        axis.plot(part["day"], part["eaten_kg"], **look)
        if len(part):
            ends[name] = (part["day"].iloc[-1], part["eaten_kg"].iloc[-1], look["color"])
    if named and ends:
        _name_ends(axis, ends)


def _name_ends(axis: Axes, ends: dict[str, tuple[float, float, object]]) -> None:
    """Names beside the ends of their lines, pushed apart where they would overlap, a thin line leading to each."""
    names = sorted(ends, key=lambda name: ends[name][1])
    low, high = axis.get_ylim()
    heights = spread([ends[name][1] for name in names], 0.085 * (max(high, 0) - min(low, 0)))
    for name, height in zip(names, heights, strict=True):
        day, value, colour = ends[name]
        leader = {"arrowstyle": "-", "color": colour, "linewidth": 0.5, "shrinkA": 1, "shrinkB": 0, "relpos": (0, 0.5)}
        right = axis.get_xlim()[1]
        axis.annotate(
            name,
            (day, value),
            (right + 1.5, height),
            color=colour,
            fontsize=7.5,
            va="center",
            arrowprops=leader,
            annotation_clip=False,
        )


def spread(positions: Sequence[float], gap: float) -> np.ndarray:
    """Increasing positions moved as little as is easy so that neighbours are at least `gap` apart."""
    moved = np.asarray(positions, dtype=float).copy()
    for i in range(1, len(moved)):
        moved[i] = max(moved[i], moved[i - 1] + gap)
    return moved - (moved - positions).mean()


def _intake_in_words(comparison: Comparison, curves: pd.DataFrame) -> str:
    oldest = curves["parity_class"].max()
    last = curves[curves["parity_class"] == oldest].groupby(["case", "alternative"], sort=False).last()
    told = [
        f"{case_title(case)}, {name}: {row.eaten_kg:.1f} kg on day {row.day:.0f}"
        for (case, name), row in last.iterrows()
    ]
    return f"Lines of feed eaten per sow by lactation day. Ends for {oldest}: {'; '.join(told)}."


def farrowings(comparison: Comparison) -> Picture:
    """Share of farrowings that last longer than so many hours, one panel per case."""
    columns = min(len(comparison.cases), _PER_ROW)
    rows = -(-len(comparison.cases) // columns)
    limit = LONG_FARROWING_MIN / 60
    told = []
    with panels(rows, columns, 2.2, sharex=True, sharey=True) as (figure, axes):
        for axis, case in zip(axes.flat, comparison.cases, strict=False):
            for name in comparison.alternatives:
                hours = _durations_h(comparison, case, name)
                longer = 100 * (hours > limit).mean()
                axis.step(
                    hours,
                    100 * (1 - np.arange(1, len(hours) + 1) / len(hours)),
                    where="post",
                    label=f"{name}: {longer:.0f} % over 5 h",
                    **_look(comparison, name) | {"marker": ""},
                )
                told.append(f"{case_title(case)}, {name}: median {np.median(hours):.1f} h, {longer:.0f} % over 5 h")
            axis.axvline(limit, color="0.4", linewidth=0.8)
            axis.set(xlim=(0, 12), ylim=(0, 100), title=case_title(case))
            axis.legend(loc="upper right", handlelength=2.6)
        for axis in axes.flat[len(comparison.cases) :]:
            axis.set_axis_off()
        for axis in axes[:, 0]:
            axis.set_ylabel("farrowings lasting longer, %")
        for axis in axes[-1]:
            axis.set_xlabel("hours from first to last birth")
    caption = (
        "Share of all simulated farrowings that last longer than so many hours; the upright line marks five hours. Curves "
        "that cover each other do not differ."
    )
    return Picture(
        figure, "How long farrowings last", caption, f"Falling curves of farrowing duration. {'; '.join(told)}."
    )


def _durations_h(comparison: Comparison, case: str, name: str) -> np.ndarray:
    sows = comparison.farrowings
    chosen = sows[(sows["case"] == case) & (sows["alternative"] == name)]
    return np.sort(chosen["farrowing_duration_min"].dropna().to_numpy()) / 60


def work(comparison: Comparison) -> Picture:
    """Staff minutes per litter by task, one panel per case, a mark with its interval per alternative."""
    minutes = minutes_by_task(comparison)
    tasks = list(minutes.loc[minutes["case"] == comparison.cases[0], "task"].unique())
    columns = min(len(comparison.cases), _PER_ROW)
    rows = -(-len(comparison.cases) // columns)
    height = 0.5 + len(tasks) * max(0.18, 0.05 * len(comparison.alternatives))
    with panels(rows, columns, height, sharex=True, sharey=True) as (figure, axes):
        for axis, case in zip(axes.flat, comparison.cases, strict=False):
            _draw_minutes(axis, comparison, minutes[minutes["case"] == case], tasks)
            axis.set(title=case_title(case), xlabel="minutes per litter")
        for axis in axes.flat[len(comparison.cases) :]:
            axis.set_axis_off()
        axes[0, 0].set_yticks(range(len(tasks)), tasks)
        axes[0, 0].set_ylim(len(tasks) - 0.5, -0.5)
        axes[0, 0].set_xlim(left=0)
        handles, names = axes[0, 0].get_legend_handles_labels()
        figure.legend(handles, names, loc="outside upper left", ncols=min(5, len(names)))
    caption = "Minutes of work per litter by task, waiting left out; bars: 95 % interval of each mean."
    return Picture(figure, "What the staff's time goes to", caption, _minutes_in_words(comparison, minutes))


def minutes_by_task(comparison: Comparison) -> pd.DataFrame:
    """Mean minutes per litter and 95 % interval by case, alternative and task; longest first, small ones summed."""
    tasks = {name: output.label for name, output in catalogue().items() if output.group == "work by task"}
    rooms = comparison.replicates.set_index(["case", "alternative", "replicate"])[list(tasks)].rename(columns=tasks)
    means = rooms.groupby(level=["case", "alternative"], sort=False).mean()
    large = means.columns[means.max() >= _LEAST_MINUTES]
    ordered = means[large].mean().sort_values(ascending=False, kind="stable").index
    shown = rooms[ordered].copy()
    shown["All other tasks"] = rooms.drop(columns=ordered).sum(axis=1)
    parts = []
    for (case, name), part in shown.groupby(level=["case", "alternative"], sort=False):
        mean, _, low, high, _ = interval(part.to_numpy())
        parts.append(
            pd.DataFrame(
                {
                    "case": case,
                    "alternative": name,
                    "task": shown.columns,
                    "minutes": mean,
                    "ci_low": low,
                    "ci_high": high,
                }
            )
        )
    return pd.concat(parts, ignore_index=True)


def _draw_minutes(axis: Axes, comparison: Comparison, minutes: pd.DataFrame, tasks: list[str]) -> None:
    offsets = np.linspace(-0.28, 0.28, len(comparison.alternatives)) if len(comparison.alternatives) > 1 else [0.0]
    for name, offset in zip(comparison.alternatives, offsets, strict=True):
        part = minutes[minutes["alternative"] == name].set_index("task").loc[tasks]
        look = _look(comparison, name) | {"linestyle": "none"}
        error = np.array([part["minutes"] - part["ci_low"], part["ci_high"] - part["minutes"]])
        known = None if np.isnan(error).any() else error  # one room has no interval
        axis.errorbar(
            part["minutes"],
            np.arange(len(tasks)) + offset,
            xerr=known,
            label=name,
            markersize=3.2,
            elinewidth=1,
            **look,
        )
    axis.grid(axis="y", visible=False)
    for edge in np.arange(0.5, len(tasks) - 1):
        axis.axhline(edge, color="0.9", linewidth=0.6)


def _minutes_in_words(comparison: Comparison, minutes: pd.DataFrame) -> str:
    total = minutes.groupby(["case", "alternative"], sort=False)["minutes"].sum()
    told = [
        f"{case_title(case)}, {name}: {value:.0f} minutes per litter in all" for (case, name), value in total.items()
    ]
    longest = minutes[minutes["task"] != "All other tasks"].groupby("task")["minutes"].max().nlargest(3).index
    return f"Marks of minutes per litter by task. {'; '.join(told)}. The longest: {', '.join(longest).lower()}."


def utilisation(comparison: Comparison) -> Picture:
    """Share of the time on duty that is worked by hour of the day, one panel per case, a line per alternative."""
    columns = min(len(comparison.cases), _PER_ROW)
    rows = -(-len(comparison.cases) // columns)
    told = []
    with panels(rows, columns, 2.2, sharex=True, sharey=True) as (figure, axes):
        for axis, case in zip(axes.flat, comparison.cases, strict=False):
            for name in comparison.alternatives:
                hours = _staff_hours(comparison, case, name)
                _draw_hours(axis, hours, name, _look(comparison, name))
                top = hours["utilisation_percent"].idxmax()
                told.append(f"{case_title(case)}, {name}: most at {top}:00, {hours['utilisation_percent'][top]:.0f} %")
            axis.set(title=case_title(case), xlim=(0, 24), xticks=range(0, 25, 3))
        for axis in axes.flat[len(comparison.cases) :]:
            axis.set_axis_off()
        for axis in axes[:, 0]:
            axis.set_ylabel("worked, % of time on duty")
        for axis in axes[-1]:
            axis.set_xlabel("hour of the day")
        axes[0, 0].set_ylim(bottom=0)
        handles, names = axes[0, 0].get_legend_handles_labels()
        figure.legend(handles, names, loc="outside upper left", ncols=min(5, len(names)))
    caption = (
        "Time worked of the time people are on duty, breaks and the absent left out, over all days; bars: 95 % interval of "
        "each mean. Work begun before a break or a shift's end is finished in it, so a part of an hour may have over 100 %. "
        "No mark: nobody on duty."
    )
    return Picture(figure, "When people are busy", caption, f"Marks of time in use by hour. {'; '.join(told)}.")


def _staff_hours(comparison: Comparison, case: str, name: str) -> pd.DataFrame:
    hours = comparison.staff_hours
    return labour.utilisation(hours[(hours["case"] == case) & (hours["alternative"] == name)]).dropna(
        subset="utilisation_percent"
    )


def _draw_hours(axis: Axes, hours: pd.DataFrame, name: str, look: dict[str, Any]) -> None:
    """A mark in the middle of each hour; the line breaks where nobody is on duty."""
    mean = hours["utilisation_percent"]
    whole = mean.reindex(labour.HOURS)
    axis.plot(np.array(labour.HOURS) + 0.5, whole, label=name, markersize=3, **look)
    ends = hours[["utilisation_percent_low", "utilisation_percent_high"]]
    if not ends.isna().to_numpy().any():  # one room has no interval
        low, high = (mean - ends.iloc[:, 0]).to_numpy(), (ends.iloc[:, 1] - mean).to_numpy()
        axis.errorbar(hours.index + 0.5, mean, yerr=[low, high], linestyle="none", color=look["color"], elinewidth=1)


def work_by_hour(result: Result) -> Picture:
    """People's minutes by hour of the day and group of tasks, against the minutes that people are on duty."""
    minutes, hours = labour.minutes_by_group(result), labour.by_hour(result)
    on_duty_min = 60 * hours["people_on_duty"].to_numpy()
    with panels(1, 1, 3.0) as (figure, axes):
        axis = axes[0, 0]
        below = np.zeros(len(minutes))
        for group, fill, hatch in zip(minutes.columns, _FILLS, _HATCHES, strict=True):
            bars = minutes[group].to_numpy()
            axis.bar(
                np.array(minutes.index) + 0.5,
                bars,
                0.86,
                below,
                label=group,
                color=fill,
                hatch=hatch,
                edgecolor="white",
                linewidth=0.4,
            )
            below += bars
        axis.stairs(on_duty_min, np.arange(25), color="black", linewidth=1.4, label="people on duty")
        axis.set(xlim=(0, 24), xticks=range(0, 25, 3), xlabel="hour of the day", ylabel="people's minutes a day")
        axis.grid(axis="x", visible=False)
        figure.legend(loc="outside upper left", ncols=4)
    caption = (
        "Bars: minutes worked in each hour of the day, mean of all days that count, all people together. Line: minutes that "
        "people are on duty, breaks and the absent left out; what stands above it is finished after a break or shift began."
    )
    top = int(below.argmax())
    alt = (
        f"Stacked bars of people's minutes by hour of the day, most at {top}:00: {below[top]:.0f} minutes a day of "
        f"{on_duty_min[top]:.0f} on duty. By group a day: "
        f"{'; '.join(f'{group} {value:.0f} min' for group, value in minutes.sum().items())}."
    )
    return Picture(figure, "What people's hours go to", caption, alt)
