"""Many alternatives: every combination of values at some keys, summed up while they run.

Rooms are summed up round by round. Questions that need every room (quantiles, limits, who is surely beaten) read them
from the study's folder, so that a sweep of any length needs the memory of a short one; without a folder the outputs of
each room are kept, about 1 kB.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from pathlib import Path
from typing import TYPE_CHECKING, Any

from farrowtide.analysis.sweep import Sums, SweepTables
from farrowtide.engine import provenance
from farrowtide.errors import UserError, unknown_name
from farrowtide.inert_text import html_table, write_csv
from farrowtide.outputs.catalogue import chosen
from farrowtide.outputs.one_line import listed, one_line
from farrowtide.outputs.units import count, recorded, units_of
from farrowtide.report.shown_tables import in_units
from farrowtide.scenarios.given import GivenScenario, as_scenario
from farrowtide.scenarios.plausibility.facts import values_in_effect
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study import blocks
from farrowtide.study.course import Course, Progress
from farrowtide.study.grid import AS_WRITTEN, grid
from farrowtide.study.plan import Plan, plan
from farrowtide.study.provenance import of_sweep
from farrowtide.whole_files import make_folder

if TYPE_CHECKING:
    from farrowtide.report.pictures.picture import Picture


class Sweep(SweepTables):
    __doc__ = SweepTables.__doc__

    def __repr__(self) -> str:
        others = [name for name in self.alternatives if name != self.reference]
        return one_line(
            "Sweep",
            self.scenario.title,
            f"{listed(others, 'alternative')} against {self.reference}",
            f"{count(len(self.cases), 'case')}, {count(self.replications, 'replication')}, seed {self.seed}",
        )

    def _repr_html_(self) -> str:
        outputs = [output for output in self.outputs if output.group == "headline"]
        means = self.means.set_index(["case", "alternative", "output"])["mean"]
        rows = [
            (name, *(f"{output.shown(means[case, name, output.name])} {output.shown_unit()}" for output in outputs))
            for case in self.cases
            for name in self.alternatives
        ]
        from farrowtide.report.pictures.by_key import can_be_drawn

        table = html_table(self.scenario.title, [("", *(output.label for output in outputs)), *rows])
        return f"{table}{self.plot().svg() if can_be_drawn(self) else ''}"

    def plot(self, outputs: Sequence[str] | None = None, case: str | None = None, *, units: str = "si") -> Picture:
        """Means with intervals: the first varied key across, the second in colour, the third in columns.

        `outputs`: a row of panels each; None: the headlines. `case`: None: the first. `units` as in `write`. Raises UserError
        where there are fewer than two varied keys, or more than three.
        """
        from farrowtide.report.pictures.by_key import by_key

        units = units_of(units, self.scenario)
        if case is not None and case not in self.cases:
            raise unknown_name("case", case, self.cases)
        prices = self.scenario.prices
        headlines = [output for output in self.outputs if output.group == "headline"]
        named = chosen(outputs, only=True, prices=prices) if outputs else headlines
        return by_key(self, self.cases[0] if case is None else case, named, units)

    def write(self, folder: str | os.PathLike[str], *, units: str = "si") -> Path:
        """Writes means.csv, differences.csv and provenance.json. `units`: "si", "us" or "as_written"."""
        path, units = Path(folder), units_of(units, self.scenario)
        make_folder(path)
        for name, table in (("means", self.means), ("differences", self.differences)):
            write_csv(in_units(table, self.outputs, units), path / f"{name}.csv")
        provenance.write(path, self.provenance | recorded(units))
        return path


def sweep(
    scenario: GivenScenario,
    vary: Mapping[str, Sequence[Any]],
    *,
    replications: int | None = None,
    seed: int | None = None,
    threads: int = 0,
    outputs: Sequence[str] | None = None,
    reference: str = AS_WRITTEN,
    precision: Mapping[str, float] | None = None,
    executor: Executor | None = None,
    folder: str | os.PathLike[str] | None = None,
    resume: bool = False,
    progress: Progress | None = None,
) -> Sweep:
    """Simulates the scenario, or that of a file, as written and with every combination of values in `vary` (see `grid`).

    A combination that is the scenario as written stands for it, so that it is not run twice.
    The scenario's own alternatives are left out: choose one first, or give other values. All else as in `compare`.
    """
    scenario = as_scenario(scenario)
    base, combinations = scenario.without_alternatives(), grid(vary)
    written = _as_written(base, combinations)
    if set(combinations) == {written}:
        raise UserError(f"vary: the only combination ('{written}') is the scenario as written: name another value")
    if reference == AS_WRITTEN:
        reference = written
    study = plan(
        base,
        combinations if written in combinations else {AS_WRITTEN: {}, **combinations},
        verb="sweep",
        replications=replications,
        seed=seed,
        outputs=outputs,
        reference=reference,
        precision=precision,
    )
    course = Course(study, threads=threads, executor=executor, folder=folder, resume=resume)
    sums = Sums(study, keeps_rooms=course.folder is None)
    return course.carry_out(
        sums.add,
        lambda interrupted: _assembled(study, sums, course, vary, interrupted),
        progress=progress,
        replicates=blocks.REPLICATES,  # sums in the last digit depend on it
    )


def _as_written(scenario: Scenario, combinations: Mapping[str, Mapping[str, Any]]) -> str:
    """The combination whose settings in effect are those of the scenario as written; AS_WRITTEN where there is none."""
    in_cases = [scenario.case(name) for name in scenario.cases] or [scenario]
    written = [values_in_effect(in_case) for in_case in in_cases]
    for name, values in combinations.items():
        if [values_in_effect(in_case.override(values)) for in_case in in_cases] == written:
            return name
    return AS_WRITTEN


def _assembled(
    study: Plan,
    sums: Sums,
    course: Course,
    vary: Mapping[str, Sequence[Any]],
    interrupted: bool,
) -> Sweep:
    means, differences = sums.tables()
    return Sweep(
        scenario=study.scenario,
        reference=study.reference,
        cases=study.cases,
        alternatives={name: dict(values) for name, values in (study.given_alternatives or {}).items()},
        outputs=study.outputs,
        seed=study.seed,
        wanted_replications=study.wanted,
        replications=sums.replications,
        litters_per_replication=study.litters_per_replication,
        interrupted=interrupted,
        precision=course.reached,
        means=means,
        differences=differences,
        folder=course.folder.path if course.folder else None,
        study_hash=course.folder.study if course.folder else "",
        rooms=sums.rooms(),
        provenance=of_sweep(study, sums.replications, vary, checks=sums.checks, interrupted=interrupted),
        warnings=course.warnings(),
        set_aside=course.watch.set_aside(),
    )
