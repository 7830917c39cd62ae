"""Simulates random scenarios and compares pairs of them: `./quickstart soak [--scenarios N] [--seed N]`."""

from __future__ import annotations

import argparse
import collections
import concurrent.futures
import os
import signal
import sys
import warnings
from collections import Counter
from pathlib import Path
from typing import Any

import yaml
from judging import (
    BREACH,
    DEAD_STUDY,
    INTERNAL,
    SET_ASIDE,
    UNWARNED,
    Finding,
    Tally,
    dumped,
    judge,
    judge_all,
    without_numbers,
)
from metamorphic import RELATIONS
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn
from rich.table import Table

from farrowtide import PlausibilityWarning

OUT = Path("results/soak")
_BATCH = 20
_MOST_SCENARIOS = 10_000_000  # of one seed


def main() -> int:
    """Runs the command; 1 if there was a finding."""
    parser = argparse.ArgumentParser(prog="./quickstart soak", description=__doc__.partition("\n")[0])
    parser.add_argument("--scenarios", type=int, default=10_000, help="how many to try (default: %(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="another seed draws others (default: %(default)s)")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, help="processes (default: %(default)s)")
    parser.add_argument("--replay", type=Path, metavar="FILE", help=f"judge one scenario that was saved in {OUT}/")
    arguments = parser.parse_args()
    tally = replayed(arguments.replay) if arguments.replay else _many(arguments)
    _print(tally, Console())
    for number, (finding, scenario) in enumerate(tally.findings.items(), 1):
        if not arguments.replay:
            OUT.mkdir(parents=True, exist_ok=True)
            file = OUT / f"seed_{arguments.seed}_finding_{number}.yaml"
            file.write_text(f"# {' '.join(finding.split())}\n{dumped(scenario)}", encoding="utf-8")
            print(f"{file}\n  {finding}")
        else:
            print(finding)
    return 1 if tally.findings else 0


def replayed(file: Path) -> Tally:
    """Judges the scenario in a file, with every relation."""
    tally = Tally()
    drawn = yaml.safe_load(file.read_text(encoding="utf-8"))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", PlausibilityWarning)
        try:
            judge(drawn, RELATIONS, thorough=True, tally=tally)
        except Finding as finding:
            tally.findings[str(finding)] = drawn
    return tally


def _many(arguments: argparse.Namespace) -> Tally:
    """Batches on several processes. On Ctrl-C, what is complete counts."""
    tally = Tally()
    first = arguments.seed * _MOST_SCENARIOS
    numbers = range(first, first + arguments.scenarios)
    batches = collections.deque(numbers[start : start + _BATCH] for start in range(0, len(numbers), _BATCH))
    bar = Progress(
        BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(), "{task.description}", console=Console(stderr=True)
    )
    ignore = (signal.SIGINT, signal.SIG_IGN)
    pool = concurrent.futures.ProcessPoolExecutor(arguments.jobs, initializer=signal.signal, initargs=ignore)
    running: set[concurrent.futures.Future[Tally]] = set()
    known: set[str] = set()
    try:
        with bar:
            task = bar.add_task("", total=arguments.scenarios)
            while batches or running:
                while batches and len(running) < 2 * arguments.jobs:
                    running.add(pool.submit(judge_all, batches.popleft(), known))
                done, running = concurrent.futures.wait(running, return_when=concurrent.futures.FIRST_COMPLETED)
                for batch in done:
                    tally.add(batch.result())
                tally.findings = _one_of_each(tally.findings)
                known = {without_numbers(finding) for finding in tally.findings}
                bar.update(task, completed=tally.tried, description=f"findings: {len(tally.findings)}")
    except KeyboardInterrupt:
        print("stopped; this is what was complete", file=sys.stderr)
    finally:
        pool.shutdown(cancel_futures=True)
    return tally


def _one_of_each(findings: dict[str, dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """Of findings that differ in their numbers only, the first."""
    first: dict[str, str] = {}
    for finding in findings:
        first.setdefault(without_numbers(finding), finding)
    return {finding: findings[finding] for finding in first.values()}


def _print(tally: Tally, console: Console) -> None:
    """Details first; what a reader looks for comes last."""
    totals = {
        "scenarios run": tally.tried,
        "  valid as drawn": tally.tried - tally.refused,
        "  refused as drawn, run without the keys that were named": tally.refused,
        "rooms simulated": tally.rooms,
        "conservation laws checked": tally.checks,
        "pairs compared": tally.pairs.total(),
        "studies compared as a whole": tally.studies,
        "internal errors": tally.of_kind(INTERNAL),
        "dead studies": tally.of_kind(DEAD_STUDY),
        "rooms set aside": tally.of_kind(SET_ASIDE),
        "ledger breaches": tally.of_kind(BREACH),
        "absurd animals without a warning": tally.of_kind(UNWARNED),
        "scenarios with any finding": tally.struck.total(),
    }
    for title, counts in (
        ("Refused, by the reason", tally.reasons),
        ("Pairs, by what must not matter", tally.pairs),
        ("Scenarios with a finding", tally.struck),
        ("Random scenarios", totals),
        ("Scenarios with a warning, by its kind", tally.warned),
    ):
        if not counts:
            continue
        table = Table("", "number", title=title, title_justify="left")
        ordered = counts.most_common() if isinstance(counts, Counter) else counts.items()
        for name, number in ordered:
            table.add_row(name.replace("[", "\\["), f"{number:,}")
        console.print(table)


if __name__ == "__main__":
    sys.exit(main())
