"""The page .site/generated/scaling.md and its picture, from what scaling.py measured."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter
from scaling import (
    LONG,
    MOST_CRATES,
    MOST_PEOPLE,
    MOST_TABLES_BYTES,
    REPLICATIONS,
    RUN,
    SOWS_PER_PERSON,
    SWEEP_IN_FOLDER,
    SWEEP_IN_MEMORY,
    TURNS,
    Costs,
    PowerLaw,
    costs,
    power_law,
)

sys.path.insert(0, str(Path(__file__).parents[1] / "validation"))

import pictures

NAME = "scaling"
PAGE = pictures.GENERATED / f"{NAME}.md"
SLOPE_AIM, SLOPE_TOLERANCE = 1.0, 0.05
LEAST_SOWS = 100  # of the slope; below, what comes once in a room weighs more
LEAST_REPLICATIONS = 100  # of the second slope; below, what comes once in a study weighs more
FLAT = 1.1  # memory at the most replications over that at the least
MB = 1e6
SHAPES_SHOWN = ((1, 24), (20, 24), (20, 96))  # rooms and sows of the blocks whose shares are shown
Points = list[dict[str, Any]]


def least(points: Points, name: str) -> np.ndarray:
    """The shortest or smallest of the turns of each point."""
    return np.array([min(point[name]) for point in points])


def values(points: Points, name: str) -> np.ndarray:
    return np.array([point[name] for point in points])


def law(points: Points, x: str, y: str, least_x: float = 0.0) -> PowerLaw:
    """The slope of y against x over the points from `least_x` up."""
    counted = [point for point in points if point[x] >= least_x]
    return power_law(values(counted, x), least(counted, y))


def growth(points: Points) -> float:
    """Peak memory at the most replications over that at the least."""
    peak = least(points, "peak_bytes")
    return float(peak[-1] / peak[0])


def bytes_a_replication(points: Points) -> float:
    """By which peak memory grows between the last two points."""
    peak, replications = least(points, "peak_bytes"), values(points, "replications")
    return float((peak[-1] - peak[-2]) / (replications[-1] - replications[-2]))


# --- the picture -----------------------------------------------------------------------------------------------------


def draw(measured: dict[str, Any]) -> None:
    with pictures.panels(1, 3, 2.7) as (figure, axes):
        cpu, replications, memory = axes[0]
        sows, cpu_s = values(measured["sows"], "sows"), least(measured["sows"], "cpu_s")
        _points(cpu, sows, cpu_s, 0, None)
        _slope_of_one(cpu, sows, cpu_s, int(np.argmax(sows >= LEAST_SOWS)))
        for index, (work, points) in enumerate(measured["replications"].items()):
            x, cpu_s = values(points, "replications"), least(points, "cpu_s")
            _points(replications, x, cpu_s, index, work)
            _points(memory, x, least(points, "peak_bytes") / MB, index, None)
            if work == SWEEP_IN_FOLDER:
                _slope_of_one(replications, x, cpu_s, int(np.argmax(x >= LEAST_REPLICATIONS)))
        _labelled(cpu, "a  CPU time and sows", "sows", "CPU time of a farm [s]")
        _labelled(replications, "b  CPU time and replications", "replications", "CPU time [s]")
        _labelled(memory, "c  memory and replications", "replications", "peak memory [MB]")
        for axis in (replications, memory):
            axis.set_xticks(REPLICATIONS[::2])
        memory.set_ylim(bottom=50)
        figure.legend(loc="outside lower center", ncols=3)
        pictures.write_svg(figure, NAME, "CPU time and memory against sows and replications")


def _points(axis: Axes, x: np.ndarray, y: np.ndarray, index: int, label: str | None) -> None:
    axis.plot(x, y, label=label, markersize=3.5, **pictures.LOOKS[index])


def _slope_of_one(axis: Axes, x: np.ndarray, y: np.ndarray, through: int) -> None:
    """A grey line of slope 1 through one of the points."""
    axis.plot(x, y[through] * x / x[through], color="0.6", linewidth=0.9, zorder=1)


def _labelled(axis: Axes, title: str, x: str, y: str) -> None:
    axis.set(title=title, xlabel=x, ylabel=y, xscale="log", yscale="log")
    for one in (axis.xaxis, axis.yaxis):
        one.set_major_locator(LogLocator(numticks=12))
        one.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,g}" if value < 1 else f"{value:,.0f}"))
        one.set_minor_formatter(NullFormatter())


# --- the page --------------------------------------------------------------------------------------------------------


def page(measured: dict[str, Any]) -> str:
    parts = [_introduction(measured), _aims(measured), _picture(measured)]
    parts += [_sows(measured["sows"]), _shares(measured["shapes"]), _replications(measured["replications"])]
    parts.append(_memory(measured["replications"], measured["table_bytes"], measured["output_bytes"]))
    return "\n".join(parts)


def _introduction(measured: dict[str, Any]) -> str:
    return f"""<!-- Written by `python tests/benchmark/scaling.py`. -->
