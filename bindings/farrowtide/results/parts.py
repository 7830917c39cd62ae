"""A programme taken apart: run, drawn and written."""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import Executor
from pathlib import Path
from typing import TYPE_CHECKING

from farrowtide.analysis.comparison import in_order
from farrowtide.analysis.parts import ALL, PartsTables, worth
from farrowtide.outputs.one_line import listed, one_line
from farrowtide.outputs.units import count, units_of
from farrowtide.report.wording.evidence import grade
from farrowtide.scenarios.given import GivenScenario
from farrowtide.study import blocks
from farrowtide.study.course import Course, Progress, Round
from farrowtide.study.plan import Plan
from farrowtide.study.programme import keys_of_practices, plan_of_parts
from farrowtide.study.provenance import of_parts

if TYPE_CHECKING:
    from farrowtide.report.pictures.picture import Picture


class Parts(PartsTables):
    __doc__ = PartsTables.__doc__

    def __repr__(self) -> str:
        return one_line(
            "Parts",
            self.scenario.title,
            listed(self.practices, "practice"),
            f"{count(len(self.cases), 'case')}, {count(self.replications, 'replication')}, seed {self.seed}",
        )

    def plot(self, case: str | None = None, *, units: str = "si") -> Picture:
        """What each practice is worth in a case (None: the first), alone and in the programme, a panel per output.

        `units`: "si", "us" or "as_written".
        """
        from farrowtide.report.pictures.parts import parts_of_programme

        return parts_of_programme(self, self.cases[0] if case is None else case, units_of(units, self.scenario))

    def write_report(self, folder: str | os.PathLike[str], *, units: str = "si") -> Path:
        """Writes report.html, worth.csv and outputs.csv into a folder; returns the report's path.

        `units`: "si", "us" or "as_written", on the page.
        """
        from farrowtide.report.parts_page import write_report

        units = units_of(units, self.scenario)
        return write_report(self, Path(folder), units=units)


def parts(
    scenario: GivenScenario,
    *,
    replications: int | None = None,
    seed: int | None = None,
    threads: int = 0,
    outputs: Sequence[str] | None = None,
    executor: Executor | None = None,
    folder: str | os.PathLike[str] | None = None,
    resume: bool = False,
    progress: Progress | None = None,
) -> Parts:
    """What each practice of a programme is worth, alone and inside it, on the same animals.

    The practices are the alternatives that the file names in `study.parts`; no two of them may change the same key. Each
    is added alone to the scenario as written, and taken alone out of all of them together. `outputs`: None: those of the
    file's study; the first one ranks the practices, and labour is always among them. All else as in `compare`.

    Raises UserError; Interrupted on Ctrl-C, whose `finished` is the Parts of the replications that every arm has, or None.
    """
    study = plan_of_parts(scenario, replications=replications, seed=seed, outputs=outputs)
    course = Course(study, threads=threads, executor=executor, folder=folder, resume=resume)
    rounds: list[Round] = []
    return course.carry_out(
        rounds.append, lambda interrupted: _assembled(study, rounds, course, interrupted), progress=progress
    )


def _assembled(study: Plan, rounds: list[Round], course: Course, interrupted: bool) -> Parts:
    tables = [table for tables in rounds for table in tables]
    replications = sum(tables[0].num_rows for tables in rounds)
    replicates = in_order(blocks.outputs_of(tables), {"case": study.cases, "alternative": study.names})
    practices = list(study.scenario.study.parts)
    keys = keys_of_practices(study)
    grades = {practice: grade(keys[practice]) for practice in practices}
    table = worth(
        replicates,
        practices,
        study.outputs,
        animals=study.litters_per_replication,
        unit=study.scenario.unit_of_replication,
    )
    table.insert(4, "grade", table["practice"].map({**grades, ALL: ""}))
    return Parts(
        scenario=study.scenario,
        practices=practices,
        cases=study.cases,
        outputs=study.outputs,
        seed=study.seed,
        wanted_replications=study.wanted,
        replications=replications,
        litters_per_replication=study.litters_per_replication,
        interrupted=interrupted,
        worth=table,
        replicates=replicates,
        keys=keys,
        grades=grades,
        provenance=of_parts(study, replications, checks=sum(map(blocks.checks, tables)), interrupted=interrupted),
        warnings=course.warnings(),
        set_aside=course.watch.set_aside(),
    )
