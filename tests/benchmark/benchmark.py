"""What the kernel, a room and a comparison cost: `./quickstart benchmark`, or python benchmark.py KERNEL_BENCHMARK

Each row is a time beside that of something else in the same run, as a ratio; machines differ, and ratios less. The
spread is from the fastest to the slowest of all turns. The same numbers are written to results/benchmark.json.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import statistics
import subprocess
import sys
import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

import numpy as np
import ward
from queues import ENGINES
from rich.console import Console
from rich.table import Table

import farrowtide
from farrowtide.engine.running import simulate_replicates
from farrowtide.statistics.inference import replications_needed
from farrowtide.study.blocks import RECORDED, REPORT_TABLES, Arm, Block, Kept, simulate

SCENARIO = Path(__file__).parents[2] / "scenarios" / "feeding" / "meals_a_day.yaml"
OUT = Path("results/benchmark.json")
CUSTOMERS, TURNS, ROOMS = 5_000, 5, 20
INTAKE, HALF_WIDTH_KG_PER_DAY = "feed_intake_kg_per_day", 0.05
SPREAD_ROOMS = 60  # from which the spread of the difference is measured
PRECISION = f"to ± {HALF_WIDTH_KG_PER_DAY} kg/d of intake (95 %), full access minus 2 feeds"


@dataclass(frozen=True)
class Row:
    """A time, with all its turns, beside the median of what it is compared with."""

    group: str
    what: str
    unit: str
    turns: tuple[float, ...]
    beside: str = ""
    ratio: float | None = None

    @property
    def median(self) -> float:
        return statistics.median(self.turns)


def beside(rows: list[Row], reference: Row, name: str) -> list[Row]:
    """The rows with their ratio to a reference."""
    return [
        Row(row.group, row.what, row.unit, row.turns, name, row.median / reference.median)
        if row is not reference
        else row
        for row in rows
    ]


def turns_of(works: dict[str, Callable[[], object]], scale: float) -> dict[str, tuple[float, ...]]:
    """The times of several works, which take turns so that all meet the same disturbances."""
    times: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(TURNS):
        for name, work in works.items():
            start = time.perf_counter()
            work()
            times[name].append((time.perf_counter() - start) * scale)
    return {name: tuple(values) for name, values in times.items()}


def kernel(binary: str) -> list[Row]:
    """The queue in our two forms, by hand and in other engines; the event list; operations of the kernel."""
    printed = subprocess.run([binary], check=True, capture_output=True, text=True).stdout
    ns = {name: tuple(map(float, values)) for name, *values in (line.split() for line in printed.splitlines())}
    group = "M/M/1 queue, a customer"
    queue = [
        Row(group, name.replace("_", " "), "ns", ns.pop(name))
        for name in ("hand_loop", "source_and_server", "process_per_customer")
    ]
    others = turns_of({name: lambda serve=serve: serve(CUSTOMERS) for name, serve in ENGINES.items()}, 1e9 / CUSTOMERS)
    queue += [Row(group, name, "ns", turns) for name, turns in others.items()]
    rows = beside(queue, queue[0], "hand loop")
    for name in [name for name in ns if name.startswith("hold_")]:
        pending = f"{int(name.removeprefix('hold_')):,} pending"
        group = "event list, an event out and in"
        standard = Row(group, f"std::priority_queue, {pending}", "ns", ns.pop(f"standard_{name}"))
        rows += [standard, *beside([Row(group, pending, "ns", ns.pop(name))], standard, "std::priority_queue")]
    timer = Row("kernel operation", "timer event", "ns", ns.pop("timer_event"))
    operations = [Row("kernel operation", name.replace("_", " "), "ns", turns) for name, turns in ns.items()]
    return [*rows, timer, *beside(operations, timer, "timer event")]


def wards() -> list[Row]:
    """The same reduced ward on our kernel, its decision in C++ or in Python, and in SimPy."""
    settings = ward.Settings()
    ward.compiled()
    works = {
        "our kernel": (ward.in_cpp, 2_000),
        "our kernel, policy in Python": (ward.in_cpp_with_python_policy, 2_000),
        "SimPy": (ward.in_simpy, 100),
    }
    seconds = turns_of({name: lambda run=run, n=n: run(settings, n, 1) for name, (run, n) in works.items()}, 1)
    group = f"a reduced ward of {settings.sows} sows"
    rows = [Row(group, name, "us", tuple(1e6 * s / n for s in seconds[name])) for name, (_, n) in works.items()]
    return beside(rows, rows[0], "our kernel")


def rooms() -> list[Row]:
    """A room with all tables and with summaries, by threads, and by the number of sows."""
    scenario = farrowtide.load(SCENARIO)

    def run(threads: int, record: tuple[str, ...], of: farrowtide.Scenario = scenario, count: int = ROOMS) -> object:
        return simulate_replicates(of, replications=count, first_replicate=0, seed=1, threads=threads, record=record)

    works: dict[str, Callable[[], object]] = {
        "all tables, 1 thread": lambda: run(1, RECORDED),
        "sows only, 1 thread": lambda: run(1, ("sows",)),
    }
    if (os.cpu_count() or 1) > 1:
        works["all tables, 2 threads"] = lambda: run(2, RECORDED)
    group = "a room of 24 sows, two hand feeds"
    rows = [Row(group, name, "ms", turns) for name, turns in turns_of(works, 1000 / ROOMS).items()]
    rows = beside(rows, rows[0], "all tables, 1 thread")
    sizes: dict[str, Callable[[], object]] = {}
    for sows in (12, 24, 48, 96, 192, 384):
        of, count = scenario.override({"room.crates": sows}), 384 // sows
        sizes[f"{sows:,} sows"] = lambda of=of, count=count: run(1, ("sows",), of, count)
    times = turns_of(sizes, 1e3)
    group = "384 sows, in rooms of so many, sows only"
    by_size = [Row(group, name, "ms", turns) for name, turns in times.items()]
    return rows + beside(by_size, by_size[1], "24 sows")


def around_the_engine() -> list[Row]:
    """What is done with a block of rooms beside simulating them, what comes once, and whole commands."""
    scenario = farrowtide.load(SCENARIO)
    block = Block(Arm("", "", scenario, 1), 0, ROOMS, Kept(tables=REPORT_TABLES))
    comparison = farrowtide.compare(scenario, replications=ROOMS, seed=1, threads=1)
    python = [sys.executable, "-c"]
    works: dict[str, Callable[[], object]] = {
        "simulate a block of 20 rooms": lambda: simulate_replicates(
            scenario, replications=ROOMS, first_replicate=0, seed=1, threads=1, record=RECORDED
        ),
        "simulate and measure it": lambda: simulate(block),
        "read a scenario": lambda: farrowtide.load(SCENARIO),
        "write the report of 15 arms": lambda: comparison.write_report(OUT.parent / "benchmark"),
        "farrowtide --help": lambda: subprocess.run(
            [*python, "import sys; sys.argv=['farrowtide','--help']; from farrowtide.__main__ import main; main()"],
            check=True,
            stdout=subprocess.DEVNULL,
        ),
        "import farrowtide, and use it": lambda: subprocess.run(
            [*python, "import farrowtide; farrowtide.load"], check=True
        ),
    }
    rows = [Row("around the engine", name, "ms", turns) for name, turns in turns_of(works, 1e3).items()]
    return beside(rows, rows[0], "simulating a block")


def precision() -> list[Row]:
    """What a half-width takes where alternatives meet the same animals, and where each has rooms of its own.

    The spreads are those of SPREAD_ROOMS differences, so that their standard errors are about 9 %. A study runs
    at least 40 rooms of each alternative, whatever the formula says.
    """
    of = farrowtide.load(SCENARIO)
    case = of.cases[0]
    two, full = (of.case(case).alternative(name) for name in ("2 hand feeds", "full access"))

    def run(arm: farrowtide.Scenario, count: int, seed: int = 1) -> farrowtide.Result:
        return simulate_replicates(arm, replications=count, first_replicate=0, seed=seed, threads=1, record=RECORDED)

    intake, same_animals, others = (
        run(arm, SPREAD_ROOMS, seed).outputs[INTAKE] for arm, seed in ((full, 1), (two, 1), (two, 2))
    )
    times = turns_of({"a room of each": lambda: [run(arm, ROOMS).outputs for arm in (two, full)]}, 1 / ROOMS)
    rows = []
    for name, reference in (("rooms of the same animals", same_animals), ("independent rooms", others)):
        sd = float((intake - reference).std())
        pairs = int(replications_needed(np.array(sd), HALF_WIDTH_KG_PER_DAY))
        turns = tuple(pairs * seconds for seconds in times["a room of each"])
        rows.append(Row(PRECISION, f"{2 * pairs:,} {name} (sd {sd:.2g})", "s", turns))
    return beside(rows, rows[0], "same animals")


def print_rows(rows: list[Row]) -> None:
    """One table, group by group."""
    table = Table("", "median", "spread", "unit", "ratio", "beside", title=f"{TURNS} turns each", title_justify="left")
    for column in table.columns[1:3] + table.columns[4:5]:
        column.justify = "right"
    group = ""
    for row in rows:
        if row.group != group:
            group = row.group
            table.add_section()
            table.add_row(f"[bold]{group}")
        spread = f"{three_digits(min(row.turns))} to {three_digits(max(row.turns))}"
        ratio = three_digits(row.ratio) if row.ratio is not None else ""
        table.add_row(f"  {row.what}", three_digits(row.median), spread, row.unit, ratio, row.beside)
    console = Console()
    console.width = max(console.width, 100)
    console.print(table)


def three_digits(value: float) -> str:
    return f"{value:,.0f}" if value >= 100 else f"{value:.3g}"


def machine() -> dict[str, str | int]:
    """What the numbers were measured on and with; no names of machines."""
    versions = {name: version(name) for name in ("numpy", "pandas", "pyarrow", "simpy", "salabim", "ciw")}
    return {
        "processors": os.cpu_count() or 1,
        "architecture": platform.machine(),
        "Python": platform.python_version(),
    } | versions


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("kernel_benchmark", help="the compiled kernel benchmark")
    binary = parser.parse_args().kernel_benchmark
    warnings.simplefilter("ignore")  # about the rooms, which are not what is looked at here
    rows = []
    for part in (lambda: kernel(binary), wards, rooms, precision, around_the_engine):
        rows += part()
        print(f"{len(rows)} rows measured", file=sys.stderr)
    print_rows(rows)
    measured_with = machine()
    print(", ".join(f"{name} {value}" for name, value in measured_with.items()))
    OUT.parent.mkdir(exist_ok=True)
    listed = [vars(row) | {"median": row.median} for row in rows]
    OUT.write_text(json.dumps({"measured_with": measured_with, "rows": listed}, indent=1), encoding="utf-8")
    print(f"the same numbers, with every turn: {OUT}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