# How CPU time and memory grow

Engine {measured["engine"]}, one thread. CPU time is that of the process; the shortest of {TURNS} turns counts (one turn from
{LONG:,} replications on). Each point of memory is the peak of a process of its own (VmHWM). Other machines
have other times; slopes and shares differ less.
"""


def _verdict(met: bool) -> str:
    return "met" if met else "**missed**"


def _slope_row(what: str, found: PowerLaw) -> str:
    met = abs(found.slope - SLOPE_AIM) <= SLOPE_TOLERANCE
    aim = f"{SLOPE_AIM:.2f} ± {SLOPE_TOLERANCE:.2f}"
    return f"| {what} | {aim} | {found.slope:.3f} (standard error {found.standard_error:.3f}) | {_verdict(met)} |"


def _aims(measured: dict[str, Any]) -> str:
    rows = ["| | aim | measured | |", "|---|---|---|---|"]
    points = measured["sows"]
    in_one_room = [point for point in points if point["rooms"] == 1]
    most = in_one_room[-1]["sows"]
    rows.append(_slope_row(f"slope of CPU time, from {LEAST_SOWS} sows up", law(points, "sows", "cpu_s", LEAST_SOWS)))
    rows.append(_slope_row(f"the same up to {most} sows, in one room", law(in_one_room, "sows", "cpu_s", LEAST_SOWS)))
    for work, found in measured["replications"].items():
        rows.append(_slope_row(f"slope of CPU time, {work}, all points", law(found, "replications", "cpu_s")))
        from_here = law(found, "replications", "cpu_s", LEAST_REPLICATIONS)
        if work != RUN:
            rows.append(_slope_row(f"the same from {LEAST_REPLICATIONS:,} replications up", from_here))
    for work in (SWEEP_IN_FOLDER, SWEEP_IN_MEMORY):
        found = measured["replications"][work]
        first, last = (least(found, "peak_bytes")[i] / MB for i in (0, -1))
        met = growth(found) <= FLAT
        rows.append(
            f"| memory, {work} | flat: at most {FLAT:g} times as much at {found[-1]['replications']:,} replications "
            f"as at {found[0]['replications']:,} | {growth(found):.2f} times ({first:.0f} to {last:.0f} MB) | {_verdict(met)} |"
        )
    return "\n".join([*rows, ""])


def _picture(measured: dict[str, Any]) -> str:
    slope = law(measured["sows"], "sows", "cpu_s", LEAST_SOWS).slope
    alt = (
        f"Three plots with logarithmic axes. CPU time grows with sows, with a slope of {slope:.2f} from {LEAST_SOWS} sows up. CPU time "
        f"grows with replications. Peak memory grows {growth(measured['replications'][SWEEP_IN_FOLDER]):.2f}-fold "
        "with replications for a sweep with a folder, and in proportion to them for a run that keeps tables."
    )
    return f"![{alt}]({NAME}.svg)\n\nGrey: a slope of 1, in (a) from the first point above {LEAST_SOWS} sows, in (b) from {LEAST_REPLICATIONS} replications of a sweep with a folder.\n"


def _sows(points: Points) -> str:
    lines = [
        "## Sows\n",
        f"The room of [meals_a_day](../../scenarios/feeding/meals_a_day.yaml), all tables. A room has at most {MOST_CRATES} crates and a",
        f"shift at most {MOST_PEOPLE} people, so larger groups are loaded on the same day into several equal rooms of one farm, and the",
        f"team works in several shifts with the same hours. There is one person for {SOWS_PER_PERSON} sows at every size: with a team that",
        f"does not grow, work would pile up, and its cost with it. At most {values(points, 'undone_percent').max():.1f} % of the tasks are never done. Small farms are repeated;",
        "the time is that of one.\n",
        "| sows | rooms | crates in each | people | CPU time, s | ms a sow | tasks never done, % |",
        "|---|---|---|---|---|---|---|",
    ]
    for point in points:
        cpu_s = min(point["cpu_s"])
        numbers = [f"{point[name]:,}" for name in ("sows", "rooms", "crates", "people")]
        cells = [*numbers, f"{cpu_s:.3g}", f"{1e3 * cpu_s / point['sows']:.3f}", f"{point['undone_percent']:.1f}"]
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join([*lines, "", *_why_not_one(points), ""])


def _why_not_one(points: Points) -> list[str]:
    """Whether a sow costs more on a large farm, and why she may."""
    ms_a_sow = 1e3 * least(points, "cpu_s") / values(points, "sows")
    best, on_the_largest = f"{ms_a_sow.min():.2f}", f"{ms_a_sow[-1]:.2f}"
    if best == on_the_largest:
        return [f"A sow takes {best} ms at best, and as long on the largest farm."]
    return [
        f"A sow takes {best} ms at best and {on_the_largest} ms on the largest farm. All rooms of a farm share one clock, so",
        "that each event meets another sow, and most likely waits for her state, which the caches no longer hold once there",
        "are many. `./quickstart benchmark --stages` counts instructions and cache misses of one room; a farm was not counted here.",
        "Replications do not share a clock. Other work on the machine shares its caches, so that the slope on an idle one may be",
        "smaller.",
    ]


def _shares(shapes: dict[str, Points]) -> str:
    headings = ["ms a block", "ms a room", "ms a sow", "largest error, %"]
    headings += [f"{rooms} of {sows} sows: block, room, sows, %" for rooms, sows in SHAPES_SHOWN]
    lines = [
        "## What the time is made of\n",
        f"Blocks of {_listed(shapes, 'rooms')} rooms of {_listed(shapes, 'sows')} sows, and the sum that fits their times best (least squares of relative",
        "errors): so much for each block, for each room and for each sow. A block of a study also measures every output of its",
        "rooms, in array operations whose cost hardly depends on the number of rows.\n",
        f"| | {' | '.join(headings)} |",
        f"|---|{'---|' * len(headings)}",
    ]
    for name, points in shapes.items():
        found = _costs(points)
        shares = [", ".join(f"{share:.0f}" for share in found.shares_percent(*shape)) for shape in SHAPES_SHOWN]
        each = [f"{1e3 * cost:.3f}" for cost in (found.block_s, found.room_s, found.sow_s)]
        lines.append(f"| {' | '.join([name, *each, f'{100 * _largest_error(points, found):.0f}', *shares])} |")
    engine, block = (_costs(points) for points in shapes.values())
    of_room, of_sows = engine.shares_percent(20, 24)[1:]
    of_outputs = 100 * (block.block_s - engine.block_s) / block.total_s(20, 24)
    lines += [
        "",
        f"In the engine, {of_sows:.0f} % of a room of 24 sows is the work of its sows and litters: meals, hazards, births, tasks. The part per",
        "room is its climate, hour by hour, the clock of its routine, and its share of the tables. In a study, blocks of 20 share what",
        f"measuring outputs costs: it is {of_outputs:.0f} % of a block of 20 rooms of 24 sows, and more of smaller rooms.",
        f"So it is {'the sows that limit' if of_sows > of_room else 'the room itself that limits'} how fast rooms are.\n",
    ]
    return "\n".join(lines)


def _listed(shapes: dict[str, Points], name: str) -> str:
    *first, last = (f"{value:g}" for value in sorted({point[name] for point in next(iter(shapes.values()))}))
    return f"{', '.join(first)} and {last}"


def _costs(points: Points) -> Costs:
    return costs([(point["rooms"], point["sows"]) for point in points], list(least(points, "cpu_s")))


def _largest_error(points: Points, found: Costs) -> float:
    rooms, sows = values(points, "rooms"), values(points, "sows")
    return float(np.max(np.abs(found.total_s(rooms, sows) / least(points, "cpu_s") - 1)))


def _replications(by_work: dict[str, Points]) -> str:
    lines = [
        "## Replications\n",
        "Rooms of [three sows](../../scenarios/teaching/three_sows.yaml). A sweep compares two room temperatures, so that a replication is two",
        "rooms; a run has one. With a study folder, every block of 20 rooms is a file; without, the outputs of every room stay in",
        "memory for later questions. Imports are not counted; reading the scenario and judging the results are.\n",
        "| | replications | CPU time, s | ms a replication | peak memory, MB |",
        "|---|---|---|---|---|",
    ]
    for work, points in by_work.items():
        for point in points:
            n, cpu_s = point["replications"], min(point["cpu_s"])
            cells = [work, f"{n:,}", f"{cpu_s:.3g}", f"{1e3 * cpu_s / n:.3g}", f"{min(point['peak_bytes']) / MB:.0f}"]
            lines.append(f"| {' | '.join(cells)} |")
    in_folder = by_work[SWEEP_IN_FOLDER]
    once = f"About {1e3 * _once_s(in_folder):.0f} ms of a sweep come once: it reads the scenario for every alternative, plans and judges."
    over_all, above = (law(in_folder, "replications", "cpu_s", least_x).slope for least_x in (0, LEAST_REPLICATIONS))
    if over_all < 1 and abs(above - 1) < abs(over_all - 1):
        once += f" That is why the slope\nover all points is below 1, and closer to 1 from {LEAST_REPLICATIONS} replications up."
    return "\n".join([*lines, "", once, ""])


def _once_s(points: Points) -> float:
    """The intercept of the line through the first two points."""
    first, second = points[:2]
    least_s = [min(point["cpu_s"]) for point in (first, second)]
    a_replication = (least_s[1] - least_s[0]) / (second["replications"] - first["replications"])
    return float(least_s[0] - first["replications"] * a_replication)


def _memory(by_work: dict[str, Points], table_bytes: dict[str, float], output_bytes: float) -> str:
    kept = sum(table_bytes.values())
    largest = sorted(table_bytes, key=lambda name: -table_bytes[name])
    shares = ", ".join(f"{name} {table_bytes[name] / 1e3:.1f}" for name in largest if table_bytes[name] >= 50)
    run, in_memory, folder = (bytes_a_replication(by_work[work]) for work in (RUN, SWEEP_IN_MEMORY, SWEEP_IN_FOLDER))
    return f"""## What the memory is made of

- **Python and its libraries**: most of the {least(by_work[SWEEP_IN_FOLDER], "peak_bytes")[0] / MB:.0f} MB of the smallest sweep.
- **A sweep with a study folder** keeps sums (number, mean and powers of deviations) for each alternative and output, one block
  of 20 rooms at a time, and the name of each file: {folder:,.0f} bytes more for each replication at the most replications.
- **A sweep without a folder** also keeps the outputs of every room, {in_memory / 1e3:.1f} kB for each replication of two rooms. The
  numbers themselves are {2 * output_bytes / 1e3:.1f} kB; the rest is what tables cost beside their numbers, and room in them to grow. It was measured up to {by_work[SWEEP_IN_MEMORY][-1]["replications"]:,} replications only, because it is not flat.
- **A run** keeps its tables: {kept / 1e3:.1f} kB for a room of three sows (kB: {shares}). Its peak grows by {run / 1e3:.1f} kB a room,
  {run / kept:.1f} times as much: the tables of each room are kept until all rooms are done and then joined, and warnings are
  looked for in all of them. It was measured as far as its tables are smaller than {MOST_TABLES_BYTES / 1e9:g} GB. So memory limits a run:
  `record` keeps fewer tables, and a sweep keeps none of them.
"""


def write(measured: dict[str, Any]) -> None:
    draw(measured)
    PAGE.write_text(page(measured), encoding="utf-8")
